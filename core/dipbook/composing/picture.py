"""The picture at one moment: what only changes with the books is worked out once, the rest each time."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np

from dipbook import balance, flowback, gauges, hints, quantities
from dipbook.balance import Balance
from dipbook.books import Books
from dipbook.books.curve import FOREVER_MS
from dipbook.composing import pit_drill_views
from dipbook.composing.board import board
from dipbook.composing.calls import flow_check, notices, shut_in, signs
from dipbook.composing.connection_views import band_view, connection_views, not_compared
from dipbook.composing.drift_view import drift_view, with_limit
from dipbook.composing.front_views import front_views
from dipbook.composing.gauge_views import LOOKED_MS, of_all, on_board, on_tanks, on_warnings
from dipbook.composing.labels import LABELS
from dipbook.composing.limit_views import limits_record
from dipbook.composing.not_watched import applies, in_force, not_watched, out_of_service, strictest
from dipbook.composing.stock_views import stock_view, target_views
from dipbook.composing.tank_views import tank_views
from dipbook.composing.trip_view import trip_view
from dipbook.entries.kinds import LIMITS_APPROVED
from dipbook.findings import Finding
from dipbook.gauges import Doubt
from dipbook.hints import TransferHint
from dipbook.kept_balance import at_readings
from dipbook.limits import Limit
from dipbook.records import WARNING, Record
from dipbook.situation import (
    AsideView,
    BandView,
    ConnectionView,
    DriftView,
    HintView,
    RunningEntry,
    Situation,
    TermLine,
    Trend,
    WarningView,
)
from dipbook.stock import Loss, loss
from dipbook.terms.system import ACTIVE_SYSTEM, ALL_SURFACE

TREND_MS = 24 * 3_600_000
TREND_WORDS_MS = 30 * 60_000
"""The trend in words looks back over at least this long, if the readings reach that far."""
HINT_READINGS = 50
RECENT = 200
"""Readings looked at for the time between two complete rounds."""
LATELY = 7
"""Complete rounds whose gaps count for what rounds can miss."""

SHORT: Mapping[str, tuple[str, ...]] = {
    "pill": (), "flow check": ("flow check",), "shut-in": ("well",), "told driller": ("told driller",),
    "drilling break": ("drilling break",), "valve": (), "equipment": (), "shakers": ("shakers",), "gas": ("gas",),
    "mud check": ("mud check",), "return flow": ("return flow",), "stick check": ("stick check",),
    "handover": ("handover",), "slug": ("slug",), "about to move mud": ("about to move",),
    LIMITS_APPROVED: ("limits approved",),
}
"""Kinds whose mark is short: its first words."""
SAID = {"pill": ("what",), "flow check": ("result",), "shut-in": ("state",), "valve": ("valve", "state"),
        "equipment": ("equipment", "state"), "shakers": ("state",), "gas": ("what",), "return flow": ("trend",),
        "stick check": ("tank",)}
"""Kind -> what of its entry follows them."""
UNMARKED = frozenset(("depth", "rate in force", WARNING, "rig", "round", "samples", "not watched"))


@dataclass(frozen=True)
class Seen:
    """What the books show whatever the time: worked out once for each change of the books.

    at_ms: of the last reading or zero. active, all_surface: the balance at the last reading (one row). trend, hints,
    findings.
    written_off_m3: sum of what the zeros wrote off. trend_words: (change [m3], span [ms]) or None.
    complete_ms: times of the last complete rounds. lost: what the readings say is being lost.
    connections: stops of the pumps. drift: of the active system. doubts: of the gauges, over the last tour. over: the
    active system's balance, of the trend.
    """

    books: Books
    at_ms: int | None
    active: Balance | None
    all_surface: Balance | None
    trend: Trend
    hints: tuple[TransferHint, ...]
    findings: tuple[Finding, ...]
    written_off_m3: float
    trend_words: tuple[float, int] | None
    complete_ms: tuple[int, ...]
    lost: Loss | None = None
    connections: tuple[ConnectionView, ...] = ()
    drift: DriftView | None = None
    doubts: tuple[Doubt, ...] = ()
    over: Balance | None = None


def seen(books: Books, doubts: tuple[Doubt, ...] | None = None) -> Seen:
    """Work out what the books show, from their readings. doubts: of the gauges, as they were before, where a warning
    must not wait for a new look at them, and ``with_doubts`` follows; None looks here."""
    ends = books.readings.end_ms
    zeros = [z.t_ms for z in books.zeros if z.t_ms is not None]
    at_ms = max([int(ends[-1]), *zeros]) if len(ends) else None
    if at_ms is None:
        empty = np.array([])
        return Seen(books, None, None, None, Trend(empty, empty, empty, empty, empty, empty, {}, _marks(books, 0)), (),
                    (*balance.findings(books), *books.rig_findings), 0.0, None, ())
    over = at_readings(books, int(np.searchsorted(ends, int(ends[-1]) - TREND_MS, side="left")))
    since = max([z for z in zeros if z <= at_ms], default=None)
    written = np.array([volume for _, volume in balance.written_off(books)])
    # A zero given after its reading counts for that reading: what was booked since isn't in its dips.
    active, surface = (balance.at(books, int(ends[-1]), name, zeroed_by=at_ms) for name in (ACTIVE_SYSTEM, ALL_SURFACE))
    first = max(1, len(ends) - HINT_READINGS, int(np.searchsorted(ends, since, side="right")) if since else 1)
    recent = ends[-RECENT:]
    lately = over.partial[-RECENT:] if len(over.t_ms) >= len(recent) else balance.at(books, recent).partial
    complete = recent[~lately]
    return Seen(
        books, at_ms, active, surface, _trend(books, over),
        hints.transfers(books, first),
        (*balance.findings(books), *hints.not_seen(books, since), *flowback.findings(books),
         *books.rig_findings), float(np.nansum(written)),
        _trend_words(over, int(active.zero_ms[0])), tuple(int(t) for t in complete[-LATELY:]), loss(books, over),
        connection_views(books), drift_view(books), _doubts(books, over) if doubts is None else doubts, over)


def with_doubts(seen: Seen) -> Seen:
    """What ``seen`` shows, with a new look at the gauges."""
    return seen if seen.over is None else replace(seen, doubts=_doubts(seen.books, seen.over))


def _doubts(books: Books, over: Balance) -> tuple[Doubt, ...]:
    last = int(books.readings.end_ms[-1])
    return gauges.doubts(books, last - LOOKED_MS, last, over)


def with_journal(seen: Seen, books: Books) -> Seen:
    """What ``seen`` shows, of books that have only warnings' transitions more."""
    first = int(seen.trend.t_ms[0]) if len(seen.trend.t_ms) else 0
    return replace(seen, books=books, trend=replace(seen.trend, marks=_marks(books, first)))


