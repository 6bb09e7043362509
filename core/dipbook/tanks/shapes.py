"""Inside shapes of tanks: level above the bottom to gross volume, back, and the slope between.

Nothing is clamped. A level below the bottom or above the height is computed on by the same formula (box and
vertical cylinder) or is NaN (a strapping table ends where it ends); whoever asks reports it as a finding.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np


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


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangular tank. length, width, height: inside dimensions [m]. V = L W h."""

    length: float
    width: float
    height: float

    def volume(self, level_m: Any) -> Any:
        """Gross volume [m3] at a level [m]."""
        return level_m * (self.length * self.width)

    def level(self, volume_m3: Any) -> Any:
        """Level [m] that holds a gross volume [m3]."""
        return volume_m3 / (self.length * self.width)

    def slope(self, level_m: Any) -> Any:
        """dV/dlevel [m2]: the floor's area."""
        return level_m * 0.0 + self.length * self.width


@dataclass(frozen=True, slots=True)
class VerticalCylinder:
    """A standing cylinder with a flat bottom. diameter, height: inside dimensions [m]. V = (π/4) D² h."""

    diameter: float
    height: float

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
        """dV/dlevel [m2]: the floor's area."""
        return level_m * 0.0 + self.area


@dataclass(frozen=True)
class Strapping:
    """A strapping table: straight lines between rows.

    levels: rising levels above the bottom [m]; volumes: rising volumes [m3], same length, two rows or more.
    Outside the table the answer is NaN: the table doesn't say.
    """

    levels: tuple[float, ...]
    volumes: tuple[float, ...]

    @property
    def height(self) -> float:
        """The table's last level [m]."""
        return self.levels[-1]

    def volume(self, level_m: Any) -> Any:
        """Volume [m3] at a level [m]; NaN outside the table."""
        return _scalar(level_m, np.interp(level_m, self.levels, self.volumes, left=np.nan, right=np.nan))

    def level(self, volume_m3: Any) -> Any:
        """Level [m] that holds a volume [m3]; NaN outside the table."""
        return _scalar(volume_m3, np.interp(volume_m3, self.volumes, self.levels, left=np.nan, right=np.nan))

    def slope(self, level_m: Any) -> Any:
        """dV/dlevel [m2] of the row's interval (at a row: the interval above it); NaN outside the table."""
        levels = np.asarray(self.levels)
        slopes = np.diff(self.volumes) / np.diff(levels)
        x = np.asarray(level_m, dtype=float)
        row = np.clip(np.searchsorted(levels, x, side="right") - 1, 0, len(slopes) - 1)
        inside = (x >= levels[0]) & (x <= levels[-1])
        return _scalar(level_m, np.where(inside, slopes[row], np.nan))


def _scalar(asked: Any, answer: Any) -> Any:
    """A float for a scalar question, the array otherwise."""
    return float(answer) if np.ndim(asked) == 0 else answer
