"""One row of a round to a dip. Volumes by hand: an 8 × 30 ft box, an inch is 20 ft3, 3.562 bbl."""

from __future__ import annotations

from dataclasses import replace
from math import isnan, nan, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders import BBL, FT, GAL, IN, box_tank, two_box_rig
from dipbook.entries.dipping import Before, fastest, read_row, spread, swapped
from dipbook.rig.model import Valve

RIG = two_box_rig()
TANK = RIG.tank("Suction")
INCH = 20 * FT**3
BEFORE = Before(level_m=60 * IN, volume_m3=60 * INCH, u_m3=0.5 * BBL, t_ms=0)
MIN = 60_000
LATER = 20 * 60_000


def test_a_level_becomes_a_dip_a_volume_and_a_change() -> None:
    row = read_row(TANK, RIG, BEFORE, "61 1/2", t_ms=LATER, t_half_ms=30_000)
    assert row.error == ""
    assert row.doubts == ()
    assert row.dip is not None
    assert row.gauged is not None
    assert row.dip.level_m == pytest.approx(61.5 * IN)
    assert (row.dip.t_ms, row.dip.t_half_ms, row.dip.as_typed) == (LATER, 30_000, "61 1/2")
    assert row.gauged.volume_m3 == pytest.approx(61.5 * INCH)
    assert row.change_m3 == pytest.approx(1.5 * INCH)
    # ±1/4 in on 8 × 30 ft: a/√3 of an area is 0.25 × 3.562 / √3 = 0.514 bbl (contract: uncertainty).
    assert row.change_u_m3 == pytest.approx(sqrt((0.25 * INCH / sqrt(3)) ** 2 + (0.5 * BBL) ** 2))


@pytest.mark.parametrize(("text", "kind"), [("", "blank"), ("  ", "blank"), ("-", "not gauged"), ("not gauged", "not gauged"),
                                            ("=", "same"), ("same", "same"), ("No change", "same")])
def test_blank_not_gauged_and_same_are_three_things(text: str, kind: str) -> None:
    row = read_row(TANK, RIG, BEFORE, text, t_ms=LATER)
    assert (row.blank, row.dip is not None, row.error) == (kind == "blank", kind == "same", "")
    if row.dip is not None:
        assert row.dip.unchanged
        assert row.dip.level_m == pytest.approx(60 * IN)
        assert row.change_m3 == pytest.approx(0.0)


def test_same_without_a_dip_before_is_an_error() -> None:
    row = read_row(TANK, RIG, Before(), "same", t_ms=LATER)
    assert row.dip is None
    assert "no dip before it" in row.error


def test_a_percentage_is_refused_where_the_rig_does_not_say_of_what() -> None:
    assert "percent" in read_row(TANK, RIG, BEFORE, "48 %", t_ms=LATER).error
    of_level = box_tank("Suction", "suction", active=True, order=1, percent_of="level")
    row = read_row(of_level, RIG, BEFORE, "50 %", t_ms=LATER)
    assert row.dip is not None
    assert row.dip.level_m == pytest.approx(54 * IN)


def test_a_first_dip_has_no_change() -> None:
    row = read_row(TANK, RIG, Before(), "60", t_ms=LATER)
    assert row.dip is not None
    assert isnan(row.change_m3)
    assert row.doubts == ()


def test_a_large_change_is_questioned_unless_it_was_logged() -> None:
    (doubt,) = read_row(TANK, RIG, BEFORE, "72", t_ms=LATER).doubts
    assert doubt == "A change of +42.7 bbl; logged on this tank: 0.0 bbl."
    moved = Before(level_m=60 * IN, volume_m3=60 * INCH, u_m3=0.5 * BBL, t_ms=0, booked_m3=40 * BBL)
    assert read_row(TANK, RIG, moved, "72", t_ms=LATER).doubts == ()


def test_a_dip_older_than_the_log_is_questioned() -> None:
    before = Before(level_m=60 * IN, volume_m3=60 * INCH, t_ms=LATER + 1)
    assert read_row(TANK, RIG, before, "60", t_ms=LATER).doubts == ("Gauged before the dip that is already logged.",)


@pytest.mark.parametrize(("first", "second", "words"), [
    ("60", "x", "number"), ("60", "210 bbl", "same way"), ("", "60", "wants a first"), ("=", "60", "same way"),
    ("60", "-", "wants a first"), ("-", "60", "wants a first")])
def test_two_readings_that_do_not_fit_are_an_error(first: str, second: str, words: str) -> None:
    row = read_row(TANK, RIG, BEFORE, first, second=second, t_ms=LATER)
    assert words in row.error
    assert row.dip is None


def test_two_readings_within_the_dip_error_are_one_mean() -> None:
    row = read_row(TANK, RIG, BEFORE, "60", second="60 1/4", t_ms=LATER)
    assert row.dip is not None
    assert row.dip.level_m == pytest.approx(60.125 * IN)
    assert row.dip.resolution_m is None
    assert row.doubts == ()


