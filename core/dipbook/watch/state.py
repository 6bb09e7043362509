"""What the watch remembers between events, and what follows from it: deadlines, sound, which limit applies."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from dipbook.alarms.step import TOLERANCE, AlarmState, Sample, threshold
from dipbook.alarms.table import WANTS_ACKNOWLEDGING
from dipbook.limits import KINDS, SUSPECT, TRIP_KINDS, Limit, kind_words, sides
from dipbook.watch.evidence import SYSTEMS, Channel, channel_of

SILENCE_MS = 30_000
"""How long the sound alone may be silenced [ms]. IMO MSC.302(87): sound resumes after 30 s without acknowledgement."""

Key = tuple[str, str, str, str]
"""Name, kind, on and value_is: what makes a limit the same limit when its numbers change."""
Stood = tuple[int | None, Limit]
"""Since when [UTC ms], None for always, and the limit."""
Span = tuple[int, int | None]
"""From the raise to the reading that showed it over; None while it stands [UTC ms]."""


@dataclass(frozen=True, slots=True)
class Slot:
    """One limit and its warning.

    limit: the one that counts now: the limit in force, or while the warning is open the strictest since it was raised.
    in_force: the limit as set, taken up when the warning is closed; None if it was removed meanwhile.
    revision: of ``limit`` [-]. alarm: its state. stood: every limit that it has been, each with since when, None for
    always [UTC ms], the present one last: a reading that comes late is held against the limit of its time.
    """

    limit: Limit
    in_force: Limit | None
    revision: int
    alarm: AlarmState = field(default_factory=AlarmState)
    stood: tuple[Stood, ...] = ()

    @property
    def key(self) -> Key:
        """What it is known by."""
        return key_of(self.limit)


@dataclass(frozen=True)
class Watch:
    """The watch's memory. Frozen: step() returns a new one; its mappings are never changed in place.

    limits, revision: in force. slots: one a limit that is watched, and those still open of limits removed. last: the
    last known reading of each channel. last_t: the last reading of any [UTC ms]. last_complete: the last reading at
    which all active tanks were gauged. activity: at the last reading; doing: what was logged since, with since when, or
    None. watched: system → watched at the last reading. spans: when each limit was beyond and sounded for it. began:
    when the watch began; now: the latest time it was told. off_from: not watching since, or None; gaps: the times it
    wasn't, by time. silenced_until: the sound alone. All UTC ms.
    """

    limits: tuple[Limit, ...] = ()
    revision: int = 0
    slots: tuple[Slot, ...] = ()
    last: Mapping[Channel, Sample] = field(default_factory=dict)
    last_t: int | None = None
    last_complete: int | None = None
    activity: str = "unknown"
    doing: tuple[str, int] | None = None
    watched: Mapping[str, bool] = field(default_factory=dict)
    spans: Mapping[Key, tuple[Span, ...]] = field(default_factory=dict)
    began: int | None = None
    now: int | None = None
    off_from: int | None = None
    gaps: tuple[tuple[int, int], ...] = ()
    silenced_until: int = 0

    def open_slots(self) -> tuple[Slot, ...]:
        """Slots whose warning is in any state but closed."""
        return tuple(s for s in self.slots if s.alarm.is_open)


def key_of(limit: Limit) -> Key:
    """What a limit is known by. limit: the limit."""
    return (limit.name, limit.kind, limit.on, limit.value_is)


def start(limits: tuple[Limit, ...] = (), revision: int = 0) -> Watch:
    """A watch that has seen nothing. limits: in force from the beginning; revision: their number [-]."""
    slots = tuple(Slot(x, x, revision, stood=((None, x),)) for x in sides(limits) if watchable(x))
    return Watch(tuple(limits), revision, slots)


def watchable(limit: Limit) -> bool:
    """True if this version watches limits of its kind. limit: the limit."""
    return limit.watched and limit.kind in KINDS


def applies(limit: Limit, activity: str) -> bool:
    """True if a limit is in force: for any activity, for this one, or while the activity is unknown (the strictest).
    One on trips is in force on every row of a trip's sheet, whatever else is said to be done.

    limit: the limit. activity: one of dipbook.limits.ACTIVITIES.
    """
    return limit.activity == "any" or limit.kind in TRIP_KINDS or activity in (limit.activity, "unknown")


def activity_now(watch: Watch) -> str:
    """What the rig does, as far as the watch was told. watch."""
    return watch.activity if watch.doing is None else watch.doing[0]


def in_force(watch: Watch, limit: Limit) -> bool:
    """True if a limit applies to the activity at the last reading, or to one logged since. watch; limit."""
    return applies(limit, watch.activity) or applies(limit, activity_now(watch))


def with_gap(watch: Watch, from_ms: int, to_ms: int) -> Watch:
    """The watch that knows of a time in which nobody watched. watch; from_ms, to_ms [UTC ms]."""
    return replace(watch, gaps=tuple(sorted({*watch.gaps, (from_ms, to_ms)})))


def not_watched(limits: tuple[Limit, ...], tanks: tuple[str, ...]) -> tuple[tuple[Limit, str], ...]:
    """Limits that nothing watches, with why. limits: as set; tanks: names of the rig's tanks."""
    out: list[tuple[Limit, str]] = []
    for limit in limits:
        if not watchable(limit):
            out.append((limit, f"this version does not watch limits of kind {limit.kind}"))
        elif limit.kind in ("gain", "loss") and limit.on not in SYSTEMS:
            out.append((limit, f"there is no expected volume for {limit.on} alone"))
        elif limit.kind in ("flow_back", "drift") and limit.on != "active":
            out.append((limit, f"{kind_words(limit.kind)} is told of the active system only"))
        elif limit.kind in ("high", "low") and limit.on not in tanks:
            out.append((limit, f"{limit.on} is not a tank of this rig"))
        elif limit.kind in ("overdue", SUSPECT) and limit.on not in (*SYSTEMS, *tanks):
            out.append((limit, f"{limit.on} is neither a system nor a tank of this rig"))
    return tuple(out)


