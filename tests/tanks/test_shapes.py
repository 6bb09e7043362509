"""Shapes against numerical integration of their cross-section, and there and back."""

from __future__ import annotations

from itertools import pairwise
from math import nan, pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from dipbook.tanks.shapes import Box, Strapping, VerticalCylinder
from dipbook.tanks.tank import Tank

FT, IN, BBL = 0.3048, 0.0254, 0.158987294928

BOX = Box(30 * FT, 8 * FT, 9 * FT)
CYLINDER = VerticalCylinder(12 * FT, 10 * FT)
SIZES = st.floats(0.05, 20.0)
SHARES = st.floats(0.0, 1.0, allow_subnormal=False).map(lambda share: 0.0 if share < 1e-9 else share)


@given(SIZES, SIZES, SIZES, SHARES)
def test_a_boxs_volume_is_the_integral_of_its_width(length: float, width: float, height: float, share: float) -> None:
    box = Box(length, width, height)
    level = share * height
    integral, _ = quad(lambda _: length * width, 0.0, level)
    assert box.volume(level) == pytest.approx(integral, rel=1e-9, abs=1e-12)


@given(SIZES, SIZES, SHARES)
def test_a_cylinders_volume_is_the_integral_of_its_chords(diameter: float, height: float, share: float) -> None:
    cylinder = VerticalCylinder(diameter, height)
    r = diameter / 2
    floor, _ = quad(lambda x: 2 * sqrt(max(r * r - x * x, 0.0)), -r, r)
    assert cylinder.volume(share * height) == pytest.approx(floor * share * height, rel=1e-7, abs=1e-12)


@st.composite
def strappings(draw: st.DrawFn) -> Strapping:
    steps = st.lists(st.tuples(st.floats(0.01, 2.0), st.floats(0.01, 50.0)), min_size=1, max_size=20)
    rows = draw(steps)
    start = draw(st.floats(0.0, 1.0))
    levels = start + np.cumsum([0.0, *(dh for dh, _ in rows)])
    volumes = start + np.cumsum([0.0, *(dv for _, dv in rows)])
    return Strapping(tuple(levels.tolist()), tuple(volumes.tolist()))


@given(strappings(), SHARES)
def test_a_strapping_tables_volume_is_the_integral_of_its_slope(table: Strapping, share: float) -> None:
    low, high = table.levels[0], table.levels[-1]
    level = low + share * (high - low)
    edges = [edge for edge in table.levels if edge < level] + [level]
    pieces = [quad(table.slope, a, b)[0] for a, b in pairwise(edges) if b - a > 1e-12]
    assert table.volume(level) == pytest.approx(table.volumes[0] + sum(pieces), rel=1e-6, abs=1e-6)


@given(strappings(), SHARES)
def test_a_level_leads_to_a_volume_and_back(table: Strapping, share: float) -> None:
    level = table.levels[0] + share * (table.levels[-1] - table.levels[0])
    assert table.level(table.volume(level)) == pytest.approx(level, abs=1e-6)
    volume = table.volumes[0] + share * (table.volumes[-1] - table.volumes[0])
    assert table.volume(table.level(volume)) == pytest.approx(volume, abs=1e-6)


@pytest.mark.parametrize("shape", [BOX, CYLINDER])
@given(level=st.floats(-5.0, 20.0))
def test_nothing_is_clamped_where_the_formula_goes_on(shape: Box | VerticalCylinder, level: float) -> None:
    assert shape.level(shape.volume(level)) == pytest.approx(level, abs=1e-12)
    assert shape.volume(level) == pytest.approx(level * shape.slope(level), abs=1e-12)


def test_outside_a_strapping_table_nothing_is_known() -> None:
    table = Strapping((0.2, 1.0, 2.0), (1.0, 5.0, 12.0))
    for level in (0.0, 0.199, 2.001, -1.0, nan):
        assert np.isnan(table.volume(level))
        assert np.isnan(table.slope(level))
    assert np.isnan(table.level(0.5))
    assert np.isnan(table.level(12.1))
    assert (table.volume(0.2), table.volume(2.0), table.level(12.0)) == (1.0, 12.0, 2.0)
    assert table.height == 2.0


