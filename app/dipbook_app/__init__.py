"""Dipbook's face: window, pages, printing and the command line over the core package ``dipbook``."""
