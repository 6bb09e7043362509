"""Dipbook's core: tanks, dips, the books of the mud and the warnings. It knows no screen."""

__version__ = "0.1.0"
