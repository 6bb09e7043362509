"""The spike rule on columns: which readings are left out, which wait, and what is remembered of them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from dipbook.drift import spikes
from dipbook.drift.filters import Column
from dipbook.drift.state import State, Waiting
from dipbook.drift.tuning import Tuning


@dataclass(frozen=True, slots=True)
class Doubted:
    """Rows after the rule. u_m3: differences, NaN where left out [m3]. spikes: left out by each row, all told. waited:
    rows that moved nothing at their time. counted: rows that count by now; the rest still wait. state: with what is
    remembered of the rule only.
    """

    u_m3: Column
    spikes: NDArray[np.int64]
    waited: NDArray[np.bool_]
    counted: int
    state: State


def doubted(state: State, t_ms: NDArray[np.int64], u_m3: Column, mode: NDArray[np.int64], tuning: Tuning) -> Doubted:
    """The rule for many rows. state: before them. t_ms: times, rising, those that wait in the state first [ms]. u_m3:
    differences [m3]. mode: of each row. tuning: sizes.
    """
    n, old = len(t_ms), len(state.waiting)
    waited, told = np.zeros(n, dtype=bool), np.zeros(n, dtype=np.int64)
    if tuning.spike_m3 == float("inf") or n == 0:
        return Doubted(u_m3, told + state.spikes, waited, n, state)
    gap = 1000.0 * tuning.gap_s
    at = np.flatnonzero(np.isfinite(u_m3))
    before = len(state.recent)
    v = np.concatenate((state.recent, u_m3[at]))
    # Those that wait lie within a gap's length of the ones before, or they would wait no more.
    known = np.concatenate((np.full(before, t_ms[0] if old else state.known_ms, dtype=np.int64), t_ms[at]))
    begins = np.zeros(len(v), dtype=np.int64)
    breaks = np.flatnonzero(np.diff(known) > gap) + 1
    begins[breaks] = breaks
    begins = np.maximum.accumulate(begins)
    out = np.zeros(len(v), dtype=bool)
    maybe = spikes.may_be_off(v, tuning)
    counted, i = n, before
    while (place := int(np.searchsorted(maybe, i))) < len(maybe):
        i = int(maybe[place])
        run = _run(v, i, begins, out, tuning)
        if not run:
            i += 1
            continue
        first, stop = int(at[run[0] - before]), run[-1] + 1
        if len(run) > spikes.MOST:
            waited[first:at[run[-1] - before]] = True
            i = stop
            continue
        if stop < len(v) and begins[stop] == begins[run[0]]:
            # The next reading was no spike, so these were, and that one counts.
            until, i = int(at[stop - before]), stop + 1
        else:
            # Nothing known came in time: these are let go at the first row that shows it.
            until, i = int(np.searchsorted(t_ms, known[run[-1]] + gap, side="right")), stop
            if until == n:
                counted = first
                waited[first:] = True
                break
        waited[first:until] = True
        out[run] = True
        told[until:] += len(run)
    made = u_m3.copy()
    made[at[np.flatnonzero(out[before:])]] = np.nan
    told += state.spikes
    last = int(known[-1]) if len(v) else state.known_ms
    here = v[begins[-1]:][~out[begins[-1]:]] if len(v) else v
    if counted < n:
        here = here[:len(here) - int(np.isfinite(u_m3[counted:]).sum())]
    recent = () if t_ms[-1] - last > gap else tuple(float(u) for u in here[-spikes.KEPT:])
    waiting = tuple(Waiting(int(t), float(u), int(m)) for t, u, m in zip(
        t_ms[counted:], u_m3[counted:], mode[counted:], strict=True))
    return Doubted(made, told, waited, counted, replace(
        state, recent=recent, known_ms=last, waiting=waiting, spikes=int(told[-1])))


def _run(v: Column, i: int, begins: NDArray[np.int64], out: NDArray[np.bool_], tuning: Tuning) -> list[int]:
    """Readings from i on that are off, three at most and none beyond a gap."""
    begin = begins[i]
    back = max(int(begin), i - 3 * spikes.KEPT)
    recent = [float(u) for u in v[back:i][~out[back:i]][-spikes.KEPT:]]
    run: list[int] = []
    while len(run) <= spikes.MOST and i < len(v) and begins[i] == begin and spikes.is_off(float(v[i]), recent, tuning):
        run.append(i)
        i += 1
    return run
