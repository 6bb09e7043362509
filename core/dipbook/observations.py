"""What the watch is given: the balance and the dips at the log's readings, from the books."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from dipbook import balance, flowback, gauges
from dipbook.books import Books
from dipbook.books.samples import tank_spans
from dipbook.books.trips import Trip
from dipbook.drift import automatic
from dipbook.drifts import Drifts, drifts
from dipbook.limits import FALLING, SUSPECT, TRIP_KINDS, Limit, sides
from dipbook.records import TRIP_ROW
from dipbook.tanks.ends import ends_m
from dipbook.terms.system import ACTIVE_SYSTEM, ALL_SURFACE
from dipbook.terms.trip import sheet_of
from dipbook.watch import Drift, Evidence, FlowBack, Suspects, drift_of

WATCHED = "watched"
"""The system that the flow line goes to, whichever it is at the time."""


def observe(books: Books, first: int = 0, last: int | None = None, *, also: tuple[Limit, ...] = ()) -> Evidence:
    """Evidence at readings ``first`` … ``last``−1 of the books (row numbers in ``books.readings``, all by default), and
    at what tells of trips between them: where they begin and end, and rows that were filled by strokes.

    What is only known in part may raise a warning and ends none: a balance with a tank not gauged; the watched system
    once the flow line was turned since the zero, where its difference begins anew; a tank read outside its shape or
    strapping table, which holds at least, or at most, what its end says; one over its brim or below its stick. A round
    is complete if it tells what the active tanks hold.

    also: limits that no rig of the log has, whose columns are wanted too.
    """
    rows = np.arange(len(books.readings))[first:last]
    t = books.readings.end_ms[rows]
    names, _ = balance.followed(books, t)
    balances = {name: balance.at(books, t, name) for name in
                (ACTIVE_SYSTEM, ALL_SURFACE, *sorted(set(names) - {ACTIVE_SYSTEM, balance.NOT_WATCHED}))}
    on = np.array([n != balance.NOT_WATCHED for n in names], dtype=bool)
    difference = {n: balances[n].difference_m3 for n in (ACTIVE_SYSTEM, ALL_SURFACE)}
    u = {n: balances[n].u_m3 for n in (ACTIVE_SYSTEM, ALL_SURFACE)}
    partial = {n: balances[n].partial for n in (ACTIVE_SYSTEM, ALL_SURFACE)}
    for column, attribute in ((difference, "difference_m3"), (u, "u_m3"), (partial, "partial")):
        column[WATCHED] = _chosen(names, {n: getattr(b, attribute) for n, b in balances.items()})
    partial[WATCHED] = partial[WATCHED] | _turned(books, t, balances[ACTIVE_SYSTEM].zero_ms)
    level: dict[str, Any] = {}
    volume: dict[str, Any] = {}
    for tank, s in books.samples.items():
        gauged = books.gauged_in(tank, rows)
        real = np.flatnonzero(s.real)
        at = np.maximum(np.searchsorted(s.t_ms[real], t, side="right") - 1, 0)
        level[tank] = np.where(gauged, s.level_m[real[at]], np.nan)
        volume[tank] = np.where(gauged, s.volume_m3[real[at]], np.nan)
        unread = gauged & books.unread_in(tank, rows)
        partial[tank] = unread | _put_ends(books, tank, s.t_ms[real[at]], level[tank], volume[tank])
    active = balances[ACTIVE_SYSTEM]
    limits = [x for x in (*(x for _, rig in books.rigs for x in rig.limits), *also) if x.watched]
    back = _flow_back(books, t, names) if any(x.kind == "flow_back" for x in limits) else None
    asked = {drift_of(side): side for side in sides(x for x in limits if x.kind == "drift")}
    made = Evidence(t, difference=difference, u=u, partial=partial,
                    watched=dict.fromkeys((ACTIVE_SYSTEM, ALL_SURFACE, WATCHED), on), level=level, volume=volume,
                    complete=~active.partial & np.isfinite(active.actual_m3), activity=_activities(books, t),
                    flow_back=back, drift=of_drift(books, asked, first, last))
    whole = _with_trips(books, _with_marks(books, made, first, last))
    if any(x.kind == SUSPECT and x.watched for _, rig in books.rigs for x in rig.limits):
        names = balance.followed(books, whole.t_ms)[0]
        whole = replace(whole, suspects=Suspects(*gauges.in_doubt(books, whole.t_ms, names)))
    return whole


def _flow_back(books: Books, t: Any, names: tuple[str, ...]) -> FlowBack:
    """What came back above the accepted connections; unknown where the returns don't go to the active system."""
    made = flowback.above(books, t)
    here = np.array([n == ACTIVE_SYSTEM for n in names], dtype=bool)
    return FlowBack(np.where(here, made.above_m3, np.nan), made.u_m3, made.partial, made.since_s, made.banded)


