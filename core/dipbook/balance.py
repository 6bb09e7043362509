"""The balance: actual, expected and what is left, at any times, with the uncertainty of the gauging.

    difference(t) = actual(t) − actual(z) − Σ_terms (term(t) − term(z)),  z the last zero

Actual takes each tank's last dip at or before t, never interpolated. Sign: + is more mud on surface than expected.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from dipbook import terms as term
from dipbook.books.books import Books, all_gauged_from
from dipbook.books.lineup import ALWAYS
from dipbook.entries.kinds import ACTIVE, NOWHERE
from dipbook.findings import Finding
from dipbook.terms.system import ACTIVE_SYSTEM, ALL_SURFACE, System, system

TERMS = ("transfers", "additions", "discards", "lineup", "steel", "bore", "lines", "cuttings", "equipment", "rates")
"""Names of the terms, in the order in which they are listed. Equipment has no entries yet and is 0."""

NOT_WATCHED = "not watched"
NOT_BOOKED = ("tripping", "casing")
"""Activities that move pipe in ways that these books don't follow yet: shown as not watched."""


@dataclass(frozen=True)
class Balance:
    """The balance of one system, one row a time. Volumes [m3], float64, NaN where unknown.

    t_ms: int64. u_m3: one standard uncertainty (k=1). terms: change of each since the zero, + raises the expected.
    partial: a tank of it wasn't gauged in the reading in force. zero_ms: the zero each row rests on, −1 before any.
    """

    system: str
    t_ms: Any
    actual_m3: Any
    expected_m3: Any
    difference_m3: Any
    u_m3: Any
    terms: Mapping[str, Any]
    partial: Any
    zero_ms: Any


def curves(books: Books, of: System) -> tuple[dict[str, Any], tuple[Finding, ...]]:
    """Every term of a system as a curve, and the findings made on the way."""
    found: list[Finding] = []
    bore, f = term.bore(books, of)
    found.extend(f)
    lines, f = term.lines(books, of)
    found.extend(f)
    cuttings, f = term.cuttings(books, of)
    found.extend(f)
    made: dict[str, Any] = {
        "transfers": term.moved(books, of, "transfers"), "additions": term.moved(books, of, "additions"),
        "discards": term.moved(books, of, "discards"), "lineup": term.lineup(books, of),
        "steel": term.steel(books, of), "bore": bore, "lines": lines, "cuttings": cuttings,
        "rates": term.moved(books, of, "rates"),
    }
    return made, tuple(found)


def at(books: Books, t_ms: Any, name: str = ACTIVE_SYSTEM) -> Balance:
    """The balance of the system ``name`` ("active", "all surface" or a tank) at times ``t_ms`` [UTC ms, any order]."""
    t = np.atleast_1d(np.asarray(t_ms, dtype=np.int64))
    of = system(books, name)
    made, _ = curves(books, of)
    zero = _zero_of(books, of, t)
    has_zero = zero >= 0
    z = np.where(has_zero, zero, 0)
    actual = _actual(books, of, t)
    values: dict[str, Any] = {"equipment": np.zeros(t.shape)}
    total = np.zeros(t.shape)
    for key, curve in made.items():
        change = np.where(has_zero, curve.at(t) - curve.at(z), np.nan)
        values[key] = change
        total = total + change
    start = np.where(has_zero, _actual(books, of, z), np.nan)
    expected = start + total
    u = _uncertainty(books, of, t, z, has_zero)
    return Balance(name, t, actual, expected, actual - expected, u, {k: values[k] for k in TERMS},
                   _partial(books, of, t), np.where(has_zero, zero, -1))


def followed(books: Books, t_ms: Any) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """(system that the returns go to, why these books can't follow it or "") at each of ``t_ms`` [UTC ms].

    "active", a tank, or "not watched" where the returns go nowhere or pipe moves in ways that aren't booked. Hours in
    which nobody watched don't count here: a reading found later speaks for them.
    """
    marks = {int(a) for a, _, _ in books.line.route_spans() if a != ALWAYS} | {int(a) for a in books.activities.t_ms}
    return _stepwise(books, t_ms, marks, _followed_at)


def watched(books: Books, t_ms: Any) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """(name of the watched system, why it isn't watched or "") at each of ``t_ms`` [UTC ms].

    As ``followed``, and "not watched" in hours in which nobody watched.
    """
    marks = {int(a) for a, _, _ in books.line.route_spans() if a != ALWAYS} | {int(a) for a in books.activities.t_ms}
    marks |= {int(x) for a, b, _ in books.unwatched for x in (a, b) if x is not None}
    return _stepwise(books, t_ms, marks, _watched_at)


def _stepwise(books: Books, t_ms: Any, marks: set[int], ask: Callable[[Books, int], tuple[str, str]],
              ) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """``ask`` at every time, once between two marks."""
    t = np.atleast_1d(np.asarray(t_ms, dtype=np.int64))
    index = np.searchsorted(np.array(sorted(marks), dtype=np.int64), t, side="right").tolist()
    known: dict[int, tuple[str, str]] = {}
    for i, at_ms in zip(index, t.tolist(), strict=True):
        if i not in known:
            known[i] = ask(books, at_ms)
    return tuple(known[i][0] for i in index), tuple(known[i][1] for i in index)


