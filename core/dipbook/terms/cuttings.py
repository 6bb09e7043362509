"""Cuttings carried off: −ε(1−φ)(1+r)·ΔVrock, and only when they come out, a lag after they were cut.

What comes out while the shakers are bypassed stays in the tanks: ε is 0 for it.
"""

from __future__ import annotations

import numpy as np

from dipbook.books.books import Books
from dipbook.books.curve import FOREVER_MS, Curve, Ramp, from_ramps
from dipbook.books.lineup import ALWAYS, NEVER_ENDS
from dipbook.entries.kinds import BYPASSED
from dipbook.findings import Finding
from dipbook.terms.system import System

CIRCULATING = ("drilling", "circulating")
"""Activities that tell circulation before the first pumps entry."""


SENSED_M = 1.0
"""A hole depth less than so much above the deepest is the same hole, measured again (no source); higher up it is
mistyped or plugged back, and says nothing of when the next hole was made."""


def cuttings(books: Books, system: System) -> tuple[Curve, tuple[Finding, ...]]:
    """Rock cut leaves the tanks when it reaches the shaker [m3], and findings.

    D_out(t) = D(s), s the latest time with ∫ from s to t of Q ≥ the annular volume. Between two depths that were logged
    the hole is taken to be made evenly over what was pumped, so that the cuttings of a round's half hour don't all come
    out a half hour late; nothing comes out before its depth was logged. Where the flow isn't known: typed minutes while
    circulating. With neither, the cuttings are held back and a finding says so.
    books: of the log. system: which tanks; it counts while the returns reach them.
    """
    found, findings = cut_by(books, system)
    return from_ramps(ramp for _, _, ramps in found for ramp in ramps), findings


def cut_by(books: Books, system: System) -> tuple[list[tuple[int, float, list[Ramp]]], tuple[Finding, ...]]:
    """(when the depth was logged [UTC ms], hole made [m], what of its rock leaves the system) each, and findings.

    books: of the log. system: as of ``cuttings``.
    """
    made, findings = _cut_by_all(books)
    return [(t, length, [booked for out in came_out for part in system.parts(out) for booked in _not_before(t, part)])
            for t, length, came_out in made], findings


def _cut_by_all(books: Books) -> tuple[list[tuple[int, float, list[Ramp]]], tuple[Finding, ...]]:
    """As ``cut_by``, wherever the returns go, and before it was logged too."""
    key = ("cut", "")
    if key not in books.worked_out:
        books.worked_out[key] = _worked_out(books)
    made: tuple[list[tuple[int, float, list[Ramp]]], tuple[Finding, ...]] = books.worked_out[key]
    return made


def _worked_out(books: Books) -> tuple[list[tuple[int, float, list[Ramp]]], tuple[Finding, ...]]:
    cut = _cut(books)
    findings: dict[str, Finding] = {}
    found: list[tuple[int, float, list[Ramp]]] = []
    progress: Curve | None = None
    bypassed = _bypassed(books)
    for since, t, made in cut:
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
        volume = -share * hole.capacity * made
        if hole.annulus_m3 is None and hole.lag_ms == 0:
            out = [Ramp(t, t, volume)]
        else:
            if progress is None:
                progress = _progress(books, t, findings)
            out = _coming_out(progress, since, t, volume)
        found.append((t, made, [part for r in out for part in _outside(bypassed, r)]))
    return found, tuple(findings.values())


def _not_before(t_ms: int, ramp: Ramp) -> list[Ramp]:
    """A ramp with what was before ``t_ms`` [UTC ms] at once then: nothing is booked before its depth was logged."""
    after = ramp if ramp.t0 >= t_ms else ramp.within(t_ms, NEVER_ENDS)
    late = ramp.volume - (0.0 if after is None else after.volume)
    return [*([Ramp(t_ms, t_ms, late)] if late else []), *([after] if after is not None else [])]


