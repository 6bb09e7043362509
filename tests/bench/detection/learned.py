"""Scenarios with limits that follow from the noise the detector learned (G4, G6), and dips by hand (G5)."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from bench.detection import followed, jobs, metrics, reference
from bench.detection.connections import WAYS
from bench.detection.goals import Goal
from bench.detection.scenarios import ALONE, BLIND_RUNS, Row, Size, Table
from bench.detection.world import TANKS, Floor, Run, run

NOISES = {
    "white": Floor(share=0.0), "10 s": Floor(tau_s=10.0), "20 s": Floor(), "60 s": Floor(tau_s=60.0),
    "step 0.5 bbl": Floor(quantum=0.5), "sd 0.35": Floor(sd=0.2), "sd 1.73": Floor(sd=1.0),
    "with connections": Floor(connections=True),
}
C = {6.0: 1.0, 7.5: 0.15}
"""c -> false alarms a tour that we want at most."""
HAND = 3.562 / 4.0
"""A quarter of an inch of an 8 × 30 ft tank [bbl]."""


def learned(pool: jobs.Pool, size: Size) -> Iterator[Table]:
    """G4: false alarms in noises that no limit was made for, over 12 h after an hour of learning; then kicks."""
    rows, found = [], []
    for k, (name, floor) in enumerate(NOISES.items()):
        tours = max(20, size.tours // 2) if name != "with connections" else size.tours
        rest = dict(jobs.columns(pool.do(jobs.quiet, [jobs.Quiet(floor, 600 + k, i, 13.0) for i in range(tours)])))
        for c, most in C.items():
            cells = []
            for what in (*WAYS, "loss") if floor.connections else (ALONE, "loss"):
                r = metrics.rate([x >= c for x in rest[f"{what}/{c}"]])
                words = "losses" if what == "loss" else f"gains, {what}"
                cells.append(f"{words}: {r.per_tour:.2f} ± {r.se:.2f}")
                found.append(Goal("G4", f"c = {c:g}, {name}, false {words} per 12 h", most, r.per_tour, r.se))
            rows.append((name, f"{c:g}", f"{np.nanmedian(rest['scale']):.3f}", "; ".join(cells), str(tours)))
    yield Table("Limits from the learned noise: false alarms per 12 h", ("noise", "c", "scale bbl", "false", "tours"),
                tuple(rows), tuple(found))
    yield _kicks(pool, size)


def _kicks(pool: jobs.Pool, size: Size) -> Table:
    floor = Floor(connections=True)
    ways = tuple((way, 0.0) for way in WAYS)
    rows: list[Row] = []
    found: list[Goal] = []
    for k, (kind, q) in enumerate((("drilling", 0.5), ("drilling", 1.0), ("drilling", 5.0), ("pumps-off start", 1.0),
                                   ("pumps-off start", 2.0), ("pumps-off start", 5.0))):
        line = reference.line(floor, q)
        for c in C:
            ran = pool.do(jobs.kick, [jobs.Kick(floor, 620 + k, i, kind, q, ways, c, 4 * 3600.0, 3600.0)
                                      for i in range(size.runs)])
            for way in WAYS:
                came = metrics.came([x[way] for x in ran])
                rows.append((kind, f"{q:g}", f"{c:g}", way, f"{came.mean:.2f} ± {came.se:.2f}", f"{came.p90:.2f}",
                             f"{came.mean / line:.2f}", f"{100 * came.missed:.1f} %", str(came.n)))
                if way == ALONE:
                    continue
                most = (1.2 if c == 6.0 else 1.5) if kind == "drilling" else (1.8 if c == 6.0 else 2.0)
                what = f"c = {c:g}, {kind} {q:g} bbl/min, {way}"
                found.append(Goal("G4", f"{what}: over line", most, came.mean / line, came.se / line))
                found.append(Goal("G4", f"{what}: missed %", 0.0, 100.0 * came.missed))
    return Table("Limits from the learned noise: kicks with connections (line at one a tour)", (
        "kind", "bbl/min", "c", "flow-back", "bbl at alarm", "P90", "over line", "missed", "runs"), tuple(rows), tuple(found))


def blind(pool: jobs.Pool, size: Size) -> Iterator[Table]:
    """G6: 20 bbl/min at any second, with connections, c = 7.5: the most that was in the well, and seconds beyond 20 bbl."""
    floor = Floor(connections=True)
    ways = tuple((way, 0.0) for way in WAYS)
    n = BLIND_RUNS if size.runs >= 100 else size.runs
    ran = pool.do(jobs.kick, [jobs.Kick(floor, 700, i, "at once", 20.0, ways, 7.5, 4 * 3600.0, 3600.0) for i in range(n)])
    rows, found = [], []
    for way in WAYS:
        all_of = [x[way] for x in ran]
        c = metrics.came(all_of)
        late = [1.0 for x in all_of if x is None or (isinstance(x, tuple) and x[0] > 20.0)]
        over = max((x[0] - 20.0) / 20.0 * 60.0 if isinstance(x, tuple) else float("inf") if x is None else 0.0
                   for x in all_of)
        most = float("inf") if c.missed else c.most
        rows.append((way, f"{c.mean:.1f}", f"{most:.1f}", f"{len(late)} of {c.n}", f"{max(0.0, over):.0f} s",
                     f"{100 * c.missed:.1f} %"))
        if way != ALONE:
            found.append(Goal("G6", f"20 bbl/min at any second, {way}: most bbl", 20.0, most))
    yield Table("20 bbl/min at any second, with connections, c = 7.5 (missed: none by 120 bbl)", (
        "flow-back", "mean bbl", "most bbl", "later than 20 bbl", "blind beyond 20 bbl", "missed"), tuple(rows), tuple(found))


def step_seen(job: tuple[int, int, float]) -> tuple[float, bool, bool]:
    """Dips of a quarter of an hour: (greatest "dip less the mean of the last four" of a quiet tour; whether this and the
    detector's sum at limits of one a tour see a step at the next dip) for limits given as (four, sum)."""
    replicate, step_at, step = job
    floor = Floor(dt_s=900.0, quantum=0.0, per_dip=HAND)
    made = run(floor, 800, replicate, 12.0)
    read = made.read.copy()
    read[step_at:] += step
    stepped = Run(made.t_s, read, made.true, made.well, made.lost, made.drained, made.on, made.steady, made.onset_s)
    four = read[4:] - np.lib.stride_tricks.sliding_window_view(read, 4)[:-1].mean(axis=1)
    told = followed.told(stepped).gain
    if step == 0.0:
        return float(four.max()), float(told.max()), 0.0
    return float(four[step_at - 4]), float(told[step_at]), float(told[max(0, step_at - 1)])


def dips(pool: jobs.Pool, size: Size) -> Iterator[Table]:
    """G5: three tanks dipped by hand each quarter of an hour, ±1/4 in, no connection: steps of 3.5 bbl at the next dip."""
    rest = pool.do(step_seen, [(i, 48, 0.0) for i in range(size.tours)])
    rows, found = [], []
    for place, name in enumerate(("dip less the mean of the last four", "the detector's sums")):
        h = metrics.limit_for([x[place] for x in rest], metrics.TOUR)
        for step in (2.0, 3.5, 4.75):
            ran = pool.do(step_seen, [(100_000 + i, 8 + i % 36, step) for i in range(size.runs)])
            seen = float(np.mean([x[place] >= h for x in ran]))
            se = float(np.sqrt(max(seen * (1.0 - seen), 1e-4) / len(ran)))
            rows.append((name, f"{h:.2f}", f"{step:g}", f"{100 * seen:.0f} ± {100 * se:.0f} %", str(len(ran))))
            if step == 3.5:
                found.append(Goal("G5", f"dips, {name}: share of 3.5 bbl steps not seen", 0.10, 1.0 - seen, se))
    yield Table(f"{TANKS} tanks dipped by hand each 15 min, ±1/4 in, one false a tour", (
        "what", "limit bbl", "step bbl", "seen at the next dip", "runs"), tuple(rows), tuple(found))
