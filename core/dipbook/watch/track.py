"""Follows one limit through one event, and writes its transitions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from dipbook.alarms.step import AlarmState, Aside, Sample, apply, read, side, trailed, uncounted
from dipbook.watch.evidence import NO_TANK, channel_of
from dipbook.watch.state import Slot, Span, Watch
from dipbook.watch.transitions import SI, Transition, words

READING, FOUND, DEADLINE = 0, 1, 2
"""Order at one instant: what a reading makes, what is found out by it, what falls due then."""
DELAYED = "beyond for the whole delay"
"""Cause of what a delay by time raises."""

Entry = tuple[tuple[int, int, int, int, int], Transition]


class Track:
    """The pen for one slot during one event. Lives no longer than the event.

    slot: as it is now. gone: the limit was removed and its warning is closed now. spans: when it sounded for what.
    out: what was written, each with its place in order. last: the last known reading taken.
    forget: a scratch track, that only finds excursions: nothing latches and no words are made.
    """

    def __init__(self, watch: Watch, slot: Slot, order: int, *, seq: int = 0, cause: str = "",
                 forget: bool = False) -> None:
        self._watch = watch
        self._order = order
        self._seq = seq
        self._forget = forget
        self._place = (0, 0, 0)
        self.cause = cause
        self.slot = slot
        self.gone = False
        self.spans: list[Span] = list(watch.spans.get(slot.key, ()))
        self.out: list[Entry] = []
        self.last: Sample | None = watch.last.get(channel_of(slot.limit))

    @property
    def alarm(self) -> AlarmState:
        """The state now."""
        return self.slot.alarm

    def put(self, alarm: AlarmState) -> None:
        """Set the state without a transition (counters, worst). alarm: the state."""
        self.slot = replace(self.slot, alarm=alarm)

    def drop_counters(self) -> None:
        """Start counting anew: the limit isn't in force."""
        self.put(uncounted(self.alarm))

    def count_as(self, state: AlarmState) -> None:
        """Take over what another state has counted toward a raise. state: of a scratch track."""
        self.put(replace(self.alarm, run=state.run, beyond_since=state.beyond_since, pending=state.pending))

    def fold(self, measure: float, least: float | None = None) -> None:
        """Remember readings that change no state, but may be the worst. measure: the most toward the limit [m3 or m];
        least: the least of them, None if it may be left aside."""
        a = self.alarm
        worst = measure if a.worst is None else max(a.worst, measure)
        sounded = a.sounded
        if a.code == "UNACK":
            sounded = measure if sounded is None else max(sounded, measure)
        elif a.code == "ACKED" and least is not None:
            sounded = trailed(sounded, self.slot.limit, least)
        self.put(replace(a, worst=worst, sounded=sounded))

    def reading(self, sample: Sample, *, in_force: bool, learned: int, time: int | None = None, counts: bool = True,
                cause: str | None = None) -> None:
        """Take a known reading. sample; in_force: the limit applies; learned [UTC ms]; time: of what it makes, or None
        for the reading's own; counts, as in dipbook.alarms.step.read; cause: in words, or None for the event's."""
        self.last = sample
        alarm, event = read(self.alarm, self.slot.limit, sample, applies=in_force, counts=counts)
        self.put(alarm)
        if event is not None:
            self.take(event, sample.t_ms if time is None else time, learned, sample, cause=cause)

    def take(self, event: str, time: int, learned: int, sample: Sample | None, *, value: float | None = None,
             phase: int = READING, cause: str | None = None, by: str = "", note: str = "",
             aside: Aside | None = None) -> None:
        """Take an event of the table and write the transition it makes.

        event; time, learned [UTC ms]; sample: the reading it rests on, or None; value: instead of the reading's (SI);
        phase: its place within the instant; cause, by, note: for the journal. aside: how it is set aside.
        Raises dipbook.alarms.RefusedError.
        """
        before = self.alarm
        limit = self.slot.limit
        shown = sample.value if sample is not None and value is None else value
        measure = None if shown is None or limit.kind == "overdue" else side(limit) * shown
        quiet = before.set_aside
        fresh = event == "ACT" and (not before.occurrence if quiet else before.code in ("NORM", "RTNUN"))
        after = apply(before, event, limit, t_ms=time, learned=learned, measure=measure,
                      occurrence=self._name(time) if fresh else "", aside=aside)
        self._mark(event, time, sample)
        if after.code == before.code and (after.active, after.aside) == (before.active, before.aside):
            self.put(after)
            return
        if fresh and before.is_open:
            ended = AlarmState(occurrence=before.occurrence)
            self._write("ACT", before, ended, time, learned, sample, shown, phase, "raised again", by, note)
        self.put(after)
        kept = after if after.is_open else replace(after, occurrence=before.occurrence, worst=before.worst)
        self._write(event, before, kept, time, learned, sample, shown, phase, cause, by, note,
                    fresh and not quiet, memory=after)
        if not after.is_open:
            if after.set_aside and self.slot.in_force is None:  # the limit was withdrawn: nothing is left to set aside
                self.take("UNS" if after.code == "SHLVD" else "OOS-", time, learned, sample, cause="limit withdrawn")
                return
            self._closed()

    def edit(self, slot: Slot, time: int, sample: Sample | None, cause: str, by: str) -> None:
        """Write that the limit under an open warning was tightened. slot: after; time [UTC ms]; sample; cause; by."""
        self.slot = slot
        a = slot.alarm
        self._write("EDIT", a, a, time, time, sample, None if sample is None else sample.value, 0, cause, by, "")

    def _closed(self) -> None:
        if self._forget:
            return
        if self.slot.in_force is None:
            self.gone = True
        else:
            self.slot = replace(self.slot, limit=self.slot.in_force, revision=self._watch.revision)

    def _name(self, time: int) -> str:
        limit = self.slot.limit
        same = sum(1 for a, _ in self.spans if a == time)
        return f"{limit.name}/{limit.on}@{time}" + (f".{same + 1}" if same else "")

    def _mark(self, event: str, time: int, sample: Sample | None) -> None:
        if event == "ACT" and not self.alarm.active:
            self.spans.append((time, None))
        if event == "RTN" and self.spans and self.spans[-1][1] is None:
            begun = self.spans[-1][0]
            self.spans[-1] = (begun, max(begun, time if sample is None else sample.t_ms))

    def _write(self, event: str, before: AlarmState, after: AlarmState, time: int, learned: int, sample: Sample | None,
               value: float | None, phase: int, cause: str | None, by: str, note: str, fresh: bool = False,
               *, memory: AlarmState | None = None) -> None:
        limit = self.slot.limit
        evidence: dict[str, Any] = {} if sample is None else {
            "t": sample.t_ms, "value": sample.value, "u": sample.u, "partial": sample.partial}
        if sample is not None and sample.said:
            evidence["said"] = sample.said
        if sample is not None and sample.facts:
            evidence["facts"] = dict(sample.facts)
        is_system = limit.on in NO_TANK
        tr = Transition(
            time=time, learned=learned, name=limit.name, kind=limit.kind, system=limit.on if is_system else "",
            tank="" if is_system else limit.on, state=after.shown, value=value, limit=limit.value,
            value_is=limit.value_is, unit=SI[limit.value_is], occurrence=after.occurrence, event=event,
            from_state="closed" if fresh else before.shown, revision=self.slot.revision,
            cause=self.cause if cause is None else cause, by=by, note=note,
            sounds=_sounds(before, after), seq=self._seq,
            worst=None if after.worst is None else side(limit) * after.worst, evidence=evidence,
            alarm=memory if memory is not None and memory.set_aside else after if after.is_open
            else replace(after, occurrence="", worst=None), basis=limit,
            seen_t=None if self.last is None else self.last.t_ms)
        if self._forget:
            # Scratch: only the order of events is wanted.
            if event == "RTN":
                self.put(AlarmState())
        else:
            tr = replace(tr, text=words(tr))
        # Its own order is kept: what is learned late may carry an earlier time than what was written before it.
        self._place = max(self._place, (learned, time, phase))
        self.out.append(((*self._place, self._order, len(self.out)), tr))


def _sounds(before: AlarmState, after: AlarmState) -> bool:
    """True if a change of state starts the sound."""
    return (after.code == "UNACK" and before.code != "UNACK") or (after.code == "LUNAK" and before.set_aside)


def in_order(entries: Sequence[Entry]) -> tuple[Transition, ...]:
    """Transitions in the order in which they became known. entries: of all tracks of one event."""
    return tuple(tr for _, tr in sorted(entries, key=lambda e: e[0]))
