"""The story of one open warning, worked out when somebody asks: its value against time, what it rests on, what others
say, what was done about it. Nothing here changes a number or a warning."""

from __future__ import annotations

from collections.abc import Mapping
from math import hypot, isfinite
from typing import Any

import numpy as np

from dipbook import watch
from dipbook.alarms.step import Sample, side, threshold
from dipbook.books import Books
from dipbook.composing.picture import TREND_MS
from dipbook.composing.watched_map import place
from dipbook.limits import FALLING, RISING, TRIP_KINDS, Limit
from dipbook.observations import observe
from dipbook.records import WARNING, Record
from dipbook.situation import HintView, Situation
from dipbook.situation_of_warnings import (
    ACKNOWLEDGED,
    GREW,
    OVER,
    RAISED,
    WORST,
    Done,
    Doubt,
    OtherChannel,
    OtherWarning,
    SeriesMark,
    Told,
    WarningSeries,
    WarningStory,
)
from dipbook.terms.system import ACTIVE_SYSTEM, ALL_SURFACE, system
from dipbook.watch import FLOW_BACK, SYSTEMS

LEAD_MS = 3_600_000
"""So much at least is drawn of the time before the warning was raised [ms]."""
SAME_VALUE = 1e-6
"""A worst value is the one on the series when they differ by no more than rounding [m3, m or s]."""
K = 2.0
"""Two volumes can't be told apart when they differ by no more than so many of their standard uncertainties [-]."""
MARKS = {"ACT": RAISED, "REA": GREW, "ACK": ACKNOWLEDGED, "RTN": OVER}
"""Event of a transition -> what it is marked as."""
NEEDED = ("time", "learned", "name", "kind", "state")
"""Without these a transition's record can't be told."""
MOST_OTHERS = 8
"""So many other warnings are named, the newest."""


def warning_story(books: Books, memory: watch.Watch, s: Situation, occurrence: str) -> WarningStory | None:
    """What is known of an open warning; None where there is none of that name.

    books: of the log. memory: the watch's. s: the situation of that moment. occurrence: the warning's.
    """
    slot = next((x for x in memory.open_slots() if x.alarm.occurrence == occurrence and not x.alarm.set_aside), None)
    if slot is None or not occurrence:
        return None
    limit, alarm = slot.limit, slot.alarm
    raised = s.now_ms if alarm.raised_t is None else alarm.raised_t
    written = _written(s.records)
    payloads = written.get(occurrence, [])
    done = _done(slot, payloads)
    now = _now(memory, limit, s.now_ms)
    series = _series(books, slot, done, raised, s.now_ms)
    in_force = slot.in_force
    since = [t for t, stood in slot.stood if stood == limit]
    return WarningStory(
        occurrence=occurrence, limit=limit, limit_since_ms=since[-1] if since else None,
        waits=in_force if in_force is not None and in_force != limit else None, withdrawn=in_force is None,
        finer=now is not None and now.u is not None and limit.value < K * now.u,
        at_raise=_at_raise(payloads), now=now, series=series, hints=_hints(s, limit, raised),
        channels=_channels(memory, limit, s.watched), warnings=_others(memory, written, occurrence, raised),
        doubts=_doubts(books, s, limit, occurrence), done=done)


# --- what it rests on -------------------------------------------------------------------------------------------


def _told(sample: Sample | None) -> Told | None:
    if sample is None:
        return None
    return Told(sample.t_ms, sample.value, _known(sample.u), sample.partial, sample.said, sample.facts)


def _now(memory: watch.Watch, limit: Limit, now_ms: int) -> Told | None:
    """Of an overdue round the time since the last one [s], which rests on no reading."""
    if limit.kind == "overdue":
        base = watch.overdue_base(memory, limit)
        return None if base is None else Told(None, (now_ms - base) / 1000.0)
    return _told(memory.last.get(watch.channel_of(limit)))


def _at_raise(payloads: list[Mapping[str, Any]]) -> Told | None:
    first = next((p for p in payloads if p.get("event") == "ACT"), None)
    found: Mapping[str, Any] = {} if first is None else first.get("evidence") or {}
    if not found:
        return None
    return Told(found.get("t"), found.get("value"), _known(found.get("u")), bool(found.get("partial")),
                str(found.get("said") or ""), found.get("facts") or {})


def _known(x: float | None) -> float | None:
    return None if x is None or not isfinite(x) else float(x)


