"""A gauge that says nothing while others do, and times in which none said anything."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from dipbook.gauges.doubt import Doubt
from dipbook.gauges.gauge import Gauge, share_of


def missing(gauges: Sequence[Gauge], *, silent_s: float = 15.0, steps: float = 3.0) -> tuple[Doubt, ...]:
    """Sensors without a value for longer than usual while another sensor has one. The books hold the last value.

    gauges: of all tanks. silent_s: how long without a value [s]; steps: and how many times its usual step; the longest
    counts of these and of what happens to this one again and again. On return nothing is zeroed: what changed meanwhile
    shows. 15 s: our own simulation.
    """
    sensed = [g for g in gauges if g.sensed]
    if len(sensed) < 2:
        return ()
    times = _all_times(sensed)
    found: list[Doubt] = []
    for g in sensed:
        limit = max(silent_s * 1000.0, steps * g.step_ms, g.longest_ms)
        t = np.append(g.t_ms, times[-1])
        for i in np.flatnonzero(np.diff(t) > limit).tolist():
            a, b = int(t[i]), int(t[i + 1])
            later = i + 1 >= len(g.t_ms)
            known = int(np.searchsorted(times, a + limit, side="right"))
            if known >= len(times) or times[known] > b or (not later and times[known] >= b):
                continue
            found.append(Doubt("missing", g.tank, a, int(times[known]), None if later else b,
                               share=share_of(g, sensed, b)))
    return tuple(found)


def gaps(gauges: Sequence[Gauge], *, silent_s: float = 30.0, steps: float = 3.0) -> tuple[Doubt, ...]:
    """Times in which no sensor had a value. What changed across one is compared all the same.

    gauges: of all tanks. silent_s: how long [s]; steps: and how many times the usual step; the longer counts. 30 s: the
    project's detection study.
    """
    sensed = [g for g in gauges if g.sensed]
    if not sensed:
        return ()
    times = _all_times(sensed)
    limit = max(silent_s * 1000.0, steps * min(g.longest_ms for g in sensed))
    at = np.flatnonzero(np.diff(times) > limit)
    return tuple(Doubt("gap", "", int(times[i]), int(times[i + 1]), int(times[i + 1])) for i in at.tolist())


def _all_times(gauges: Sequence[Gauge]) -> Any:
    first = gauges[0].t_ms
    if all(g.t_ms is first or np.array_equal(g.t_ms, first) for g in gauges[1:]):
        return first
    return np.unique(np.concatenate([g.t_ms for g in gauges]))
