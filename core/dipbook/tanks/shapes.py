"""Inside shapes of tanks: level above the bottom to gross volume, back, and the slope between.

Nothing is clamped. A level below the bottom or above the height is computed on by the same formula (box and
vertical cylinder) or is NaN (a strapping table ends where it ends, and so does every shape whose walls aren't
upright: ``bounded``); whoever asks reports it as a finding.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from math import isfinite, sqrt
from typing import Any, Protocol

import numpy as np

from dipbook.tanks.bounded import check_sizes as _check_sizes
from dipbook.tanks.outlines import Section, straight


class Shape(Protocol):
    """What every shape can answer. Levels [m] above the bottom, volumes [m3]; scalars or arrays."""

    @property
    def height(self) -> float:
        """Inside height [m]."""
        ...

    def volume(self, level_m: Any) -> Any:
        """Gross volume [m3] at a level [m]."""
        ...

    def level(self, volume_m3: Any) -> Any:
        """Level [m] that holds a gross volume [m3]."""
        ...

    def slope(self, level_m: Any) -> Any:
        """dV/dlevel [m2] at a level [m]."""
        ...

    def outline(self) -> tuple[Section, ...]:
        """The cross-section, for a drawing; a Box's is across its length."""
        ...


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangular tank. length, width, height: inside dimensions [m]. V = L W h."""

    length: float
    width: float
    height: float

    def __post_init__(self) -> None:
        _check_sizes(length=self.length, width=self.width, height=self.height)

    def volume(self, level_m: Any) -> Any:
        """Gross volume [m3] at a level [m]."""
        return level_m * (self.length * self.width)

    def level(self, volume_m3: Any) -> Any:
        """Level [m] that holds a gross volume [m3]."""
        return volume_m3 / (self.length * self.width)

    def slope(self, level_m: Any) -> Any:
        """dV/dlevel [m2]: the floor's area, at any level."""
        return level_m * 0.0 + self.length * self.width

    def outline(self) -> tuple[Section, ...]:
        """The cross-section across the length."""
        return straight(self.width, self.height)


@dataclass(frozen=True, slots=True)
class VerticalCylinder:
    """A standing cylinder with a flat bottom. diameter, height: inside dimensions [m]. V = (π/4) D² h."""

    diameter: float
    height: float

    def __post_init__(self) -> None:
        _check_sizes(diameter=self.diameter, height=self.height)

    @property
    def area(self) -> float:
        """Floor area [m2]."""
        return float(np.pi / 4.0 * self.diameter**2)

    def volume(self, level_m: Any) -> Any:
        """Gross volume [m3] at a level [m]."""
        return level_m * self.area

    def level(self, volume_m3: Any) -> Any:
        """Level [m] that holds a gross volume [m3]."""
        return volume_m3 / self.area

    def slope(self, level_m: Any) -> Any:
        """dV/dlevel [m2]: the floor's area, at any level."""
        return level_m * 0.0 + self.area

    def outline(self) -> tuple[Section, ...]:
        """The cross-section through the axis."""
        return straight(self.diameter, self.height)


@dataclass(frozen=True)
class Strapping:
    """A strapping table: straight lines between rows.

    levels: rising levels above the bottom [m]; volumes: rising volumes [m3], same length, two rows or more.
    Outside the table the answer is NaN: the table doesn't say. A level that rounding alone put outside, by
    less than a thousand-millionth of the table, counts as its end.
    """

    levels: tuple[float, ...]
    volumes: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.levels) != len(self.volumes) or len(self.levels) < 2:
            raise ValueError("a strapping table needs two rows or more, each of a level and a volume")
        for name, column in (("levels", self.levels), ("volumes", self.volumes)):
            if not all(isfinite(value) for value in column):
                raise ValueError(f"a strapping table's {name} must be numbers")
            if any(after <= before for before, after in pairwise(column)):
                raise ValueError(f"a strapping table's {name} must rise from row to row")

    @property
    def height(self) -> float:
        """The table's last level [m]."""
        return self.levels[-1]

    def volume(self, level_m: Any) -> Any:
        """Volume [m3] at a level [m]; NaN outside the table."""
        return _interpolated(level_m, self._levels, self._volumes)

    def level(self, volume_m3: Any) -> Any:
        """Level [m] that holds a volume [m3]; NaN outside the table."""
        return _interpolated(volume_m3, self._volumes, self._levels)

    def slope(self, level_m: Any) -> Any:
        """dV/dlevel [m2] at a level [m]: its interval's (at a row: of the one above it); NaN outside the table."""
        x = _settled(level_m, self._levels)
        row = np.clip(np.searchsorted(self._levels, x, side="right") - 1, 0, len(self._slopes) - 1)
        inside = (x >= self._levels[0]) & (x <= self._levels[-1])
        return _scalar(level_m, np.where(inside, self._slopes[row], np.nan))

    def outline(self) -> tuple[Section, ...]:
        """The side of a square of the same area, √(dV/dlevel), between rows: a table doesn't say more.

        Below a first row that stands above the bottom it is drawn on as at that row.
        """
        points: list[tuple[float, float]] = []
        for (low, high), area in zip(pairwise(self.levels), self._slopes.tolist(), strict=True):
            points += [(sqrt(area) / 2, low if points else 0.0), (sqrt(area) / 2, high)]
        return (Section(0.0, tuple(points)),)

    @cached_property
    def _levels(self) -> Any:
        return np.asarray(self.levels, dtype=float)

    @cached_property
    def _volumes(self) -> Any:
        return np.asarray(self.volumes, dtype=float)

    @cached_property
    def _slopes(self) -> Any:
        return np.diff(self._volumes) / np.diff(self._levels)


def _settled(asked: Any, ends: Any) -> Any:
    """The question as an array, with what rounding put just outside the table brought to its end."""
    x = np.asarray(asked, dtype=float)
    slack = 1e-9 * (ends[-1] - ends[0])
    low = (x < ends[0]) & (x >= ends[0] - slack)
    high = (x > ends[-1]) & (x <= ends[-1] + slack)
    return np.where(low, ends[0], np.where(high, ends[-1], x))


def _interpolated(asked: Any, across: Any, up: Any) -> Any:
    return _scalar(asked, np.interp(_settled(asked, across), across, up, left=np.nan, right=np.nan))


def _scalar(asked: Any, answer: Any) -> Any:
    """A float for a scalar question, the array otherwise."""
    return float(answer) if np.ndim(asked) == 0 else answer
