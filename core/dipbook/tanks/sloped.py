"""Shapes with flat, sloped walls: a trough, a hopper, a cone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from dipbook.tanks.bounded import Bounded, check_shares, check_sizes
from dipbook.tanks.outlines import Section


@dataclass(frozen=True)
class VBottom(Bounded):
    """A trough with a box above it: sides slope in to a narrower floor along the whole length.

    length, width: inside, at the top [m]. floor_width: of the flat floor [m], 0 for a sharp V. slope_height: height of
    the sloped part [m]. full_height: height in all [m]; above the slope the walls are upright.
    A floor that slopes to one side only holds the same. V = L (w₀ h + (W − w₀) h²/(2 hs)) up to hs.
    """

    length: float
    width: float
    floor_width: float
    slope_height: float
    full_height: float

    def __post_init__(self) -> None:
        check_sizes(length=self.length, width=self.width, slope_height=self.slope_height, height=self.full_height)
        check_shares(floor_width=self.floor_width)
        if self.slope_height > self.full_height:
            raise ValueError("slope_height must not be above the height")

    @property
    def height(self) -> float:
        """Inside height [m]."""
        return self.full_height

    def outline(self) -> tuple[Section, ...]:
        """The cross-section across the length."""
        wide = self.width / 2
        points = ((self.floor_width / 2, 0.0), (wide, self.slope_height))
        upright = () if self.slope_height == self.full_height else ((wide, self.full_height),)
        return (Section(0.0, (*points, *upright)),)

    def _gross(self, h: Any) -> Any:
        low = np.minimum(h, self.slope_height)
        trough = self.floor_width * low + (self.width - self.floor_width) * low**2 / (2.0 * self.slope_height)
        return self.length * (trough + self.width * (h - low))

    def _area(self, h: Any) -> Any:
        share = np.minimum(h / self.slope_height, 1.0)
        return self.length * (self.floor_width + (self.width - self.floor_width) * share)


@dataclass(frozen=True)
class Hopper(Bounded):
    """A rectangular hopper: a prismatoid between a top and a smaller or larger bottom.

    length, width: inside, at the top [m]. bottom_length, bottom_width: of the floor [m], 0 in one for an edge, in both
    for a point. top_height: its height [m]. With sides that run straight the area is a quadratic of the level, so
    V = h (A₁ + 4 Am + A₂)/6 is exact (the prismatoid's formula); here it is integrated term by term.
    """

    length: float
    width: float
    bottom_length: float
    bottom_width: float
    top_height: float

    def __post_init__(self) -> None:
        check_sizes(length=self.length, width=self.width, height=self.top_height)
        check_shares(bottom_length=self.bottom_length, bottom_width=self.bottom_width)

    @property
    def height(self) -> float:
        """Inside height [m]."""
        return self.top_height

    def outline(self) -> tuple[Section, ...]:
        """The cross-section across the length."""
        return (Section(0.0, ((self.bottom_width / 2, 0.0), (self.width / 2, self.top_height))),)

    def _gross(self, h: Any) -> Any:
        a, b = self.bottom_length, self.bottom_width
        p, q = (self.length - a) / self.top_height, (self.width - b) / self.top_height
        return h * (a * b + h * ((a * q + b * p) / 2.0 + h * (p * q / 3.0)))

    def _area(self, h: Any) -> Any:
        share = h / self.top_height
        long = self.bottom_length + (self.length - self.bottom_length) * share
        return long * (self.bottom_width + (self.width - self.bottom_width) * share)


@dataclass(frozen=True)
class Frustum(Bounded):
    """A standing cone or a part of one.

    bottom_diameter: inside [m], 0 for a cone that ends in a point. top_diameter: inside [m]. top_height: its height
    [m]. V = (π h/3)(R² + R r + r²) to the radius at h.
    """

    bottom_diameter: float
    top_diameter: float
    top_height: float

    def __post_init__(self) -> None:
        check_sizes(top_diameter=self.top_diameter, height=self.top_height)
        check_shares(bottom_diameter=self.bottom_diameter)

    @property
    def height(self) -> float:
        """Inside height [m]."""
        return self.top_height

    def outline(self) -> tuple[Section, ...]:
        """The cross-section through the axis."""
        return (Section(0.0, ((self.bottom_diameter / 2, 0.0), (self.top_diameter / 2, self.top_height))),)

    def _radius(self, h: Any) -> Any:
        return (self.bottom_diameter + (self.top_diameter - self.bottom_diameter) * (h / self.top_height)) / 2.0

    def _gross(self, h: Any) -> Any:
        small, wide = self.bottom_diameter / 2.0, self._radius(h)
        return np.pi / 3.0 * h * (wide**2 + wide * small + small**2)

    def _area(self, h: Any) -> Any:
        return np.pi * self._radius(h) ** 2