def tightest(standing: Limit, new: Limit) -> Limit:
    """The limit an open warning stands on after a change: each part the stricter of both; loosening waits.

    standing: what it stands on. new: what was set. Returns ``standing`` itself if nothing gets stricter.
    """
    top = min(threshold(standing), threshold(new))
    back = min(threshold(standing) - standing.deadband, threshold(new) - new.deadband)
    growths = [g for g in (standing.growth, new.growth) if g is not None]
    after_readings, after_ms = standing.after_readings, standing.after_ms
    if bool(standing.after_ms) == bool(new.after_ms):
        after_readings, after_ms = min(after_readings, new.after_readings), min(after_ms, new.after_ms)
    made = standing
    if top < threshold(standing) - TOLERANCE:
        made = replace(made, value=new.value, as_typed=new.as_typed, set_by=new.set_by, reason=new.reason,
                       since=new.since)
    if top - back > made.deadband + TOLERANCE or top - back < made.deadband - TOLERANCE:
        made = replace(made, deadband=top - back)
    growth = min(growths) if growths else None
    return replace(made, growth=growth, after_readings=after_readings, after_ms=after_ms)


def last_round(watch: Watch, limit: Limit) -> int | None:
    """When the round that an overdue limit waits for was last done [UTC ms]. watch; limit: kind overdue."""
    kind, tank = channel_of(limit)
    if kind == "complete":
        return watch.last_complete
    times = [s.t_ms for c in (("level", tank), ("volume", tank)) if (s := watch.last.get(c)) is not None]
    return max(times, default=None)


def overdue_base(watch: Watch, limit: Limit) -> int | None:
    """When the interval of an overdue limit began [UTC ms]: the last round, the watch's beginning, or the end of a gap
    in which it was up.

    watch; limit: kind overdue.
    """
    done = last_round(watch, limit)
    return shifted(watch, limit, watch.began if done is None else done)


def shifted(watch: Watch, limit: Limit, base: int | None) -> int | None:
    """When an interval that began at ``base`` is taken to begin [UTC ms], None without one.

    watch; limit: kind overdue. Nobody could gauge in a gap: what begins or would be due in one has a whole interval
    after it. A gap that ends before the round is due postpones nothing.
    """
    if base is None:
        return None
    for a, b in watch.gaps:
        if a <= base < b or a <= base + interval_ms(limit) < b:
            base = b
    return base


def interval_ms(limit: Limit) -> int:
    """The interval of an overdue limit [ms]. limit: kind overdue."""
    return round(limit.value * 1000)


def delay_ends(watch: Watch, limit: Limit, alarm: AlarmState) -> int | None:
    """When a delay by time is up [UTC ms], or None. A delay never ends inside a gap, but at its end.

    watch; limit; alarm: its state.
    """
    if limit.kind == "overdue" or limit.after_ms <= 0 or alarm.beyond_since is None or alarm.active:
        return None
    if watch.off_from is not None:
        return None
    end = alarm.beyond_since + limit.after_ms
    for a, b in watch.gaps:
        if a <= end < b:
            end = b
    return end


def shelf_ends(watch: Watch, slot: Slot) -> int | None:
    """When a shelf ends by itself [UTC ms], or None; where nobody watched then, once somebody does. watch; slot."""
    aside = slot.alarm.aside
    if slot.alarm.code != "SHLVD" or aside is None or aside.until_ms is None or watch.off_from is not None:
        return None
    end = aside.until_ms
    for a, b in watch.gaps:
        if a <= end < b:
            end = b
    return end


def deadline_of(watch: Watch, slot: Slot) -> int | None:
    """When a limit will raise, or comes off the shelf, if nothing is learned until then [UTC ms], or None. watch; slot:
    one of its slots."""
    return min((x for x in (raise_due(watch, slot), shelf_ends(watch, slot)) if x is not None), default=None)


def raise_due(watch: Watch, slot: Slot) -> int | None:
    """When a limit's condition will be true if nothing is learned until then [UTC ms], or None. watch; slot."""
    if watch.off_from is not None or slot.alarm.active:
        return None
    if not slot.alarm.is_open and not in_force(watch, slot.limit):
        return None
    if slot.limit.kind != "overdue":
        return delay_ends(watch, slot.limit, slot.alarm)
    base = overdue_base(watch, slot.limit)
    return None if base is None else base + interval_ms(slot.limit)


def next_deadline(watch: Watch) -> int | None:
    """The next instant at which Advance raises something, or ends a shelf [UTC ms], or None; maybe past. watch."""
    return min((d for s in watch.slots if (d := deadline_of(watch, s)) is not None), default=None)


def sounding(watch: Watch, now_ms: int) -> bool:
    """True while a warning waits for acknowledgement, also one that is over, and the sound isn't silenced.

    watch; now_ms: now [UTC ms].
    """
    waiting = any(s.alarm.code in WANTS_ACKNOWLEDGING for s in watch.slots)
    return waiting and not silent(watch.silenced_until, now_ms)


def silent(until_ms: int, now_ms: int) -> bool:
    """True while a silence lasts; a clock set back meanwhile doesn't draw it out. until_ms, now_ms [UTC ms]."""
    return until_ms - SILENCE_MS <= now_ms < until_ms
