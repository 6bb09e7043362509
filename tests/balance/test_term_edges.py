"""The terms at awkward moments: pumps, pipe bore, drain-back, cuttings and rates, each worked by hand.

Pipe: d 0.00759 and c 0.01776 bbl/ft, stand 93 ft. Hole 0.1458 bbl/ft, annulus 250 bbl. Lines 20 bbl at 300 gal/min,
falling 60 s, rising 40 s. 300 gal/min is 300/42 = 7.1429 bbl/min.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from dipbook import balance
from dipbook.books.curve import Ramp, from_ramps
from dipbook.records import Draft
from ledgers import BBL, GPM, MIN, RIG, booked, dips, entry, in_bbl, minutes, rig_draft

INCH = 240 / 12 * 1728 / 9702
Ls, d, c, Ch = 93.0, 0.00759, 0.01776, 0.1458
BPM = 300 / 42
START = dips(0, Settling=60, Suction=60, Reserve=50, Trip=30)
PUMPING = entry("pumps", -60, state="on", flow=300)
DEPTH = entry("depth", -1, hole=5000, bit=5000)
TWO_PUMPS = RIG.replace("[hole]", '[[pump]]\nname = "2"\noutput = "0.102 bbl"\n[hole]')


def zero(minute: float = 0, length: float = 0.0) -> Draft:
    return entry("zero", minute, length=length, reason="start of tour")


def term(books: Any, name: str, *at: float, of: str = "active") -> Any:
    return in_bbl(balance.at(books, minutes(*at), of).terms[name])


def codes(books: Any) -> set[str]:
    return {f.code for f in balance.findings(books)}


def flow(books: Any, minute: float) -> tuple[bool | None, float | None]:
    on, q = books.pumps.at(minutes(minute)[0])
    return on, None if q is None else round(q / GPM, 6)


# --- pumps ----------------------------------------------------------------------------------------------------------

def test_pumps_by_name_add_up_and_stop_one_by_one() -> None:
    """60 spm × 0.102 bbl = 6.12 bbl/min = 257.04 gal/min each."""
    books = booked(START, zero(), entry("pumps", 1, state="on", pump="1", spm=60), entry("pumps", 2, state="on", pump="2", spm=60),
                   entry("pumps", 3, state="off", pump="1"), entry("pumps", 4, state="off", pump="1"),
                   entry("pumps", 5, state="off", pump="2"), rig=TWO_PUMPS)
    assert [flow(books, m) for m in (1, 2, 3, 4, 5)] == [(True, 257.04), (True, 514.08), (True, 257.04), (True, 257.04), (False, 0.0)]


def test_the_flow_of_all_pumps_and_the_pumps_by_name_are_not_added_up() -> None:
    """Both in one import row, 257 and 60 spm; then the spm alone moves to 61: 61 × 0.102 × 42 = 261.324, not 518."""
    books = booked(START, zero(), entry("pumps", 1, state="on", flow=257), entry("pumps", 1, state="on", pump="1", spm=60),
                   entry("pumps", 2, state="on", pump="1", spm=61), entry("pumps", 3, state="off", pump="1"))
    assert [flow(books, m) for m in (1, 2, 3)] == [(True, 257.0), (True, 261.324), (False, 0.0)]


def test_one_pump_changed_after_the_flow_of_all_leaves_the_flow_unknown_and_the_pumps_on() -> None:
    """600 gal/min of both, then pump 2 off: what pump 1 gives isn't known, and it isn't off."""
    books = booked(START, zero(), entry("pumps", 1, state="on", flow=600), entry("pumps", 2, state="off", pump="2"),
                   entry("pumps", 3, state="off"), rig=TWO_PUMPS)
    assert [flow(books, m) for m in (1, 2, 3)] == [(True, 600.0), (True, None), (False, 0.0)]
    assert "flow_unknown" in codes(books)


def test_a_named_pump_off_is_not_all_pumps_off_where_the_flow_of_all_was_more() -> None:
    """Pump 1 at 60 spm, then 600 gal/min of all: 343 of it come from elsewhere, and go on when pump 1 stops."""
    books = booked(START, zero(), entry("pumps", 1, state="on", pump="1", spm=60), entry("pumps", 2, state="on", flow=600),
                   entry("pumps", 3, state="off", pump="1"), rig=TWO_PUMPS)
    assert flow(books, 3) == (True, None)


def test_once_every_pump_is_told_by_name_the_flow_is_known_again() -> None:
    books = booked(START, zero(), entry("pumps", 1, state="on", flow=600), entry("pumps", 2, state="off", pump="2"),
                   entry("pumps", 3, state="on", pump="1", spm=60), rig=TWO_PUMPS)
    assert flow(books, 3) == (True, 257.04)


# --- pipe bore ------------------------------------------------------------------------------------------------------

def test_refilling_a_dry_string_stops_when_the_pumps_stop_and_goes_on_when_they_start() -> None:
    """930 ft run dry: 16.517 bbl. At 7.1429 bbl/min it takes 2.3124 min; pumps on for 1 min only take back 7.1429."""
    dry = 930 * c
    books = booked(entry("pumps", -60, state="off"), entry("depth", -1, hole=5000, bit=4000), START, zero(),
                   entry("depth", 10, bit=4930), entry("pumps", 20, state="on", flow=300), entry("pumps", 21, state="off"),
                   entry("pumps", 40, state="on", flow=150))
    assert term(books, "bore", 10, 20.5, 21, 39, 41, 60) == pytest.approx(
        [dry, dry - BPM / 2, dry - BPM, dry - BPM, dry - 1.5 * BPM, 0], abs=1e-5)


def test_pipe_raised_while_the_string_is_being_refilled() -> None:
    """930 ft dry, pumps on for a minute, then 93 ft pulled: −c·93, of what is dry. The rest is taken back: −c·930 in all
    since it was run dry, and 93 ft less of steel."""
    books = booked(entry("pumps", -60, state="off"), entry("depth", -1, hole=5000, bit=4000), START, zero(),
                   entry("depth", 10, bit=4930), entry("pumps", 20, state="on", flow=300), entry("depth", 21, bit=4837))
    assert term(books, "bore", 21, 60) == pytest.approx([930 * c - BPM - 93 * c, 0], abs=1e-5)


def test_filling_a_dry_string_fills_its_bore_and_is_not_taken_again_by_the_pumps() -> None:
    """930 ft run dry (+16.517), then filled with 930 ft of mud (−16.517); pumps on take nothing more."""
    books = booked(entry("pumps", -60, state="off"), entry("depth", -1, hole=5000, bit=4000), START, zero(),
                   entry("depth", 10, bit=4930), entry("stand filled", 15, length=930),
                   entry("pumps", 20, state="on", flow=300), entry("depth", 30, bit=5000))
    assert term(books, "bore", 10, 16, 25, 40) == pytest.approx([930 * c, 0, 0, 0], abs=1e-9)


def test_raise_and_lower_again_leaves_nothing_whatever_the_float() -> None:
    for float_state in ('float = "closed"', 'float = "open"', ""):
        rig = RIG.replace('float = "closed"', float_state)
        for pumps in ("on", "off"):
            books = booked(entry("pumps", -60, state=pumps, **({"flow": 300} if pumps == "on" else {})), DEPTH, START,
                           zero(length=30), *[entry("depth", m, bit=5000 - 93 * k) for m, k in
                                              ((2, 1), (4, 2), (6, 1), (8, 3), (10, 0))], rig=rig)
            assert term(books, "bore", 10) == pytest.approx([0], abs=1e-9)
            assert term(books, "steel", 10) == pytest.approx([0], abs=1e-9)


def test_an_open_string_run_in_with_the_pumps_off_fills_itself_and_is_no_finding() -> None:
    books = booked(entry("pumps", -60, state="off"), entry("depth", -1, hole=5000, bit=4000), START, zero(),
                   entry("depth", 10, bit=4093), rig=RIG.replace('"closed"', '"open"'))
    assert term(books, "bore", 10) == pytest.approx([0])
    assert not {"fills_not_logged", "float_unset"} & codes(books)


def test_a_zero_takes_the_given_full_pipe_and_no_dry_bore() -> None:
    """Zero at 12 with 30 ft full above the rotary after 930 ft run dry: from there 60 ft lowered with pumps on give back
    30 ft of bore."""
    books = booked(entry("pumps", -60, state="off"), entry("depth", -1, hole=5000, bit=4000), START,
                   entry("depth", 10, bit=4930), dips(12, Settling=60, Suction=60), zero(12, length=30),
                   entry("pumps", 20, state="on", flow=300), entry("depth", 25, bit=4990))
    assert term(books, "bore", 19, 30) == pytest.approx([0, 30 * c], abs=1e-9)


# --- drain-back -----------------------------------------------------------------------------------------------------

def test_several_changes_of_the_pumps_within_seconds_follow_the_curve_piece_by_piece() -> None:
    """Off for 6 s: L = 20·e^(−0.1); on for 4 s: L = 20 − (20 − L)·e^(−0.1); off again for 60 s: L·e^(−1)."""
    books = booked(PUMPING, START, zero(), entry("pumps", 5, state="off"), entry("pumps", 5.1, state="on", flow=300),
                   entry("pumps", 5.1 + 4 / 60, state="off"), entry("pumps", 5.1 + 4 / 60, state="off"))
    first = 20 * math.exp(-0.1)
    second = 20 - (20 - first) * math.exp(-0.1)
    assert term(books, "lines", 5.1, 5.1 + 4 / 60, 6.1 + 4 / 60) == pytest.approx(
        [20 - first, 20 - second, 20 - second * math.exp(-1)], abs=1e-3)


def test_a_lower_rate_gives_back_the_difference_of_what_the_lines_hold() -> None:
    """G(300) − G(150) = 20 − 10; after one falling time constant 1 − 1/e of it."""
    books = booked(PUMPING, START, zero(), entry("pumps", 5, state="on", flow=150))
    assert term(books, "lines", 6, 60) == pytest.approx([10 * (1 - math.exp(-1)), 10])


CURVE = RIG.replace('falling = "60 s"', 'curve = [["1 min", "8 bbl"], ["4 min", "16 bbl"], ["10 min", "20 bbl"]]')


def test_the_typed_curve_is_given_back_from_the_rate_it_was_typed_for() -> None:
    books = booked(PUMPING, START, zero(), entry("pumps", 5, state="off"), rig=CURVE)
    assert term(books, "lines", 5.5, 6, 9, 15, 60) == pytest.approx([4, 8, 16, 20, 20])


def test_from_half_the_flow_the_curve_gives_back_half_at_every_moment() -> None:
    """G(150) = 10. At the typed curve's own pace all 10 bbl would be back after 1.75 min, and the expected would read up
    to 5 bbl high: a false loss that hides a kick."""
    books = booked(entry("pumps", -60, state="on", flow=150), START, zero(), entry("pumps", 5, state="off"), rig=CURVE)
    assert term(books, "lines", 6, 9, 15) == pytest.approx([4, 8, 10])


def test_a_curve_interrupted_by_the_pumps_starts_anew_from_what_is_in_the_lines() -> None:
    """Off 1 min: 8 of 20 back, 12 left. On for 40 s: 20 − 8/e = 17.057. Off: the share of the curve of that."""
    books = booked(PUMPING, START, zero(), entry("pumps", 5, state="off"), entry("pumps", 6, state="on", flow=300),
                   entry("pumps", 6 + 40 / 60, state="off"), rig=CURVE)
    again = 20 - 8 / math.e
    assert term(books, "lines", 6, 6 + 40 / 60, 7 + 40 / 60, 60) == pytest.approx(
        [8, 20 - again, 20 - again * 0.6, 20], abs=1e-3)


def test_the_flow_line_turned_in_mid_drain_shares_the_drain_between_the_tanks() -> None:
    """Pumps off at 5, flow line to Trip a minute later: 20(1 − 1/e) = 12.64 to the active and the rest to Trip."""
    for rig, first in ((RIG, 20 * (1 - math.exp(-1))), (CURVE, 8.0)):
        books = booked(PUMPING, START, zero(), entry("pumps", 5, state="off"), entry("line-up", 6, tank="flow line", to="Trip"),
                       rig=rig)
        assert term(books, "lines", 60) == pytest.approx([first], abs=1e-6)
        assert term(books, "lines", 60, of="Trip") == pytest.approx([20 - first], abs=1e-6)
        assert term(books, "lines", 60, of="all surface") == pytest.approx([20], abs=1e-6)


def test_pumps_first_logged_after_the_zero_move_nothing_and_it_says_so() -> None:
    books = booked(START, zero(), entry("pumps", 5, state="on", flow=300))
    assert term(books, "lines", 60) == pytest.approx([0])
    assert "pumps_before" in codes(books)
    assert "pumps_before" not in codes(booked(PUMPING, START, zero()))


# --- cuttings -------------------------------------------------------------------------------------------------------

def drilled(*more: Draft, rig: str = RIG, feet: float = 10) -> Any:
    return booked(PUMPING, DEPTH, START, zero(), entry("depth", 1, hole=5000 + feet, bit=5000 + feet), *more, rig=rig)


def test_half_the_flow_takes_twice_as_long() -> None:
    """Cut at 1: to 11 at 7.1429 bbl/min, 71.43 of 250 bbl; the other 178.57 at 3.5714 take 50.0 min: out at 61. Cut at
    -1: 85.71, then 164.29 in 46.0 min: out at 57. Evenly between."""
    books = drilled(entry("pumps", 11, state="on", flow=150))
    assert term(books, "cuttings", 57, 59, 61) == pytest.approx([0, -Ch * 5, -Ch * 10], abs=1e-9)


def test_a_stretch_of_unknown_flow_holds_the_cuttings_back_only_for_itself() -> None:
    """1 to 11 known, 11 to 21 unknown, then known: 25 min to go from 21 on, out at 46; cut at -1, at 44. Known flow isn't
    thrown away."""
    books = drilled(entry("pumps", 11, state="on"), entry("pumps", 21, state="on", flow=300))
    assert term(books, "cuttings", 44, 45, 46) == pytest.approx([0, -Ch * 5, -Ch * 10], abs=1e-9)
    assert "cuttings_held_back" in codes(books)


def test_unknown_flow_before_anything_was_drilled_is_no_matter() -> None:
    books = booked(entry("pumps", -90, state="on"), PUMPING, DEPTH, START, zero(), entry("depth", 1, hole=5010, bit=5010))
    assert term(books, "cuttings", 34, 35, 36) == pytest.approx([0, -Ch * 5, -Ch * 10], abs=1e-9)
    assert "cuttings_held_back" not in codes(books)


def test_the_annulus_in_force_counts_when_the_rig_is_described_anew() -> None:
    """At 11 the annulus becomes 500 bbl: 10 min of 35 are done, 2/7; the other 5/7 of 500 bbl at 7.1429 take 50 min. Of
    what was cut at -1 12/35 are done, the rest takes 46 min."""
    books = drilled(rig_draft(RIG.replace('annulus = "250 bbl"', 'annulus = "500 bbl"'), 11))
    assert term(books, "cuttings", 57, 59, 61) == pytest.approx([0, -Ch * 5, -Ch * 10], abs=1e-9)


def test_a_hole_described_later_books_its_own_cuttings() -> None:
    bare = RIG[:RIG.index("[hole]")] + RIG[RIG.index("[pipe]"):]
    books = drilled(rig_draft(RIG, 2), entry("depth", 3, hole=5015, bit=5015), rig=bare)
    assert term(books, "cuttings", 120) == pytest.approx([-Ch * 5])
    assert "cuttings_unset" in codes(books)


def test_a_depth_mistyped_and_put_right_by_the_next_cuts_no_rock_twice() -> None:
    """5010, then 4020 for 5020, then 5030: 30 ft of new hole. Each way up counted by itself would make 1020."""
    books = drilled(entry("depth", 2, hole=4020), entry("depth", 3, hole=5030, bit=5030))
    assert term(books, "cuttings", 120) == pytest.approx([-Ch * 30])
    assert "hole_shallower" in codes(books)


def test_a_sensor_that_jitters_cuts_no_rock() -> None:
    jitter = [entry("depth", 2 + k / 10, hole=5010 - 0.2 * (k % 2), bit=5005) for k in range(200)]
    assert term(drilled(*jitter), "cuttings", 120) == pytest.approx([-Ch * 10])


def test_after_a_plug_back_and_a_zero_redrilling_counts() -> None:
    books = drilled(entry("depth", 40, hole=4500, bit=4400), dips(41, Settling=60, Suction=60), zero(41),
                    entry("depth", 50, hole=4520, bit=4520))
    assert term(books, "cuttings", 200) == pytest.approx([-Ch * 20])


def test_cuttings_that_come_out_while_the_returns_go_elsewhere_are_not_the_active_systems() -> None:
    """Out at 36. The flow line goes to Trip from 30, or nowhere."""
    to_trip = drilled(entry("line-up", 30, tank="flow line", to="Trip"), entry("line-up", 50, tank="flow line", to="active"))
    assert term(to_trip, "cuttings", 120) == pytest.approx([0])
    assert term(to_trip, "cuttings", 40, of="all surface") == pytest.approx([-Ch * 10])
    nowhere = drilled(entry("line-up", 30, tank="flow line", to="none"))
    assert term(nowhere, "cuttings", 120, of="all surface") == pytest.approx([0])


def test_hole_drilled_before_the_zero_still_comes_out_after_it() -> None:
    """Drilled at 1, zero at 20, out at 36: 1.458 bbl leave the tanks after the zero, circulating clean."""
    books = booked(PUMPING, DEPTH, START, entry("depth", 1, hole=5010, bit=5010), dips(20, Settling=60, Suction=60), zero(20))
    assert term(books, "cuttings", 20, 36.1) == pytest.approx([0, -Ch * 10], abs=1e-9)


def test_between_two_depths_the_hole_is_made_evenly_and_rounds_half_an_hour_apart_read_no_false_loss() -> None:
    """60 ft/h from 0 on, lag 35 min of pumping: by 125 the hole of 90 ft is out, 13.12 bbl, whether the depth was logged
    each minute or each half hour. Booked at the time it was logged, 75 to 90 ft of it: up to 4.4 bbl too little, a loss
    that isn't and hides a kick."""
    def by(step: int) -> Any:
        return booked(PUMPING, entry("depth", 0, hole=5000, bit=5000), START, zero(),
                      *(entry("depth", m, hole=5000 + m, bit=5000 + m) for m in range(step, 121, step)))
    assert term(by(30), "cuttings", 95, 110, 125) == pytest.approx([-Ch * 60, -Ch * 75, -Ch * 90], abs=1e-6)
    assert term(by(1), "cuttings", 95, 110, 125) == pytest.approx([-Ch * 60, -Ch * 75, -Ch * 90], abs=1e-6)


