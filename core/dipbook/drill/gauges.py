"""What the gauges say: the true level with waves, noise, steps and faults."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from math import cos, log, pi, sin, sqrt

from dipbook.drill.scenario import Item
from dipbook.tanks.tank import Tank


@dataclass(slots=True)
class Gauges:
    """how: [gauges] as drawn. seed: for the noise. ripples: tank -> height of its waves, where that was changed [m].
    stuck: tank -> level at which it stands still [m], NaN until it is read. drifts: tank -> (since [s], rate [m/s])."""

    how: Item
    seed: int
    ripples: dict[str, float] = field(default_factory=dict)
    stuck: dict[str, float] = field(default_factory=dict)
    drifts: dict[str, tuple[float, float]] = field(default_factory=dict)
    streams: dict[str, random.Random] = field(default_factory=dict)

    def dip(self, tank: Tank, volume_m3: float, now_s: float, *, faults: bool = True) -> float | None:
        """What the gauge of a tank says, in its own datum [m]; None where that would be less than nothing.

        tank: whose. volume_m3: in it [m3]. now_s: since the start [s]. faults: False for a stick, which neither stands
        still nor drifts.
        """
        level = self._level(tank, volume_m3, now_s, faults)
        held = self.stuck.get(tank.name) if faults else None
        if held is not None:
            self.stuck[tank.name] = level = level if held != held else held
        dip = float(tank.dip_of_level(level))
        return dip if dip >= 0.0 else None

    def _level(self, tank: Tank, volume_m3: float, now_s: float, faults: bool) -> float:
        level = float(tank.level(volume_m3))
        since, rate = self.drifts.get(tank.name, (0.0, 0.0)) if faults else (0.0, 0.0)
        level += rate * (now_s - since)
        height = self.ripples.get(tank.name, self.how.number_or("ripple", 0.0))
        if height:
            stream = self._stream(tank.name)
            level += height * sin(2.0 * pi * (now_s / self.how.number_or("ripple_period", 7.0) + stream.random()))
        noise = self.how.number_or("noise", 0.0)
        if noise:
            level += noise * _normal(self._stream(tank.name))
        low = self.how.number_or("lowest", 0.0)
        high = self.how.number_or("highest", tank.shape.height)
        level = max(low, min(level, high, tank.shape.height))       # a gauge stands still at its ends
        step = self.how.number_or("step", 0.0)
        return round(level / step) * step if step else level

    def _stream(self, name: str) -> random.Random:
        return self.streams.setdefault(name, random.Random(f"{self.seed}/gauge/{name}"))


def _normal(stream: random.Random) -> float:
    """A normal deviate by Box and Muller, so that it stays the same with every version of a library."""
    return sqrt(-2.0 * log(1.0 - stream.random())) * cos(2.0 * pi * stream.random())
