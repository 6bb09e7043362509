"""Drills that are over: told over again as they were shown, listed by trainee, and as the record that people sign.

It knows the books and the watch, which the drill's own well (``drill/``) must not: that one is held against them.
"""

from dipbook.debrief.told import About, Debrief, debrief

__all__ = ["About", "Debrief", "debrief"]
