"""From what the stick says to a level and a volume; what is odd is told, nothing is clamped."""

from __future__ import annotations

import re
from dataclasses import replace
from math import isnan, nan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dipbook.quantities import read_dip
from dipbook.tanks.bounded import Bounded
from dipbook.tanks.cylinders import HorizontalCylinder
from dipbook.tanks.gauging import FLAGS, Gauged, gauge, outside, question, swapped_rows
from dipbook.tanks.heads import Head
from dipbook.tanks.shapes import Box, Strapping
from dipbook.tanks.sloped import Frustum, VBottom
from dipbook.tanks.tank import Tank

FT, IN, BBL = 0.3048, 0.0254, 0.158987294928

UP = Tank("Suction", "suction", True, 1, Box(30 * FT, 8 * FT, 9 * FT), dip_error_m=IN / 4, heel_m=6 * IN, brim_m=9 * FT,
          percent_of="level")
DOWN = replace(UP, name="Settling", gauge="down", mark_m=9 * FT)
STRAPPED = replace(UP, name="Trip", shape=Strapping((6 * IN, 60 * IN, 96 * IN), (1.0, 5.0, 8.0)), brim_m=96 * IN,
                   percent_of="volume", heel_m=0.0)


def dipped(tank: Tank, text: str, previous: float | None = None) -> Gauged:
    reading = read_dip(text, decimal=".", level_unit="in", volume_unit="bbl", percent_of=tank.percent_of)
    return gauge(tank, reading, previous, unit="in")


def codes(gauged: Gauged) -> list[str]:
    return [finding.code for finding in gauged.findings]


def test_a_dip_up_from_the_bottom() -> None:
    g = dipped(UP, "5' 3 1/2\"")
    assert g.level_m == g.dip_m == pytest.approx(63.5 * IN)
    assert g.volume_m3 == pytest.approx(8 * FT * 30 * FT * 63.5 * IN)
    assert g.u_m3 / BBL == pytest.approx(0.514, abs=5e-4)
    assert (g.findings, g.half_width_m, g.known) == ((), None, True)


def test_a_dip_down_from_the_mark() -> None:
    g = dipped(DOWN, "44 1/2")
    assert g.level_m == pytest.approx(63.5 * IN)
    assert g.dip_m == pytest.approx(44.5 * IN)
    assert codes(g) == []


def test_the_gauge_points_height_is_added() -> None:
    g = dipped(replace(UP, offset_m=2 * IN), "61 1/2")
    assert g.level_m == pytest.approx(63.5 * IN)


def test_a_volume_gives_the_level_and_its_own_step_counts_where_it_is_coarser() -> None:
    g = dipped(UP, "212 bbl")
    assert g.volume_m3 == 212 * BBL
    assert g.level_m == pytest.approx(212 * BBL / (240 * FT * FT))
    # Half a barrel on 240 ft2 is 0.140 in, finer than the tank's quarter inch.
    assert g.half_width_m is None
    coarse = dipped(replace(UP, dip_error_m=IN / 16), "212 bbl")
    assert coarse.half_width_m == pytest.approx(0.5 * BBL / (240 * FT * FT))
    assert coarse.u_m3 == pytest.approx(0.5 * BBL / 3**0.5)


def test_a_percentage_is_of_what_the_tank_says() -> None:
    assert dipped(UP, "50 %").level_m == pytest.approx(4.5 * FT)
    g = dipped(STRAPPED, "50 %")
    assert g.volume_m3 == pytest.approx(4.0)
    assert g.level_m == pytest.approx((6 + 54 * 3 / 4) * IN)
    assert dipped(STRAPPED, "100 %").level_m == pytest.approx(96 * IN)
    assert dipped(DOWN, "25 %").dip_m == pytest.approx(0.75 * 9 * FT)
    assert dipped(UP, "50 %").half_width_m == pytest.approx(0.005 * 9 * FT)
    # Half a percent of 8 m3 are 0.04 m3; 4 m3 stand in 54 in there: 0.54 in, which counts where the dip error is less.
    assert dipped(replace(STRAPPED, dip_error_m=0.1 * IN), "50 %").half_width_m == pytest.approx(0.54 * IN)


def test_a_percentage_without_a_meaning_is_left_out() -> None:
    reading = read_dip("50 %", decimal=".", level_unit="in", volume_unit="bbl", percent_of="level")
    g = gauge(replace(UP, percent_of=""), reading, None)
    assert codes(g) == ["no_percent_of"]
    assert not g.findings[0].kept
    assert isnan(g.volume_m3)