def test_nothing_comes_out_before_its_depth_was_logged() -> None:
    """Annulus 71.43 bbl, 10 min: 30 ft cut from 0 to 30 and logged at 30. What was cut by 20 is out by then: 20 ft at
    once, so that readings before it don't change; the last 10 ft until 40."""
    rig = RIG.replace('annulus = "250 bbl"', 'annulus = "71.4286 bbl"')
    books = booked(PUMPING, entry("depth", 0, hole=5000, bit=5000), START, zero(), entry("depth", 30, hole=5030, bit=5030), rig=rig)
    assert term(books, "cuttings", 29.9, 30, 35, 40, 60) == pytest.approx(
        [0, -Ch * 20, -Ch * 25, -Ch * 30, -Ch * 30], abs=1e-4)


def test_no_hole_is_made_with_the_pumps_off() -> None:
    """10 ft between 0 and 20 with the pumps off from 5 to 15: cut from 0 to 5 and from 15 to 20. At 35 min of pumping the
    first 5 ft come out from 45 to 50 and the others from 50 to 55."""
    books = booked(PUMPING, entry("depth", 0, hole=5000, bit=5000), START, zero(), entry("pumps", 5, state="off"),
                   entry("pumps", 15, state="on", flow=300), entry("depth", 20, hole=5010, bit=5010))
    assert term(books, "cuttings", 45, 50, 55) == pytest.approx([0, -Ch * 5, -Ch * 10], abs=1e-6)


