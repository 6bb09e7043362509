"""The cross-section of a shape, for whoever draws it. No number of the books comes from here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import cos, pi, sin

ROUND_STEPS = 48
"""Points on half a circle: the largest gap between chord and arc is 0.05 % of the radius."""


@dataclass(frozen=True, slots=True)
class Section:
    """One upright piece of a cross-section, the same to the left and right of its middle.

    middle: how far its middle stands to the right of the tank's [m]. points: (half-width [m], level above the tank's
    bottom [m]) from the bottom up; a step has two points at one level.
    """

    middle: float
    points: tuple[tuple[float, float], ...]

    @property
    def half(self) -> float:
        """The largest half-width [m]."""
        return max(half for half, _ in self.points)

    @property
    def low(self) -> float:
        """The lowest level [m]."""
        return self.points[0][1]

    @property
    def top(self) -> float:
        """The highest level [m]."""
        return self.points[-1][1]

    def half_at(self, level_m: float) -> float | None:
        """Half-width at a level [m], of a step the wider side; None outside the section."""
        widths = [half for half, level in self.points if level == level_m]
        for (half, level), (next_half, next_level) in zip(self.points[:-1], self.points[1:], strict=True):
            if level < level_m < next_level:
                widths.append(half + (next_half - half) * (level_m - level) / (next_level - level))
        return max(widths, default=None)

    def moved(self, right_m: float, up_m: float) -> Section:
        """The section elsewhere. right_m, up_m: by how much [m]."""
        return Section(self.middle + right_m, tuple((half, level + up_m) for half, level in self.points))

    def below(self, top_m: float) -> Section | None:
        """What of it lies below a level; None if nothing does. top_m: the level [m]."""
        if top_m <= self.low:
            return None
        if top_m >= self.top:
            return self
        half = self.half_at(top_m)
        kept = tuple(point for point in self.points if point[1] < top_m)
        return replace(self, points=kept if half is None else (*kept, (half, top_m)))


def straight(width_m: float, height_m: float) -> tuple[Section, ...]:
    """A cross-section with upright walls. width_m, height_m: inside [m]."""
    return (Section(0.0, ((width_m / 2, 0.0), (width_m / 2, height_m))),)


def arc(half_width_m: float, depth_m: float, *, upper: bool = False) -> tuple[tuple[float, float], ...]:
    """Points of a half ellipse from its lowest point up, or with ``upper`` of the whole ellipse.

    half_width_m, depth_m: its half axes [m].
    """
    end = pi if upper else pi / 2
    count = ROUND_STEPS if upper else ROUND_STEPS // 2
    turns = [end * k / count for k in range(count + 1)]
    return tuple((abs(half_width_m * sin(turn)), depth_m * (1.0 - cos(turn))) for turn in turns)


def stacked(parts: Sequence[tuple[Section, ...]], heights: Sequence[float]) -> tuple[Section, ...]:
    """Cross-sections on top of each other. parts: each from its own bottom; heights: of each [m]."""
    made: list[Section] = []
    floor = 0.0
    for sections, height in zip(parts, heights, strict=True):
        raised = [section.moved(0.0, floor) for section in sections]
        if len(raised) == 1 and made and made[-1].middle == raised[0].middle and abs(made[-1].top - floor) < 1e-9:
            made[-1] = replace(made[-1], points=(*made[-1].points, *raised[0].points))
        else:
            made.extend(raised)
        floor += height
    return tuple(made)


def abreast(parts: Sequence[tuple[Section, ...]], floors: Sequence[float]) -> tuple[Section, ...]:
    """Cross-sections side by side, wall to wall. parts: each from its own bottom; floors: height of each bottom [m]."""
    spans = [(min(s.middle - s.half for s in sections), max(s.middle + s.half for s in sections)) for sections in parts]
    right = -sum(high - low for low, high in spans) / 2
    made: list[Section] = []
    for sections, (low, high), floor in zip(parts, spans, floors, strict=True):
        made.extend(section.moved(right - low, floor) for section in sections)
        right += high - low
    return tuple(made)
