"""What it costs to read the tanks only so often."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from dipbook.drift.tuning import Clock, tuning_for


@dataclass(frozen=True, slots=True)
class Cost:
    """What the well has made by the reading that shows it [m3]. mean; nine_in_ten: no more than that nine times in ten;
    most: at worst. All infinite for a rate within every allowance: no reading shows it.
    """

    mean_m3: float
    nine_in_ten_m3: float
    most_m3: float


def costs(interval_s: float, rate_m3_s: float, limit_m3: float = 0.0) -> Cost:
    """What a well that flows evenly has made when a reading shows it, without noise, which makes it earlier or later.

    interval_s: between readings [s]. rate_m3_s: the well makes so much [m3/s]. limit_m3: H that was set [m3]; 0 for
    what flows until the next reading, whatever the limit. The first clock to pass its share of H does so after a time
    t, and the next reading comes anywhere within the interval T after that: q (t + T/2) in the mean. A clock's level is
    behind a ramp by τ (1 − e^(−t/τ)), and its sum begins once that rises faster than the allowance k:
    q (t − τ (1 − e^(−t/τ))) − k t, above its lowest; the allowance is charged from the reading before the onset on.
    Derived; for dips it is q ((H + k T/2)/(q − k) + T/2), and agrees with what was simulated apart from it
    (tests/drift). Raises ValueError for an interval or a rate that isn't positive, or a limit below 0.
    """
    if not (interval_s > 0.0 and rate_m3_s > 0.0 and limit_m3 >= 0.0):
        raise ValueError("interval and rate must be positive, the limit not below 0")
    clocks, each = tuning_for(interval_s).clocks, rate_m3_s * interval_s
    if not limit_m3:
        return Cost(0.5 * each, 0.9 * each, each)
    made, longest = (rate_m3_s * min(
        _passed_after(c, rate_m3_s, limit_m3 * c.share + waited * interval_s * c.gain_allowance_m3_s) for c in clocks)
        for waited in (0.5, 1.0))
    return Cost(made + 0.5 * each, made + 0.9 * each, longest + each)


def _passed_after(clock: Clock, q: float, limit: float) -> float:
    """When the sum over a ramp passes its limit [s]; infinite if never."""
    k, tau = clock.gain_allowance_m3_s, clock.tau_s
    if q <= k:
        return math.inf

    def level(t: float) -> float:
        return q * (t + tau * math.expm1(-t / tau)) - k * t if tau else (q - k) * t

    turn = -tau * math.log1p(-k / q)
    low, high = turn, turn + limit / (q - k) + tau * q / (q - k)
    wanted = limit + level(turn)
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if level(middle) < wanted else (low, middle)
    return high


def cost_said(interval_s: float, rate_m3_s: float, limit_m3: float, *, volume: Callable[[float], str],
              rate: Callable[[float], str], span: Callable[[int], str]) -> str:
    """``At 1.0 bbl/min the well has made about 9.9 bbl by the reading that shows it, if one comes each 15 min``.

    interval_s, rate_m3_s, limit_m3: see ``costs`` [s], [m3/s], [m3]. volume, rate, span: write a volume [m3], a rate
    [m3/s] and a length of time [ms] as the crew reads them. Raises what ``costs`` raises.
    """
    cost, each = costs(interval_s, rate_m3_s, limit_m3), span(round(interval_s * 1000.0))
    if math.isinf(cost.mean_m3):
        return f"{rate(rate_m3_s)} from the well is within what is let pass: no reading each {each} shows it"
    return (f"At {rate(rate_m3_s)} the well has made about {volume(cost.mean_m3)} by the reading that shows it, if one "
            f"comes each {each}")