def test_screens_bypassed_for_a_while_keep_in_what_comes_out_meanwhile() -> None:
    """30 ft come out from 35 to 65, a foot a minute; bypassed from 40 to 50: 10 ft of it stay in."""
    books = booked(PUMPING, entry("depth", 0, hole=5000, bit=5000), START, zero(), entry("depth", 30, hole=5030, bit=5030),
                   entry("shakers", 40, state="bypassed"), entry("shakers", 50, state="on screens"))
    assert term(books, "cuttings", 40, 50, 65) == pytest.approx([-Ch * 5, -Ch * 5, -Ch * 20], abs=1e-6)


def test_hole_logged_shallower_and_right_again_is_cut_since_it_was_last_that_deep() -> None:
    """5010 at 1, 4010 mistyped at 11, 5020 at 21: the 10 ft new at 21 were cut from 1 to 21, out from 36 to 56."""
    books = drilled(entry("depth", 11, hole=4010), entry("depth", 21, hole=5020, bit=5020))
    assert term(books, "cuttings", 36, 46, 56) == pytest.approx([-Ch * 10, -Ch * 15, -Ch * 20], abs=1e-6)


# --- depths ---------------------------------------------------------------------------------------------------------

def test_where_the_bit_is_isnt_guessed_from_the_hole_alone() -> None:
    """Hole 5000 logged, then bit 3000: nothing was pulled. Then the hole grows: the bit is on bottom."""
    books = booked(entry("depth", -5, hole=5000), START, zero(), entry("depth", 5, bit=3000))
    assert term(books, "steel", 10) == pytest.approx([0])
    grown = booked(entry("depth", -5, hole=5000), START, zero(), entry("depth", 5, hole=5030))
    assert term(grown, "steel", 10) == pytest.approx([30 * d])


