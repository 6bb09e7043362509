"""A gauge that stays exactly as it was while the others move: stuck, or not dipped."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from dipbook.gauges.doubt import Doubt
from dipbook.gauges.gauge import Gauge, Logged, nothing, open_end, others_of, share_of

SMOOTH_S = 60.0
BEFORE_S = 1800.0
"""The others are smoothed over the first, and how unsteady they are is told by as long as the second before."""
TO_SIGMA = 1.4826
"""Median absolute deviation of a normal distribution to its standard deviation."""


@dataclass(frozen=True, slots=True)
class _Rule:
    """The figures of ``stuck``, and what is logged."""

    least_ms: float
    count: int
    moved_m3: float
    resolved: float
    sigmas: float
    logged: Logged


def stuck(gauges: Sequence[Gauge], logged: Logged = nothing, *, still_s: float = 120.0, readings: int = 10,
          rounds: int = 4, moved_m3: float = 0.08, resolved: float = 2.0, sigmas: float = 8.0, before: int = 60,
          before_rounds: int = 6, lively: float = 0.2) -> tuple[Doubt, ...]:
    """Active tanks whose value is exactly the same while the sum of the other active tanks moved, beyond what is logged
    on them and beyond their own unsteadiness: one that stands still while nothing moves reads right.

    gauges: of all tanks. logged: what is logged on a tank. still_s: how long a sensor must stand still [s], and
    readings: over how many values. rounds: how many dips running, where values are rounds. moved_m3: least that the
    others must have moved [m3] (0.5 bbl). resolved: how many of its own smallest steps this gauge should have moved by
    its area. sigmas: and by how many standard deviations of the others' smoothed sum they must have moved besides [-].
    before, before_rounds: of so many values (or rounds) before it stood still at least the share ``lively`` had moved
    [-]: a tank that always stands at its weir is not stuck, and one that was still from the first can't be told. The
    suction tank needs no such proof. 120 s is our own simulation's; the others are our choice, no source.
    """
    found: list[Doubt] = []
    for g in gauges:
        n = len(g.t_ms)
        if n < 2:
            continue
        cuts = np.flatnonzero(g.volume_m3[1:] != g.volume_m3[:-1]) + 1
        first, last = np.append(0, cuts), np.append(cuts, n) - 1
        rule = _Rule(still_s * 1000.0 if g.sensed else 0.0, readings if g.sensed else rounds, moved_m3, resolved,
                     sigmas, logged)
        long = (last - first + 1 >= rule.count) & (g.t_ms[last] - g.t_ms[first] >= rule.least_ms)
        for a, b in zip(first[long].tolist(), last[long].tolist(), strict=True):
            if not g.flows and not _lively(g, a, before if g.sensed else before_rounds, lively):
                continue
            doubt = _of_run(g, gauges, a, b, rule)
            if doubt is not None:
                found.append(doubt)
    return tuple(found)


def _lively(g: Gauge, a: int, before: int, share: float) -> bool:
    """True if a gauge moved before row ``a``: told by at least four values."""
    v = g.volume_m3[max(0, a - before):a]
    return len(v) >= 4 and float(np.mean(v[1:] != v[:-1])) >= share


def _of_run(g: Gauge, gauges: Sequence[Gauge], a: int, b: int, rule: _Rule) -> Doubt | None:
    lined_up = g.active(g.t_ms[a:b + 1])
    if not lined_up[-1]:
        return None
    a += int(np.flatnonzero(~lined_up)[-1]) + 1 if not lined_up.all() else 0
    t = g.t_ms[a:b + 1]
    if len(t) < rule.count or t[-1] - t[0] < rule.least_ms:
        return None
    since = int(np.searchsorted(g.t_ms, t[0] - BEFORE_S * 1000.0)) if g.sensed else a
    total, area = others_of(g, gauges, g.t_ms[since:b + 1], rule.logged)
    if np.isnan(total[a - since]):
        return None
    smooth, spread = _smoothed(g, total, a - since)
    need = rule.moved_m3
    if area > 0 and g.area_m2 > 0:
        need = max(need, rule.resolved * g.quantum_m3 * area / g.area_m2)
    need += rule.sigmas * spread
    moved = np.maximum.accumulate(smooth) - np.minimum.accumulate(smooth)
    ripe = (moved >= need) & (t - t[0] >= rule.least_ms) & (np.arange(len(t)) >= rule.count - 1)
    known = np.flatnonzero(ripe)
    if not len(known):
        return None
    return Doubt("stuck", g.tank, int(t[0]), int(t[known[0]]), open_end(int(t[-1]), g), value=float(moved[-1]),
                 count=len(t), share=share_of(g, gauges, int(t[-1])))


def _smoothed(g: Gauge, total: Any, a: int) -> tuple[Any, float]:
    """(the others' sum from row ``a`` on, by its trailing mean, and how unsteady that mean was before [m3]); of rounds
    as it is. Two lags apart, so that what noise remembers is over; less the median, so that a ramp doesn't count."""
    if not g.sensed:
        return total[a:], 0.0
    w = max(5, round(SMOOTH_S * 1000.0 / g.step_ms))
    first = int(np.argmax(np.isfinite(total)))
    filled = np.concatenate((np.full(w, total[first]), total[first:] if first else total))
    sums = np.cumsum(filled - total[first])
    mean = total[first] + (sums[w:] - sums[:-w]) / w
    a -= first
    d = mean[2 * w:a + 1] - mean[:max(0, a + 1 - 2 * w)]
    if len(d) < 2 * w:      # too little before it: by all that there is
        d = mean[2 * w:] - mean[:max(0, len(mean) - 2 * w)]
    spread = TO_SIGMA * float(np.median(np.abs(d - np.median(d)))) / 2.0**0.5 if len(d) else 0.0
    return mean[a:], spread
