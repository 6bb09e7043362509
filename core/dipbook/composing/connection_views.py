"""Connections as a page shows them: each against the band in force for it, and the kick test across it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np

from dipbook import balance, flowback, kept_balance
from dipbook.books import Books
from dipbook.flowback import curves
from dipbook.flowback.adopted import section_at
from dipbook.flowback.curves import hole_at, lines_hold
from dipbook.situation import BandView, ConnectionView
from dipbook.terms.system import ACTIVE_SYSTEM

SETTLED_MS = 5 * 60_000
"""Pumps at one rate for as long are settled, for the difference pumps on to pumps on (our choice, no source)."""
BAND_STEP_S = 10.0
"""Spacing of the band's outline for drawing [s]."""
SHOWN_MS = 24 * 3_600_000
"""How far back connections are shown."""
NO_CURVE = (f"Too few readings for a curve: it takes one within {curves.BEFORE_MS // 60_000} min before the pumps "
            f"stop, and {curves.FEWEST} while they are off")


def connection_views(books: Books) -> tuple[ConnectionView, ...]:
    """The connections of the last day, oldest first. books: of the log."""
    ends = books.readings.end_ms
    return connections_between(books, int(ends[-1]) - SHOWN_MS - 1) if len(ends) else ()


def connections_between(books: Books, after_ms: int, until_ms: int | None = None) -> tuple[ConnectionView, ...]:
    """The connections whose pumps stopped after one time and up to another, oldest first.

    books: of the log. after_ms, until_ms: [UTC ms], until_ms None: all since.
    """
    curved = {c.off_ms: c for c in flowback.find(books)}
    said = flowback.said_of(books)
    found: list[ConnectionView] = []
    before: _Across | None = None
    for stop in flowback.stops(books):
        if not stop.is_connection or stop.off_ms <= after_ms or (until_ms is not None and stop.off_ms > until_ms):
            continue
        across = _across(books, stop)
        view = _view(books, stop, curved.get(stop.off_ms), found, said.get(stop.off_ms))
        found.append(_with_across(books, view, across, before))
        before = across
    return tuple(found)


def band_view(books: Books, now_ms: int) -> BandView | None:
    """The band that a connection beginning now would be held against, or the one that has begun is; None without one.

    books: of the log. now_ms [UTC ms].
    """
    on, flow = books.pumps.at(now_ms)
    off_ms: int = now_ms
    if on is False:
        last = next((s for s in reversed(flowback.stops(books)) if s.off_ms <= now_ms), None)
        off_ms, flow = (now_ms, None) if last is None else (last.off_ms, last.flow_m3_s)
    band = None if flow is None else flowback.band_for(books, off_ms, flow)
    if band is None:
        return None
    times = [c.off_ms for c in band.members]
    return BandView(band.t_ms, band.by, band.flow_m3_s, band.section, len(times), min(times, default=None),
                    max(times, default=None), len(times) >= flowback.FEWEST)


def not_compared(books: Books, band: BandView | None, now_ms: int) -> str:
    """What a limit on flow-back can't compare now, in words, "" where it can. books: of the log. band: in force.
    now_ms [UTC ms]."""
    if band is not None and band.enough:
        return ""
    why = "no flow-back band is adopted for this flow and section" if band is None else (
        f"the flow-back band rests on accepted connections, {band.count} of the {flowback.FEWEST} that it needs")
    drain = books.rig_at(now_ms).drain_back
    if drain is None:
        return (f"{why}, and the rig file doesn't say what the lines hold: flow-back at connections is compared with "
                "nothing")
    return f"{why}: only what comes back above all that the lines hold can warn"


def _view(books: Books, stop: flowback.Stop, curve: flowback.Connection | None, earlier: Sequence[ConnectionView],
          said: flowback.Said | None) -> ConnectionView:
    hole = hole_at(books, stop.off_ms)
    lines = lines_hold(books, stop)
    base = ConnectionView(
        stop.off_ms, stop.on_ms, _known(stop.flow_m3_s), _known(hole), section_at(books, stop.off_ms, hole),
        "" if curve is not None else NO_CURVE, lines_m3=_known(lines))
    if said is not None:
        base = replace(base, accepted=said.accepted, accepted_by=said.by, said_ms=said.learned_ms, remark=said.remark)
    if curve is None:
        return base
    band = flowback.band_for(books, stop.off_ms, stop.flow_m3_s)
    enough = band is not None and len(band.members) >= flowback.FEWEST
    members = band.members if band is not None and enough else ()
    until = max((float(c.s[-1]) for c in members), default=0.0)
    grid = np.arange(0.0, until + 1e-9, BAND_STEP_S)
    least, most = flowback.spread(members, grid)
    reached = np.isfinite(most)
    fixed = flowback.envelope(members, curve)
    drain = books.rig_at(stop.off_ms).drain_back
    rate = None if drain is None else drain.stopped_m3_s
    most_above, when, banded = flowback.worst(books, curve)
    return replace(
        base, s=curve.s, back_m3=curve.back_m3,
        back_at=tuple((m, x) for m in flowback.MINUTES if not np.isnan(x := curve.at(m * 60.0))),
        band_s=grid[reached], band_least_m3=np.fmin(least[reached], lines), band_most_m3=np.fmin(most[reached], lines),
        band_words=_band_words(books, band), band_ms=None if band is None else band.t_ms,
        excess=tuple((e.minute, e.above_m3, e.u_m3) for e in flowback.excess(curve, fixed)),
        above_m3=_known(most_above), above_s=_known(when), banded=banded, before_m3=_more_than_before(curve, earlier),
        stopped_s=None if rate is None else _known(flowback.stopped_s(curve, rate)))


