"""How unsteady a gauge is by itself, told by second differences: a ramp, a drain-back and a slow gain leave them small.

The scale of a block is the mean of the lower three quarters of |d|, d the second differences, so that
spikes and the start of a flow don't count. For white noise of standard deviation s the second difference has √6 s, and
the mean of the lower three quarters of |N(0, 1)| is 2 (φ(0) − φ(1.1503)) / 0.75 = 0.5149 (worked out).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from dipbook.gauges.doubt import Doubt
from dipbook.gauges.gauge import Gauge, share_of

LOWER, OF_NORMAL, ROOT_6 = 0.75, 0.5149, 6.0**0.5
Pumping = Callable[[Any], Any]
"""Times [UTC ms] → whether the pumps were on."""
FEWEST = 60
"""Values in a block: fewer tell a scale too badly."""
FLOOR_M3 = 0.008
"""Noise below this counts as this much [m3]: 0.05 bbl, our own simulation."""


def noisy(gauges: Sequence[Gauge], pumping: Pumping | None = None, *, times: float = 1.75, block_s: float = 600.0,
          before: int = 12, least: int = 3, floor_m3: float = FLOOR_M3) -> tuple[Doubt, ...]:
    """Sensors noisier than they were: an agitator, gas or foam. Mud cut by gas that gains is still a gain.

    gauges: of all tanks. pumping: whether the pumps were on; like is compared with like, since every tank is quieter
    while nothing is pumped. times: how many times the noise of before [-]. block_s: told over as long [s], or 60
    values. before: the median of so many blocks before, at least ``least``. floor_m3: noise that counts as none [m3].
    10 min against 2 h: our own simulation; its 1.5 times was told once in ten quiet hours here, so 1.75 (our choice).
    """
    found: list[Doubt] = []
    for g in gauges:
        d2, begins, ends = blocks(g, block_s)
        if not len(begins):
            continue
        s = scale(d2)
        floor = max(floor_m3, g.quantum_m3)
        on = np.zeros(len(s), dtype=bool) if pumping is None else np.asarray(pumping((begins + ends) // 2), dtype=bool)
        ratio = np.zeros(len(s))
        for alike in (np.flatnonzero(on), np.flatnonzero(~on)):
            x = s[alike]
            base = np.array([np.median(x[max(0, k - before):k]) if k >= least else np.inf for k in range(len(x))])
            ratio[alike] = x / np.maximum(base, floor)
        for a, b in runs(ratio > times):
            over = b == len(s) - 1
            found.append(Doubt("noisy", g.tank, int(begins[a]), int(ends[a]), None if over else int(ends[b]),
                               value=float(ratio[a:b + 1].max()), share=share_of(g, gauges, int(ends[b]))))
    return tuple(found)


def blocks(gauge: Gauge, block_s: float) -> tuple[Any, Any, Any]:
    """(second differences [m3], a row a block; begin and end of each block [UTC ms]); none for rounds.

    gauge: one tank's. block_s: how long a block is, or 60 values if that is longer [s].
    """
    empty = np.zeros((0, 1)), np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    if not gauge.sensed or len(gauge.t_ms) < FEWEST + 2:
        return empty
    n = max(FEWEST, round(block_s * 1000.0 / gauge.step_ms))
    length_ms = max(1, round(n * gauge.step_ms))
    t, v = gauge.t_ms, gauge.volume_m3
    aligned = -(-int(t[0]) // length_ms) * length_ms
    skip = int(np.searchsorted(t, aligned)) if len(t) >= 2 * n else 0
    d2 = np.diff(v[skip:], 2)
    m = len(d2) // n
    if m == 0:
        return empty
    begins = t[skip:skip + m * n:n]
    return d2[:m * n].reshape(m, n), begins, t[skip + 1 + n - 1:][::n][:m]


def scale(d2: Any) -> Any:
    """The noise of each block [m3]. d2: second differences, a row a block [m3]."""
    off = np.abs(d2)
    keep = max(1, int(LOWER * off.shape[1]))
    lower = np.partition(off, keep - 1, axis=1)[:, :keep]
    return lower.mean(axis=1) / OF_NORMAL / ROOT_6


def runs(flags: Any) -> list[tuple[int, int]]:
    """(first, last) row of each run of True. flags: bools."""
    edge = np.diff(np.concatenate(([0], np.asarray(flags, dtype=np.int8), [0])))
    return list(zip(np.flatnonzero(edge == 1).tolist(), (np.flatnonzero(edge == -1) - 1).tolist(), strict=True))
