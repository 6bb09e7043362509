"""The sums over rows that aren't doubted any more: a stretch of live level at a time."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from dipbook.drift import noise
from dipbook.drift.filters import Column, Places, reflected, smoothed
from dipbook.drift.seeds import seeded
from dipbook.drift.state import CIRCULATING, HELD, State, Sums
from dipbook.drift.tuning import Learning, Tuning


@dataclass(frozen=True, slots=True)
class Moves:
    """What became of the sums, a column an occasion on which they moved. place: its row (−1: the state before).
    ms: its time. levels: level, gain, loss, low, high, by clock [m3]. times: of the low and the high, by clock [ms].
    scale_m3, quick_scale_m3: noise [m3]. seen: differences so far.
    """

    place: Places
    ms: Places
    levels: Column
    times: Places
    scale_m3: Column
    quick_scale_m3: Column
    seen: Places


def of_state(state: State, place: int, tuning: Tuning) -> Moves:
    """One occasion. state: right after it. place: its row. tuning: clocks. NaN and −1 before the first."""
    n = len(tuning.clocks)
    levels, times = np.full((5, n, 1), np.nan), np.full((2, n, 1), -1, dtype=np.int64)
    for k, s in enumerate(state.sums):
        levels[:, k, 0] = s.level_m3, s.gain_m3, s.loss_m3, s.low_m3, s.high_m3
        times[:, k, 0] = s.low_ms, s.high_ms
    return Moves(np.array([place]), np.array([state.sums_ms]), levels, times, np.array([state.scale_m3]),
                 np.array([state.quick_scale_m3]), np.array([state.seen]))


def joined(moves: list[Moves]) -> Moves:
    """All occasions in one. moves: in order."""
    return Moves(*(np.concatenate([getattr(m, name) for m in moves], axis=-1) for name in Moves.__slots__))


def through(state: State, t_ms: Places, u_m3: Column, mode: Places, tuning: Tuning) -> tuple[State, Moves]:
    """The state after rows, and what became of the sums. state: before them. t_ms: rising [ms]. u_m3: NaN unknown [m3].
    mode: of each row. tuning: constants.
    """
    moves = [of_state(state, -1, tuning)]
    edges = np.flatnonzero(np.diff(mode, prepend=state.mode)) if len(mode) else np.zeros(0, dtype=np.int64)
    for begin, end in zip((0, *edges), (*edges, len(mode)), strict=True):
        if begin == end:
            continue
        if int(mode[begin]) != state.mode:
            state = replace(state, mode=int(mode[begin]), live=False, bridge_n=0, bridge_m3=0.0, bridge_ms=0)
        if state.mode != HELD:
            places = begin + np.flatnonzero(np.isfinite(u_m3[begin:end]))
            state = _stretch(state, places, t_ms[places], u_m3[places], moves, tuning)
    return state, joined(moves)


def _stretch(state: State, places: Places, t: Places, u: Column, moves: list[Moves], tuning: Tuning) -> State:
    """Known rows of one mode: bridged, then live up to the next gap, and so on."""
    gaps = np.flatnonzero(np.diff(t) > 1000.0 * tuning.gap_s) + 1
    i, n = 0, len(t)
    while i < n:
        if state.live and t[i] - state.last_ms > 1000.0 * tuning.gap_s:
            state = replace(state, live=False)
        if not state.live:
            began = state.bridge_ms if state.bridge_n else int(t[i])
            j = max(i, int(np.searchsorted(t, began + 1000.0 * tuning.bridge_s)))
            known = u[i:j + 1]
            total, count = state.bridge_m3 + float(known.sum()), state.bridge_n + len(known)
            if j >= n:
                return replace(state, bridge_ms=began, bridge_m3=total, bridge_n=count)
            state = _looked(seeded(state, int(t[j]), total / count, state.mode, tuning), moves, int(places[j]), tuning)
            i = j + 1
        else:
            j = int(np.searchsorted(gaps, i, side="right"))
            end = int(gaps[j]) if j < len(gaps) else n
            state = _live(state, places[i:end], t[i:end], u[i:end], moves, tuning)
            i = end
    return state


def _looked(state: State, moves: list[Moves], place: int, tuning: Tuning) -> State:
    """The row at which the sums are live again."""
    if tuning.learning is not None and state.mode == CIRCULATING:
        state = replace(state, looks=((0, state.sums[tuning.judged_by].level_m3, state.sums[0].level_m3),))
    moves.append(of_state(state, place, tuning))
    return state


def _live(state: State, places: Places, t: Places, u: Column, moves: list[Moves], tuning: Tuning) -> State:
    """Rows without a break."""
    n, clocks = len(t), tuning.clocks
    levels, times = np.empty((5, len(clocks), n)), np.empty((2, len(clocks), n), dtype=np.int64)
    since = (t - state.sums_ms) / 1000.0
    for k, (clock, s) in enumerate(zip(clocks, state.sums, strict=True)):
        level = smoothed(t, u, clock.tau_s, s.level_m3, state.sums_ms)
        levels[0, k] = level
        rise = level - s.level_m3
        for side, (x, allowance, before, at_ms, at_m3) in enumerate((
                (rise, clock.gain_allowance_m3_s, s.gain_m3, s.low_ms, s.low_m3),
                (-rise, clock.loss_allowance_m3_s, s.loss_m3, s.high_ms, s.high_m3))):
            levels[1 + side, k], turn = reflected(x, allowance * since, before)
            times[side, k] = np.where(turn >= 0, t[turn], at_ms)
            levels[3 + side, k] = np.where(turn >= 0, level[turn], at_m3)
    sums = tuple(Sums(float(level), float(gain), float(loss), int(low_ms), int(high_ms), float(low), float(high))
                 for (level, gain, loss, low, high), (low_ms, high_ms) in zip(
                     levels[:, :, -1].T, times[:, :, -1].T, strict=True))
    scales, seen = np.empty((2, n)), np.full(n, state.seen, dtype=np.int64)
    scales[:] = [[state.scale_m3], [state.quick_scale_m3]]
    if tuning.learning is not None and state.mode == CIRCULATING:
        state = _learned(state, t, levels[0, tuning.judged_by], levels[0, 0], scales, seen, tuning.learning)
    moves.append(Moves(places, t, levels, times, scales[0], scales[1], seen))
    return replace(state, sums=sums, sums_ms=int(t[-1]), last_ms=int(t[-1]))


def _learned(state: State, t: Places, steady: Column, quick: Column, scales: Column, seen: Places,
             learning: Learning) -> State:
    """Looks at the noise, and the estimates that fall due. scales and seen are filled from each look on."""
    number = ((t - state.stretch_ms) / (1000.0 * learning.step_s)).astype(np.int64)
    new = np.flatnonzero(np.diff(number, prepend=state.looks[-1][0] if state.looks else -1) > 0)
    old = np.array([look[0] for look in state.looks], dtype=np.int64)
    numbers = np.concatenate((old, number[new]))
    level = np.concatenate((np.array([look[1:] for look in state.looks]).reshape(-1, 2),
                            np.column_stack((steady[new], quick[new]))))
    wanted = number[new] - learning.lag
    found = np.minimum(np.searchsorted(numbers, wanted), max(0, len(numbers) - 1))
    there = np.flatnonzero(numbers[found] == wanted) if len(new) else np.zeros(0, dtype=np.int64)
    made = level[len(old) + there] - level[found[there]]
    every = np.concatenate((np.array(state.differences).reshape(-1, 2), made))
    had = len(state.differences)
    scale, quick_scale = state.scale_m3, state.quick_scale_m3
    rows = new[there]
    seen += np.searchsorted(rows, np.arange(len(t)), side="right")
    for k, row in enumerate(rows):
        if noise.due(learning, state.seen + k + 1):
            scale, quick_scale = noise.estimate(every[:had + k + 1][-learning.stored:], learning)
            scales[:, row:] = [[scale], [quick_scale]]
    keep = numbers >= (numbers[-1] - learning.lag if len(numbers) else 0)
    return replace(
        state, looks=tuple((k, a, b) for k, (a, b) in zip(numbers[keep].tolist(), level[keep].tolist(), strict=True)),
        differences=tuple((a, b) for a, b in every[-learning.stored:].tolist()), seen=state.seen + len(there),
        scale_m3=scale, quick_scale_m3=quick_scale)
