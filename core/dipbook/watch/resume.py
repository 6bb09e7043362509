"""Takes the watch up again after a restart, from the journal and the last readings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Any

import numpy as np

from dipbook.alarms.step import read, uncounted
from dipbook.limits import TRIP_KINDS, Limit
from dipbook.watch.evidence import Evidence, channel_of
from dipbook.watch.learning import seen
from dipbook.watch.rows import in_force_rows, sample_at
from dipbook.watch.state import Key, Slot, Span, Stood, Watch, key_of, start, tightest, with_gap
from dipbook.watch.transitions import SET_ASIDE_WORDS, Transition, from_payload


def resume(limits: tuple[Limit, ...], revision: int, payloads: Iterable[Mapping[str, Any]],
           tail: Evidence | None = None, *, began_ms: int | None = None,
           unwatched: Sequence[tuple[int, int | None]] = (),
           stood: Mapping[str, tuple[Stood, ...]] = MappingProxyType({})) -> Watch:
    """The watch as it was. What was acknowledged doesn't sound again; what wasn't, does.

    limits, revision: in force. payloads: of all transitions, in the order of seq. tail: the last readings, back to the
    raise of the oldest warning that isn't acknowledged, and far enough for the delays by readings. began_ms: when the
    watch began [UTC ms]. unwatched: gaps (from, to), to None for one that goes on [UTC ms]. stood: limit's name → every
    limit that it has been with since when, the present one last; for readings that come late.
    Raises ValueError for a payload that can't be read.
    A warning that a crash lost before it was stored isn't raised here, where nothing sounds: give the last readings
    once more as Learned. Nothing that was stored sounds twice.
    """
    last: dict[Key, Transition] = {}
    spans: dict[Key, list[Span]] = {}
    now: int | None = None
    for payload in payloads:
        tr = from_payload(payload)
        if tr.basis is None:
            continue
        key = key_of(tr.basis)
        last[key] = tr
        _mark(spans.setdefault(key, []), tr)
        now = tr.learned if now is None else max(now, tr.learned)
    begun = start(limits, revision)
    here = {slot.key for slot in begun.slots}
    slots = [_slot(slot, last.get(slot.key), stood) for slot in begun.slots]
    slots += [Slot(tr.basis, None, tr.revision, tr.alarm) for key, tr in last.items()
              if key not in here and tr.basis is not None and tr.alarm.is_open]
    if tail is not None and len(tail):
        slots = [_fold(slot, tail, last[slot.key].seen_t if slot.key in last else None) for slot in slots]
    watch = replace(begun, slots=tuple(slots), spans={k: tuple(v) for k, v in spans.items() if v}, began=began_ms,
                    now=now)
    for a, b in unwatched:
        watch = replace(watch, off_from=a) if b is None else with_gap(replace(watch, off_from=None), a, b)
    return watch if tail is None or not len(tail) else seen(watch, tail)


def _slot(slot: Slot, tr: Transition | None, stood: Mapping[str, tuple[Stood, ...]]) -> Slot:
    """A limit in force with what the journal knows of it."""
    known = stood.get(slot.limit.name, slot.stood)
    if slot.limit.kind in TRIP_KINDS:
        known = tuple((since, replace(was, on=slot.limit.on)) for since, was in known)
    slot = replace(slot, stood=known)
    if tr is None or tr.basis is None:
        return slot
    if not tr.alarm.is_open:
        return replace(slot, alarm=tr.alarm)
    standing = tightest(tr.basis, slot.limit)
    return replace(slot, limit=standing, alarm=tr.alarm,
                   revision=tr.revision if standing == tr.basis else slot.revision)


def _mark(spans: list[Span], tr: Transition) -> None:
    """Follow when a limit was beyond and sounded for it."""
    if tr.state == "raised" and tr.from_state in ("closed", "over", "over_acknowledged"):
        spans.append((tr.time, None))
    if tr.event == "ACT" and tr.state in SET_ASIDE_WORDS:
        spans.append((tr.time, None))
    if tr.event == "RTN" and spans and spans[-1][1] is None:
        begun = spans[-1][0]
        spans[-1] = (begun, max(begun, int(tr.evidence.get("t", tr.time))))


def _fold(slot: Slot, tail: Evidence, seen_t: int | None) -> Slot:
    """Bring a limit's counters and worst up to the last reading. Events aren't taken: the journal has them."""
    column = tail.column(channel_of(slot.limit))
    if slot.limit.kind == "overdue" or column is None:
        return slot
    in_force = in_force_rows(slot.limit, tail.activity)
    alarm = slot.alarm
    from_row = 0 if seen_t is None else int(np.searchsorted(tail.t_ms, seen_t, side="right"))
    for row in range(from_row, len(tail)):
        if column.known[row]:
            alarm, _ = read(alarm, slot.limit, sample_at(column, row), applies=bool(in_force[row]))
        elif not alarm.is_open and not in_force[row]:
            alarm = uncounted(alarm)
    return replace(slot, alarm=alarm)
