"""Takes runs of readings for one limit: finds with numpy the rows that can matter and steps those only.

The outcome is that of stepping every row, which a property test holds it to.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from dipbook.alarms.step import TOLERANCE, Sample, beyond, clear, side
from dipbook.limits import Limit
from dipbook.watch.evidence import Column
from dipbook.watch.state import Watch, activity_now, applies, delay_ends, interval_ms, last_round, overdue_base, shifted
from dipbook.watch.track import DEADLINE, DELAYED, FOUND, Track


@dataclass(frozen=True)
class Marks:
    """Per row: measure, the value toward the limit; reached: what counts of it over the part of the limit that it is
    held against; beyond; clear (may end it). rows_*: their row numbers, rising."""

    measure: Any
    reached: Any
    beyond: Any
    rows_beyond: Any
    rows_in_force: Any
    rows_clear: Any


def marks(limit: Limit, column: Column, in_force: Any) -> Marks:
    """Where a column stands to a limit. limit; column; in_force: the limit applies, bool per row."""
    measure = np.where(column.known, side(limit) * column.value, -np.inf)
    counts, part = (measure, 1.0) if column.counts is None else (column.counts, column.part)
    past = column.known & beyond(limit, counts, part)
    over = column.known & ~column.partial & clear(limit, counts, part)
    return Marks(measure, counts / part, past, np.flatnonzero(past), np.flatnonzero(past & in_force),
                 np.flatnonzero(over))


def in_force_rows(limit: Limit, activity: tuple[str, ...]) -> Any:
    """bool per row: the limit applies. limit; activity: one word a row."""
    if limit.activity == "any":
        return np.ones(len(activity), dtype=bool)
    answers = {word: applies(limit, word) for word in set(activity)}
    return np.fromiter((answers[word] for word in activity), dtype=bool, count=len(activity))


def sample_at(column: Column, row: int) -> Sample:
    """One known row as a sample. column; row [-]."""
    u = float(column.u[row])
    return Sample(int(column.t_ms[row]), float(column.value[row]), u if np.isfinite(u) else None,
                  bool(column.partial[row]), "" if column.said is None else column.said(row),
                  {} if column.facts is None else column.facts(row))


def walk(watch: Watch, track: Track, column: Column, activity: tuple[str, ...], start: int, stop: int,
         learned: int | None) -> None:
    """Take rows start … stop−1 of a column.

    watch: before the event. track: of the limit. column, activity: of the evidence. learned: when all were learned
    [UTC ms], or None for each row at its own time.
    """
    i = start
    while i < stop and not track.gone:
        limit = track.slot.limit
        in_force = in_force_rows(limit, activity)
        found = marks(limit, column, in_force)
        i = _walk(watch, track, column, in_force, found, i, stop, learned)


def _next(rows: Any, i: int, stop: int) -> int:
    k = int(np.searchsorted(rows, i))
    return min(int(rows[k]), stop) if k < len(rows) else stop


def _trail(measure: Any, sounded: float, growth: float) -> Any:
    """What growth counts from at each row of an acknowledged warning: see dipbook.alarms.step.trailed."""
    lows = np.minimum.accumulate(np.where(np.isfinite(measure), measure, np.inf) + growth)
    return np.minimum(np.concatenate(([sounded], lows[:-1])), sounded)


def _walk(watch: Watch, track: Track, column: Column, in_force: Any, found: Marks, i: int, stop: int,
          learned: int | None) -> int:
    """As walk(), until the limit that counts changes. Returns the row to go on from."""
    limit = track.slot.limit
    t, known = column.t_ms, column.known

    def take(row: int) -> None:
        track.reading(sample_at(column, row), in_force=bool(in_force[row]),
                      learned=int(t[row]) if learned is None else learned)

    while i < stop:
        if track.gone or track.slot.limit is not limit:
            return i
        a = track.alarm
        if a.active:
            j = _next(found.rows_clear, i, stop)
            if a.code == "ACKED" and limit.growth is not None and a.sounded is not None:
                grown = found.beyond[i:j] & (found.measure[i:j] >= _trail(found.measure[i:j], a.sounded, limit.growth)
                                             + limit.growth - TOLERANCE)
                first = np.flatnonzero(grown)
                j = i + int(first[0]) if len(first) else j
            seen = np.flatnonzero(known[i:j])
            if len(seen):
                taken = found.measure[i:j][seen]
                track.fold(float(taken.max()), float(taken.min()))
                track.last = sample_at(column, i + int(seen[-1]))
            if j < stop:
                take(j)
            i = j + 1
        elif a.beyond_since is None:
            i = _next(found.rows_beyond if a.is_open else found.rows_in_force, i, stop)
            if i < stop:
                take(i)
            i += 1
        else:
            end = delay_ends(watch, limit, a)
            if end is not None and end < t[i]:
                track.take("ACT", end, end if learned is None else learned, a.pending, phase=DEADLINE,
                           cause=DELAYED)
                continue
            if known[i]:
                take(i)
            elif not a.is_open and not in_force[i]:
                track.drop_counters()
            i += 1
    return i


def walk_rounds(watch: Watch, track: Track, t_ms: Any, done: Any, activity: tuple[str, ...]) -> None:
    """Take the rows for an overdue limit, each learned at its own time.

    watch: before the event, its ``began`` set. track: of the limit. t_ms, done: per row, when and whether the round
    that the limit waits for was done. activity: per row.
    """
    n = len(t_ms)
    done_rows = np.flatnonzero(done)
    was_in_force = any(applies(track.slot.limit, x) for x in (watch.activity, activity_now(watch)))
    base = overdue_base(watch, track.slot.limit)
    none_yet = last_round(watch, track.slot.limit) is None

    def begun(t: int) -> int:
        """When the interval after a round at ``t`` begins."""
        from_t = shifted(watch, track.slot.limit, t)
        assert from_t is not None
        return from_t if none_yet or base is None else max(from_t, base)

    at = 0
    while at < n and not track.gone:
        limit = track.slot.limit
        interval = interval_ms(limit)
        in_force = in_force_rows(limit, activity)
        flips = np.flatnonzero(in_force != np.concatenate(([was_in_force], in_force[:-1]))) if n else done_rows
        late = done_rows[1:][np.diff(t_ms[done_rows]) > interval] if len(done_rows) > 1 else done_rows[:0]
        rows = np.unique(np.concatenate((flips, late, done_rows[:1], [0, n - 1]))).astype(int)
        for i in (int(r) for r in rows if r >= at):
            at = i + 1
            t = int(t_ms[i])
            before = done_rows[: int(np.searchsorted(done_rows, i))]
            if len(before):
                base, none_yet = begun(int(t_ms[before[-1]])), False
            held = in_force[i - 1] if i else was_in_force
            if base is not None and base + interval < t and watch.off_from is None:
                _overdue(track, bool(held), base, base + interval, phase=DEADLINE)
            if done[i]:
                base, none_yet = begun(t), False
                if track.alarm.active and base + interval > t:
                    track.take("RTN", t, t, None, value=0.0)
            if base is not None and base + interval < t and watch.off_from is None:
                _overdue(track, bool(in_force[i]), base, t, phase=FOUND)
            if track.gone or track.slot.limit is not limit:
                break


def _overdue(track: Track, in_force: bool, base: int, time: int, phase: int) -> None:
    if not track.alarm.active and (track.alarm.is_open or in_force):
        track.take("ACT", time, time, None, value=(time - base) / 1000, phase=phase)
