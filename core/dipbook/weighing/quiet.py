"""The quiet hours of a log: known, watched, and with nothing of the well in them that anybody or any limit told."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from dipbook.books import Books
from dipbook.entries.kinds import FLOW_CHECK_RESULTS, SHUT_IN
from dipbook.limits import LOUD_KINDS
from dipbook.records import WARNING
from dipbook.watch import Evidence, from_payload

BEFORE_MS = 1_800_000
"""So long before an event isn't quiet: an influx begins before it is told [ms]. A choice, no source."""
LONGEST_GAP_MS = 3_600_000
"""Readings further apart than this leave the time between them unknown [ms]. A choice, no source."""
STATIC = FLOW_CHECK_RESULTS[0]


@dataclass(frozen=True, slots=True)
class Quiet:
    """Quiet stretches of a log. spans: (first, last) reading of each [UTC ms]. hours: in all, between readings [h].
    events: how many warnings, shut-ins and flow checks took hours out."""

    spans: tuple[tuple[int, int], ...]
    hours: float
    events: int


def left_out(books: Books) -> tuple[tuple[int, int | None], ...]:
    """(from, to) that is not quiet [UTC ms], to None where nobody has zeroed since.

    From 30 min before a raised warning of gain, loss, drift, flow-back or a trip, a shut-in, or a flow check that
    wasn't static, until the next zero that a person gave; of a warning also until a person has closed it: a zero alone
    may come while the well still flows. Closing one doesn't end it: the difference still counts from before, and only a
    zero puts the books on new ground. books: of the log.
    """
    told = []
    for record in books.records:
        if record.kind == WARNING:
            try:
                told.append(from_payload(record.payload))
            except ValueError:
                continue    # the store says so where a log is opened
    closed = {tr.occurrence: tr.learned for tr in told if tr.state == "closed"}
    at = [(tr.time, closed.get(tr.occurrence)) for tr in told
          if tr.state == "raised" and tr.event == "ACT" and tr.kind in LOUD_KINDS]
    for record in books.eff.records:
        if (record.kind == "shut-in" and record.payload.get("state") == SHUT_IN) or (
                record.kind == "flow check" and record.payload.get("result") != STATIC):
            at.append((record.t_ms, record.t_ms))
    zeros = sorted(z.t_ms for z in books.zeros if z.given and z.t_ms is not None)
    found = []
    for t, seen_to in sorted(at, key=lambda one: one[0]):
        zero = next((z for z in zeros if z > t), None)
        found.append((t - BEFORE_MS, None if zero is None or seen_to is None else max(zero, seen_to)))
    return tuple(found)


def quiet_rows(books: Books, evidence: Evidence, system: str) -> tuple[Any, Quiet]:
    """(bool per row of the evidence, what they come to).

    books: of the log. evidence: its readings. system: whose difference has to be known, "active" for a tank's limit.
    """
    t = evidence.t_ms
    quiet = np.isfinite(evidence.difference[system]) & np.asarray(evidence.watched[system], dtype=bool) \
        & ~np.asarray(evidence.partial[system], dtype=bool)
    events = left_out(books)
    for a, b in events:
        quiet &= ~((t >= a) & ((t < b) if b is not None else True))
    unwatched = sorted((a, 2**62 if b is None else b) for a, b, _ in books.unwatched)
    for a, b in unwatched:
        quiet &= ~((t > a) & (t < b))
    rows = np.flatnonzero(quiet)
    if not len(rows):
        return quiet, Quiet((), 0.0, len(events))
    # Rows that tell only of trips lie between readings and know nothing of the difference: they end no stretch.
    bad = np.cumsum(~quiet & np.isin(t, books.readings.end_ms))
    before = np.searchsorted(np.array([a for a, _ in unwatched], dtype=np.int64), t[rows])
    ends = np.flatnonzero((np.diff(t[rows]) > LONGEST_GAP_MS) | (np.diff(bad[rows]) != 0) | (np.diff(before) != 0))
    first, last = rows[np.concatenate(([0], ends + 1))], rows[np.concatenate((ends, [len(rows) - 1]))]
    spans = tuple((int(t[i]), int(t[j])) for i, j in zip(first, last, strict=True) if j > i)
    return quiet, Quiet(spans, sum(b - a for a, b in spans) / 3_600_000, len(events))
