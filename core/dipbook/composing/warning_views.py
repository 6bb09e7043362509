"""The open warnings as pages show them, and when the next round is due, from the watch's memory."""

from __future__ import annotations

from collections.abc import Mapping

from dipbook import watch
from dipbook.alarms import allowed
from dipbook.alarms.step import side
from dipbook.rig.model import Rig
from dipbook.situation import WarningView

Units = Mapping[str, tuple[str, int]]


def warning_views(memory: watch.Watch, rig: Rig, now_ms: int, units: Units) -> tuple[WarningView, ...]:
    """Open warnings, those that wait for a person first, then the newest.

    memory: the watch's. rig: its tanks and decimal mark. now_ms [UTC ms]. units: quantity -> (symbol, digits).
    """
    tanks = {t.name for t in rig.tanks}
    sounding = watch.sounding(memory, now_ms)
    views = [_view(memory, slot, tanks, now_ms, units, rig.decimal, sounding) for slot in memory.open_slots()]
    waits = {"raised": 0, "over": 1, "acknowledged": 2, "over_acknowledged": 3}
    return tuple(sorted(views, key=lambda w: (waits[w.state], -w.raised_ms, w.name)))


def _view(memory: watch.Watch, slot: watch.Slot, tanks: set[str], now_ms: int, units: Units, decimal: str,
          sounding: bool) -> WarningView:
    limit, alarm = slot.limit, slot.alarm
    on_tank = limit.on in tanks
    value, u, partial, held = _value_now(memory, slot, now_ms)
    worst = None if alarm.worst is None else side(limit) * alarm.worst
    raised = alarm.raised_t if alarm.raised_t is not None else now_ms
    said = watch.Transition(
        time=raised, learned=alarm.learned or raised, name=limit.name, kind=limit.kind,
        system="" if on_tank else limit.on, tank=limit.on if on_tank else "",
        state="raised" if alarm.active else "over", value=value, limit=limit.value, value_is=limit.value_is,
        unit=watch.SI[limit.value_is], occurrence=alarm.occurrence, event="ACT" if alarm.active else "", from_state="",
        revision=slot.revision, evidence={"partial": partial, "u": u, "said": held}, worst=worst)
    return WarningView(
        occurrence=alarm.occurrence, name=limit.name, kind=limit.kind, system=said.system, tank=said.tank,
        state=alarm.shown, sounding=sounding and alarm.shown in ("raised", "over"), raised_ms=raised,
        learned_ms=said.learned, value=value, worst=worst, limit=limit.value, value_is=limit.value_is,
        text=watch.words(said, units, decimal), actions=allowed(alarm.code, limit.latching), partial=partial)


def _value_now(memory: watch.Watch, slot: watch.Slot, now_ms: int) -> tuple[float | None, float | None, bool, str]:
    """(value, u, partial, what it was held against) that the warning rests on now; of an overdue one, the time since
    the last round [s]."""
    if slot.limit.kind == "overdue":
        base = watch.overdue_base(memory, slot.limit)
        return (None if base is None else (now_ms - base) / 1000.0), None, False, ""
    sample = memory.last.get(watch.channel_of(slot.limit))
    if sample is None:
        return None, None, False, ""
    return sample.value, sample.u, sample.partial, sample.said


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
