"""How often noise alone passes a limit of c times the scale that was learned: what the product expects of a limit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from bench.detection import followed, jobs
from bench.detection.learned import NOISES
from bench.detection.scenarios import Size, Table
from bench.detection.world import Floor, run

C = (2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0, 5.5, 6.0, 6.5, 7.0, 7.5, 8.0, 8.5, 9.0)
INTERVALS = {1.0: 4, 5.0: 1, 60.0: 1}
"""Interval [s] -> one of so many tours is run."""
Job = tuple[Floor, int, int]


def passed(level: Any, limit: Any) -> int:
    """Times that a level passes a limit, having been below half of it since the last: as a warning is raised anew."""
    n, up = 0, False
    # Only rows at which one of the two is crossed matter.
    above, below = level >= limit, level < 0.5 * limit
    for row in np.flatnonzero(above | below):
        if above[row] and not up:
            n, up = n + 1, True
        elif below[row]:
            up = False
    return n


def quiet(job: Job) -> tuple[float, list[tuple[int, int]]]:
    """(hours with a known scale, [(false gains, false losses) at each c]) of a quiet history of 14 h."""
    floor, cell, replicate = job
    told = followed.told(run(floor, cell, replicate, 14.0))
    known = np.isfinite(told.scale)
    scale = told.scale[known]
    return (float(known.sum()) * floor.dt_s / 3600.0,
            [(passed(told.gain[known], c * scale), passed(told.loss[known], c * scale)) for c in C])


def levels(pool: jobs.Pool, size: Size) -> Iterator[Table]:
    """Warnings per 12 h at each c: the median and the worst of all noises, gains and losses, as ``drift.levels`` has them."""
    for at, (dt, share) in enumerate(INTERVALS.items()):
        tours = max(10, size.tours // share // 2)
        by = []
        for k, floor in enumerate(NOISES.values()):
            ran = pool.do(quiet, [(replace(floor, dt_s=dt), 900 + 20 * at + k, i) for i in range(tours)])
            by.append(np.array([counts for _, counts in ran]).sum(axis=0) / sum(h for h, _ in ran) * 12.0)
        each = np.array(by)
        rows = []
        for i, c in enumerate(C):
            cells = [f"{c:g}"]
            for side in (0, 1):
                column = each[:, i, side]
                cells += [f"{np.median(column):.3g}", f"{column.max():.3g}",
                          tuple(NOISES)[int(column.argmax())] if column.max() else "none"]
            rows.append(tuple(cells))
        yield Table(f"False warnings per 12 h of a limit of c × scale, readings each {dt:g} s, {len(NOISES)} noises, "
                    f"{tours} histories of each", (
                        "c", "gains, median", "worst", "in noise", "losses, median", "worst", "in noise"), tuple(rows))
