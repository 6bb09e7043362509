"""What an unfilled hole loses, from two sides, and the stands that may be pulled before that."""

from __future__ import annotations

from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dipbook.quantities import from_unit, to_unit
from dipbook.quantities.factors import FOOT, PSI
from dipbook.trips import allowed, drop, length_for, pressure, vertical
from dipbook.trips.unfilled import CFR_PRESSURE_PA, CFR_STANDS
from dipbook.well import Survey

FT, POUND_PER_SQUARE_INCH = float(FOOT), float(PSI)
STEEL, BORE, INSIDE = (from_unit(x, "bbl/ft") for x in (0.0076, 0.0178, 0.0758))
"""Of 5 in pipe and of 9 5/8 in casing [m3/m], from bbl/ft."""


def ppg(value: float) -> float:
    return from_unit(value, "lbm/gal[US]")


def psi(pascal: float) -> float:
    return pascal / POUND_PER_SQUARE_INCH


# --- the formulas, by a loop that pours the mud back slice by slice

SLICES = 500
"""Of the length pulled."""


def level_after(length_m: float, standing_m2: float, inside_m2: float, hole_m: float) -> float:
    """How far the level fell in a well of one size [m]: no formula, only what there is where.

    Pipe of standing_m2 stands all the way down in a full well; a length of it is lifted out at the top, so that the bit hangs
    that far above the bottom. The mud there was is poured in slice by slice until it is used up.
    """
    mud = (inside_m2 - standing_m2) * hole_m
    slice_m = length_m / SLICES
    level = 0.0
    n = 0
    while mud > 0.0:
        room = slice_m * (inside_m2 if n < SLICES else inside_m2 - standing_m2)
        level += slice_m * min(1.0, mud / room)
        mud -= room
        n += 1
    return hole_m - level


@pytest.mark.parametrize("closed", [STEEL, STEEL + BORE], ids=["dry", "wet"])
@pytest.mark.parametrize("length", [93 * FT, 460 * FT, 2000 * FT], ids=["a stand", "five", "2000 ft"])
def test_the_drop_is_what_a_well_filled_again_slice_by_slice_lacks(length: float, closed: float) -> None:
    fell = drop(length * closed, INSIDE, closed)
    assert fell == pytest.approx(level_after(length, closed, INSIDE, 10_000 * FT), rel=1e-6)


def test_a_stand_by_hand() -> None:
    # 93 × 0.0076/(0.0758 − 0.0076) = 0.7068/0.0682 = 10.364 ft; at 12 lb/gal × 12/231 × 12 = 6.4606 psi.
    # Wet: 93 × 0.0254/(0.0758 − 0.0254) = 2.3622/0.0504 = 46.869 ft: 29.217 psi.
    fell = drop(93 * FT * STEEL, INSIDE, STEEL)
    assert fell / FT == pytest.approx(10.3636, abs=5e-4)
    assert psi(pressure(fell, ppg(12))) == pytest.approx(6.4605, abs=5e-4)
    wet = drop(93 * FT * (STEEL + BORE), INSIDE, STEEL + BORE)
    assert wet / FT == pytest.approx(46.869, abs=5e-4)
    assert psi(pressure(wet, ppg(12))) == pytest.approx(29.217, abs=5e-4)


def test_the_last_pipe_leaves_the_whole_casing_to_the_mud() -> None:
    # 93 ft of 8 in collars out of the hole with nothing left in it: 93 × 0.0545/0.0758 = 66.867 ft.
    assert drop(93 * FT * from_unit(0.0545, "bbl/ft"), INSIDE, 0.0) / FT == pytest.approx(66.867, abs=5e-4)


def test_a_hundred_metres_of_water_weigh_980665_pascal() -> None:
    assert pressure(100.0, 1000.0) == pytest.approx(980_665.0, rel=1e-12)


def test_the_rule_s_numbers_are_those_of_the_regulation() -> None:
    # 30 CFR 250.456(c): 75 psi, or five stands; 75 psi = 75 × 6894.757 = 517 106.8 Pa.
    assert abs(CFR_PRESSURE_PA - 517_106.8) < 0.05
    assert psi(CFR_PRESSURE_PA) == pytest.approx(75.0, rel=1e-12)
    assert CFR_STANDS == 5


# --- the stands allowed