# --- rates and moves ------------------------------------------------------------------------------------------------

def test_rates_go_on_and_off_by_their_places_and_remarks() -> None:
    """Rain 2 bbl/h from 0, wash water 6 bbl/h from 10; rain raised to 4 at 30; wash off at 40; all off at 60.
    Rain 1 + 2 = 3, wash 3: 6 bbl. Remarks match whatever their case."""
    def rate(minute: float, state: str, remark: str = "", bph: float = 0) -> Draft:
        fields = {"rate": bph / 60} if state == "on" else {}
        return entry("rate in force", minute, state=state, to="active", remark=remark, **fields)
    books = booked(START, zero(), rate(0, "on", "Rain", 2), rate(10, "on", "wash water", 6), rate(30, "on", "rain", 4),
                   rate(40, "off", "Wash  Water"), rate(60, "off"))
    assert term(books, "rates", 10, 40, 60, 300) == pytest.approx([1 / 3, 1 + 2 / 3 + 3, 6, 6])


def test_an_off_that_ends_no_rate_is_a_finding_because_the_rate_goes_on() -> None:
    """Inflow booked that has stopped reads as a loss that hides an equal kick (accounting rules)."""
    on = entry("rate in force", 0, state="on", to="active", remark="rain", rate=0.1)
    wrong = booked(START, zero(), on, entry("rate in force", 30, state="off", to="active", remark="leak"))
    assert term(wrong, "rates", 60) == pytest.approx([6])
    assert "rate_off_unknown" in codes(wrong)
    right = booked(START, zero(), on, entry("rate in force", 30, state="off", to="active", remark="rain"))
    assert "rate_off_unknown" not in codes(right)


