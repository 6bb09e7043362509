"""A tank that is lined up in the log and stays silent when the pumps stop or start and the others move."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from dipbook.gauges.doubt import Doubt
from dipbook.gauges.gauge import Gauge, share_of

BEFORE_MS = 60_000
NEAR_MS, LONG_MS = 30_000, 300_000
"""A value is the mean over the one, how unsteady it is is told by the other, and what was read longer ago than
BEFORE_MS isn't one."""


def isolated(gauges: Sequence[Gauge], pumps_ms: Sequence[int], *, window_s: float = 180.0, others_m3: float = 0.795,
             silent: float = 0.15, moves: float = 0.5, proofs: int = 2, resolved: float = 4.0) -> tuple[Doubt, ...]:
    """Active tanks with a sensor that don't move at a connection while the others do.

    gauges: of all tanks. pumps_ms: when the pumps were put off or on [UTC ms]. window_s: how long after that is looked
    at [s]. others_m3: least that the others moved [m3] (5 bbl). silent: moved less than this share of what its area
    would let it [-]; moves: and at least this share, the same way, is moving with them [-]; between the two nothing is
    told. proofs: only a tank that moved with the others so often before can be told: one behind a weir is always
    silent. resolved: only where what its area would let it move is so many times its smallest step, and so many
    standard deviations of its values [-]. Our choice, no source.
    """
    marks = np.unique(np.asarray(pumps_ms, dtype=np.int64)) if len(pumps_ms) else np.zeros(0, dtype=np.int64)
    sensed = [g for g in gauges if g.sensed and len(g.t_ms) > 2]
    if len(sensed) < 2 or not len(marks):
        return ()
    until = np.minimum(marks + round(window_s * 1000.0), np.append(marks[1:], 2**62))
    here = [_moved(g, marks, until) for g in sensed]
    own = np.array([moved for moved, _ in here])
    areas = np.where(np.isfinite(own), np.array([g.area_m2 for g in sensed])[:, None], 0.0)
    moved_in_all, area_in_all = np.nansum(own, axis=0), areas.sum(axis=0)
    found: list[Doubt] = []
    for i, g in enumerate(sensed):
        if not g.area_m2 > 0:
            continue
        others, area = moved_in_all - own[i], area_in_all - g.area_m2
        with np.errstate(all="ignore"):
            by_area = others * g.area_m2 / area
            part = own[i] / by_area
        told = (np.isfinite(part) & (np.abs(others) >= others_m3)
                & (np.abs(by_area) >= resolved * np.maximum(here[i][1], max(g.quantum_m3, 1e-6))))
        since, proved = -1, 0
        for k in np.flatnonzero(told).tolist():
            if abs(part[k]) < silent and since < 0 and proved >= proofs:
                since = k
            elif part[k] >= moves:
                proved += 1
                if since >= 0:
                    found.append(_doubt(g, sensed, marks, until, since, float(others[since]), int(marks[k])))
                    since = -1
        if since >= 0:
            ended = next((b for a, b in g.spans if a <= marks[since] < b and b <= int(g.t_ms[-1])), None)
            found.append(_doubt(g, sensed, marks, until, since, float(others[since]), ended))
    return tuple(found)


def _doubt(g: Gauge, gauges: Sequence[Gauge], marks: Any, until: Any, k: int, value: float, ended: int | None) -> Doubt:
    return Doubt("isolated", g.tank, int(marks[k]), int(until[k]), ended, value=value,
                 share=share_of(g, gauges, int(marks[k])))


def _moved(g: Gauge, marks: Any, until: Any) -> tuple[Any, Any]:
    """(what a tank moved after each mark, NaN where that can't be told; how unsteady it was before) [m3]."""
    t = g.t_ms
    i, j = (np.searchsorted(t, at, side="right") - 1 for at in (marks, until))
    good = ((until - marks >= BEFORE_MS) & (i >= 0) & (t[-1] >= until) & g.active(marks)
            & (marks - t[np.maximum(i, 0)] <= BEFORE_MS) & (until - t[np.maximum(j, 0)] <= BEFORE_MS))
    moved, spread = np.full(len(marks), np.nan), np.full(len(marks), np.nan)
    w, long = (max(5, round(x / g.step_ms)) for x in (NEAR_MS, LONG_MS))
    for k in np.flatnonzero(good).tolist():
        before, after = (g.volume_m3[max(0, int(x[k]) - w + 1):int(x[k]) + 1] for x in (i, j))
        moved[k] = after.mean() - before.mean()
        spread[k] = g.volume_m3[max(0, int(i[k]) - long + 1):int(i[k]) + 1].std()
    return moved, spread
