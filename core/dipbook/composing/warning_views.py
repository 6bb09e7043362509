"""The open warnings as pages show them, and when the next round is due, from the watch's memory."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import isclose

from dipbook import watch
from dipbook.alarms import allowed
from dipbook.alarms.step import Sample, side
from dipbook.rig.model import Rig
from dipbook.situation import AsideView, WarningView

Units = Mapping[str, tuple[str, int]]


def warning_views(memory: watch.Watch, rig: Rig, now_ms: int, units: Units) -> tuple[WarningView, ...]:
    """Open warnings, those that wait for a person first, then the newest.

    memory: the watch's. rig: its tanks and decimal mark. now_ms [UTC ms]. units: quantity -> (symbol, digits).
    """
    tanks = {t.name for t in rig.tanks}
    sounding = watch.sounding(memory, now_ms)
    slots = [slot for slot in memory.open_slots() if not slot.alarm.set_aside]
    first = came_first(slots)
    views = [replace(_view(memory, slot, tanks, now_ms, units, rig.decimal, sounding),
                     first=slot.alarm.occurrence in first) for slot in slots]
    waits = {"raised": 0, "over": 1, "acknowledged": 2, "over_acknowledged": 3}
    return tuple(sorted(views, key=lambda w: (waits[w.state], -w.raised_ms, w.name)))


def came_first(slots: Sequence[watch.Slot]) -> frozenset[str]:
    """Occurrences that came first of a burst: what was raised while something before it waited for a person belongs to
    one burst. Of a burst whose first came at one instant with another, none: the readings don't tell.

    slots: whose warnings are open.
    """
    bursts: list[list[watch.Slot]] = []
    for slot in sorted(slots, key=lambda s: (s.alarm.learned or 0, s.alarm.raised_t or 0)):
        at = slot.alarm.learned or 0
        if bursts and any(s.alarm.acked_t is None or s.alarm.acked_t > at for s in bursts[-1]):
            bursts[-1].append(slot)
        else:
            bursts.append([slot])
    found: set[str] = set()
    for burst in bursts:
        earliest = min(s.alarm.raised_t or 0 for s in burst)
        came = [s for s in burst if (s.alarm.raised_t or 0) == earliest]
        if len(burst) > 1 and len(came) == 1:
            found.add(came[0].alarm.occurrence)
    return frozenset(found)


def aside_views(memory: watch.Watch, rig: Rig, now_ms: int, units: Units) -> tuple[AsideView, ...]:
    """Limits that are set aside, those whose condition is true first, then the oldest.

    memory, rig, now_ms, units: as for warning_views().
    """
    tanks = {t.name for t in rig.tanks}
    views: list[AsideView] = []
    for slot in memory.slots:
        alarm, limit = slot.alarm, slot.limit
        if not alarm.set_aside or alarm.aside is None:
            continue
        text = _view(memory, slot, tanks, now_ms, units, rig.decimal, False).text if alarm.is_open else ""
        on_tank = limit.on in tanks
        views.append(AsideView(
            limit.name, limit.kind, "" if on_tank else limit.on, limit.on if on_tank else "", alarm.shown,
            alarm.aside.t_ms, alarm.aside.until_ms, alarm.aside.once, alarm.aside.by, alarm.aside.why,
            alarm.aside.instead, alarm.active, alarm.is_open and not alarm.acked and limit.latching, text,
            allowed(alarm.code, limit.latching, kind=limit.kind, is_open=alarm.is_open)))
    return tuple(sorted(views, key=lambda x: (not x.active, not x.waits, x.since_ms, x.name)))


def _view(memory: watch.Watch, slot: watch.Slot, tanks: set[str], now_ms: int, units: Units, decimal: str,
          sounding: bool) -> WarningView:
    limit, alarm = slot.limit, slot.alarm
    on_tank = limit.on in tanks
    value, sample = _value_now(memory, slot, now_ms)
    partial, held, facts = (False, "", {}) if sample is None else (sample.partial, sample.said, dict(sample.facts))
    u = None if sample is None else sample.u
    worst = None if alarm.worst is None else side(limit) * alarm.worst
    raised = alarm.raised_t if alarm.raised_t is not None else now_ms
    said = watch.Transition(
        time=raised, learned=alarm.learned or raised, name=limit.name, kind=limit.kind,
        system="" if on_tank else limit.on, tank=limit.on if on_tank else "",
        state="raised" if alarm.active else "over", value=value, limit=limit.value, value_is=limit.value_is,
        unit=watch.SI[limit.value_is], occurrence=alarm.occurrence, event="ACT" if alarm.active else "", from_state="",
        revision=slot.revision, evidence={"partial": partial, "u": u, "said": held, "facts": facts}, worst=worst,
        basis=limit)
    return WarningView(
        occurrence=alarm.occurrence, name=limit.name, kind=limit.kind, system=said.system, tank=said.tank,
        state=alarm.shown, sounding=sounding and alarm.shown in ("raised", "over"), raised_ms=raised,
        learned_ms=said.learned, value=value, worst=worst, limit=limit.value, value_is=limit.value_is,
        text=watch.words(said, units, decimal), actions=allowed(
            alarm.code, limit.latching, kind=limit.kind, is_open=alarm.is_open,
            shelvable=(slot.in_force or limit).shelve_ms is not None), partial=partial, said=held, facts=facts,
        waits=_waits(slot))


def _waits(slot: watch.Slot) -> tuple[str, ...]:
    """What of a limit is set otherwise than the warning stands on, as of a WarningView."""
    acts, is_set = slot.limit, slot.in_force
    if is_set is None:
        return ()
    numbers = (("value", acts.value, is_set.value), ("deadband", acts.deadband, is_set.deadband),
               ("growth", acts.growth or 0.0, is_set.growth or 0.0),
               ("noise", acts.times_noise or 0.0, is_set.times_noise or 0.0))
    waits = [name for name, a, b in numbers if not isclose(a, b, rel_tol=1e-9, abs_tol=1e-12)]
    if (acts.after_readings, acts.after_ms) != (is_set.after_readings, is_set.after_ms):
        waits.append("after")
    return tuple(waits)


def _value_now(memory: watch.Watch, slot: watch.Slot, now_ms: int) -> tuple[float | None, Sample | None]:
    """(value, the reading) that the warning rests on now; of an overdue one the time since the last round [s] and no
    reading."""
    if slot.limit.kind == "overdue":
        base = watch.overdue_base(memory, slot.limit)
        return (None if base is None else (now_ms - base) / 1000.0), None
    sample = memory.last.get(watch.channel_of(slot.limit))
    return (None, None) if sample is None else (sample.value, sample)


def next_round_due(memory: watch.Watch) -> int | None:
    """When the next complete round is due by the overdue limits in force [UTC ms]; None without one, or while the
    watch is off. memory: the watch's.
    """
    if memory.off_from is not None:
        return None
    due = [base + watch.interval_ms(slot.limit) for slot in memory.slots
           if slot.limit.kind == "overdue" and watch.in_force(memory, slot.limit)
           and (base := watch.overdue_base(memory, slot.limit)) is not None]
    return min(due, default=None)
