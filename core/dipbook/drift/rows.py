"""What the sums say, a row a reading."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from dipbook.drift.filters import Column
from dipbook.drift.noise import learned_s
from dipbook.drift.state import State
from dipbook.drift.tuning import Tuning


@dataclass(frozen=True, slots=True)
class Row:
    """What is known after one reading. ``Followed`` has the same as columns.

    gain_m3, loss_m3: the sums, by clock [m3]; NaN before the first. worst_gain_m3, worst_loss_m3: the greatest of them,
    each over its share: a limit H is passed where this is ≥ H [m3]. gain_clock, loss_clock: the clock that leads (index
    into the tuning's; −1 before the first). low_ms, high_ms: the time of the low, or high, that its sum counts from
    (−1 likewise). gain_rate_m3_s, loss_rate_m3_s: about how fast since then, allowance and all [m3/s]; NaN without a
    time between. scale_m3: noise of the steady clock [m3], NaN while it is learned or can't be. learned_s: of how much
    circulation [s]. watching: False where the sums held. moved_ms: when they last moved (−1 before the first).
    held_s: for how long they have held [s], NaN before the first. spikes: readings left out so far.
    """

    gain_m3: tuple[float, ...]
    loss_m3: tuple[float, ...]
    worst_gain_m3: float
    worst_loss_m3: float
    gain_clock: int
    loss_clock: int
    low_ms: int
    high_ms: int
    gain_rate_m3_s: float
    loss_rate_m3_s: float
    scale_m3: float
    learned_s: float
    watching: bool
    moved_ms: int
    held_s: float
    spikes: int


@dataclass(frozen=True, slots=True)
class Followed:
    """What is known after each reading, as columns: see ``Row`` for each. gain_m3 and loss_m3 have a line a clock.

    state: at the end, to go on from.
    """

    gain_m3: Column
    loss_m3: Column
    worst_gain_m3: Column
    worst_loss_m3: Column
    gain_clock: NDArray[np.int64]
    loss_clock: NDArray[np.int64]
    low_ms: NDArray[np.int64]
    high_ms: NDArray[np.int64]
    gain_rate_m3_s: Column
    loss_rate_m3_s: Column
    scale_m3: Column
    learned_s: Column
    watching: NDArray[np.bool_]
    moved_ms: NDArray[np.int64]
    held_s: Column
    spikes: NDArray[np.int64]
    state: State

    def row(self, i: int) -> Row:
        """One row. i: its place; negative from the end."""
        return Row(tuple(float(x) for x in self.gain_m3[:, i]), tuple(float(x) for x in self.loss_m3[:, i]),
                   *(getattr(self, name)[i].item() for name in Row.__slots__[2:]))


def shares(tuning: Tuning, scale_m3: Any, quick_scale_m3: Any) -> list[Any]:
    """Each clock's share of H. The quickest one's is never so small that its own noise would pass it more often.

    tuning: clocks. scale_m3, quick_scale_m3: noise of the steady and of the quickest clock, numbers or columns [m3].
    """
    made: list[Any] = [clock.share for clock in tuning.clocks]
    if tuning.learning is not None:
        # A share of NaN (not learned) compares as False: the share is the tuning's.
        ratio = quick_scale_m3 / scale_m3
        first = tuning.clocks[0].share
        made[0] = np.where(ratio > first, ratio, first) if isinstance(ratio, np.ndarray) else (
            ratio if ratio > first else first)
    return made


def row_of(state: State, watching: bool, tuning: Tuning) -> Row:
    """What a state says. state: after the reading. watching: the reading moved the sums. tuning: clocks and shares."""
    of = shares(tuning, state.scale_m3, state.quick_scale_m3)
    nan = math.nan
    known = learned_s(tuning.learning, state.seen)
    if not state.sums:
        none = (nan,) * len(of)
        return Row(none, none, nan, nan, -1, -1, -1, -1, nan, nan, state.scale_m3, known, False, -1, nan, state.spikes)
    gains = tuple(s.gain_m3 for s in state.sums)
    losses = tuple(s.loss_m3 for s in state.sums)
    by_gain = [g / share for g, share in zip(gains, of, strict=True)]
    by_loss = [g / share for g, share in zip(losses, of, strict=True)]
    up, down = by_gain.index(max(by_gain)), by_loss.index(max(by_loss))
    low, high = state.sums[up], state.sums[down]
    return Row(
        gains, losses, by_gain[up], by_loss[down], up, down, low.low_ms, high.high_ms,
        _rate(low.level_m3 - low.low_m3, state.sums_ms - low.low_ms),
        _rate(high.high_m3 - high.level_m3, state.sums_ms - high.high_ms),
        state.scale_m3, known, watching, state.sums_ms,
        0.0 if state.t_ms is None else (state.t_ms - state.sums_ms) / 1000.0, state.spikes)


def _rate(change_m3: float, over_ms: int) -> float:
    return change_m3 / over_ms * 1000.0 if over_ms > 0 else math.nan
