"""The Watch page's answer: the difference of the system that is watched now, which on a trip is the trip's sum."""

from __future__ import annotations

from dataclasses import dataclass, replace

from dipbook.limits import TRIP_KINDS
from dipbook.situation import Situation, TripView
from dipbook_app import sentences, trip_words
from dipbook_app import urgency as urgencies
from dipbook_app.display import DisplayUnits
from dipbook_app.urgency import Urgency

ON_A_TRIP = ("gain", "loss", "drift", "flow_back", *TRIP_KINDS)
"""Kinds of warning that the big figure is marked for."""

Places = tuple[tuple[float, str], ...]

UNSAVED = "before the unsaved round"
"""Under the figure, where a newer round warns that isn't in the log."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What the big figure and what is below it say. value_m3, u_m3: None unknown. number, unit, plus_minus, words: as
    written. limits: (where on the scale [m3], words). near: sentences on how near they are. active: the active system's
    own difference, where the figure is of another, "" else. trend: of the figure, in words, "" for the active system's.
    """

    value_m3: float | None
    u_m3: float | None
    number: str
    unit: str
    plus_minus: str
    words: str
    limits: Places
    near: tuple[str, ...]
    active: str = ""
    trend: str = ""


def answer(s: Situation, units: DisplayUnits) -> Answer:
    """The answer now; where a round that couldn't be stored warns, nothing calm is said of the one before it. s: the
    situation. units: the crew's."""
    made = _of_the_log(s, units)
    return made if all(w.in_log for w in s.warnings) else replace(made, words=UNSAVED, near=())


def _of_the_log(s: Situation, units: DisplayUnits) -> Answer:
    if s.trip is not None and s.trip.ended_ms is None:
        return _of_trip(s, s.trip, units)
    if s.watched_difference_m3 is not None:
        words = f"{sentences.direction(s.watched_difference_m3, units)} in {s.watched}"
        return _made(s.watched_difference_m3, s.watched_u_m3, words, (), (), units, active=_active(s, units))
    said = (sentences.near_limit(s, units), sentences.coarse(s, units))
    near = tuple(f"{text.rstrip('.')}." for text in said if text)
    limits = limit_places(s, units)
    if s.difference_m3 is None:
        unknown = "No zero yet" if s.zero_ms is None else "Unknown"
        return Answer(None, None, unknown, "", "", sentences.figure_words(s, units), limits, near)
    return _made(s.difference_m3, s.u_m3, sentences.figure_words(s, units), limits, near, units)


def _of_trip(s: Situation, trip: TripView, units: DisplayUnits) -> Answer:
    limit = trip.limit_total_m3
    limits = () if limit is None else ((-limit, f"limit {units.volume_number(limit)}"),
                                       (limit, f"limit {units.volume_number(limit)}"))
    near = trip_words.near_each(trip, units)
    if trip.total_m3 is None:
        return Answer(None, None, "No sum yet", "", "", "on this trip: log the trip tank's level", limits, near,
                      _active(s, units))
    words = f"trip: hole {trip_words.meaning(trip.total_m3, trip.direction, units).removesuffix(' than it should')}"
    return _made(trip.total_m3, trip.total_u_m3, words, limits, near, units, active=_active(s, units),
                 trend=trip_words.last_rows(trip, units))


def _made(value: float, u: float | None, words: str, limits: Places, near: tuple[str, ...], units: DisplayUnits, *,
          active: str = "", trend: str = "") -> Answer:
    number = units.volume_number(value, sign=True)
    return Answer(value, u, number, units.volume_word, units.plus_minus(u), words, limits, near, active,
                  trend)


def _active(s: Situation, units: DisplayUnits) -> str:
    if s.difference_m3 is None:
        return "Active system: no difference yet."
    return f"Active system: {units.signed_volume(s.difference_m3)} {units.plus_minus(s.u_m3)}."


def limit_places(s: Situation, units: DisplayUnits) -> Places:
    """Where the limits on gain and loss of the active system lie [m3], with their words. s: the situation. units: the
    crew's."""
    return (*_place(s, "loss", -1.0, units), *_place(s, "gain", 1.0, units))


def _place(s: Situation, kind: str, sign: float, units: DisplayUnits) -> Places:
    limit, _ = sentences.standing(s, kind)
    return () if limit is None else ((sign * limit.value, sentences.limit_words(limit, units)),)


def urgency(s: Situation) -> Urgency | None:
    """The urgency of the open warning that the figure is marked for. s: the situation."""
    open_now = [w for w in urgencies.in_order(s.warnings) if w.kind in ON_A_TRIP]
    return urgencies.of(open_now[0]) if open_now else None
