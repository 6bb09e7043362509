"""Which figures the pages show now, in the order in which the key goes through them."""

from __future__ import annotations

from dipbook.parts import Figure
from dipbook.situation import ConnectionView, Situation, TripRowView, TripView
from dipbook.terms.system import ACTIVE_SYSTEM, ALL_SURFACE

OF_A_ROW = ("difference", "expected", "took", "last", "total")


def answer_figure(s: Situation) -> Figure:
    """The Watch page's big figure: the trip's sum, the watched tank's difference, or the active system's. s: now."""
    if s.trip is not None and s.trip.ended_ms is None and (row := newest_told(s.trip)) is not None:
        return Figure("trip", row.uid, "total")
    return Figure("difference", s.watched if s.watched_difference_m3 is not None else ACTIVE_SYSTEM)


def of_the_watch(s: Situation) -> tuple[Figure, ...]:
    """The Watch page's. s: now."""
    first = answer_figure(s)
    found = [first, Figure("difference", ACTIVE_SYSTEM), Figure("uncertainty", ACTIVE_SYSTEM),
             Figure("actual", ACTIVE_SYSTEM), Figure("expected", ACTIVE_SYSTEM), Figure("difference", ALL_SURFACE),
             *(Figure("tank", tank.name) for tank in s.tanks), *STOCK]
    return tuple(dict.fromkeys(found))


STOCK = (Figure("stock", "room"), Figure("stock", "usable"))
"""Those that the Watch page shows, too."""


def newest_told(trip: TripView) -> TripRowView | None:
    """The last row whose difference is known. trip: shown."""
    return next((row for row in reversed(trip.rows) if row.difference_m3 is not None), None)


def of_a_trip(trip: TripView | None, chosen: TripRowView | None) -> tuple[Figure, ...]:
    """The Trip page's: those of the row that the cursor is on, else of the newest, then what is posted."""
    if trip is None:
        return ()
    row = chosen if chosen is not None and chosen.difference_m3 is not None else newest_told(trip)
    return (*(() if row is None else (Figure("trip", row.uid, what) for what in OF_A_ROW)), *trip.posted_figures)


def of_a_connection(view: ConnectionView | None) -> tuple[Figure, ...]:
    """The Connections page's: of the chosen one, the most that it lay above first, then minute by minute."""
    if view is None or view.why_no_curve:
        return ()
    minutes = [minute for minute, _ in view.back_at]
    return (*((most_above(view),) if view.above_m3 is not None else ()),
            *(Figure("connection", str(view.off_ms), "back", minute) for minute in minutes),
            *(Figure("connection", str(view.off_ms), "band", minute) for minute in minutes
              if view.above_m3 is not None))


def most_above(view: ConnectionView) -> Figure:
    """The most that a connection lay above what is explained. view: it."""
    return Figure("connection", str(view.off_ms), "excess", (view.above_s or 0.0) / 60.0)
