"""Mud moved as logged: transfers, additions, discards and rates in force, across the border of a system."""

from __future__ import annotations

from dipbook.books.books import Books
from dipbook.books.curve import Curve, Ramp, from_ramps
from dipbook.books.movements import RETURNS, Movement
from dipbook.entries.kinds import ACTIVE
from dipbook.terms.system import ALL_SURFACE, System


def moved(books: Books, system: System, term: str) -> Curve:
    """Net volume logged in ``books`` into ``system`` [m3], ΣIn − ΣOut, of one ``term``: transfers, pills (slugs too),
    additions, discards or rates.

    A move between two tanks of the system is nothing; each side counts while its tank is in the system. What comes back
    with the returns counts while they reach the system.
    """
    return from_ramps(ramp for _, ramp in moved_by(books, system, term))


def moved_by(books: Books, system: System, term: str) -> list[tuple[Movement, Ramp]]:
    """(what was logged, what of it came into the ``system`` or left it) in ``books``, of one ``term``."""
    found: list[tuple[Movement, Ramp]] = []
    for m in books.moves:
        if m.term == term:
            found.extend((m, ramp) for ramp in _side(m.target, m.ramp, system))
            found.extend((m, ramp) for ramp in _side(m.source, Ramp(m.ramp.t0, m.ramp.t1, -m.ramp.volume), system))
    return found


def _side(place: str, ramp: Ramp, system: System) -> list[Ramp]:
    if place == ACTIVE:
        return [ramp] if system.name in (ACTIVE, ALL_SURFACE) else []
    if place == RETURNS:
        return system.parts(ramp)
    parts = [ramp.within(a, b) for a, b in system.spans.get(place, ())]
    return [p for p in parts if p is not None]
