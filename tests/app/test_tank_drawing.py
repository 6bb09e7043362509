"""Every shape is drawn in its true cross-section: the mud's pixels are its area, on one scale."""

from __future__ import annotations

from dataclasses import replace

import pytest
from PySide6.QtGui import QImage
from scipy.integrate import quad
from situations import RIG, quiet

from builders import FT
from dipbook.tanks.cylinders import HorizontalCylinder
from dipbook.tanks.heads import Dish, Head
from dipbook.tanks.shapes import Box, Shape, VerticalCylinder
from dipbook.tanks.sloped import Frustum, Hopper, VBottom
from dipbook.tanks.stacked import Compartments, Stack
from dipbook_app.display import DisplayUnits
from dipbook_app.theme import NIGHT, Look
from dipbook_app.widgets.tank_drawing import TankDrawing, sections, span_m, width_m
from dipbook_app.widgets.tank_field import TankField

HOPPER = Hopper(8 * FT, 5 * FT, 1 * FT, 1 * FT, 4 * FT)
SHAPES: dict[str, Shape] = {
    "box": Box(30 * FT, 8 * FT, 9 * FT),
    "on its side": HorizontalCylinder(20 * FT, Head("ellipsoidal", 8 * FT)),
    "v bottom": VBottom(30 * FT, 8 * FT, 2 * FT, 3 * FT, 9 * FT),
    "sharp v": VBottom(30 * FT, 8 * FT, 0.0, 4 * FT, 9 * FT),
    "hopper": HOPPER,
    "cone": Frustum(0.0, 8 * FT, 6 * FT),
    "dished": Stack((Dish(Head("torispherical", 8 * FT)), VerticalCylinder(8 * FT, 6 * FT))),
    "two hoppers": Stack((Compartments(((HOPPER, 0.0), (HOPPER, 0.0))), Box(8 * FT, 10 * FT, 5 * FT))),
    "uneven": Compartments(((Box(8 * FT, 4 * FT, 9 * FT), 0.0), (VerticalCylinder(5 * FT, 7 * FT), 2 * FT))),
}
PX_M = 60.0
UNITS = DisplayUnits(RIG)


def drawn(qtbot, shape: Shape, look: Look, share: float) -> tuple[TankDrawing, QImage]:
    tank = replace(RIG.tanks[1], name="Settling", shape=shape, brim_m=None)
    level = share * shape.height
    view = replace(quiet().tanks[1], name="Settling", level_m=level, volume_m3=float(tank.volume(level)), stale=False,
                   held=False, flag="", limit_levels=(), previous_level_m=None)
    drawing = TankDrawing(look)
    qtbot.addWidget(drawing)
    drawing.resize(round(width_m(shape, shape.height) * PX_M) + 40, round(shape.height * PX_M) + 80)
    drawing.set_scale(PX_M)
    drawing.show_tank(view, tank, UNITS)
    return drawing, drawing.grab().toImage()


def width_below(shape: Shape, level: float) -> float:
    """The cross-section's area below a level [m2], by integration of its widths."""
    total = 0.0
    for section in sections(shape, shape.height):
        top = min(level, section.top)
        if top > section.low:
            edges = sorted({at for _, at in section.points if section.low < at < top})
            total += quad(lambda h, s=section: 2 * (s.half_at(h) or 0.0), section.low, top, points=edges[:90] or None,
                          limit=400)[0]
    return total


@pytest.mark.parametrize("palette", ["day", "night"])
@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("share", [0.3, 0.8])
def test_the_muds_pixels_are_its_cross_section(qtbot, name, palette, share):
    shape, look = SHAPES[name], Look() if palette == "day" else Look(palette=NIGHT)
    _, image = drawn(qtbot, shape, look, share)
    mud = look.colour("mud").rgb()
    seen = sum(image.pixel(x, y) == mud for x in range(image.width()) for y in range(image.height()))
    area = width_below(shape, share * shape.height) * PX_M**2
    # The pen along walls and surface, 2 px wide, covers about a pixel of the mud's edge all around.
    edge = (1 + len(shape.outline())) * (image.width() + image.height())
    assert area - edge < seen <= area + edge / 4


@pytest.mark.parametrize("name", SHAPES)
def test_a_drawing_stays_within_its_span_and_up_to_the_brim(name):
    shape = SHAPES[name]
    for top in (shape.height, 0.6 * shape.height):
        left, right = span_m(shape, top)
        for section in sections(shape, top):
            assert left - 1e-9 <= section.middle - section.half <= section.middle + section.half <= right + 1e-9
            assert section.top <= top + 1e-9
    assert max(section.top for section in sections(shape, shape.height)) == pytest.approx(shape.height, abs=1e-9)


def test_a_cylinder_on_its_side_is_as_wide_as_it_is_high():
    shape = SHAPES["on its side"]
    assert width_m(shape, shape.height) == pytest.approx(8 * FT)
    assert width_m(shape, 2 * FT) == pytest.approx(2 * (2 * FT * 6 * FT) ** 0.5, rel=1e-3)  # a chord: 2√(h(D − h))


@pytest.mark.parametrize("size", [(660, 300), (1100, 620)])
def test_the_letter_of_a_limit_is_not_cut_at_the_widest_tank(qtbot, size):
    rig = replace(RIG, tanks=(replace(RIG.tanks[1], shape=Box(9 * FT, 30 * FT, 9 * FT)),))
    field = TankField(Look())
    qtbot.addWidget(field)
    field.resize(*size)
    field.show()
    view = replace(quiet().tanks[1], limit_levels=(("high", 8 * FT),), stale=False)
    field.show_tanks((view,), rig, UNITS)
    (drawing,) = field.drawings
    beside = drawing._beside
    room = (drawing.width() - beside - width_m(rig.tanks[0].shape, 9 * FT) * drawing._scale) / 2
    assert room >= 8 + 9, "a tick of 6 px, 2 px between, and a letter"
