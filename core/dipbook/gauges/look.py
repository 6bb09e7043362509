"""Looks at the gauges of a log: from the books to doubts."""

from __future__ import annotations

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
    for tank, s in books.dips.items():
        a, b = np.searchsorted(s.t_ms, (from_ms, to_ms + 1))
        keep = np.arange(int(a), int(b))
        if s.by_gate is not None:
            keep = keep[~np.asarray(s.by_gate)[keep].astype(bool)]
        by_sensor = keep[np.isin(s.seq[keep], sensed_seqs)]
        if len(by_sensor) > 2 and usual_longest(s.t_ms[by_sensor]) <= SENSED_MS:
            keep = by_sensor
        made = _gauge(books, tank, s, keep)
        if made is not None:
            found.append(made)
    return tuple(found)


def _gauge(books: Books, tank: str, s: Samples, keep: Any) -> Gauge | None:
    spans = tank_spans(tank, books.rigs)
    if not len(keep) or not spans:
        return None
    at = int(s.t_ms[keep[-1]])
    described = next((d for a, b, d in spans if a <= at < b), spans[-1][2])
    low, high = ends_m(described)
    top, bottom = (float(described.volume(x)) for x in (min(high, described.top_m), max(low, 0.0)))
    level = float(s.level_m[keep[-1]])
    area = float(described.slope(level)) if np.isfinite(level) else float("nan")
    t, v = s.t_ms[keep], s.volume_m3[keep]
    sensed = len(t) > 2 and usual_longest(t) <= SENSED_MS
    quantum = 0.0
    if not sensed:
        u = s.u_m3[keep]
        quantum = float(np.median(u[np.isfinite(u)])) * 2.0 * 3.0**0.5 if np.isfinite(u).any() else 0.0
    step = 0.0 if len(t) > 1 else 1e12
    return cleaned(Gauge(tank, t, v, area, quantum, top, bottom, step,
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
    still = stuck(made)
    found = [*still, *missing(made), *gaps(made), *spikes(made), *clipped(made), *noisy(made), *tilted(made),
             *transfers(made, lambda tank, t: books.logged(tank).at(t)), *said_doubts(books, first, last)]
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


def findings(books: Books) -> tuple[Finding, ...]:
    """All doubts as findings, for a check: a number is worth less, and none is changed. books: of the log."""
    rig = books.rig
    unit = rig.units.get("volume", "m3")

    def volume(x: float) -> str:
        return quantities.write(x, unit, decimal=rig.decimal)

    return tuple(Finding(words(d, volume, ended=d.to_ms is not None), code=f"gauge_{d.kind}",
                         tank=d.tank, t_ms=d.from_ms) for d in doubts(books))
