"""A slug as the pipe comes out: by hand, by weighing both columns, against the slug at rest, and in a log.

m3, kg/m3 and m in the first half. A slug a quarter heavier than the mud: at rest (ρs − ρm)(e − a) = ρm·Ldry.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from dipbook import balance
from dipbook.books import Books
from dipbook.composing import parts_of
from dipbook.composing.trip_view import trip_view
from dipbook.mud.hanging import Hanging, empty
from dipbook.mud.mixing import ImpossibleError
from dipbook.mud.tapered import Bore, at_rest
from dipbook.parts import Figure
from dipbook.records import Draft
from dipbook.situation import TripView
from dipbook.terms.bore import standing
from dipbook.terms.system import ALL_SURFACE
from dipbook.terms.trip import sheet_of
from dipbook.trips import Row, Way, sheet
from dipbook.trips.ways import CLOSED, DRY
from dipbook.well import Part, String
from ledgers import BBL, FT, MIN, RIG, booked, entry
from tripped import INCH, begins, row, start

LIGHT, HEAVY = 1200.0, 1500.0
STRING = String((Part("collars", "collar", 0.03, 0.005, 200.0), Part("pipe", "drill pipe", 0.004, 0.01)))
SLUG = Hanging(4.0, HEAVY, LIGHT)

pipes = st.lists(st.tuples(st.floats(0.002, 0.03), st.floats(5.0, 2000.0)), min_size=1, max_size=4).map(
    lambda parts: tuple(Bore(str(n), area, length) for n, (area, length) in enumerate(parts)))
volumes, heavier = st.floats(0.1, 40.0), st.floats(0.01, 1.0)


def depth_of(pipe: tuple[Bore, ...], volume: float) -> float:
    """Down to where a pipe holds a volume, at most the bit [m]."""
    begin = 0.0
    for bore in pipe:
        if volume <= bore.area_m2 * bore.length_m:
            return begin + volume / bore.area_m2
        volume, begin = volume - bore.area_m2 * bore.length_m, begin + bore.length_m
    return begin


# --- how much of the bore stands empty --------------------------------------------------------------------------------

def test_by_hand_while_all_of_it_is_in_drill_pipe() -> None:
    # 4 m3 in 0.01 m3/m are 400 m; a quarter of that is empty: 100 m, 1 m3. Its lower end is 500 m down.
    assert SLUG.empty_m3(STRING, 1000.0) == pytest.approx(1.0, rel=1e-12)
    assert SLUG.empty_m3(STRING, 700.0) == pytest.approx(1.0, rel=1e-12)


def test_by_hand_as_it_sinks_into_collars() -> None:
    # Bit at 600: pipe down to 400, collars to 600. Ldry = L: the slug holds (400 − L)·0.01 in pipe, the rest 4 − 4 + 0.01 L
    # in collars, 2 L long. h = 400 − L + 2 L = 400 + L = 4 L: L = 133.3 m, 1.3333 m3, and it reaches down to 666.7: no, past
    # the bit. With its lower end at the bit, 600 − L = 4 L: L = 120 m, 1.2 m3.
    assert SLUG.empty_m3(STRING, 600.0) == pytest.approx(1.2, rel=1e-12)
    # Bit at 680: pipe to 480; the slug from L: (480 − L)·0.01 in pipe, 0.01 L − 0.8 in collars, 2 L − 160 long.
    # h = 480 − L + 2 L − 160 = 320 + L = 4 L: L = 106.67 m, and down to 533.3 < 680.
    assert SLUG.empty_m3(STRING, 680.0) == pytest.approx(3.2 / 3, rel=1e-12)


def test_by_hand_once_part_of_it_has_left_at_the_bit() -> None:
    # Bit at 250: pipe to 50, collars to 250. What is left stands from L to the bit: 250 − L = 4 L, L = 50 m: 0.5 m3.
    assert SLUG.empty_m3(STRING, 250.0) == pytest.approx(0.5, rel=1e-12)
    assert SLUG.empty_m3(STRING, 0.0) == 0.0


def test_mud_pumped_behind_it_stands_on_it_by_hand() -> None:
    # 2 m3 behind it are 200 m: empty to 100, mud to 300, slug to 700: 400/4 = 100. The same, as long as it is all in the pipe.
    assert Hanging(4.0, HEAVY, LIGHT, 2.0).empty_m3(STRING, 1000.0) == pytest.approx(1.0, rel=1e-12)
    # Bit at 250 and 10 m3 behind it: the pipe holds 1.5 m3: no slug is left in it, and nothing stands empty.
    assert Hanging(4.0, HEAVY, LIGHT, 10.0).empty_m3(STRING, 250.0) == 0.0


@given(pipes, volumes, heavier)
def test_where_all_of_it_is_in_the_pipe_it_is_the_slug_at_rest(pipe: tuple[Bore, ...], volume: float, share: float) -> None:
    try:
        rest = at_rest(volume, LIGHT * (1.0 + share), LIGHT, pipe)
    except ImpossibleError:
        assume(False)
    assert empty(volume, 0.0, share, pipe) == pytest.approx(rest.back_m3, rel=1e-6, abs=1e-9)


@given(pipes, volumes, st.floats(0.0, 20.0), heavier)
def test_both_columns_weigh_the_same(pipe: tuple[Bore, ...], volume: float, behind: float, share: float) -> None:
    """Mud, slug and mud inside against mud outside, whatever of the slug is still in the pipe."""
    bit, found = sum(b.length_m for b in pipe), empty(volume, behind, share, pipe)
    top, upper, lower = (depth_of(pipe, found + v) for v in (0.0, behind, behind + volume))
    inside = LIGHT * (upper - top) + LIGHT * (1.0 + share) * (lower - upper) + LIGHT * (bit - lower)
    assert inside == pytest.approx(LIGHT * bit, rel=1e-9)
    assert found > 0.0 or upper == lower


@given(st.floats(0.1, 5.0), heavier)
def test_out_of_pipe_of_one_bore_it_is_the_closed_form(volume: float, share: float) -> None:
    """All of the pipe down to the bit is slug below Ldry: ρs (bit − Ldry) = ρm bit."""
    bit = volume / 0.01 / 2.0
    assert empty(volume, 0.0, share, (Bore("pipe", 0.01, bit),)) == pytest.approx(0.01 * bit * (1 - 1 / (1 + share)), rel=1e-9)


def test_a_string_too_short_or_without_a_bore_tells_nothing() -> None:
    solid = String((Part("bar", "collar", 0.03, 0.0, 200.0), Part("pipe", "drill pipe", 0.004, 0.01, 300.0)))
    assert np.isnan([SLUG.empty_m3(solid, 600.0), SLUG.empty_m3(solid, 400.0)]).all()


# --- the sheet --------------------------------------------------------------------------------------------------------

def out_of_the_hole(slug: Hanging | None, way: Way | None = None) -> list[float]:
    """What the hole should take, stand by stand of 20 m from 1000 m [m3]."""
    rows = [Row(n * 60_000, "stand", None, 1000.0 - 20.0 * n, {}, 0.0, slug=slug) for n in range(51)]
    lines, _ = sheet(rows, STRING, way or Way(), {}, stand_m=20.0, stroke_m3=1.0)
    return [line.expected_m3 for line in lines]


def test_the_sheet_follows_it_and_takes_back_all_of_it_by_the_time_the_bit_is_out() -> None:
    plain, slugged = np.array(out_of_the_hole(None)), np.array(out_of_the_hole(SLUG))
    beside = plain - slugged
    assert plain.sum() == pytest.approx(200.0 * 0.03 + 800.0 * 0.004)
    assert slugged.sum() == pytest.approx(plain.sum() + 1.0)             # the 1 m3 that stood empty
    assert beside[:14] == pytest.approx(0.0, abs=1e-12)                  # down to 720 m it hangs in drill pipe: steel alone
    assert beside[14:].max() > 0.0 > beside[14:].min()
    at = 1000.0 - 20.0 * np.arange(1, 51)
    stood = np.array([SLUG.empty_m3(STRING, b) for b in (1000.0, *at)])
    assert beside == pytest.approx(np.diff(stood), abs=1e-12)
    assert stood.max() == pytest.approx(1.25, abs=0.06)                  # 1.2 m3 at 600 m: a fifth more than in drill pipe


def test_pulled_wet_the_sheet_does_not_follow_it() -> None:
    assert out_of_the_hole(SLUG, Way("wet")) == out_of_the_hole(None, Way("wet"))


@pytest.mark.parametrize("running", ["closed", "self-filling", "open"])
def test_back_down_and_up_again_comes_to_nothing(running: str) -> None:
    depths = (800.0, 860.0, 840.0, 800.0, 780.0)
    rows = [Row(n * 60_000, "stand", None, bit, {}, 0.0, slug=SLUG) for n, bit in enumerate(depths)]
    lines, _ = sheet(rows, STRING, Way(DRY, running), {}, stand_m=20.0, stroke_m3=1.0)
    assert lines[-1].cumulative_m3 == pytest.approx(20.0 * 0.004)
    assert lines[-1].most_m3 - lines[-1].least_m3 == pytest.approx(0.0, abs=1e-12)
    assert sum(line.expected_m3 for line in lines[:3]) == pytest.approx(0.0, abs=1e-12)


def test_without_a_slug_back_down_on_a_closed_float_and_up_comes_to_nothing() -> None:
    rows = [Row(n * 60_000, "stand", None, bit, {}, 0.0) for n, bit in enumerate((800.0, 860.0, 800.0))]
    lines, _ = sheet(rows, STRING, Way(DRY, CLOSED), {}, stand_m=20.0, stroke_m3=1.0)
    assert [line.expected_m3 for line in lines] == pytest.approx([-60.0 * 0.014, 60.0 * 0.014])


# --- in a log ---------------------------------------------------------------------------------------------------------

COLLARS = RIG + """
[[string]]
name = "collars"
kind = "collar"
steel = "0.0545 bbl/ft"
bore = "0.0077 bbl/ft"
length = "930 ft"

