"""A trip in the log: its sheet, the books and the watch follow it. Invented; worked by hand in the comments.

Pipe 0.00759 and 0.01776 bbl/ft (steel, bore), stands of 93 ft: 0.70587 bbl dry, 2.35755 wet. The trip tank is a box of 30 x 8 ft,
3.5620 bbl an inch.
"""

from __future__ import annotations

from dataclasses import replace
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


TWO = RIG + """
[[tank]]
name = "Trip 2"
role = "trip"
active = false
order = 5
gauge = "up"
dip_error = "1/4 in"
brim = "9 ft"
[tank.shape]
kind = "box"
length = "30 ft"
width = "8 ft"
height = "9 ft"
"""


def last_sum(books: Books) -> float:
    return float(sheet_of(books, books.trips[-1])[0][-1].cumulative_m3) / BBL


def test_a_level_of_a_tank_that_is_no_trip_tank_breaks_nothing_and_counts_for_nothing() -> None:
    """A row that gives a level of Suction besides, and one of Suction alone."""
    rows = [row(10, "fill", Trip=90, Suction=60), row(15, bit=8907, stand=1, Trip=90 - DRY / INCH, Suction=60),
            row(20, bit=8814, stand=2, Suction=60), row(25, bit=8721, stand=3, Trip=90 - 3 * DRY / INCH)]
    books = booked(*start(), begins(5), *rows, rig=LIMITS)
    assert last_sum(books) == pytest.approx(0.0, abs=1e-6)
    assert watch.run(books.rig.limits, observe(books))[1] == ()


