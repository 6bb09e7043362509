"""A peer: the three clocks written a second time and another way, whole histories at once, to hold the product against.

A clock's sum G is "smoothed level less the allowance, above its lowest so far", so a whole history is one running
minimum. While the pumps are off or settling it holds; afterwards the level goes on at the mean of the first minute, and
the step from the level before counts. Even steps only, no unknowns, no spikes, no going on from a state.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from scipy.signal import lfilter

BBL = 0.158987294928


@dataclass(frozen=True)
class Clock:
    """tau_s [s]; allowances [bbl/h]; share: of the limit H."""

    tau_s: float
    gain: float
    loss: float
    share: float


FAST = (Clock(5.0, 30.0, 30.0, 1.6), Clock(30.0, 3.0, 5.0, 1.0), Clock(120.0, 3.0, 5.0, 0.5))
MINUTE = (Clock(0.0, 30.0, 30.0, 1.8), Clock(60.0, 3.0, 5.0, 1.0), Clock(180.0, 3.0, 5.0, 0.5))
DIPPED = (Clock(0.0, 3.0, 5.0, 1.0),)


@dataclass(frozen=True)
class Followed:
    """Like the product's: one row a reading, the worst over clocks of sum/share [m3], and the noise's scale [m3]."""

    worst_gain_m3: Any
    worst_loss_m3: Any
    scale_m3: Any


def tuning_for(interval_s: float) -> tuple[Clock, ...]:
    """Clocks for readings so far apart."""
    return FAST if interval_s < 30.0 else MINUTE if interval_s < 300.0 else DIPPED


def follow(t_ms: Any, u_m3: Any, steady: Any, tuning: tuple[Clock, ...]) -> Followed:
    """Follow a history with one interval throughout. t_ms [UTC ms]; u_m3 [m3]; steady: pumps have run for long enough."""
    t, u = np.asarray(t_ms) / 1000.0, np.asarray(u_m3) / BBL
    dt = float(t[1] - t[0])
    gain, loss = np.full(len(t), -np.inf), np.full(len(t), -np.inf)
    scale = _scale(t, u, steady, dt, tuning[min(1, len(tuning) - 1)].tau_s)
    wide = _scale(t, u, steady, dt, tuning[0].tau_s) / scale
    for place, clock in enumerate(tuning):
        # The quickest clock's limit is never below as many of its own scales as H has of the steady one's.
        share = np.where(wide > clock.share, wide, clock.share) if place == 0 and len(tuning) > 1 else clock.share
        kept, level = _smoothed(t, u, steady, clock.tau_s, dt)
        hours = t[kept] / 3600.0
        for out, sign, k in ((gain, 1.0, clock.gain), (loss, -1.0, clock.loss)):
            x = sign * level - k * hours
            held = np.zeros(len(t))
            held[kept] = x - np.minimum.accumulate(x)
            last = np.maximum.accumulate(np.where(np.isin(np.arange(len(t)), kept), np.arange(len(t)), 0))
            np.maximum(out, held[last] / share, out=out)
    return Followed(gain * BBL, loss * BBL, scale * BBL)


def _smoothed(t: Any, u: Any, steady: Any, tau_s: float, dt: float) -> tuple[Any, Any]:
    """(rows that count, smoothed level at them)."""
    a = 1.0 - np.exp(-dt / tau_s) if tau_s else 1.0
    edges = np.flatnonzero(np.diff(np.concatenate(([0], steady.astype(int), [0]))))
    rows, levels = [], []
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        first = begin if not rows else begin + max(1, round(60.0 / dt)) - 1
        if first >= end:
            continue
        seed = float(u[begin:first + 1].mean())
        filtered, _ = lfilter([a], [1.0, a - 1.0], u[first + 1:end], zi=[(1.0 - a) * seed])
        rows.append(np.arange(first, end))
        levels.append(np.concatenate(([seed], filtered)))
    return np.concatenate(rows), np.concatenate(levels)


LAG_S = 300.0
"""The design has 120 s: of noise that wanders with a time constant of a minute that sees nine tenths only."""


def _scale(t: Any, u: Any, steady: Any, dt: float, tau_s: float) -> Any:
    """The noise of a level smoothed over tau_s, over LAG_S in the last two hours; NaN until an hour is learned [bbl]."""
    made = np.full(len(t), np.nan)
    step, lag = max(1, round(15.0 / dt)), max(1, round(LAG_S / dt))
    kept, level = _smoothed(t, u, steady, tau_s, dt)
    whole = np.full(len(t), np.nan)
    whole[kept] = level
    at = np.arange(lag, len(t), step)
    d = whole[at] - whole[at - lag]
    # Both ends in one stretch of circulation.
    broken = np.concatenate(([0], np.cumsum(~np.isfinite(whole))))
    good = np.isfinite(d) & (broken[at + 1] == broken[at - lag])
    at, d = at[good], d[good]
    ring, least = round(7200.0 / (step * dt)), round(3600.0 / (step * dt))
    if len(d) < least:
        return made
    padded = np.concatenate((np.full(ring - 1, np.nan), d))
    s = np.full(len(d), np.nan)
    for k in range(least - 1, min(ring, len(d))):
        s[k] = np.median(np.abs(d[:k + 1] - np.median(d[:k + 1])))
    if len(d) > ring:
        windows = sliding_window_view(padded[ring - 1:], ring)[1:]
        s[ring:] = np.median(np.abs(windows - np.median(windows, axis=1)[:, None]), axis=1)
    s = np.maximum(1.4826 * s / np.sqrt(2.0), 0.05)
    known = np.searchsorted(at, np.arange(len(t)), side="right") - 1
    made[known >= 0] = s[known[known >= 0]]
    return made
