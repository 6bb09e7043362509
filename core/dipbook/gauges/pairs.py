"""Two active tanks that move against each other: gauges on a tilting floor, mud that sloshes, or a transfer."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from typing import Any

import numpy as np

from dipbook.gauges.doubt import Doubt
from dipbook.gauges.gauge import Gauge, Logged, nothing
from dipbook.gauges.noise import FEWEST, FLOOR_M3, runs


def tilted(gauges: Sequence[Gauge], *, opposite: float = -0.7, block_s: float = 600.0, floor_m3: float = FLOOR_M3,
           mean_s: float = 5.0, steady_s: float = 60.0, clip: float = 3.0) -> tuple[Doubt, ...]:
    """Pairs of active sensors that swing against each other.

    gauges: of all tanks. opposite: correlation at or below which they do [-], of what lies off their own moving mean
    over steady_s [s], by means over mean_s [s], so that a ramp doesn't count. block_s: told over as long [s], or 60
    means. floor_m3: less than this is no swinging [m3]. clip: what lies off counts up to so many of its scales, so that
    the corners of a transfer don't [-]. Only sensors read at the same times are compared. Our choice, no source.
    """
    found: list[Doubt] = []
    for same in _alike(gauges):
        made = _swings(same, block_s, mean_s, steady_s) if len(same) > 1 else None
        if made is None:
            continue
        d, begins, ends = made
        s = np.median(np.abs(d), axis=2) / 0.6745
        d = np.clip(d, -clip * s[:, :, None], clip * s[:, :, None])
        size = np.sqrt(np.einsum("ibn,ibn->ib", d, d))
        for i, j in combinations(range(len(same)), 2):
            one, other = same[i], same[j]
            least = max(floor_m3, one.quantum_m3 / 2, other.quantum_m3 / 2)
            both = np.flatnonzero((s[i] > least) & (s[j] > least))
            flags = np.zeros(s.shape[1], dtype=bool)
            r = np.einsum("bn,bn->b", d[i][both], d[j][both]) / (size[i][both] * size[j][both])
            flags[both] = (r <= opposite) & one.active(ends[both]) & other.active(ends[both])
            for a, b in runs(flags):
                over = None if b == len(begins) - 1 else int(ends[b])
                found += [Doubt("tilted", first.tank, int(begins[a]), int(ends[a]), over, other=second.tank)
                          for first, second in ((one, other), (other, one))]
    return tuple(found)


def _swings(same: Sequence[Gauge], block_s: float, mean_s: float, steady_s: float) -> tuple[Any, Any, Any] | None:
    """(what lies off the moving mean [m3], tank × block × value; begin and end of each block [UTC ms]), or None."""
    first = same[0]
    k = max(1, round(mean_s * 1000.0 / first.step_ms))
    step_s = k * first.step_ms / 1000.0
    n = max(FEWEST, round(block_s / step_s))
    w = max(3, round(steady_s / step_s)) | 1
    t = first.t_ms
    length_ms = max(1, round(n * step_s * 1000.0))
    aligned = -(-int(t[0]) // length_ms) * length_ms
    skip = int(np.searchsorted(t, aligned)) if len(t) >= 2 * n * k else 0
    m = (len(t) - skip) // k
    if m - w + 1 < n:
        return None
    v = np.stack([g.volume_m3[skip:skip + m * k].reshape(m, k).mean(axis=1) for g in same])
    v -= v[:, :1]
    sums = np.concatenate((np.zeros((len(v), 1)), np.cumsum(v, axis=1)), axis=1)
    off = v[:, w // 2:m - w // 2] - (sums[:, w:] - sums[:, :-w]) / w
    count = off.shape[1] // n
    off = off[:, :count * n].reshape(len(v), count, n)
    begin = skip + (w // 2) * k + np.arange(count) * n * k
    return off, t[begin], t[np.minimum(begin + n * k - 1 + (w // 2) * k, len(t) - 1)]


def transfers(gauges: Sequence[Gauge], logged: Logged = nothing, *, least_m3: float = 1.272, left: float = 0.3,
              block_s: float = 600.0) -> tuple[Doubt, ...]:
    """Pairs of active tanks of which one rose about as much as the other fell, and nothing is logged on either.

    gauges: of all tanks. logged: what is logged on a tank; where mud flows through, a move logged needn't show in it.
    least_m3: each moved more than this [m3] (8 bbl). left: of the larger, the sum is less than this share [-]. block_s:
    between the medians of as long [s]; of rounds, between two dips. Whether it was a transfer, or a
    tilt of the tanks, isn't known. 8 bbl, 30 %: our own simulation.
    """
    found: list[Doubt] = []
    told = [(g, *_moves(g, logged, block_s)) for g in gauges]
    for (one, t1, m1), (other, t2, m2) in combinations(told, 2):
        if not len(m1) or not len(m2):
            continue
        if one.sensed != other.sensed:
            continue
        near = (1.5 * block_s * 1000.0) if one.sensed else 30 * 60_000
        big = np.flatnonzero(np.abs(m1) > least_m3)
        for i in big.tolist():
            j = int(np.argmin(np.abs(t2[1:] - t1[i + 1])))
            if abs(int(t2[j + 1]) - int(t1[i + 1])) > near or not abs(m2[j]) > least_m3 or m1[i] * m2[j] >= 0:
                continue
            if not (np.isfinite(m1[i]) and np.isfinite(m2[j])):
                continue
            total = float(m1[i] + m2[j])
            at = np.array([t1[i + 1]])
            if abs(total) >= left * max(abs(m1[i]), abs(m2[j])) or not (one.active(at)[0] and other.active(at)[0]):
                continue
            source, target = (one, other) if m1[i] < 0 else (other, one)
            fell = float(min(m1[i], m2[j]))
            end = int(max(t1[i + 1], t2[j + 1]))
            last = int(min(one.t_ms[-1], other.t_ms[-1]))
            found.append(Doubt("transfer", source.tank, int(min(t1[i], t2[j])), end,
                               None if end >= last else end, value=total, moved_m3=fell, other=target.tank))
    return tuple(sorted(found, key=lambda d: d.from_ms))


def _moves(g: Gauge, logged: Logged, block_s: float) -> tuple[Any, Any]:
    """(times [UTC ms], what moved from each to the next [m3], NaN where something is logged on it)."""
    t, v = g.t_ms, g.volume_m3
    if not g.sensed:
        return t, np.where(np.abs(np.diff(logged(g.tank, t))) < 1e-9, np.diff(v), np.nan) if len(t) > 1 else np.zeros(0)
    n = max(3, round(block_s * 1000.0 / g.step_ms))
    m = len(t) // n
    if m < 2:
        return t[:0], np.zeros(0)
    skip = len(t) - m * n
    middle = t[skip:].reshape(m, n)[:, n // 2]
    typical = np.median(v[skip:].reshape(m, n), axis=1)
    edge = t[skip:].reshape(m, n)
    booked = logged(g.tank, edge[1:, -1]) - logged(g.tank, edge[:-1, 0])
    return middle, np.where(np.abs(booked) < 1e-9, np.diff(typical), np.nan)


def _alike(gauges: Sequence[Gauge]) -> list[list[Gauge]]:
    """Sensors that are read at the same times, together."""
    groups: list[list[Gauge]] = []
    for g in gauges:
        if not g.sensed:
            continue
        for group in groups:
            if group[0].t_ms is g.t_ms or np.array_equal(group[0].t_ms, g.t_ms):
                group.append(g)
                break
        else:
            groups.append([g])
    return groups