def picture(seen: Seen, now_ms: int, *, warnings: tuple[WarningView, ...] = (),
            aside: tuple[AsideView, ...] = (), next_due_ms: int | None = None,
            on_watch: str = "", store_ok: bool = True, store_text: str = "", failing: tuple[str, ...] = (),
            clock_ahead_ms: int = 0, units: Mapping[str, tuple[str, int]] | None = None) -> Situation:
    """The situation at ``now_ms`` [UTC ms].

    seen: of the books. warnings: the open ones. aside: limits that are set aside.
    next_due_ms: when the next round is due, None if nothing says.
    on_watch: who is. store_ok, store_text, failing: health of the store, see Situation. clock_ahead_ms: see there [ms].
    units: quantity -> (symbol,
    digits) for texts; None for the rig's own.
    """
    books = seen.books
    rig = books.rig
    active, surface = seen.active, seen.all_surface
    activity, activity_since = books.activities.at(now_ms)
    pumps_on, flow = books.pumps.at(now_ms)
    (name,), (note,) = balance.watched(books, now_ms)
    zero = next((z for z in reversed(books.zeros) if z.t_ms is not None and z.t_ms == _value(active, "zero_ms")), None)
    other = _of_tank(books, name, seen.at_ms)
    held = balance.held(books, seen.at_ms) if seen.at_ms is not None else ()
    volume = _writer(rig.units, units, rig.decimal)
    read_ms = int(books.readings.end_ms[-1]) if len(books.readings) else None
    drills = pit_drill_views.views(books, now_ms)
    tanks = pit_drill_views.on_tanks(on_tanks(tank_views(books, now_ms), seen.doubts, read_ms, volume), drills)
    not_gauged = sum(t.volume_m3 or 0.0 for t in tanks if t.name in {n for n, _ in held})
    in_service = replace(rig, limits=tuple(x for x in rig.limits if x.name not in {a.name for a in aside}))
    gain, loss = (strictest(in_service, kind, activity) for kind in ("gain", "loss"))
    hole, bit, depth_t = _depths(books, now_ms)
    running = tuple(_running(books, now_ms))
    band = band_view(books, now_ms)
    flow_back = strictest(in_service, "flow_back", activity)
    spans = [w for w in books.unwatched if w[0] <= now_ms and (w[1] is None or now_ms < w[1])]
    return Situation(
        now_ms=now_ms, rig=rig, rig_seq=books.rig_seq,
        reading_ms=_reading_ms(books),
        zero_ms=zero.t_ms if zero else None, zero_by=zero.by if zero else "", written_off_m3=seen.written_off_m3,
        actual_m3=_value(active, "actual_m3"), expected_m3=_value(active, "expected_m3"),
        difference_m3=_value(active, "difference_m3"), u_m3=_value(active, "u_m3"),
        all_surface_difference_m3=_value(surface, "difference_m3"), all_surface_u_m3=_value(surface, "u_m3"),
        watched=name, watched_note=note,
        partial=bool(active.partial[0]) if active is not None else True, held=held, not_gauged_m3=not_gauged,
        terms=_terms(active), tanks=tanks, warnings=pit_drill_views.on_warnings(
            on_warnings(books, warnings, seen.doubts, volume), drills),
        hints=_hints(seen, volume), trend=seen.trend,
        trend_words=seen.trend_words, limit_gain=gain, limit_loss=loss,
        limits_in_force=tuple(x.name for x in in_service.limits if applies(x, activity)),
        interval_ms=_interval(seen, now_ms, next_due_ms), next_due_ms=next_due_ms,
        unwatched=(*not_watched(rig, activity), *out_of_service(aside),
                   *_not_compared(books, band, flow_back, now_ms)), activity=activity,
        activity_since_ms=activity_since, pumps_on=pumps_on, flow_m3_s=flow, hole_depth_m=hole, bit_depth_m=bit,
        depth_t_ms=depth_t, running=tuple(r for r in running if r.kind != "rate in force"),
        rates=tuple(r for r in running if r.kind == "rate in force"), findings=seen.findings, records=books.records,
        all_samples=books.whole is None,
        superseded=books.eff.superseded, watch_on=not spans, on_watch=on_watch, store_ok=store_ok,
        store_text=store_text, failing=failing, clock_ahead_ms=clock_ahead_ms,
        board=on_board(board(books, now_ms, (r for r in running if r.kind == "rate in force")), tanks),
        doubts=(*drills, *of_all(seen.doubts, read_ms, volume)), pit_drills=len(pit_drill_views.of_books(books)),
        notices=notices(books, now_ms), targets=target_views(books, now_ms), stock=stock_view(books, seen.lost, now_ms),
        shut_in=shut_in(books, now_ms), flow_check=flow_check(books, now_ms), signs=signs(books, now_ms),
        trip=trip_view(books, now_ms, {} if units is None else {k: symbol for k, (symbol, _) in units.items()}),
        watched_difference_m3=_value(other, "difference_m3"), watched_u_m3=_value(other, "u_m3"),
        aside=aside, fronts=front_views(books, now_ms), connections=seen.connections, band=band,
        limit_flow_back=flow_back, drift=with_limit(seen.drift, in_force(in_service, "drift", activity)),
        limits_record=limits_record(books, now_ms, aside))