def test_a_rate_from_the_active_as_a_whole_and_one_from_a_tank() -> None:
    """1 bbl/min each way: from "active" to Reserve lowers the active and nothing on surface; from Reserve, a tank that is
    not lined up, to the outside lowers only all surface."""
    books = booked(START, zero(), entry("rate in force", 0, state="on", from_="active", to="Reserve", rate=1))
    assert term(books, "rates", 10) == pytest.approx([-10])
    assert term(books, "rates", 10, of="all surface") == pytest.approx([0], abs=1e-9)
    leak = booked(START, zero(), entry("rate in force", 0, state="on", from_="Reserve", rate=1))
    assert term(leak, "rates", 10) == pytest.approx([0])
    assert term(leak, "rates", 10, of="all surface") == pytest.approx([-10])


def test_a_volume_and_a_rate_run_for_volume_over_rate() -> None:
    books = booked(START, zero(), entry("transfer", 5, from_="Reserve", to="Suction", volume=24, rate=4))
    assert term(books, "transfers", 8, 11, 30) == pytest.approx([12, 24, 24])


def test_a_discard_with_a_rate_and_no_end_goes_on() -> None:
    books = booked(START, zero(), entry("discard", 5, from_="Suction", rate=2, state="running"))
    assert term(books, "discards", 15, 125) == pytest.approx([-20, -240])