def test_each_trip_warns_for_itself_though_the_one_before_was_acknowledged() -> None:
    """Trip 1 is 3 bbl short and acknowledged; it is over with its trip, and trip 2's own 2.7 bbl sound again."""
    first = [begins(5), *pulled(10, DRY - 0.3), entry("trip end", 62)]
    again = [begins(70, "in", 8070.0), row(71, "fill", Trip=80), *(row(75 + 5 * n, bit=8070 + STAND_FT * n, stand=n,
                                                                       Trip=80 + n * (CLOSED + 0.3) / INCH) for n in range(1, 10))]
    books = booked(*start(), *first, *again, rig=LIMITS)
    evidence = observe(books)
    memory, raised = watch.start(books.rig.limits), list[Transition]()
    for n, t in enumerate(evidence.t_ms.tolist()):
        memory, out = watch.step(memory, watch.Learned(n + 1, t, evidence.rows(n, n + 1)))
        raised += out
        for tr in [tr for tr in out if tr.state == "raised"]:
            memory, _ = watch.step(memory, watch.Act("acknowledge", tr.occurrence, by="A", at_ms=t + 1))
    whole = [(tr.time // MIN, tr.state, tr.sounds) for tr in raised if tr.name == "whole trip"]
    assert whole == [(55, "raised", True), (62, "over_acknowledged", False), (120, "raised", True)]
    over = next(tr for tr in raised if tr.name == "whole trip" and tr.state == "over_acknowledged")
    assert over.text == ("Trip, in all: the hole took less (or gave back more) than it should: over: the trip is over, had been 0.48 m3, "
                         "limit 0.40 m3, to be closed with a note")


def test_a_warning_can_be_closed_once_its_trip_was_struck_out() -> None:
    """Struck out whole, the trip's rows tell nothing: what they had raised is over, and waits for a note."""
    books = booked(*start(), begins(5, uid_="x"), *pulled(10, DRY - 0.3), rig=LIMITS)
    gone = Draft("void", 70 * MIN, 70 * MIN, author="T", supersedes=books.trips[0].head.uid, reason="not a trip")
    after = booked(*start(), begins(5, uid_="x"), *pulled(10, DRY - 0.3), gone, rig=LIMITS)
    sums = observe(after).trip["trip_total"]
    assert after.trips == ()
    assert set(sums[np.isfinite(sums)].tolist()) == {0.0}


def test_a_trip_begun_again_the_same_way_goes_on_with_its_sums() -> None:
    """Saved twice, or wet from here on: 14 stands of 0.3 short are 4.2 bbl, not two sums of 2.1."""
    rows = pulled(14, DRY - 0.3)
    books = booked(*start(), begins(5), *rows[:8], begins(46, bit=9000 - 7 * STAND_FT), *rows[8:], rig=LIMITS)
    assert len(books.trips) == 1
    assert last_sum(books) == pytest.approx(4.2)
    assert "trip_goes_on" in {f.code for f in books.findings}
    wet = [row(50 + 5 * n, bit=9000 - (7 + n) * STAND_FT, stand=7 + n, Trip=90 - (7 * DRY + n * CLOSED) / INCH) for n in range(1, 4)]
    changed = booked(*start(), begins(5), *pulled(7, DRY), begins(46, bit=9000 - 7 * STAND_FT, pulled="wet"), *wet)
    assert last_sum(changed) == pytest.approx(0.0, abs=1e-6)
    assert difference(changed, 65, ALL_SURFACE) == pytest.approx(0.0, abs=1e-6)


def test_a_trip_begun_at_the_last_row_s_very_moment_keeps_its_returns() -> None:
    """Trip 2's returns go to its tank though trip 1's last stand was logged at the moment it began."""
    rows = pulled(2, DRY)
    into = [row(25 + 5 * n, bit=8814 + n * STAND_FT, stand=n, Trip=90 + (n * (CLOSED + 1.0) - 2 * DRY) / INCH) for n in range(1, 4)]
    books = booked(*start(), begins(5), *rows, begins(20, "in", 8814.0), *into)
    assert balance.followed(books, [40 * MIN])[0] == ("Trip",)
    assert "trip_by_another" in {f.code for f in books.findings}


def test_pipe_filled_by_the_pumps_is_taken_from_the_active_tanks_and_once() -> None:
    """Six stands on a closed float, pumps on from Suction fill 9.91 bbl of bore; a row that says so too books nothing more."""
    bore = 6 * STAND_FT * 0.01776
    level = 90 + 6 * CLOSED / INCH
    pumped = [entry("pumps", 41, state="on", flow=420), entry("pumps", 44, state="off")]
    there = dips(46, Settling=60, Suction=60 - bore / INCH, Reserve=40, Trip=level)
    rig = RIG.replace('at = [["300 gal[US]/min", "20 bbl"]]', 'at = [["300 gal[US]/min", "0.01 bbl"]]')
    for said in ((), (row(45, "pipe filled", source="Suction", Trip=level),)):
        books = booked(*start(), begins(5, "in", 0.0), *pulled(6, -CLOSED, way="in"), *pumped, *said, there, rig=rig)
        assert [difference(books, 46, name) for name in ("active", "Trip", ALL_SURFACE)] == pytest.approx([0.0] * 3, abs=0.03)


def test_stands_counted_by_number_move_the_bit_of_the_books_too() -> None:
    rows = [row(10, "fill", bit=9000, stand=0, Trip=90), *(row(10 + 5 * n, stand=n, Trip=90 - n * DRY / INCH) for n in range(1, 6))]
    books = booked(*start(), begins(5), *rows, entry("trip end", 40), entry("depth", 45, bit=9000 - 5 * STAND_FT),
                   dips(46, Settling=60, Suction=60, Reserve=40, Trip=90 - 5 * DRY / INCH))
    assert difference(books, 46, ALL_SURFACE) == pytest.approx(0.0, abs=1e-6)
    assert balance.at(books, [46 * MIN], ALL_SURFACE).terms["steel"][0] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(("way", "numbers", "each"), [("in", (1, 2, 3), -CLOSED), ("out", (97, 96, 95), DRY), ("out", (1, 2, 3), DRY)])
def test_counted_stands_go_the_way_of_the_trip_whichever_way_their_numbers_go(way: str, numbers: tuple[int, ...], each: float) -> None:
    begin = 9000.0 if way == "out" else 4000.0
    rows = [row(10, "fill", bit=begin, stand=numbers[0] - (numbers[1] - numbers[0]), Trip=60),
            *(row(15 + 5 * n, stand=k, Trip=60 - (n + 1) * each / INCH) for n, k in enumerate(numbers))]
    books = booked(*start(), begins(5, way, begin), *rows)
    assert [x.expected_m3 / BBL for x in sheet_of(books, books.trips[0])[0]] == pytest.approx([each] * 3)


@pytest.mark.parametrize(("described", "back"), [('float = "closed"', (-CLOSED, -CLOSED)), ('float = "open"', (-DRY, -DRY)), ("", (-CLOSED, -DRY))])
def test_back_down_on_a_trip_out_goes_by_the_rig_s_float(described: str, back: tuple[float, float]) -> None:
    rig = RIG.replace('float = "closed"\n', described + "\n" if described else "")
    rows = [row(10, "fill", Trip=90), row(15, bit=8907, stand=1, Trip=90 - DRY / INCH), row(20, bit=9000, stand=0, Trip=90)]
    books = booked(*start(), begins(5), *rows, rig=rig)
    line = sheet_of(books, books.trips[0])[0][-1]
    assert (line.least_m3 / BBL, line.most_m3 / BBL) == pytest.approx(back)


def test_readings_without_a_move_push_no_stand_out_of_the_last_five() -> None:
    """Four stands of 0.3 short, then six readings of a flow check: 1.2 bbl all along."""
    still = [row(31 + n, "flow check", Trip=90 - 4 * (DRY - 0.3) / INCH) for n in range(6)]
    books = booked(*start(), begins(5), *pulled(4, DRY - 0.3), *still)
    assert [x.last_n_m3 / BBL for x in sheet_of(books, books.trips[0])[0]] == pytest.approx([0.3, 0.6, 0.9, *[1.2] * 7])


def test_stands_without_a_level_are_no_readings_of_the_balance() -> None:
    """Read at every fifth stand: nothing is compared in between, and no gain is read from pipe that moved unread."""
    rows = [row(10, "fill", Trip=90), *(row(10 + 5 * n, bit=9000 - STAND_FT * n, stand=n) for n in range(1, 5)),
            row(35, bit=9000 - STAND_FT * 5, stand=5, Trip=90 - 5 * DRY / INCH)]
    books = booked(*start(), begins(5), *rows, rig=LIMITS.replace("[hole]", GAIN + "[hole]"))
    evidence = observe(books)
    assert [round(t / MIN) for t in evidence.t_ms[np.isfinite(evidence.difference["watched"])].tolist()] == [0, 10, 35]
    assert watch.run(books.rig.limits, evidence)[1] == ()


GAIN = """[[limit]]
name = "gain"
kind = "gain"
on = "watched"
activity = "any"
value = "1 bbl"
deadband = "0.5 bbl"
growth = "1 bbl"
after = "1 reading"
set_by = "crew"
reason = "test"
since = "2026-01-01"
"""


def test_changed_over_to_the_other_trip_tank_the_returns_are_followed_there() -> None:
    """Three stands from Trip, then three from Trip 2, the last of which takes 1 bbl less."""
    over = [row(26, "fill", **{"Trip 2": 80}), *(row(26 + 5 * n, bit=9000 - (3 + n) * STAND_FT, stand=3 + n, **{
        "Trip 2": 80 - (n * DRY - (1.0 if n == 3 else 0.0)) / INCH}) for n in range(1, 4))]
    books = booked(dips(0, Settling=60, Suction=60, Reserve=40, Trip=90, **{"Trip 2": 80}), *start()[1:], begins(5), *pulled(3, DRY), *over, rig=TWO)
    assert balance.followed(books, [30 * MIN])[0] == ("Trip 2",)
    assert last_sum(books) == pytest.approx(1.0)
    assert difference(books, 41, "Trip 2") == pytest.approx(1.0)
    assert difference(books, 41, "Trip") == pytest.approx(0.0, abs=1e-6)


def test_a_refill_logged_as_a_transfer_is_no_mud_that_the_hole_gave_back() -> None:
    """17.81 bbl from Reserve between two stands: the sheet takes it off; a refill row beside it books nothing twice."""
    level = 90 - 3 * DRY / INCH
    moved = entry("transfer", 27, from_="Reserve", to="Trip", volume=5 * INCH)
    on = row(30, bit=9000 - 4 * STAND_FT, stand=4, Trip=level + 5 - DRY / INCH)
    books = booked(*start(), begins(5), *pulled(3, DRY), moved, on)
    assert last_sum(books) == pytest.approx(0.0, abs=1e-6)
    both = booked(*start(), begins(5), *pulled(3, DRY), moved, row(28, "refill", source="Reserve", Trip=level + 5), on,
                  dips(31, Settling=60, Suction=60, Reserve=35, Trip=level + 5 - DRY / INCH))
    assert last_sum(both) == pytest.approx(0.0, abs=1e-6)
    assert difference(both, 31, ALL_SURFACE) == pytest.approx(0.0, abs=1e-6)


def test_a_level_corrected_before_a_refill_corrects_what_the_refill_brought() -> None:
    level = 90 - 2 * DRY / INCH
    rows = [row(10, "fill", Trip=90), row(15, bit=8907, stand=1, Trip=90 - DRY / INCH), row(20, bit=8814, stand=2, uid="wrong", Trip=level + 2),
            row(22, "refill", source="Reserve", Trip=level + 10)]
    right = row(20, bit=8814, stand=2, uid="right", supersedes="wrong", Trip=level)
    books = booked(*start(), begins(5), *rows, right, dips(30, Settling=60, Suction=60, Reserve=30, Trip=level + 10))
    assert difference(books, 30, ALL_SURFACE) == pytest.approx(0.0, abs=1e-6)
    assert difference(books, 30, "Trip") == pytest.approx(0.0, abs=1e-6)


def test_a_depth_logged_after_the_end_in_its_minute_is_booked_and_one_before_the_beginning_is_not_the_trip_s() -> None:
    books = booked(*start(), begins(5), *pulled(2, DRY), entry("trip end", 30), entry("depth", 30, bit=8700))
    assert balance.at(books, [31 * MIN], ALL_SURFACE).terms["steel"][0] / BBL == pytest.approx(0.00759 * (8700 - 8814))


def test_a_slug_s_dry_length_stands_through_the_trip_and_is_filled_by_the_pumps_after_it() -> None:
    """A wiper trip after a slug of 20 bbl, 14 against 12 lb/gal: 3.33 bbl came back, and the pumps take them back."""
    slug = entry("slug", 2, from_="Reserve", volume=20, density=14, mud_density=12, return_=0)
    rig = RIG.replace('at = [["300 gal[US]/min", "20 bbl"]]', 'at = [["300 gal[US]/min", "0.01 bbl"]]')
    rows = [row(10, "fill", Trip=90), row(15, bit=8907, stand=1, Trip=90 - DRY / INCH)]
    books = booked(*start(), slug, begins(5), *rows, entry("trip end", 20), entry("pumps", 25, state="on", flow=420), rig=rig)
    before, after = (balance.at(books, [m * MIN], ALL_SURFACE).terms["bore"][0] / BBL for m in (24, 30))
    assert before == pytest.approx(20 * 2 / 12)
    assert after == pytest.approx(0.0, abs=1e-6)


def test_struck_out_dips_are_off_the_sheet() -> None:
    strike = Draft("void", 20 * MIN, 40 * MIN, author="T", payload={"tank": "Trip", "end_ms": 20 * MIN}, reason="misread")
    rows = pulled(3, DRY)
    wrong = row(20, bit=8814, stand=2, Trip=60)
    books = booked(*start(), begins(5), rows[0], rows[1], wrong, rows[3], strike)
    lines = sheet_of(books, books.trips[0])[0]
    assert [round(x.row.t_ms / MIN) for x in lines] == [15, 25]
    assert lines[-1].expected_m3 / BBL == pytest.approx(2 * DRY)


def test_no_strokes_are_none_whichever_pump_and_strokes_beside_a_trip_tank_come_from_the_active() -> None:
    """10 strokes of 0.102 bbl into the hole beside the trip tank, which gives the rest."""
    two = RIG + '[[pump]]\nname = "2"\noutput = "0.05 bbl"\n'
    none = [row(10, "fill", Trip=90, strokes=0), row(15, bit=8907, stand=1, Trip=90 - DRY / INCH, strokes=0)]
    assert last_sum(booked(*start(), begins(5), *none, rig=two)) == pytest.approx(0.0, abs=1e-6)
    some = [row(10, "fill", Trip=90), row(15, bit=8907, stand=1, Trip=90 + (1.02 - DRY) / INCH, strokes=10)]
    books = booked(*start(), begins(5), *some, dips(16, Settling=60, Suction=60 - 1.02 / INCH, Trip=90 + (1.02 - DRY) / INCH))
    assert last_sum(books) == pytest.approx(0.0, abs=1e-6)
    assert [difference(books, 16, name) for name in ("active", "Trip", ALL_SURFACE)] == pytest.approx([0.0] * 3, abs=1e-6)


def test_pumps_on_in_mid_trip_say_where_the_returns_are_looked_for() -> None:
    on = entry("pumps", 20, state="on", flow=300)
    assert "trip_circulated" in {f.code for f in booked(*start(), begins(5), on).findings}
    line = entry("line-up", 19, tank="flow line", to="active")
    assert "trip_circulated" not in {f.code for f in booked(*start(), begins(5), line, on).findings}


def test_rows_after_a_stray_drilling_are_still_the_trip_s() -> None:
    rows = pulled(4, DRY)
    books = booked(*start(), begins(5), *rows[:3], entry("activity", 22, activity="drilling"), *rows[3:])
    assert [len(t.rows) for t in books.trips] == [5]
    assert books.trips[0].end_ms is None
    assert last_sum(books) == pytest.approx(0.0, abs=1e-6)


def test_a_bit_deeper_than_the_string_is_a_finding() -> None:
    short = RIG + '[[string]]\nname = "pipe"\nkind = "drill pipe"\nsteel = "0.00759 bbl/ft"\nbore = "0.01776 bbl/ft"\nlength = "8700 ft"\n'
    books = booked(*start(), begins(5), *pulled(2, DRY), rig=short)
    assert "trip_move_unknown" in {f.code for f in books.findings}


def test_what_the_rows_ask_for_is_worked_out_once_for_a_rig_and_anew_for_other_rows() -> None:
    books = booked(*start(), begins(5), *pulled(6, DRY))
    trip, rig = books.trips[0], books.rig_at(round(5 * MIN))
    first = trip.steps(rig)
    assert trip.steps(rig) is first
    assert first == replace(trip).steps(rig)
    shorter = replace(trip, rows=trip.rows[:3])
    assert shorter.steps(rig) == first[:4]
    assert rig.pipe is not None
    lighter = replace(rig, pipe=replace(rig.pipe, steel=rig.pipe.steel / 2))
    assert trip.steps(lighter) != first
    assert trip.steps(rig) is first
    ahead = trip.sheet_rows(rig)[-1]
    assert len(trip.steps(rig, replace(ahead, bit_m=ahead.bit_m - 28.0))) == len(first) + 1
    assert trip.steps(rig) is first
