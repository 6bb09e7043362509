"""What came of runs: alarms falsely raised, barrels in the well when one sounded, seconds, and runs that were missed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from bench.detection.world import Run

TOUR, WEEK = 1.0 - np.exp(-1.0), 1.0 - np.exp(-1.0 / 14.0)
"""Share of quiet tours of 12 h with an alarm, at one alarm a tour and one in seven days."""
BEFORE_S = 15 * 60.0


@dataclass(frozen=True)
class Came:
    """n: runs that count (no alarm in the 15 min before). mean, p50, p90, most: bbl in the well at the alarm; se: of the
    mean; delay_s: mean; missed: share without an alarm by 30 bbl, or what flows in 6 min if that is more."""

    n: int
    mean: float
    se: float
    p50: float
    p90: float
    most: float
    delay_s: float
    missed: float


@dataclass(frozen=True)
class Rate:
    """per_tour: alarms per 12 h from the share of tours with one, and its standard error; tours: how many."""

    per_tour: float
    se: float
    tours: int


def limit_for(worst: Sequence[float], share: float) -> float:
    """The limit that so large a share of quiet tours reaches. worst: greatest statistic of each tour."""
    return float(np.quantile(np.asarray(worst), 1.0 - share, method="higher"))


def rate(alarmed: Sequence[bool]) -> Rate:
    """Of quiet tours that alarmed; the error by the delta rule, for none or all as if half a tour more had or hadn't."""
    n = len(alarmed)
    p = float(np.clip(np.mean(alarmed), 0.5 / n, 1.0 - 0.5 / n))
    seen = float(np.mean(alarmed))
    return Rate(0.0 if seen == 0 else -float(np.log(1.0 - p)), float(np.sqrt(p / (1.0 - p) / n)), n)


def alarm(run: Run, over: Any, q: float) -> tuple[float, float] | bool | None:
    """(bbl in the well, seconds) at the first alarm from the onset on; None if missed; False if the run doesn't count.
    over: at each reading, whether the statistic reaches its limit."""
    if np.isnan(run.onset_s) or over[(run.t_s >= run.onset_s - BEFORE_S) & (run.t_s < run.onset_s)].any():
        return False
    rows = np.flatnonzero(over & (run.t_s >= run.onset_s))
    if not len(rows):
        return None
    volume = abs(float(run.well[rows[0]]))
    return None if volume > max(30.0, 6.0 * q) else (volume, float(run.t_s[rows[0]] - run.onset_s))


def came(found: Sequence[tuple[float, float] | bool | None]) -> Came:
    """Of runs, as ``alarm`` says of each."""
    counted = [x for x in found if x is not False]
    hit = np.array([x for x in counted if x is not None and x is not True], dtype=float).reshape(-1, 2)
    n = len(counted)
    if not len(hit):
        nan = float("nan")
        return Came(n, nan, nan, nan, nan, nan, nan, 1.0 if n else nan)
    v = hit[:, 0]
    return Came(n, float(v.mean()), float(v.std() / np.sqrt(len(v))), float(np.median(v)), float(np.quantile(v, 0.9)),
                float(v.max()), float(hit[:, 1].mean()), 1.0 - len(hit) / n)