def of_drift(books: Books, asked: Mapping[str, Limit], first: int = 0, last: int | None = None) -> dict[str, Drift]:
    """What each limit on drift is held against: its own side, and where it follows from the noise, the part of its
    ceiling that it is by then.

    books: of the log. asked: drift_of(limit) → one side of a limit. first, last: readings, as of ``observe``.
    """
    if not asked:
        return {}
    of = drifts(books, first, last)
    return {name: drift_columns(of, limit, books.rig.zone) for name, limit in asked.items()}


def drift_columns(of: Drifts, limit: Limit, zone: str) -> Drift:
    """What one side of a limit on drift is held against. of: the drift of the log; limit: that side; zone: of the rig.
    """
    falling = limit.on == FALLING
    side = of.loss if falling else of.gain
    part = np.ones(len(of.t_ms))
    if limit.times_noise is not None:
        part = automatic(limit.times_noise, of.scale_m3, limit.value) / limit.value
    return Drift(-side.rise_m3 if falling else side.rise_m3, of.partial, of.known & np.isfinite(side.worst_m3),
                 side.of_m3, side.share * part, side.share, side.since_ms, side.rate_m3_s, side.back, side.off, zone,
                 falling)


def _with_marks(books: Books, made: Evidence, first: int, last: int | None) -> Evidence:
    """Evidence with rows of nothing known where only a trip tells something, after reading ``first``−1 and up to
    ``last``−1."""
    ends = books.readings.end_ms
    low = int(ends[first - 1]) if 0 < first <= len(ends) else -(2**62)
    high = int(ends[last - 1]) if last is not None and 0 < last < len(ends) else 2**62
    marks = {t for trip in books.trips for t in _marks(trip) if low < t <= high} - set(made.t_ms.tolist())
    if not marks:
        return made
    t = np.array(sorted({*made.t_ms.tolist(), *marks}), dtype=np.int64)
    at = np.searchsorted(t, made.t_ms)

    def put(column: Any, nothing: Any) -> Any:
        wide = np.full(len(t), nothing, dtype=np.asarray(column).dtype)
        wide[at] = column
        return wide

    def numbers(columns: Any) -> Any:
        return {key: put(column, np.nan) for key, column in columns.items()}

    back = made.flow_back
    return Evidence(
        t, difference=numbers(made.difference), u=numbers(made.u), level=numbers(made.level),
        volume=numbers(made.volume), partial={key: put(c, True) for key, c in made.partial.items()},
        watched={key: put(c, True) for key, c in made.watched.items()}, complete=put(made.complete, False),
        activity=_activities(books, t), flow_back=None if back is None else FlowBack(
            put(back.above, np.nan), put(back.u, np.nan), put(back.partial, True), put(back.since_s, np.nan),
            put(back.banded, False)), drift={key: _spread(one, put) for key, one in made.drift.items()})


def _spread(one: Drift, put: Callable[[Any, Any], Any]) -> Drift:
    """One side of drift with rows of nothing known put in. put: spreads a column, with what stands where nothing does.
    """
    of_numbers = ("value", "counts_m3", "part", "share", "rate_m3_s")
    numbers = {name: put(getattr(one, name), np.nan) for name in of_numbers}
    flags = {name: put(getattr(one, name), False) for name in ("known", "back", "off")}
    return replace(one, partial=put(one.partial, True), since_ms=put(one.since_ms, -1), **numbers, **flags)


