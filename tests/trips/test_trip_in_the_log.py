"""A trip in the log: its sheet, the books and the watch follow it. Invented; worked by hand in the comments.

Pipe 0.00759 and 0.01776 bbl/ft (steel, bore), stands of 93 ft: 0.70587 bbl dry, 2.35755 wet. The trip tank is a box of 30 x 8 ft,
3.5620 bbl an inch.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from dipbook import balance, watch
from dipbook.books import Books
from dipbook.observations import observe
from dipbook.records import Draft
from dipbook.terms.system import ALL_SURFACE
from dipbook.terms.trip import sheet_of
from dipbook.watch import Transition
from ledgers import BBL, MIN, RIG, booked, dips, entry
from tripped import CLOSED, DRY, INCH, LIMITS, STAND_FT, begins, pulled, row, start


def difference(books: Books, minute: float, name: str) -> float:
    return float(balance.at(books, [round(minute * MIN)], name).difference_m3[0]) / BBL


@pytest.mark.parametrize(("way", "fields", "expected"), [
    ("out", {}, DRY), ("out", {"pulled": "wet"}, CLOSED), ("out", {"pulled": "bucket", "returned_percent": 80.0},
                                                            STAND_FT * (0.00759 + 0.2 * 0.01776)),
    ("in", {}, -CLOSED), ("in", {"float": "open"}, -DRY), ("in", {"float": "self-filling"}, -(DRY + CLOSED) / 2)])
def test_the_books_and_the_sheet_expect_the_same_for_every_way(way: str, fields: dict[str, Any], expected: float) -> None:
    """The hole takes what it should: no difference on the sheet, on the trip tank, or on all surface."""
    books = booked(*start(), begins(5, way, 9000.0 if way == "out" else 0.0, **fields), *pulled(6, expected, way=way))
    lines, found = sheet_of(books, books.trips[0])
    assert [x.expected_m3 / BBL for x in lines] == pytest.approx([expected] * 6)
    assert [x.difference_m3 / BBL for x in lines] == pytest.approx([0.0] * 6, abs=1e-6)
    assert found == ()
    assert [difference(books, 40, name) for name in ("Trip", ALL_SURFACE)] == pytest.approx([0.0, 0.0], abs=1e-6)
    assert balance.followed(books, [round(40 * MIN)]) == (("Trip",), ("",))


def test_the_active_system_sits_still_while_the_trip_tank_fills_the_hole() -> None:
    books = booked(*start(), begins(5), *pulled(6, DRY), dips(41, Settling=60, Suction=60, Trip=90 - 6 * DRY / INCH))
    b = balance.at(books, [round(41 * MIN)])
    assert b.difference_m3[0] == pytest.approx(0.0, abs=1e-6)
    assert b.terms["trip"][0] == 0.0
    assert balance.at(books, [round(41 * MIN)], ALL_SURFACE).terms["trip"][0] / BBL == pytest.approx(-6 * DRY)


def test_what_the_hole_did_not_take_shows_on_the_trip_tank_and_on_all_surface() -> None:
    books = booked(*start(), begins(5), *pulled(6, DRY - 0.3))
    assert sheet_of(books, books.trips[0])[0][-1].cumulative_m3 / BBL == pytest.approx(1.8)
    assert [difference(books, 40, name) for name in ("Trip", ALL_SURFACE)] == pytest.approx([1.8, 1.8])


def test_a_self_filling_float_widens_the_uncertainty_and_a_fill_takes_the_width_away() -> None:
    """Six stands on a self-filling float give back between 0.706 and 2.358 bbl each; filling the pipe then takes the rest, so that
    both together come to the steel alone, whatever the float let in."""
    run = pulled(6, -1.5, way="in")
    level = 90 + 6 * 1.5 / INCH
    let_in = 6 * (CLOSED - 1.5)
    filled = row(45, "pipe filled", Trip=level - (6 * STAND_FT * 0.01776 - let_in) / INCH)
    books = booked(*start(), begins(5, "in", 0.0, float="self-filling"), *run, filled)
    lines, _ = sheet_of(books, books.trips[0])
    assert [(x.least_m3 / BBL, x.most_m3 / BBL) for x in lines[:1]] == [pytest.approx((-CLOSED, -DRY))]
    assert lines[5].cumulative_u_m3 / BBL == pytest.approx(np.hypot(6 * (CLOSED - DRY) / 2 / 3**0.5, 2**0.5 * 0.25 * INCH / 3**0.5), rel=1e-6)
    assert lines[-1].cumulative_m3 / BBL == pytest.approx(0.0, abs=1e-6)
    assert lines[-1].cumulative_u_m3 / BBL == pytest.approx(2**0.5 * 0.25 * INCH / 3**0.5, rel=1e-6)
    assert (lines[-1].least_m3 / BBL, lines[-1].most_m3 / BBL) == pytest.approx((0.0, 6 * STAND_FT * 0.01776))
    wide, narrow = (float(balance.at(books, [round(m * MIN)], "Trip").u_m3[0]) for m in (40, 45))
    assert wide > 6 * (CLOSED - DRY) * BBL / 2 / 3**0.5
    assert narrow / BBL == pytest.approx(2**0.5 * 0.25 * INCH / 3**0.5, rel=1e-6)


def test_pipe_filled_from_the_active_tanks_is_taken_out_there_and_not_looked_for_in_the_trip_tank() -> None:
    run = pulled(6, -CLOSED, way="in")
    bore = 6 * STAND_FT * 0.01776
    there = dips(46, Settling=60, Suction=60 - bore / INCH, Reserve=40, Trip=90 + 6 * CLOSED / INCH)
    books = booked(*start(), begins(5, "in", 0.0), *run, row(45, "pipe filled", source="Suction", Trip=90 + 6 * CLOSED / INCH), there)
    assert sheet_of(books, books.trips[0])[0][-1].cumulative_m3 / BBL == pytest.approx(0.0, abs=1e-6)
    assert [difference(books, 46, name) for name in ("active", "Trip", ALL_SURFACE)] == pytest.approx([0.0] * 3, abs=1e-6)


def test_a_tank_that_pipe_was_filled_from_reads_no_gain_until_it_is_gauged_again() -> None:
    """What filled the pipe is out of Suction: until its next dip that is carried on it, as any logged move is."""
    run = pulled(6, -CLOSED, way="in")
    books = booked(*start(), begins(5, "in", 0.0), *run, row(45, "pipe filled", source="Suction", Trip=90 + 6 * CLOSED / INCH))
    assert [difference(books, 45, name) for name in ("active", "Trip", ALL_SURFACE)] == pytest.approx([0.0] * 3, abs=1e-6)


def test_out_dry_and_back_in_closed_and_filled_sums_to_nothing() -> None:
    """accounting.md: out dry and back in closed and filled sums to zero; a wet trip leaves the bore that it spilled."""
    for way, left in (("dry", 0.0), ("wet", -10 * STAND_FT * 0.01776)):
        taken = DRY if way == "dry" else CLOSED
        out = pulled(10, taken)
        low = 90 - 10 * taken / INCH
        back = [row(100, "fill", Trip=low), *(row(100 + 5 * n, bit=8070 + n * STAND_FT, stand=n, Trip=low + n * CLOSED / INCH) for n in range(1, 11))]
        top = low + 10 * CLOSED / INCH
        fill = row(155, "pipe filled", Trip=top - 10 * STAND_FT * 0.01776 / INCH)
        books = booked(*start(), begins(5, pulled=way), *out, entry("trip end", 62), begins(95, "in", 8070.0), *back, fill,
                       entry("trip end", 160))
        trip, b = balance.at(books, [round(158 * MIN)], ALL_SURFACE).terms["trip"][0] / BBL, books.dips["Trip"]
        assert trip == pytest.approx(left, abs=1e-6)
        assert float(b.volume_m3[-1] - b.volume_m3[0]) / BBL == pytest.approx(left, abs=1e-6)
        assert difference(books, 155, ALL_SURFACE) == pytest.approx(0.0, abs=1e-6)


def test_a_refill_is_booked_from_its_tank_and_leaves_the_sheet_and_the_sum_alone() -> None:
    rows = pulled(3, DRY)
    level = 90 - 3 * DRY / INCH
    refill = row(30, "refill", source="Reserve", volume=10 * INCH, Trip=level + 10)
    more = [row(30 + 5 * n, bit=9000 - (3 + n) * STAND_FT, stand=3 + n, Trip=level + 10 - n * DRY / INCH) for n in (1, 2)]
    books = booked(*start(), begins(5), *rows, refill, *more, dips(50, Settling=60, Suction=60, Reserve=30, Trip=level + 10 - 2 * DRY / INCH))
    assert sheet_of(books, books.trips[0])[0][-1].cumulative_m3 / BBL == pytest.approx(0.0, abs=1e-6)
    assert [difference(books, 50, name) for name in ("active", "Trip", ALL_SURFACE)] == pytest.approx([0.0] * 3, abs=1e-6)


def test_after_the_trip_the_steel_goes_on_from_where_the_trip_left_the_bit() -> None:
    """Steel by depth entries, 0.00759 bbl/ft, once no trip goes on; the trip's own moves count in its own term."""
    books = booked(*start(), begins(5), *pulled(4, DRY), entry("trip end", 35), entry("depth", 40, bit=8700),
                   dips(41, Settling=60, Suction=60, Reserve=40, Trip=90 - 4 * DRY / INCH))
    b = balance.at(books, [round(41 * MIN)], ALL_SURFACE)
    assert b.terms["steel"][0] / BBL == pytest.approx(0.00759 * (8700 - (9000 - 4 * STAND_FT)))
    assert b.terms["trip"][0] / BBL == pytest.approx(-4 * DRY)


