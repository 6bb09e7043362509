"""The curve of each connection: volume that came back since the pumps stopped, from the books.

What came back is the change of the actual less everything that is booked meanwhile but the lines' own term: a transfer,
a stand filled, a rate in force are taken out, and what is left is drain-back, and whatever the well gave or took.
Nothing here says which. A zero in the middle of a connection changes nothing of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from dipbook import balance
from dipbook.books import Books
from dipbook.terms.lines import held_at
from dipbook.terms.system import ACTIVE_SYSTEM, system

LONGEST_MS = 45 * 60_000
"""Pumps off for longer are no connection (common practice, no source)."""
BEFORE_MS = 2 * 60_000
"""The reading that a curve begins at is no older than this when the pumps stop (our choice)."""
FEWEST = 4
"""Readings while the pumps are off, and one before them, below which there is no curve to speak of (our choice)."""
KEPT = "connections"
"""Name under which books hand on what was kept."""


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop of the pumps, however long. off_ms, on_ms: when [UTC ms], on_ms None while they are off. flow_m3_s:
    before it [m3/s], NaN unknown. on_flow_m3_s: after it [m3/s], NaN unknown. next_ms: when the pumps were next changed
    after they were on again [UTC ms], None if not yet."""

    off_ms: int
    on_ms: int | None
    flow_m3_s: float
    on_flow_m3_s: float
    next_ms: int | None

    @property
    def ends_ms(self) -> int:
        """When its curve ends [UTC ms]: the pumps on again, or too long off to be a connection."""
        longest = self.off_ms + LONGEST_MS
        return longest if self.on_ms is None else min(self.on_ms, longest)

    @property
    def is_connection(self) -> bool:
        """True unless the pumps were off for too long."""
        return self.on_ms is None or self.on_ms - self.off_ms <= LONGEST_MS


@dataclass(frozen=True)
class Connection:
    """One stop of the pumps.

    off_ms, on_ms: when [UTC ms], on_ms None while they are off. flow_m3_s: before it [m3/s], NaN unknown. hole_m: depth
    of the hole then [m], NaN unknown. s: seconds since off, rising; back_m3: what had come back by then [m3]; u_m3: one
    standard uncertainty of that (k = 1). lines_m3: what the lines hold at that flow by the rig file [m3], NaN unknown.
    """

    off_ms: int
    on_ms: int | None
    flow_m3_s: float
    hole_m: float
    s: Any
    back_m3: Any
    u_m3: Any
    lines_m3: float

    def at(self, seconds: Any) -> Any:
        """What had come back at a time since off [m3], straight between readings; NaN outside them.

        seconds: [s], scalar or array.
        """
        x = np.asarray(seconds, dtype=float)
        found = np.where((x >= self.s[0]) & (x <= self.s[-1]), np.interp(x, self.s, self.back_m3), np.nan)
        return float(found) if found.ndim == 0 else found


@dataclass(frozen=True)
class Curves:
    """What books hand on of connections. of: each stop and its curve, None where there is none."""

    of: Mapping[Stop, Connection | None]

    def before(self, t_ms: int) -> Curves:
        """Those that nothing from ``t_ms`` on has touched [UTC ms]."""
        return Curves({stop: curve for stop, curve in self.of.items()
                       if stop.on_ms is not None and stop.ends_ms < t_ms})


def stops(books: Books) -> tuple[Stop, ...]:
    """Every stop of the pumps, by time. books: of the log."""
    key = ("stops", "")
    if key not in books.worked_out:
        books.worked_out[key] = _stops(books)
    found: tuple[Stop, ...] = books.worked_out[key]
    return found


