"""One tank's gauge as columns: what the tests of a gauge look at."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

SENSED_MS = 60_000
"""Values further apart than this are rounds, whoever or whatever took them."""
Logged = Callable[[str, Any], Any]
"""(tank, times [UTC ms]) → everything logged into it and out of it until then [m3]."""


def nothing(tank: str, t_ms: Any) -> Any:
    """What is logged where nothing is. tank. t_ms: times [UTC ms]."""
    return np.zeros(len(t_ms))


@dataclass(frozen=True)
class Gauge:
    """What one tank's gauge said, and what it is to the others.

    tank. t_ms: int64, rising [UTC ms]; volume_m3: float64, NaN for no value; both of one length. area_m2: dV/dlevel at
    its last level [m2], NaN unknown. quantum_m3: the smallest step that it tells [m3], 0 unknown. top_m3, bottom_m3:
    what the tank holds at the ends of what its gauge can tell [m3], NaN unknown, or where the bottom of the tank is
    its end. step_ms: usual time between values; longest_ms: the longest that is usual.
    spans: when the tank was lined up, (from, to) [UTC ms], to excluded. flows: what goes in and out of the system shows
    in it for certain, as in the suction tank.
    """

    tank: str
    t_ms: Any
    volume_m3: Any
    area_m2: float = float("nan")
    quantum_m3: float = 0.0
    top_m3: float = float("nan")
    bottom_m3: float = float("nan")
    step_ms: float = 0.0
    longest_ms: float = 0.0
    spans: tuple[tuple[int, int], ...] = ((-(2**62), 2**62),)
    flows: bool = False

    @property
    def sensed(self) -> bool:
        """True for values that come often enough for a sensor's tests; else they are rounds."""
        return 0 < self.step_ms <= SENSED_MS and self.longest_ms <= SENSED_MS

    def active(self, t_ms: Any) -> Any:
        """True where the tank was lined up (array of bool). t_ms: times [UTC ms]."""
        t = np.asarray(t_ms, dtype=np.int64)
        found = np.zeros(t.shape, dtype=bool)
        for a, b in self.spans:
            found |= (t >= a) & (t < b)
        return found

    def at(self, t_ms: Any) -> Any:
        """The last value at or before each time [m3], NaN before the first. t_ms: times [UTC ms]."""
        t = np.asarray(t_ms, dtype=np.int64)
        if not len(self.t_ms):
            return np.full(t.shape, np.nan)
        i = np.searchsorted(self.t_ms, t, side="right") - 1
        return np.where(i >= 0, self.volume_m3[np.maximum(i, 0)], np.nan)


def cleaned(gauge: Gauge) -> Gauge:
    """A gauge whose times rise, each once, without values that are no number, and with its usual step and quantum.

    gauge: as it came, in any order. Of two values at one time the later one in the columns stands.
    """
    t = np.atleast_1d(np.asarray(gauge.t_ms))
    v = np.atleast_1d(np.asarray(gauge.volume_m3, dtype=float))
    n = min(len(t), len(v))
    t, v = t[:n], v[:n]
    good = np.isfinite(v)
    if t.dtype.kind == "f":
        good &= np.isfinite(t) & (np.abs(t) < 2.0**62)
    t, v = t[good].astype(np.int64), v[good]
    if len(t) > 1 and not bool(np.all(t[1:] > t[:-1])):
        order = np.argsort(t, kind="stable")
        t, v = t[order], v[order]
        last = np.append(t[1:] != t[:-1], True)
        t, v = t[last], v[last]
    step = gauge.step_ms or (float(np.median(np.diff(t))) if len(t) > 1 else 0.0)
    longest = gauge.longest_ms or usual_longest(t)
    quantum = gauge.quantum_m3
    if not quantum and len(v) > 1:
        moved = np.abs(np.diff(v))
        moved = moved[moved > 1e-9]
        quantum = float(moved.min()) if len(moved) else 0.0
    return replace(gauge, t_ms=t, volume_m3=v, step_ms=step, quantum_m3=quantum, longest_ms=longest)


def usual_longest(t_ms: Any) -> float:
    """The longest step between values that happens again and again [ms]: all but the five longest, or 2 %, are no
    longer (our choice). Where values come in bursts with minutes between, these are rounds. t_ms: rising [UTC ms]."""
    d = np.diff(t_ms)
    rare = max(5, len(d) // 50)
    if len(d) <= 2 * rare:
        return float(np.median(d)) if len(d) else 0.0
    return float(np.partition(d, len(d) - rare - 1)[len(d) - rare - 1])


def others_of(gauge: Gauge, gauges: Sequence[Gauge], t_ms: Any, logged: Logged = nothing) -> tuple[Any, float]:
    """(sum of the other active tanks at each time, less what is logged on them [m3], their area [m2]): NaN where none
    tells.

    gauge: left out. gauges: all. t_ms: times [UTC ms]. logged: what is logged on a tank. A tank counts if it is lined
    up at the last of the times and told something at the first.
    """
    total, area = np.zeros(len(t_ms)), 0.0
    some = False
    for g in gauges:
        if g.tank == gauge.tank or not len(t_ms) or not bool(g.active(t_ms[-1:])[0]):
            continue
        v = g.at(t_ms)
        if np.isnan(v[0]):
            continue
        total, some = total + v - logged(g.tank, t_ms), True
        area += g.area_m2
    return (total if some else np.full(len(t_ms), np.nan)), area


def share_of(gauge: Gauge, gauges: Sequence[Gauge], t_ms: int) -> float | None:
    """A tank's area over all active tanks' areas at a time; None where an area isn't known or it isn't one of several.

    gauge: the tank's. gauges: of all tanks. t_ms [UTC ms].
    """
    areas = {g.tank: g.area_m2 for g in gauges if bool(g.active(np.array([t_ms]))[0])}
    total = sum(areas.values())
    if gauge.tank not in areas or len(areas) < 2 or not np.isfinite(total) or total <= 0:
        return None
    return areas[gauge.tank] / total


def open_end(t_ms: int, gauge: Gauge) -> int | None:
    """When something that went on until a value ended: None if that is the gauge's last. t_ms [UTC ms]. gauge."""
    return None if not len(gauge.t_ms) or t_ms >= int(gauge.t_ms[-1]) else t_ms
