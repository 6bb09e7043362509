"""When the pumps have run evenly for long enough that the tanks tell of the well again."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from dipbook.drift.filters import Column
from dipbook.drift.tuning import Tuning

STEADY, OFF, SETTLING, CHANGED = "", "Pumps off", "Settling", "Pump change"
"""Why the sums hold; nothing where they don't."""


def settled(t_ms: Any, pumps_on: Any, flow_m3_s: Any, tuning: Tuning) -> tuple[NDArray[np.bool_], list[str]]:
    """Where the pumps have been on for ``settling_s``, at a rate that changed by no more than ``rate_change`` in it.

    t_ms: times, rising or equal [UTC ms]. pumps_on: True where they run; before the first row nothing is known, so they
    count as on since then. flow_m3_s: their rate [m3/s], NaN where unknown: then it is no evidence of a change.
    tuning: how long, how much. A change is the lowest rate of that time against the highest. Returns the column, and
    for each row why it isn't steady: one of STEADY (""), OFF, SETTLING, CHANGED. Raises ValueError for falling times or
    columns of unequal lengths.
    """
    t, on = np.asarray(t_ms, dtype=np.int64), np.asarray(pumps_on, dtype=bool)
    flow = np.asarray(flow_m3_s, dtype=np.float64)
    if t.ndim != 1 or not t.shape == on.shape == flow.shape:
        raise ValueError("the columns must be one-dimensional and of the same length")
    if np.any(np.diff(t) < 0):
        raise ValueError("times must not fall")
    if not len(t):
        return on.copy(), []
    rows = np.arange(len(t))
    begun = np.maximum.accumulate(np.where(on & ~np.concatenate(([False], on[:-1])), rows, 0))
    span = 1000.0 * tuning.settling_s
    ran = on & (t - t[begun] >= span)
    first = np.maximum(begun, np.searchsorted(t, t - span))
    low = -_highest(np.where(np.isnan(flow), -np.inf, -flow), first)
    high = _highest(np.where(np.isnan(flow), -np.inf, flow), first)
    changed = on & (high > low) & (high - low > tuning.rate_change * high)
    words = np.where(~on, 0, np.where(~ran, 1, np.where(changed, 2, 3)))
    return ran & ~changed, [(OFF, SETTLING, CHANGED, STEADY)[k] for k in words]


def _highest(v: Column, first: NDArray[np.int64]) -> Column:
    """The highest of v from each row's first to itself: of two spans of 2^k that cover it together."""
    rows = np.arange(len(v))
    power = np.floor(np.log2(rows - first + 1)).astype(np.int64)
    made, spans = np.empty(len(v)), v
    for k in range(int(power.max()) + 1):
        here = rows[power == k]
        made[here] = np.maximum(spans[first[here]], spans[here - (1 << k) + 1])
        left = max(0, len(v) - (2 << k) + 1)
        spans = np.maximum(spans[:left], spans[1 << k:][:left])
    return made
