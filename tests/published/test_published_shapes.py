"""Published volumes of round and sloped tanks. The sources stand in rows.json and in each test's id.

Left out: conical heads on a cylinder on its side and guppy heads, which are no shapes of ours, and the octagonal tank.
"""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from dipbook.quantities import read, to_unit
from dipbook.tanks.bounded import Bounded
from dipbook.tanks.cylinders import HorizontalCylinder
from dipbook.tanks.heads import Dish, Head
from dipbook.tanks.shapes import VerticalCylinder
from dipbook.tanks.sloped import Frustum
from dipbook.tanks.stacked import Stack
from published.rows import ROWS, Row, rows

IN = 0.0254


def metres(row: Row, key: str) -> float:
    """A length of a row's inputs [m]; what stands in brackets behind it is the source's remark."""
    return read(row.inputs[key].split("(")[0].strip(), "length").value


def spherical(diameter: float, depth: float) -> Head:
    """A head that is a part of a sphere, of a given depth: ρ = (R² + a²)/(2a), without a knuckle."""
    radius = (diameter**2 / 4 + depth**2) / (2 * depth)
    return Head("torispherical", diameter, None, radius / diameter, 0.0)


def lying(row: Row) -> Bounded:
    across, depth = metres(row, "D"), metres(row, "head_depth")
    head = Head("ellipsoidal", across, depth) if row.inputs["head"] == "ellipsoidal" else spherical(across, depth)
    assert head.depth == pytest.approx(depth)
    return HorizontalCylinder(metres(row, "L"), head)


@rows({"K02": "ellipsoidal", "K04": "spherical", "K09": "spherical"})
def test_a_cylinder_on_its_side_holds_what_is_printed(row: Row, case: str) -> None:
    assert row.inputs["head"] == case
    assert row.agrees(to_unit(lying(row).volume(metres(row, "h")), "gal[US]"))


def standing(row: Row) -> Bounded:
    across, depth, bottom = metres(row, "D"), metres(row, "bottom_depth"), row.inputs["bottom"]
    if bottom == "conical":
        part: Bounded = Frustum(0.0, across, depth)
    elif bottom == "ellipsoidal":
        part = Dish(Head("ellipsoidal", across, depth))
    elif bottom == "spherical":
        part = Dish(spherical(across, depth))
    else:  # the depth of the row is not this head's: its own follows from f and k
        part = Dish(Head("torispherical", across, None, 1.0, 0.06))
    return Stack((part, VerticalCylinder(across, 3.0)))


@rows({"K12": "ellipsoidal", "K13": "spherical", "K14": "torispherical f=1 k=0.06", "K15": "conical"})
def test_a_standing_cylinder_with_a_shaped_bottom_holds_what_is_printed(row: Row, case: str) -> None:
    assert row.inputs["bottom"] == case
    assert row.agrees(to_unit(standing(row).volume(metres(row, "h")), "gal[US]"))


def sphere(diameter: float, level: float) -> float:
    """Two hemispherical heads without a cylinder between them [m3]."""
    return 2 * float(Head("hemispherical", diameter).on_its_side(np.array([level]))[0][0])


@rows({"K26": None})
def test_a_full_sphere_holds_what_is_printed(row: Row, case: None) -> None:
    across = metres(row, "D")
    assert row.agrees(to_unit(sphere(across, across), "bbl"))


@pytest.mark.parametrize("share", [0.1, 0.5, 0.8])
@rows({"K27": "bbl", "K28": "gal[US]"})
def test_a_sphere_in_part_has_the_coefficient_of_its_formula(row: Row, case: str, share: float) -> None:
    """The row of grade D prints 0.000227 where 0.00227 is right, π/6 of an inch cubed in gallons: we meet that one."""
    across, level = 100.0, 100.0 * share  # inches
    ours = to_unit(sphere(across * IN, level * IN), case) / (level**2 * (3 * across - 2 * level))
    if row.grade == "D":
        assert not row.agrees(ours)
        assert ours == pytest.approx(pi / 6 / 231)
        assert ours == pytest.approx(10 * row.published_value, rel=0.002)
    else:
        assert row.agrees(ours)


@rows({"K32": None, "K35": None, "K36": None})
def test_the_share_of_a_cylinder_on_its_side_is_the_tables(row: Row, case: None) -> None:
    shape = HorizontalCylinder(7.0, Head("flat", 2.2))
    assert row.agrees(shape.volume(row.inputs["h/D"] * 2.2) / shape.volume(2.2))


@pytest.mark.parametrize("head", [Head("hemispherical", 2.2), Head("ellipsoidal", 2.2), Head("ellipsoidal", 2.2, 0.9)], ids=str)
@rows({"K37": None, "K38": None, "K39": None, "K40": None})
def test_the_share_of_a_head_on_its_side_is_the_tables(row: Row, case: None, head: Head) -> None:
    part, full = head.on_its_side(np.array([row.inputs["h/D"] * 2.2, 2.2]))[0]
    assert row.agrees(part / full)


@rows({"K42": None})
def test_a_hemispherical_head_holds_what_handbooks_say(row: Row, case: None) -> None:
    assert row.agrees(Dish(Head("hemispherical", 1.0)).volume(0.5))
    assert row.agrees(float(Head("hemispherical", 1.0).on_its_side(np.array([1.0]))[0][0]))


@rows({"K43": None})
def test_the_usual_head_is_as_deep_as_handbooks_say(row: Row, case: None) -> None:
    assert row.agrees(Head("torispherical", 1.0).depth)


# Rough rules. What is right is worked out apart from our classes, by integration of the head's slices.
@rows({"K44": 0.08099900429})
def test_the_shortcut_for_the_usual_heads_volume_is_not_met(row: Row, case: float) -> None:
    ours = Dish(Head("torispherical", 1.0))
    assert row.grade == "D"
    assert not row.agrees(ours.volume(ours.height))
    assert ours.volume(ours.height) == pytest.approx(case, rel=1e-9)
    assert row.published_value / case - 1 == pytest.approx(0.046, abs=0.001)  # the shortcut says 4.6 % too much


@rows({"K47": (1.0, 0.1, 0.1937742252), "K49": (0.8, 0.154, 0.2544727321)})
def test_the_standards_leading_term_for_a_depth_is_near_and_not_met(row: Row, case: tuple[float, float, float]) -> None:
    crown, knuckle, exact = case
    ours = Head("torispherical", 1.0, None, crown, knuckle).depth
    assert row.grade == "D"
    assert ours == pytest.approx(exact, rel=1e-9)
    assert not row.agrees(ours)
    assert ours == pytest.approx(row.published_value, rel=0.003)


@rows({"K45": None})
def test_a_frustum_worked_with_three_for_pi(row: Row, case: None) -> None:
    big, small, high = (metres(row, key) for key in ("R", "r", "h"))
    assert row.grade == "C"
    assert row.agrees(3 * high / 3 * (big**2 + big * small + small**2))
    exact = Frustum(2 * small, 2 * big, high)
    assert exact.volume(high) == pytest.approx(row.published_value, rel=0.048)  # π instead of 3: 4.7 % more
    assert exact.volume(high) == pytest.approx(row.published_value * pi / 3)


USED = {"K02", "K04", "K09", "K12", "K13", "K14", "K15", "K26", "K27", "K28", "K32", "K35", "K36", "K37", "K38", "K39", "K40",
        "K42", "K43", "K44", "K45", "K47", "K49"}
assert ROWS.keys() >= USED
