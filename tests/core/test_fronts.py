"""Where pills, slugs and bottoms-up are: worked by hand. Everything is invented."""

from __future__ import annotations

from math import isnan

import pytest

from dipbook.books import Books
from dipbook.composing.front_views import front_views
from dipbook.fronts import fronts, pumped
from dipbook.records import Draft
from ledgers import BBL, FT, GPM, MIN, RIG, booked, dips, entry

WELL = RIG + """
[[section]]
name = "casing"
kind = "casing"
bottom = "5000 ft"
diameter = "12.415 in"
[[section]]
name = "hole"
kind = "open hole"
bottom = "9000 ft"
diameter = "12.25 in"
"""
PIPE = 0.01776
CASED = 12.415**2 / 1029.4142 - 0.00759 - PIPE
OPEN = 12.25**2 / 1029.4142 - 0.00759 - PIPE
STRING_BBL = 9000 * PIPE
ANNULUS_BBL = 5000 * CASED + 4000 * OPEN


def books(*drafts: Draft, rig: str = WELL) -> Books:
    start = (dips(0, Settling=60, Suction=60, Reserve=40, Trip=30), entry("zero", 0, length=0.0),
             entry("depth", 0, hole=9000, bit=9000), entry("pumps", 0, state="off"), entry("pumps", 1, state="on", flow=420))
    return booked(*start, *drafts, rig=rig)


def test_what_was_pumped_is_the_flow_over_time() -> None:
    """420 gal/min are 10 bbl/min: ten minutes, five off, then two at half the rate."""
    b = books(entry("pumps", 11, state="off"), entry("pumps", 16, state="on", flow=210))
    assert pumped(b, 1 * MIN, 18 * MIN) / BBL == pytest.approx(110)
    assert pumped(b, 5 * MIN, 13 * MIN) / BBL == pytest.approx(60)
    assert pumped(b, 20 * MIN, 20 * MIN) == 0.0
    assert isnan(pumped(b, -5 * MIN, 5 * MIN))
    assert isnan(pumped(books(entry("pumps", 11, state="on")), 1 * MIN, 12 * MIN))


def test_a_pill_goes_down_the_string_up_the_annulus_and_is_gone_at_surface() -> None:
    """10 bbl/min since minute 5: after 8 min 80 bbl are 4504.5 ft of pipe; 159.84 bbl fill it, 16 min; the rest is annulus."""
    b = books(entry("pill", 5, from_="Reserve", volume=30, what="sweep"))

    def at(minute: float) -> tuple[str, float, float]:
        found = [f for f in fronts(b, round(minute * MIN)) if f.what == "sweep"]
        return (found[0].where, found[0].depth_m / FT, found[0].to_surface_m3 / BBL) if found else ("", 0.0, 0.0)

    assert at(13) == ("string", pytest.approx(80 / PIPE), pytest.approx(STRING_BBL + ANNULUS_BBL - 80))
    up = 400 - STRING_BBL
    assert at(45) == ("annulus", pytest.approx(9000 - up / OPEN), pytest.approx(ANNULUS_BBL - up))
    assert at(5 + (STRING_BBL + ANNULUS_BBL) / 10 + 0.1)[0] == ""


def test_bottoms_up_counts_from_when_the_pumps_came_on() -> None:
    (front,) = fronts(books(), 21 * MIN)
    assert (front.what, front.since_ms) == ("bottoms-up", MIN)
    assert front.to_surface_m3 / BBL == pytest.approx(ANNULUS_BBL - 200)
    assert front.flow_m3_s == pytest.approx(420 * GPM)
    (view,) = front_views(books(), 21 * MIN)
    assert view.strokes_to_surface == pytest.approx((ANNULUS_BBL - 200) / 0.102)
    assert view.ms_to_surface == pytest.approx((ANNULUS_BBL - 200) / 10 * MIN, rel=1e-6)
    assert fronts(books(), round((1 + ANNULUS_BBL / 10 + 0.1) * MIN)) == ()


def test_with_the_pumps_off_it_stands_and_no_time_is_told() -> None:
    b = books(entry("pumps", 21, state="off"))
    assert [f.to_surface_m3 for f in fronts(b, 30 * MIN)] == [f.to_surface_m3 for f in fronts(b, 21 * MIN)]
    assert front_views(b, 30 * MIN)[0].ms_to_surface is None


def test_a_hole_that_was_drilled_on_is_longer_and_a_flow_that_nobody_logged_is_unknown() -> None:
    b = books(entry("depth", 20, hole=9200, bit=9200))
    assert fronts(b, 21 * MIN)[0].to_surface_m3 / BBL == pytest.approx(ANNULUS_BBL + 200 * OPEN - 200)
    unknown = books(entry("pumps", 10, state="on"))
    assert [f.to_surface_m3 for f in front_views(unknown, 21 * MIN)] == [None]


def test_pumps_of_different_output_give_no_strokes() -> None:
    two = WELL + '[[pump]]\nname = "2"\noutput = "0.09 bbl"\n'
    assert front_views(books(rig=two), 21 * MIN)[0].strokes_to_surface is None


def test_nothing_without_the_hole_s_sections() -> None:
    assert fronts(books(rig=RIG), 21 * MIN) == ()
