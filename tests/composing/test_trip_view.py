"""What the Trip page is given: rows, the next stand, prompts, hold points, the trip before, the head. Invented."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from dipbook import composing
from dipbook.books import Books
from dipbook.composing.trip_view import preview, trip_view
from dipbook.records import Draft
from dipbook.situation import TripView
from dipbook.trips import Row
from ledgers import BBL, FT, IN, MIN, RIG, booked, dips, entry
from tripped import DRY, INCH, LIMITS, STAND_FT, begins, pulled, row, start

WELL = LIMITS + """
[[string]]
name = "collars"
pipe = "collar 8 x 2 13/16"
length = "600 ft"
[[string]]
name = "drill pipe"
steel = "0.00759 bbl/ft"
bore = "0.01776 bbl/ft"
[[section]]
name = "casing"
kind = "casing"
bottom = "8700 ft"
diameter = "12.415 in"
[[section]]
name = "hole"
kind = "open hole"
bottom = "9800 ft"
diameter = "12.25 in"
"""


def books(*drafts: Draft, rig: str = WELL) -> Books:
    return booked(*start(), *drafts, rig=rig)


def view(*drafts: Draft, minute: float = 200, rig: str = WELL, units: dict[str, str] | None = None) -> TripView:
    found = trip_view(books(*drafts, rig=rig), round(minute * MIN), units or {})
    assert found is not None
    return found


def test_nothing_before_the_first_trip() -> None:
    assert trip_view(books(), 10 * MIN, {}) is None
    assert trip_view(books(begins(50)), 10 * MIN, {}) is None
    assert composing.picture(composing.seen(books()), 10 * MIN).trip is None


def test_the_rows_and_what_comes_next() -> None:
    """0.70587 bbl a stand; the stick stands at 89.4 in and should read 89.406 − 0.198 in after the next one."""
    v = view(begins(5, number="3"), *pulled(3, DRY - 0.1))
    assert v.title == "Trip 3, out of the hole, dry"
    assert [(r.what, r.stand, None if r.bit_m is None else round(r.bit_m / FT)) for r in v.rows] == [
        ("fill", None, None), ("stand", 1, 8907), ("stand", 2, 8814), ("stand", 3, 8721)]
    assert [r.difference_m3 / BBL for r in v.rows[1:]] == pytest.approx([0.1] * 3)
    assert v.rows[-1].levels == (("Trip", f"{90 - 3 * (DRY - 0.1) / INCH} in"),)
    assert v.rows[-1].pace_ms == 5 * MIN
    assert v.total_m3 / BBL == pytest.approx(0.3)
    assert (v.next_what, v.next_stand, v.next_bit_m / FT) == ("stand", 4, pytest.approx(8628))
    assert v.next_due_m3 / BBL == pytest.approx(DRY)
    assert v.next_dip == ("Trip", pytest.approx((90 - (3 * (DRY - 0.1) + DRY) / INCH) * IN))
    assert v.tanks == ("Trip",)


def test_before_the_first_level_a_reading_is_due_and_nothing_is_told() -> None:
    v = view(begins(5))
    assert (v.next_what, v.total_m3, v.rows, v.next_dip, v.next_stand) == ("fill", None, (), None, 1)
    assert v.next_bit_m / FT == pytest.approx(8907)


def test_stands_count_down_where_they_did() -> None:
    rows = [row(10, "fill", Trip=90), row(15, bit=8907, stand=97, Trip=89.8), row(20, bit=8814, stand=96, Trip=89.6)]
    assert view(begins(5), *rows).next_stand == 95


def test_a_stand_without_a_depth_leaves_the_next_depth_unknown() -> None:
    rows = [row(10, "fill", Trip=90), row(15, Trip=89.8)]
    v = view(begins(5), *rows)
    assert (v.next_bit_m, v.next_due_m3, v.next_dip) == (None, None, None)


def test_flow_checks_are_due_off_bottom_at_the_shoe_and_before_the_bha() -> None:
    """Shoe at 8700 ft; the collars' 600 ft are the BHA. Two stands are 186 ft, one is 93."""
    v = view(begins(5), row(10, "fill", Trip=90))
    assert [(p.place, round(p.bit_m / FT), p.state) for p in v.prompts] == [
        ("off bottom", 9000, "due"), ("at the shoe", 8700, "ahead"), ("before the BHA", 600, "ahead")]
    check = entry("flow check", 7, 9, result="static", seen_by="A", place="off bottom")
    v = view(begins(5), check, *pulled(3, DRY))
    assert [(p.state, p.result) for p in v.prompts] == [("done", "static"), ("due", ""), ("ahead", "")]
    at_shoe = entry("flow check", 27, 30, result="flowing", seen_by="A", place="shoe")
    v = view(begins(5), check, *pulled(3, DRY), at_shoe, row(31, bit=700, Trip=80))
    assert [(p.state, p.result) for p in v.prompts] == [("done", "static"), ("done", "flowing"), ("ahead", "")]
    v = view(begins(5), check, *pulled(3, DRY), row(31, bit=650, Trip=80))
    assert [p.state for p in v.prompts] == ["done", "due", "due"]


