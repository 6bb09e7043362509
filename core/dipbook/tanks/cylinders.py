"""A cylinder that lies on its side, with or without heads."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from dipbook.tanks.bounded import Bounded, check_sizes
from dipbook.tanks.heads import Head
from dipbook.tanks.outlines import Section, arc


@dataclass(frozen=True)
class HorizontalCylinder(Bounded):
    """A cylinder on its side, dipped over its lowest line.

    length: of the cylinder alone, without its heads [m]. head: the same at both ends; its diameter is the cylinder's.
    V = L [R² arccos((R − h)/R) − (R − h) √(2Rh − h²)] and twice the head's.
    """

    length: float
    head: Head

    def __post_init__(self) -> None:
        check_sizes(length=self.length)

    @property
    def height(self) -> float:
        """Inside height [m]: the diameter."""
        return self.head.diameter

    def outline(self) -> tuple[Section, ...]:
        """The cross-section across the axis: a circle."""
        radius = self.head.diameter / 2.0
        return (Section(0.0, arc(radius, radius, upper=True)),)

    def _gross(self, h: Any) -> Any:
        return self.length * segment(self.head.diameter / 2.0, h) + 2.0 * self.head.on_its_side(h)[0]

    def _area(self, h: Any) -> Any:
        chord = 2.0 * np.sqrt(np.maximum(h * (self.head.diameter - h), 0.0))
        return self.length * chord + 2.0 * self.head.on_its_side(h)[1]


def segment(radius_m: float, h: Any) -> Any:
    """Area [m2] of a circle's part below a level, R²(2θ − sin 2θ)/2 with sin²(θ/2) = h/(2R).

    radius_m: of the circle [m]. h: levels above its lowest point [m], an array within the diameter.
    """
    turn = 4.0 * np.arcsin(np.sqrt(np.minimum(h / (2.0 * radius_m), 1.0)))
    return radius_m**2 / 2.0 * less_sine(turn)


def less_sine(x: Any) -> Any:
    """x − sin x. x: radians, an array from 0 up; by its series where the difference would lose digits."""
    square = x * x
    series = x * square / 6.0 * (1.0 - square / 20.0 * (1.0 - square / 42.0 * (1.0 - square / 72.0 * (
        1.0 - square / 110.0))))
    return np.where(x < 0.3, series, x - np.sin(x))
