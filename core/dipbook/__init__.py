"""Dipbook's core: tanks, dips, the books of the mud and the warnings. It knows no screen."""

__version__ = "0.1.0"
ENGINE_VERSION = "1"
"""Stamped on every warning transition, so that a journal stays history after a formula changes."""
