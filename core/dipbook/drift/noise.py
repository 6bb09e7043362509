"""How noisy the difference is, measured on itself: robust against drift, spikes and the gain that is looked for."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from dipbook.drift.filters import Column
from dipbook.drift.tuning import Learning


def scales_of(differences: Column | Sequence[Sequence[float]], floor_m3: float) -> tuple[float, ...]:
    """The sd of smoothed levels, from differences of each over a lag: 1.4826 median|d − median d| / √2 [m3].

    differences: a column a level [m3]. floor_m3: the least that is believed [m3]. The middle takes out drift; 1.4826 is
    1/Φ⁻¹(3/4), for normal noise; √2 since a difference has two ends.
    """
    d = np.asarray(differences, dtype=np.float64)
    spreads = np.median(np.abs(d - np.median(d, axis=0)), axis=0).tolist()
    return tuple(max(floor_m3, 1.4826 * spread / math.sqrt(2.0)) for spread in spreads)


def counted(learning: Learning, seen: int) -> int:
    """Looks that an estimate counts. learning: see there. seen: differences so far."""
    return max(0, min(seen - learning.behind, learning.keep))


def learned_s(learning: Learning | None, seen: int) -> float:
    """Of how much circulation the noise is known [s]. learning: None for 0. seen: differences so far."""
    return 0.0 if learning is None else counted(learning, seen) * learning.step_s


def due(learning: Learning, seen: int) -> bool:
    """True if an estimate is made at this difference. learning: see there. seen: differences so far, this with them."""
    return counted(learning, seen) >= learning.need and (seen - learning.behind - learning.need) % learning.every == 0


def estimate(differences: Sequence[tuple[float, float]] | Column, learning: Learning) -> tuple[float, float]:
    """Scales of the steady and of the quick clock [m3].

    differences: of both, oldest first, no more than are stored [m3]. learning: the newest of its ``behind`` don't
    count.
    """
    d = np.asarray(differences, dtype=np.float64)[:len(differences) - learning.behind][-learning.keep:]
    steady, quick = scales_of(d, learning.floor_m3)
    return steady, quick