def test_depths_logged_meanwhile_move_the_pipe_too() -> None:
    books = booked(*start(), begins(5), row(10, "fill", Trip=90), entry("depth", 20, bit=9000 - 2 * STAND_FT),
                   row(25, "fill", Trip=90 - 2 * DRY / INCH))
    (line,) = sheet_of(books, books.trips[0])[0]
    assert (line.expected_m3 / BBL, line.difference_m3 / BBL) == pytest.approx((2 * DRY, 0.0), abs=1e-6)
    assert balance.at(books, [round(25 * MIN)], ALL_SURFACE).terms["steel"][0] == 0.0


def test_a_correction_of_a_row_takes_its_place_and_a_strike_takes_it_away() -> None:
    rows = pulled(4, DRY)
    wrong = row(30, bit=9000 - 5 * STAND_FT, stand=5, uid="wrong", Trip=90 - 4 * DRY / INCH)
    right = row(30, bit=9000 - 5 * STAND_FT, stand=5, uid="right", supersedes="wrong", Trip=90 - 5 * DRY / INCH)
    assert sheet_of(b := booked(*start(), begins(5), *rows, wrong), b.trips[0])[0][-1].cumulative_m3 / BBL == pytest.approx(DRY)
    assert sheet_of(b := booked(*start(), begins(5), *rows, wrong, right), b.trips[0])[0][-1].cumulative_m3 == pytest.approx(0.0, abs=1e-6)
    gone = Draft("void", 31 * MIN, 31 * MIN, author="Test", supersedes="wrong", reason="no")
    assert len(sheet_of(b := booked(*start(), begins(5), *rows, wrong, gone), b.trips[0])[0]) == 4


