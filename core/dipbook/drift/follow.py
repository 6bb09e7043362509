"""Many readings at once: the same sums as ``step``, without a loop over readings."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from dipbook.drift.doubts import doubted
from dipbook.drift.filters import Column, Places
from dipbook.drift.rows import Followed, shares
from dipbook.drift.state import CIRCULATING, HELD, STATIC, State
from dipbook.drift.stretches import Moves, through
from dipbook.drift.tuning import MOST_M3, Tuning

NEVER = np.iinfo(np.int64).min


def follow(t_ms: Any, u_m3: Any, steady: Any, tuning: Tuning, *, off: Any = None,
           state: State | None = None) -> Followed:
    """The sums after each of many readings of one system's difference.

    t_ms: times [UTC ms]; a row not after those before it is late and changes nothing. u_m3: the balance's difference
    [m3]; where it is NaN, or beyond MOST_M3 and so no volume, the sums hold. steady: False while the pumps are off,
    settling or changing: the sums hold. tuning: constants, the same throughout. off: pumps are off, a column; None for
    never: then nothing is watched on the static level. state: to go on from, None at the beginning. Raises ValueError
    for columns of unequal lengths, or a state of another number of clocks (``retuned``).
    """
    start = State() if state is None else state
    start.fits(len(tuning.clocks))
    t, u = np.asarray(t_ms, dtype=np.int64), np.asarray(u_m3, dtype=np.float64)
    u = np.where(np.abs(u) <= MOST_M3, u, np.nan)
    even = np.asarray(steady, dtype=bool)
    still = np.zeros(t.shape, dtype=bool) if off is None else np.asarray(off, dtype=bool)
    if t.ndim != 1 or not t.shape == u.shape == even.shape == still.shape:
        raise ValueError("the columns must be one-dimensional and of the same length")
    latest = np.maximum.accumulate(np.concatenate(([NEVER if start.t_ms is None else start.t_ms], t)))
    timely = np.flatnonzero(t > latest[:-1])
    mode, since = _modes(t[timely], even[timely], still[timely], start, tuning)
    old = len(start.waiting)
    rows_t = np.concatenate((np.array([w.t_ms for w in start.waiting], dtype=np.int64), t[timely]))
    rows_u = np.concatenate((np.array([w.u_m3 for w in start.waiting], dtype=np.float64), u[timely]))
    modes = np.concatenate((np.array([w.mode for w in start.waiting], dtype=np.int64), mode))
    rule = doubted(start, rows_t, rows_u, modes, tuning)
    begin = replace(rule.state, t_ms=None if latest[-1] == NEVER else int(latest[-1]), off_since_ms=since)
    done = slice(0, rule.counted)
    end, moves = through(begin, rows_t[done], rule.u_m3[done], modes[done], tuning)
    # A row sees the sums as they stood at its time: rows that waited, and late ones, see what stood before them.
    row = np.concatenate(([old - 1], old + np.arange(len(timely))))[np.searchsorted(timely, np.arange(len(t)), "right")]
    sees = np.maximum.accumulate(np.where(rule.waited, -1, np.arange(len(rows_t)))) if len(rows_t) else rows_t
    last = np.where(row >= 0, sees[row] if len(sees) else -1, -1)
    told = np.where(row >= old, rule.spikes[row] if len(sees) else 0, start.spikes)
    at = np.searchsorted(moves.place, last, side="right") - 1
    return _table(moves, at, t, latest, told, tuning, end)


def _modes(t: Places, even: NDArray[np.bool_], still: NDArray[np.bool_], start: State,
           tuning: Tuning) -> tuple[Places, int | None]:
    """(mode of each row, since when the pumps are off after the last)."""
    mode = np.full(len(t), HELD, dtype=np.int64)
    since = start.off_since_ms
    if len(t):
        begins = np.flatnonzero(np.diff(still, prepend=since is not None))
        offs = np.where(np.arange(len(t)) < (begins[0] if len(begins) else len(t)), since or 0, 0)
        if len(begins):
            place = np.searchsorted(begins, np.arange(len(t)), side="right") - 1
            offs = np.where(place >= 0, t[begins[np.maximum(place, 0)]], offs)
        mode[still & (t - offs >= 1000.0 * tuning.static_after_s)] = STATIC
        since = int(offs[-1]) if still[-1] else None
    mode[even] = CIRCULATING
    return mode, since


def _table(moves: Moves, at: Places, t: Places, latest: Places, spikes: Places, tuning: Tuning, end: State) -> Followed:
    """Columns of what became of the sums. at: the occasion each row sees. latest: times so far, the state's first."""
    levels, times, ms = moves.levels[:, :, at], moves.times[:, :, at], moves.ms[at]
    scale, quick_scale = moves.scale_m3[at], moves.quick_scale_m3[at]
    known = np.isfinite(levels[0, 0])
    share = shares(tuning, scale, quick_scale)
    each = np.arange(len(t))

    def side(k: int) -> tuple[Column, Places, Places, Column]:
        greatest, leads = levels[1 + k, 0] / share[0], np.where(known, 0, -1)
        for clock in range(1, len(share)):
            over = levels[1 + k, clock] / share[clock]
            more = over > greatest
            greatest, leads = np.where(more, over, greatest), np.where(more, clock, leads)
        began = times[k, leads, each]
        change = (levels[0, leads, each] - levels[3 + k, leads, each]) * (-1.0 if k else 1.0)
        lasted = np.where(known & (ms > began), ms - began, np.nan)
        return greatest, leads, began, change / lasted * 1000.0

    worst, up, low, rising = side(0)
    fallen, down, high, falling = side(1)
    learned: Column = np.zeros(len(t))
    if (rule := tuning.learning) is not None:
        learned = np.asarray(np.clip(moves.seen[at] - rule.behind, 0, rule.keep) * rule.step_s, dtype=np.float64)
    held = np.where(known, (latest[1:] - ms) / 1000.0, np.nan)
    return Followed(levels[1], levels[2], worst, fallen, up, down, low, high, rising, falling, scale, learned,
                    known & (ms == t) & (t > latest[:-1]), np.where(known, ms, -1), held, spikes, end)
