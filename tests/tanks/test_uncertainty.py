"""The uncertainty of one dip."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest

from dipbook.tanks.cylinders import HorizontalCylinder
from dipbook.tanks.heads import Head
from dipbook.tanks.shapes import Box, Shape, Strapping
from dipbook.tanks.sloped import VBottom
from dipbook.tanks.stacked import Stack
from dipbook.tanks.tank import Tank
from dipbook.tanks.uncertainty import dip_uncertainty, tank_uncertainty

FT, IN, BBL = 0.3048, 0.0254, 0.158987294928
AREA = 8 * FT * 30 * FT


def test_a_quarter_inch_on_eight_by_thirty_feet_is_0_514_barrels() -> None:
    assert dip_uncertainty(AREA * IN / 4) / BBL == pytest.approx(0.514, abs=5e-4)


def test_it_is_the_spread_of_evenly_spread_errors() -> None:
    # An independent check: draw errors of level and time evenly over their half-widths.
    rng = np.random.default_rng(1)
    a, rate, half = IN / 4, 5 * BBL / 60, 180.0
    volume = AREA * rng.uniform(-a, a, 400_000) + rate * rng.uniform(-half, half, 400_000)
    assert dip_uncertainty(AREA * a, rate, half) == pytest.approx(float(np.std(volume)), rel=0.01)


def test_a_falling_tank_is_as_uncertain_as_a_rising_one() -> None:
    assert dip_uncertainty(0.0, -0.01, 60.0) == dip_uncertainty(0.0, 0.01, 60.0) == pytest.approx(0.6 / sqrt(3))


def test_what_isnt_known_isnt_zero() -> None:
    assert np.isnan(dip_uncertainty(float("nan"), 0.0, 0.0))


def test_arrays_are_taken_element_by_element() -> None:
    u = dip_uncertainty(np.array([AREA * IN / 4, np.nan, 0.0]), np.array([0.0, 0.0, 1.0]), np.array([0.0, 0.0, 3.0]))
    np.testing.assert_allclose(u, [dip_uncertainty(AREA * IN / 4), np.nan, sqrt(3)])


def test_a_tank_brings_its_own_slope_and_dip_error() -> None:
    box = Tank("A", "suction", True, 1, Box(30 * FT, 8 * FT, 9 * FT), dip_error_m=IN / 4)
    assert tank_uncertainty(box, 1.0) == dip_uncertainty(AREA * IN / 4)
    assert tank_uncertainty(box, 1.0, half_width_m=IN / 2) == pytest.approx(2 * dip_uncertainty(AREA * IN / 4))
    assert np.isnan(tank_uncertainty(Tank("B", "suction", True, 1, box.shape), 1.0))
    strapped = Tank("C", "trip", False, 1, Strapping((0.0, 1.0, 2.0), (0.0, 4.0, 10.0)), dip_error_m=0.01)
    np.testing.assert_allclose(tank_uncertainty(strapped, np.array([0.5, 1.5, 2.5])) * sqrt(3), [0.04, 0.06, np.nan])


def worst(tank: Tank, level: float, a: float) -> float:
    """Half-width of the volume [m3], looked for by trying levels."""
    tried = tank.volume(np.linspace(level - a, level + a, 2001))
    return float(np.nanmax(np.abs(tried - tank.volume(level))))


@pytest.mark.parametrize(("shape", "level"), [
    (Stack((Box(8 * FT, 30 * FT, 4 * FT), Box(3 * FT, 3 * FT, 4 * FT))), 4 * FT),       # a neck on a wide part, at the step
    (Stack((Box(8 * FT, 30 * FT, 4 * FT), Box(3 * FT, 3 * FT, 4 * FT))), 4 * FT + 0.004),
    (Strapping((0.0, 1.0, 1.001, 2.0), (0.0, 20.0, 20.0001, 45.0)), 1.0),                # a short row that hardly rises
    (VBottom(30 * FT, 8 * FT, 0.0, 2 * FT, 8 * FT), 0.0),                                # a sharp floor: the slope there is 0
    (HorizontalCylinder(6.0, Head("flat", 2.0)), 2.0),                                               # full: the slope there is 0
])
def test_where_the_slope_at_the_level_tells_too_little_what_lies_within_the_error_counts(shape: Shape, level: float) -> None:
    tank = Tank("A", "suction", True, 1, shape, dip_error_m=IN / 4)
    by_slope = float(tank.slope(level)) * IN / 4
    assert worst(tank, level, IN / 4) > 1.5 * by_slope, "or this case shows nothing"
    assert float(tank_uncertainty(tank, level)) * sqrt(3) == pytest.approx(worst(tank, level, IN / 4), rel=1e-3)
