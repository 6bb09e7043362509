"""What shapes with sloped or round walls share: where they end, and the level that holds a volume.

Outside such a shape the answer is NaN: what is above its walls nobody has described. A level or a volume that
rounding alone put outside, by less than a thousand-millionth of the whole, counts as its end.
"""

from __future__ import annotations

from math import isfinite
from typing import Any

import numpy as np

SLACK = 1e-9
"""Share of the height, or of the full volume, that rounding may put outside."""
ROWS = 257
"""Rows of the table that the search for a level starts from."""
STEPS = 150
"""More than the search can need: every third step halves what is left, 50 halvings of a row end below 1e-17."""
CHUNK = 65536
"""Levels worked out at a time, so that long columns don't fill the memory."""


class Bounded:
    """A shape from its bottom, level 0, to its height, and nothing outside.

    A shape gives ``height``, ``_gross`` and ``_area``; both are asked for arrays within 0 to the height only.
    """

    @property
    def height(self) -> float:
        """Inside height [m]."""
        raise NotImplementedError

    def _gross(self, h: Any) -> Any:
        """Volume [m3] up to levels [m] within the shape."""
        raise NotImplementedError

    def _area(self, h: Any) -> Any:
        """Area of the free surface [m2] at levels [m] within the shape; at an edge, that above it."""
        raise NotImplementedError

    def volume(self, level_m: Any) -> Any:
        """Gross volume [m3] at a level [m]; never clamped, NaN outside the shape."""
        return self._answered(level_m, self._gross)

    def slope(self, level_m: Any) -> Any:
        """dV/dlevel [m2] at a level [m], the area of the free surface; NaN outside the shape.

        At an edge where walls change it is that of the part above.
        """
        return self._answered(level_m, self._area)

    def level(self, volume_m3: Any) -> Any:
        """Level [m] that holds a gross volume [m3]; NaN for a volume below 0 or above the full one."""
        full = float(self._gross(np.array([self.height]))[0])
        v = settled(volume_m3, 0.0, full)
        inside = (v >= 0.0) & (v <= full)
        h = np.full(v.shape, np.nan)
        h[inside] = self._found(v[inside], full)
        return scalar(volume_m3, h)

    def _answered(self, level_m: Any, ask: Any) -> Any:
        h = settled(level_m, 0.0, self.height)
        inside = (h >= 0.0) & (h <= self.height)
        known = h[inside]
        answer = np.full(h.shape, np.nan)
        parts = [ask(known[at:at + CHUNK]) for at in range(0, len(known), CHUNK)]
        if parts:
            answer[inside] = np.concatenate(parts)
        return scalar(level_m, answer)

    def _found(self, v: Any, full: float) -> Any:
        """Levels of volumes within the shape: Newton's step, and half of what is left where that leads astray."""
        table_h = np.linspace(0.0, self.height, ROWS)
        table_v = self._gross(table_h)
        row = np.clip(np.searchsorted(table_v, v, side="right") - 1, 0, ROWS - 2)
        low, high = table_h[row], table_h[row + 1]
        rise = table_v[row + 1] - table_v[row]
        h = low + (high - low) * np.clip((v - table_v[row]) / np.where(rise > 0.0, rise, 1.0), 0.0, 1.0)
        h = np.where(v <= 0.0, 0.0, np.where(v >= full, self.height, h))
        left = np.flatnonzero((v > 0.0) & (v < full))
        for step in range(STEPS):
            if not len(left):
                break
            at, under, over = h[left], low[left], high[left]
            over_by = self._gross(at) - v[left]
            under, over = np.where(over_by <= 0.0, at, under), np.where(over_by >= 0.0, at, over)
            area = self._area(at)
            with np.errstate(divide="ignore", invalid="ignore"):
                newton = at - over_by / area
            astray = ~((newton > under) & (newton < over)) | (step % 3 == 2)
            new = np.where(astray, (under + over) / 2, newton)
            new = np.where(over_by == 0.0, at, new)
            low[left], high[left], h[left] = under, over, new
            done = (over_by == 0.0) | (over - under <= 4e-16 * self.height) | (
                ~astray & (np.abs(new - at) <= 1e-15 * at))
            left = left[~done]
        return h


def check_sizes(**sizes: float) -> None:
    """Refuse sizes that aren't above zero. sizes: by name. Raises ValueError."""
    for name, size in sizes.items():
        if not isfinite(size) or size <= 0.0:
            raise ValueError(f"{name} must be above zero, not {size}")


def check_shares(**sizes: float) -> None:
    """Refuse sizes below zero; zero is allowed. sizes: by name. Raises ValueError."""
    for name, size in sizes.items():
        if not isfinite(size) or size < 0.0:
            raise ValueError(f"{name} must be above zero, or zero, not {size}")


def settled(asked: Any, low: float, high: float) -> Any:
    """The question as an array of one axis or more, with what rounding put just outside brought to the end.

    asked: scalar or array. low, high: the ends.
    """
    x = np.atleast_1d(np.asarray(asked, dtype=float))
    slack = SLACK * (high - low)
    x = np.where((x < low) & (x >= low - slack), low, x)
    return np.where((x > high) & (x <= high + slack), high, x)


def scalar(asked: Any, answer: Any) -> Any:
    """A float for a scalar question, the array otherwise. asked: the question; answer: an array."""
    return float(answer[0]) if np.ndim(asked) == 0 else answer
