"""The Watch page's answer is of the system that is watched: on a trip the trip's sum, on a trip tank that tank's difference."""

from __future__ import annotations

import pytest
from situations import no_zero, quiet, raised, rig
from trip_views import long_trip

from builders import BBL
from dipbook_app import urgency as urgencies
from dipbook_app.answer import answer, limit_places, urgency
from dipbook_app.display import DisplayUnits

UNITS = DisplayUnits(rig())


def test_without_a_trip_it_is_the_active_system_s() -> None:
    s = quiet()
    now = answer(s, UNITS)
    assert (now.value_m3, now.active, now.trend) == (s.difference_m3, "", "")
    assert now.limits == limit_places(s, UNITS)
    assert now.near[0] == "3.7 bbl to the gain limit of 5.0 bbl."
    assert answer(no_zero(), UNITS).number == "No zero yet"


def test_on_a_trip_it_is_the_trip_s_and_the_active_system_stands_beside() -> None:
    trip = long_trip(total_m3=4 * BBL)
    now = answer(quiet(trip=trip), UNITS)
    assert now.value_m3 == trip.total_m3
    assert now.words == "trip: hole took less"
    assert [place for place, _ in now.limits] == pytest.approx([-trip.limit_total_m3, trip.limit_total_m3])
    assert now.active.startswith("Active system: +1.3 bbl")
    assert now.trend.startswith("Last 5 rows: ")


def test_a_trip_that_tells_nothing_yet_says_so_and_one_that_ended_is_no_answer() -> None:
    bare = long_trip(total_m3=None, total_u_m3=None)
    now = answer(quiet(trip=bare), UNITS)
    assert (now.number, now.value_m3) == ("No sum yet", None)
    assert answer(quiet(trip=long_trip(ended_ms=1)), UNITS).value_m3 == quiet().difference_m3


def test_without_limits_on_trips_it_says_that_nothing_is_watched() -> None:
    now = answer(quiet(trip=long_trip(limit_total_m3=None, limit_last_m3=None)), UNITS)
    assert now.limits == ()
    assert now.near == ("No limit on trips is set: nothing is watched.", "")


def test_static_on_the_trip_tank_it_is_that_tank_s() -> None:
    now = answer(quiet(watched="Trip", watched_difference_m3=2 * BBL, watched_u_m3=0.2 * BBL), UNITS)
    assert (now.number, now.words) == ("+2.0", "more than expected in Trip")
    assert now.active.startswith("Active system: ")


def test_the_figure_is_marked_for_warnings_on_trips_too() -> None:
    assert urgency(quiet()) is None
    assert urgency(raised()) is urgencies.DANGER