# --- numbers --------------------------------------------------------------------------------------------------------

def test_an_open_rate_is_exact_to_a_billionth_of_a_cubic_metre_years_on() -> None:
    """2 bbl/h from an invented present: rate × time, against whole-number arithmetic."""
    start = 1_700_000_000_000
    rate = 2 * BBL / 3600
    far = 10 * 365 * 86_400_000
    curve = from_ramps([Ramp(start, start + far, rate * far / 1000), Ramp(start - 5 * MIN, start - 5 * MIN, 1.0)])
    for elapsed in (1, 60_000, 86_400_000, 30 * 86_400_000, 365 * 86_400_000):
        assert float(curve.at(start + elapsed)) - 1.0 == pytest.approx(rate * elapsed / 1000, abs=1e-9 + 1e-14 * rate * elapsed)


def test_ten_thousand_moves_leave_no_residue() -> None:
    """Each in is followed by the same out: after them all the curve is back at nothing."""
    start = 1_700_000_000_000
    ramps = [Ramp(start + k * 1000, start + k * 1000 + 7000, (1 if k % 2 else -1) * 3.7) for k in range(10_000)]
    curve = from_ramps(ramps)
    assert abs(float(curve.at(start + 10**9))) < 1e-9
    assert abs(float(curve.at(start + 10**12))) < 1e-9


