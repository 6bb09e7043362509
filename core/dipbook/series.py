"""Thinning a series for a plot without hiding anything: the envelope of its lows and highs."""

from __future__ import annotations

from collections.abc import Sequence
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
    return _rising(np.concatenate((kept, first[between])))


def _rising(places: NDArray[np.intp]) -> NDArray[np.intp]:
    """Each place once, rising. Nearly in order as they are, a merging sort takes a tenth of np.unique's time."""
    ordered = np.sort(places, kind="stable")
    return ordered[np.concatenate(([True], ordered[1:] != ordered[:-1]))] if len(ordered) else ordered


class Thinned:
    """A long series with envelopes of it worked out beforehand, so that any stretch is thinned at once.

    Each envelope has the lowest and the highest sample of every so many of the one before it, at their own times: an
    extreme is in all of them.
    """

    BLOCK = 8
    """So many samples give two to the next envelope."""
    LEAST = 4_096
    """A series so short needs no envelope beforehand [samples]."""

    def __init__(self, t: Any, v: Any) -> None:
        """t, v: as of ``envelope``."""
        self._levels = [(np.asarray(t, dtype=np.int64), np.asarray(v, dtype=np.float64))]
        while len(self._levels[-1][0]) > self.LEAST:
            times, values = self._levels[-1]
            kept = _extremes(values, self.BLOCK)
            if 2 * len(kept) > len(times):
                break                                   # gaps everywhere: nothing is won
            self._levels.append((times[kept], values[kept]))

    def __len__(self) -> int:
        return len(self._levels[0][0])

    def between(self, from_ms: int, to_ms: int, buckets: int) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
        """The stretch from ``from_ms`` to ``to_ms`` thinned, with one sample more on either side, so that a line runs
        on to the edges. An extreme less than a bucket from an edge may be missed.

        from_ms, to_ms: [same unit as the times]. buckets: number of spans [-]. Returns times and values, at most about
        two a bucket; all of them where they are few enough.
        """
        for level in reversed(self._levels):
            times, values = level
            first = max(0, int(np.searchsorted(times, from_ms, side="left")) - 1)
            last = min(len(times), int(np.searchsorted(times, to_ms, side="right")) + 1)
            if last - first >= self.BLOCK * buckets:
                break
        return envelope(times[first:last], values[first:last], buckets)


def _extremes(values: NDArray[np.float64], block: int) -> NDArray[np.intp]:
    """Indices of the lowest and the highest of every ``block`` samples, both ends, the last that is known, and an
    unknown one in each gap."""
    n, unknown = len(values), np.isnan(values)
    whole = n // block * block
    first = np.arange(0, whole, block)
    low = first + np.where(unknown, np.inf, values)[:whole].reshape(-1, block).argmin(axis=1)
    high = first + np.where(unknown, -np.inf, values)[:whole].reshape(-1, block).argmax(axis=1)
    kept = np.column_stack((np.minimum(low, high), np.maximum(low, high))).ravel()
    known = np.flatnonzero(~unknown)
    kept = _rising(np.concatenate(([0], kept, np.arange(whole, n), [n - 1], known[-1:])))
    return _with_gaps(kept, np.flatnonzero(unknown))


def joined(parts: Sequence[tuple[Any, Any]]) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """One series of several that follow each other. parts: times [ms] and values of each."""
    return (np.concatenate([np.zeros(0, dtype=np.int64), *(t for t, _ in parts)]),
            np.concatenate([np.zeros(0), *(v for _, v in parts)]))