def test_the_pressure_sets_it_when_pipe_is_pulled_wet_in_heavy_mud() -> None:
    # 29.217 psi a stand at 12 lb/gal wet: 75/29.217 = 2.57, two stands: 4.7244 bbl, 58.43 psi.
    two = allowed(93 * FT, STEEL + BORE, INSIDE, ppg(12))
    assert (two.stands, two.by) == (2, "the pressure")
    assert to_unit(two.volume_m3, "bbl") == pytest.approx(4.7244, abs=5e-5)
    assert psi(two.pressure_pa) == pytest.approx(58.434, abs=1e-3)


def test_five_stands_set_it_when_they_lose_less() -> None:
    # 6.4605 psi a stand dry: 11.6 by the pressure. Five: 3.534 bbl, 32.30 psi.
    five = allowed(93 * FT, STEEL, INSIDE, ppg(12))
    assert (five.stands, five.by) == (5, "the number of stands")
    assert to_unit(five.volume_m3, "bbl") == pytest.approx(3.534, abs=5e-5)
    assert psi(five.pressure_pa) == pytest.approx(32.303, abs=1e-3)


def test_no_stand_at_all_where_one_loses_too_much() -> None:
    # 8 in collars pulled wet in 9 5/8 in casing, 0.0622 bbl/ft: 93 × 0.0622/(0.0758 − 0.0622) = 425.3 ft, 265 psi at 12 lb/gal.
    none = allowed(93 * FT, from_unit(0.0622, "bbl/ft"), INSIDE, ppg(12))
    assert (none.stands, none.by) == (0, "the pressure")
    assert none.volume_m3 == 0.0
    assert none.pressure_pa == 0.0


def test_a_pressure_that_just_so_many_stands_lose_allows_them() -> None:
    # Floats: three stands lose exactly the pressure given.
    three = pressure(drop(3 * 93 * FT * STEEL, INSIDE, STEEL), ppg(12))
    assert allowed(93 * FT, STEEL, INSIDE, ppg(12), pressure_pa=three).stands == 3
    assert allowed(93 * FT, STEEL, INSIDE, ppg(12), pressure_pa=three * (1 - 1e-6)).stands == 2


def test_in_a_deviated_hole_less_pressure_is_lost_and_more_stands_are_allowed() -> None:
    """Below the rotary at 60 degrees: half of what the level falls is vertical. 10.34 ft a stand lose 6.46 psi straight down and
    3.23 at that angle: 20 psi allow three stands, or six."""
    slanted = Survey((0.0, 1000.0), (0.0, 500.0))
    rule = {"pressure_pa": 20 * POUND_PER_SQUARE_INCH, "stands": None}
    straight = allowed(93 * FT, STEEL, INSIDE, ppg(12), **rule)
    along = allowed(93 * FT, STEEL, INSIDE, ppg(12), **rule, survey=slanted)
    assert (straight.stands, along.stands) == (3, 6)
    assert psi(along.pressure_pa) == pytest.approx(6 * 3.2303, abs=1e-3)
    assert along.drop_m == pytest.approx(2 * straight.drop_m)
    assert allowed(93 * FT, STEEL, INSIDE, ppg(12), **rule, survey=Survey((0.0, 1000.0), (0.0, 1000.0))) == straight


def test_a_survey_that_ends_above_the_level_is_taken_as_vertical_there() -> None:
    assert vertical(50.0, Survey((0.0, 10.0), (0.0, 5.0))) == 50.0
    assert vertical(8.0, Survey((0.0, 10.0), (0.0, 5.0))) == pytest.approx(4.0)
    assert vertical(8.0, None) == 8.0


def test_another_rule_of_the_rig_s() -> None:
    # At most three stands, whatever they lose; or 10 psi: one stand of 6.46.
    assert allowed(93 * FT, STEEL, INSIDE, ppg(12), stands=3).stands == 3
    assert allowed(93 * FT, STEEL, INSIDE, ppg(12), pressure_pa=10 * POUND_PER_SQUARE_INCH).stands == 1


@pytest.mark.parametrize(("stand", "taken", "inside", "density"), [
    (28.0, 0.05, 0.04, 1400.0), (28.0, 0.04, 0.04, 1400.0), (28.0, 0.0, 0.04, 1400.0), (28.0, nan, 0.04, 1400.0), (28.0, 0.004, nan, 1400.0),
    (28.0, 0.004, inf, 1400.0), (28.0, 0.004, 0.04, 0.0), (28.0, 0.004, 0.04, nan), (28.0, 0.004, 0.04, -1.0), (nan, 0.004, 0.04, 1400.0),
    (0.0, 0.004, 0.04, 1400.0), (-28.0, 0.004, 0.04, 1400.0)])