def test_the_same_as_before_is_the_level_before() -> None:
    g = dipped(UP, "same", previous=1.5)
    assert g.level_m == 1.5
    assert g.volume_m3 == UP.volume(1.5)
    assert g.u_m3 == dipped(UP, "63").u_m3
    assert (g.kind, codes(g)) == ("unchanged", [])


@pytest.mark.parametrize("previous", [None, nan])
def test_the_same_as_nothing_is_a_finding(previous: float | None) -> None:
    g = dipped(UP, "same", previous)
    assert codes(g) == ["no_previous"]
    assert isnan(g.level_m)
    assert not g.findings[0].kept


def test_not_gauged_is_not_known_and_not_wrong() -> None:
    g = dipped(UP, "-", previous=1.5)
    assert (isnan(g.level_m), g.known, codes(g)) == (True, False, [])


def test_above_the_brim_is_kept_and_told() -> None:
    g = dipped(UP, "110")
    assert g.level_m == pytest.approx(110 * IN)
    assert g.volume_m3 == pytest.approx(240 * FT * FT * 110 * IN)
    assert codes(g) == ["above_brim"]
    assert g.findings[0].what == "Suction: level 110 in is above the brim at 108 in. Kept as read; check the dip, and the tank."
    assert g.findings[0].kept
    assert g.findings[0].tank == "Suction"


def test_at_the_brim_is_not_above_it() -> None:
    assert codes(dipped(UP, "9'")) == codes(dipped(UP, "108")) == codes(dipped(DOWN, "0")) == []
    assert codes(dipped(replace(DOWN, mark_m=10 * FT), "1 ft")) == []


def test_a_dip_beyond_the_mark_is_kept_and_told() -> None:
    g = dipped(DOWN, "9' 2\"")
    assert g.level_m == pytest.approx(-2 * IN)
    assert g.volume_m3 < 0
    assert codes(g) == ["beyond_mark"]
    assert "110 in is more than the mark's height" in g.findings[0].what


def test_below_the_bottom_is_kept_and_told() -> None:
    g = dipped(replace(UP, offset_m=-3 * IN), "1")
    assert codes(g) == ["below_bottom"]
    assert g.volume_m3 < 0


def test_outside_the_strapping_table_the_volume_is_unknown() -> None:
    g = dipped(STRAPPED, "3")
    assert g.level_m == pytest.approx(3 * IN)
    assert isnan(g.volume_m3)
    assert isnan(g.u_m3)
    assert codes(g) == ["outside_table"]
    above = dipped(STRAPPED, "97")
    assert codes(above) == ["above_brim", "outside_table"]
    by_volume = dipped(STRAPPED, "9 m3")
    assert by_volume.volume_m3 == 9.0
    assert isnan(by_volume.level_m)
    assert codes(by_volume) == ["outside_table"]


def test_without_a_dip_error_the_uncertainty_is_unknown_and_told() -> None:
    g = dipped(replace(UP, dip_error_m=None), "63")
    assert isnan(g.u_m3)
    assert codes(g) == ["no_dip_error"]


def test_many_levels_are_judged_at_once() -> None:
    where = outside(STRAPPED, np.array([-0.1, 0.01, 1.0, 96 * IN, 96 * IN + 0.01, nan]))
    assert where.above_brim.tolist() == [False, False, False, False, True, False]
    assert where.below_bottom.tolist() == [True, False, False, False, False, False]
    assert where.not_in_table.tolist() == [True, True, False, False, True, False]


@given(st.floats(0.0, 9 * FT))
def test_the_two_datums_of_one_surface_agree(level: float) -> None:
    up, down = UP.dip_of_level(level), DOWN.dip_of_level(level)
    assert UP.volume(UP.level_of_dip(up)) == pytest.approx(DOWN.volume(DOWN.level_of_dip(down)), abs=1e-9)


MINUTE = 60_000


def asked(tank: Tank, text: str, before_in: float | None, minutes: float = 30, **other: object) -> tuple[str, ...]:
    before = None if before_in is None else before_in * IN
    return question(tank, dipped(tank, text, before), before, None if before is None else 0, round(minutes * MINUTE), **other)


