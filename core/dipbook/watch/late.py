"""Readings that came late, were corrected, or came with an import: what they show raises now, once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from dipbook.alarms.step import TOLERANCE, AlarmState, Sample, beyond, clear, counted, grown, threshold
from dipbook.limits import Limit
from dipbook.watch.evidence import Column
from dipbook.watch.rows import in_force_rows, marks, sample_at, walk
from dipbook.watch.state import Span, Stood, Watch, delay_ends
from dipbook.watch.track import DEADLINE, Track


@dataclass(frozen=True)
class Excursion:
    """One time beyond a limit. time: when it would have raised; first, last: its readings beyond [UTC ms].

    worst: value toward the limit; reached: the most that counted, of a whole limit; row: of its raise; over: (time,
    row) of the reading that showed it over, or None.
    """

    time: int
    first: int
    last: int
    worst: float
    reached: float
    row: int
    over: tuple[int, int] | None


@dataclass(frozen=True)
class Found:
    """What a run of rows shows. state: of a limit that has seen these rows only. overs: (time, row) of each end."""

    excursions: tuple[Excursion, ...]
    state: AlarmState
    overs: tuple[tuple[int, int], ...]


def scan(watch: Watch, track: Track, column: Column, activity: tuple[str, ...], stop: int, until: int, *,
         active: bool = False) -> Found:
    """Find the excursions in rows 0 … stop−1, as if nothing else had been seen.

    watch; track: of the limit. column, activity: of the evidence. until: a delay that ends before it raises [UTC ms].
    active: the warning stands when the rows begin.
    """
    state = AlarmState(code="UNACK", active=True) if active else AlarmState()
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
                                    float(found.measure[rows].max()), float(found.reached[rows].max()), began[1],
                                    ended))
        began = None
    return Found(tuple(excursions), scratch.alarm, tuple(overs))


def unheard(found: Found, spans: Sequence[Span], stood: Sequence[Stood] = ()) -> tuple[Excursion, ...]:
    """Excursions that no warning has sounded for. found: of scan(); spans: of the limit's warnings; stood: every limit
    that it has been, if what passed none of its time is to be left out.
    """
    return tuple(x for x in found.excursions
                 if (not stood or any(_passed(x, since, limit) for since, limit in stood))
                 and not any(x.time <= (x.last if b is None else b) and a <= x.last for a, b in spans))


def _passed(x: Excursion, since: int | None, limit: Limit) -> bool:
    return (since is None or x.last >= since) and bool(beyond(limit, x.reached))


def _by_an_earlier_limit(watch: Watch, track: Track, column: Column, activity: tuple[str, ...], stop: int,
                         until: int) -> tuple[Found, tuple[Excursion, ...]]:
    """What rows 0 … stop−1 show by a stricter limit that stood at their time and was loosened before they were learned.
    The warning then stands on that limit, as if they had been learned in time.
    """
    standing = track.slot
    ends = [since for since, _ in standing.stood[1:]]
    for (_, limit), end in zip(reversed(standing.stood[:-1]), reversed(ends), strict=True):
        rows = min(stop, int(np.searchsorted(column.t_ms, end if end is not None else column.t_ms[0])))
        if not rows or threshold(limit) >= threshold(standing.limit):
            continue
        track.slot = replace(standing, limit=limit)
        found = scan(watch, track, column, activity, rows, min(until, end or until))
        new = unheard(found, track.spans, standing.stood)
        if new:
            return found, new
    track.slot = standing
    return Found((), standing.alarm, ()), ()


def summarise(watch: Watch, track: Track, column: Column, activity: tuple[str, ...], stop: int, learned: int, *,
              newest: bool, now: Sample | None) -> Found:
    """Take rows 0 … stop−1 together: at most one raise, however many excursions they hold.

    watch; track: of the limit. column, activity: of the evidence. learned: now [UTC ms]. newest: the rows are the
    newest there are, so they tell how it stands now; otherwise ``now``, the last reading known, does.
    """
    found = scan(watch, track, column, activity, stop, learned if newest or now is None else now.t_ms,
                 active=track.alarm.active)
    if newest and track.alarm.code == "ACKED" and _came_back(track, column, found, learned, now):
        if track.gone:
            return found
        return summarise(watch, track, column, activity, stop, learned, newest=newest, now=now)
    new = unheard(found, track.spans, () if newest else track.slot.stood)
    new = (*_before_the_raise(watch, track, column, activity, stop, newest), *new)
    code, quiet, stood = track.alarm.code, track.alarm.set_aside, track.alarm.active
    if not newest and not new and code == "NORM":
        earlier, new = _by_an_earlier_limit(watch, track, column, activity, stop, learned if now is None else now.t_ms)
        found = earlier if new else found
    raised: tuple[Excursion, ...] = ()
    if new and (code in ("NORM", "LACKD") or (quiet and not stood)):
        many = f"{len(new)} excursions, the first at this time" if len(new) > 1 else ""
        said = ", ".join(x for x in (track.cause or "learned late", many) if x)
        track.take("ACT", new[0].time, learned, sample_at(column, new[0].row), cause=said)
        raised = new
    elif code in ("ACKED", "LACKD") and _growth(track, column, activity, stop, learned, new):
        raised = found.excursions
    if track.alarm.is_open and new:
        track.fold(max(x.worst for x in new))
    if track.alarm.active:
        _fold_standing(track, column, activity, stop)
    if newest:
        _stand_newest(track, column, found, learned)
    elif track.alarm.active and code not in ("UNACK", "ACKED") and not (quiet and stood):
        _stand_late(track, column, raised, learned, now)
    return found


def _before_the_raise(watch: Watch, track: Track, column: Column, activity: tuple[str, ...], stop: int,
                      newest: bool) -> tuple[Excursion, ...]:
    """Excursions that began and ended before a warning that stands was raised, and that none has sounded for."""
    begun = track.alarm.raised_t
    if not track.alarm.active or begun is None:
        return ()
    rows = min(stop, int(np.searchsorted(column.t_ms, begun)))
    if not rows:
        return ()
    found = scan(watch, track, column, activity, rows, begun)
    ended = replace(found, excursions=tuple(x for x in found.excursions if x.over is not None))
    return unheard(ended, track.spans, () if newest else track.slot.stood)


def _came_back(track: Track, column: Column, found: Found, learned: int, now: Sample | None) -> bool:
    """End an acknowledged warning that the newest rows show over, and then beyond again."""
    after = -1 if now is None else now.t_ms
    again = [x for x in found.excursions if x.time > after]
    overs = [o for o in found.overs if o[0] > after and again and o[0] < again[0].time]
    if not overs:
        return False
    track.take("RTN", overs[0][0], learned, sample_at(column, overs[0][1]))
    return True


def _growth(track: Track, column: Column, activity: tuple[str, ...], stop: int, learned: int,
            new: tuple[Excursion, ...]) -> bool:
    """Sound again where the rows of an acknowledged occurrence, or of another excursion before it, turn out worse by
    its growth; another one also where no growth is set. True if so.
    """
    a, limit = track.alarm, track.slot.limit
    found = marks(limit, column, in_force_rows(limit, activity))
    t = column.t_ms[:stop]
    mine = t >= (a.raised_t or 0)
    for x in new:
        mine |= (t >= x.first) & (t <= x.last)
    rows = np.flatnonzero(found.beyond[:stop] & mine)
    if not len(rows):
        return False
    row = int(rows[np.argmax(found.measure[rows])])
    worse = bool(new) and limit.growth is None and a.sounded is not None and found.measure[row] > a.sounded + TOLERANCE
    if not worse and not grown(a, limit, float(found.measure[row])):
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
    elif now is not None and not now.partial and clear(limit, *counted(limit, now)):
        track.take("RTN", now.t_ms, learned, now, cause="already over")
