"""Single values far off their neighbours. They stay in the books as they came; they are counted and said."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from dipbook.gauges.doubt import Doubt
from dipbook.gauges.gauge import Gauge, share_of
from dipbook.gauges.noise import LOWER, OF_NORMAL, ROOT_6


def spikes(gauges: Sequence[Gauge], *, times: float = 8.0, least_m3: float = 0.636, fastest_step_s: float = 5.0,
           lately_s: float = 600.0) -> tuple[Doubt, ...]:
    """Sensors with values off the median of five by more than they step otherwise, one or two at a time. A third one
    alike is taken for real. Never told of rounds by hand, nor of sensors slower than 5 s.

    gauges: of all tanks. times: how many standard deviations of its steps [-]; least_m3: and at least so much [m3]
    (4 bbl). fastest_step_s: the longest usual step of a sensor that is tested [s]. lately_s: how long after the last
    spike it is still said [s]. 8, 4 bbl, 5 s: our own simulation.
    """
    found: list[Doubt] = []
    for g in gauges:
        n = len(g.t_ms)
        if not g.sensed or g.step_ms > fastest_step_s * 1000.0 or n < 5:
            continue
        v = g.volume_m3
        d = np.diff(v)
        size = np.abs(np.diff(d))
        keep = max(1, int(LOWER * len(size)))
        noise = float(np.partition(size, keep - 1)[:keep].mean()) / OF_NORMAL / ROOT_6
        limit = max(times * noise * 2.0**0.5, least_m3)
        jumps = np.flatnonzero(np.abs(d) > limit / 2.0)
        near = np.unique((jumps[:, None] + np.arange(-1, 3)[None, :]).ravel())
        near = near[(near >= 2) & (near <= n - 3)]
        if not len(near):
            continue
        off = np.abs(v[near] - np.median(v[near[:, None] + np.arange(-2, 3)[None, :]], axis=1))
        rows, size = near[off > limit], off[off > limit]
        if not len(rows):
            continue
        t = g.t_ms[rows]
        for part in np.split(np.arange(len(rows)), np.flatnonzero(np.diff(t) > lately_s * 1000.0) + 1):
            end = int(t[part[-1]] + lately_s * 1000.0)
            apart = 1 + int((np.diff(rows[part]) > 1).sum())
            found.append(Doubt("spiking", g.tank, int(t[part[0]]), int(g.t_ms[rows[part[0]] + 2]),
                               None if end >= g.t_ms[-1] else end, value=float(size[part].max()), count=apart,
                               share=share_of(g, gauges, int(t[part[-1]]))))
    return tuple(found)
