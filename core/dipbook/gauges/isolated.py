"""A tank that is lined up in the log and stays silent when the pumps stop or start and the others move."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from dipbook.gauges.doubt import Doubt
from dipbook.gauges.gauge import Gauge, others_of, share_of

BEFORE_MS = 60_000


def isolated(gauges: Sequence[Gauge], pumps_ms: Sequence[int], *, window_s: float = 180.0, others_m3: float = 0.795,
             silent: float = 0.15, resolved: float = 3.0) -> tuple[Doubt, ...]:
    """Active tanks with a sensor that don't move at a connection while the others do.

    gauges: of all tanks. pumps_ms: when the pumps were put off or on [UTC ms]. window_s: how long after that is looked
    at [s]. others_m3: least that the others moved [m3] (5 bbl). silent: moved less than this share of what its area
    would let it [-]. resolved: only if that is so many of its smallest steps [-]. Only a tank
    that moved with the others at an earlier connection can be told: one behind a weir is always silent. Our choice, no
    source.
    """
    found: list[Doubt] = []
    marks = np.unique(np.asarray(pumps_ms, dtype=np.int64)) if len(pumps_ms) else np.zeros(0, dtype=np.int64)
    for g in gauges:
        if not g.sensed or len(g.t_ms) < 3:
            continue
        since: int | None = None
        known = 0
        value = 0.0
        moved_before = False
        for k, at in enumerate(marks.tolist()):
            until = at + round(window_s * 1000.0)
            if k + 1 < len(marks):
                until = min(until, int(marks[k + 1]))
            told = _told(g, gauges, at, until)
            if told is None:
                continue
            own, others, by_area = told
            if abs(others) < others_m3 or abs(by_area) < resolved * max(g.quantum_m3, 1e-6):
                continue
            if abs(own) < silent * abs(by_area):
                if since is None and moved_before:
                    since, known, value = at, until, others
                continue
            moved_before = True
            if since is not None:
                found.append(_doubt(g, gauges, since, known, at, value))
                since = None
        if since is not None:
            ended = next((b for a, b in g.spans if a <= since < b and b <= int(g.t_ms[-1])), None)
            found.append(_doubt(g, gauges, since, known, ended, value))
    return tuple(found)


def _doubt(g: Gauge, gauges: Sequence[Gauge], since: int, known: int, ended: int | None, value: float) -> Doubt:
    return Doubt("isolated", g.tank, since, known, ended, value=value, share=share_of(g, gauges, since))


def _told(g: Gauge, gauges: Sequence[Gauge], at: int, until: int) -> tuple[float, float, float] | None:
    """(what it moved, what the others moved, what it would have by its area) [m3]; None where that can't be told."""
    if until - at < BEFORE_MS or int(g.t_ms[-1]) < until or not bool(g.active(np.array([at]))[0]):
        return None
    i, j = np.searchsorted(g.t_ms, (at, until), side="right") - 1
    if i < 0 or at - int(g.t_ms[i]) > BEFORE_MS or until - int(g.t_ms[j]) > BEFORE_MS:
        return None
    sensed = [x for x in gauges if x.sensed]
    total, area = others_of(g, sensed, np.array([at, until]))
    if np.isnan(total).any() or not area > 0 or not g.area_m2 > 0:
        return None
    others = float(total[1] - total[0])
    return _smooth(g, int(j)) - _smooth(g, int(i)), others, others * g.area_m2 / area


def _smooth(g: Gauge, i: int) -> Any:
    """The median of up to five values that end at a row [m3]."""
    return float(np.median(g.volume_m3[max(0, i - 4):i + 1]))
