"""How noisy the difference is, measured on itself: robust against drift, spikes and the gain that is looked for."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from dipbook.drift.filters import Column
from dipbook.drift.tuning import Learning


def scale_of(differences: Column | Sequence[float], floor_m3: float) -> float:
    """The sd of a smoothed level, from differences of it over a lag: 1.4826 median|d − median d| / √2 [m3].

    differences: [m3]. floor_m3: the least that is believed [m3]. The middle takes out drift; 1.4826 is 1/Φ⁻¹(3/4), for
    normal noise; √2 since a difference has two ends.
    """
    d = np.asarray(differences, dtype=np.float64)
    spread = float(np.median(np.abs(d - np.median(d))))
    return max(floor_m3, 1.4826 * spread / math.sqrt(2.0))


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
    return scale_of(d[:, 0], learning.floor_m3), scale_of(d[:, 1], learning.floor_m3)
