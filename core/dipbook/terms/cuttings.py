"""Cuttings carried off: −ε(1−φ)(1+r)·ΔVrock, and only when they come out, a lag after they were cut.

What comes out while the shakers are bypassed stays in the tanks: ε is 0 for it.
"""

from __future__ import annotations

import numpy as np

from dipbook.books.books import Books
from dipbook.books.curve import FOREVER_MS, Curve, Ramp, from_ramps
from dipbook.books.lineup import NEVER_ENDS
from dipbook.entries.kinds import BYPASSED
from dipbook.findings import Finding
from dipbook.terms.system import System

CIRCULATING = ("drilling", "circulating")
"""Activities that tell circulation where no pumps entry was ever logged."""


def cuttings(books: Books, system: System) -> tuple[Curve, tuple[Finding, ...]]:
    """Rock cut leaves the tanks when it reaches the shaker [m3], and findings.

    D_out(t) = D(s), s the latest time with ∫ from s to t of Q ≥ the annular volume. Where the flow isn't known: typed
    minutes while circulating. With neither, the cuttings are held back and a finding says so.
    books: of the log. system: which tanks; it counts while the returns reach them.
    """
    cut = _cut(books)
    findings: dict[str, Finding] = {}
    ramps: list[Ramp] = []
    progress: Curve | None = None
    bypassed = _bypassed(books)
    for t, made in cut:
        hole = books.rig_at(t).hole
        if hole is None or hole.capacity is None or hole.carried_off is None:
            findings.setdefault("cuttings_unset", Finding(
                "Hole was made, and the rig file doesn't say the hole's capacity and the share of cuttings carried "
                "off: cuttings aren't booked, the expected volume reads high and a gain can hide.",
                code="cuttings_unset", t_ms=t))
            continue
        if hole.porosity is None or hole.mud_on_cuttings is None:
            findings.setdefault("cuttings_zero", Finding("Porosity or mud on cuttings isn't set: 0 is used for it.",
                                                         code="cuttings_zero", severity="note"))
        share = hole.carried_off * (1.0 - (hole.porosity or 0.0)) * (1.0 + (hole.mud_on_cuttings or 0.0))
        if hole.annulus_m3 is None and hole.lag_ms == 0:
            out: int | None = t
        else:
            if progress is None:
                progress = _progress(books, t, findings)
            out = _out_time(progress, t)
        if out is not None and not any(a < out <= b for a, b in bypassed):
            ramps.extend(system.parts(Ramp(out, out, -share * hole.capacity * made)))
    return from_ramps(ramps), tuple(findings.values())


def _bypassed(books: Books) -> list[tuple[int, int]]:
    """Spans in which the shakers were bypassed [UTC ms]. An instant at a change is before it, as at a line-up."""
    spans: list[tuple[int, int]] = []
    since: int | None = None
    for r in books.eff.records:
        if r.kind != "shakers":
            continue
        if r.payload.get("state") == BYPASSED:
            since = r.t_ms if since is None else since
        elif since is not None:
            spans.append((since, r.t_ms))
            since = None
    return [*spans, *([(since, NEVER_ENDS)] if since is not None else [])]


def _cut(books: Books) -> list[tuple[int, float]]:
    """New hole: (time, length [m]). Only what is below the deepest since the last zero is new: a depth that goes down
    and up again, mistyped or sensed, cuts no rock twice."""
    d = books.depths
    zeros = sorted({z.base_ms for z in books.zeros if z.base_ms is not None})
    cut: list[tuple[int, float]] = []
    deepest, now, k = float("nan"), float("nan"), 0
    for t, h in zip(d.t_ms.tolist(), d.hole_m.tolist(), strict=True):
        while k < len(zeros) and zeros[k] < t:
            deepest = now
            k += 1
        now = h
        if h > deepest:
            cut.append((t, h - deepest))
        if not h <= deepest:
            deepest = h
    return cut


def _progress(books: Books, first_cut_ms: int, findings: dict[str, Finding]) -> Curve:
    """How many times the annulus has been circulated [-]: ∫ Q/annulus dt, or typed minutes while circulating."""
    p, a = books.pumps, books.activities
    circulates = np.array([n in CIRCULATING for n in a.names], dtype=bool)
    by_activity = not len(p.t_ms) and bool(circulates.any())
    changes = a.t_ms if by_activity else p.t_ms
    times = sorted({*(int(t) for t in changes), *(start for start, _ in books.rigs)})
    if not len(changes):
        times = []
    rates: list[float] = []
    unknown: int | None = None
    for k, t in enumerate(times):
        hole = books.rig_at(t).hole
        i = int(np.searchsorted(changes, t, side="right")) - 1
        on = i >= 0 and bool(circulates[i] if by_activity else p.on[i])
        flow = float("nan") if by_activity or i < 0 else float(p.flow_m3_s[i])
        rate = 0.0
        if on and hole is not None and hole.annulus_m3 and not np.isnan(flow):
            rate = flow / hole.annulus_m3 / 1000.0
        elif on and hole is not None and hole.lag_ms:
            rate = 1.0 / hole.lag_ms
        elif on and unknown is None and (k + 1 == len(times) or times[k + 1] > first_cut_ms):
            unknown = max(t, first_cut_ms)
        rates.append(rate)
    if by_activity and any(rates):
        findings["lag_by_activity"] = Finding(
            "No pumps entry was logged: the cuttings' lag runs while the activity says drilling or circulating.",
            code="lag_by_activity", severity="note")
    if unknown is not None or not times:
        findings["cuttings_held_back"] = Finding(
            "Cuttings are held back: neither flow with the annular volume nor a lag while circulating is known. The "
            "expected volume reads high and a gain can hide.", code="cuttings_held_back",
            t_ms=first_cut_ms if unknown is None else unknown)
    if not times:
        return Curve(np.array([0.0]), np.array([0.0]))
    knots = np.array([*times, times[-1] + FOREVER_MS], dtype=float)
    return Curve(knots, np.concatenate(([0.0], np.cumsum(np.array(rates) * np.diff(knots)))))


def _out_time(progress: Curve, t_ms: int) -> int | None:
    """First time at which the annulus has been circulated once more than at ``t_ms``; None if never."""
    goal = float(progress.at(t_ms)) + 1.0
    if goal > progress.v[-1]:
        return None
    i = int(np.searchsorted(progress.v, goal - 1e-12, side="left"))
    if i == 0:
        return max(t_ms, int(progress.t[0]))
    t0, t1, v0, v1 = (float(x) for x in (progress.t[i - 1], progress.t[i], progress.v[i - 1], progress.v[i]))
    return max(t_ms, round(t0 + (goal - v0) / (v1 - v0) * (t1 - t0)))
