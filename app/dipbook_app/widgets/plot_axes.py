"""A plot's axes as the crew writes: time in the rig's own clock, numbers with the rig's decimal sign."""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from typing import Any

import pyqtgraph as pg
from PySide6.QtGui import QFontMetricsF

from dipbook_app.display import MINUS, DisplayUnits

STEPS_S = (60, 300, 600, 900, 1800, 3600, 7200, 10_800, 21_600, 43_200, 86_400, 172_800, 604_800,
           1_209_600, 2_592_000)
LABEL_PX = 74
EPOCH = datetime(1970, 1, 1)
TURN_S = 3 * 3600
"""Clocks are turned by less than this [s]."""
MOST_NUMBERS = 7
"""So many numbers at most on an axis of volumes."""


def ticks(low_s: float, high_s: float, width_px: float, base_ms: int, units: DisplayUnits) -> tuple[float, list[float]]:
    """Round rig-clock times in a range, also over a change of the clocks: their step [s] and their places [s after
    base_ms]. A time that the clocks run through twice has its place both times, one that they leap over none.

    low_s, high_s: the range [s after base_ms]; width_px: its width on the screen; base_ms [UTC ms]; units: the clock.
    """
    span = max(high_s - low_s, 1.0)
    step = next((s for s in STEPS_S if s / span * width_px >= LABEL_PX), STEPS_S[-1])
    begin, end = (units.local(base_ms + round(s * 1000)) for s in (low_s, high_s))
    walls = [(x.replace(tzinfo=None) - EPOCH).total_seconds() for x in (begin, end)]
    found: set[float] = set()
    for k in range(int((walls[0] - TURN_S) // step), int((walls[1] + TURN_S) // step) + 1):
        wall = EPOCH + timedelta(seconds=k * step)
        for fold in (0, 1):
            t_ms = round(wall.replace(tzinfo=begin.tzinfo, fold=fold).timestamp() * 1000)
            place = (t_ms - base_ms) / 1000.0
            if low_s - 1e-9 <= place <= high_s + 1e-9 and units.local(t_ms).replace(tzinfo=None) == wall:
                found.add(place)
    return float(step), sorted(found)


class VolumeAxis(pg.AxisItem):
    """Numbers with a real minus and the rig's decimal sign. side: "left", or "bottom"."""

    def __init__(self, side: str = "left") -> None:
        super().__init__(orientation=side)
        self._decimal = "."

    def set_decimal(self, decimal: str) -> None:
        """decimal: "." or ","."""
        self._decimal = decimal

    def _line(self) -> float:
        """Height of a number, or its width at the bottom [px]."""
        font = self.style.get("tickFont")
        if font is None:
            return 16.0
        metrics = QFontMetricsF(font)
        return float(metrics.height() if self.orientation == "left" else metrics.horizontalAdvance(f"{MINUS}100.0"))

    def tickSpacing(self, minVal: float, maxVal: float, size: float) -> list[tuple[float, float]]:
        """A round step, 1, 2, 2½ or 5 times a power of ten, that keeps the numbers apart."""
        least = abs(maxVal - minVal) * max(1.2 * self._line() / max(size, 1.0), 1 / MOST_NUMBERS)
        if not 0 < least < math.inf:
            return [(1.0, 0.0)]
        power = 10.0 ** math.floor(math.log10(least))
        return [(next(k * power for k in (1.0, 2.0, 2.5, 5.0, 10.0) if k * power >= least * (1 - 1e-9)), 0.0)]

    def tickValues(self, minVal: float, maxVal: float, size: float) -> list[tuple[float, list[float]]]:
        """The numbers that stand whole on the axis: none half over its ends."""
        low, high = sorted((minVal, maxVal))  # downward where depth is drawn
        room = (high - low) * self._line() / 2 / max(size, 1.0)
        return [(step, [v for v in values if low + room <= v <= high - room])
                for step, values in super().tickValues(low, high, size)]

    def tickStrings(self, values: Any, scale: float, spacing: float) -> list[str]:
        """The library writes steps of 2½ as 2, 5, 8 unless it is asked for one more digit."""
        mantissa = spacing / 10.0 ** math.floor(math.log10(spacing))
        texts: list[str] = super().tickStrings(values, scale, spacing / 10 if 2.4 < mantissa < 2.6 else spacing)
        return [text.replace("-", MINUS).replace(".", self._decimal) for text in texts]


class DepthAxis(VolumeAxis):
    """Depths downward from the rotary: above it nothing is written."""

    def tickValues(self, minVal: float, maxVal: float, size: float) -> list[tuple[float, list[float]]]:
        return [(step, [v for v in values if v >= 0.0]) for step, values in super().tickValues(minVal, maxVal, size)]


class TimeAxis(pg.AxisItem):
    """Places are seconds after a base; words are the rig's clock, with the day at midnight."""

    def __init__(self) -> None:
        super().__init__(orientation="bottom")
        self._base_ms = 0
        self._units: DisplayUnits | None = None

    def set_clock(self, base_ms: int, units: DisplayUnits) -> None:
        """base_ms: the moment of place 0 [UTC ms]; units: the rig's clock."""
        self._base_ms, self._units = base_ms, units
        self.picture = None
        self.update()

    def tickValues(self, minVal: float, maxVal: float, size: float) -> list[tuple[float, list[float]]]:
        if self._units is None:
            return []
        return [ticks(minVal, maxVal, size, self._base_ms, self._units)]

    def tickStrings(self, values: Any, scale: float, spacing: float) -> list[str]:
        if self._units is None:
            return []
        words = []
        for value in values:
            local = self._units.local(self._base_ms + round(value * 1000))
            words.append(f"{local.day} {local:%b}" if local.hour == local.minute == 0 else f"{local:%H:%M}")
        return words