def test_a_tank_without_a_dip_error_has_an_unknown_uncertainty() -> None:
    tank = box_tank("Suction", "suction", active=True, order=1, dip_error_m=None)
    row = read_row(tank, RIG, BEFORE, "60", second="62", t_ms=LATER)
    assert row.gauged is not None
    assert isnan(row.gauged.u_m3)
    assert isnan(row.change_u_m3)


def test_swapped_rows_are_found_over_the_page() -> None:
    settling = RIG.tank("Settling")
    low, high = Before(level_m=30 * IN, volume_m3=30 * INCH), Before(level_m=80 * IN, volume_m3=80 * INCH)
    rows = [(TANK, read_row(TANK, RIG, low, "80", t_ms=LATER), low),
            (settling, read_row(settling, RIG, high, "30", t_ms=LATER), high)]
    assert swapped(rows) == {"Suction": "Settling", "Settling": "Suction"}


@given(st.integers(1, 30), st.integers(0, 10**13), st.integers(0, 3_600_000))
def test_dips_share_the_span_of_their_round(count: int, start_ms: int, span_ms: int) -> None:
    times = spread(count, start_ms, start_ms + span_ms)
    assert len(times) == count
    for t_ms, half_ms in times:
        assert start_ms <= t_ms - half_ms + 1
        assert t_ms + half_ms - 1 <= start_ms + span_ms
    assert [t for t, _ in times] == sorted(t for t, _ in times)
    assert sum(2 * half for _, half in times) == pytest.approx(span_ms, abs=count)


def test_no_dips_have_no_times() -> None:
    assert spread(0, 0, 1000) == ()


@pytest.mark.parametrize(("gauge", "typed", "words"), [
    ("down", "150 in", "Below the bottom: the stick can't read more than 108 in from this mark."),
    ("up", "1 in", "Below the bottom: the stick can't read less than 3 in here."),
    ("down", "-5 bbl", "is below zero"), ("up", "-6 in", "is below zero")])
def test_a_dip_below_the_bottom_is_refused_in_words(gauge: str, typed: str, words: str) -> None:
    datum = {"gauge": "down", "mark_m": 9 * FT} if gauge == "down" else {"offset_m": -3 * IN}
    tank = box_tank("Trip", "trip", active=True, order=1, **datum)
    row = read_row(tank, RIG, Before(), typed, t_ms=LATER)
    assert words in row.error
    assert row.dip is None


def test_a_dip_at_the_very_bottom_stands() -> None:
    tank = box_tank("Trip", "trip", active=True, order=1, gauge="down", mark_m=9 * FT)
    row = read_row(tank, RIG, Before(), "108 in", t_ms=LATER)
    assert row.error == ""
    assert row.dip is not None


# --- dips that couldn't be read, and what the log knows besides ---------------------------------------------------


@pytest.mark.parametrize("typed", ["over brim", "Over  the brim", "over"])
def test_over_the_brim_is_kept_as_at_least_what_the_tank_holds(typed: str) -> None:
    rig = two_box_rig()
    row = read_row(rig.tanks[0], rig, Before(60 * IN, 60 * INCH, 0.1, 0), typed, t_ms=MIN)
    assert row.dip is not None
    assert row.gauged is not None
    assert (row.dip.flag, row.dip.as_typed) == ("over brim", typed)
    assert row.dip.level_m == pytest.approx(108 * IN)
    assert row.gauged.volume_m3 == pytest.approx(108 * INCH)
    assert isnan(row.gauged.u_m3)
    assert isnan(row.off_m3)


def test_below_the_stick_has_no_level_and_no_volume() -> None:
    rig = two_box_rig()
    for row in (read_row(rig.tanks[0], rig, Before(), "below stick", t_ms=MIN),
                read_row(rig.tanks[0], rig, Before(), "", t_ms=MIN, flag="below stick")):
        assert row.dip is not None
        assert row.gauged is not None
        assert (row.dip.level_m, row.dip.volume_m3, row.dip.flag) == (None, None, "below stick")
        assert not row.gauged.known
        assert isnan(row.change_m3)


def test_a_flag_beside_a_reading_leaves_the_reading_and_one_without_is_no_dip() -> None:
    rig = two_box_rig()
    dip = read_row(rig.tanks[0], rig, Before(), "60", t_ms=MIN, flag="over brim").dip
    assert dip is not None
    assert (dip.level_m, dip.flag) == (pytest.approx(60 * IN), "over brim")
    assert read_row(rig.tanks[0], rig, Before(), "", t_ms=MIN, flag="foam").blank
    assert read_row(rig.tanks[0], rig, Before(), "-", t_ms=MIN, flag="over brim").dip is None


