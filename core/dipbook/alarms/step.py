"""One warning, one step: a reading or an event in, the next state out. Pure; time is an argument.

Values are turned toward the limit first (``measure``), so that more is always worse: a gain, a high level and a loss
(its sign turned) rise to the limit, a low level (sign turned) too.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from dipbook.alarms.table import ACTIONS, CONDITION_STANDS, ON_THE_WARNING, SET_ASIDE, STATES, allowed, outcome
from dipbook.errors import EntryError
from dipbook.limits import Limit

TOLERANCE = 1e-9
"""A cubic millimetre, a nanometre: far below any gauging, above the rounding of unit factors, so that a reading exactly
at the limit is at the limit [m3 or m]."""


class RefusedError(EntryError):
    """An act that the state of the warning doesn't allow. Carries state (code) and event (key of EVENTS)."""

    def __init__(self, message: str, state: str = "", event: str = "") -> None:
        super().__init__(message)
        self.state = state
        self.event = event


@dataclass(frozen=True, slots=True)
class Sample:
    """A known reading. t_ms [UTC ms]; value, u [m3 or m], u None if unknown; partial: a tank was not gauged. said: what
    it was held against, in words, where that isn't the same for every reading. facts: figures that belong to it; where
    not all of the value counts, ``counts``, what does, toward the limit, and ``part``, so many times the limit that it
    is held against [-]."""

    t_ms: int
    value: float
    u: float | None = None
    partial: bool = False
    said: str = ""
    facts: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Aside:
    """That a limit is shelved or out of service.

    t_ms: since when [UTC ms]. by: who. why: in their words. until_ms: when a shelf ends by itself [UTC ms], None for
    out of service. once: a shelf that ends with the condition, if that comes sooner. instead: what is watched in its
    place, of one out of service.
    """

    t_ms: int
    by: str
    why: str
    until_ms: int | None = None
    once: bool = False
    instead: str = ""


@dataclass(frozen=True, slots=True)
class AlarmState:
    """What one limit remembers.

    code: key of dipbook.alarms.table.STATES. active: the condition is true now. occurrence: id, "" when closed.
    raised_t: when it occurred; learned: when that became known [UTC ms]. sounded: the worst value while it last
    sounded; worst: of the occurrence [m3 or m, toward the limit]. acked: acknowledged since it last sounded.
    run: consecutive readings beyond, before it raises; beyond_since: the first of them [UTC ms]; pending: the last.
    acked_t: when the occurrence was first acknowledged [UTC ms]. aside: how its limit is set aside, None if it isn't;
    the condition is followed all the same.
    """

    code: str = "NORM"
    active: bool = False
    occurrence: str = ""
    raised_t: int | None = None
    learned: int | None = None
    sounded: float | None = None
    worst: float | None = None
    acked: bool = False
    run: int = 0
    beyond_since: int | None = None
    pending: Sample | None = None
    acked_t: int | None = None
    aside: Aside | None = None

    @property
    def set_aside(self) -> bool:
        """True while shelved, suppressed or out of service."""
        return self.code in SET_ASIDE

    @property
    def is_open(self) -> bool:
        """True while an occurrence stands: in any state but closed, or set aside with none."""
        return bool(self.occurrence) if self.set_aside else self.code != "NORM"

    @property
    def shown(self) -> str:
        """The word of the state: raised, acknowledged, over, over_acknowledged, closed."""
        return STATES[self.code]


def side(limit: Limit) -> int:
    """+1 if more is worse (gain, flow_back, high, overdue), −1 if less is (loss, low, a hole that took more).

    limit: the limit.
    """
    return limit.turned


def threshold(limit: Limit) -> float:
    """The limit as a measure [m3 or m, toward the limit]. A loss limit has no sign. limit: the limit."""
    return -limit.value if limit.kind == "low" else limit.value


def counted(limit: Limit, sample: Sample) -> tuple[float, float]:
    """(what of a reading is held against the limit, toward it [m3 or m]; so many times the limit that it is held
    against [-]). limit; sample."""
    return sample.facts.get("counts", side(limit) * sample.value), sample.facts.get("part", 1.0)


def beyond(limit: Limit, counts: Any, part: Any = 1.0) -> Any:
    """True at or beyond the limit. limit: the limit; counts, part: as counted() gives them, or arrays of them."""
    return counts >= threshold(limit) * part - TOLERANCE