def _not_compared(books: Books, band: BandView | None, limit: Limit | None, now_ms: int) -> tuple[str, ...]:
    """What a limit on flow-back, where there is one, can't compare now."""
    said = "" if limit is None else not_compared(books, band, now_ms)
    return (said,) if said else ()


def _reading_ms(books: Books) -> int | None:
    """End of the last reading that gauged an active tank, or any, where none did [UTC ms]: a trip's rows read the trip
    tank alone."""
    ends = books.readings.end_ms
    if not len(ends):
        return None
    key = ("reading of the active tanks", "")
    if key not in books.worked_out:
        books.worked_out[key] = _last_of_active(books, ends)
    found: int = books.worked_out[key]
    return found


def _last_of_active(books: Books, ends: Any) -> int:
    active = books.line.active_at(int(ends[-1]))
    gauged = np.zeros(len(ends), dtype=bool)
    for tank in active:
        gauged |= books.gauged_in(tank, np.arange(len(ends)))
    found = np.flatnonzero(gauged)
    return int(ends[found[-1]]) if len(found) else int(ends[-1])


def _of_tank(books: Books, name: str, at_ms: int | None) -> Balance | None:
    """The balance of the watched system at the last reading [UTC ms], where that is one tank; None else."""
    if at_ms is None or name in (ACTIVE_SYSTEM, balance.NOT_WATCHED):
        return None
    key = ("watched now", f"{name} {at_ms}")
    if key not in books.worked_out:
        books.worked_out[key] = balance.at(books, at_ms, name)
    made: Balance = books.worked_out[key]
    return made


