"""What is run: each scenario answers with the rows of a table and with goals.

Cells of the seed are given here once; a cell keeps its number whatever else is added.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from bench.detection import goals, jobs, metrics, reference
from bench.detection.connections import WAYS
from bench.detection.goals import RATES, Goal
from bench.detection.world import Floor

Row = tuple[str, ...]
BLIND_RUNS = 180
ALONE = "clocks alone"


@dataclass(frozen=True)
class Size:
    """tours: quiet ones; runs: with a kick, a cell."""

    tours: int
    runs: int


@dataclass(frozen=True)
class Table:
    """title, head, rows and the goals that the scenario tells of."""

    title: str
    head: Row
    rows: tuple[Row, ...]
    goals: tuple[Goal, ...] = ()


def _said(c: metrics.Came) -> str:
    return f"{c.mean:.2f} ± {c.se:.2f} (P50 {c.p50:.2f}, P90 {c.p90:.2f})"


def _tail(c: metrics.Came) -> Row:
    return f"{c.delay_s:.0f} s", f"{100 * c.missed:.1f} %", str(c.n)


def quiet(pool: jobs.Pool, size: Size) -> Iterator[Table]:
    """G1, G2: drilling without connections, limits simulated to a level of false alarms, beside the best possible."""
    floor = Floor()
    worst = [x["gain"] for x in pool.do(jobs.quiet, [jobs.Quiet(floor, 1, i) for i in range(size.tours)])]
    still = replace(floor, loss=False)
    best_worst = dict(jobs.columns(pool.do(jobs.best_quiet, [(still, 2, i, RATES) for i in range(size.tours)])))
    shares = (metrics.TOUR, metrics.WEEK)
    limits = [metrics.limit_for(worst, s) for s in shares]
    rows, found = [], []
    for k, q in enumerate(RATES):
        tops = tuple(metrics.limit_for(best_worst[q], s) for s in shares)
        best = pool.do(jobs.best_kick, [(still, 120 + k, i, q, tops) for i in range(size.runs)])
        for level, name in enumerate(("1 a tour", "1 in 7 days")):
            ran = pool.do(jobs.kick, [jobs.Kick(floor, 100 + k, i, "drilling", q, ((ALONE, limits[level]),))
                                      for i in range(size.runs)])
            c, b = metrics.came([x[ALONE] for x in ran]), metrics.came([x[level] for x in best])
            line = reference.line(floor, q, (reference.TOUR_S, reference.WEEK_S)[level])
            rows.append((f"{q:g}", name, f"{limits[level]:.2f}", _said(c), *_tail(c), f"{line:.2f}", f"{c.mean / line:.2f}",
                         f"{b.mean:.2f} ± {b.se:.2f}", f"{c.mean / b.mean:.2f}"))
            g = "G2" if level else "G1"
            found.append(Goal(g, f"{q:g} bbl/min over line, {name}", goals.times_line(q, bool(level)), c.mean / line,
                              c.se / line))
            found.append(Goal(g, f"{q:g} bbl/min mean bbl, {name}", (goals.WEEK_BBL if level else goals.TOUR_BBL)[q],
                              c.mean, c.se))
            if not level:
                ratio = c.mean / b.mean
                found.append(Goal(g, f"{q:g} bbl/min over best possible", goals.times_best(q), ratio,
                                  ratio * float(np.hypot(c.se / c.mean, b.se / b.mean))))
                found.append(Goal(g, f"{q:g} bbl/min P90 bbl", goals.TOUR_P90[q], c.p90))
    yield Table("Quiet drilling, 5 s, total sd 0.87 bbl", (
        "bbl/min", "false gains", "H bbl", "bbl at alarm", "delay", "missed", "runs", "line", "over line", "best possible",
        "over best"), tuple(rows), tuple(found))


def grid(pool: jobs.Pool, size: Size) -> Iterator[Table]:
    """Other intervals and noise, one false gain a tour, beside the line; losses and growing flows."""
    rows, found = [], []
    cell = 200
    for dt in (1.0, 5.0, 60.0):
        for sd in (0.2, 0.5, 1.0):
            floor = Floor(dt_s=dt, sd=sd)
            tours = size.tours if dt > 1.0 else max(40, size.tours // 4)
            rest = pool.do(jobs.quiet, [jobs.Quiet(floor, cell, i) for i in range(tours)])
            h = metrics.limit_for([x["gain"] for x in rest], metrics.TOUR)
            rates = RATES if dt == 60.0 and sd == 0.5 else (0.25, 1.0, 5.0, 20.0)
            cells: dict[float, str] = {}
            for k, q in enumerate(rates):
                ran = pool.do(jobs.kick, [jobs.Kick(floor, cell + 1 + k, i, "drilling", q, ((ALONE, h),))
                                          for i in range(size.runs)])
                c = metrics.came([x[ALONE] for x in ran])
                line = reference.line(floor, q)
                cells[q] = f"{c.mean:.2f} ± {c.se:.2f} ({c.mean / line:.2f})"
                if dt == 60.0 and sd == 0.5:
                    found.append(Goal("G5", f"60 s, {q:g} bbl/min over line", 1.20 if q == 0.25 else 1.0,
                                      c.mean / line, c.se / line))
            rows.append((f"{dt:g} s", f"{floor.total_sd:.2f}", f"{h:.2f} ({tours} tours)",
                         *(cells.get(q, "") for q in RATES)))
            cell += 20
    yield Table("Other intervals and noise, one false gain a tour: mean bbl (over line)", (
        "interval", "total sd", "H bbl", *(f"{q:g}" for q in RATES)), tuple(rows), tuple(found))
    yield _others(pool, size)


def _others(pool: jobs.Pool, size: Size) -> Table:
    floor = Floor()
    rest = pool.do(jobs.quiet, [jobs.Quiet(floor, 1, i) for i in range(size.tours)])
    rows = []
    for k, (kind, q) in enumerate((("growing", 0.25), ("growing", 1.0), ("loss", 0.25), ("loss", 1.0), ("loss", 5.0))):
        h = metrics.limit_for([x["loss" if kind == "loss" else "gain"] for x in rest], metrics.TOUR)
        ran = pool.do(jobs.kick, [jobs.Kick(floor, 400 + k, i, kind, q, ((ALONE, h),)) for i in range(size.runs)])
        c = metrics.came([x[ALONE] for x in ran])
        rows.append((kind, f"{q:g}", f"{h:.2f}", _said(c), *_tail(c)))
    return Table("Growing flows (rate at first; doubling in 4 to 10 min) and losses, quiet, 5 s, one false alarm a tour",
                 ("kind", "bbl/min", "H bbl", "bbl at alarm", "delay", "missed", "runs"), tuple(rows))


CONNECTED = (("drilling", 1.0), ("drilling", 5.0), ("pumps-off start", 0.5), ("pumps-off start", 1.0),
             ("pumps-off start", 2.0), ("pumps-off start", 5.0), ("pumps-off start", 10.0), ("pumps-off only", 0.5),
             ("pumps-off only", 1.0), ("pumps-off only", 2.0), ("pumps-off only", 5.0))


def connections(pool: jobs.Pool, size: Size) -> Iterator[Table]:
    """G3: a world with connections, one false gain a tour, flow-back compared in several ways."""
    floor = Floor(connections=True)
    rest = dict(jobs.columns(pool.do(jobs.quiet, [jobs.Quiet(floor, 500, i) for i in range(size.tours)])))
    limits = tuple((way, metrics.limit_for(rest[way], metrics.TOUR)) for way in WAYS)
    rows, found = [], []
    for k, (kind, q) in enumerate(CONNECTED):
        hours = 13.0 if kind == "pumps-off only" else 0.0
        ran = pool.do(jobs.kick, [jobs.Kick(floor, 501 + k, i, kind, q, limits, onset_s=4 * 3600.0, within_s=3600.0,
                                            hours=hours) for i in range(size.runs)])
        for way, h in limits:
            c = metrics.came([x[way] for x in ran])
            rows.append((kind, f"{q:g}", way, f"{h:.2f}", _said(c), *_tail(c)))
            if way != ALONE:
                found.extend(_of_connection(kind, q, way, c))
    yield Table("With connections, 5 s, total sd 0.87 bbl, one false gain a tour", (
        "kind", "bbl/min", "flow-back", "H bbl", "bbl at alarm", "delay", "missed", "runs"), tuple(rows), tuple(found))


def _of_connection(kind: str, q: float, way: str, c: metrics.Came) -> Iterator[Goal]:
    what = f"{kind} {q:g} bbl/min, {way}"
    if kind == "drilling" and q == 1.0:
        yield Goal("G3", f"{what}: mean", 3.0, c.mean, c.se)
        yield Goal("G3", f"{what}: P90", 4.0, c.p90)
    elif kind == "pumps-off start" and q in goals.AT_STOP:
        yield Goal("G3", f"{what}: mean", goals.AT_STOP[q][0], c.mean, c.se)
        yield Goal("G3", f"{what}: P90", goals.AT_STOP[q][1], c.p90)
    elif kind == "pumps-off only":
        yield Goal("G3", f"{what}: missed %", 2.0, 100.0 * c.missed)