def back(limit: Limit, part: Any = 1.0) -> Any:
    """The value, toward the limit, at which a warning is over [m3 or m]: back by the deadband, which counts on return
    only. Where only a part of the limit holds (a pace held to half of it, a noise that is low) it is never further back
    than half of that part, or than the share of the limit that the deadband was set to be, if that is more; else a
    limit that follows the noise down to its own deadband would never be over.

    limit: the limit. part: so many times the limit that holds [-], one or an array.
    """
    top = threshold(limit) * part
    if limit.kind != "drift":
        return top - limit.deadband
    return top - np.minimum(limit.deadband, top * max(0.5, limit.deadband / limit.value))


def clear(limit: Limit, counts: Any, part: Any = 1.0) -> Any:
    """True back inside the deadband. limit, counts, part: as for beyond()."""
    return ~np.asarray(beyond(limit, counts, part)) & (counts <= back(limit, part) + TOLERANCE)


def due(limit: Limit, run: int, since_ms: int, t_ms: int) -> bool:
    """True once beyond for long enough: by readings, by time, or whichever of both comes first.

    limit: the limit. run: consecutive readings beyond [-]. since_ms, t_ms: first of them and now [UTC ms].
    """
    by_time = limit.after_ms > 0 and t_ms - since_ms >= limit.after_ms
    by_count = run >= max(1, limit.after_readings) if limit.after_readings or not limit.after_ms else False
    return by_time or by_count


def read(
    state: AlarmState, limit: Limit, sample: Sample, *, applies: bool = True, counts: bool = True,
) -> tuple[AlarmState, str | None]:
    """Take one known reading. Returns the state with its counters and the event it makes: ACT, RTN, REA or None.

    state: before. limit: the limit it stands on. sample: the reading; a partial one may raise and never clears.
    applies: the limit is in force for the activity (one that is open is followed regardless). counts: False for a
    reading that was taken before and is looked at again.
    An unknown reading isn't given here at all: it holds everything.
    """
    measure = side(limit) * sample.value
    counts_m3, part = counted(limit, sample)
    is_beyond = bool(beyond(limit, counts_m3, part))
    if state.active:
        worst = measure if state.worst is None else max(state.worst, measure)
        sounded = state.sounded
        if state.code == "UNACK":
            sounded = measure if sounded is None else max(sounded, measure)
        after = replace(state, worst=worst, sounded=sounded)
        if state.code == "ACKED" and is_beyond and grown(state, limit, measure):
            return after, "REA"
        if clear(limit, counts_m3, part) and not sample.partial:
            return after, "RTN"
        return replace(after, sounded=trailed(sounded, limit, measure)) if state.code == "ACKED" else after, None
    if not state.is_open and not applies:
        return uncounted(state), None
    if is_beyond:
        since = sample.t_ms if state.beyond_since is None else state.beyond_since
        run = state.run + 1 if counts or not state.run else state.run
        after = replace(state, run=run, beyond_since=since, pending=sample)
        again = state.code == "LACKD" and grown(state, limit, measure)
        return after, "ACT" if again or due(limit, run, since, sample.t_ms) else None
    if sample.partial:
        return state, None
    return uncounted(state), None


def uncounted(state: AlarmState) -> AlarmState:
    """The state with nothing counted toward a raise. state: before."""
    return replace(state, run=0, beyond_since=None, pending=None)


def grown(state: AlarmState, limit: Limit, measure: float) -> bool:
    """True if the value has grown by the limit's growth since it last sounded, or since it fell after that. It sounds
    only while it is beyond the limit too.

    state; limit; measure: the value toward the limit, all that is told of it [m3 or m].
    """
    return limit.growth is not None and state.sounded is not None \
        and measure >= state.sounded + limit.growth - TOLERANCE


def trailed(sounded: float | None, limit: Limit, measure: float) -> float | None:
    """The value that further growth counts from, once acknowledged: it follows a fall, one step of growth above it.

    An entry that explains part of a gain, or mud that really went, must not let the rest grow back in silence; a value
    that only wavers by less than a step moves nothing. sounded: before [m3 or m]. limit. measure: toward the limit.
    """
    if sounded is None or limit.growth is None:
        return sounded
    return min(sounded, measure + limit.growth)


