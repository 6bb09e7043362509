"""Lone readings that jump and come back: at most two are left out, and the third counts with those before it.

What is left out for good has come back to where the tank was, so it was no mud; what stays is summed as if it had
never been doubted, two readings late at most. Typed dips have no such rule.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from dipbook.drift.filters import Column, Places
from dipbook.drift.tuning import Tuning

MOST = 2
"""Readings that may be left out one after another."""

_MIDDLE, _STEPS = 5, 32
KEPT = _STEPS + 1
"""Readings that the rule looks back on."""


def is_off(u: float, recent: Sequence[float], tuning: Tuning) -> bool:
    """True if a reading is off both the middle of the last five and the last by more than a spike's size.

    u: it [m3]. recent: known readings before, newest last [m3]. tuning: gives the size. The second condition lets a
    fast rise through: what follows the reading before it is no spike.
    """
    if len(recent) < _MIDDLE or not abs(u - recent[-1]) > tuning.spike_m3:
        return False
    away = abs(u - float(np.median(recent[-_MIDDLE:])))
    if not away > tuning.spike_m3:
        return False
    steps = np.abs(np.diff(recent))
    return bool(min(away, abs(u - recent[-1])) > tuning.spike_sd * 1.4826 * float(np.median(steps)))


def may_be_off(u: Column, tuning: Tuning) -> Places:
    """Places of readings that a spike could begin at: none of the others differs enough from the one before it.

    u: known readings [m3]. tuning: gives the size.
    """
    places: Places = np.flatnonzero(~(np.abs(np.diff(u)) <= tuning.spike_m3)) + 1
    return places
