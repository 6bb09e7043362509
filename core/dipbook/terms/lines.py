"""Mud held in lines while pumping: −ΔL. It drains back when the pumps stop and is taken again when they start.

    dL/dt = (G(Q) − L)/τ, τ falling or rising: L(t) = G + (L0 − G)·exp(−(t − t0)/τ) on each stretch of constant Q,
    or, falling from a settled flow with the pumps off, the typed curve of volume returned.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from dipbook.books.books import Books
from dipbook.findings import Finding
from dipbook.rig.model import DrainBack
from dipbook.terms.system import System


@dataclass(frozen=True)
class Stretch:
    """L from t0 on [UTC ms]: from level [m3] towards goal [m3] with tau [ms], or down the typed curve.

    curve: rows (seconds since ``since`` [UTC ms], volume returned [m3]), or (); along it L falls from top [m3], by the
    share returned / full, full what the lines hold at the flow that the curve was typed for. reaches: the returns reach
    the system; carry: cumulative value of the term at t0 [m3].
    """

    t0: int
    level: float
    goal: float
    tau: float
    reaches: bool
    carry: float
    curve: tuple[tuple[float, float], ...] = ()
    since: int = 0
    top: float = 0.0
    full: float = 1.0

    def held(self, t_ms: Any) -> Any:
        """L [m3] at times ``t_ms`` [UTC ms] of this stretch."""
        if self.curve:
            seconds = (np.asarray(t_ms, dtype=float) - self.since) / 1000.0
            at = [0.0, *(s for s, _ in self.curve)]
            returned = np.interp(seconds, at, [0.0, *(v for _, v in self.curve)])
            return self.goal + (self.top - self.goal) * np.maximum(1.0 - returned / self.full, 0.0)
        return self.goal + (self.level - self.goal) * np.exp(-(np.asarray(t_ms, dtype=float) - self.t0) / self.tau)

    def value(self, t_ms: Any) -> Any:
        """The term [m3] at times of this stretch: what has come back since, on top of what was carried in."""
        if not self.reaches:
            return np.full(np.shape(t_ms), self.carry)
        return self.carry - (self.held(t_ms) - self.held(np.float64(self.t0)))


@dataclass(frozen=True)
class LinesTerm:
    """The term as stretches; ``at`` as of a Curve."""

    stretches: tuple[Stretch, ...]

    @cached_property
    def _begin(self) -> Any:
        return np.array([s.t0 for s in self.stretches], dtype=float)

    def at(self, t_ms: Any) -> Any:
        """Value [m3] at times ``t_ms`` [UTC ms]."""
        t = np.atleast_1d(np.asarray(t_ms, dtype=float))
        out = np.zeros(t.shape)
        if self.stretches and len(t):
            index = np.searchsorted(self._begin, t, side="right") - 1
            order = np.argsort(index, kind="stable")
            which, first = np.unique(index[order], return_index=True)
            for i, rows in zip(which.tolist(), np.split(order, first[1:]), strict=True):
                if i >= 0:
                    out[rows] = self.stretches[i].value(t[rows])
        return out if np.ndim(t_ms) else out[0]


def held_in_lines(books: Books, system: System, t_ms: int) -> tuple[float, float]:
    """(what the lines hold, what they come to) [m3] at ``t_ms`` [UTC ms], NaN where it isn't known.

    books: of the log. system: any.
    """
    made, _ = lines(books, system)
    stretch = next((s for s in reversed(made.stretches) if s.t0 <= t_ms), None)
    return (float("nan"), float("nan")) if stretch is None else (float(stretch.held(np.float64(t_ms))), stretch.goal)


def held_at(drain: DrainBack, flow_m3_s: float) -> float:
    """G(Q) [m3]: straight between the typed rows, G(0) = 0, the last row beyond the last.

    drain: as the rig file has it. flow_m3_s: Q [m3/s].
    """
    flows = [0.0, *(q for q, _ in drain.at)]
    return float(np.interp(flow_m3_s, flows, [0.0, *(v for _, v in drain.at)]))


def lines(books: Books, system: System) -> tuple[LinesTerm, tuple[Finding, ...]]:
    """−ΔL [m3], and findings. The pumps' first entry moves nothing; a zero leaves the lines as the log knows them, for
    pumps that changed seconds before it aren't settled. Not set: 0, with a finding.

    books: of the log. system: which tanks; it counts while the returns reach them.
    """
    key = ("lines", system.name)
    if key not in books.worked_out or books.worked_out[key][0] != system:
        books.worked_out[key] = (system, _lines(books, system))
    made: tuple[LinesTerm, tuple[Finding, ...]] = books.worked_out[key][1]
    return made


def _lines(books: Books, system: System) -> tuple[LinesTerm, tuple[Finding, ...]]:
    p = books.pumps
    if not len(p.t_ms):
        return LinesTerm(()), ()
    drain = books.rig_at(int(p.t_ms[0])).drain_back
    if drain is None:
        return LinesTerm(()), (Finding(
            "Pumps were logged and the rig file has no drain-back: mud that drains from the lines isn't booked, and a "
            "connection reads as a gain.", code="drain_back_unset", t_ms=int(p.t_ms[0])),)
    findings: dict[str, Finding] = {}
    if any(z.base_ms is not None and z.base_ms < int(p.t_ms[0]) for z in books.zeros):
        findings["pumps_before"] = Finding(
            "Pumps were first logged after the difference was zeroed: what they did before isn't known, and their "
            "first entry moves nothing. If it was a change, the lines' drain-back reads as a gain or a loss.",
            code="pumps_before", t_ms=int(p.t_ms[0]))
    stretches: list[Stretch] = []
    for t in _marks(books, system):
        on, flow = p.at(t)
        if on is None:
            continue
        rig_drain = books.rig_at(t).drain_back or drain
        goal = _goal(rig_drain, on, flow, stretches, t, findings)
        last = stretches[-1] if stretches else None
        level = float(last.held(np.float64(t))) if last else goal
        carry = float(last.value(np.float64(t))) if last else 0.0
        reaches = any(a <= t < b for a, b in system.reached)
        stretches.append(_stretch(t, level, goal, on, rig_drain, reaches, carry, last))
    return LinesTerm(tuple(stretches)), tuple(findings.values())


def _marks(books: Books, system: System) -> list[int]:
    """Times at which a new stretch begins: pumps that changed, returns that were turned [UTC ms]."""
    first = int(books.pumps.t_ms[0])
    turned = {t for span in system.reached for t in span if t > first and abs(t) < 2**61}
    return sorted(turned | {int(t) for t in books.pumps.t_ms})


def _goal(drain: DrainBack, on: bool, flow: float | None, stretches: list[Stretch], t: int,
          findings: dict[str, Finding]) -> float:
    if not on:
        return 0.0
    if flow is not None:
        if flow > drain.at[-1][0] * 1.001:
            findings.setdefault("beyond_drain_back", Finding(
                "The flow is higher than the highest row of the drain-back: the last row is used.",
                code="beyond_drain_back", severity="note", t_ms=t))
        return held_at(drain, flow)
    findings.setdefault("drain_back_flow", Finding(
        "The pumps' flow isn't known: the drain-back of the last known flow is used, else of the highest row.",
        code="drain_back_flow", t_ms=t))
    known = [s.goal for s in stretches if s.goal > 0]
    return known[-1] if known else drain.at[-1][1]


def _stretch(t: int, level: float, goal: float, on: bool, drain: DrainBack, reaches: bool, carry: float,
             last: Stretch | None) -> Stretch:
    falls = goal < level - 1e-12
    if falls and drain.curve:
        if not on and last is not None and last.curve and last.goal == 0.0:      # still draining the same stop
            return Stretch(t, level, 0.0, 0.0, reaches, carry, last.curve, last.since, last.top, last.full)
        return Stretch(t, level, goal, 0.0, reaches, carry, drain.curve, t, level, drain.at[-1][1])
    seconds = drain.falling_s if falls and drain.falling_s is not None else drain.rising_s
    return Stretch(t, level, goal, max(seconds, 1e-3) * 1000.0, reaches, carry)