@pytest.mark.parametrize(("before", "said"), [(0, ""), (1, ""), (2, "3rd"), (3, "4th"), (10, "11th"), (20, "21st")])
def test_the_same_is_asked_about_from_the_third_time_on(before: int, said: str) -> None:
    rig = two_box_rig()
    row = read_row(rig.tanks[0], rig, Before(60 * IN, 60 * INCH, 0.1, 0, same_count=before), "=", t_ms=MIN)
    assert row.times_same == before + 1
    assert row.doubts == ((f"The same for the {said} round: dipped, or from the desk?",) if said else ())
    assert read_row(rig.tanks[0], rig, Before(60 * IN, same_count=5), "60", t_ms=MIN).times_same == 0


def test_what_the_stick_should_read_is_told_off_beyond_twice_the_uncertainty() -> None:
    # ±1/4 in on 8 × 30 ft is 0.514 bbl (k=1); with the same in the dip before 2u is 1.454 bbl, or 0.408 in.
    rig = two_box_rig()
    before = Before(60 * IN, 60 * INCH, 0.514 * BBL, 0, should_m3=62 * INCH)
    near, far = (read_row(rig.tanks[0], rig, before, text, t_ms=MIN) for text in ("62 3/8", "62 1/2"))
    assert isnan(near.off_m3)
    assert far.off_m3 == pytest.approx(0.5 * INCH)
    assert far.doubts == (), "said, not asked: it is no slip"


def test_a_change_beyond_what_can_have_moved_is_asked_and_never_refused() -> None:
    # 300 gal/min for 10 min is 71.4 bbl, 20.05 in; twice √2 × 0.514 bbl is 1.45 bbl, 0.41 in.
    rig = two_box_rig()
    rate = fastest(rig, "Settling", [None], [])
    assert rate == pytest.approx(300 * GAL / 60), "the flow that the rig's drain-back is given at"
    before = Before(60 * IN, 60 * INCH, 0.514 * BBL, 0, fastest_m3_s=rate)
    within, beyond = (read_row(rig.tanks[0], rig, before, text, t_ms=10 * MIN) for text in ("80", "81"))
    assert "more than could have been moved" not in " ".join(within.doubts)
    assert "more than could have been moved" in beyond.doubts[0]
    assert beyond.dip is not None
    assert beyond.error == ""


def test_what_is_booked_since_the_dip_before_can_have_moved_too() -> None:
    # 60 gal/min for 10 min is 14.3 bbl, and 40 bbl were transferred and the pump stopped: 54.3 bbl, 15.2 in, and 2u 0.41 in.
    before = Before(60 * IN, 60 * INCH, 0.514 * BBL, 0, booked_m3=40 * BBL, fastest_m3_s=60 * GAL / 60)
    for text, asked in (("75 1/2", False), ("76", True)):
        doubts = " ".join(read_row(RIG.tanks[0], RIG, before, text, t_ms=10 * MIN).doubts)
        assert ("more than could have been moved" in doubts) == asked
    unknown = read_row(RIG.tanks[0], RIG, replace(before, booked_m3=nan), "76", t_ms=10 * MIN)
    assert unknown.doubts == (), "what was booked isn't known, so neither is what can have moved"


@pytest.mark.parametrize(("booked", "asked"), [(0.0, True), (5.0, True), (17.0, False)])
def test_a_dip_that_says_what_is_booked_is_not_asked_whether_another_was_meant(booked: float, asked: bool) -> None:
    """62 in before, now 39 3/4 from the mark at 107 1/2: 67 3/4, up 5 3/4. It could be a slip for 3' 9 3/4", 61 3/4 in. 17 bbl
    booked are 4.8 in at 3.562 bbl an inch: it lies within an inch of that, and nothing else was meant. 5 bbl explain little."""
    tank = replace(RIG.tanks[1], gauge="down", mark_m=107.5 * IN)
    before = Before(62 * IN, 62 * INCH, 0.5 * BBL, 0, booked_m3=booked * BBL)
    doubts = read_row(tank, RIG, before, "39 3/4", t_ms=20 * MIN).doubts
    assert any(doubt.startswith("Meant 3' 9 3/4\"?") for doubt in doubts) == asked


def test_the_fastest_is_known_only_where_a_flow_is() -> None:
    bare = two_box_rig(drain_back=None)
    assert fastest(bare, "Settling", [None, 0.0], [0.01]) is None, "a transfer's rate says nothing of what nobody logged"
    assert fastest(bare, "Settling", [0.02], [0.01, -0.005]) == pytest.approx(0.035)
    assert fastest(bare, "Settling", [0.02], [0.01, None]) is None, "something runs and nobody said how fast"
    gate = Valve("1", "gate", "Settling", "Suction")
    assert fastest(replace(bare, valves=(gate,)), "Suction", [0.02], []) is None, "through a gate it runs as it likes"
    assert fastest(replace(bare, valves=(gate,)), "Reserve 1", [0.02], []) == 0.02
