"""What it costs to read the tanks only so often."""

from __future__ import annotations

from dataclasses import dataclass

from dipbook.drift.tuning import tuning_for


@dataclass(frozen=True, slots=True)
class Cost:
    """What the well has made by the reading that shows it [m3]. mean; nine_in_ten: no more than that nine times in ten;
    most: at worst. All infinite for a rate within the allowance: no reading shows it.
    """

    mean_m3: float
    nine_in_ten_m3: float
    most_m3: float


def costs(interval_s: float, rate_m3_s: float, limit_m3: float) -> Cost:
    """What a well that flows evenly has made when a reading shows it.

    interval_s: between readings [s]. rate_m3_s: it flows, or takes, so much [m3/s]. limit_m3: H that was set [m3]. The
    sum passes H a time H/(q − k) after the onset, k the allowance, and the next reading after that comes anywhere
    within the interval: q (H/(q − k) + T/2) in the mean. Noise is left out: it lets a sum pass earlier or later.
    Derived; with a limit of 2.25 bbl it gives what was simulated apart from it (tests/drift). Raises ValueError for an
    interval, rate or limit that isn't positive.
    """
    if not (interval_s > 0.0 and rate_m3_s > 0.0 and limit_m3 > 0.0):
        raise ValueError("interval, rate and limit must be positive")
    tuning = tuning_for(interval_s)
    allowance = tuning.clocks[tuning.judged_by].gain_allowance_m3_s
    if rate_m3_s <= allowance:
        return Cost(*(float("inf"),) * 3)
    needed = rate_m3_s * limit_m3 / (rate_m3_s - allowance)
    each = rate_m3_s * interval_s
    return Cost(needed + 0.5 * each, needed + 0.9 * each, needed + each)