def test_running_in_the_shoe_is_checked_before_open_hole() -> None:
    rows = [row(10, "fill", Trip=40), row(15, bit=8500, Trip=60), row(20, bit=8650, Trip=62)]
    assert [(p.place, p.state) for p in view(begins(5, "in", 0.0), *rows[:2]).prompts] == [("at the shoe", "ahead")]
    assert [(p.place, p.state) for p in view(begins(5, "in", 0.0), *rows).prompts] == [("at the shoe", "due")]


def test_a_limit_passed_is_a_hold_point_until_somebody_says_what_was_decided() -> None:
    short = pulled(5, DRY - 0.3)
    (hold,) = view(begins(5), *short).holds
    assert hold.text == ("The hole took 1.2 bbl less than it should over the last 5 rows, limit 1.2 bbl: a sign of swab or influx. "
                         "Stop, flow-check, and act as the rig's own procedures say.")
    assert hold.decided == ""
    (hold,) = view(begins(5), *short, entry("trip decision", 36, action="flow check, static", decided_by="T. Example")).holds
    assert hold.decided == "18:36 Decided by T. Example: flow check, static"


def test_the_previous_trip_is_the_last_of_the_same_direction_way_and_string() -> None:
    first = [begins(5, number="1"), *pulled(4, DRY - 0.1), entry("trip end", 31)]
    into = [begins(40, "in", 8628.0), row(41, "fill", Trip=80), row(45, bit=8721, Trip=80.7), entry("trip end", 46)]
    again = [begins(50, number="2", bit=8721.0), row(51, "fill", Trip=80), row(55, bit=8628, Trip=79.8)]
    v = view(*first, *into, *again)
    assert v.previous.startswith("Trip 1, out of the hole, dry, ")
    assert [x / BBL for x in v.previous_m3] == pytest.approx([0.1, 0.2, 0.3, 0.4])
    assert [x / FT for x in v.previous_bit_m] == pytest.approx([8907, 8814, 8721, 8628])
    wet = [replace(again[0], payload={**again[0].payload, "pulled": "wet"}), *again[1:]]
    assert view(*first, *into, *wet).previous == ""


def test_the_head_says_what_was_said_and_what_nobody_said() -> None:
    head = dict(view(begins(5, number="3", purpose="bit change", bottoms_up="circulated", gas_percent=1.5, density_in_kg_m3=12 * 119.8264273)).head)
    assert head["Purpose"] == "bit change"
    assert head["Mud weight in"] == "12.0 lbm/gal[US]"
    assert head["Mud weight out"] == "not said"
    assert head["Bottoms-up"] == "circulated"
    assert head["Gas"] == "1.5 %"
    assert head["Shoe"] == "8700.0 ft"
    assert head["Inside at surface"] == "12.415 in"
    assert head["Displacements"] == ("collars steel 0.05449, bore 0.00768; drill pipe steel 0.00759, bore 0.01776 bbl/ft "
                                     "(rig file, [[string]])")
    assert head["Trip tank"] == "Trip: 3.56 bbl for 1 in; stick and sensor not compared in this log"
    assert head["Slug"] == "none in the log"


def test_a_signed_end_is_in_the_head() -> None:
    v = view(begins(5), *pulled(2, DRY), entry("trip end", 30, signed="A. Example"))
    assert v.ended_ms == 30 * MIN
    assert dict(v.head)["Signed"] == "A. Example"


def test_what_is_to_be_posted_wants_the_mud_weight() -> None:
    assert "mud weight in wasn't given" in view(begins(5)).posted_findings[0]
    v = view(begins(5, density_in_kg_m3=12 * 119.8264273))
    assert v.posted[0].startswith("Between two fills, collars: 2 stands")
    assert v.posted_findings[0].startswith("The rig file holds no rule")
    assert view(begins(5, "in", 0.0)).posted == ()


