"""Tanks that join or leave: ΣJoin − ΣLeave, each tank at its worth at the change."""

from __future__ import annotations

from math import isnan

from dipbook.books.books import Books
from dipbook.books.curve import Curve, from_steps
from dipbook.terms.system import ACTIVE_SYSTEM, ALL_SURFACE, System


def lineup(books: Books, system: System) -> Curve:
    """Volume that joined less volume that left [m3]: the active system's line-up changes, all surface's first dips.

    books: of the log. system: which tanks.
    A tank whose worth isn't known (never gauged, a finding) counts 0 here, and in the actual what was logged on it.
    """
    if system.name == ALL_SURFACE:
        return from_steps((t, volume) for _, t, volume in system.joins)
    if system.name != ACTIVE_SYSTEM:
        return from_steps(())
    known = (c for c in books.line.changes if not isnan(c.volume_m3))
    return from_steps((c.t_ms, c.volume_m3 if c.joins else -c.volume_m3) for c in known)