def _interval(seen: Seen, now_ms: int, next_due_ms: int | None) -> int | None:
    """How far apart complete rounds may be, for what they can miss [ms]: the longest gap lately, or until the next is
    due, or since the last. Two rounds shortly after each other promise nothing."""
    done = seen.complete_ms
    gaps = [b - a for a, b in pairwise(done)]
    if done and next_due_ms is not None:
        gaps.append(next_due_ms - done[-1])
    return max([*gaps, now_ms - done[-1]]) if gaps else None


def _value(b: Balance | None, name: str) -> float | int | None:
    if b is None:
        return None
    x = getattr(b, name)[0]
    if name == "zero_ms":
        return int(x)
    return None if np.isnan(x) else float(x)


def _terms(b: Balance | None) -> tuple[TermLine, ...]:
    if b is None:
        return ()
    lines = [TermLine(key, LABELS[key], float(v[0])) for key, v in b.terms.items() if np.isfinite(v[0])]
    return tuple(sorted((x for x in lines if abs(x.value_m3) > 1e-9), key=lambda x: -abs(x.value_m3)))


def _depths(books: Books, now_ms: int) -> tuple[float | None, float | None, int | None]:
    i = int(np.searchsorted(books.depths.t_ms, now_ms, side="right")) - 1
    if i < 0:
        return None, None, None
    hole, bit = float(books.depths.hole_m[i]), float(books.depths.bit_m[i])
    return (None if np.isnan(hole) else hole), (None if np.isnan(bit) else bit), int(books.depths.t_ms[i])


