"""What a detector can be held against: a line of information, and the best one that knows what nobody knows.

Both rest on the tanks' noise as a sum: AR(1), white, and the gauge's steps as white noise of quantum²/12. Given all of
the past, a reading's surprise is independent of the others, and a ramp appears in it as ``mean_surprise``.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from scipy.signal import lfilter

from bench.detection.world import TANKS, Floor

TOUR_S, WEEK_S = 12 * 3600.0, 168 * 3600.0


def innovations(floor: Floor) -> tuple[float, float, float]:
    """(phi, gain, variance [bbl²]) of the steady Kalman filter of the tanks' sum."""
    phi = float(np.exp(-floor.dt_s / floor.tau_s))
    ar = floor.share * TANKS * floor.sd**2
    white = (1.0 - floor.share) * TANKS * floor.sd**2 + TANKS * floor.quantum**2 / 12.0
    p = ar
    for _ in range(10_000):
        after = phi * phi * p * white / (p + white) + (1.0 - phi * phi) * ar
        if abs(after - p) < 1e-15:
            break
        p = after
    return phi, p / (p + white), p + white


def whitened(floor: Floor, x: Any) -> Any:
    """Surprises of a series, in sd; the past before it is taken as 0. x: [bbl], last axis in time."""
    phi, gain, variance = innovations(floor)
    return lfilter([1.0, -phi], [1.0, -phi * (1.0 - gain)], x) / np.sqrt(variance)


def mean_surprise(floor: Floor, q: float, n: int) -> Any:
    """What a ramp adds to n surprises from its first reading on, in sd. q: [bbl/min]."""
    return whitened(floor, q / 60.0 * floor.dt_s * np.arange(1, n + 1))


def v_kl(floor: Floor, q: float, between_false_s: float = TOUR_S) -> float:
    """Volume [bbl] at which a ramp has told ln(readings between two false alarms): first order, no bound."""
    need = float(np.log(between_false_s / floor.dt_s))
    n = 64
    while True:
        told = np.concatenate(([0.0], 0.5 * np.cumsum(mean_surprise(floor, q, n) ** 2)))
        if told[-1] >= need:
            return q / 60.0 * floor.dt_s * float(np.interp(need, told, np.arange(n + 1)))
        n *= 2


def line(floor: Floor, q: float, between_false_s: float = TOUR_S, lag_s: float = 0.0) -> float:
    """V_KL and what comes meanwhile [bbl]. q: [bbl/min]; lag_s: of the flow line [s]."""
    return v_kl(floor, q, between_false_s) + q / 60.0 * (floor.dt_s + lag_s)


def best_statistic(floor: Floor, q: float, x: Any) -> Any:
    """Greatest log-likelihood ratio of "a ramp of q began n readings ago" against "none", at each reading.

    Knows rate, noise and baseline, and x [bbl] has no drift. n: dense at first, then every tenth part more.
    """
    reach = 4 * max(8, int(np.ceil(v_kl(floor, q, WEEK_S) / (q / 60.0 * floor.dt_s))))
    lags = np.unique(np.round(np.concatenate((np.arange(1, 13), 12 * 1.08 ** np.arange(1, 80)))).astype(int))
    lags = lags[lags <= reach]
    h = mean_surprise(floor, q, int(lags[-1]))
    bank = np.zeros((int(lags[-1]), len(lags)))
    for column, lag in enumerate(lags):
        bank[-lag:, column] = h[:lag]
    e = np.concatenate((np.zeros(int(lags[-1]) - 1), whitened(floor, x)))
    ratios = sliding_window_view(e, int(lags[-1])) @ bank - 0.5 * (bank**2).sum(axis=0)
    return np.maximum(ratios.max(axis=1), 0.0)
