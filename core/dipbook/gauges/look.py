"""Looks at the gauges of a log: from the books to doubts."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from dipbook import balance, flowback, quantities
from dipbook.balance import Balance
from dipbook.books import Books
from dipbook.books.samples import Samples, tank_spans
from dipbook.findings import Finding
from dipbook.gauges.doubt import Doubt
from dipbook.gauges.drift import breathing, drifts, steps
from dipbook.gauges.ends import clipped
from dipbook.gauges.gauge import SENSED_MS, Gauge, cleaned, usual_longest
from dipbook.gauges.isolated import isolated
from dipbook.gauges.noise import noisy
from dipbook.gauges.pairs import tilted, transfers
from dipbook.gauges.said import said_doubts
from dipbook.gauges.silence import gaps, missing
from dipbook.gauges.spikes import spikes
from dipbook.gauges.still import stuck
from dipbook.gauges.words import words
from dipbook.records import SAMPLES
from dipbook.tanks.ends import ends_m

LOOK_BACK_MS = 4 * 3_600_000
"""How far back a test needs to see: 2 h of noise before, 2 h of drift, and room."""


def gauges_of(books: Books, from_ms: int, to_ms: int) -> tuple[Gauge, ...]:
    """The gauges of all tanks between two times, both included. books. from_ms, to_ms [UTC ms].

    A tank with a sensor is told by its sensor alone; levels through open gates are of no gauge.
    """
    sensed_seqs = np.array(sorted(r.seq for r in books.eff.records if r.kind == SAMPLES), dtype=np.int64)
    found: list[Gauge] = []
    timings: list[tuple[Any, float, float]] = []
    for tank, s in books.dips.items():
        a, b = np.searchsorted(s.t_ms, (from_ms, to_ms + 1))
        keep: Any = slice(int(a), int(b))
        sensed = np.isin(s.seq[keep], sensed_seqs)
        if s.by_gate is not None or not sensed.all():
            own = np.ones(len(sensed), dtype=bool) if s.by_gate is None else ~np.asarray(s.by_gate)[keep].astype(bool)
            keep = np.flatnonzero(own) + int(a)
            by_sensor = np.flatnonzero(own & sensed) + int(a)
            if len(by_sensor) > 2 and usual_longest(s.t_ms[by_sensor]) <= SENSED_MS:
                keep = by_sensor
        made = _gauge(books, tank, s, keep, _timing(s.t_ms[keep], timings))
        if made is not None:
            found.append(made)
    return tuple(found)


def _timing(t_ms: Any, known: list[tuple[Any, float, float]]) -> tuple[float, float]:
    """(usual, usual longest) step between times [ms], from those known already where the times are the same."""
    for t, step, longest in known:
        if t is t_ms or np.array_equal(t, t_ms):
            return step, longest
    step = float(np.median(np.diff(t_ms))) if len(t_ms) > 1 else 0.0
    known.append((t_ms, step, usual_longest(t_ms)))
    return known[-1][1:]


def _gauge(books: Books, tank: str, s: Samples, keep: Any, timing: tuple[float, float]) -> Gauge | None:
    spans = tank_spans(tank, books.rigs)
    t, v = s.t_ms[keep], s.volume_m3[keep]
    if not len(t) or not spans:
        return None
    at = int(t[-1])
    described = next((d for a, b, d in spans if a <= at < b), spans[-1][2])
    low, high = ends_m(described)
    top = float(described.volume(min(high, described.top_m)))
    bottom = float(described.volume(low)) if low > 0.0 else float("nan")    # else the tank is empty there
    level = float(s.level_m[keep][-1])
    area = float(described.slope(level)) if np.isfinite(level) else float("nan")
    step, longest = timing
    sensed = len(t) > 2 and longest <= SENSED_MS
    quantum = 0.0
    if not sensed:
        u = s.u_m3[keep]
        quantum = float(np.median(u[np.isfinite(u)])) * 2.0 * 3.0**0.5 if np.isfinite(u).any() else 0.0
    return cleaned(Gauge(tank, t, v, area, quantum, top, bottom, step if len(t) > 1 else 1e12, longest,
                         spans=books.line.spans.get(tank, ()), flows=described.role == "suction"))


def doubts(books: Books, from_ms: int | None = None, to_ms: int | None = None, over: Balance | None = None,
           ) -> tuple[Doubt, ...]:
    """Every doubt that touches a span, by time. Looked at is the span and what came before it.

    books: of the log. from_ms, to_ms: the span [UTC ms]; None for from the first and to the last reading. over: the
    active system's balance at the readings of the span, where somebody has it already.
    """
    ends = books.readings.end_ms
    if not len(ends):
        return ()
    first = int(ends[0]) if from_ms is None else from_ms - LOOK_BACK_MS
    last = int(ends[-1]) if to_ms is None else to_ms
    key = ("gauges", f"{first} {last}")
    if key not in books.worked_out:
        found = _look(books, first, last, over)
        since = first if from_ms is None else from_ms
        books.worked_out[key] = tuple(sorted((d for d in found if d.to_ms is None or d.to_ms >= since),
                                             key=lambda d: (d.from_ms, d.tank, d.kind)))
    made: tuple[Doubt, ...] = books.worked_out[key]
    return made


def _look(books: Books, first: int, last: int, over: Balance | None) -> list[Doubt]:
    made = gauges_of(books, first, last)
    pumps = books.pumps
    changed = np.flatnonzero(np.diff(pumps.on.astype(np.int8)) != 0) + 1 if len(pumps.t_ms) else np.zeros(0, dtype=int)
    marks = [int(t) for t in pumps.t_ms[changed] if first <= t <= last]

    def logged(tank: str, t_ms: Any) -> Any:
        return books.logged(tank).at(t_ms)

    def pumping(t_ms: Any) -> Any:
        i = np.searchsorted(pumps.t_ms, t_ms, side="right") - 1
        return (i >= 0) & pumps.on[np.maximum(i, 0)] if len(pumps.t_ms) else np.zeros(len(t_ms), dtype=bool)

    still = stuck(made, logged)
    found = [*still, *missing(made), *gaps(made), *spikes(made), *clipped(made), *noisy(made, pumping), *tilted(made),
             *transfers(made, logged), *said_doubts(books, first, last)]
    for d in isolated(made, marks):
        if not any(x.tank == d.tank and x.from_ms <= d.known_ms and (x.to_ms is None or x.to_ms >= d.from_ms)
                   for x in still):
            found.append(d)
    ends = books.readings.end_ms
    shown = ends[(ends >= first) & (ends <= last)]
    if len(shown) > 1:
        b = balance.at(books, shown) if over is None else over
        here = (b.t_ms >= first) & (b.t_ms <= last)
        t, difference, u, zero = (column[here] for column in (b.t_ms, b.difference_m3, b.u_m3, b.zero_ms))
        sensed = len(t) > 1 and usual_longest(t) <= SENSED_MS
        found += [*(steps(t, difference) if sensed else ()), *drifts(t, difference, u, zero)]
        back = [(c.off_ms, c.on_ms, flowback.worst(books, c)[0]) for c in flowback.find(books)
                if c.on_ms is not None and first <= c.off_ms <= last]
        found += breathing(back, t, difference)
    return found


def findings(books: Books, when: Callable[[int], str], over: Balance | None = None) -> tuple[Finding, ...]:
    """All doubts as findings, for a check: a number is worth less, and none is changed. books: of the log. when: writes
    a time [UTC ms] in the rig's. over: the active system's balance at its readings, where somebody has it already."""
    rig = books.rig
    unit = rig.units.get("volume", "m3")

    def volume(x: float) -> str:
        return quantities.write(x, unit, decimal=rig.decimal)

    return tuple(Finding(f"{_span(d, when)}: {words(d, volume, ended=d.to_ms is not None)}", code=f"gauge_{d.kind}",
                         tank=d.tank, t_ms=d.from_ms) for d in doubts(books, over=over)
                 if d.kind != "tilted" or d.tank < d.other)


def _span(d: Doubt, when: Callable[[int], str]) -> str:
    """``Since 2026-01-06 02:10``, or from when to when; at a time for what is over within the same minute."""
    begin = when(d.from_ms)
    if d.to_ms is None:
        return f"Since {begin}"
    end = when(d.to_ms)
    return f"At {begin}" if end == begin else f"From {begin} to {end}"