def apply(
    state: AlarmState, event: str, limit: Limit, *, t_ms: int, learned: int, measure: float | None = None,
    occurrence: str = "", aside: Aside | None = None,
) -> AlarmState:
    """Take one event of the table. Raises RefusedError where the table does.

    state: before. event: key of EVENTS. limit: the limit it stands on. t_ms: when it occurred; learned: when that
    became known [UTC ms]. measure: the value toward the limit [m3 or m], None for overdue. occurrence: id of a new
    one. aside: how it is set aside, for SHV and OOS+.
    """
    to = outcome(state.code, event, limit.latching, kind=limit.kind, active=state.active, is_open=state.is_open,
                 acknowledged=state.acked, one_shot=state.aside is not None and state.aside.once)
    if to is None:
        raise RefusedError(refusal(state, event), state.code, event)
    if to in SET_ASIDE:
        if event in ("ACT", "RTN"):
            return followed(state, event, limit, t_ms=t_ms, learned=learned, measure=measure, occurrence=occurrence)
        return replace(state, code=to, aside=state.aside if aside is None else aside)
    active = True if event == "ACT" else False if event == "RTN" else state.active
    if to == state.code:
        return replace(state, active=active)
    if event == "ACT":
        fresh = state.code in ("NORM", "RTNUN")
        worst = measure if fresh or state.worst is None or measure is None else max(state.worst, measure)
        return AlarmState(
            code=to, active=True, occurrence=occurrence if fresh else state.occurrence,
            raised_t=t_ms if fresh else state.raised_t, learned=learned if fresh else state.learned,
            sounded=measure, worst=worst, acked=False, acked_t=None if fresh else state.acked_t)
    if to == "NORM":
        return AlarmState(run=state.run, beyond_since=state.beyond_since, pending=state.pending)
    if event == "REA":
        return replace(state, code=to, sounded=measure, acked=False)
    if state.set_aside and to == "UNACK":
        return replace(state, code=to, aside=None, acked=False, sounded=state.worst if measure is None else measure)
    acked_t = learned if event == "ACK" and state.acked_t is None else state.acked_t
    return replace(state, code=to, active=active, acked=state.acked or event == "ACK", acked_t=acked_t, aside=None)


def followed(
    state: AlarmState, event: str, limit: Limit, *, t_ms: int, learned: int, measure: float | None, occurrence: str,
) -> AlarmState:
    """The condition came or went while the limit is set aside: nothing sounds, and what it was is kept.

    state: before. event: ACT or RTN. limit, t_ms, learned, measure, occurrence: as for apply(). What latches stays an
    occurrence when it is over; another kind's ends then.
    """
    if event == "RTN":
        return replace(state, active=False) if limit.latching else AlarmState(
            code=state.code, aside=state.aside, run=state.run, beyond_since=state.beyond_since, pending=state.pending)
    if state.active:
        return state
    if state.occurrence:
        worst = state.worst if measure is None else measure if state.worst is None else max(state.worst, measure)
        return replace(state, active=True, acked=False, worst=worst, run=0, beyond_since=None, pending=None)
    return AlarmState(code=state.code, active=True, occurrence=occurrence, raised_t=t_ms, learned=learned,
                      sounded=measure, worst=measure, aside=state.aside)


def refusal(state: AlarmState, event: str) -> str:
    """Why an act is refused and what can be done. state: as it is; event: key of EVENTS."""
    can = [x for x in allowed(state.code, state.code != "RTNUN") if x in [ACTIONS[e] for e in ON_THE_WARNING]]
    may = f" You can {' or '.join(can)} it." if can else ""
    if event == "ACK":
        return "This warning is acknowledged already." + may if state.is_open else "This warning is closed already."
    if event == "RST":
        if not state.is_open:
            return "This warning is closed already."
        if state.code in CONDITION_STANDS:
            rest = " Acknowledge it; it can be closed once it is over." if state.code == "UNACK" else ""
            return "Not closed: the condition still stands." + rest
        return "Not closed: nobody has acknowledged it yet. Acknowledge it first."
    if event == "SHV":
        return "Not shelved: warnings of this kind can't be. Its sound can be silenced for 30 s." \
            if not state.set_aside else f"Not shelved: it is {state.shown}."
    if event == "OOS+":
        return "Not taken out of service: its warning is open. See to it, acknowledge it and close it first."
    if event in ("UNS", "OOS-"):
        return f"It is not {'shelved' if event == 'UNS' else 'out of service'}."
    return f"A warning that is {state.shown.replace('_', ' and ')} doesn't take that." + may