def _outside(spans: list[tuple[int, int]], ramp: Ramp) -> list[Ramp]:
    """The parts of a ramp that lie in none of ``spans`` [UTC ms], which don't overlap."""
    marks = [ALWAYS, *(t for span in spans for t in span), NEVER_ENDS]
    found = [ramp.within(a, b) for a, b in zip(marks[::2], marks[1::2], strict=True)]
    return [r for r in found if r is not None]


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


def _cut(books: Books) -> list[tuple[int, int, float]]:
    """New hole: (after [UTC ms], by [UTC ms], length [m]), between two entries that gave its depth. Only what is below
    the deepest since the last zero is new: a depth that goes down and up again, mistyped or sensed, cuts no rock twice.
    """
    d = books.depths
    zeros = sorted({z.base_ms for z in books.zeros if z.base_ms is not None})
    cut: list[tuple[int, int, float]] = []
    deepest, now, k = float("nan"), float("nan"), 0
    last = 0
    for t, h in zip(d.t_ms[d.told].tolist(), d.hole_m[d.told].tolist(), strict=True):
        while k < len(zeros) and zeros[k] < t:
            deepest = now
            k += 1
        if h > deepest:
            cut.append((last, t, h - deepest))
        if not h < deepest:
            deepest = h
        if not h < deepest - SENSED_M:
            last = t
        now = h
    return cut


def _coming_out(progress: Curve, since: int, t_ms: int, volume: float) -> list[Ramp]:
    """Where ``volume`` [m3] of rock comes out that was cut evenly over the strokes between two times [UTC ms].

    Each part when the annulus has been circulated once more than when it was cut, which may be before ``t_ms``, when it
    was logged; what hasn't come out yet is left out. With no strokes between, all of it was cut at ``t_ms``.
    """
    low, high = float(progress.at(since)) + 1.0, float(progress.at(t_ms)) + 1.0
    if high - low < 1e-9:
        out = _out_time(progress, t_ms)
        return [] if out is None else [Ramp(out, out, volume)]
    ramps: list[Ramp] = []
    first = max(1, int(np.searchsorted(progress.v, low, side="right")))
    for i in range(first, len(progress.v)):
        t0, t1, v0, v1 = (float(x) for x in (progress.t[i - 1], progress.t[i], progress.v[i - 1], progress.v[i]))
        if v0 >= high:
            break
        a, b = max(v0, low), min(v1, high)
        if b <= a:
            continue
        ramps.append(Ramp(round(t0 + (a - v0) / (v1 - v0) * (t1 - t0)), round(t0 + (b - v0) / (v1 - v0) * (t1 - t0)),
                          volume * (b - a) / (high - low)))
    return ramps


def _progress(books: Books, first_cut_ms: int, findings: dict[str, Finding]) -> Curve:
    """How many times the annulus has been circulated [-]: ∫ Q/annulus dt, or typed minutes while circulating. Before
    the first pumps entry the activity tells when that was."""
    p, a = books.pumps, books.activities
    first_pumps = int(p.t_ms[0]) if len(p.t_ms) else NEVER_ENDS
    before = [int(t) for t in a.t_ms if t < first_pumps]
    times = sorted({*before, *(int(t) for t in p.t_ms), *(start for start, _ in books.rigs)})
    if not len(p.t_ms) and not any(name in CIRCULATING for name in a.names):
        times = []
    rates: list[float] = []
    unknown: int | None = None
    by_activity = False
    for k, t in enumerate(times):
        hole = books.rig_at(t).hole
        on, flow = p.at(t) if t >= first_pumps else (a.at(t)[0] in CIRCULATING, None)
        rate = 0.0
        if on and hole is not None and hole.annulus_m3 and flow is not None:
            rate = flow / hole.annulus_m3 / 1000.0
        elif on and hole is not None and hole.lag_ms:
            rate = 1.0 / hole.lag_ms
            by_activity |= t < first_pumps
        elif on and unknown is None and (k + 1 == len(times) or times[k + 1] > first_cut_ms):
            unknown = max(t, first_cut_ms)
        rates.append(rate)
    if by_activity:
        findings["lag_by_activity"] = Finding(
            "Before the first pumps entry the cuttings' lag runs while the activity says drilling or circulating.",
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
