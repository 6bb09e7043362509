"""A report: the figures of one span as plain data. Screen, paper and files show these and work out none of their
own."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from dipbook import balance
from dipbook.books import Books
from dipbook.debrief.pit_drill_record import of_log
from dipbook.debrief.signed_record import DrillRecord
from dipbook.entries.kinds import ENTRY_KINDS
from dipbook.entries.words import describe
from dipbook.findings import Finding
from dipbook.reports.gauging import Gauging, gauging
from dipbook.reports.handover import Standing, handover
from dipbook.reports.inventory import Inventory, inventory
from dipbook.reports.reconciliation import Reconciliation, everywhere
from dipbook.reports.spans import Span
from dipbook.reports.warned import Warnings, warnings
from dipbook.reports.watching import Unwatched, unwatched
from dipbook.reports.well_work import ConnectionLine, TripLine, connections, trips
from dipbook.rig.model import Rig

MARKED = ENTRY_KINDS - {"depth", "pumps", "activity", "stand filled", "rate in force"}
"""Kinds with a mark on the trend: of the others there are too many, or they last."""


@dataclass(frozen=True)
class Trend:
    """The balance of the active system at each reading of a span. t_ms int64 [UTC ms]; the others [m3], NaN unknown,
    u_m3 k = 1; partial: bool. marks: (when [UTC ms], kind) of entries that move mud or say something of the well;
    raised: when warnings occurred [UTC ms]. activities: (from, to [UTC ms], what the rig did), by
    time, without gaps."""

    t_ms: Any
    actual_m3: Any
    expected_m3: Any
    difference_m3: Any
    u_m3: Any
    partial: Any
    marks: tuple[tuple[int, str], ...]
    raised: tuple[int, ...]
    activities: tuple[tuple[int, int, str], ...] = ()


@dataclass(frozen=True)
class Report:
    """One span of a log.

    rig: in force at the span's end. span. units: dimension -> symbol, in which words are written. then: as the log
    stood when the span ended, else as it is known now; last_seq: the last record that it rests on. learned_since:
    records of the log that it leaves out (then), or that were learned after the span and concern it (now). drill: of a
    training drill. active, surface, tanks: the reconciliation. trend. gauging; warnings; connections; trips; inventory;
    handover; unwatched: see their classes. findings: what makes a number of the span worth less. words: of
    every record that the active system's terms and the warnings name, by uid: (when [UTC ms], what it says).
    pit_drills: on the rig, of which a part lies in the span.
    """

    rig: Rig
    span: Span
    units: Mapping[str, str]
    then: bool
    last_seq: int
    learned_since: int
    drill: bool
    active: Reconciliation
    surface: Reconciliation
    tanks: tuple[Reconciliation, ...]
    trend: Trend
    gauging: Gauging
    warnings: Warnings
    connections: tuple[ConnectionLine, ...]
    trips: tuple[TripLine, ...]
    inventory: Inventory
    handover: tuple[Standing, ...]
    unwatched: tuple[Unwatched, ...]
    findings: tuple[Finding, ...]
    words: Mapping[str, tuple[int, str]]
    pit_drills: tuple[DrillRecord, ...] = ()


def report(books: Books, span: Span, *, units: Mapping[str, str] | None = None, then: bool = False,
           drill: bool = False, step: Callable[[str], object] = str) -> Report:
    """The figures of a span.

    books: of the whole log. span. units: dimension -> symbol, over the rig's own; None for those. then: as the log
    stood when the span ended, with what was learned by then; False: as it is known now. drill: the log is a training
    drill's. step: called with a word on what is worked out next; what it raises ends the work.
    """
    whole = books
    if then:
        step("the log as it stood then")
        books = books.known_at(shown_then(books, span))
    symbols = {**books.rig.units, **(units or {})}
    step("where the mud went")
    active, surface, tanks = everywhere(books, span)
    step("the warnings")
    warned = warnings(books, span, symbols)
    step("the trend")
    trend = _trend(books, span, warned)
    step("readings and entries")
    gauged = gauging(books, span, symbols)
    step("connections and trips")
    connected, tripped = connections(books, span), trips(books, span)
    step("what stands at the end")
    since = [r for r in whole.records if r.learned_ms > span.to_ms and (then or span.holds(r.t_ms))]
    return Report(
        books.rig_at(span.to_ms), span, symbols, then, max(r.seq for r in books.records), len(since), drill, active,
        surface, tanks, trend, gauged, warned, connected, tripped, inventory(books, span),
        handover(books, span, warned, symbols), unwatched(books, span),
        tuple(f for f in (*balance.findings(books), *books.rig_findings) if f.t_ms is None or span.holds(f.t_ms)),
        _words(books, {*(e.uid for term in active.terms for e in term.entries),
                       *(uid for w in warned.raised for uid in w.afterwards)}, symbols),
        tuple(d for d in of_log(books) if d.began_ms <= span.to_ms and (d.ended_ms or span.to_ms) > span.from_ms))


def _words(books: Books, uids: set[str], units: Mapping[str, str]) -> dict[str, tuple[int, str]]:
    return {r.uid: (r.t_ms, describe(r, units, books.rig.zone, books.rig.decimal)) for r in books.eff.records
            if r.uid in uids}


def shown_then(books: Books, span: Span) -> int:
    """The last record that had been learned when a span ended, by the log's own clock; at least the first one, which
    describes the rig. books: of the whole log. span."""
    return max((r.seq for r in books.records if r.learned_ms <= span.to_ms), default=min(r.seq for r in books.records))


def _trend(books: Books, span: Span, warned: Warnings) -> Trend:
    ends = books.readings.end_ms
    inside = ends[(ends >= span.from_ms) & (ends <= span.to_ms)]
    marks = tuple((r.t_ms, r.kind) for r in books.eff.records if r.kind in MARKED and span.holds(r.t_ms))
    raised = tuple(w.raised_ms for w in warned.raised if span.holds(w.raised_ms))
    if not len(inside):
        empty = np.zeros(0)
        return Trend(np.zeros(0, dtype=np.int64), empty, empty, empty, empty, np.zeros(0, dtype=bool), marks, raised,
                     _activities(books, span))
    b = balance.at(books, inside)
    return Trend(b.t_ms, b.actual_m3, b.expected_m3, b.difference_m3, b.u_m3, b.partial, marks, raised,
                 _activities(books, span))


def _activities(books: Books, span: Span) -> tuple[tuple[int, int, str], ...]:
    turns = [span.from_ms, *(int(t) for t in books.activities.t_ms if span.from_ms < t < span.to_ms), span.to_ms]
    found: list[tuple[int, int, str]] = []
    for a, b in pairwise(turns):
        name = books.activities.at(a)[0]
        if found and found[-1][2] == name:
            a = found.pop()[0]
        found.append((a, b, name))
    return tuple(found)