def _watched_at(books: Books, t: int) -> tuple[str, str]:
    for a, b, why in books.unwatched:
        if a <= t and (b is None or t < b):
            return NOT_WATCHED, why
    return _followed_at(books, t)


def _followed_at(books: Books, t: int) -> tuple[str, str]:
    activity, _ = books.activities.at(t)
    if activity in NOT_BOOKED:
        return NOT_WATCHED, f"{activity}: pipe moves that these books don't follow yet"
    route = books.line.route_at(t)
    if route.to == NOWHERE:
        return NOT_WATCHED, "no returns to the tanks"
    return (ACTIVE if route.to == ACTIVE or route.to in books.line.active_at(t) else route.to), ""


def held(books: Books, t_ms: int, name: str = ACTIVE_SYSTEM) -> tuple[tuple[str, int], ...]:
    """Tanks of a system carried at an older dip than the reading in force at ``t_ms``: (tank, gauged at [UTC ms])."""
    of = system(books, name)
    out: list[tuple[str, int]] = []
    r = int(books.readings.index_at(t_ms)) if len(books.readings) else -1
    for tank in sorted(of.members_at(t_ms)):
        s = books.samples.get(tank)
        if s is None or r < 0:
            continue
        i = int(s.index_at(t_ms))
        if i >= 0:
            since = int(s.t_ms[s.base[i]]) if s.base[i] <= i else int(s.t_ms[i])
            if since < int(books.readings.start_ms[r]):
                out.append((tank, since))
    return tuple(out)


def findings(books: Books) -> tuple[Finding, ...]:
    """All findings on the books: on the data and on what the terms lack."""
    _, made = curves(books, system(books))
    return (*books.findings, *made)


def _zero_of(books: Books, of: System, t: Any) -> Any:
    """The zero that each time rests on [UTC ms], −1 before any. All surface starts when every tank had been gauged; a
    single tank, when the flow line was turned to it."""
    times: list[int] = []
    for zero in books.zeros:
        start = zero.t_ms
        if start is not None and of.name != ACTIVE_SYSTEM:
            start = all_gauged_from(books, start, of.members_at)
        if start is not None:
            times.append(start)
    if of.name not in (ACTIVE_SYSTEM, ALL_SURFACE):
        turned = (all_gauged_from(books, r.t_ms, of.members_at) for r in books.line.routes if r.to == of.name)
        times.extend(x for x in turned if x is not None and times and x > min(times))
    sorted_times = np.array(sorted(set(times)), dtype=np.int64)
    index = np.searchsorted(sorted_times, t, side="right") - 1
    if not len(sorted_times):
        return np.full(t.shape, -1, dtype=np.int64)
    return np.where(index >= 0, sorted_times[np.maximum(index, 0)], -1)


def _inside(spans: tuple[tuple[int, int], ...], t: Any) -> Any:
    """True where ``t`` lies in one of the spans."""
    inside = np.zeros(t.shape, dtype=bool)
    for a, b in spans:
        inside |= (t >= a) & (t < b)
    return inside


def _actual(books: Books, of: System, t: Any) -> Any:
    total = np.zeros(t.shape)
    for tank, spans in of.spans.items():
        inside = _inside(spans, t)
        if not inside.any():
            continue
        s = books.samples.get(tank)
        if s is None:
            total[inside] = np.nan
            continue
        i = s.index_at(t)
        total += np.where(inside, np.where(i >= 0, s.volume_m3[np.maximum(i, 0)], np.nan), 0.0)
    return total


def _partial(books: Books, of: System, t: Any) -> Any:
    partial = np.zeros(t.shape, dtype=bool)
    if not len(books.readings):
        return ~partial
    r = books.readings.index_at(t)
    for tank, spans in of.spans.items():
        partial |= _inside(spans, t) & ~((r >= 0) & books.gauged_in(tank, np.maximum(r, 0)))
    return partial


def _uncertainty(books: Books, of: System, t: Any, z: Any, has_zero: Any) -> Any:
    """u² = Σ u_i(t)² + Σ u_i(zero)², a dip that serves both ends counting 0; likewise at joins and leaves."""
    total = np.zeros(t.shape)
    for tank, spans in of.spans.items():
        s = books.samples.get(tank)
        if s is None:
            continue
        for a, b in spans:
            touched = has_zero & (t >= a) & (z < b)
            if not touched.any():
                continue
            first = np.maximum(z, a)                       # the end it is counted from: the zero, or its joining
            last = np.where(t < b, t, b)                   # the end it is counted to: now, or its leaving
            i0, i1 = s.index_at(first), s.index_at(last)
            known = touched & (i0 >= 0) & (i1 >= 0)
            b0, b1 = s.base[np.maximum(i0, 0)], s.base[np.maximum(i1, 0)]
            u2 = s.u_m3[b0] ** 2 + s.u_m3[b1] ** 2
            total += np.where(known & (b0 != b1), u2, 0.0)
            total = np.where(touched & ~known, np.nan, total)
    return np.where(has_zero, np.sqrt(total), np.nan)


