"""What the watch showed of each reading when it had just been learned, noise and all, by what was logged by then.

The books know more afterwards: an entry that came late changes what they say of the past. A debrief must not: it asks
them anew as they stood then, wherever anything learned later could have touched a reading.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from dipbook import balance
from dipbook.alarms.step import beyond, side
from dipbook.books import Books, build
from dipbook.entries.kinds import TRIP, TRIP_END
from dipbook.limits import LOUD_KINDS, Limit, sides
from dipbook.observations import WATCHED, observe
from dipbook.records import RIG, SAMPLES, TRIP_ROW, UNWATCHED, WARNING, Record
from dipbook.watch import Evidence, applies, channel_of
from dipbook.watch.state import watchable

TOLD_LATER = frozenset({"line-up", "valve", TRIP, TRIP_END, TRIP_ROW, "void"})
"""Kinds whose volumes the books may tell anew from a later dip: from the first of them on every reading is asked of the
books as they stood."""
MOVES_NOTHING = frozenset({WARNING, UNWATCHED})


@dataclass(frozen=True, slots=True)
class Beyond:
    """A reading that stood at or beyond a limit in force, as it was shown then. limit: that side of it. t_ms: of the
    reading; learned_ms: when it was known [UTC ms]. value: as the books have it [m3]."""

    limit: Limit
    t_ms: int
    learned_ms: int
    value: float


@dataclass(frozen=True)
class Shown:
    """Readings as they were shown then, one row each.

    t_ms: their ends; learned_ms: when they were known; int64 [UTC ms]. system: that the flow line went to, of each.
    difference_m3, u_m3 (k = 1): of it, NaN unknown [m3]. partial: bool. gain_m3, loss_m3: the strictest limit on it
    that was in force, NaN where nobody set one [m3]. beyond: readings at or beyond a limit on gain, loss, drift,
    flow-back or a trip, by time. late: how many readings the books say something else of now.
    """

    t_ms: Any
    learned_ms: Any
    system: tuple[str, ...]
    difference_m3: Any
    u_m3: Any
    partial: Any
    gain_m3: Any
    loss_m3: Any
    beyond: tuple[Beyond, ...]
    late: int


def shown(records: Sequence[Record], *, in_time: bool = False) -> Shown:
    """What was shown of each reading of a log.

    records: of the whole log, any order. in_time: every reading and entry counts as known at its own time, as in files
    of a drill that nobody watched. Raises RigFileError where no rig is among them.
    """
    books = build(records)
    ends, known = books.readings.end_ms, _known(books)
    learned = {r.seq: r.learned_ms for r in books.records}
    rows = _whole(books, learned)
    late = 0
    if in_time:
        rows = [replace(r, learned_ms=int(t), beyond=tuple(replace(b, learned_ms=int(t)) for b in r.beyond))
                for r, t in zip(rows, ends, strict=True)]
    for n in [] if in_time else np.flatnonzero(_touched_later(books, known)).tolist():
        then = build([r for r in books.records if r.seq <= known[n]])
        at = int(np.flatnonzero(then.readings.end_ms == ends[n])[-1]) if ends[n] in then.readings.end_ms else -1
        if at < 0:      # it was struck out, or entered anew: what counts was learned later
            continue
        before = rows[n]
        rows[n] = _rows(then, observe(then, at, at + 1), learned, at)[0]
        late += not _same(before, rows[n])
    return Shown(
        np.asarray(ends, dtype=np.int64), np.array([r.learned_ms for r in rows], dtype=np.int64),
        tuple(r.system for r in rows), np.array([r.difference_m3 for r in rows], dtype=float),
        np.array([r.u_m3 for r in rows], dtype=float), np.array([r.partial for r in rows], dtype=bool),
        np.array([r.gain_m3 for r in rows], dtype=float), np.array([r.loss_m3 for r in rows], dtype=float),
        tuple(sorted((b for r in rows for b in r.beyond), key=lambda b: (b.t_ms, b.limit.name))), late)


@dataclass(frozen=True)
class Then:
    """The trend as it stood at one moment: every reading known by then, by what was known by then. t_ms: int64 [UTC
    ms]. difference_m3, u_m3 (k = 1) [m3], NaN unknown; partial: bool; of the system that the flow line went to."""

    t_ms: Any
    difference_m3: Any
    u_m3: Any
    partial: Any


def then(records: Sequence[Record], read: Shown, t_ms: int) -> Then:
    """The trend as it was shown at a moment.

    records: of the whole log. read: ``shown`` of them. t_ms: the moment, by the log's clock [UTC ms].
    """
    if not read.late:       # nothing that came later said anything else of the past
        cut = read.learned_ms <= t_ms
        return Then(read.t_ms[cut], read.difference_m3[cut], read.u_m3[cut], read.partial[cut])
    known = [r for r in records if r.learned_ms <= t_ms]
    if not any(r.kind == RIG for r in known):
        none = np.zeros(0)
        return Then(np.zeros(0, dtype=np.int64), none, none, np.zeros(0, dtype=bool))
    books = build(known)
    rows = _whole(books, {r.seq: r.learned_ms for r in books.records})
    return Then(np.asarray(books.readings.end_ms, dtype=np.int64), np.array([r.difference_m3 for r in rows]),
                np.array([r.u_m3 for r in rows]), np.array([r.partial for r in rows], dtype=bool))


@dataclass(frozen=True, slots=True)
class _Row:
    learned_ms: int
    system: str
    difference_m3: float
    u_m3: float
    partial: bool
    gain_m3: float
    loss_m3: float
    beyond: tuple[Beyond, ...]


def _same(a: _Row, b: _Row) -> bool:
    same = np.isclose(a.difference_m3, b.difference_m3, rtol=0.0, atol=1e-9, equal_nan=True)
    return bool(same) and (a.system, a.partial) == (b.system, b.partial)


def _whole(books: Books, learned: Mapping[int, int]) -> list[_Row]:
    """Every reading by all that is known now."""
    return _rows(books, observe(books), learned, 0) if len(books.readings) else []


def _rows(books: Books, evidence: Evidence, learned: Mapping[int, int], first: int) -> list[_Row]:
    """The readings of evidence, from reading ``first`` on. learned: seq → when [UTC ms]."""
    ends, seqs = books.readings.end_ms, books.readings.seq
    found: list[_Row] = []
    count = len(ends) - first if not len(evidence) else int(np.isin(evidence.t_ms, ends[first:]).sum())
    upto = min(len(ends), first + count)
    names = balance.followed(books, ends[first:upto])[0]
    passed = _beyond(books, evidence)
    for n in range(first, upto):
        t = int(ends[n])
        row = int(np.searchsorted(evidence.t_ms, t, side="right")) - 1
        known = learned[int(seqs[n])]
        found.append(_Row(
            known, names[n - first], float(evidence.difference[WATCHED][row]), float(evidence.u[WATCHED][row]),
            bool(evidence.partial[WATCHED][row]),
            _strictest(books.rig_at(t).limits, "gain", names[n - first], evidence.activity[row]),
            _strictest(books.rig_at(t).limits, "loss", names[n - first], evidence.activity[row]),
            tuple(Beyond(limit, t, known, value) for limit, value in passed.get(row, ()))))
    return found


def _strictest(limits: Iterable[Limit], kind: str, system: str, activity: str) -> float:
    """The least value of the limits in force on a system [m3], NaN for none."""
    return min((x.value for x in limits if x.kind == kind and x.watched and x.on in (system, WATCHED)
                and applies(x, activity)), default=np.nan)


def _beyond(books: Books, evidence: Evidence) -> dict[int, list[tuple[Limit, float]]]:
    """Row of evidence → (side of a limit that it stands at or beyond, value)."""
    found: dict[int, list[tuple[Limit, float]]] = {}
    starts = [start for start, _ in books.rigs[1:]]
    for n, (_, rig) in enumerate(books.rigs):
        for limit in sides(rig.limits):
            if limit.kind not in LOUD_KINDS or not watchable(limit):
                continue
            column = evidence.column(channel_of(limit))
            if column is None:
                continue
            rows = column.known.nonzero()[0]
            rig_of = np.searchsorted(np.array(starts, dtype=np.int64), column.t_ms[rows], side="right")
            for row in rows[rig_of == n].tolist():
                value = float(column.value[row])
                if beyond(limit, side(limit) * value) and applies(limit, evidence.activity[row]):
                    found.setdefault(row, []).append((limit, value))
    return found


def _known(books: Books) -> list[int]:
    """Of each reading the last record that was learned with it: what comes in at one moment is shown together."""
    last: dict[int, int] = {}
    for r in books.records:
        last[r.learned_ms] = max(r.seq, last.get(r.learned_ms, 0))
    learned = {r.seq: r.learned_ms for r in books.records}
    return [last[learned[int(seq)]] for seq in books.readings.seq]


def _touched_later(books: Books, known: Sequence[int]) -> Any:
    """True for a reading that something learned after it could have touched. known: of each, the last record by
    then."""
    ends = np.asarray(books.readings.end_ms, dtype=np.int64)
    seqs = np.array(known, dtype=np.int64)
    found = np.zeros(len(ends), dtype=bool)
    by_uid = {r.uid: r for r in books.records}
    for r in books.records:
        if r.kind in MOVES_NOTHING and not r.supersedes:
            continue
        since = min(_times(r, by_uid))
        found |= (seqs < r.seq) & (ends >= since)
        if r.kind in TOLD_LATER:
            found |= ends >= since
    zero = next((r.t_ms for r in books.eff.records if r.kind == "zero"), None)
    return found if zero is None else found | (ends < zero)     # the zero that was taken counted till one was given


def _times(record: Record, by_uid: Mapping[str, Record]) -> Iterable[int]:
    """Every time from which a record may change the books [UTC ms]."""
    yield record.t_ms
    yield from (d.t_ms for d in record.dips)
    if record.kind == SAMPLES:
        yield from (int(b.t_ms[0]) for b in record.blocks if len(b.t_ms))
    if record.kind == RIG and record.payload.get("effective") == "correction":
        yield min(r.t_ms for r in by_uid.values())
    if record.supersedes and record.supersedes in by_uid:
        yield from _times(by_uid[record.supersedes], by_uid)
