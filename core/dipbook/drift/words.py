"""What the sums say, in the crew's own units."""

from __future__ import annotations

import math
from collections.abc import Callable

from dipbook.drift.rows import Row


def said(row: Row, limit_m3: float, *, loss: bool, volume: Callable[[float], str], rate: Callable[[float], str],
         time: Callable[[int], str]) -> str:
    """``2.4 bbl above the low at 14:32, limit 2.7 bbl, about 0.9 bbl/min``.

    row: what is known. limit_m3: H, NaN where nobody set one [m3]. loss: the other side. volume, rate, time: write a
    volume [m3], a rate [m3/s] and a time [UTC ms] as the crew reads them. The limit is the leading clock's: its share
    of H.
    """
    sums, worst = (row.loss_m3, row.worst_loss_m3) if loss else (row.gain_m3, row.worst_gain_m3)
    leads, since = (row.loss_clock, row.high_ms) if loss else (row.gain_clock, row.low_ms)
    pace = row.loss_rate_m3_s if loss else row.gain_rate_m3_s
    if leads < 0:
        return "Nothing to compare with yet"
    size = sums[leads]
    over = "below the high" if loss else "above the low"
    parts = [f"{volume(size)} {over} at {time(since)}"]
    if math.isnan(limit_m3):
        parts.append("no limit set")
    else:
        parts.append(f"limit {volume(limit_m3 * size / worst if worst > 0.0 else limit_m3)}")
    if math.isfinite(pace) and pace > 0.0:
        parts.append(f"about {rate(pace)}")
    if not row.watching:
        parts.append(f"held since {time(row.moved_ms)}")
    return ", ".join(parts)
