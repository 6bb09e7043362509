"""What was gauged and logged in a span: its readings, each dip, every entry, and what was corrected afterwards."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from dipbook import balance
from dipbook.books import Books
from dipbook.entries.kinds import ENTRY_KINDS
from dipbook.entries.words import LABELS, describe, stopped
from dipbook.records import RIG, ROUND, SAMPLES, TRIP_ROW, WARNING, Record
from dipbook.reports.spans import Span

LATE_MS = 30 * 60_000
"""Learned more than this after it happened, an entry counts as logged late (our choice, no source)."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One round, or row of a trip's sheet. t_ms: its end; learned_ms [UTC ms]. by: who keyed it; observer: who gauged.
    gauged: how many tanks. partial: an active tank wasn't gauged or read. Volumes of the active system then [m3], None
    unknown; u_m3 (k = 1). uid: of its record. corrected: it replaces another."""

    t_ms: int
    learned_ms: int
    uid: str
    kind: str
    by: str
    observer: str
    gauged: int
    partial: bool
    actual_m3: float | None
    expected_m3: float | None
    difference_m3: float | None
    u_m3: float | None
    corrected: bool


@dataclass(frozen=True, slots=True)
class DipLine:
    """One dip that counts. t_ms [UTC ms]. typed: as it was read. volume_m3; u_m3 (k = 1), None unknown. flag: in words.
    uid, by: of its record."""

    t_ms: int
    tank: str
    typed: str
    volume_m3: float | None
    u_m3: float | None
    flag: str
    uid: str
    by: str


@dataclass(frozen=True, slots=True)
class Imported:
    """Readings of a file or sensors. uid: of the record. rows: of the span. first_ms, last_ms: [UTC ms]. words: which.
    """

    uid: str
    rows: int
    first_ms: int
    last_ms: int
    words: str


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry that counts. t_ms; end_ms or None; learned_ms [UTC ms]. kind, label, words: what it says. by: who.
    late: logged long after it happened. corrected: it replaces another. uid: of its record."""

    t_ms: int
    end_ms: int | None
    learned_ms: int
    uid: str
    kind: str
    label: str
    words: str
    by: str
    late: bool
    corrected: bool


@dataclass(frozen=True, slots=True)
class Correction:
    """One record that replaced another, or struck out readings. t_ms: what it concerns; learned_ms: when it was made
    [UTC ms]. label: kind. was, now: in words. by, why. uid: of the new record."""

    t_ms: int
    learned_ms: int
    uid: str
    label: str
    was: str
    now: str
    by: str
    why: str


@dataclass(frozen=True, slots=True)
class Gauging:
    """Of a span: readings by hand, dips, imported, entries, corrections. count: readings of any kind; complete: of them
    those that gauged every active tank; longest_ms: between two complete ones, the span's ends counted, None without
    any."""

    readings: tuple[Reading, ...]
    dips: tuple[DipLine, ...]
    imported: tuple[Imported, ...]
    entries: tuple[Entry, ...]
    corrections: tuple[Correction, ...]
    count: int
    complete: int
    longest_ms: int | None


def gauging(books: Books, span: Span, units: Mapping[str, str]) -> Gauging:
    """What was gauged and logged in a span. books: of the log. span. units: dimension -> symbol, for words."""
    ends = books.readings.end_ms
    inside = ends[(ends > span.from_ms) & (ends <= span.to_ms)]
    partial = balance.at(books, inside).partial if len(inside) else np.zeros(0, dtype=bool)
    complete = [int(t) for t in inside[~partial]]
    marks = [span.from_ms, *complete, span.to_ms]
    return Gauging(_readings(books, span), _dips(books, span), _imported(books, span, units),
                   _entries(books, span, units), _corrections(books, span, units), len(inside), len(complete),
                   max(b - a for a, b in pairwise(marks)) if complete else None)


