"""Readings that come at another pace from some time on: a sensor that fails, dips by hand instead."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from dipbook.drift.state import State
from dipbook.drift.tuning import Tuning


def interval_of(t_ms: Any) -> float:
    """The usual time between readings: the median [s]; NaN for fewer than two. t_ms: times, in order [UTC ms]."""
    gaps = np.diff(np.asarray(t_ms, dtype=np.int64))
    gaps = gaps[gaps > 0]
    return float(np.median(gaps)) / 1000.0 if len(gaps) else float("nan")


def retuned(state: State, before: Tuning, after: Tuning) -> State:
    """A state to go on from with other constants: the sums go on from where they are, and the next step counts.

    state: after the last reading with the old constants. before, after: the old ones, the new ones. With another number
    of clocks each goes on from the sums of the one that is judged by. The noise is kept where it was measured alike,
    and is learned anew otherwise. Readings that still wait as possible spikes are left out.
    """
    sums = state.sums
    if sums and len(sums) != len(after.clocks):
        sums = (sums[before.judged_by],) * len(after.clocks)
    parked = state.parked
    if parked and len(parked) != len(after.clocks):
        parked = (parked[before.judged_by],) * len(after.clocks)
    spikes = state.spikes + sum(abs(w.u_m3) < float("inf") for w in state.waiting)
    made = replace(state, sums=sums, parked=parked, live=False, bridge_ms=0, bridge_n=0, bridge_m3=0.0, recent=(),
                   waiting=(), spikes=spikes, looks=())
    if before.learning == after.learning:
        return made
    nan = float("nan")
    return replace(made, differences=(), seen=0, scale_m3=nan, quick_scale_m3=nan)