def test_times_of_today_keep_their_milliseconds() -> None:
    start = 1_790_000_000_123
    curve = from_ramps([Ramp(start, start + 1000, 1.0)])
    assert curve.at(np.array([start, start + 1, start + 999])) == pytest.approx([0, 0.001, 0.999], abs=1e-12)


# --- what came out before its depth was logged ------------------------------------------------------------------------

LAG_10 = RIG.replace('annulus = "250 bbl"', 'lag = "10 min"')


@pytest.mark.parametrize("turned", [
    (entry("shakers", 29, state="bypassed"),),
    (entry("shakers", 0.5, state="bypassed"), entry("shakers", 29, state="on screens")),
    (entry("line-up", 29, tank="flow line", to="Trip"),),
])
def test_cuttings_are_judged_when_they_came_out_and_not_when_their_depth_was_logged(turned: tuple[Draft, ...]) -> None:
    """60 ft/h: what came out by 40 is the same whether the depth is logged each minute or once in thirty."""
    start = (PUMPING, DEPTH, entry("depth", 0, hole=5000, bit=5000), START, zero())
    once = booked(*start, *turned, entry("depth", 30, hole=5030, bit=5030), rig=LAG_10)
    often = booked(*start, *turned, *(entry("depth", m, hole=5000 + m, bit=5000 + m) for m in range(1, 31)), rig=LAG_10)
    for of in ("active", "all surface"):
        assert term(once, "cuttings", 40, of=of) == pytest.approx(term(often, "cuttings", 40, of=of), abs=1e-6)


def test_a_hole_depth_a_little_less_than_the_deepest_is_the_same_hole_seen_again() -> None:
    """4999.9 by a sensor at 60, 5060 at 121, lag 10 min: the 60 ft were made after 60, none before it."""
    start = (PUMPING, DEPTH, START, zero(), entry("depth", 60, hole=4999.9, bit=4990))
    books = booked(*start, entry("depth", 120, hole=5060, bit=5060), rig=LAG_10)
    assert term(books, "cuttings", 69, 120, 130) == pytest.approx([0, -Ch * 50, -Ch * 60], abs=1e-6)