[[string]]
name = "pipe"
kind = "drill pipe"
steel = "0.00759 bbl/ft"
bore = "0.01776 bbl/ft"
length = "12000 ft"
"""


def slugged_log(*more: Draft, stands: int = 0, taken: Any = None, bit: float = 2790.0) -> Books:
    """30 bbl of 15.0 on 12.0 lbm/gal from Reserve at 2 to 4 min, then pulled dry, each stand 93 ft taking what ``taken`` says
    [bbl]; what it lifts out comes back at once."""
    used = 0.0
    rows = []
    for n in range(1, stands + 1):
        used += taken(n)
        rows.append(row(20 + n, bit=bit - 93 * n, stand=n, Trip=90 - used / INCH))
    return booked(*start(), entry("depth", 1, hole=9000, bit=bit),
                  entry("slug", 2, 4, from_="Reserve", volume=30, density=15.0, mud_density=12.0, return_=0),
                  begins(10, bit=bit), row(20, "fill", Trip=90.0), *rows, *more, rig=COLLARS)


def expected_by(books: Books) -> list[float]:
    return [x.expected_m3 / BBL for x in sheet_of(books, books.trips[0])[0]]


def test_in_a_log_the_books_and_the_sheet_take_it_back_together() -> None:
    """30 stands from 2790 ft to surface: in all steel and what stood empty, and then nothing is left for the pumps to fill.

    Pipe to 1860 ft, 30 bbl: h = 1860 − L + (30 − 0.01776 (1860 − L))/0.0077 = 1466.0 + 1.3065 L = 4 L, L = 544.24 ft: 9.6657 bbl,
    where pipe of one bore would give 7.5.
    """
    first = slugged_log(stands=30, taken=lambda n: 0.0)
    due = expected_by(first)
    steel = first.rig.whole_string.steel(2790 * FT) / BBL
    assert sum(due) == pytest.approx(steel + 9.6657, abs=1e-3)
    books = slugged_log(stands=30, taken=lambda n: due[n - 1])
    lines, _ = sheet_of(books, books.trips[0])
    assert [x.difference_m3 / BBL for x in lines] == pytest.approx([0.0] * 30, abs=1e-6)
    at = np.array([round(m * MIN) for m in (21, 35, 50)])
    assert balance.at(books, at, "Trip").difference_m3 / BBL == pytest.approx([0.0] * 3, abs=1e-6)
    assert standing(books, 60 * MIN)[1] == pytest.approx(0.0, abs=1e-9)
    pumped = slugged_log(entry("trip end", 60), entry("pumps", 70, state="on", flow=300), stands=30, taken=lambda n: due[n - 1])
    bore = balance.at(pumped, [round(1 * MIN), round(80 * MIN)], ALL_SURFACE).terms["bore"] / BBL
    assert bore[1] - bore[0] == pytest.approx(9.6657, abs=1e-3)        # lifted out; what was taken back is the trip's own


def test_pumps_that_come_on_end_it_and_the_sheet_goes_on_by_steel_alone() -> None:
    books = slugged_log(entry("pumps", 12, state="on", flow=300), entry("pumps", 15, state="off"), stands=3, taken=lambda n: 0.7)
    assert books.trips[0].slug_at(20 * MIN) is None
    assert expected_by(books) == pytest.approx([93 * 0.00759] * 3)


def test_a_slug_pumped_in_mid_trip_counts_from_there() -> None:
    later = entry("slug", 22.2, 22.4, from_="Reserve", volume=30, density=15.0, mud_density=12.0, return_=0)
    books = booked(*start(), begins(10, bit=9000), row(20, "fill", Trip=90), *(
        row(20 + n, bit=9000 - 93 * n, stand=n, Trip=90 - n * 0.2) for n in (1, 2, 3)), later, rig=COLLARS)
    hung = [books.trips[0].slug_at(round(m * MIN)) for m in (22, 23)]
    assert hung[0] is None
    assert hung[1] is not None
    assert hung[1].slug_m3 / BBL == pytest.approx(30.0)


def test_of_two_slugs_one_behind_the_other_neither_is_followed() -> None:
    both = [entry("slug", m, m + 2, from_="Reserve", volume=10, density=15.0, mud_density=12.0, return_=0) for m in (2, 5)]
    on = entry("pumps", 1, state="on", flow=300)
    books = booked(*start(), on, *both, entry("pumps", 8, state="off"), begins(10, bit=9000), row(20, "fill", Trip=90), rig=COLLARS)
    slug = books.trips[0].slug_at(20 * MIN)
    assert slug is not None
    assert slug.behind_m3 / BBL == pytest.approx(300 / 42, rel=1e-9)     # the last one alone, with a minute's pumping on it


def test_what_comes_next_counts_it_too() -> None:
    """In drill pipe the next stand is steel alone; what the page says ahead is what the row then says."""
    due = expected_by(slugged_log(stands=30, taken=lambda n: 0.0))
    for stands in (1, 12, 24):
        books = slugged_log(stands=stands, taken=lambda n: due[n - 1])
        view: TripView | None = trip_view(books, 60 * MIN, {})
        assert view is not None
        assert view.next_due_m3 is not None
        assert view.next_due_m3 / BBL == pytest.approx(due[stands], abs=1e-9)
        assert view.next_least_m3 == view.next_most_m3


def test_the_parts_of_what_the_hole_should_take_add_up_to_it() -> None:
    books = slugged_log(stands=40, taken=lambda n: 0.0, bit=3999.0)
    words = set()
    for record, due in zip(books.trips[0].rows[1:], expected_by(books), strict=True):
        parts = parts_of(books, Figure("trip", record.uid, "expected"), 60 * MIN, {})
        assert parts is not None
        assert parts.sum / BBL == pytest.approx(due, abs=1e-9)
        words |= {p.label for p in parts.parts}
    assert {"Bore that stood empty and doesn't now", "Bore that stands empty over the slug"} <= words


def test_a_self_filling_float_gives_the_bounds_of_the_next_stand() -> None:
    books = booked(*start(), begins(5, "in", 0.0, float="self-filling"), row(10, "fill", Trip=90), rig=RIG)
    view = trip_view(books, 30 * MIN, {})
    assert view is not None
    assert (view.next_least_m3 / BBL, view.next_most_m3 / BBL) == pytest.approx((-93 * 0.02535, -93 * 0.00759))
    assert view.next_due_m3 / BBL == pytest.approx(-93 * (0.02535 + 0.00759) / 2)