def _running(books: Books, now_ms: int) -> list[RunningEntry]:
    """Entries under way: those with a ramp that goes on, and transfers whose volume isn't known yet."""
    found: list[RunningEntry] = []
    by_uid = {r.uid: r for r in books.eff.records}
    ramps = {m.uid: m.ramp for m in books.moves if m.open}
    for uid, r in by_uid.items():
        under_way = uid in ramps or (r.kind in ("transfer", "discard") and r.payload.get("state") == "running"
                                     and r.payload.get("end_ms") is None)
        if under_way and r.t_ms <= now_ms:
            ramp = ramps.get(uid)
            so_far = None if ramp is None else ramp.volume * (now_ms - ramp.t0) / FOREVER_MS
            found.append(RunningEntry(uid, r.kind, _places(r), r.t_ms, r.payload.get("rate_m3_s"), so_far, r.payload))
    return found


def _places(r: Record) -> str:
    source, target = r.payload.get("from"), r.payload.get("to")
    both = source and target
    words = f"{source} → {target}" if both else f"from {source}" if source else f"to {target}" if target else ""
    return f"{words} ({r.payload['remark']})".strip() if r.payload.get("remark") else words


def _trend(books: Books, b: Balance) -> Trend:
    first = int(b.t_ms[0])
    tanks = {n: (s.t_ms[s.real & (s.t_ms >= first)], s.volume_m3[s.real & (s.t_ms >= first)])
             for n, s in books.samples.items()}
    return Trend(b.t_ms, b.actual_m3, b.expected_m3, b.difference_m3, b.u_m3, b.partial, tanks, _marks(books, first))


def _marks(books: Books, first: int) -> tuple[tuple[int, str, str], ...]:
    """Entries and raised warnings for the plot's axis, from ``first`` on [UTC ms]."""
    marks = [(r.t_ms, r.kind, _mark_label(r)) for r in books.eff.records if r.t_ms >= first and r.kind not in UNMARKED]
    marks += [(r.t_ms, WARNING, str(r.payload.get("text") or r.payload.get("name") or "")) for r in books.records
              if r.t_ms >= first and r.kind == WARNING and r.payload.get("state") == "raised"]
    return tuple(sorted(marks))


def _mark_label(r: Record) -> str:
    if r.kind == "pumps":
        return f"pumps {r.payload.get('state', '')}"
    if r.kind == "activity":
        return str(r.payload.get("activity", ""))
    if r.kind in SHORT:
        p = r.payload
        return " ".join(str(w) for w in (*SHORT[r.kind], *(p[k] for k in SAID.get(r.kind, ()) if p.get(k))))
    return f"{r.kind} {_places(r)}".strip()


def _trend_words(b: Balance, zero_ms: int) -> tuple[float, int] | None:
    """Change of the difference over the last half hour or so, since the zero in force [UTC ms]."""
    known = np.flatnonzero(np.isfinite(b.difference_m3) & (b.zero_ms == zero_ms))
    if len(known) < 2:
        return None
    last = known[-1]
    back = known[b.t_ms[known] <= b.t_ms[last] - TREND_WORDS_MS]
    first = back[-1] if len(back) else known[0]
    return float(b.difference_m3[last] - b.difference_m3[first]), int(b.t_ms[last] - b.t_ms[first])


def _writer(rig_units: Mapping[str, str], units: Mapping[str, tuple[str, int]] | None, decimal: str,
            ) -> Callable[[float], str]:
    symbol = units["volume"][0] if units else rig_units.get("volume", "m3")
    return lambda v: quantities.write(v, symbol, decimal=decimal)


def _hints(seen: Seen, volume: Callable[[float], str]) -> tuple[HintView, ...]:
    active = frozenset(seen.books.line.active_at(seen.at_ms or 0))
    found: list[HintView] = []
    for h in reversed(seen.hints):
        if h.target in active:
            text = f"{h.source} fell {volume(h.fell_m3)} while the active rose {volume(h.rose_m3)}"
        else:
            text = f"The active fell {volume(h.fell_m3)} while {h.target} rose {volume(h.rose_m3)}"
        found.append(HintView(f"{text}: an unlogged transfer?", "transfer",
                              {**h.fields, "t_ms": h.from_ms, "end_ms": h.to_ms}))
    return tuple(found)
