"""What the difference itself did that may be no gain and no loss, or may be one: a step, a slow drift, breathing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from dipbook.gauges.doubt import Doubt
from dipbook.gauges.noise import runs

PER_HOUR, PER_MIN = 1 / 3600, 1 / 60
BBL = 0.158987294928
ENOUGH_MS = 10_000
"""For medians over a third of two hours a reading each so often is enough."""
EVEN = 0.2
"""A slow change has done at least this share, and at most the rest, by the middle: else it was a step."""


def steps(t_ms: Any, difference_m3: Any, *, least_m3: float = 8 * BBL, fastest_m3_s: float = 25 * BBL * PER_MIN,
          longest_step_s: float = 60.0) -> tuple[Doubt, ...]:
    """Jumps of the difference that are faster than a well is taken to flow: a transfer, a line-up change, or influx.

    t_ms: of readings, rising [UTC ms]. difference_m3: at each [m3], NaN unknown. least_m3: smallest jump [m3] (8 bbl).
    fastest_m3_s: the fastest influx [m3/s] (25 bbl/min: our choice, no source). longest_step_s: readings further apart
    tell no jump [s]. The warning stays whatever it was.
    """
    t, d = _known(t_ms, difference_m3)
    if len(t) < 2:
        return ()
    window_ms = max(1.0, least_m3 / fastest_m3_s * 1000.0)
    j = np.searchsorted(t, t - window_ms)
    j = np.where((j == np.arange(len(t))) & (j > 0), j - 1, j)
    dt = (t - t[j]) / 1000.0
    change = d - d[j]
    flags = (np.abs(change) >= np.maximum(least_m3, fastest_m3_s * dt)) & (dt > 0) & (dt <= longest_step_s)
    found: list[Doubt] = []
    for a, b in runs(flags):
        after, before = d[b + 1:b + 6], d[max(0, int(j[a]) - 4):int(j[a]) + 1]
        if len(after) < 3:      # a spike goes back; a third value alike is taken for real
            continue
        size = float(np.median(after) - np.median(before))
        if abs(size) < least_m3:
            continue
        end = int(t[b])
        found.append(Doubt("step", "", int(t[j[a]]), int(t[b + 3]), max(end, int(t[b + 3])),
                           value=size))
    return tuple(found)


def drifts(t_ms: Any, difference_m3: Any, u_m3: Any, zero_ms: Any, *, over_s: float = 7200.0, each_s: float = 600.0,
           rate_m3_s: float = 3.5 * BBL * PER_HOUR) -> tuple[Doubt, ...]:
    """Slow changes of the difference: evaporation, a leak, a gauge that drifts, or a slow gain or loss.

    t_ms: of readings, rising [UTC ms]. difference_m3, u_m3: at each, u with k = 1 [m3], NaN unknown. zero_ms: the zero
    that counts at each. over_s: told over as long [s], between the medians of its first and last thirds, each_s apart.
    rate_m3_s: beyond this [m3/s], 3.5 bbl/h over 2 h: our own simulation. Less than 2 u of both is none.
    """
    known = np.isfinite(np.asarray(difference_m3, dtype=float))
    t = np.asarray(t_ms, dtype=np.int64)[known]
    if len(t) < 3 or int(t[-1]) - int(t[0]) < 0.9 * over_s * 1000.0:
        return ()
    every = max(1, int(ENOUGH_MS / max(1.0, float(np.median(np.diff(t))))))
    t = t[::every]
    d, u, zero = (np.asarray(c)[known][::every] for c in (difference_m3, u_m3, zero_ms))
    window, third = over_s * 1000.0, over_s * 1000.0 / 3.0
    cells = t // round(each_s * 1000.0)
    grid = t[np.append(cells[1:] != cells[:-1], True)]      # the last reading of each
    grid = grid[grid >= int(t[0]) + 0.9 * window]
    rates = np.full(len(grid), np.nan)
    for k, end in enumerate(grid.tolist()):
        a, b, c, e = np.searchsorted(t, (end - window, end - window + third, end - third, end + 1))
        if b <= a or e <= c or zero[a] != zero[e - 1]:
            continue
        change = float(np.median(d[c:e]) - np.median(d[a:b]))
        span = float(np.median(t[c:e]) - np.median(t[a:b])) / 1000.0
        rate = change / span if span > 0 else np.nan
        spread = 2.0 * float(np.nan_to_num(np.hypot(u[a], u[e - 1])))
        f, g = np.searchsorted(t, (end - window + third, end - third))
        middle = (float(np.median(d[f:g]) - np.median(d[a:b])) / change) if g > f and change else 0.5
        if abs(rate) > rate_m3_s and abs(change) > spread and EVEN <= middle <= 1.0 - EVEN:
            rates[k] = rate
    found: list[Doubt] = []
    for a, b in runs(np.isfinite(rates)):
        until = None if b == len(grid) - 1 else int(grid[b])
        found.append(Doubt("drift", "", int(grid[a] - window), int(grid[a]), until, value=float(rates[b])))
    return tuple(found)


def breathing(connections: Sequence[tuple[int, int, float]], t_ms: Any, difference_m3: Any, *,
              above_m3: float = 2 * BBL, within_m3: float = 2 * BBL, settled_s: float = 300.0) -> tuple[Doubt, ...]:
    """Connections that flowed back more than is explained and took it back: it looks like breathing, and is to be
    treated as flowing until it was checked.

    connections: (pumps off, pumps on [UTC ms], the most above what is explained [m3]) of each. t_ms, difference_m3:
    the difference at readings [UTC ms, m3]. above_m3: least that came back above [m3]. within_m3: how near the
    difference of before it is again [m3] (± 2 bbl: our own simulation). settled_s: after the pumps are on [s].
    """
    t, d = _known(t_ms, difference_m3)
    found: list[Doubt] = []
    for off, on, above in connections:
        begin = on + settled_s * 1000.0
        before = int(np.searchsorted(t, off, side="right")) - 1
        a, b = np.searchsorted(t, (begin, begin + settled_s * 1000.0))
        if not above >= above_m3 or before < 0 or b <= a:
            continue
        if abs(float(np.median(d[a:b])) - float(d[before])) <= within_m3:
            known = int(t[b - 1])
            found.append(Doubt("breathing", "", off, known, known, value=float(above)))
    return tuple(found)


def _known(t_ms: Any, value: Any) -> tuple[Any, Any]:
    v = np.atleast_1d(np.asarray(value, dtype=float))
    t = np.atleast_1d(np.asarray(t_ms, dtype=np.int64))
    good = np.isfinite(v)
    t, v = t[good], v[good]
    if len(t) > 1 and not bool(np.all(t[1:] > t[:-1])):
        order = np.argsort(t, kind="stable")
        t, v = t[order], v[order]
        last = np.append(t[1:] != t[:-1], True)
        t, v = t[last], v[last]
    return t, v
