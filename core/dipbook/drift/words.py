"""What the sums say, in the crew's own units."""

from __future__ import annotations

import math
from collections.abc import Callable

from dipbook.drift.rows import Row
from dipbook.drift.tuning import Tuning

NOTHING_YET = "Nothing to compare with yet"


def said(row: Row, limit_m3: float, tuning: Tuning, *, loss: bool, volume: Callable[[float], str],
         rate: Callable[[float], str], time: Callable[[int], str]) -> str:
    """``2.4 bbl above the low at 14:32, limit 2.7 bbl, about 0.9 bbl/min``.

    row: what is known. limit_m3: H, NaN where nobody set one [m3]. tuning: what the row came of. loss: the other side.
    volume, rate, time: write a volume [m3], a rate [m3/s] and a time [UTC ms] as the crew reads them. Where the clock
    that leads has another share than 1 of H, its own limit stands first, and H after it.
    """
    sums, leads, since, pace = (
        (row.loss_m3, row.loss_clock, row.high_ms, row.loss_rate_m3_s) if loss else
        (row.gain_m3, row.gain_clock, row.low_ms, row.gain_rate_m3_s))
    if leads < 0:
        return NOTHING_YET
    size, worst = sums[leads], row.worst_loss_m3 if loss else row.worst_gain_m3
    parts = [f"{volume(size)} {'below the high' if loss else 'above the low'} at {time(since)}"]
    if math.isnan(limit_m3):
        parts.append("no limit set")
    else:
        clock = tuning.clocks[leads]
        share = size / worst if worst > 0.0 else clock.share
        of = "" if abs(share - 1.0) < 1e-9 else f" (the {clock.name} pace's part of {volume(limit_m3)})"
        parts.append(f"limit {volume(limit_m3 * share)}{of}")
    if math.isfinite(pace) and pace > 0.0:
        parts.append(f"about {rate(pace)}")
    if not row.watching:
        parts.append(f"held since {time(row.moved_ms)}")
    return ", ".join(parts)
