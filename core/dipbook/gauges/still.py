"""A gauge that stays exactly as it was while the others move: stuck, or not dipped."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from dipbook.gauges.doubt import Doubt
from dipbook.gauges.gauge import Gauge, open_end, others_of, share_of


def stuck(gauges: Sequence[Gauge], *, still_s: float = 120.0, readings: int = 10, rounds: int = 4,
          moved_m3: float = 0.08, resolved: float = 2.0, before: int = 60, before_rounds: int = 6, lively: float = 0.2,
          ) -> tuple[Doubt, ...]:
    """Active tanks whose value is exactly the same while the sum of the other active tanks moved.

    gauges: of all tanks. still_s: how long a sensor must stand still [s], and readings: over how many values. rounds:
    how many dips running, where values are rounds. moved_m3: least that the others must have moved [m3] (0.5 bbl).
    resolved: how many of its own smallest steps this gauge should have moved by its area. before, before_rounds: of so
    many values (or rounds) before it stood still at least the share ``lively`` had moved [-]: a tank that always stands
    at its weir is not stuck, and one that was still from the first can't be told. The suction tank needs no such proof.
    120 s is our own simulation's; the others are our choice, no source.
    """
    found: list[Doubt] = []
    for g in gauges:
        n = len(g.t_ms)
        if n < 2:
            continue
        cuts = np.flatnonzero(g.volume_m3[1:] != g.volume_m3[:-1]) + 1
        first, last = np.append(0, cuts), np.append(cuts, n) - 1
        least_ms, count = (still_s * 1000.0, readings) if g.sensed else (0.0, rounds)
        long = (last - first + 1 >= count) & (g.t_ms[last] - g.t_ms[first] >= least_ms)
        for a, b in zip(first[long].tolist(), last[long].tolist(), strict=True):
            if not g.flows and not _lively(g, a, before if g.sensed else before_rounds, lively):
                continue
            doubt = _of_run(g, gauges, a, b, least_ms, count, moved_m3, resolved)
            if doubt is not None:
                found.append(doubt)
    return tuple(found)


def _lively(g: Gauge, a: int, before: int, share: float) -> bool:
    """True if a gauge moved before row ``a``: told by at least four values."""
    v = g.volume_m3[max(0, a - before):a]
    return len(v) >= 4 and float(np.mean(v[1:] != v[:-1])) >= share


def _of_run(g: Gauge, gauges: Sequence[Gauge], a: int, b: int, least_ms: float, count: int, moved_m3: float,
            resolved: float) -> Doubt | None:
    t = g.t_ms[a:b + 1]
    lined_up = g.active(t)
    if not lined_up[-1]:
        return None
    begin = int(np.flatnonzero(~lined_up)[-1]) + 1 if not lined_up.all() else 0
    t = t[begin:]
    if len(t) < count or t[-1] - t[0] < least_ms:
        return None
    total, area = others_of(g, gauges, t)
    if np.isnan(total[0]):
        return None
    need = moved_m3
    if area > 0 and g.area_m2 > 0:
        need = max(need, resolved * g.quantum_m3 * area / g.area_m2)
    moved = np.maximum.accumulate(total) - np.minimum.accumulate(total)
    ripe = (moved >= need) & (t - t[0] >= least_ms) & (np.arange(len(t)) >= count - 1)
    known = np.flatnonzero(ripe)
    if not len(known):
        return None
    return Doubt("stuck", g.tank, int(t[0]), int(t[known[0]]), open_end(int(t[-1]), g), value=float(moved[-1]),
                 count=len(t), share=share_of(g, gauges, int(t[-1])))
