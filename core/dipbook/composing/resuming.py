"""What a log gives the watch when it is opened: the journal, the last readings, and since when each limit stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from dipbook import watch
from dipbook.books import Books
from dipbook.composing.telling import doing
from dipbook.limit_record import replayed
from dipbook.limits import Limit
from dipbook.observations import observe
from dipbook.records import WARNING, Record

TAIL = 400
"""Readings given to the watch again when a log is opened; more where an open warning is older."""


def limits_stood(books: Books) -> dict[str, tuple[tuple[int | None, Limit], ...]]:
    """Limit's name -> every limit that it has been with since when [UTC ms], None for those of the log's first rig.

    A correction of the rig sets only the limits that it changes.
    """
    stood: dict[str, tuple[tuple[int | None, Limit], ...]] = {}
    before: Mapping[str, Limit] | None = None
    for record, limits in replayed(books.records):
        for name, x in limits.items():
            if before is None or before.get(name) != x:
                stood[name] = (*stood.get(name, ()), (None if before is None else record.learned_ms, x))
        before = limits
    return stood


def journal(records: Sequence[Record]) -> tuple[list[Mapping[str, Any]], int]:
    """(payloads of the transitions that can be read, how many can't), in the order of the log. records: of the log."""
    good: list[Mapping[str, Any]] = []
    bad = 0
    for r in sorted((r for r in records if r.kind == WARNING), key=lambda r: r.seq):
        try:
            watch.from_payload(r.payload)
            good.append(r.payload)
        except ValueError:
            bad += 1
    return good, bad


def resumed(books: Books, *, unwatched: Sequence[tuple[int, int | None]], now_ms: int,
            ) -> tuple[watch.Watch, tuple[watch.Transition, ...]]:
    """The watch as it was, and what a crash had kept from the journal, raised now.

    books: of all records. unwatched: gaps, to None for one that goes on; now_ms [UTC ms].
    """
    payloads, _ = journal(books.records)
    oldest = min((s.alarm.raised_t for s in watch.resume(books.rig.limits, books.rig_seq, payloads).open_slots()
                  if s.alarm.raised_t is not None), default=None)
    first = max(0, len(books.readings) - TAIL)
    if oldest is not None:
        first = min(first, max(0, int(books.readings.index_at(oldest))))
    tail = observe(books, first)
    memory = watch.resume(books.rig.limits, books.rig_seq, payloads, tail, unwatched=unwatched,
                          began_ms=min((r.learned_ms for r in books.records), default=None),
                          stood=limits_stood(books))
    if not len(tail):
        return memory, ()
    seq = max(r.seq for r in books.records)
    memory, out = watch.step(memory, watch.Learned(seq, now_ms, tail, cause="found when the log was opened"))
    for event in doing(books, memory, now_ms):
        memory, more = watch.step(memory, event)
        out += more
    return memory, out