def test_no_number_of_stands_where_one_cant_be_told(stand: float, taken: float, inside: float, density: float) -> None:
    # Pipe wider than its casing once gave −1 stands.
    with pytest.raises(ValueError, match=r"^stands between fills: "):
        allowed(stand, taken, inside, density)


def test_a_rule_may_have_stands_alone_or_a_pressure_alone() -> None:
    """Collars of 0.0622 bbl/ft lose more than 75 psi each; a rule of stands alone doesn't ask. 75 psi of 6.46 a stand: 11."""
    two = allowed(93 * FT, from_unit(0.0622, "bbl/ft"), INSIDE, ppg(12), pressure_pa=inf, stands=2)
    assert (two.stands, two.by) == (2, "the number of stands")
    eleven = allowed(93 * FT, STEEL, INSIDE, ppg(12), stands=None)
    assert (eleven.stands, eleven.by) == (11, "the pressure")
    with pytest.raises(ValueError, match=r"^stands between fills: "):
        allowed(93 * FT, STEEL, INSIDE, ppg(12), pressure_pa=inf, stands=None)


def test_the_level_falls_by_what_left_over_what_is_free() -> None:
    # Five stands: 3.534 bbl over 0.0758 - 0.00759 bbl/ft is 51.7 ft (docs/trips.md).
    assert allowed(93 * FT, STEEL, INSIDE, ppg(12)).drop_m / FT == pytest.approx(51.7, abs=0.2)


@pytest.mark.parametrize("pressure_pa", [nan, -1.0])
def test_no_number_of_stands_for_no_pressure(pressure_pa: float) -> None:
    with pytest.raises(ValueError, match=r"^stands between fills: "):
        allowed(28.0, 0.004, 0.04, 1400.0, pressure_pa=pressure_pa)


# --- whatever the well

SHARES = st.floats(0.01, 0.95)
WELLS = st.tuples(st.floats(5.0, 45.0), st.floats(0.005, 0.2), SHARES, st.floats(700.0, 2500.0))
"""Stand [m], casing [m3/m], share of it that the pipe takes, density [kg/m3]."""


@given(WELLS, st.floats(1e3, 1e7), st.integers(1, 20))
def test_what_is_allowed_never_loses_more_than_the_pressure_nor_more_stands(
        well: tuple[float, float, float, float], pressure_pa: float, stands: int) -> None:
    stand, inside, share, density = well
    found = allowed(stand, share * inside, inside, density, pressure_pa=pressure_pa, stands=stands)
    assert 0 <= found.stands <= stands
    assert found.pressure_pa <= pressure_pa * (1 + 1e-8) + 1e-9 * density * 10 * stand * share / (1 - share)
    assert found.volume_m3 == pytest.approx(found.stands * stand * share * inside, rel=1e-12)
    if found.stands < stands:  # and one more would lose more
        more = pressure(drop((found.stands + 1) * stand * share * inside, inside, share * inside), density)
        assert more > pressure_pa * (1 - 1e-8)
        assert found.by == "the pressure"
    else:
        assert found.by == "the number of stands"


@given(WELLS, st.floats(1.0, 2.0))
def test_heavier_mud_never_allows_more_stands_nor_does_pipe_that_takes_more(well: tuple[float, float, float, float], more: float) -> None:
    stand, inside, share, density = well
    here = allowed(stand, share * inside, inside, density, stands=1000).stands
    assert allowed(stand, share * inside, inside, density * more, stands=1000).stands <= here
    assert allowed(stand * more, share * inside, inside, density, stands=1000).stands <= here
    wider = min(share * more, 0.99)
    assert allowed(stand, wider * inside, inside, density, stands=1000).stands <= here


@given(WELLS, st.floats(1e3, 1e7))
def test_length_for_and_pressure_of_the_drop_undo_each_other(well: tuple[float, float, float, float], pressure_pa: float) -> None:
    _, inside, share, density = well
    closed = share * inside
    length = length_for(pressure_pa, density, inside, closed)
    assert pressure(drop(length * closed, inside, closed), density) == pytest.approx(pressure_pa, rel=1e-9)
