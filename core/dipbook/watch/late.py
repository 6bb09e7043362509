"""Readings that came late, were corrected, or came with an import: what they show raises now, once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from dipbook.alarms.step import AlarmState, Sample, clear, grown, side
from dipbook.watch.evidence import Column
from dipbook.watch.rows import in_force_rows, marks, sample_at, walk
from dipbook.watch.state import Span, Watch, delay_ends
from dipbook.watch.track import DEADLINE, Track


@dataclass(frozen=True)
class Excursion:
    """One time beyond a limit. time: when it would have raised; first, last: its readings beyond [UTC ms].

    worst: measure toward the limit; row: of its raise; over: (time, row) of the reading that showed it over, or None.
    """

    time: int
    first: int
    last: int
    worst: float
    row: int
    over: tuple[int, int] | None


@dataclass(frozen=True)
class Found:
    """What a run of rows shows. state: of a limit that has seen these rows only. overs: (time, row) of each end."""

    excursions: tuple[Excursion, ...]
    state: AlarmState
    overs: tuple[tuple[int, int], ...]


def scan(watch: Watch, track: Track, column: Column, activity: tuple[str, ...], stop: int, until: int) -> Found:
    """Find the excursions in rows 0 … stop−1, as if nothing else had been seen.

    watch; track: of the limit. column, activity: of the evidence. until: a delay that ends before it raises [UTC ms].
    """
    state = AlarmState(code="UNACK", active=True) if track.alarm.active else AlarmState()
    scratch = Track(watch, replace(track.slot, alarm=state), 0, forget=True)
    scratch.last = None
    walk(watch, scratch, column, activity, 0, stop, None)
    end = delay_ends(watch, scratch.slot.limit, scratch.alarm)
    if end is not None and end < until:
        scratch.take("ACT", end, end, scratch.alarm.pending, phase=DEADLINE)
    limit = scratch.slot.limit
    found = marks(limit, column, in_force_rows(limit, activity))
    t = column.t_ms
    excursions: list[Excursion] = []
    overs: list[tuple[int, int]] = []
    began: tuple[int, int] | None = None
    for _, tr in [*scratch.out, ((0,) * 5, None)]:
        if tr is not None and tr.event == "ACT":
            began = (tr.time, int(np.searchsorted(t, tr.evidence["t"])))
            continue
        ended = None if tr is None else (tr.time, int(np.searchsorted(t, tr.evidence["t"])))
        if ended is not None:
            overs.append(ended)
        if began is None:
            continue
        rows = np.arange(began[1], stop if ended is None else ended[1])
        rows = rows[found.beyond[rows]]
        excursions.append(Excursion(began[0], int(t[rows[0]]), max(began[0], int(t[rows[-1]])),
                                    float(found.measure[rows].max()), began[1], ended))
        began = None
    return Found(tuple(excursions), scratch.alarm, tuple(overs))


def unheard(found: Found, spans: Sequence[Span], since: int | None) -> tuple[Excursion, ...]:
    """Excursions that no warning has sounded for. found: of scan(); spans: of the limit's warnings; since: when the
    limit was set [UTC ms], or None for always: what was over before that passed no limit.
    """
    return tuple(x for x in found.excursions
                 if (since is None or x.last >= since)
                 and not any(x.time <= (x.last if b is None else b) and a <= x.last for a, b in spans))


def summarise(watch: Watch, track: Track, column: Column, activity: tuple[str, ...], stop: int, learned: int, *,
              newest: bool, now: Sample | None) -> Found:
    """Take rows 0 … stop−1 together: at most one raise, however many excursions they hold.

    watch; track: of the limit. column, activity: of the evidence. learned: now [UTC ms]. newest: the rows are the
    newest there are, so they tell how it stands now; otherwise ``now``, the last reading known, does.
    """
    found = scan(watch, track, column, activity, stop, learned if newest or now is None else now.t_ms)
    if newest and track.alarm.code == "ACKED" and _came_back(track, column, found, learned, now):
        if track.gone:
            return found
        return summarise(watch, track, column, activity, stop, learned, newest=newest, now=now)
    new = unheard(found, track.spans, None if newest else track.slot.since)
    code = track.alarm.code
    raised: tuple[Excursion, ...] = ()
    if new and code in ("NORM", "LACKD"):
        many = f"{len(new)} excursions, the first at this time" if len(new) > 1 else ""
        said = ", ".join(x for x in (track.cause or "learned late", many) if x)
        track.take("ACT", new[0].time, learned, sample_at(column, new[0].row), cause=said)
        raised = new
    elif code in ("ACKED", "LACKD") and _growth(track, column, activity, stop, learned):
        raised = found.excursions
    if track.alarm.is_open and new:
        track.fold(max(x.worst for x in new))
    if track.alarm.active:
        _fold_standing(track, column, activity, stop)
    if newest:
        _stand_newest(track, column, found, learned)
    elif track.alarm.active and code not in ("UNACK", "ACKED"):
        _stand_late(track, column, raised, learned, now)
    return found


def _came_back(track: Track, column: Column, found: Found, learned: int, now: Sample | None) -> bool:
    """End an acknowledged warning that the newest rows show over, and then beyond again."""
    after = -1 if now is None else now.t_ms
    again = [x for x in found.excursions if x.time > after]
    overs = [o for o in found.overs if o[0] > after and again and o[0] < again[0].time]
    if not overs:
        return False
    track.take("RTN", overs[0][0], learned, sample_at(column, overs[0][1]))
    return True


def _growth(track: Track, column: Column, activity: tuple[str, ...], stop: int, learned: int) -> bool:
    """Sound again where the rows of an acknowledged occurrence turn out worse by its growth. True if so."""
    a, limit = track.alarm, track.slot.limit
    found = marks(limit, column, in_force_rows(limit, activity))
    rows = np.flatnonzero(found.beyond[:stop] & (column.t_ms[:stop] >= (a.raised_t or 0)))
    if not len(rows):
        return False
    row = int(rows[np.argmax(found.measure[rows])])
    if not grown(a, limit, float(found.measure[row])):
        return False
    track.take("REA" if a.code == "ACKED" else "ACT", int(column.t_ms[row]), learned, sample_at(column, row))
    return True


def _fold_standing(track: Track, column: Column, activity: tuple[str, ...], stop: int) -> None:
    limit = track.slot.limit
    found = marks(limit, column, in_force_rows(limit, activity))
    rows = np.flatnonzero(found.beyond[:stop] & (column.t_ms[:stop] >= (track.alarm.raised_t or 0)))
    if len(rows):
        track.fold(float(found.measure[rows].max()))


def _stand_newest(track: Track, column: Column, found: Found, learned: int) -> None:
    """Leave the warning as the newest rows say."""
    stands = found.state.active
    if stands and not track.alarm.active and found.excursions:
        x = found.excursions[-1]
        track.take("ACT", x.time, learned, sample_at(column, x.row))
    if track.alarm.active and not stands and found.overs:
        time, row = found.overs[-1]
        track.take("RTN", time, learned, sample_at(column, row))
    if not track.alarm.active and not track.gone:
        track.count_as(found.state)


def _stand_late(track: Track, column: Column, raised: tuple[Excursion, ...], learned: int,
                now: Sample | None) -> None:
    """After a late raise: over, if a reading has shown that since."""
    limit = track.slot.limit
    over = raised[-1].over if raised else None
    if over is not None:
        track.take("RTN", over[0], learned, sample_at(column, over[1]), cause="already over")
    elif now is not None and not now.partial and clear(limit, side(limit) * now.value):
        track.take("RTN", now.t_ms, learned, now, cause="already over")