def _band_words(books: Books, band: flowback.Band | None) -> str:
    if band is None:
        return "no band was adopted for this flow and section"
    if len(band.members) < flowback.FEWEST:
        return f"the band rests on accepted connections, {len(band.members)} of the {flowback.FEWEST} that it needs"
    zone = ZoneInfo(books.rig.zone)
    when = datetime.fromtimestamp(band.t_ms / 1000, zone).strftime("%H:%M")
    by = f" by {band.by}" if band.by else ""
    return f"band of {len(band.members)} accepted connections, adopted at {when}{by}"


def _more_than_before(curve: flowback.Connection, earlier: Sequence[ConnectionView]) -> tuple[float, float] | None:
    """(minute, how much more had come back by then than at the last one of about this flow), at the last fixed minute
    that both reached."""
    for view in reversed(earlier):
        if view.flow_m3_s is None or not view.back_at or not flowback.alike(curve.flow_m3_s, view.flow_m3_s):
            continue
        for minute, back in reversed(view.back_at):
            now = curve.at(minute * 60.0)
            if not np.isnan(now):
                return minute, now - back
        return None
    return None


@dataclass(frozen=True, slots=True)
class _Across:
    """Ends of the kick test. before, after: rows of the readings with the pumps on at equal rate, None where there is
    none; why: in words."""

    before: int | None
    after: int | None
    why: str


def _across(books: Books, stop: flowback.Stop) -> _Across:
    """The last reading before the pumps stopped, and the first once they had been back on long enough at that rate."""
    ends = books.readings.end_ms
    pumps = books.pumps
    index = int(np.searchsorted(pumps.t_ms, stop.off_ms, side="left")) - 1
    began = int(pumps.t_ms[index])
    before = int(np.searchsorted(ends, stop.off_ms, side="right")) - 1
    ready = began if index == 0 else began + SETTLED_MS
    if before < 0 or int(ends[before]) < ready:
        return _Across(None, None, "no reading at a settled rate before the pumps stopped")
    if stop.on_ms is None:
        return _Across(before, None, "the pumps are still off")
    if not flowback.alike(stop.on_flow_m3_s, stop.flow_m3_s):
        return _Across(before, None, "the pumps came back at another rate, or at one that isn't known")
    after = int(np.searchsorted(ends, stop.on_ms + SETTLED_MS, side="left"))
    if after >= len(ends) or (stop.next_ms is not None and int(ends[after]) > stop.next_ms):
        return _Across(before, None, "no reading yet with the pumps back on and settled" if stop.next_ms is None
                       else "no reading at a settled rate after the pumps came back")
    return _Across(before, after, "")


def _with_across(books: Books, view: ConnectionView, now: _Across, before: _Across | None) -> ConnectionView:
    ends = books.readings.end_ms
    rows = [r for r in (None if before is None else before.after, now.before, now.after) if r is not None]
    if not rows:
        return replace(view, across_words=now.why)
    row = _at(books, rows)
    difference = dict(zip(rows, row.difference_m3.tolist(), strict=True))
    zero = dict(zip(rows, row.zero_ms.tolist(), strict=True))

    def change(a: int | None, b: int | None) -> float | None:
        return None if a is None or b is None or zero[a] != zero[b] else _known(difference[b] - difference[a])

    across = change(now.before, now.after)
    why = now.why or ("" if across is not None else "the difference isn't known at both ends, or was zeroed between")
    u = None
    if across is not None and now.before is not None and now.after is not None:
        u = _known(float(balance.u_of_change(books, int(ends[now.before]), int(ends[now.after]), ACTIVE_SYSTEM)))
    between = None if before is None else change(before.after, now.before)
    return replace(view, across_m3=across, across_u_m3=u, across_words=why, between_m3=between)


def _at(books: Books, rows: list[int]) -> balance.Balance:
    """The balance at some readings, by their numbers: out of what is kept of the day, where they are of it."""
    kept = books.kept.get(kept_balance.NAME + ACTIVE_SYSTEM)
    if kept is None or min(rows) < kept.first or max(rows) >= kept.end:
        return balance.at(books, books.readings.end_ms[rows])
    return kept_balance.cut(kept.of, np.array(rows) - kept.first)


def _known(x: float) -> float | None:
    return None if np.isnan(x) else float(x)
