"""Reads a [tank.shape] table of a rig file. The bounds on sizes only catch slips (common practice, no source)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import sqrt
from types import MappingProxyType

from dipbook.rig.locating import Path
from dipbook.rig.reading import TableReader, shown
from dipbook.rig.strapping_section import read_strapping
from dipbook.tanks.cylinders import HorizontalCylinder
from dipbook.tanks.heads import FORMS, USUAL_CROWN, USUAL_ELLIPSE, USUAL_KNUCKLE, Dish, Head
from dipbook.tanks.shapes import Box, Shape, VerticalCylinder
from dipbook.tanks.sloped import Frustum, Hopper, VBottom
from dipbook.tanks.stacked import Compartments, Stack

LONGEST, TALLEST = 30.0, 15.0
"""Sides above these are slips [m]."""
MOST_PARTS, DEEPEST = 20, 4
"""Parts in one table, and tables of parts within each other."""
STEP = 0.03
"""Share by which the areas of two stacked parts may differ where they meet before it is asked about."""


def read_shape(reader: TableReader) -> Shape | None:
    """The tank's shape, or None with problems. reader: of the tank's table."""
    value = reader.take("shape", needed='a table [tank.shape] with kind = "box", "vertical cylinder", "strapping" or '
                                        "another")
    if value is None:
        return None
    if not isinstance(value, Mapping):
        reader.problem("shape", f"{shown(value)} isn't a table; expected [tank.shape]")
        return None
    shape = TableReader(value, (*reader.path, "shape"), reader.report, reader.ways)
    return _shape(shape, 1)


def _shape(shape: TableReader, depth: int) -> Shape | None:
    whole = depth == 1
    kind = shape.choice("kind", KINDS if whole else PARTS, "a shape" if whole else "a shape that can be a part",
                        needed=True)
    if kind is None:
        return None
    if kind in ("stack", "compartments"):
        made: Shape | None = _parts(shape, kind, depth)
    elif kind == "strapping":
        made = read_strapping(shape)
    else:
        made = _READERS[kind](shape)
    shape.end()
    return made


def _side(shape: TableReader, key: str, high: float = LONGEST, what: str = "") -> float | None:
    return shape.quantity(key, "length", 0.1, high, bare="length", needed=f'the inside {what or key}, like "9 ft"')


def _bottom(shape: TableReader, key: str, what: str) -> float | None:
    """A side that may be 0."""
    return shape.quantity(key, "length", 0.01, LONGEST, bare="length", zero=True,
                          needed=f'{what}, like "2 ft", or "0 ft"')


def _height(shape: TableReader) -> float | None:
    """The height of a whole tank or of a part, which may be low."""
    part = "parts" in shape.path
    return shape.quantity("height", "length", 0.01 if part else 0.1, TALLEST, bare="length",
                          needed='the inside height, like "9 ft"')


def _box(shape: TableReader) -> Shape | None:
    length, width, height = _side(shape, "length"), _side(shape, "width"), _height(shape)
    return None if length is None or width is None or height is None else Box(length, width, height)


def _vertical(shape: TableReader) -> Shape | None:
    across, tall = _side(shape, "diameter"), _height(shape)
    return None if across is None or tall is None else VerticalCylinder(across, tall)


def _horizontal(shape: TableReader) -> Shape | None:
    across = _side(shape, "diameter", TALLEST)
    length = _side(shape, "length", what="length without the heads")
    head = _head(shape, "heads", FORMS, across)
    return None if length is None or head is None else HorizontalCylinder(length, head)


def _dish(shape: TableReader) -> Shape | None:
    head = _head(shape, "head", FORMS[1:], _side(shape, "diameter", TALLEST))
    return None if head is None else Dish(head)


def _v_bottom(shape: TableReader) -> Shape | None:
    length, width = _side(shape, "length"), _side(shape, "width")
    floor = _bottom(shape, "floor_width", "the width of the flat floor")
    slope = shape.quantity("slope_height", "length", 0.01, TALLEST, bare="length",
                           needed='the height of the sloped part, like "3 ft"')
    height = _height(shape)
    if length is None or width is None or floor is None or slope is None or height is None:
        return None
    if slope > height + 1e-9:
        shape.problem("slope_height", f"{shown(shape.table['slope_height'])} is above the whole height; "
                                      "expected at most that")
        return None
    if floor > width + 1e-9:
        shape.problem("floor_width", f"{shown(shape.table['floor_width'])} is wider than the tank; "
                                     "expected at most its width")
        return None
    return VBottom(length, width, floor, min(slope, height), height)


def _hopper(shape: TableReader) -> Shape | None:
    length, width = _side(shape, "length", what="length at the top"), _side(shape, "width", what="width at the top")
    floor = (_bottom(shape, "bottom_length", "the length of the floor"),
             _bottom(shape, "bottom_width", "the width of the floor"))
    height = _height(shape)
    if length is None or width is None or floor[0] is None or floor[1] is None or height is None:
        return None
    return Hopper(length, width, floor[0], floor[1], height)


def _frustum(shape: TableReader) -> Shape | None:
    bottom = _bottom(shape, "bottom_diameter", "the diameter at the bottom")
    top, height = _side(shape, "top_diameter", what="diameter at the top"), _height(shape)
    return None if bottom is None or top is None or height is None else Frustum(bottom, top, height)


_READERS: Mapping[str, Callable[[TableReader], Shape | None]] = MappingProxyType({
    "box": _box, "vertical cylinder": _vertical, "horizontal cylinder": _horizontal, "v bottom": _v_bottom,
    "hopper": _hopper, "frustum": _frustum, "dish": _dish})
PARTS = (*_READERS, "stack", "compartments")
KINDS = (*PARTS, "strapping")
"""Words for shapes. A strapping table describes a whole tank, never a part."""


def _head(shape: TableReader, key: str, forms: tuple[str, ...], across: float | None) -> Head | None:
    """A head and the keys that go with its form."""
    before = len(shape.report.found)
    form = shape.choice(key, forms, "a head", needed=True)
    depth = shape.quantity("head_depth", "length", 0.01, TALLEST, bare="length")
    crown = shape.number("crown", 0.5, 5.0, "the crown's radius as a share of the diameter")
    knuckle = shape.number("knuckle", 0.0, 0.5, "the knuckle's radius as a share of the diameter")
    for own, needs, value in (("head_depth", "ellipsoidal", depth), ("crown", "torispherical", crown),
                              ("knuckle", "torispherical", knuckle)):
        if value is not None and form is not None and form != needs:
            shape.problem(own, f'is only for "{needs}" and this one is "{form}"; expected none here')
    if form == "torispherical":
        crown, knuckle = crown or USUAL_CROWN, USUAL_KNUCKLE if knuckle is None else knuckle
        if knuckle >= crown:
            shape.problem("knuckle", f"{knuckle:g} isn't smaller than the crown's radius, {crown:g}; "
                                     "expected a smaller one")
    if form is None or across is None or len(shape.report.found) > before:
        return None
    if form == "ellipsoidal" and depth is None:
        _taken(shape, key, f"head_depth isn't set: a quarter of the diameter is taken (2:1), "
                           f"{shape.level(USUAL_ELLIPSE * across)}.")
    if form == "torispherical" and not (shape.has("crown") and shape.has("knuckle")):
        deep = shape.level(Head(form, across, None, crown or USUAL_CROWN, knuckle or 0.0).depth)
        _taken(shape, key, f"crown or knuckle isn't set: radii of {crown:g} and {knuckle:g} diameters are taken, a "
                           f"depth of {deep}.")
    if form != "torispherical":
        return Head(form, across, depth)
    return Head(form, across, None, crown or USUAL_CROWN, knuckle or 0.0)


def _taken(shape: TableReader, key: str, what: str) -> None:
    tank = shape.report.titles.get(shape.path[:2], "")
    shape.report.finding((*shape.path, key), "usual_head", f"Tank {tank}: {what}", severity="note", tank=tank)


def _parts(shape: TableReader, kind: str, depth: int) -> Shape | None:
    rows = shape.take("parts", needed='a list of shapes, like [{ kind = "frustum", … }, { kind = "box", … }]')
    if rows is None:
        return None
    if not isinstance(rows, list) or not 1 <= len(rows) <= MOST_PARTS or not all(isinstance(r, Mapping) for r in rows):
        shape.problem("parts", f"isn't a list of shapes; expected 1 to {MOST_PARTS} tables in [brackets], each with a "
                               "kind")
        return None
    if depth >= DEEPEST:
        shape.problem("parts", f"stands within {DEEPEST - 1} others; expected fewer parts within parts")
        return None
    made: list[Shape] = []
    floors: list[float] = []
    for n, row in enumerate(rows):
        part = TableReader(row, (*shape.path, "parts", n), shape.report, shape.ways)
        if kind == "compartments":
            floor = part.quantity("floor", "length", 0.001, TALLEST, bare="length", zero=True,
                                  needed='the height of its floor above the lowest one, like "0 ft"')
            floors.append(-1.0 if floor is None else floor)
        one = _shape(part, depth + 1)
        if one is not None:
            made.append(one)
    if len(made) < len(rows) or min(floors, default=0.0) < 0.0:
        return None
    return _stack(shape, made) if kind == "stack" else _compartments(shape, made, floors)


def _stack(shape: TableReader, parts: list[Shape]) -> Shape | None:
    made = Stack(tuple(parts))
    if not _tall_enough(shape, made):
        return None
    tank = shape.report.titles.get(shape.path[:2], "")
    for n in made.steps(STEP):
        areas = float(parts[n].slope(parts[n].height)), float(parts[n + 1].slope(0.0))
        sides = [shape.level(sqrt(area)) for area in areas]
        shape.report.finding((*shape.path, "parts", n + 1), "step",
                             f"Tank {tank}: part {n + 2} of the stack begins with another area than part {n + 1} ends "
                             f"with (squares of {sides[1]} and {sides[0]}). Is that step there?", tank=tank)
    return made


def _compartments(shape: TableReader, parts: list[Shape], floors: list[float]) -> Shape | None:
    at: Path = (*shape.path, "parts")
    if min(floors) > 0.0:
        shape.report.problem(at, "has no compartment whose floor is 0; expected one: floors are heights above the "
                             "lowest")
        return None
    tops = [floor + part.height for part, floor in zip(parts, floors, strict=True)]
    if max(floors) >= min(tops):
        n = floors.index(max(floors))
        typed, low = shown(shape.table["parts"][n]["floor"]), shape.level(min(tops))
        shape.report.problem((*at, n, "floor"), f"{typed} isn't below the lowest top, {low}; expected a floor below "
                             "it: compartments always stand at one level")
        return None
    made = Compartments(tuple(zip(parts, floors, strict=True)))
    if not _tall_enough(shape, made):
        return None
    if max(tops) - min(tops) > 1e-6:
        tank = shape.report.titles.get(shape.path[:2], "")
        shape.report.finding(at, "uneven_tops", f"Tank {tank}: its compartments end at different heights. Above the "
                             f"lowest top, {shape.level(min(tops))}, the volume is unknown.", tank=tank)
    return made


def _tall_enough(shape: TableReader, made: Shape) -> bool:
    if made.height <= TALLEST + 1e-9:
        return True
    shape.problem("parts", f"are {shape.level(made.height)} high together: too large to be real; expected at most "
                           f"{shape.level(TALLEST)}")
    return False
