"""How far what comes back lies above what was accepted, at each reading while the pumps are off: what a limit watches.

From the first fixed minute on it is held against the band that was adopted for it, at every reading and not only at the
fixed minutes, so that no second of a connection is blind. After the last time that enough of the accepted ones reach,
their last value stands. What is explained never exceeds what the lines hold, G(Q); without a band only what lies above
G(Q), all of it, is known to be too much, and that is compared. Without either nothing can be: NaN.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from dipbook import balance
from dipbook.books import Books
from dipbook.findings import Finding
from dipbook.flowback.adopted import band_for
from dipbook.flowback.curves import Connection, Stop, came_back, lines_hold, reading_before, stops
from dipbook.flowback.envelope import FEWEST, MINUTES, spread
from dipbook.terms.system import ACTIVE_SYSTEM


@dataclass(frozen=True)
class Above:
    """One row a reading. above_m3: above the band or above what the lines hold [m3], 0 while the pumps run, NaN where
    it can't be compared. u_m3: of it (k = 1). partial: a tank wasn't gauged or read. since_s: since the pumps stopped
    [s], NaN while they run. banded: held against a band there.
    """

    above_m3: Any
    u_m3: Any
    partial: Any
    since_s: Any
    banded: Any


def above(books: Books, t_ms: Any) -> Above:
    """What is watched of flow-back at readings. books: of the log. t_ms: ends of readings, rising [UTC ms]."""
    t = np.asarray(t_ms, dtype=np.int64)
    n = len(t)
    made = Above(np.full(n, np.nan), np.full(n, np.nan), np.zeros(n, dtype=bool), np.full(n, np.nan),
                 np.zeros(n, dtype=bool))
    pumps = books.pumps
    if not n or not len(pumps.t_ms):
        return made
    index = np.searchsorted(pumps.t_ms, t, side="right") - 1
    made.above_m3[(index >= 0) & pumps.on[np.maximum(index, 0)]] = 0.0
    for stop in stops(books):
        rows = np.flatnonzero((t >= stop.off_ms) & (t <= stop.ends_ms))
        if len(rows):
            _of_one(books, stop, t, rows, made)
    return made


def _of_one(books: Books, stop: Stop, t: Any, rows: Any, made: Above) -> None:
    """Fill in the rows of one stop."""
    since = (t[rows] - stop.off_ms) / 1000.0
    made.since_s[rows] = since
    made.above_m3[rows] = np.nan
    first = reading_before(books, stop)
    if first is None:
        return
    begin = int(books.readings.end_ms[first])
    back, partial = came_back(books, np.concatenate(([begin], t[rows])))
    most, banded = explained(books, stop, since)
    made.above_m3[rows] = back[1:] - most
    made.partial[rows] = partial[1:]
    made.banded[rows] = banded
    known = rows[np.isfinite(made.above_m3[rows])]
    if len(known):
        made.u_m3[known] = balance.u_of_change(books, begin, t[known], ACTIVE_SYSTEM)


def explained(books: Books, stop: Stop, since_s: Any) -> tuple[Any, Any]:
    """(the most that is explained of what came back [m3], NaN where nothing can be compared; whether by a band).

    books: of the log. stop: of the pumps. since_s: times since then [s], array, any order.
    """
    since = np.asarray(since_s, dtype=float)
    cap = lines_hold(books, stop)
    most = np.full(len(since), cap)
    band = band_for(books, stop.off_ms, stop.flow_m3_s)
    if band is None or len(band.members) < FEWEST:
        return most, np.zeros(len(since), dtype=bool)
    high = spread(band.members, np.minimum(since, reach_s(band.members)))[1]
    banded = (since >= MINUTES[0] * 60.0) & np.isfinite(high)
    return np.where(banded, np.fmin(high, cap), most), banded


def worst(books: Books, connection: Connection) -> tuple[float, float, bool]:
    """(how far a connection lay above what is explained at most [m3], when [s since off], whether above a band); NaN
    where nothing can be compared. books: of the log. connection: one of its own.
    """
    stop = next(s for s in stops(books) if s.off_ms == connection.off_ms)
    most, banded = explained(books, stop, connection.s)
    over = connection.back_m3 - most
    if not np.isfinite(over).any():
        return float("nan"), float("nan"), False
    # Above all that the lines hold counts too, but a band, where there is one, is what it is told against.
    rows = np.flatnonzero(banded & np.isfinite(over))
    rows = rows if len(rows) else np.flatnonzero(np.isfinite(over))
    at = int(rows[np.argmax(over[rows])])
    return float(over[at]), float(connection.s[at]), bool(banded[at])


def reach_s(members: Sequence[Connection]) -> float:
    """How long after the pumps stopped at least FEWEST of some connections reach [s]. members: at least so many."""
    return float(sorted((float(c.s[-1]) for c in members), reverse=True)[FEWEST - 1])


def not_compared(books: Books) -> tuple[Finding, ...]:
    """Findings on connections that a limit on flow-back couldn't hold against accepted ones; none without such a limit.

    books: of the log. Each says how many there were and when the first was.
    """
    if not any(x.kind == "flow_back" and x.watched for x in books.rig.limits):
        return ()
    by_lines, by_nothing = list[int](), list[int]()
    ends = books.readings.end_ms
    for stop in stops(books):
        rows = ends[(ends > stop.off_ms) & (ends <= stop.ends_ms)]
        if not stop.is_connection or not len(rows):
            continue
        if not np.isfinite(above(books, rows).above_m3).any():
            by_nothing.append(stop.off_ms)
        elif (band := band_for(books, stop.off_ms, stop.flow_m3_s)) is None or len(band.members) < FEWEST:
            by_lines.append(stop.off_ms)
    found: list[Finding] = []
    if by_lines:
        found.append(Finding(f"{_of(by_lines)} held against no band of accepted connections, only against all that the "
                             "lines hold.", code="no_band", severity="note", t_ms=by_lines[0]))
    if by_nothing:
        found.append(Finding(f"{_of(by_nothing)} compared with nothing: the flow-back limit needs a reading within 2 "
                             "min before the pumps stop, and a band, or the flow and the rig file's [drain_back].",
                             code="not_compared", t_ms=by_nothing[0]))
    return tuple(found)


def _of(times: list[int]) -> str:
    return "The connection at this time was" if len(times) == 1 else \
        f"{len(times)} connections, the first at this time, were"
