"""What a limit would catch: an even influx, or loss, put on top of quiet readings at moments spread evenly."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from dipbook.books import Books
from dipbook.drifts import drifts_with
from dipbook.limits import FALLING, RISING, Limit, sides
from dipbook.observations import drift_columns
from dipbook.watch import Evidence, drift_of, run
from dipbook.weighing.counting import only

TRIES = 20
BBL30_M3 = 30 * 0.158987294928
"""A try that isn't told by this volume, or by six limits if that is more, is missed [m3]."""
LIMITS = 6.0
BEFORE_MS = 3 * 3_600_000
"""The sums of drift are followed from so long before the moment, to have learned the noise [ms]."""
DRAIN = ("loss",)


@dataclass(frozen=True, slots=True)
class Caught:
    """One rate. rate_m3_s: of the well, − for a loss [m3/s]. tries: that could be judged. told: of them. mean_m3,
    worst_m3: in the well when it would be told, of those told, NaN for none [m3]. missed: not told by ``within_m3``.
    standing: moments left out since the limit would have been passed already, without an influx.
    """

    rate_m3_s: float
    tries: int
    told: int
    mean_m3: float
    worst_m3: float
    missed: int
    standing: int
    within_m3: float


def catch(books: Books, limit: Limit, evidence: Evidence, quiet: Any, spans: tuple[tuple[int, int], ...],
          rate_m3_s: float) -> Caught:
    """Try one rate. books: of the log. limit: gain, loss or drift. evidence; quiet: bool per row of it. spans: quiet
    stretches [UTC ms]. rate_m3_s: as a volume a time, without sign [m3/s], above 0; a loss is taken out for a limit of
    kind loss. A try needs room in its stretch for all of the volume, so that none is missed for want of readings.
    """
    within = max(BBL30_M3, LIMITS * limit.value)
    rate = -rate_m3_s if limit.kind in DRAIN else rate_m3_s
    masked = only(evidence, quiet)
    found: list[float] = []
    missed = standing = 0
    for at in moments(spans, round(within / rate_m3_s * 1000.0)):
        volume = _told_at(books, limit, masked, at, rate, within)
        if volume is None:
            standing += 1
        elif np.isfinite(volume):
            found.append(volume)
        else:
            missed += 1
    mean, worst = (float(np.mean(found)), max(found)) if found else (np.nan, np.nan)
    return Caught(rate, len(found) + missed, len(found), mean, worst, missed, standing, within)


def moments(spans: tuple[tuple[int, int], ...], room_ms: int) -> tuple[int, ...]:
    """Up to TRIES moments [UTC ms], spread evenly over the time that leaves room in its stretch. spans: stretches
    [UTC ms]. room_ms: needed after a moment [ms].
    """
    free = [(a, b - room_ms) for a, b in spans if b - room_ms > a]
    total = sum(b - a for a, b in free)
    made: list[int] = []
    for k in range(TRIES if free else 0):
        left = round(total * (k + 0.5) / TRIES)
        for a, b in free:
            if left < b - a:
                made.append(a + left)
                break
            left -= b - a
    return tuple(sorted(set(made)))


def _told_at(books: Books, limit: Limit, evidence: Evidence, at: int, rate: float, within: float) -> float | None:
    """In the well when it is told [m3]; infinite for not within the volume, None where it stands before the moment."""
    end = at + round(within / abs(rate) * 1000.0)
    back = at - BEFORE_MS if limit.kind == "drift" else at
    t = evidence.t_ms
    # From the reading before the moment on, so that what stands already is seen.
    i = max(0, int(np.searchsorted(t, at, side="right")) - 1)
    j = int(np.searchsorted(t, end, side="right"))
    rows = evidence.rows(i, j)
    added = rate * np.maximum(0, rows.t_ms - at) / 1000.0
    if limit.kind == "drift":
        rows = _with_drift(books, limit, rows, back, end, at, rate)
    else:
        rows = replace(rows, difference={name: x + added for name, x in rows.difference.items()})
    wanted = {"drift": FALLING if rate < 0 else RISING}.get(limit.kind, limit.on)
    begun = [x.time for x in run((limit,), rows)[1] if x.event == "ACT" and x.system == wanted]
    if begun and begun[0] <= at:
        return None
    return abs(rate) * (begun[0] - at) / 1000.0 if begun else np.inf


def _with_drift(books: Books, limit: Limit, rows: Evidence, back: int, end: int, at: int, rate: float) -> Evidence:
    """The rows with what drift would be, followed from ``back`` on [UTC ms]."""
    ends = books.readings.end_ms
    a, b = int(np.searchsorted(ends, back)), int(np.searchsorted(ends, end, side="right"))
    made = drifts_with(books, a, b, rate * np.maximum(0, ends[a:b] - at) / 1000.0)
    place = np.searchsorted(made.t_ms, rows.t_ms)
    same = (place < len(made.t_ms)) & (made.t_ms[np.minimum(place, len(made.t_ms) - 1)] == rows.t_ms)
    columns = {}
    for side in sides((limit,)):
        one = drift_columns(made, side, books.rig.zone)
        picked = one.rows(np.minimum(place, len(made.t_ms) - 1))    # an index array cuts too
        old = rows.drift[drift_of(side)]
        columns[drift_of(side)] = replace(picked, known=picked.known & same & (old.known | ~np.isfinite(old.value)))
    return replace(rows, drift=columns)
