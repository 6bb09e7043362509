"""Limits that follow from the noise, where an operator wants that, and how often noise alone passes a limit."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from dipbook.drift.tuning import DIPS_S, MINUTE_S, Tuning


@dataclass(frozen=True, slots=True)
class Measured:
    """False warnings of one side in 12 h. usual: the median of the noises that were tried; worst: of them."""

    usual: tuple[float, ...]
    worst: tuple[float, ...]


C = (3.0, 3.5, 4.0, 4.5, 5.0, 5.5, 6.0, 6.5, 7.0, 7.5)
"""Limits that were measured, in times the noise."""

FALSE_WARNINGS: dict[str, tuple[Measured, Measured]] = {
    "seconds": (
        Measured((99, 50, 22, 8.7, 3.2, 1.1, 0.33, 0.1, 0.029, 0.0074),
                 (550, 270, 120, 42, 14, 3.7, 1.1, 0.33, 0.12, 0.038)),
        Measured((110, 56, 26, 11, 4.2, 1.4, 0.53, 0.15, 0.058, 0.019),
                 (570, 300, 140, 53, 18, 5.8, 1.4, 0.54, 0.21, 0.062))),
    "minute": (
        Measured((17, 7.8, 3.5, 1.4, 0.52, 0.21, 0.086, 0.026, 0.0096, 0.0048),
                 (27, 14, 6.9, 3.1, 1.4, 0.57, 0.25, 0.077, 0.029, 0.0052)),
        Measured((21, 10, 4.7, 2, 0.85, 0.35, 0.13, 0.058, 0.019, 0.0096),
                 (30, 17, 8.8, 4.3, 2, 0.91, 0.35, 0.18, 0.072, 0.034))),
}
"""By the kind of readings, for each of C: of gains, of losses. Figures of ``tests/bench/detect.py --only
levels``, two digits; for seconds the more of readings each 1 and each 5 s."""


@dataclass(frozen=True, slots=True)
class Expected:
    """False warnings in 12 h on one side. usual, worst: in the median, and in the worst, of the noises that were tried.
    bound: 0 for about so many; +1 for more, since no limit so low was measured; −1 for fewer, since none so high.
    """

    usual: float
    worst: float
    bound: int = 0


def automatic(c: float, scale_m3: Any, ceiling_m3: float) -> Any:
    """The limit that follows from the noise: c times it, and never above the ceiling that somebody set [m3].

    c: times the noise [-]. scale_m3: noise of the steady clock [m3], one or an array; NaN while it is learned or can't
    be: the ceiling is the limit then, so that the watch is never without one. ceiling_m3: the most that the limit may
    be [m3]. Where somebody set a limit itself, that is the limit and this isn't asked. Raises ValueError for a c or a
    ceiling that isn't positive.
    """
    if not (c > 0.0 and ceiling_m3 > 0.0):
        raise ValueError("c and the ceiling must be positive")
    return np.fmin(c * np.asarray(scale_m3), ceiling_m3)


def expected_false_per_tour(limit_m3: float, scale_m3: float, tuning: Tuning, *, loss: bool = False) -> Expected | None:
    """About how many times in 12 h noise alone passes a limit, on one side.

    limit_m3: H [m3]. scale_m3: noise of the steady clock [m3]. tuning: gives the interval. loss: of losses. None while
    the noise isn't known, and for dips by hand, whose noise isn't learned. Between measured c evenly in the logarithm.
    Source: own simulation (tests/bench) of eight noises, quiet circulation with surface losses of up to 3 bbl/h; of
    what comes of connections, foam or transfers that nobody logged no noise tells. No formula serves: tables for
    independent readings promise an order of magnitude fewer than noise that wanders gives (tests/drift).
    """
    measured = FALSE_WARNINGS.get(family_of(tuning))
    if measured is None or not (limit_m3 > 0.0 and scale_m3 > 0.0 and math.isfinite(scale_m3)):
        return None
    side, c = measured[loss], limit_m3 / scale_m3
    if not C[0] <= c <= C[-1]:
        at, bound = (0, 1) if c < C[0] else (-1, -1)
        return Expected(side.usual[at], side.worst[at], bound)
    usual, worst = (float(np.exp(np.interp(c, C, np.log(rates)))) for rates in (side.usual, side.worst))
    return Expected(usual, worst)


def family_of(tuning: Tuning) -> str:
    """What kind of readings these are: "seconds", "minute" or "dips". tuning: gives the interval."""
    return "seconds" if tuning.interval_s <= MINUTE_S else "minute" if tuning.interval_s <= DIPS_S else "dips"


def expected_said(expected: Expected | None) -> str:
    """``Expect about 2 false warnings a tour``, or that nothing is known. expected: of ``expected_false_per_tour``."""
    if expected is None:
        return "How many false warnings to expect isn't known"
    if expected.bound:
        more = expected.bound > 0
        return f"Expect {'more' if more else 'fewer'} than {_often(expected.usual if more else expected.worst)}"
    usual, worst = _often(expected.usual), _often(expected.worst)
    if usual == worst:
        return f"Expect about {usual}"
    return f"Expect about {usual}, up to {_short(expected.worst, expected.usual)} by the kind of noise"


def _often(per_tour: float) -> str:
    if per_tour < 0.75:
        return f"1 false warning in {1.0 / per_tour:.0f} tours"
    return f"{per_tour:.0f} false warning{'' if round(per_tour) == 1 else 's'} a tour"


def _short(per_tour: float, beside: float) -> str:
    if per_tour < 0.75:
        return f"1 in {1.0 / per_tour:.0f}"
    return f"{per_tour:.0f}" + (" a tour" if beside < 0.75 else "")