def _stops(books: Books) -> tuple[Stop, ...]:
    pumps = books.pumps
    t, runs, flow = pumps.t_ms.tolist(), pumps.on.tolist(), pumps.flow_m3_s.tolist()
    found: list[Stop] = []
    ons = [k for k in range(len(t)) if runs[k]]
    place = 0
    for k in range(1, len(t)):
        if runs[k] or not runs[k - 1]:
            continue
        while place < len(ons) and ons[place] < k:
            place += 1
        on = ons[place] if place < len(ons) else None
        later = None if on is None or on + 1 >= len(t) else int(t[on + 1])
        found.append(Stop(int(t[k]), None if on is None else int(t[on]), float(flow[k - 1]),
                          float("nan") if on is None else float(flow[on]), later))
    return tuple(found)


def find(books: Books) -> tuple[Connection, ...]:
    """Connections with enough readings for a curve, by time. books: of the log.

    The curve begins at the last reading at or before the pumps stopped: that one is its zero.
    """
    key = ("connections", "")
    if key not in books.worked_out:
        kept = books.kept.get(KEPT, Curves({})).of
        made = {stop: kept[stop] if stop in kept else _curve(books, stop)
                for stop in stops(books) if stop.is_connection}
        books.kept[KEPT] = Curves(made)
        books.worked_out[key] = tuple(one for one in made.values() if one is not None)
    found: tuple[Connection, ...] = books.worked_out[key]
    return found


def reading_before(books: Books, stop: Stop) -> int | None:
    """Row of the last reading at or before the pumps stopped, None where it is too old to begin a curve at.

    books: of the log. stop: of the pumps.
    """
    first = int(np.searchsorted(books.readings.end_ms, stop.off_ms, side="right")) - 1
    return None if first < 0 or stop.off_ms - int(books.readings.end_ms[first]) > BEFORE_MS else first


def came_back(books: Books, t_ms: Any) -> tuple[Any, Any]:
    """(what had come back since the first of the times [m3], NaN unknown; partial there) at each of ``t_ms`` [UTC ms].

    books: of the log. Partial: a tank wasn't gauged or read at that time, or at the first.
    """
    rest, partial = without_lines(books, t_ms)
    return rest - rest[0], partial | partial[0]


def without_lines(books: Books, t_ms: Any) -> tuple[Any, Any]:
    """(the actual less all that is booked but the lines' own term [m3], NaN unknown; partial) at each of ``t_ms``
    [UTC ms]. books: of the log."""
    row = balance.at(books, t_ms)
    made, _ = balance.curves(books, system(books))
    rest = row.actual_m3 - sum(curve.at(row.t_ms) for name, curve in made.items() if name != "lines")
    return rest, row.partial


def lines_hold(books: Books, stop: Stop) -> float:
    """What the lines hold at the flow before a stop by the rig file [m3], NaN unknown. books: of the log. stop: it."""
    drain = books.rig_at(stop.off_ms).drain_back
    return held_at(drain, stop.flow_m3_s) if drain is not None and np.isfinite(stop.flow_m3_s) else float("nan")


def hole_at(books: Books, t_ms: int) -> float:
    """Depth of the hole as logged at a time [m], NaN unknown. books: of the log. t_ms: [UTC ms]."""
    depth = int(np.searchsorted(books.depths.t_ms, t_ms, side="right")) - 1
    return float(books.depths.hole_m[depth]) if depth >= 0 else float("nan")


def _curve(books: Books, stop: Stop) -> Connection | None:
    ends = books.readings.end_ms
    first = reading_before(books, stop)
    last = int(np.searchsorted(ends, stop.ends_ms, side="right"))
    if first is None or last - first - 1 < FEWEST:
        return None
    t = ends[first:last]
    back, partial = came_back(books, t)
    known = np.isfinite(back) & ~partial
    if known.sum() <= FEWEST or not known[0]:
        return None
    u = balance.u_of_change(books, int(t[0]), t[known], ACTIVE_SYSTEM)
    return Connection(stop.off_ms, stop.on_ms, stop.flow_m3_s, hole_at(books, stop.off_ms),
                      np.maximum((t[known] - stop.off_ms) / 1000.0, 0.0), back[known], u, lines_hold(books, stop))