def _marks(trip: Trip) -> set[int]:
    """When a trip tells something besides readings [UTC ms]."""
    ends = set() if trip.end_ms is None else {trip.end_ms}
    return {trip.begun_ms, *ends, *(r.t_ms for r in trip.rows if not r.dips and r.payload.get("strokes") is not None)}


def _with_trips(books: Books, made: Evidence) -> Evidence:
    """Evidence with the sums of trips at their rows; nothing where a trip begins, and after it."""
    t = made.t_ms
    sums = {kind: np.full(len(t), np.nan) for kind in TRIP_KINDS}
    spread = {kind: np.full(len(t), np.nan) for kind in TRIP_KINDS}
    over = np.zeros(len(t), dtype=bool)
    last, total = TRIP_KINDS

    def put(t_ms: int, of_last: float, in_all: float, u: float, ended: bool) -> None:
        row = int(np.searchsorted(t, t_ms))
        if row < len(t) and t[row] == t_ms:
            sums[last][row], sums[total][row], spread[total][row], over[row] = of_last, in_all, u, ended

    for trip in books.trips if len(t) else ():
        put(trip.begun_ms, 0.0, 0.0, np.nan, True)
        for line in sheet_of(books, trip)[0] if trip.end_ms is None or trip.end_ms >= t[0] else ():
            if np.isfinite(line.difference_m3):
                put(line.row.t_ms, line.last_n_m3, line.cumulative_m3, line.cumulative_u_m3, False)
        if trip.end_ms is not None:
            put(trip.end_ms, 0.0, 0.0, np.nan, True)
    orphans = {r.t_ms for r in books.eff.records if r.kind == TRIP_ROW} - {r.t_ms for x in books.trips for r in x.rows}
    for t_ms in orphans:        # their trip was struck out
        put(t_ms, 0.0, 0.0, np.nan, True)
    return replace(made, trip=sums, trip_u=spread, trip_over=over)


def _put_ends(books: Books, tank: str, t_ms: Any, level: Any, volume: Any) -> Any:
    """Put the end's level where a tank was read, by its volume, outside its shape or table; True there.

    t_ms: of the dips [UTC ms].
    """
    put = np.zeros(len(level), dtype=bool)
    past = np.flatnonzero(np.isnan(level) & np.isfinite(volume))
    if not len(past):
        return put
    for a, b, described in tank_spans(tank, books.rigs):
        ends = np.array(ends_m(described))
        holds = described.volume(ends)
        for row in past[(t_ms[past] >= a) & (t_ms[past] < b)].tolist():
            level[row] = ends[int(volume[row] > holds[1])]
            put[row] = True
    return put


def _turned(books: Books, t_ms: Any, zero_ms: Any) -> Any:
    """True where the returns went to another system between the zero in force and the reading [UTC ms]."""
    marks = np.array(sorted({r.t_ms for r in books.line.routes} | {c.t_ms for c in books.line.changes}), dtype=np.int64)
    turns: list[int] = []
    before = ACTIVE_SYSTEM
    for at, name in zip(marks.tolist(), balance.followed(books, marks)[0] if len(marks) else (), strict=True):
        if name not in (balance.NOT_WATCHED, before):
            turns.append(at)
            before = name
    index = np.searchsorted(np.array(turns, dtype=np.int64), t_ms, side="right") - 1
    last = np.array([-(2**62), *turns], dtype=np.int64)[index + 1]
    return (index >= 0) & (last > zero_ms)


def _chosen(names: tuple[str, ...], columns: dict[str, Any]) -> Any:
    """The column of the system named at each row; the active system's where none is watched."""
    out = np.array(columns[ACTIVE_SYSTEM])
    for name, column in columns.items():
        if name not in (ACTIVE_SYSTEM, ALL_SURFACE):
            here = np.array([n == name for n in names], dtype=bool)
            out[here] = column[here]
    return out


def _activities(books: Books, t: Any) -> tuple[str, ...]:
    index = np.searchsorted(books.activities.t_ms, t, side="right").tolist()
    words = ("unknown", *books.activities.names)
    return tuple(words[i] for i in index)
