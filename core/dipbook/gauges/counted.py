"""How many gauges are in doubt at each reading: what a limit of kind ``suspect`` looks at."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from dipbook.books import Books
from dipbook.gauges.doubt import KINDS, Doubt
from dipbook.gauges.look import doubts
from dipbook.gauges.words import brief
from dipbook.terms.system import ACTIVE_SYSTEM, ALL_SURFACE

WATCHED = "watched"


def in_doubt(books: Books, t_ms: Any, watched: Sequence[str],
             ) -> tuple[Mapping[str, Any], Mapping[str, tuple[str, ...]]]:
    """(how many gauges are in doubt, which and how in words) at each reading, by system and by tank.

    books: of the log. t_ms: ends of readings, rising [UTC ms]. watched: name of the watched system at each. A doubt
    counts from the reading that told it, not from when it began.
    """
    t = np.asarray(t_ms, dtype=np.int64)
    tanks = [x.name for x in books.rig.tanks]
    count = {name: np.zeros(len(t)) for name in (ACTIVE_SYSTEM, ALL_SURFACE, WATCHED, *tanks)}
    said: dict[str, list[str]] = {name: [""] * len(t) for name in count}
    if not len(t):
        return count, {name: tuple(x) for name, x in said.items()}
    found = [d for d in doubts(books, int(t[0]), int(t[-1])) if d.kind in KINDS]
    of_tank: dict[str, list[Doubt]] = {}
    for d in found:
        of_tank.setdefault(d.tank, []).append(d)
    for tank, mine in of_tank.items():
        if tank not in count:
            continue
        stands = np.zeros(len(t), dtype=bool)
        spans = books.line.spans.get(tank, ())
        active = np.zeros(len(t), dtype=bool)
        for a, b in spans:
            active |= (t >= a) & (t < b)
        by_flow = np.array([tank == name for name in watched], dtype=bool)
        to_active = np.array([name == ACTIVE_SYSTEM for name in watched], dtype=bool)
        for d in mine:
            here = (t >= d.known_ms) & (t <= (t[-1] if d.to_ms is None else d.to_ms))
            for name, rows in ((tank, here), (ALL_SURFACE, here), (ACTIVE_SYSTEM, here & active),
                               (WATCHED, here & (by_flow | (active & to_active)))):
                for row in np.flatnonzero(rows & ~stands).tolist():
                    said[name][row] = ", ".join(x for x in (said[name][row], f"{tank} {brief(d)}") if x)
            stands |= here
        for name, rows in ((tank, stands), (ALL_SURFACE, stands), (ACTIVE_SYSTEM, stands & active),
                           (WATCHED, stands & (by_flow | (active & to_active)))):
            count[name] += rows
    return count, {name: tuple(x) for name, x in said.items()}
