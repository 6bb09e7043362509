"""The quiet hours of a log: known, watched, and with nothing of the well in them that anybody or any limit told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

import numpy as np

from dipbook.books import Books
from dipbook.entries.kinds import FLOW_CHECK_RESULTS, SHUT_IN
from dipbook.limits import LOUD_KINDS
from dipbook.records import WARNING
from dipbook.watch import Evidence, from_payload

BEFORE_MS = 1_800_000
"""So long before an event isn't quiet: an influx begins before it is told [ms]. A choice, no source."""
HOUR_MS = 3_600_000
LONGEST_GAP_MS = HOUR_MS
"""Readings further apart than this leave the time between them unknown [ms]. A choice, no source."""
STATIC = FLOW_CHECK_RESULTS[0]


EVENT, UNWATCHED, APART, UNKNOWN, PARTIAL, NOT_ACTIVE = "event", "unwatched", "apart", "unknown", "partial", "system"
WHYS = (EVENT, UNWATCHED, APART, UNKNOWN, PARTIAL, NOT_ACTIVE)
"""Why hours aren't quiet, in this order where there is more than one reason: what warnings and the like took out;
nobody watched; readings lie too far apart; the difference wasn't known; it was known in part; its system wasn't
watched."""


@dataclass(frozen=True, slots=True)
class Quiet:
    """Quiet stretches of a log. spans: (first, last) reading of each [UTC ms]. hours: in all, between readings [h].
    events: how many warnings, shut-ins and flow checks took hours out. ruled_out: of WHYS → hours that aren't quiet for
    that [h]; with ``hours`` they are all from the first reading to the last. unended: of the events, how many go on:
    nobody has given a zero since, or the warning isn't closed.
    """

    spans: tuple[tuple[int, int], ...]
    hours: float
    events: int
    ruled_out: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    unended: int = 0


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
    bad_for = {UNKNOWN: ~np.isfinite(evidence.difference[system]),
               PARTIAL: np.asarray(evidence.partial[system], dtype=bool),
               NOT_ACTIVE: ~np.asarray(evidence.watched[system], dtype=bool),
               EVENT: np.zeros(len(t), dtype=bool), UNWATCHED: np.zeros(len(t), dtype=bool)}
    events = left_out(books)
    for a, b in events:
        bad_for[EVENT] |= (t >= a) & ((t < b) if b is not None else True)
    unwatched = sorted((a, 2**62 if b is None else b) for a, b, _ in books.unwatched)
    for a, b in unwatched:
        bad_for[UNWATCHED] |= (t > a) & (t < b)
    quiet = ~np.logical_or.reduce(list(bad_for.values()))
    rows = np.flatnonzero(quiet)
    unended = sum(b is None for _, b in events)
    if not len(rows):
        return quiet, Quiet((), 0.0, len(events), _ruled_out(books, t, bad_for, unwatched, ()), unended)
    # Rows that tell only of trips lie between readings and know nothing of the difference: they end no stretch.
    bad = np.cumsum(~quiet & np.isin(t, books.readings.end_ms))
    before = np.searchsorted(np.array([a for a, _ in unwatched], dtype=np.int64), t[rows])
    ends = np.flatnonzero((np.diff(t[rows]) > LONGEST_GAP_MS) | (np.diff(bad[rows]) != 0) | (np.diff(before) != 0))
    first, last = rows[np.concatenate(([0], ends + 1))], rows[np.concatenate((ends, [len(rows) - 1]))]
    spans = tuple((int(t[i]), int(t[j])) for i, j in zip(first, last, strict=True) if j > i)
    return quiet, Quiet(spans, sum(b - a for a, b in spans) / HOUR_MS, len(events),
                        _ruled_out(books, t, bad_for, unwatched, spans), unended)


def _ruled_out(books: Books, t: Any, bad_for: Mapping[str, Any], unwatched: Sequence[tuple[int, int]],
               spans: Sequence[tuple[int, int]]) -> Mapping[str, float]:
    """Of WHYS → hours between readings that are in no quiet stretch for that [h].

    t: of the rows [UTC ms]. bad_for: why → bool per row. unwatched: by time [UTC ms]. spans: the quiet stretches. The
    time between two readings isn't quiet where either isn't; of several reasons the first of WHYS is said.
    """
    here = np.isin(t, books.readings.end_ms)
    at = t[here]
    a, b = at[:-1], at[1:]
    first, last = (np.array([span[end] for span in spans], dtype=np.int64) for end in (0, 1))
    place = np.searchsorted(first, a, side="right") - 1
    within = (place >= 0) & (b <= last[np.maximum(place, 0)]) if spans else np.zeros(len(a), dtype=bool)
    found: dict[str, float] = {}
    open_ = ~within
    for why in WHYS:
        if why == APART:
            mine = b - a > LONGEST_GAP_MS
        else:
            bad = np.asarray(bad_for[why])[here]
            mine = bad[:-1] | bad[1:]
        if why == UNWATCHED:
            for begun, ended in unwatched:
                mine |= (a < ended) & (b > begun)
        hours = float(np.sum((b - a)[open_ & mine])) / HOUR_MS
        if hours > 0.0:
            found[why] = hours
        open_ &= ~mine
    return MappingProxyType(found)
