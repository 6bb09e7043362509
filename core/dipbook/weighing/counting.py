"""How many warnings, and how sure a count is."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from dipbook.figures.raisings import raisings
from dipbook.limits import Limit
from dipbook.watch import Evidence, run

TOUR_H = 12.0


@dataclass(frozen=True, slots=True)
class Cost:
    """warnings: that would have sounded in the quiet hours. a_tour: of 12 h; least, most: between them with 95 %."""

    warnings: int
    a_tour: float
    least: float
    most: float


def cost(limit: Limit, evidence: Evidence, quiet: Any, hours: float) -> Cost:
    """What the watch itself would have raised by this limit alone. limit. evidence: of the log. quiet: bool per row;
    rows outside are unknown to it. hours: quiet in all [h], above 0.
    """
    _, told = run((limit,), only(evidence, quiet))
    count = len(raisings(told))
    low, high = poisson_interval(count)
    share = TOUR_H / hours
    return Cost(count, count * share, low * share, high * share)


def only(evidence: Evidence, quiet: Any) -> Evidence:
    """The evidence with all other rows unknown. evidence; quiet: bool per row."""
    def known(columns: Any) -> Any:
        return {name: np.where(quiet, column, np.nan) for name, column in columns.items()}

    back = evidence.flow_back
    return replace(
        evidence, difference=known(evidence.difference), level=known(evidence.level), volume=known(evidence.volume),
        trip=known(evidence.trip), flow_back=None if back is None else replace(back, above=np.where(quiet, back.above,
                                                                                                    np.nan)),
        drift={name: replace(one, known=one.known & quiet) for name, one in evidence.drift.items()})


def poisson_interval(count: int, sure: float = 0.95) -> tuple[float, float]:
    """(least, most) mean that a count is likely to come from: the exact two-sided interval of Garwood, Biometrika 28
    (1936) 437. count: counted [-]. sure: with that probability at least [-]. Raises ValueError for a count below 0.
    """
    if count < 0:
        raise ValueError("a count isn't below 0")
    tail = (1.0 - sure) / 2.0
    low = 0.0 if count == 0 else _solved(lambda m: 1.0 - _at_most(count - 1, m) < tail, count)
    return low, _solved(lambda m: _at_most(count, m) > tail, count)


def _solved(below: Callable[[float], bool], count: int) -> float:
    """The mean where ``below`` turns False."""
    low, high = 0.0, count + 10.0 * math.sqrt(count + 1.0) + 10.0
    for _ in range(100):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if below(middle) else (low, middle)
    return high


def _at_most(k: int, mean: float) -> float:
    """Probability of k or fewer at a mean."""
    if mean == 0.0:
        return 1.0
    return math.fsum(math.exp(i * math.log(mean) - mean - math.lgamma(i + 1)) for i in range(k + 1))