def test_out_of_the_hole_counts_from_the_row_that_came_to_surface() -> None:
    rows = [row(10, "fill", Trip=90), row(15, bit=93, Trip=80), row(20, bit=0, Trip=79), row(30, "fill", Trip=79.1)]
    assert view(begins(5), *rows).out_of_hole_ms == 20 * MIN
    assert view(begins(5), *rows[:2]).out_of_hole_ms is None
    assert view(begins(5), *rows, row(40, bit=93, Trip=79.9)).out_of_hole_ms is None


def test_stands_without_a_reading_are_stands_unfilled_until_the_hole_is_filled() -> None:
    """12.415 in casing, 0.149727 bbl/ft; three stands of 0.70587 bbl over 0.149727 − 0.00759 are 14.9 ft, at 12 lb/gal 9.29 psi.
    The reference allows five stands of pipe."""
    at = [row(10, "fill", Trip=90), *(row(10 + 5 * n, bit=9000 - STAND_FT * n, stand=n) for n in range(1, 6))]
    begin = begins(5, density_in_kg_m3=12 * 119.8264273)
    assert view(begin, *at[:1]).unfilled == ""
    v = view(begin, *at[:4])
    assert (v.unfilled, v.fill_due) == ("3 stands without a fill or a reading; unfilled the level is 15 ft down, 9 psi lost; posted for "
                                        "drill pipe: 5", False)
    assert view(begin, *at).fill_due
    assert view(begin, *at, row(40, "fill", Trip=86)).unfilled == ""
    assert view(begins(5, "in", 0.0), row(10, "fill", Trip=40), row(15, bit=93, stand=1)).unfilled == ""


def test_pulled_wet_more_is_lost_and_without_the_mud_weight_no_pressure_is_told() -> None:
    """2.35755 bbl a stand over 0.149727 − 0.02535: 19.0 ft."""
    v = view(begins(5, pulled="wet"), row(10, "fill", Trip=90), row(15, bit=8907, stand=1))
    assert (v.unfilled, v.fill_due) == ("1 stand without a fill or a reading; unfilled the level is 19 ft down", False)


def test_limits_and_no_limits() -> None:
    v = view(begins(5))
    assert (v.limit_last_m3 / BBL, v.limit_total_m3 / BBL) == pytest.approx((1.2, 2.5))
    bare = view(begins(5), rig=RIG)
    assert (bare.limit_last_m3, bare.limit_total_m3) == (None, None)


def typed(minute: float, **other: Any) -> Row:
    return Row(round(minute * MIN), **{"kind": "stand", **other})


def test_a_row_being_typed_comes_to_what_it_would_once_logged() -> None:
    b = books(begins(5), *pulled(3, DRY))
    level = (90 - (3 * DRY + 0.5) / INCH) * IN
    seen = preview(b, typed(40, stand=4, bit_m=8628 * FT, levels_m={"Trip": level}), (("Trip", "as typed"),))
    assert seen is not None
    assert (seen.expected_m3 / BBL, seen.actual_m3 / BBL, seen.difference_m3 / BBL) == pytest.approx((DRY, 0.5, DRY - 0.5))
    logged = trip_view(books(begins(5), *pulled(3, DRY), row(40, bit=8628, stand=4, Trip=level / IN)), 60 * MIN, {})
    assert logged is not None
    assert seen.cumulative_m3 == pytest.approx(logged.rows[-1].cumulative_m3)
    assert preview(books(), typed(40), ()) is None


def test_a_row_being_corrected_takes_its_own_place() -> None:
    b = books(begins(5), *pulled(3, DRY), row(40, bit=8628, stand=4, uid="wrong", Trip=90 - 3 * DRY / INCH))
    level = (90 - 4 * DRY / INCH) * IN
    seen = preview(b, typed(40, stand=4, bit_m=8628 * FT, levels_m={"Trip": level}), (), replaces="wrong")
    assert seen is not None
    assert seen.cumulative_m3 == pytest.approx(0.0, abs=1e-9)


def test_a_round_between_rows_changes_nothing_of_the_sheet() -> None:
    rows = pulled(4, DRY)
    with_round = view(begins(5), *rows, dips(22, Settling=60, Suction=60, Trip=90 - 2 * DRY / INCH))
    assert [r.cumulative_m3 for r in with_round.rows] == [r.cumulative_m3 for r in view(begins(5), *rows).rows]