# --- against time -----------------------------------------------------------------------------------------------


def _series(books: Books, slot: watch.Slot, done: tuple[Done, ...], raised: int, now_ms: int) -> WarningSeries | None:
    """Its channel at the readings from some time before the raise on, at most as far back as the trend goes."""
    limit = slot.limit
    ends = books.readings.end_ms
    if not len(ends):
        return None
    wanted = raised - max(LEAD_MS, (now_ms - raised) // 2)
    from_ms = max(wanted, now_ms - TREND_MS)
    first = max(0, int(np.searchsorted(ends, from_ms, side="left")) - 1)
    key = ("series of a warning", f"{watch.channel_of(limit)} {first}")
    if key not in books.worked_out:
        books.worked_out[key] = _column(books, limit, first)
    t, value, partial = books.worked_out[key]
    if limit.kind == "overdue":
        t, value, partial = _since_rounds(t, value, now_ms)
    if not len(t):
        return None
    cut, first_ms, last_ms = raised < from_ms, max(from_ms, int(t[0])), max(now_ms, int(t[-1]))
    if limit.kind == "drift":
        marks = _marks_of_share(slot, done, t, value)
        return WarningSeries(t, value, partial, ((first_ms, float(side(limit))),), marks, first_ms, last_ms, cut=cut,
                             of_limit=True)
    signed = side(limit) * threshold(limit)
    return WarningSeries(t, value, partial, _steps(slot, raised, signed), _marks(slot, done, t, value), first_ms,
                         last_ms, cut=cut)


def _column(books: Books, limit: Limit, first: int) -> tuple[Any, Any, Any]:
    """(times, values with NaN where they weren't known or weren't watched, partial); of an overdue limit the values are
    1 at each round that it waits for; of drift, shares of what it is held against."""
    made = observe(books, first)
    channel = watch.channel_of(limit)
    if limit.kind == "overdue":
        at = np.asarray(made.rounds(channel), dtype=float)
        return made.t_ms, at, np.zeros(len(made), dtype=bool)
    column = made.column(channel)
    if column is None:
        return made.t_ms, np.full(len(made), np.nan), np.zeros(len(made), dtype=bool)
    value = column.value if column.counts is None else side(limit) * column.counts / (column.part * threshold(limit))
    return column.t_ms, np.where(column.known, value, np.nan), np.asarray(column.partial, dtype=bool)


def _since_rounds(t: Any, at: Any, now_ms: int) -> tuple[Any, Any, Any]:
    """How long the last round was ago: rising, and 0 at each round [s]; from the first round on, up to now."""
    rounds = t[at > 0]
    if not len(rounds):
        empty = np.array([], dtype=np.int64)
        return empty, empty.astype(float), empty.astype(bool)
    ends = np.append(rounds[1:], max(now_ms, int(rounds[-1])))
    times = np.column_stack((rounds, ends)).ravel()
    values = np.column_stack((np.zeros(len(rounds)), (ends - rounds) / 1000.0)).ravel()
    return times, values, np.zeros(len(times), dtype=bool)


def _steps(slot: watch.Slot, raised: int, signed: float) -> tuple[tuple[int, float], ...]:
    """The limit over time: as it was set before the raise, what the warning stands on from there."""
    steps: list[tuple[int, float]] = []
    for since, limit in slot.stood:
        value = side(limit) * threshold(limit)
        if since is None or since < raised:
            steps.append((-(2**62) if since is None else since, value))
        elif abs(value - signed) <= SAME_VALUE:
            steps.append((since, value))
    if not steps or abs(steps[-1][1] - signed) > SAME_VALUE:
        steps.append((raised, signed))
    return tuple(steps)


def _marks(slot: watch.Slot, done: tuple[Done, ...], t: Any, value: Any) -> tuple[SeriesMark, ...]:
    """The raise, growth, the first acknowledgement, when it was over, and the worst where it is on the series."""
    found = [SeriesMark(MARKS[d.event], d.learned_ms if d.event == "ACK" else d.t_ms, d.value) for d in done
             if d.event in MARKS]
    worst, raised = slot.alarm.worst, slot.alarm.raised_t
    if worst is not None and raised is not None:
        toward = np.where(t >= raised, side(slot.limit) * value, np.nan)
        if np.isfinite(toward).any():
            row = int(np.nanargmax(toward))
            if abs(float(toward[row]) - worst) <= SAME_VALUE:
                found.append(SeriesMark(WORST, int(t[row]), float(value[row])))
    return tuple(sorted(found, key=lambda m: m.t_ms))


def _marks_of_share(slot: watch.Slot, done: tuple[Done, ...], t: Any, value: Any) -> tuple[SeriesMark, ...]:
    """What happened, at the reading that the curve has by then: volumes have no place among shares."""
    found: list[SeriesMark] = []
    for d in (d for d in done if d.event in MARKS):
        at = d.learned_ms if d.event == "ACK" else d.t_ms
        row = int(np.searchsorted(t, at, side="right")) - 1
        if row >= 0 and np.isfinite(value[row]):
            found.append(SeriesMark(MARKS[d.event], at, float(value[row])))
    toward = np.where(t >= (slot.alarm.raised_t or 0), side(slot.limit) * value, np.nan)
    if np.isfinite(toward).any():
        row = int(np.nanargmax(toward))
        found.append(SeriesMark(WORST, int(t[row]), float(value[row])))
    return tuple(sorted(found, key=lambda m: m.t_ms))


# --- what others say --------------------------------------------------------------------------------------------


def _channels(memory: watch.Watch, limit: Limit, watched: str) -> tuple[OtherChannel, ...]:
    """What is told of the well besides the warning's own value. Only differences of volume are held against one
    another: how much came back at a connection, and a trip's sums, begin elsewhere."""
    own = watch.channel_of(limit)
    mine = memory.last.get(own)
    wanted = [("difference", name) for name in SYSTEMS] + [("trip", kind) for kind in TRIP_KINDS] + [FLOW_BACK]
    found: list[OtherChannel] = []
    for channel in wanted:
        sample = memory.last.get(channel)
        if channel == own or sample is None or (channel[0] == "trip" and sample.said):
            continue
        alike = channel[0] == own[0] == "difference" and mine is not None
        twin = "active" if own == ("difference", "watched") else "watched"
        if channel == ("difference", twin) and watched == ACTIVE_SYSTEM:
            continue
        same = _same(mine, sample) if alike and mine is not None else None
        name = channel[0] if channel == FLOW_BACK else channel[1]
        found.append(OtherChannel(name, sample.t_ms, sample.value, _known(sample.u), sample.partial, same))
    for channel, sample in memory.last.items():
        if channel[0] == "drift" and channel != own and channel[1] in (RISING, FALLING) and sample.facts.get("of"):
            volume = sample.facts["of"] * (-1 if channel[1] == FALLING else 1)
            found.append(OtherChannel(channel[1], sample.t_ms, volume, None, sample.partial, None, sample.said))
    return tuple(found)


def _same(a: Sample, b: Sample) -> bool | None:
    """True if two differences can't be told apart; None where nothing says how sure they are, or of when."""
    if a.u is None or b.u is None or not isfinite(a.u) or not isfinite(b.u) or a.t_ms != b.t_ms:
        return None
    return abs(a.value - b.value) <= K * hypot(a.u, b.u)


def _others(memory: watch.Watch, written: Mapping[str, list[Mapping[str, Any]]], occurrence: str, raised: int,
            ) -> tuple[OtherWarning, ...]:
    """Warnings that were open at some time since the raise, by when they were raised."""
    open_now = {x.alarm.occurrence: x for x in memory.open_slots()}
    found: list[OtherWarning] = []
    for name, payloads in written.items():
        if name == occurrence or name in open_now:
            continue
        begun = min(int(p["time"]) for p in payloads)
        ended = [int(p["learned"]) for p in payloads if p.get("state") == "closed"]
        if ended and max(ended) >= raised:
            p = payloads[0]
            found.append(OtherWarning(name, str(p["name"]), str(p["kind"]), str(p.get("tank") or p.get("system") or ""),
                                      begun, "closed"))
    found += [OtherWarning(name, x.limit.name, x.limit.kind, x.limit.on, x.alarm.raised_t or 0, x.alarm.shown)
              for name, x in open_now.items() if name and name != occurrence]
    return tuple(sorted(found, key=lambda w: (w.raised_ms, w.name))[-MOST_OTHERS:])


def _on(limit: Limit, s: Situation) -> str:
    """What a limit is on, as the map has it."""
    return place(limit, tuple(t.name for t in s.tanks))


def _hints(s: Situation, limit: Limit, raised: int) -> tuple[HintView, ...]:
    """Guesses of transfers that end after the raise, or span it, and go the warning's way: into the active system for a
    gain of it, out of it for a loss; from or to the tank, of a high or low one."""
    active = {t.name for t in s.tanks if t.active}
    found: list[HintView] = []
    for hint in s.hints:
        source, target, end = hint.fields.get("from"), hint.fields.get("to"), hint.fields.get("end_ms")
        if end is not None and end < raised:
            continue
        on = _on(limit, s)
        if on in SYSTEMS:
            mine = limit.kind != "overdue" and on != ALL_SURFACE and (target in active) == (limit.turned > 0)
        else:
            mine = on == (target if limit.kind == "high" else source)
        if mine:
            found.append(hint)
    return tuple(found)


def _doubts(books: Books, s: Situation, limit: Limit, occurrence: str) -> tuple[Doubt, ...]:
    """What may be wrong with the gauges that the warning rests on: of each tank its flag, its age, and what is doubted
    of its gauge; then what is doubted of the difference, on no tank of its own."""
    warning = next((w for w in s.warnings if w.occurrence == occurrence), None)
    said = () if warning is None else warning.doubts
    would_be = {(d.tank, d.kind): d.would_be_m3 for d in said if d.would_be_m3 is not None}
    read = None if warning is None else warning.value
    on = _on(limit, s)
    if on in SYSTEMS:
        name = s.watched if on == "watched" else on
        known = name in SYSTEMS or any(t.name == name for t in s.tanks)
        members = system(books, name).members_at(s.now_ms) if known else frozenset()
    elif limit.kind in TRIP_KINDS:
        members = frozenset(s.trip.tanks[:1] if s.trip is not None else ())
    else:
        members = frozenset((on,))
    found: list[Doubt] = []
    for tank in s.tanks:
        if tank.name not in members:
            continue
        if tank.flag:
            found.append(Doubt(tank.name, f"its last dip is marked: {tank.flag}", tank.t_ms))
        if tank.t_ms is None:
            found.append(Doubt(tank.name, "never gauged"))
        elif tank.stale:
            found.append(Doubt(tank.name, "gauged too long ago to count", tank.t_ms))
        elif tank.held:
            found.append(Doubt(tank.name, "not gauged in the last round", tank.t_ms))
        found += [Doubt(tank.name, d.brief + ("" if d.share is None else f", {d.share:.0%} of the area"), d.since_ms,
                        read if (d.tank, d.kind) in would_be else None, would_be.get((d.tank, d.kind)))
                  for d in tank.doubts]
    found += [Doubt("", d.brief, d.since_ms) for d in said if not d.tank]
    return tuple(found)


# --- what was done ----------------------------------------------------------------------------------------------


def _written(records: tuple[Record, ...]) -> dict[str, list[Mapping[str, Any]]]:
    """Occurrence -> the payloads of its transitions, in the log's order; those that can't be read are left aside."""
    found: dict[str, list[Mapping[str, Any]]] = {}
    for r in records:
        p = r.payload
        if r.kind == WARNING and p.get("occurrence") and all(k in p for k in NEEDED):
            found.setdefault(str(p["occurrence"]), []).append(p)
    return found


def _done(slot: watch.Slot, payloads: list[Mapping[str, Any]]) -> tuple[Done, ...]:
    """The transitions in the log; and the raise, where a disk that fails, or is slow, doesn't have it yet."""
    alarm = slot.alarm
    raised = next((int(p["learned"]) for p in payloads if p.get("event") == "ACT"), alarm.learned)
    found = [Done(int(p["time"]), int(p["learned"]), str(p.get("event", "")), str(p["state"]), _known(p.get("value")),
                  str(p.get("by") or ""), str(p.get("note") or ""), str(p.get("cause") or ""),
                  0 if raised is None else int(p["learned"]) - raised,
                  of=((p.get("evidence") or {}).get("facts") or {}).get("of")) for p in payloads]
    if alarm.raised_t is not None and not any(d.event == "ACT" for d in found):
        learned = alarm.raised_t if alarm.learned is None else alarm.learned
        found.insert(0, Done(alarm.raised_t, learned, "ACT", "raised", None, stored=False))
    return tuple(sorted(found, key=lambda d: d.learned_ms))
