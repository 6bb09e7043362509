"""A system: which tanks are summed, over which times, and when the well's returns reach it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from dipbook.books.books import Books
from dipbook.books.curve import Ramp
from dipbook.books.lineup import ALWAYS, NEVER_ENDS
from dipbook.entries.kinds import ACTIVE, NOWHERE

ACTIVE_SYSTEM, ALL_SURFACE = "active", "all surface"


@dataclass(frozen=True)
class System:
    """name: "active", "all surface" or a tank. spans: tank -> (from, to) in it [UTC ms], to excluded.

    reached: spans in which the returns of the well reach it. joins: (tank, from when [UTC ms], its volume then [m3]) of
    tanks of all surface that weren't gauged from the start. never: tanks of all surface that were never gauged.
    """

    name: str
    spans: Mapping[str, tuple[tuple[int, int], ...]]
    reached: tuple[tuple[int, int], ...]
    joins: tuple[tuple[str, int, float], ...] = ()
    never: tuple[str, ...] = ()

    def parts(self, ramp: Ramp) -> list[Ramp]:
        """The parts of a ``ramp`` of the well's mud that reach this system."""
        found = [ramp.within(a, b) for a, b in self.reached]
        return [r for r in found if r is not None]

    def members_at(self, t_ms: int) -> frozenset[str]:
        """Names of its tanks at ``t_ms`` [UTC ms]."""
        return frozenset(n for n, spans in self.spans.items() if any(a <= t_ms < b for a, b in spans))


def system(books: Books, name: str = ACTIVE_SYSTEM) -> System:
    """The system called ``name`` in ``books``: "active", "all surface", or one tank by itself.

    A tank is of all surface from its first dip on: of the others a change is seen before that.
    """
    key = ("system", name)
    if key not in books.worked_out:
        books.worked_out[key] = _system(books, name)
    found: System = books.worked_out[key]
    return found


def _system(books: Books, name: str) -> System:
    joins: list[tuple[str, int, float]] = []
    never: list[str] = []
    if name == ACTIVE_SYSTEM:
        spans = books.line.spans
    elif name == ALL_SURFACE:
        begun: dict[str, tuple[tuple[int, int], ...]] = {}
        for tank in dict.fromkeys(t.name for _, rig in books.rigs for t in rig.tanks):
            first = _first_dip(books, tank)
            if first is None:
                never.append(tank)
            else:
                joins.append((tank, *first))
                begun[tank] = ((first[0], NEVER_ENDS),)
        spans = begun
    else:
        spans = {name: ((ALWAYS, NEVER_ENDS),)}
    reached: list[tuple[int, int]] = []
    for a, b, where in books.line.route_spans():
        if where == NOWHERE:
            continue
        if name == ALL_SURFACE or (where == ACTIVE and name == ACTIVE_SYSTEM):
            reached.append((a, b))
        elif where != ACTIVE:
            reached.extend((max(a, s), min(b, e)) for s, e in spans.get(where, ()) if max(a, s) < min(b, e))
    return System(name, spans, tuple(reached), tuple(joins), tuple(never))


def _first_dip(books: Books, tank: str) -> tuple[int, float] | None:
    """When a tank was first gauged [UTC ms], and its volume then [m3]; None if never."""
    dips = books.dips.get(tank)
    if dips is None:
        return None
    known = np.flatnonzero(np.isfinite(dips.volume_m3))
    return (int(dips.t_ms[known[0]]), float(dips.volume_m3[known[0]])) if len(known) else None
