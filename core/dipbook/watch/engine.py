"""The watch's step: one event in, the next watch and what it wrote out. Pure; no clock is read.

Order at one instant: what is learned comes before the passing of that instant. So a reading taken exactly when a
deadline falls is in time, and results don't depend on how often Advance is called.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from dipbook.alarms.step import RefusedError, Sample, read, uncounted
from dipbook.alarms.table import ACTIONS, ON_THE_WARNING
from dipbook.errors import EntryError
from dipbook.limits import Limit, sides
from dipbook.watch.asides import setting_aside, taken_up_again
from dipbook.watch.events import (
    Act,
    Advance,
    Doing,
    Event,
    Learned,
    LimitsChanged,
    Unwatched,
    WatchedAgain,
)
from dipbook.watch.evidence import SYSTEMS, Channel, Evidence, channel_of
from dipbook.watch.learning import forget, learned
from dipbook.watch.state import (
    SILENCE_MS,
    Key,
    Slot,
    Span,
    Stood,
    Watch,
    applies,
    deadline_of,
    in_force,
    key_of,
    overdue_base,
    raise_due,
    shelf_ends,
    start,
    tightest,
    watchable,
    with_gap,
)
from dipbook.watch.track import DEADLINE, DELAYED, Entry, Track, in_order
from dipbook.watch.transitions import Transition

Out = tuple[Transition, ...]


def step(watch: Watch, event: Event) -> tuple[Watch, Out]:
    """Take one event. Returns the next watch and the transitions, in the order in which they became known.

    watch: before. event: Learned, Advance, Act, LimitsChanged, Doing, Unwatched or WatchedAgain.
    Raises EntryError (also dipbook.alarms.RefusedError) for an act that can't be done; the watch is then as it was.
    """
    match event:
        case Advance():
            after, out = fire(watch, event.to_ms)
            after = _told(after, event.to_ms)
        case Learned():
            after, out = _learn(watch, event)
        case Act():
            after, out = _act(watch, event)
        case LimitsChanged():
            after, out = _limits(watch, event)
        case Doing():
            after, out = _doing(watch, event)
        case Unwatched():
            after, out = _unwatched(watch, event)
        case WatchedAgain():
            after, out = _watched_again(watch, event)
    if any(tr.sounds for tr in out):
        after = replace(after, silenced_until=0)
    return after, out


def run(limits: tuple[Limit, ...], evidence: Evidence, revision: int = 0) -> tuple[Watch, Out]:
    """Every reading learned at its own time, by a watch that begins with the first.

    limits: in force throughout. evidence: all readings. revision: of the limits [-]. Deadlines that fall after the last
    reading are left for Advance.
    """
    begun = start(limits, revision)
    if not len(evidence):
        return begun, ()
    return step(begun, Learned(0, int(evidence.t_ms[-1]), evidence, replay=True))


def fire(watch: Watch, to_ms: int, *, found_at: int | None = None, floor: int | None = None) -> tuple[Watch, Out]:
    """Raise what falls due up to and including ``to_ms``, each at its exact instant.

    watch. to_ms [UTC ms]. found_at: when a deadline that already lies in the past was found out, or None where each is
    learned when it falls. floor: the earliest time of an occurrence found so (a limit just set) [UTC ms].
    """
    entries: list[Entry] = []
    tracks: dict[int, Track] = {}
    for order, slot in enumerate(watch.slots):
        due = deadline_of(watch, slot)
        if due is None or due > to_ms:
            continue
        track = tracks[order] = Track(watch, slot, order)
        while due is not None and due <= to_ms and not track.gone:
            if due == raise_due(watch, track.slot):
                _fall_due(watch, track, due, found_at, floor)
            else:
                learned_at = due if found_at is None else found_at
                track.take("UNS", due, learned_at, track.last, phase=DEADLINE, cause="its time is up")
            due = deadline_of(watch, track.slot)
        entries += track.out
    return settle(watch, tracks), in_order(entries)


def _fall_due(watch: Watch, track: Track, due: int, found_at: int | None, floor: int | None) -> None:
    """Raise what falls due at ``due`` [UTC ms]; the others as for fire()."""
    slot = track.slot
    overdue = slot.limit.kind == "overdue"
    time = due
    if found_at is not None:
        time = found_at if overdue else max(due, floor if floor is not None else due)
    base = overdue_base(watch, slot.limit) if overdue else None
    elapsed = (time - base) / 1000 if base is not None else None
    track.take("ACT", time, due if found_at is None else found_at, slot.alarm.pending, value=elapsed,
               phase=DEADLINE, cause="" if overdue else DELAYED)


def settle(watch: Watch, tracks: Mapping[int, Track]) -> Watch:
    """The watch after tracks have been written. watch; tracks: by the slot's place."""
    if not tracks:
        return watch
    slots = [tracks[i].slot if i in tracks else s for i, s in enumerate(watch.slots)
             if i not in tracks or not tracks[i].gone]
    spans: dict[Key, tuple[Span, ...]] = dict(watch.spans)
    spans.update({watch.slots[i].key: tuple(tr.spans) for i, tr in tracks.items() if tr.spans})
    return replace(watch, slots=tuple(slots), spans=spans)


