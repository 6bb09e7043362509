"""One reading at a time: the sums written out as they are defined. ``follow`` does the same by columns."""

from __future__ import annotations

import math
from dataclasses import replace

from dipbook.drift import noise, spikes
from dipbook.drift.rows import Row, row_of
from dipbook.drift.seeds import moved, seeded
from dipbook.drift.state import CIRCULATING, HELD, STATIC, State, Waiting
from dipbook.drift.tuning import MOST_M3, Learning, Tuning


def step(state: State, t_ms: int, u_m3: float, steady: bool, tuning: Tuning, *, off: bool = False) -> tuple[State, Row]:
    """The sums after one more reading, and what they say.

    state: before it; ``State()`` at the beginning. t_ms: its time [UTC ms]; one not after the last is late and changes
    nothing. u_m3: the balance's difference [m3]; where it is NaN, or beyond MOST_M3 and so no volume, the sums hold.
    steady: False while the pumps are off, settling or changing: the sums hold. tuning: constants, the same throughout.
    off: the pumps are off; after ``static_after_s`` of that the sums run on the static level. Takes the same time and
    memory however long it runs. Raises ValueError for a state of another number of clocks (``retuned``).
    """
    state.fits(len(tuning.clocks))
    if state.t_ms is not None and t_ms <= state.t_ms:
        return state, row_of(state, False, tuning)
    since = (t_ms if state.off_since_ms is None else state.off_since_ms) if off else None
    mode = mode_of(steady, None if since is None else (t_ms - since) / 1000.0, tuning)
    state = replace(state, t_ms=t_ms, off_since_ms=since)
    row = Waiting(t_ms, u_m3 if abs(u_m3) <= MOST_M3 else math.nan, mode)
    if tuning.spike_m3 == math.inf:
        state = _counted(state, row, tuning)
    else:
        state = _doubted(state, row, tuning)
    return state, row_of(state, bool(state.sums) and state.sums_ms == t_ms, tuning)


def mode_of(steady: bool, off_s: float | None, tuning: Tuning) -> int:
    """HELD, CIRCULATING or STATIC. steady: pumps ran evenly. off_s: pumps off for so long [s]. tuning: from when."""
    if steady:
        return CIRCULATING
    return STATIC if off_s is not None and off_s >= tuning.static_after_s else HELD


def _doubted(state: State, row: Waiting, tuning: Tuning) -> State:
    """The spike rule: the row counts at once, waits, or counts together with those that waited."""
    if (state.waiting or state.recent) and row.t_ms - state.known_ms > 1000.0 * tuning.gap_s:
        state = replace(_let_go(state, tuning), recent=())
    if not math.isfinite(row.u_m3):
        # Unknown tells nothing of those that wait, so it waits with them: rows count in their order.
        return replace(state, waiting=(*state.waiting, row)) if state.waiting else _counted(state, row, tuning)
    waited = [w.u_m3 for w in state.waiting if math.isfinite(w.u_m3)]
    off = spikes.is_off(row.u_m3, state.recent, tuning)
    state = replace(state, known_ms=row.t_ms)
    if off and len(waited) < spikes.MOST:
        return replace(state, waiting=(*state.waiting, row))
    if off:
        rows, state = (*state.waiting, row), replace(state, waiting=(), recent=(*state.recent, *waited))
    else:
        state = _let_go(state, tuning)
        rows = (row,)
    for one in rows:
        state = _counted(state, one, tuning)
    return replace(state, recent=(*state.recent, row.u_m3)[-spikes.KEPT:])


def _let_go(state: State, tuning: Tuning) -> State:
    """Those that waited were spikes: they count as unknown."""
    rows, state = state.waiting, replace(state, waiting=())
    for row in rows:
        state = replace(state, spikes=state.spikes + math.isfinite(row.u_m3))
        state = _counted(state, replace(row, u_m3=math.nan), tuning)
    return state


def _counted(state: State, row: Waiting, tuning: Tuning) -> State:
    """The sums after a row that isn't doubted any more."""
    if row.mode != state.mode:
        state = replace(state, mode=row.mode, live=False, bridge_n=0, bridge_m3=0.0, bridge_ms=0)
    if row.mode == HELD or not math.isfinite(row.u_m3):
        return state
    if state.live and row.t_ms - state.last_ms > 1000.0 * tuning.gap_s:
        state = replace(state, live=False)
    if not state.live:
        began = state.bridge_ms if state.bridge_n else row.t_ms
        total, n = state.bridge_m3 + row.u_m3, state.bridge_n + 1
        if row.t_ms - began < 1000.0 * tuning.bridge_s:
            return replace(state, bridge_ms=began, bridge_m3=total, bridge_n=n)
        state = seeded(state, row.t_ms, total / n, row.mode, tuning)
    else:
        since = (row.t_ms - state.sums_ms) / 1000.0
        sums = []
        for clock, before in zip(tuning.clocks, state.sums, strict=True):
            weight = -math.expm1(-since / clock.tau_s) if clock.tau_s else 1.0
            level = before.level_m3 + weight * (row.u_m3 - before.level_m3)
            sums.append(moved(clock, before, level, row.t_ms, since))
        state = replace(state, sums=tuple(sums), sums_ms=row.t_ms, last_ms=row.t_ms)
    if tuning.learning is None or row.mode != CIRCULATING:
        return state
    return _looked(state, tuning.learning, tuning.judged_by)


def _looked(state: State, learning: Learning, judged_by: int) -> State:
    """One look at the noise, if it is time for one."""
    look = int((state.sums_ms - state.stretch_ms) / (1000.0 * learning.step_s))
    if state.looks and look <= state.looks[-1][0]:
        return state
    steady, quick = state.sums[judged_by].level_m3, state.sums[0].level_m3
    looks = (*(a for a in state.looks if a[0] >= look - learning.lag), (look, steady, quick))
    state = replace(state, looks=looks)
    if looks[0][0] != look - learning.lag:
        return state
    differences = (*state.differences, (steady - looks[0][1], quick - looks[0][2]))[-learning.stored:]
    state = replace(state, differences=differences, seen=state.seen + 1)
    if not noise.due(learning, state.seen):
        return state
    scale, quick_scale = noise.estimate(differences, learning)
    return replace(state, scale_m3=scale, quick_scale_m3=quick_scale)
