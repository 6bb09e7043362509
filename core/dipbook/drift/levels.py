"""Limits that follow from the noise, where an operator wants that, and how often a limit is passed by noise alone."""

from __future__ import annotations

import math

import numpy as np

FALSE_GAINS: tuple[tuple[float, float], ...] = ()
"""(c, false warnings of one side in 12 h with a limit of c times the noise), the worst of eight noises."""


def automatic(c: float, scale_m3: float, ceiling_m3: float) -> float:
    """The limit that follows from the noise: c times it, and never more than the operator's ceiling [m3].

    c: times the noise [-]. scale_m3: noise of the steady clock [m3], NaN while it is learned. ceiling_m3: the most that
    the limit may be [m3]. NaN while learning: the ceiling is the limit then (``in_force``), so that the watch is never
    without one.
    """
    return min(c * scale_m3, ceiling_m3) if math.isfinite(scale_m3) else math.nan


def in_force(c: float, scale_m3: float, ceiling_m3: float) -> float:
    """The limit that holds [m3]: ``automatic``, or the ceiling while the noise isn't known.

    c: times the noise [-]. scale_m3: noise [m3], NaN while it is learned. ceiling_m3: the operator's [m3].
    """
    limit = automatic(c, scale_m3, ceiling_m3)
    return ceiling_m3 if math.isnan(limit) else limit


def expected_false_per_tour(limit_m3: float, scale_m3: float) -> float:
    """About how many times in 12 h noise alone passes a limit, on one side; the worst noise that was tried.

    limit_m3: H [m3]. scale_m3: noise of the steady clock [m3]. Between the measured c of FALSE_GAINS evenly in the
    logarithm. infinite below the smallest of them, 0 beyond the greatest: more, or fewer, than were measured; NaN while
    the noise isn't known. Source: own simulation (tests/bench), readings each 5 s, quiet circulation, surface losses of
    up to 3 bbl/h; no connections' drain-back, foam or transfers, which no noise tells of.
    """
    if not (math.isfinite(limit_m3) and math.isfinite(scale_m3) and scale_m3 > 0.0):
        return math.nan
    c = limit_m3 / scale_m3
    at, rate = zip(*FALSE_GAINS, strict=True)
    if not at[0] <= c <= at[-1]:
        return math.inf if c < at[0] else 0.0
    return float(np.exp(np.interp(c, at, np.log(rate))))


def expected_words(limit_m3: float, scale_m3: float) -> str:
    """``Expect about 2 false warnings a tour``, or what is known instead. limit_m3: H [m3]. scale_m3: noise [m3]."""
    n = expected_false_per_tour(limit_m3, scale_m3)
    if math.isnan(n):
        return "Noise not known yet"
    if math.isinf(n):
        return f"Expect more than {FALSE_GAINS[0][1]:.0f} false warnings a tour"
    if n >= 1.5:
        return f"Expect about {n:.0f} false warnings a tour"
    if n >= 0.75:
        return "Expect about 1 false warning a tour"
    tours = 1.0 / n if n else 1.0 / FALSE_GAINS[-1][1]
    return f"Expect {'about' if n else 'less than'} 1 false warning in {tours:.0f} tours"
