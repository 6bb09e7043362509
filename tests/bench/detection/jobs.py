"""One run, done in a process of its own: quiet, with a kick, or for the best possible detector."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from typing import Any

import numpy as np

from bench.detection import connections, followed, metrics, reference, world
from bench.detection.noise import Draws

LEARNED = (6.0, 7.5)
"""c of limits that follow from the noise."""
Outcome = tuple[float, float] | None | bool


@dataclass(frozen=True)
class Quiet:
    """Job: a tour without a kick. hours: 12, or 13 where the first is for learning."""

    floor: world.Floor
    cell: int
    replicate: int
    hours: float = 12.0
    tuning: Any = None


@dataclass(frozen=True)
class Kick:
    """Job: something comes. limits: by way, H [bbl]; or c times the scale that the detector learned if c is given."""

    floor: world.Floor
    cell: int
    replicate: int
    kind: str
    q: float
    limits: tuple[tuple[str, float], ...]
    c: float = 0.0
    onset_s: float = 4500.0
    within_s: float = 900.0
    hours: float = 0.0
    tuning: Any = None


def quiet(job: Quiet) -> dict[str, float]:
    """Greatest statistics of a tour: gain and loss [bbl], by way with connections, and each over the scale, once known."""
    run = world.run(job.floor, job.cell, job.replicate, job.hours)
    told = followed.told(run, job.tuning)
    made = {"gain": float(told.gain.max()), "loss": float(told.loss.max()), "scale": float(np.nanmedian(told.scale))
            if np.isfinite(told.scale).any() else float("nan")}
    known = np.isfinite(told.scale)
    for c in LEARNED:
        made[f"loss/{c}"] = _most(told.loss, told.scale, known)
    for name, way in connections.WAYS.items():
        if not run.offs and way.by != "none":
            continue
        made[name] = float(max(told.gain.max(), connections.column(run, way).max()))
        for c in LEARNED:
            flow_back = connections.column(run, way, c=c, limit=np.where(known, c * told.scale, np.inf))
            made[f"{name}/{c}"] = _most(np.maximum(told.gain, flow_back), told.scale, known)
    return made


def _most(x: Any, scale: Any, known: Any) -> float:
    return float((x[known] / scale[known]).max()) if known.any() else float("-inf")


def kick(job: Kick) -> dict[str, Outcome]:
    """By way: (bbl in the well, seconds) at the alarm, None if missed, False if it doesn't count."""
    volume = max(30.0, 6.0 * job.q)
    onset = job.onset_s + Draws(job.cell + 500_000, job.replicate).between(0.0, job.within_s)
    slack = 1.8 * 3600.0 if job.floor.connections else 600.0
    hours = job.hours or (onset + slack + 60.0 * volume / job.q) / 3600.0
    run = world.run(job.floor, job.cell, job.replicate, hours, kind=job.kind, q=job.q, onset_s=onset)
    told = followed.told(run, job.tuning)
    level = told.loss if job.kind == "loss" else told.gain
    made: dict[str, Outcome] = {}
    for name, h in job.limits:
        limit = np.where(np.isfinite(told.scale), job.c * told.scale, np.inf) if job.c else np.full(len(level), h)
        flow_back = connections.column(run, connections.WAYS[name], c=job.c, limit=limit)
        made[name] = metrics.alarm(run, np.maximum(level, flow_back) >= limit, job.q)
    return made


def best_quiet(job: tuple[world.Floor, int, int, tuple[float, ...]]) -> dict[float, float]:
    """By rate: the greatest likelihood ratio of a quiet tour without drift."""
    floor, cell, replicate, rates = job
    run = world.run(floor, cell, replicate, 12.0)
    return {q: float(reference.best_statistic(floor, q, run.read - run.base).max()) for q in rates}


def best_kick(job: tuple[world.Floor, int, int, float, tuple[float, ...]]) -> list[Outcome]:
    """By limit: what came of a kick while drilling, seen by the best possible detector."""
    floor, cell, replicate, q, limits = job
    onset = 4500.0 + Draws(cell + 500_000, replicate).between(0.0, 900.0)
    run = world.run(floor, cell, replicate, (onset + 1800.0 / q + 60.0) / 3600.0, kind="drilling", q=q, onset_s=onset)
    statistic = reference.best_statistic(floor, q, run.read - run.base)
    return [metrics.alarm(run, statistic >= limit, q) for limit in limits]


class Pool:
    """Does jobs on some processes, in order."""

    def __init__(self, workers: int) -> None:
        self._pool = ProcessPoolExecutor(workers)

    def do(self, what: Callable[[Any], Any], jobs: Sequence[Any]) -> list[Any]:
        """Results in the order of the jobs."""
        return list(self._pool.map(what, jobs, chunksize=max(1, len(jobs) // 32)))

    def __enter__(self) -> Pool:
        return self

    def __exit__(self, *_: object) -> None:
        self._pool.shutdown()


def columns(rows: Sequence[dict[str, Any]]) -> Iterator[tuple[str, list[Any]]]:
    """(name, values of all runs)."""
    for name in rows[0]:
        yield name, [row[name] for row in rows]
