"""A round is not an instant, and not every tank is in it: the balance stands at its end.

What was logged on a tank between its last dip and the end of the round is known, and carried, whether the round gauged
it or left it out. What the well gave or took in the minutes of the round came to tanks that nobody can name: it is in
the uncertainty.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from dipbook.books.actual import inside
from dipbook.books.books import Books
from dipbook.books.equalised import level_with
from dipbook.terms.system import ACTIVE_SYSTEM, System


def carried(books: Books, system: System, samples: Mapping[str, Any], t_ms: Any, at: Mapping[str, Any]) -> Any:
    """What was logged on each tank of a system from its dip to the end of the reading in force [m3], by time.

    books: of the log. system: which tanks. samples: its readings by tank. t_ms: int64 array [UTC ms]. at: by tank the
    index of its reading at each of the times. A tank that the reading left out is held at its last dip with what was
    logged on it since, as when it joins: a short round while mud runs over from it shows no gain.
    """
    total = np.zeros(np.shape(t_ms))
    if not len(books.readings):
        return total
    r = books.readings.index_at(t_ms)
    end = np.where(r >= 0, books.readings.end_ms[np.maximum(r, 0)], 0)
    for tank, spans in system.spans.items():
        logged = books.logged(tank)
        if tank not in samples or not len(logged.t):
            continue
        dipped = samples[tank].t_ms[np.maximum(at[tank], 0)]
        rows = np.flatnonzero((r >= 0) & (at[tank] >= 0) & (dipped < end) & inside(spans, t_ms))
        if len(rows):
            total[rows] += logged.at(end[rows]) - logged.at(dipped[rows])
    if any(valve.equalises for _, rig in books.rigs for valve in rig.valves):
        took_time = (r >= 0) & (books.readings.start_ms[np.maximum(r, 0)] < end)
        for row in np.unique(r[took_time]).tolist():
            total[took_time & (r == row)] += spread_by_gates(books, system, row)
    return total


def spread_by_gates(books: Books, system: System, reading: int) -> float:
    """What the carried moves of a reading lack where tanks at one level were dipped one after another [m3].

    books: of the log. system: which tanks. reading: its number. What was logged on one of them between the first dip
    and the last spreads over all: each dip lacks, of all of it, its tank's share by area, and not what was logged on
    its own.
    """
    key = (f"spread by gates {system.name}", str(reading))
    if key not in books.worked_out:
        books.worked_out[key] = _spread_by_gates(books, system, reading)
    found: float = books.worked_out[key]
    return found


def _spread_by_gates(books: Books, system: System, reading: int) -> float:
    start, end = int(books.readings.start_ms[reading]), int(books.readings.end_ms[reading])
    if start == end:
        return 0.0
    rig = books.rig_at(end)
    dipped: dict[str, tuple[int, float]] = {}
    for name in system.members_at(end):
        s = books.dips.get(name)
        i = int(s.index_at(end)) if s is not None else -1
        if s is not None and i >= 0 and s.t_ms[i] >= start and any(t.name == name for t in rig.tanks):
            dipped[name] = (int(s.t_ms[i]), float(rig.tank(name).slope(s.level_m[i])))
    total, done = 0.0, set[str]()
    for name in dipped:
        group = [name, *(other for other, _ in level_with(rig, books.valves, name, end) if other in dipped)]
        last = max(dipped[n][0] for n in group)
        area = sum(dipped[n][1] for n in group)
        if name in done or len(group) < 2 or not area > 0.0:
            continue
        done.update(group)
        for n in group:
            t, slope = dipped[n]
            between = {m: float(books.logged(m).at(last)) - float(books.logged(m).at(t)) for m in group}
            total += slope / area * sum(between.values()) - between[n]
    return total


def not_gauged_yet(books: Books, system: System, t_ms: Any, unknown: Mapping[str, Any]) -> Any:
    """What tanks of a system count for that joined it and weren't gauged by then [m3], by time: their worth at joining
    as the expected has it, 0 where nobody knows it yet, and what was logged on them since. NaN where one didn't join.

    books: of the log. system: which tanks. t_ms: int64 array [UTC ms]. unknown: by tank True where it isn't known.
    """
    total = np.zeros(np.shape(t_ms))
    changes = books.line.changes if system.name == ACTIVE_SYSTEM and len(books.readings) else ()
    for tank, rows in unknown.items():
        own = np.where(rows, np.nan, 0.0)
        logged = books.logged(tank)
        for a, b in system.spans[tank]:
            joined = next((c for c in changes if c.tank == tank and c.joins and c.t_ms == a), None)
            here = rows & (t_ms >= a) & (t_ms < b)
            if joined is not None and here.any():
                worth = 0.0 if np.isnan(joined.volume_m3) else joined.volume_m3
                end = books.readings.end_ms[np.maximum(books.readings.index_at(t_ms[here]), 0)]
                own[here] = worth + logged.at(np.maximum(end, a)) - logged.at(a)
        total = total + own
    return total


LOOKS = 33
"""Times at which the course of a round is looked at: a connection within it lasts minutes, and so does the round."""


def unplaced(books: Books, system: System, made: Mapping[str, Any], readings: Any) -> Any:
    """How far the expected moved in the course of a reading by what isn't any one tank's, there and back too [m3], not
    negative.

    books: of the log. system: which tanks. made: its terms as curves. readings: int64 array, indices of readings; 0
    where one is below 0. A tank dipped in the course of the round may lack all of it, one dipped last nothing.
    """
    out = np.zeros(np.shape(readings))
    rows = np.flatnonzero(readings >= 0)
    start, end = books.readings.start_ms[readings[rows]], books.readings.end_ms[readings[rows]]
    rows, start, end = rows[end > start], start[end > start], end[end > start]
    if not len(rows):
        return out
    times = start[:, None] + (end - start)[:, None] * np.linspace(0.0, 1.0, LOOKS)
    moved = np.zeros(times.shape)
    for name, curve in made.items():
        if name != "lineup":
            moved += curve.at(times.ravel()).reshape(times.shape)
    for tank, spans in system.spans.items():
        logged = books.logged(tank)
        if len(logged.t):
            moved -= np.where(inside(spans, end)[:, None], logged.at(times), 0.0)
    out[rows] = np.ptp(moved, axis=1)
    return out
