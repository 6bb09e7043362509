"""How much more came back at a connection than usual: against the mean of accepted ones, from the first second on, and
on after the pumps have started, until the tanks tell of the well again.

The band of ``above`` holds one reading against the most that any accepted connection gave back: that limit is a
person's own, and it stays. This is the other measure, for the sums that hold while the pumps are off: smoothed, less
the mean of the minute before the pumps stopped, above the *mean* of the last accepted connections of the band in force.
Found by simulation to be earlier at the same number of false warnings (docs/performance.md).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from dipbook.books import Books
from dipbook.drift.filters import smoothed
from dipbook.flowback.adopted import band_for
from dipbook.flowback.curves import BEFORE_MS, Stop, lines_hold, stops, without_lines
from dipbook.flowback.envelope import FEWEST

SMOOTH_S, BASE_MS = 15.0, 60_000
"""Time constant of the smoothing [s], and the time before the pumps stop whose mean what came back is counted from."""
AFTER_MS = 420_000
"""For so long after the pumps have started it is compared: the five minutes in which the sums hold, and two more, in
which they take their mean [ms]."""
LAST = 10
"""As many accepted connections are averaged, the newest."""
SILENT_SHARE = 0.1
"""Below this share of what usually comes back at most, more is no sign: connections differ by some percent."""


@dataclass(frozen=True)
class Unusual:
    """One row a reading. more_m3: came back above the mean of accepted connections [m3], NaN where nothing is compared.
    since_s: since the pumps stopped, or started again [s], NaN likewise. off: they are off. usual_m3: the most that
    usually comes back [m3]. told: more than the share that connections differ by.
    """

    more_m3: Any
    since_s: Any
    off: Any
    usual_m3: Any

    @property
    def told(self) -> Any:
        """True where it is more than SILENT_SHARE of what usually comes back."""
        return np.isfinite(self.more_m3) & (self.more_m3 >= SILENT_SHARE * self.usual_m3)


@dataclass(frozen=True)
class _Part:
    """What had come back, smoothed [m3], at readings [UTC ms], s after the pumps stopped, or started again."""

    t_ms: Any
    s: Any
    back_m3: Any


def unusual(books: Books, t_ms: Any) -> Unusual:
    """How much more came back than usual, at readings. books: of the log. t_ms: ends of readings, rising [UTC ms]."""
    t = np.asarray(t_ms, dtype=np.int64)
    nothing = np.full(len(t), np.nan)
    made = Unusual(nothing, nothing.copy(), np.zeros(len(t), dtype=bool), nothing.copy())
    every = stops(books)
    for place, stop in enumerate(every):
        ends = _ends_ms(every, place)
        first, last = np.searchsorted(t, (stop.off_ms, ends))
        if first == last:
            continue
        band = band_for(books, stop.off_ms, stop.flow_m3_s)
        if band is None or len(band.members) < FEWEST:
            continue
        offs = {c.off_ms for c in band.members[-LAST:]}
        usual = [parts for k, s in enumerate(every) if s.off_ms in offs and (parts := _parts(books, every, k))]
        now = _parts(books, every, place)
        if now is not None and len(usual) >= FEWEST:
            _compare(books, now, usual, stop, t, made)
    return made


def _ends_ms(every: Sequence[Stop], place: int) -> int:
    """When a stop is no longer compared [UTC ms]."""
    stop = every[place]
    end = stop.ends_ms if stop.on_ms is None or stop.on_ms > stop.ends_ms else stop.on_ms + AFTER_MS
    return min(end, every[place + 1].off_ms) if place + 1 < len(every) else end


def _parts(books: Books, every: Sequence[Stop], place: int) -> tuple[_Part, _Part] | None:
    """What had come back at one stop: while the pumps were off, and after; None where it can't be told."""
    key = ("came back, smoothed", str(every[place].off_ms))
    if key not in books.worked_out:
        books.worked_out[key] = _of_one(books, every[place], _ends_ms(every, place))
    found: tuple[_Part, _Part] | None = books.worked_out[key]
    return found


def _of_one(books: Books, stop: Stop, ends_ms: int) -> tuple[_Part, _Part] | None:
    ends = books.readings.end_ms
    before = int(np.searchsorted(ends, stop.off_ms, side="right"))
    first = int(np.searchsorted(ends, stop.off_ms - BASE_MS))
    if first == before:                     # none in the minute before: the last one counts, where it is young enough
        first = before - 1
    if first < 0 or stop.off_ms - int(ends[first]) > BEFORE_MS:
        return None
    t = ends[first:int(np.searchsorted(ends, ends_ms))]
    rest, _ = without_lines(books, t)
    known = np.isfinite(rest)
    base = known & (t <= stop.off_ms)
    after = known & (t > stop.off_ms)
    if not base.any() or not after.any():
        return None
    at = t[after]
    back = smoothed(at, rest[after] - rest[base].mean(), SMOOTH_S, 0.0, stop.off_ms)
    off = at < stop.on_ms if stop.on_ms is not None else np.ones(len(at), dtype=bool)
    on_ms = stop.on_ms if stop.on_ms is not None else 0
    return (_Part(at[off], (at[off] - stop.off_ms) / 1000.0, back[off]),
            _Part(at[~off], (at[~off] - on_ms) / 1000.0, back[~off]))


def _compare(books: Books, now: tuple[_Part, _Part], usual: Sequence[tuple[_Part, _Part]], stop: Stop, t: Any,
             made: Unusual) -> None:
    """Fill in the rows of one stop."""
    cap, most = lines_hold(books, stop), 0.0
    for part, here in enumerate(now):
        known = sorted((c[part] for c in usual if len(c[part].s)), key=lambda c: -float(c.s[-1]))
        if len(known) < FEWEST:
            continue
        # Later than FEWEST of them reach, the last mean that had so many stands: no second of it is blind.
        last = known[FEWEST - 1].s
        most = max(most, float(_mean(known, last, cap).max()))
        rows = np.flatnonzero((here.t_ms >= t[0]) & (here.t_ms <= t[-1]))
        place = np.searchsorted(t, here.t_ms[rows])
        made.more_m3[place] = here.back_m3[rows] - _mean(known, np.minimum(here.s[rows], last[-1]), cap)
        made.since_s[place] = here.s[rows]
        made.off[place] = part == 0
        made.usual_m3[place] = most


def _mean(known: Sequence[_Part], at: Any, cap: float) -> Any:
    """Mean of those that reach so far, never more than the lines hold [m3]. at: times [s], none beyond what FEWEST of
    them reach. cap: what they hold [m3], NaN unknown."""
    values = np.array([np.where(at <= c.s[-1], np.interp(at, c.s, c.back_m3), np.nan) for c in known])
    return np.fmin(np.nanmean(values, axis=0), cap)
