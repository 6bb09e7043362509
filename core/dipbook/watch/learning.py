"""Takes what was learned: the readings that are new, those looked at again, and those that came late."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from dipbook.alarms.step import Sample
from dipbook.watch.events import Learned
from dipbook.watch.evidence import Channel, Column, Evidence, channel_of
from dipbook.watch.late import summarise
from dipbook.watch.rows import in_force_rows, sample_at, walk, walk_rounds
from dipbook.watch.state import Watch, interval_ms, overdue_base
from dipbook.watch.track import Track


def learned(watch: Watch, event: Learned) -> tuple[dict[int, Track], Watch]:
    """Take an event's readings. Returns the tracks by the slot's place, and the watch with what it last saw.

    watch: before, told of the time before the event. event: with at least one reading.
    """
    evidence = event.evidence
    after = seen(watch, evidence, event.struck_from_ms)
    tracks: dict[int, Track] = {}
    for order, slot in enumerate(watch.slots):
        track = Track(watch, slot, order, seq=event.seq, cause=event.cause)
        tracks[order] = track
        channel = channel_of(slot.limit)
        if slot.limit.kind == "overdue":
            if event.replay:
                walk_rounds(watch, track, evidence.t_ms, evidence.rounds(channel), evidence.activity)
            else:
                _round_done(watch, after, track, event.learned_ms)
            continue
        column = evidence.column(channel)
        if column is not None:
            _readings(watch, track, event, column, channel)
        if channel in watch.last and channel not in after.last and not track.alarm.active:
            track.drop_counters()
    return tracks, after


def _readings(watch: Watch, track: Track, event: Learned, column: Column, channel: Channel) -> None:
    """Readings for a limit on a value: those before the last one known, that one, and those after it."""
    activity = event.evidence.activity
    last = watch.last.get(channel)
    at = None if event.replay else event.learned_ms
    now = event.learned_ms
    t = column.t_ms
    if last is None:
        if event.batch:
            summarise(watch, track, column, activity, len(t), now, newest=True, now=None)
        else:
            walk(watch, track, column, activity, 0, len(t), at)
        return
    if event.batch and bool((column.known & (t >= last.t_ms)).any()):
        summarise(watch, track, column, activity, len(t), now, newest=True, now=last)
        return
    struck = event.struck_from_ms is not None and last.t_ms >= event.struck_from_ms
    old = int(np.searchsorted(t, last.t_ms))
    stop = int(np.searchsorted(t, last.t_ms, side="right"))
    again = _row_again(column, last, stop, struck)
    if old or again is not None:
        end = stop if again is not None else old
        now_sample = last if again is None else sample_at(column, again)
        found = summarise(watch, track, column, activity, end, now, newest=False, now=now_sample)
        if struck and not track.alarm.active:
            track.count_as(found.state)
    if again is not None and not track.gone:
        sample = sample_at(column, again)
        in_force = bool(in_force_rows(track.slot.limit, activity)[again])
        # What a correction ends, ends now; what it shows to have been beyond, is marked with when it was.
        time = now if track.alarm.active else None
        track.reading(sample, in_force=in_force, learned=now, time=time, counts=False)
    if stop < len(t) and not track.gone:
        walk(watch, track, column, activity, stop, len(t), at)


def _row_again(column: Column, last: Sample, stop: int, struck: bool) -> int | None:
    """The row that is the last known reading, looked at again, or None.

    struck: that reading no longer stands, so the last one before it that does takes its place.
    """
    known = np.flatnonzero(column.known[:stop])
    if not len(known):
        return None
    row = int(known[-1])
    return row if struck or int(column.t_ms[row]) == last.t_ms else None


def _round_done(watch: Watch, after: Watch, track: Track, now: int) -> None:
    """End an overdue if a round is done since and the next isn't due yet."""
    limit = track.slot.limit
    base = overdue_base(after, limit)
    if not track.alarm.active or base is None or base == overdue_base(watch, limit):
        return
    if base + interval_ms(limit) > now:
        track.take("RTN", now, now, None, value=(now - base) / 1000)


def seen(watch: Watch, evidence: Evidence, struck_from_ms: int | None = None) -> Watch:
    """The watch with the last readings of the evidence, warnings untouched.

    watch; evidence: with at least one reading; struck_from_ms: as in Learned [UTC ms].
    """
    watch = forget(watch, struck_from_ms)
    last: dict[Channel, Sample] = dict(watch.last)
    for channel in evidence.channels():
        column = evidence.column(channel)
        if column is None or not bool(column.known.any()):
            continue
        rows = np.flatnonzero(column.known)
        sample = sample_at(column, int(rows[-1]))
        had = last.get(channel)
        if had is None or sample.t_ms >= had.t_ms:
            last[channel] = sample
    done = evidence.t_ms[evidence.complete]
    last_complete = watch.last_complete
    if len(done):
        last_complete = _later(int(done[-1]), last_complete)
    end = int(evidence.t_ms[-1])
    if watch.last_t is not None and end < watch.last_t:
        return replace(watch, last=last, last_complete=last_complete)
    now: Any = {system: bool(column[-1]) for system, column in evidence.watched.items()}
    doing = watch.doing if watch.doing is not None and watch.doing[1] > end else None
    return replace(watch, last=last, last_complete=last_complete, last_t=end, activity=evidence.activity[-1],
                   doing=doing, watched={**watch.watched, **now})


def forget(watch: Watch, struck_from_ms: int | None) -> Watch:
    """The watch without the last readings that no longer stand; warnings untouched: what isn't known ends nothing.

    watch; struck_from_ms: as in Learned [UTC ms].
    """
    if struck_from_ms is None:
        return watch

    def stands(t_ms: int | None) -> int | None:
        return t_ms if t_ms is not None and t_ms < struck_from_ms else None

    last = {channel: sample for channel, sample in watch.last.items() if sample.t_ms < struck_from_ms}
    return replace(watch, last=last, last_t=stands(watch.last_t), last_complete=stands(watch.last_complete))


def _later(a: int, b: int | None) -> int:
    return a if b is None else max(a, b)