def _told(watch: Watch, at_ms: int) -> Watch:
    return watch if watch.now is not None and watch.now >= at_ms else replace(watch, now=at_ms)


def _before(watch: Watch, at_ms: int) -> tuple[Watch, Out]:
    """Let the time before an event pass."""
    after, out = fire(watch, at_ms - 1)
    return _told(after, at_ms), out


def _learn(watch: Watch, event: Learned) -> tuple[Watch, Out]:
    evidence = event.evidence
    if event.replay and (cut := _shelf_ends_at(watch, evidence)):
        part, rest = evidence.rows(0, cut), evidence.rows(cut, len(evidence))
        after, out = _learn(watch, replace(event, evidence=part, learned_ms=int(part.t_ms[-1])))
        after, more = _learn(after, replace(event, evidence=rest))
        return after, out + more
    if not len(evidence):
        ready, out = _before(watch, event.learned_ms)
        return _all_struck(ready, event), out
    first, last = int(evidence.t_ms[0]), int(evidence.t_ms[-1])
    ready, out = _before(watch, first if event.replay else event.learned_ms)
    if ready.began is None:
        ready = replace(ready, began=first if event.replay else event.learned_ms)
    tracks, after = learned(ready, event)
    after = settle(after, tracks)
    out += in_order([e for tr in tracks.values() for e in tr.out])
    if event.replay:
        return _told(after, last), out
    after, more = fire(after, event.learned_ms - 1, found_at=event.learned_ms)
    return after, out + more


def _shelf_ends_at(watch: Watch, evidence: Evidence) -> int:
    """The first row after the next end of a shelf, 0 where none ends between rows: each row is learned at its time."""
    end = min((e for s in watch.slots if (e := shelf_ends(watch, s)) is not None), default=None)
    rows = 0 if end is None else int(np.searchsorted(evidence.t_ms, end, side="right"))
    return rows if rows < len(evidence) else 0


def _all_struck(watch: Watch, event: Learned) -> Watch:
    """Readings were struck and none stands in their place."""
    left = forget(watch, event.struck_from_ms)
    slots = (s if s.alarm.active or channel_of(s.limit) in left.last or channel_of(s.limit) not in watch.last
             else replace(s, alarm=uncounted(s.alarm)) for s in watch.slots)
    return replace(left, slots=tuple(slots))


def _act(watch: Watch, event: Act) -> tuple[Watch, Out]:
    ready, out = _before(watch, event.at_ms)
    if event.action == "silence":
        return replace(ready, silenced_until=event.at_ms + SILENCE_MS), out
    code = {word: event for event, word in ACTIONS.items()}.get(event.action)
    if code is None:
        raise EntryError(f"A warning can be acknowledged or closed, and the sound silenced; not “{event.action}”.")
    if code not in ON_THE_WARNING:
        tracks = setting_aside(ready, event, code)
        return settle(ready, tracks), out + in_order([e for tr in tracks.values() for e in tr.out])
    for order, slot in enumerate(ready.slots):
        if not slot.alarm.is_open or slot.alarm.occurrence != event.occurrence:
            continue
        if code == "RST" and slot.alarm.code == "LACKD" and not event.note.strip():
            raise RefusedError("Not closed: write a note that says what it was.", slot.alarm.code, code)
        track = Track(ready, slot, order, seq=event.seq)
        track.take(code, event.at_ms, event.at_ms, track.last, cause="", by=event.by, note=event.note.strip())
        return settle(ready, {order: track}), out + in_order(track.out)
    raise EntryError("This warning is closed already, or there is none of that name.")


