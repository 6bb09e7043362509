"""Smoothing at uneven steps, and sums that never fall below zero: without a loop over readings."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

Column = NDArray[np.float64]
Places = NDArray[np.int64]

_MOST = 30.0
"""A block spans at most so many time constants: e^30 leaves the sum of its terms exact to the last digits."""


def smoothed(t_ms: Any, u: Any, tau_s: float, before: float, before_ms: int) -> Column:
    """Exponential smoothing over uneven steps: f += (1 − e^(−Δt/τ)) (u − f).

    t_ms: times, rising [ms]. u: values. tau_s: time constant, 0 for none [s]. before: f at before_ms. before_ms: time
    of that, not after the first [ms]. In closed form on blocks, f_n = E_n (f_0 + Σ a_k u_k / E_k) with
    E_n = e^(−(t_n − t_0)/τ).
    """
    times, values = np.asarray(t_ms, dtype=np.int64), np.asarray(u, dtype=np.float64)
    n = len(times)
    if tau_s == 0.0 or n == 0:
        return values.copy()
    dt = np.diff(times, prepend=before_ms) / (1000.0 * tau_s)
    longest = float(dt[1:].max()) if n > 1 else 0.0
    width = n if longest * n <= _MOST else max(1, int(_MOST / longest))
    rows = -(-n // width)
    spare = rows * width - n
    dt = np.concatenate((dt, np.zeros(spare))).reshape(rows, width)
    term = np.concatenate((values - before, np.zeros(spare))).reshape(rows, width) * -np.expm1(-dt)
    first = np.exp(-dt[:, 0])
    dt[:, 0] = 0.0
    fading = np.exp(-np.cumsum(dt, axis=1))
    alone = fading * np.cumsum(term / fading, axis=1)
    carried, f = np.empty(rows), 0.0
    for row, (keep, end, last) in enumerate(zip(first, alone[:, -1], fading[:, -1], strict=True)):
        carried[row] = f * keep
        f = end + last * carried[row]
    made: Column = (alone + fading * carried[:, None]).ravel()[:n] + before
    return made


def reflected(x: Any, allowance: Any = 0.0, sum_before: float = 0.0) -> tuple[Column, Places]:
    """The sum S_n = max(0, S_(n−1) + (x_n − x_(n−1)) − allowance), as x less the allowance above its lowest so far.

    x: levels, less the level at which the sum was sum_before. allowance: what is let pass up to each of them, same
    unit. sum_before: ≥ 0. Returns the sums, and the place of the low each counts from (−1: one before the first).
    Source: Page, Biometrika 41 (1954), from memory; the running minimum is the same thing written out.
    """
    level = np.asarray(x, dtype=np.float64) - allowance
    lows = np.minimum.accumulate(np.concatenate(([-sum_before], level)))
    places = np.where(level <= lows[:-1], np.arange(len(level)), -1)
    return level - lows[1:], np.maximum.accumulate(places)


def noise_of_smoothed(sd: float, wandering: float, wander_s: float, interval_s: float, tau_s: float) -> float:
    """What noise smoothing leaves: its sd, in closed form, for white noise and noise that wanders (AR(1)).

    sd: of the readings. wandering: share of their variance that wanders [-]. wander_s: its time constant [s].
    interval_s: between readings [s]. tau_s: of the smoothing [s]. With a = 1 − e^(−dt/τ), b = 1 − a,
    p = e^(−dt/wander): sd² (((1 − w) a + w a (1 + b p)/(1 − b p))/(2 − a)). Derived from the filter's impulse response
    a b^k.
    """
    a = -math.expm1(-interval_s / tau_s) if tau_s else 1.0
    b, p = 1.0 - a, math.exp(-interval_s / wander_s)
    share = (1.0 - wandering) + wandering * (1.0 + b * p) / (1.0 - b * p)
    return sd * math.sqrt(share * a / (2.0 - a))
