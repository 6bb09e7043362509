"""A tank's shape in words, so that every difference between two of them shows."""

from __future__ import annotations

from collections.abc import Callable

from dipbook.tanks.cylinders import HorizontalCylinder
from dipbook.tanks.heads import Dish, Head
from dipbook.tanks.shapes import Box, Shape, VerticalCylinder
from dipbook.tanks.sloped import Frustum, Hopper, VBottom
from dipbook.tanks.stacked import Compartments, Stack

Say = Callable[[float], str]


def shape_in_words(shape: Shape, say: Say) -> str:
    """``hopper 10 ft × 8 ft, floor 2 ft × 2 ft, 4 ft high``.

    shape: any but a strapping table, which is told by its rows elsewhere. say: a length [m] in the rig's unit.
    """
    if isinstance(shape, Box):
        return f"box {say(shape.length)} × {say(shape.width)} × {say(shape.height)}"
    if isinstance(shape, VerticalCylinder):
        return f"vertical cylinder {say(shape.diameter)} × {say(shape.height)}"
    if isinstance(shape, HorizontalCylinder):
        return f"horizontal cylinder {say(shape.head.diameter)} × {say(shape.length)}, heads {_head(shape.head, say)}"
    if isinstance(shape, VBottom):
        return (f"v bottom {say(shape.length)} × {say(shape.width)} × {say(shape.height)}, floor "
                f"{say(shape.floor_width)} wide, slope {say(shape.slope_height)} high")
    if isinstance(shape, Hopper):
        return (f"hopper {say(shape.length)} × {say(shape.width)}, floor {say(shape.bottom_length)} × "
                f"{say(shape.bottom_width)}, {say(shape.height)} high")
    if isinstance(shape, Frustum):
        return f"frustum {say(shape.bottom_diameter)} to {say(shape.top_diameter)}, {say(shape.height)} high"
    if isinstance(shape, Dish):
        return f"dish {say(shape.head.diameter)}, {_head(shape.head, say)}"
    if isinstance(shape, Stack):
        return f"stack of ({' + '.join(shape_in_words(part, say) for part in shape.parts)})"
    if isinstance(shape, Compartments):
        parts = (f"{shape_in_words(part, say)} with its floor at {say(floor)}" for part, floor in shape.parts)
        return f"compartments ({' | '.join(parts)})"
    return "strapping table"


def _head(head: Head, say: Say) -> str:
    if head.form == "ellipsoidal":
        return f"ellipsoidal {say(head.depth)} deep"
    return f"torispherical {head.crown:g}, {head.knuckle:g}" if head.form == "torispherical" else head.form