def test_rounding_alone_doesnt_put_a_level_outside_the_table() -> None:
    brim = 108 * IN
    table = Strapping((0.0, brim), (0.0, 60.0))
    above = 120 * IN - 12 * IN + 4e-16
    assert above > brim
    assert table.volume(above) == 60.0
    assert table.volume(np.array([above, -1e-16])).tolist() == [60.0, 0.0]
    assert table.slope(above) == pytest.approx(60.0 / brim)


def test_the_slope_at_a_row_is_that_of_the_interval_above_it() -> None:
    table = Strapping((0.0, 1.0, 2.0), (0.0, 4.0, 10.0))
    assert [table.slope(x) for x in (0.0, 0.5, 1.0, 1.5, 2.0)] == [4.0, 4.0, 6.0, 6.0, 6.0]


@pytest.mark.parametrize("shape", [BOX, CYLINDER, Strapping((0.0, 1.0, 3.0), (0.0, 4.0, 20.0))])
def test_arrays_give_what_scalars_give(shape: Box | VerticalCylinder | Strapping) -> None:
    levels = np.linspace(0.0, 2.9, 31)
    for ask in (shape.volume, shape.slope, shape.level):
        np.testing.assert_array_equal(ask(levels), [ask(float(x)) for x in levels])


@pytest.mark.parametrize("make", [
    lambda: Box(0.0, 1.0, 1.0), lambda: Box(1.0, -1.0, 1.0), lambda: Box(1.0, 1.0, nan), lambda: VerticalCylinder(0.0, 1.0),
    lambda: VerticalCylinder(1.0, float("inf")), lambda: Strapping((0.0,), (0.0,)), lambda: Strapping((0.0, 1.0), (0.0,)),
    lambda: Strapping((0.0, 0.0), (0.0, 1.0)), lambda: Strapping((0.0, 1.0), (1.0, 1.0)), lambda: Strapping((0.0, nan), (0.0, 1.0)),
])
def test_a_shape_that_cannot_be_is_refused(make: object) -> None:
    with pytest.raises(ValueError, match=r"above zero|strapping table"):
        make()


def test_an_inch_of_a_ten_by_thirty_foot_tank_is_4_45_barrels() -> None:
    # area [ft2] / 67.375; domain figure, derived from exact definitions
    assert Box(30 * FT, 10 * FT, 9 * FT).slope(1.0) * IN / BBL == pytest.approx(300 / 67.375)


def tank(**other: object) -> Tank:
    return Tank(**({"name": "Suction", "role": "suction", "active": True, "order": 1, "shape": BOX} | other))


def test_internals_take_their_share_of_every_level() -> None:
    full = tank(internals_m3=BOX.volume(BOX.height) * 0.02)
    assert full.volume(1.0) == pytest.approx(0.98 * BOX.volume(1.0))
    assert full.slope(1.0) == pytest.approx(0.98 * BOX.slope(1.0))
    assert full.level(full.volume(1.3)) == pytest.approx(1.3)
    assert full.capacity_m3 == pytest.approx(0.98 * BOX.volume(9 * FT))


@given(st.floats(0.0, 3.0), st.floats(0.0, 4.0), st.sampled_from(["up", "down"]))
def test_a_dip_leads_to_a_level_and_back_in_either_datum(dip: float, mark: float, gauge: str) -> None:
    t = tank(gauge=gauge, mark_m=mark, offset_m=0.05)
    assert t.dip_of_level(t.level_of_dip(dip)) == pytest.approx(dip, abs=1e-12)
    assert t.level_of_dip(dip) == pytest.approx(mark - dip if gauge == "down" else dip + 0.05, abs=1e-12)


def test_the_area_of_a_cylinder_is_that_of_its_circle() -> None:
    assert CYLINDER.area == pytest.approx(pi * (6 * FT) ** 2)
