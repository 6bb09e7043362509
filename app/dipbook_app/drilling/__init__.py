"""A training drill in the window: its own log, its own clock, and the ordinary pages."""
