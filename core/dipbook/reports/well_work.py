"""The connections and the trips of a span, each a line."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from dipbook.books import Books
from dipbook.books.trips import Trip
from dipbook.composing.connection_views import connections_between
from dipbook.composing.trip_head import title
from dipbook.reports.spans import Span
from dipbook.situation import ConnectionView
from dipbook.terms.trip import sheet_of
from dipbook.trips.rows import STAND


@dataclass(frozen=True, slots=True)
class ConnectionLine:
    """One connection. off_ms, on_ms: pumps [UTC ms], on_ms None while off. hole_m [m]. flow_m3_s: before it [m3/s].
    minute, back_m3: how much had come back by the last fixed minute that its readings reached. above_m3: the most that
    it lay above what is explained; banded: that was by accepted connections, else by what the lines hold. across_m3,
    across_u_m3 (k = 1): the difference pumps on to pumps on; why: it isn't known, in words. accepted: None nobody said;
    accepted_by. Volumes [m3], None unknown."""

    off_ms: int
    on_ms: int | None
    hole_m: float | None
    flow_m3_s: float | None
    minute: float | None
    back_m3: float | None
    above_m3: float | None
    banded: bool
    across_m3: float | None
    across_u_m3: float | None
    why: str
    accepted: bool | None
    accepted_by: str


@dataclass(frozen=True, slots=True)
class TripLine:
    """One trip of which a part lies in the span. title. begun_ms; ended_ms, None while it goes on [UTC ms]. stands: of
    the span. expected_m3, actual_m3, difference_m3: what the hole should have taken and took by the span's levels, +
    into it, and what it took less [m3]; unread: lines of the span that tell nothing. total_m3, total_u_m3 (k = 1): the
    whole trip's difference at the span's end [m3]. worst_last_m3: of the sums over the last stands, the one furthest
    from 0 in the span [m3]. signed: by whom, "" not. uid: of the entry that began it."""

    uid: str
    title: str
    begun_ms: int
    ended_ms: int | None
    stands: int
    expected_m3: float | None
    actual_m3: float | None
    difference_m3: float | None
    unread: int
    total_m3: float | None
    total_u_m3: float | None
    worst_last_m3: float | None
    signed: str


def connections(books: Books, span: Span) -> tuple[ConnectionLine, ...]:
    """The connections whose pumps stopped in a span. books: of the log. span."""
    return tuple(_connection(v) for v in connections_between(books, span.from_ms, span.to_ms))


def _connection(v: ConnectionView) -> ConnectionLine:
    minute, back = v.back_at[-1] if v.back_at else (None, None)
    return ConnectionLine(v.off_ms, v.on_ms, v.hole_m, v.flow_m3_s, minute, back, v.above_m3, v.banded, v.across_m3,
                          v.across_u_m3, v.across_words or v.why_no_curve, v.accepted, v.accepted_by)


def trips(books: Books, span: Span) -> tuple[TripLine, ...]:
    """The trips of a span. books: of the log. span."""
    return tuple(_trip(books, span, trip) for trip in books.trips
                 if trip.begun_ms <= span.to_ms and (trip.end_ms is None or trip.end_ms > span.from_ms))


def _trip(books: Books, span: Span, trip: Trip) -> TripLine:
    lines, _ = sheet_of(books, trip)
    upto = [x for x in lines if x.row.t_ms <= span.to_ms]
    mine = [x for x in upto if span.holds(x.row.t_ms)]
    told = [x for x in mine if isfinite(x.difference_m3)]
    known = [x for x in upto if isfinite(x.cumulative_m3)]
    lasts = [x.last_n_m3 for x in told if isfinite(x.last_n_m3)]
    ended = trip.end_ms is not None and trip.end_ms <= span.to_ms
    return TripLine(
        trip.head.uid, title(trip, books.rig_at(trip.begun_ms)), trip.begun_ms, trip.end_ms if ended else None,
        sum(1 for r in trip.rows if span.holds(r.t_ms) and str(r.payload.get("what") or "") == STAND),
        sum(x.expected_m3 for x in told) if told else None, sum(x.actual_m3 for x in told) if told else None,
        sum(x.difference_m3 for x in told) if told else None, len(mine) - len(told),
        known[-1].cumulative_m3 if known else None,
        known[-1].cumulative_u_m3 if known and isfinite(known[-1].cumulative_u_m3) else None,
        max(lasts, key=abs) if lasts else None,
        str(trip.end.payload.get("signed") or "") if trip.end is not None and ended else "")