@pytest.mark.parametrize(("tank", "text", "before_in", "why"), [
    (UP, "9' 4\"", 100, r"^Above the brim, 108 in\.$"),
    (UP, "4", 8, "Below the heel, 6 in"),
    (replace(UP, offset_m=-3 * IN), "1", None, "Below the tank's bottom"),
    (DOWN, "9' 2\"", 1, "Beyond the mark"),
    (UP, "34", 75, r"Measured from the brim\? This tank is dipped up from the bottom\. The dip before was 75 in"),
    (DOWN, "74", 75, r"Measured from the bottom\? This tank is dipped down from its mark\. The dip before was 33 in"),
    (UP, "53", 62, r"Meant 5' 3\"\?"),
    (UP, "53 1/2", 64, r"Meant 5' 3 1/2\"\?"),
    (UP, "5.3", 62, r"Meant 5' 3\"\?"),
    (UP, "511", 70, r"Meant 5' 11\"\?"),
    (UP, "6", 71, r"Meant 6 ft, which is 72 in\?"),
    (UP, "72 ft", 71, r"Meant 72 in, which is 72 in\?"),
])
def test_a_usual_slip_is_questioned(tank: Tank, text: str, before_in: float | None, why: str) -> None:
    tank = replace(tank, heel_m=0.0) if "heel" not in why else tank
    assert any(re.search(why, doubt) for doubt in asked(tank, text, before_in)), asked(tank, text, before_in)


def test_a_small_change_is_questioned_if_the_pumps_couldnt_move_it() -> None:
    # 24 for 2' 4": 4 in of 108 is an ordinary change, but 14 bbl in 1 min at 5 bbl/min is not possible.
    tank = replace(UP, heel_m=0.0)
    assert asked(tank, "24", 28, minutes=1) == ()
    doubts = asked(tank, "24", 28, minutes=1, fastest_m3_s=5 * BBL / 60)
    assert any("Meant 2' 4\"?" in doubt for doubt in doubts)


@pytest.mark.parametrize(("tank", "text", "before_in"), [
    (UP, "63", 62), (UP, "53", 54), (UP, "63", None), (UP, "54", 55), (DOWN, "54", 53), (UP, "30", 90), (UP, "same", 2), (UP, "-", 60),
    (UP, "50 %", 54),
])
def test_an_ordinary_dip_is_not_questioned(tank: Tank, text: str, before_in: float | None) -> None:
    assert asked(replace(tank, heel_m=0.0), text, before_in) == ()


def test_a_change_beyond_the_pumps_is_questioned_with_both_figures() -> None:
    # 12 in of 240 ft2 are 42.7 bbl; 5 bbl/min for 4 min and two standard uncertainties of both dips (1.5 bbl) are 21.5.
    doubts = asked(UP, "74", 62, minutes=4, fastest_m3_s=5 * BBL / 60)
    assert doubts == ("A change of 42.7 bbl in 4 min: more than could have been moved, 21.5 bbl.",)
    assert asked(UP, "74", 62, minutes=9, fastest_m3_s=5 * BBL / 60) == ()
    assert asked(UP, "74", 62, minutes=0, fastest_m3_s=5 * BBL / 60) == ()


def test_a_metric_rig_is_not_asked_about_feet() -> None:
    assert asked(replace(UP, heel_m=0.0), "6", 71, unit="cm") == ()


def test_swapped_rows_are_found_in_a_round() -> None:
    a, b, c = UP, replace(UP, name="Desilter"), replace(UP, name="Reserve")
    rows = [(a, 40 * IN, 80 * IN), (b, 81 * IN, 41 * IN), (c, 60 * IN, 60 * IN)]
    assert swapped_rows(rows) == (("Suction", "Desilter"),)
    assert swapped_rows([(a, 79 * IN, 80 * IN), (b, 42 * IN, 41 * IN)]) == ()
    assert swapped_rows([(a, 40 * IN, None), (b, nan, 41 * IN)]) == ()


def test_the_flags_are_the_words_of_the_contract() -> None:
    assert FLAGS == ("foam", "agitator", "below stick", "over brim", "stuck", "clipped", "implausible")


@pytest.mark.parametrize("shape", [
    Frustum(0.0, 8 * FT, 6 * FT), VBottom(30 * FT, 8 * FT, 0.0, 4 * FT, 9 * FT),
    HorizontalCylinder(20 * FT, Head("flat", 8 * FT))], ids=["cone", "trough", "cylinder"])
def test_a_volume_read_where_the_walls_meet_is_gauged_and_as_coarse_as_its_digit(shape: Bounded) -> None:
    tank = replace(UP, shape=shape, brim_m=None, heel_m=0.0)
    g = dipped(tank, "0 bbl")
    assert (g.level_m, g.volume_m3) == (0.0, 0.0)
    # half a barrel, the half of the digit, stands this high in it
    assert g.half_width_m == pytest.approx(float(shape.level(0.5 * BBL)))