def test_a_bit_depth_alone_says_nothing_of_when_the_hole_was_made() -> None:
    start = (PUMPING, entry("depth", 0, hole=5000, bit=5000), START, zero(), entry("depth", 59, bit=4990))
    books = booked(*start, entry("depth", 60, hole=5060, bit=5060), rig=LAG_10)
    assert term(books, "cuttings", 60) == pytest.approx([-Ch * 50], abs=1e-6)


def test_a_first_pumps_entry_leaves_the_lag_by_activity_as_it_was_before_it() -> None:
    """Six hours of drilling told by the activity, 60 ft/h, lag 10 min: at 359 349 ft are out. Then the pumps are logged off."""
    drilled_ = (entry("activity", -120, activity="drilling"), entry("depth", 0, hole=5000, bit=5000), START, zero(),
                *(entry("depth", m, hole=5000 + m, bit=5000 + m) for m in range(10, 361, 10)))
    for more in ((), (entry("pumps", 359.5, state="off"),)):
        books = booked(*drilled_, *more, rig=LAG_10)
        assert term(books, "cuttings", 359) == pytest.approx([-Ch * 349], abs=1e-6)
        assert "lag_by_activity" in codes(books)


def test_a_hole_that_grew_under_a_bit_far_off_bottom_is_a_finding() -> None:
    start = (PUMPING, DEPTH, START, zero())
    assert "grew_off_bottom" in codes(booked(*start, entry("depth", 30, hole=5300, bit=5030)))
    assert "grew_off_bottom" not in codes(booked(*start, entry("depth", 30, hole=5030, bit=4970)))


# --- entries of one minute --------------------------------------------------------------------------------------------

def test_pumps_put_on_and_off_in_one_minute_are_off() -> None:
    books = booked(START, zero(), entry("pumps", 5, state="on", flow=300), entry("pumps", 5, state="off"))
    assert flow(books, 6) == (False, 0.0)
    again = booked(START, zero(), entry("pumps", 5, state="off"), entry("pumps", 5, state="on", flow=300),
                   entry("pumps", 5, state="on", pump="1", spm=70))
    assert flow(again, 6) == (True, 300.0), "the flow of all counts beside a pump by name"


def test_what_was_drilled_by_the_minute_when_the_pumps_stopped_was_drilled_with_them_on() -> None:
    start = (PUMPING, DEPTH, START, zero())
    same = booked(*start, entry("depth", 60, hole=5093, bit=5093), entry("pumps", 60, state="off"))
    before = booked(*start, entry("depth", 59, hole=5093, bit=5093), entry("pumps", 60, state="off"))
    assert term(same, "bore", 75) == pytest.approx(term(before, "bore", 75))
    assert codes(same) == codes(before)


def test_a_correction_keeps_its_place_among_the_entries_of_its_minute() -> None:
    """Off and on at a new rate in one minute, then the off's remark is corrected: the new rate goes on."""
    off = Draft("rate in force", minutes(10)[0], minutes(10)[0], uid="off",
                payload={"state": "off", "from": "active"})
    corrected = Draft("rate in force", minutes(10)[0], minutes(11)[0], uid="off2", supersedes="off", reason="why",
                      payload={"state": "off", "from": "active", "note": "seen by two"})
    told = (entry("rate in force", 1, state="on", rate=0.1, from_="active"), off,
            entry("rate in force", 10, state="on", rate=0.4, from_="active"))
    for more in ((), (corrected,)):
        assert term(booked(START, zero(), *told, *more), "rates", 10, 60) == pytest.approx([-0.9, -20.9])


def test_full_pipe_at_a_zero_is_that_of_when_it_was_asked_for() -> None:
    """Round at 0, a stand filled at 3, zero at 5 with 93 ft up: that stand. The next one lowered isn't in it."""
    books = booked(PUMPING, DEPTH, START, entry("stand filled", 3), zero(5, length=93), entry("depth", 60, hole=5093, bit=5093),
                   entry("depth", 90, hole=5186, bit=5186))
    assert term(books, "bore", 6, 60, 90) == pytest.approx([-c * Ls, 0, 0], abs=1e-9)
    assert "fills_not_logged" in codes(books)
