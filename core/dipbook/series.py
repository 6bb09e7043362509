"""Thinning a series for a plot without hiding anything: the envelope of its lows and highs."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray


def envelope(t: Any, v: Any, buckets: int) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """The lowest and the highest sample of each of ``buckets`` equal spans of time, in time order.

    The first and the last sample, and the last that isn't NaN, are always kept: the newest reading of a watch is
    the one that matters. Where samples were NaN (unknown) a NaN stands between the kept samples on either side,
    so a gap stays a gap.
    Kept samples are samples of the series, never means. A series that is short enough already
    (2 × ``buckets`` samples or fewer) comes back whole.

    t: times, rising or equal [ms]. v: values, same length, NaN where unknown [any unit]. buckets: number of spans [-].
    Returns the times and values kept. Raises ValueError for unequal lengths, falling times or no bucket.
    """
    times = np.asarray(t, dtype=np.int64)
    values = np.asarray(v, dtype=np.float64)
    if times.shape != values.shape or times.ndim != 1:
        raise ValueError("t and v must be one-dimensional and of the same length")
    if buckets < 1:
        raise ValueError("an envelope needs at least one bucket")
    n = len(times)
    if n > 1 and np.any(times[1:] < times[:-1]):
        raise ValueError("times must not fall")
    if n <= 2 * buckets:
        return times, values
    span = int(times[-1]) - int(times[0])
    bucket = ((times - times[0]) * buckets) // (span + 1)
    starts = np.concatenate(([0], np.flatnonzero(np.diff(bucket)) + 1))
    unknown = np.isnan(values)
    known_at = np.flatnonzero(~unknown)
    ends = np.array([0, n - 1] + ([int(known_at[-1])] if len(known_at) else []), dtype=np.intp)
    low = _first_extremes(np.where(unknown, np.inf, values), starts, np.minimum)
    high = _first_extremes(np.where(unknown, -np.inf, values), starts, np.maximum)
    kept = np.unique(np.concatenate((ends, low, high)))
    kept = _with_gaps(kept, np.flatnonzero(unknown))
    return times[kept], values[kept]


def _first_extremes(values: NDArray[np.float64], starts: NDArray[np.intp], pick: np.ufunc) -> NDArray[np.intp]:
    """Index of the first extreme of each run of ``values`` beginning at ``starts``; runs with nothing known: none."""
    extremes = pick.reduceat(values, starts)
    lengths = np.diff(np.concatenate((starts, [len(values)])))
    hits = np.flatnonzero((values == np.repeat(extremes, lengths)) & np.isfinite(values))
    run = np.searchsorted(starts, hits, side="right")
    first = np.concatenate(([True], run[1:] != run[:-1])) if len(hits) else np.zeros(0, dtype=bool)
    return hits[first]


def _with_gaps(kept: NDArray[np.intp], unknown: NDArray[np.intp]) -> NDArray[np.intp]:
    """Add the first unknown sample between each pair of kept neighbours that has one."""
    if not len(unknown):
        return kept
    after = np.searchsorted(unknown, kept[:-1], side="right")
    has_one = after < len(unknown)
    first = unknown[np.minimum(after, len(unknown) - 1)]
    between = has_one & (first < kept[1:])
    return np.unique(np.concatenate((kept, first[between])))
