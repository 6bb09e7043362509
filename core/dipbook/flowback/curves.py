"""The curve of each connection: volume that came back since the pumps stopped, from the books.

What came back is the change of the difference with the lines' own term put back: everything else that is booked
meanwhile, a transfer, a stand filled, a rate in force, is taken out, and what is left is drain-back, and whatever the
well gave or took. Nothing here says which.
"""

from __future__ import annotations

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


def find(books: Books) -> tuple[Connection, ...]:
    """Connections with enough readings for a curve, by time. books: of the log.

    The curve begins at the last reading at or before the pumps stopped: that one is its zero.
    """
    pumps = books.pumps
    found: list[Connection] = []
    for k in range(1, len(pumps.t_ms)):
        if pumps.on[k] or not pumps.on[k - 1]:
            continue
        off = int(pumps.t_ms[k])
        on = next((int(t) for t, runs in zip(pumps.t_ms[k + 1:], pumps.on[k + 1:], strict=True) if runs), None)
        if on is not None and on - off > LONGEST_MS:
            continue
        made = _curve(books, off, on, float(pumps.flow_m3_s[k - 1]))
        if made is not None:
            found.append(made)
    return tuple(found)


def _curve(books: Books, off: int, on: int | None, flow: float) -> Connection | None:
    ends = books.readings.end_ms
    first = int(np.searchsorted(ends, off, side="right")) - 1
    last = int(np.searchsorted(ends, off + LONGEST_MS if on is None else on, side="right"))
    if first < 0 or last - first - 1 < FEWEST or off - int(ends[first]) > BEFORE_MS:
        return None
    t = ends[first:last]
    row = balance.at(books, t)
    made, _ = balance.curves(books, system(books))
    lines = made["lines"].at(t)
    back = row.difference_m3 - row.difference_m3[0] + lines - lines[0]
    known = np.isfinite(back) & ~row.partial
    if known.sum() <= FEWEST or not known[0] or len(set(row.zero_ms[known].tolist())) != 1:
        return None
    u = balance.u_of_change(books, int(t[0]), t[known], ACTIVE_SYSTEM)
    drain = books.rig_at(off).drain_back
    depth = int(np.searchsorted(books.depths.t_ms, off, side="right")) - 1
    return Connection(off, on, flow, float(books.depths.hole_m[depth]) if depth >= 0 else float("nan"),
                      np.maximum((t[known] - off) / 1000.0, 0.0), back[known], u,
                      held_at(drain, flow) if drain is not None and np.isfinite(flow) else float("nan"))
