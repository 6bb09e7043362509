"""Where every barrel of a span went: opening + each named term + what is not explained = closing, for one system.

The ends are readings: the last one up to the span's beginning, and the last one in it. Between them

    unexplained = (actual at the end − actual at the beginning) − Σ (term at the end − term at the beginning)

which no zero in between changes. What a zero wrote off is told beside it: the difference that the span began with, plus
what is unexplained in it, less what its zeros wrote off, is the difference that it ends with.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

import numpy as np

from dipbook import balance
from dipbook.books import Books
from dipbook.composing.labels import LABELS
from dipbook.reports.spans import Span
from dipbook.terms.pieces import pieces
from dipbook.terms.system import ACTIVE_SYSTEM, ALL_SURFACE, system

SMALL_M3 = 1e-9
"""Below this a term brought nothing: rounding of the machine [m3]."""
NO_READING = "there is no reading in this span"
NOT_KNOWN = "a tank of it had never been gauged"


@dataclass(frozen=True, slots=True)
class Booked:
    """What one entry brought to a term. uid: of its record, "" for none. t_ms: when it acts first [UTC ms]. words: what
    it is where the entry doesn't say. volume_m3: + raises the expected [m3]."""

    uid: str
    t_ms: int
    words: str
    volume_m3: float


@dataclass(frozen=True, slots=True)
class Term:
    """One term. name: of ``balance.TERMS``; label. volume_m3: its change over the span [m3]. entries: that add up to
    it.
    """

    name: str
    label: str
    volume_m3: float
    entries: tuple[Booked, ...]


@dataclass(frozen=True, slots=True)
class WrittenOff:
    """What one zero wrote off. t_ms: when it took effect [UTC ms]. by, reason: as logged. volume_m3: None unknown."""

    t_ms: int
    by: str
    reason: str
    volume_m3: float | None


@dataclass(frozen=True, slots=True)
class Reconciliation:
    """The books of one system over a span. Volumes [m3], None unknown; times [UTC ms].

    system: "active", "all surface" or a tank. opening_ms, closing_ms: ends of the readings; opening_m3, closing_m3:
    held then. terms: those that brought something. unexplained_m3; u_m3: one standard uncertainty of it (k = 1), of the
    dips, of rounds that take minutes and of a self-filling float. opening_partial, closing_partial: a tank wasn't
    gauged or read then. held: (tank, its last dip) of those carried at the end. late: the span begins before the first
    reading of it all, at which the opening is taken. why: nothing can be told, in words, "" where it can.
    carried_in_m3, carried_out_m3: the difference since the zero in force, at both ends; zeros: of the span, by time;
    written_off_m3: by every zero up to the end; never_reset_m3: that and the difference carried out, as if there had
    never been a zero but the first. The last four are of the active system, None and () of others.
    """

    system: str
    opening_ms: int | None = None
    opening_m3: float | None = None
    terms: tuple[Term, ...] = ()
    closing_ms: int | None = None
    closing_m3: float | None = None
    unexplained_m3: float | None = None
    u_m3: float | None = None
    opening_partial: bool = False
    closing_partial: bool = False
    held: tuple[tuple[str, int], ...] = ()
    late: bool = False
    why: str = ""
    carried_in_m3: float | None = None
    carried_out_m3: float | None = None
    zeros: tuple[WrittenOff, ...] = ()
    written_off_m3: float | None = None
    never_reset_m3: float | None = None


def reconcile(books: Books, span: Span, name: str = ACTIVE_SYSTEM) -> Reconciliation:
    """The books of a system over a span. books: of the log. span. name: "active", "all surface" or a tank."""
    ends = books.readings.end_ms
    last = int(books.readings.index_at(span.to_ms)) if len(ends) else -1
    first = int(books.readings.index_at(span.from_ms)) if len(ends) else -1
    if last < 0 or last == first:
        return Reconciliation(name, why=NO_READING)
    shown = balance.at(books, ends[max(first, 0):last + 1], name)
    known = np.flatnonzero(np.isfinite(shown.actual_m3))
    if len(known) < 2:
        return Reconciliation(name, why=NOT_KNOWN)
    opening, closing = int(known[0]), int(known[-1])
    a, b = int(shown.t_ms[opening]), int(shown.t_ms[closing])
    of = system(books, name)
    curves, _ = balance.curves(books, of)
    changes = {key: float(curve.at(np.float64(b)) - curve.at(np.float64(a))) for key, curve in curves.items()}
    volume_a, volume_b = float(shown.actual_m3[opening]), float(shown.actual_m3[closing])
    u = hypot(float(balance.u_of_change(books, a, b, name)), balance.spreads(books, b, a, name)[1])
    terms = tuple(Term(key, LABELS[key], changes[key], _booked(books, name, key, a, b)) for key in balance.TERMS)
    made = Reconciliation(
        name, a, volume_a, tuple(t for t in terms if abs(t.volume_m3) > SMALL_M3 or t.entries), b, volume_b,
        volume_b - volume_a - sum(changes.values()), _known(u), bool(shown.partial[opening]),
        bool(shown.partial[closing]), balance.held(books, b, name), a > span.from_ms)
    return made if name != ACTIVE_SYSTEM else _with_zeros(books, span, made, a, b)


def everywhere(books: Books, span: Span) -> tuple[Reconciliation, Reconciliation, tuple[Reconciliation, ...]]:
    """(active system, all surface tanks, each tank in gauging order). books: of the log. span."""
    rig = books.rig_at(span.to_ms)
    tanks = sorted(rig.tanks, key=lambda t: t.order)
    return (reconcile(books, span), reconcile(books, span, ALL_SURFACE),
            tuple(reconcile(books, span, tank.name) for tank in tanks))


def _booked(books: Books, name: str, term: str, a: int, b: int) -> tuple[Booked, ...]:
    """The entries of a term, each once; those whose sides cancel within the system are left out."""
    by_entry: dict[tuple[str, str, int], Booked] = {}
    for p in pieces(books, system(books, name), term, a, b):
        key = (p.uid, p.words, 0 if p.uid else p.t_ms)
        before = by_entry.get(key)
        by_entry[key] = Booked(p.uid, p.t_ms if before is None else before.t_ms, p.words,
                               p.volume_m3 + (0.0 if before is None else before.volume_m3))
    return tuple(x for x in by_entry.values() if abs(x.volume_m3) > SMALL_M3)


def _with_zeros(books: Books, span: Span, made: Reconciliation, a: int, b: int) -> Reconciliation:
    written = [WrittenOff(int(z.t_ms), z.by, z.reason, _known(volume)) for z, volume in balance.written_off(books)
               if z.t_ms is not None and z.t_ms <= max(b, span.to_ms)]
    since = max(a, span.from_ms)
    carried_in = balance.at(books, a, zeroed_by=since).difference_m3[0]
    carried_out = balance.at(books, b, zeroed_by=span.to_ms).difference_m3[0]
    volumes = [w.volume_m3 for w in written]
    total = None if any(v is None for v in volumes) else float(sum(v for v in volumes if v is not None))
    out = _known(float(carried_out))
    return Reconciliation(
        made.system, made.opening_ms, made.opening_m3, made.terms, made.closing_ms, made.closing_m3,
        made.unexplained_m3, made.u_m3, made.opening_partial, made.closing_partial, made.held, made.late, made.why,
        _known(float(carried_in)), out, tuple(w for w in written if w.t_ms > since), total,
        None if total is None or out is None else total + out)


def _known(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