def _readings(books: Books, span: Span) -> tuple[Reading, ...]:
    rows = [(max(d.t_ms for d in r.dips), r) for r in books.eff.records if r.kind in (ROUND, TRIP_ROW) and r.dips]
    rows = sorted(((t, r) for t, r in rows if span.holds(t)), key=lambda row: (row[0], row[1].seq))
    if not rows:
        return ()
    b = balance.at(books, [t for t, _ in rows])
    return tuple(
        Reading(t, r.learned_ms, r.uid, r.kind, r.author, str(r.payload.get("observer") or r.author), len(r.dips),
                bool(b.partial[i]), _known(b.actual_m3[i]), _known(b.expected_m3[i]), _known(b.difference_m3[i]),
                _known(b.u_m3[i]), r.supersedes is not None)
        for i, (t, r) in enumerate(rows))


def _dips(books: Books, span: Span) -> tuple[DipLine, ...]:
    """Those that stand: not struck out, and not replaced."""
    found: list[DipLine] = []
    for r in books.eff.records:
        if r.kind not in (ROUND, TRIP_ROW):
            continue
        for d in r.dips:
            s = books.dips.get(d.tank)
            i = int(np.searchsorted(s.t_ms, d.t_ms)) if s is not None else 0
            if s is None or not span.holds(d.t_ms) or i >= len(s) or s.t_ms[i] != d.t_ms or s.seq[i] != r.seq:
                continue
            found.append(DipLine(d.t_ms, d.tank, d.as_typed, _known(s.volume_m3[i]), _known(s.u_m3[i]), d.flag, r.uid,
                                 r.author))
    return tuple(sorted(found, key=lambda d: d.t_ms))


def _imported(books: Books, span: Span, units: Mapping[str, str]) -> tuple[Imported, ...]:
    found: list[Imported] = []
    for r in books.eff.records:
        if r.kind != SAMPLES:
            continue
        ends = books.readings.end_ms[books.readings.seq == r.seq]
        ends = ends[(ends > span.from_ms) & (ends <= span.to_ms)]
        if len(ends):
            found.append(Imported(r.uid, len(ends), int(ends[0]), int(ends[-1]), _said(books, r, units)))
    return tuple(found)


def _entries(books: Books, span: Span, units: Mapping[str, str]) -> tuple[Entry, ...]:
    return tuple(
        Entry(r.t_ms, r.payload.get("end_ms"), r.learned_ms, r.uid, r.kind, LABELS.get(r.kind, r.kind),
              _said(books, r, units), r.author, r.learned_ms - max(r.t_ms, r.payload.get("end_ms") or 0) > LATE_MS,
              r.supersedes is not None and not stopped(r))
        for r in books.eff.records if r.kind in ENTRY_KINDS and span.holds(r.t_ms))


def _corrections(books: Books, span: Span, units: Mapping[str, str]) -> tuple[Correction, ...]:
    by_uid = {r.uid: r for r in books.records}
    found: list[Correction] = []
    for r in books.records:
        old = by_uid.get(r.supersedes or "")
        strikes = r.kind == "void" and old is None
        if r.kind in (RIG, WARNING) or stopped(r) or (old is None and not strikes):
            continue
        first = r if old is None else old
        if not any(span.holds(t) for t in (first.t_ms, r.t_ms)) and not (strikes and _overlaps(r, span)):
            continue
        was = "" if old is None else _said(books, old, units)
        found.append(Correction(first.t_ms, r.learned_ms, r.uid, LABELS.get(first.kind, first.kind), was,
                                _said(books, r, units, reason=strikes), r.author,
                                r.reason or str(r.payload.get("reason") or "")))
    return tuple(found)


def _overlaps(r: Record, span: Span) -> bool:
    return r.t_ms <= span.to_ms and int(r.payload.get("end_ms") or r.t_ms) > span.from_ms


def _said(books: Books, r: Record, units: Mapping[str, str], *, reason: bool = True) -> str:
    words = describe(r, units, books.rig.zone, books.rig.decimal)
    if not reason or not r.reason:
        return words
    return words.removesuffix(f"Reason: {r.reason}").rstrip(" .") if words.endswith(f"Reason: {r.reason}") else words


def _known(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