def _limits(watch: Watch, event: LimitsChanged) -> tuple[Watch, Out]:
    ready, out = _before(watch, event.at_ms)
    old = {slot.key: slot for slot in ready.slots}
    slots: list[Slot] = []
    tightened: list[int] = []
    for limit in sides(event.limits):
        if not watchable(limit):
            continue
        had = old.pop(key_of(limit), None)
        if had is None or not had.alarm.is_open:
            slots.append(Slot(limit, limit, event.revision, stood=((event.at_ms, limit),)) if had is None
                         else Slot(limit, limit, event.revision, had.alarm, _stood(had, limit, event.at_ms)))
            continue
        made = tightest(had.limit, limit)
        if made != had.limit:
            tightened.append(len(slots))
        slots.append(replace(had, limit=made, in_force=limit, stood=_stood(had, limit, event.at_ms),
                             revision=event.revision if made != had.limit else had.revision))
    slots += [replace(slot, in_force=None) for slot in old.values() if slot.alarm.is_open or slot.alarm.set_aside]
    ready = replace(ready, limits=tuple(event.limits), revision=event.revision, slots=tuple(slots),
                    began=event.at_ms if ready.began is None else ready.began)
    tracks: dict[int, Track] = {}
    for order, slot in enumerate(ready.slots):
        track = Track(ready, slot, order, seq=event.seq, cause="limit changed")
        tracks[order] = track
        if order in tightened:
            track.edit(slot, event.at_ms, track.last, "limit changed", event.by)
        taken_up_again(track, event)
        if track.gone:
            continue
        _look_again(ready, track, event.at_ms)
    after = settle(ready, tracks)
    out += in_order([e for tr in tracks.values() for e in tr.out])
    after, more = fire(after, event.at_ms - 1, found_at=event.at_ms, floor=event.at_ms)
    return after, out + more


def _stood(had: Slot, limit: Limit, at_ms: int) -> tuple[Stood, ...]:
    """Every limit that it has been, the new one last."""
    return had.stood if had.stood and had.stood[-1][1] == limit else (*had.stood, (at_ms, limit))


def _doing(watch: Watch, event: Doing) -> tuple[Watch, Out]:
    """The limits of an activity that began after the last reading count now."""
    ready, out = _before(watch, event.at_ms)
    ready = replace(ready, doing=(event.activity, event.since_ms))
    tracks: dict[int, Track] = {}
    for order, slot in enumerate(ready.slots):
        if not slot.alarm.is_open and applies(slot.limit, event.activity) and not applies(slot.limit, watch.activity):
            tracks[order] = Track(ready, slot, order, seq=event.seq, cause=f"activity: {event.activity}")
            _look_again(ready, tracks[order], event.at_ms)
    after = settle(ready, tracks)
    out += in_order([e for tr in tracks.values() for e in tr.out])
    after, more = fire(after, event.at_ms - 1, found_at=event.at_ms, floor=event.at_ms)
    return after, out + more


def _look_again(watch: Watch, track: Track, at_ms: int) -> None:
    """Re-evaluate the last known value under a limit just set, or just in force."""
    limit = track.slot.limit
    channel: Channel = channel_of(limit)
    sample: Sample | None = watch.last.get(channel)
    if limit.kind == "overdue":
        return  # its deadline is looked at next; a standing one waits for the next complete round
    if sample is None or (channel[1] in SYSTEMS and not watch.watched.get(channel[1], True)):
        track.drop_counters()
        return
    alarm, event = read(track.alarm, limit, sample, applies=in_force(watch, limit), counts=False)
    track.put(alarm)
    if event is not None:
        track.take(event, at_ms, at_ms, sample)


def _unwatched(watch: Watch, event: Unwatched) -> tuple[Watch, Out]:
    ready, out = _before(watch, event.from_ms)
    if event.to_ms is None:
        return replace(ready, off_from=event.from_ms), out
    return _told(with_gap(ready, event.from_ms, event.to_ms), event.to_ms), out


def _watched_again(watch: Watch, event: WatchedAgain) -> tuple[Watch, Out]:
    if watch.off_from is None:
        return _before(watch, event.at_ms)
    after = with_gap(replace(watch, off_from=None), watch.off_from, max(event.at_ms, watch.off_from))
    after = _told(after, event.at_ms)
    return fire(after, event.at_ms - 1, found_at=event.at_ms)
