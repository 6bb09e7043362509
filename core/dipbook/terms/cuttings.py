"""Cuttings carried off: −ε(1−φ)(1+r)·ΔVrock, and only when they come out, a lag after they were cut."""

from __future__ import annotations

import numpy as np

from dipbook.books.books import Books
from dipbook.books.curve import FOREVER_MS, Curve, Ramp, from_ramps
from dipbook.findings import Finding
from dipbook.rig.model import Hole
from dipbook.terms.system import System

CIRCULATING = ("drilling", "circulating")
"""Activities that tell circulation where no pumps entry was ever logged."""


def cuttings(books: Books, system: System) -> tuple[Curve, tuple[Finding, ...]]:
    """Rock cut leaves the tanks when it reaches the shaker [m3].

    D_out(t) = D(s), s the latest time with ∫ from s to t of Q ≥ the annular volume. Without flow: typed minutes while
    circulating. With neither, the cuttings are held back and a finding says so.
    """
    d = books.depths
    cut = [(int(d.t_ms[i]), float(d.hole_m[i] - d.hole_m[i - 1])) for i in range(1, len(d.t_ms))]
    cut = [(t, made) for t, made in cut if made > 0]
    if not cut:
        return from_ramps(()), ()
    hole = books.rig_at(cut[0][0]).hole
    if hole is None or hole.capacity is None or hole.carried_off is None:
        return from_ramps(()), (Finding(
            "Hole was made, and the rig file doesn't say the hole's capacity and the share of cuttings carried off: "
            "cuttings aren't booked, the expected volume reads high and a gain can hide.", code="cuttings_unset",
            t_ms=cut[0][0]),)
    progress, needed, finding = _lag(books, hole)
    if needed is None:
        return from_ramps(()), (finding,) if finding else ()
    findings: list[Finding] = [finding] if finding else []
    if hole.porosity is None or hole.mud_on_cuttings is None:
        findings.append(Finding("Porosity or mud on cuttings isn't set: 0 is used for it.",
                                code="cuttings_zero", severity="note"))
    ramps: list[Ramp] = []
    for t, made in cut:
        h = books.rig_at(t).hole or hole
        share = (h.carried_off or 0.0) * (1.0 - (h.porosity or 0.0)) * (1.0 + (h.mud_on_cuttings or 0.0))
        out = t if needed == 0 else _out_time(progress, t, needed)
        if out is not None:
            ramps.extend(system.parts(Ramp(out, out, -share * (h.capacity or 0.0) * made)))
    return from_ramps(ramps), tuple(findings)


def _lag(books: Books, hole: Hole) -> tuple[Curve, float | None, Finding | None]:
    """(progress of the circulation, how much of it the cuttings need, finding). Volume [m3] or time [ms]."""
    p = books.pumps
    flow_known = len(p.t_ms) > 0 and not np.isnan(p.flow_m3_s).any()
    if hole.annulus_m3 is not None and flow_known:
        return _progress(books, p.flow_m3_s / 1000.0), hole.annulus_m3, None
    if hole.lag_ms == 0:
        return from_ramps(()), 0.0, None
    if hole.lag_ms is not None:
        if len(p.t_ms):
            return _progress(books, p.on.astype(float)), float(hole.lag_ms), None
        a = books.activities
        if any(n in CIRCULATING for n in a.names):
            going = np.array([n in CIRCULATING for n in a.names], dtype=float)
            return _curve(a.t_ms, going), float(hole.lag_ms), Finding(
                "No pumps entry was logged: the cuttings' lag runs while the activity says drilling or circulating.",
                code="lag_by_activity", severity="note")
    return from_ramps(()), None, Finding(
        "Cuttings are held back: neither flow with the annular volume nor a lag while circulating is known. The "
        "expected volume reads high and a gain can hide.", code="cuttings_held_back")


def _progress(books: Books, rate: object) -> Curve:
    return _curve(books.pumps.t_ms, rate)


def _curve(t_ms: object, rate: object) -> Curve:
    """∫ rate dt, the last rate going on. rate per ms."""
    t = np.asarray(t_ms, dtype=float)
    r = np.asarray(rate, dtype=float)
    end = np.append(t, t[-1] + FOREVER_MS)
    return Curve(end, np.concatenate(([0.0], np.cumsum(r * np.diff(end)))))


def _out_time(progress: Curve, t_ms: int, needed: float) -> int | None:
    """First time at which the circulation has gone ``needed`` further than at ``t_ms``; None if never."""
    goal = float(progress.at(t_ms)) + needed
    if goal > progress.v[-1]:
        return None
    i = int(np.searchsorted(progress.v, goal - 1e-12, side="left"))
    if i == 0:
        return max(t_ms, int(progress.t[0]))
    t0, t1, v0, v1 = (float(x) for x in (progress.t[i - 1], progress.t[i], progress.v[i - 1], progress.v[i]))
    return max(t_ms, round(t0 + (goal - v0) / (v1 - v0) * (t1 - t0)))
