"""Cumulative curves of time: straight between knots, able to step, continuous from the right."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

FOREVER_MS = 10 * 365 * 86_400_000
"""How far an open ramp is drawn [ms]."""


@dataclass(frozen=True)
class Curve:
    """A cumulative volume over time.

    t: knots, float64 UTC ms, not falling; two equal knots make a step. v: value at each knot [m3].
    Before the first knot the value is the first one's, after the last the last one's.
    """

    t: Any
    v: Any

    def at(self, t_ms: Any) -> Any:
        """Value [m3] at times ``t_ms`` [UTC ms]; at a step the value after it."""
        if len(self.t) == 0:
            return np.zeros(np.shape(t_ms))
        return np.interp(np.asarray(t_ms, dtype=float), self.t, self.v)


@dataclass(frozen=True, slots=True)
class Ramp:
    """A volume that moves evenly from t0 to t1 [UTC ms], or at once where they are equal. volume [m3], signed."""

    t0: int
    t1: int
    volume: float

    def within(self, a: int, b: int) -> Ramp | None:
        """The part of it from a to b [UTC ms], or None.

        An instant at a is before it and one at b is in it: at a change, what was logged for the same time is done.
        A dip at that time has seen it, so a tank that joins there brings it along in its worth.
        """
        if self.t0 == self.t1:
            return self if a < self.t0 <= b else None
        lo, hi = max(self.t0, a), min(self.t1, b)
        if hi <= lo:
            return None
        return Ramp(lo, hi, self.volume * (hi - lo) / (self.t1 - self.t0))


def from_ramps(ramps: Iterable[Ramp]) -> Curve:
    """The sum of ``ramps`` as one cumulative curve."""
    steps: dict[int, float] = {}
    slopes: dict[int, float] = {}
    for r in ramps:
        if r.t0 == r.t1:
            steps[r.t0] = steps.get(r.t0, 0.0) + r.volume
        else:
            slope = r.volume / (r.t1 - r.t0)
            slopes[r.t0] = slopes.get(r.t0, 0.0) + slope
            slopes[r.t1] = slopes.get(r.t1, 0.0) - slope
    times = sorted(steps.keys() | slopes.keys())
    t: list[float] = []
    v: list[float] = []
    value, slope, last = 0.0, 0.0, times[0] if times else 0
    for now in times:
        value += slope * (now - last)
        t.append(float(now))
        v.append(value)
        if now in steps:
            value += steps[now]
            t.append(float(now))
            v.append(value)
        slope += slopes.get(now, 0.0)
        last = now
    return Curve(np.array(t), np.array(v))


def from_steps(steps: Iterable[tuple[int, float]]) -> Curve:
    """The sum of ``steps`` (time [UTC ms], volume [m3]) as one cumulative curve."""
    return from_ramps(Ramp(t, t, v) for t, v in steps)