def test_a_trip_ends_where_it_is_ended_where_another_begins_and_where_drilling_is_logged() -> None:
    books = booked(*start(), begins(5), entry("trip end", 30), begins(40, "in", 0.0), begins(50), entry("activity", 60, activity="drilling"))
    assert [(t.begun_ms // MIN, t.end_ms // MIN) for t in books.trips if t.end_ms is not None] == [(5, 30), (40, 50), (50, 60)]
    assert [f.code for f in books.findings if f.code == "trip_not_ended"] == ["trip_not_ended"]
    assert [books.activities.at(round(m * MIN))[0] for m in (6, 31, 41, 61)] == ["tripping", "unknown", "tripping", "drilling"]


def test_rows_of_the_minute_in_which_a_trip_was_ended_are_its_own() -> None:
    """The end is typed to the minute; the last stand was logged some seconds into it."""
    books = booked(*start(), begins(5), *pulled(2, DRY), row(25.5, bit=9000 - 3 * STAND_FT, stand=3, Trip=90 - 3 * DRY / INCH), entry("trip end", 25))
    assert len(books.trips[0].rows) == 4
    assert sheet_of(books, books.trips[0])[0][-1].cumulative_m3 == pytest.approx(0.0, abs=1e-6)
    assert difference(books, 25.5, "Trip") == pytest.approx(0.0, abs=1e-6)


def test_a_trip_that_begins_far_from_where_the_log_had_the_bit_books_no_move_and_says_so() -> None:
    """Run in from surface, and the log has the bit at 9000 ft: nobody logged how it came out."""
    books = booked(*start(), begins(5, "in", 0.0), *pulled(1, -CLOSED, way="in"))
    assert [f.code for f in books.findings if f.code == "trip_begins_elsewhere"] == ["trip_begins_elsewhere"]
    b = balance.at(books, [round(15 * MIN)], ALL_SURFACE)
    assert (b.terms["steel"][0], b.terms["bore"][0]) == (0.0, 0.0)
    near = booked(*start(), begins(5, bit=8990.0))
    assert "trip_begins_elsewhere" not in {f.code for f in near.findings}
    assert balance.at(near, [6 * MIN], ALL_SURFACE).terms["steel"][0] / BBL == pytest.approx(-10 * 0.00759)


def test_a_row_outside_any_trip_is_a_finding() -> None:
    assert "row_without_trip" in {f.code for f in booked(*start(), row(10, bit=8907, Trip=89)).findings}


def test_tripping_without_a_trip_in_the_log_is_not_watched_and_says_what_to_do() -> None:
    books = booked(*start(), entry("activity", 5, activity="tripping"))
    (name,), (why,) = balance.followed(books, [round(6 * MIN)])
    assert (name, why) == ("not watched", "tripping without a trip in the log: begin one on the Trip page")


def test_a_casing_run_goes_by_the_catalogue_and_says_casing() -> None:
    """13 3/8 in 61 lb/ft: 13.375² − 12.515² over 1029.4142 is 0.021628 bbl/ft of steel, its bore 0.152145; closed, 16.16 bbl for 93 ft."""
    books = booked(*start(), begins(5, "in", 0.0, pipe="13 3/8 casing 61"), *pulled(2, -16.161, way="in"))
    assert books.activities.at(6 * MIN)[0] == "casing"
    assert [x.expected_m3 / BBL for x in sheet_of(books, books.trips[0])[0]] == pytest.approx([-93 * 13.375**2 / 1029.4142] * 2, rel=1e-4)


def watched(*drafts: Draft) -> tuple[Transition, ...]:
    books = booked(*start(), *drafts, rig=LIMITS)
    return watch.run(books.rig.limits, observe(books))[1]


def test_a_hole_that_takes_less_raises_on_the_last_stands_and_on_the_whole() -> None:
    """0.3 bbl a stand short: the last five are 1.5 from the fifth on, 1.2 at the fourth; in all 2.7 at the ninth."""
    out = watched(begins(5), *pulled(10, DRY - 0.3))
    assert [(t.name, t.system, t.state, t.time // MIN) for t in out] == [
        ("last stands", "took less", "raised", 30), ("whole trip", "took less", "raised", 55)]
    assert out[0].text == "Trip, last stands: the hole took less (or gave back more) than it should, 0.19 m3, a sign of swab or influx, limit 0.19 m3"
    assert out[1].value / BBL == pytest.approx(2.7)


def test_a_hole_that_takes_more_raises_as_a_sign_of_losses() -> None:
    out = watched(begins(5), *pulled(5, DRY + 0.3))
    assert [(t.name, t.system, t.state) for t in out] == [("last stands", "took more", "raised")]
    assert out[0].text == "Trip, last stands: the hole took more (or gave back less) than it should, 0.19 m3, a sign of losses, limit 0.19 m3"
    assert out[0].value / BBL == pytest.approx(-1.2)


def test_the_warning_latches_and_no_activity_puts_it_off() -> None:
    """Static for a flow check doesn't loosen it; back within the deadband it is over, and stays until a person closes it."""
    short = pulled(4, DRY - 0.3)
    level = 90 - 4 * (DRY - 0.3) / INCH
    back = [row(30 + 5 * n, bit=9000 - (4 + n) * STAND_FT, stand=4 + n, Trip=level - n * (DRY + 0.3) / INCH) for n in range(1, 5)]
    out = watched(begins(5), entry("activity", 12, activity="static"), *short, *back)
    assert [(t.name, t.state) for t in out] == [("last stands", "raised"), ("last stands", "over")]


def test_a_row_that_comes_later_is_held_against_the_limit_of_each_side() -> None:
    """Learned one by one, or all at once: the same warnings."""
    books = booked(*start(), begins(5), *pulled(10, DRY - 0.3), rig=LIMITS)
    evidence = observe(books)
    memory = watch.start(books.rig.limits)
    out: list[Transition] = []
    for n in range(len(evidence)):
        memory, more = watch.step(memory, watch.Learned(n + 1, int(evidence.t_ms[n]), evidence.rows(n, n + 1)))
        out += more
    assert [(t.name, t.system, t.state, t.time) for t in out] == [
        (t.name, t.system, t.state, t.time) for t in watch.run(books.rig.limits, evidence)[1]]


def test_of_several_pumps_the_one_that_the_trip_names_fills() -> None:
    """Pump 2 gives 0.05 bbl a stroke: 14 strokes are 0.7 bbl. Named by nobody, what the hole took isn't known."""
    two = RIG + '[[pump]]\nname = "2"\noutput = "0.05 bbl"\n'
    rows = [row(10, "fill", bit=9000, strokes=0), row(15, bit=8907, stand=1, strokes=14)]
    named = booked(*start(), begins(5, tank=None, pump="2"), *rows, rig=two)
    assert sheet_of(named, named.trips[0])[0][-1].actual_m3 / BBL == pytest.approx(0.7)
    nobody = booked(*start(), begins(5, tank=None), *rows, rig=two)
    assert np.isnan(sheet_of(nobody, nobody.trips[0])[0][-1].actual_m3)


def test_a_trip_filled_by_strokes_alone_is_watched() -> None:
    """0.102 bbl a stroke: 3 strokes a stand are 0.306, 0.39987 short of 0.70587; three such stands stay just within 1.2 bbl."""
    rows = [row(10, "fill", bit=9000, strokes=0), *(row(10 + 5 * n, bit=9000 - n * STAND_FT, stand=n, strokes=3) for n in range(1, 5))]
    out = watched(begins(5, tank=None), *rows)
    assert [(t.name, t.system, t.state, t.time // MIN) for t in out] == [("last stands", "took less", "raised", 30)]
    assert out[0].value / BBL == pytest.approx(4 * (DRY - 0.306))
