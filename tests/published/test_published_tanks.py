"""Published tank volumes. The sources stand in rows.json and in each test's id."""

from __future__ import annotations

import pytest

from dipbook.quantities import read, to_unit
from dipbook.tanks.shapes import Box, Shape, VerticalCylinder
from published.rows import Row, rows


def shape(row: Row) -> Shape:
    side = {key: read(text, "length").value for key, text in row.inputs.items()}
    if "D" in side:
        return VerticalCylinder(side["D"], side["H"])
    return Box(side["L"], side["W"], side["H"])


def full(row: Row) -> float:
    """Volume of the full tank [bbl]."""
    tank = shape(row)
    return to_unit(tank.volume(tank.height), "bbl")


# The value by the source's constants (5.6146 ft3 a barrel; 0.7854 for π/4): 0.0003 % from exact for the first,
# 0.0006 % with the second as well.
BY_CONSTANTS = {"K19": 35 * 7 * 5 / 5.6146, "K20": 9 * 5 * 8 / 5.6146, "K22": 0.7854 * 20**2 * 5 / 5.6146}


@rows(BY_CONSTANTS)
def test_the_sources_constant_gives_the_printed_volume_and_geometry_agrees_nearly(row: Row, case: float) -> None:
    assert row.grade == "C"
    assert row.agrees(case)
    assert full(row) == pytest.approx(case, rel=6e-6)


@rows({"K21": None})
def test_a_printed_box_is_met(row: Row, case: None) -> None:
    assert row.grade == "A"
    assert row.agrees(full(row))


USED = {*BY_CONSTANTS, "K21"}
