"""Tanks made of several shapes: one on top of the other, or side by side with the mud at one level."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from dipbook.tanks.bounded import Bounded, check_shares
from dipbook.tanks.outlines import Section, abreast, stacked
from dipbook.tanks.shapes import Shape


@dataclass(frozen=True)
class Stack(Bounded):
    """Shapes on top of each other. parts: from the bottom up, each as high as it is; a step between two is allowed."""

    parts: tuple[Shape, ...]

    def __post_init__(self) -> None:
        if not self.parts:
            raise ValueError("a stack must have a part above zero")

    @property
    def height(self) -> float:
        """Inside height [m]: the parts' heights together."""
        return float(self._floors[-1])

    def outline(self) -> tuple[Section, ...]:
        """The parts' cross-sections on top of each other."""
        return stacked([part.outline() for part in self.parts], [part.height for part in self.parts])

    def steps(self, share: float) -> tuple[int, ...]:
        """Numbers of the parts, from 0, whose area at the top differs from that of the next one's bottom.

        share: of the larger of the two, from which on it counts [-].
        """
        found = []
        for n, (part, above) in enumerate(zip(self.parts[:-1], self.parts[1:], strict=True)):
            areas = float(part.slope(part.height)), float(above.slope(0.0))
            if abs(areas[0] - areas[1]) > share * max(areas):
                found.append(n)
        return tuple(found)

    @cached_property
    def _floors(self) -> Any:
        """Levels at which the parts begin, and the last one's end [m]."""
        return np.cumsum([0.0, *(part.height for part in self.parts)])

    def _gross(self, h: Any) -> Any:
        total = np.zeros(np.shape(h))
        for part, floor in zip(self.parts, self._floors, strict=False):
            total = total + part.volume(np.minimum(np.maximum(h - floor, 0.0), part.height))
        return total

    def _area(self, h: Any) -> Any:
        last = len(self.parts) - 1
        which = np.clip(np.searchsorted(self._floors, h, side="right") - 1, 0, last)
        area = np.empty(np.shape(h))
        for n, part in enumerate(self.parts):
            here = which == n
            area[here] = part.slope(np.clip(h[here] - self._floors[n], 0.0, part.height))
        return area


@dataclass(frozen=True)
class Compartments(Bounded):
    """Shapes side by side in one tank, their mud always at one level.

    parts: (shape, height of its floor above the lowest floor [m]); one of the floors is 0. V(h) = Σ Vᵢ(h − floorᵢ).
    It ends at the lowest top: above that the mud runs over one of them.
    """

    parts: tuple[tuple[Shape, float], ...]

    def __post_init__(self) -> None:
        if not self.parts:
            raise ValueError("compartments must have a part above zero")
        for _, floor in self.parts:
            check_shares(floor=floor)
        if min(floor for _, floor in self.parts) != 0.0:
            raise ValueError("the lowest floor must be zero, not above zero")
        if max(floor for _, floor in self.parts) >= self.height:
            raise ValueError("each floor must be below the lowest top, the height above zero")

    @property
    def height(self) -> float:
        """Inside height [m]: the lowest of the parts' tops."""
        return min(floor + shape.height for shape, floor in self.parts)

    def outline(self) -> tuple[Section, ...]:
        """The parts' cross-sections side by side."""
        return abreast([shape.outline() for shape, _ in self.parts], [floor for _, floor in self.parts])

    def _gross(self, h: Any) -> Any:
        total = np.zeros(np.shape(h))
        for shape, floor in self.parts:
            total = total + shape.volume(np.clip(h - floor, 0.0, shape.height))
        return total

    def _area(self, h: Any) -> Any:
        total = np.zeros(np.shape(h))
        for shape, floor in self.parts:
            area = shape.slope(np.clip(h - floor, 0.0, shape.height))
            total = total + np.where(h >= floor, area, 0.0)
        return total
