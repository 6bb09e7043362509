"""What records come to when they are learned: the next books, the next watch, and what it told. Nothing is changed, so
that a round which couldn't be stored is judged by the same lines as one that was."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from dipbook import composing, watch
from dipbook.books import Books, learn
from dipbook.observations import observe
from dipbook.records import Record

BEFORE = 50
"""Readings before one that is looked at again, given to the watch with it: delays count them, and where a reading was
struck out, the last of each tank counts then."""


@dataclass(frozen=True, slots=True)
class Learnt:
    """books, memory: the next, of the log and of the watch. transitions: what the watch told, in its order."""

    books: Books
    memory: watch.Watch
    transitions: tuple[watch.Transition, ...]


def of(books: Books, memory: watch.Watch, records: Sequence[Record], now_ms: int, *, cause: str = "",
       batch: bool = False, whole: Callable[[Books, int], Books] = lambda books, touched_ms: books) -> Learnt:
    """books, memory: before. records: new ones. now_ms [UTC ms]. cause: what changed, in words. batch: an import.
    whole: given books and the time that was touched [UTC ms], gives them with the readings since then."""
    before_limits, struck = books.rig.limits, composing.struck_from(records, books)
    books, touched = learn(books, records)
    books = books if touched is None else whole(books, touched)
    seq = max(r.seq for r in records)
    events: list[watch.Event] = []
    if books.rig.limits != before_limits:
        events.append(watch.LimitsChanged(seq, now_ms, books.rig.limits, books.rig_seq, by=records[-1].author))
    events += composing.gaps(books, memory, now_ms)
    if touched is not None:
        first = int(books.readings.index_at(touched - 1)) + 1
        ends, last = books.readings.end_ms, memory.last_t
        again = struck is not None or (first < len(ends) and last is not None and int(ends[first]) <= last)
        evidence = observe(books, max(0, first - BEFORE) if again else first)
        if len(evidence) or struck is not None:
            events.append(watch.Learned(seq, now_ms, evidence, batch=batch, cause=cause, struck_from_ms=struck))
    out: list[watch.Transition] = []
    for event in events:
        memory, told = watch.step(memory, event)
        out += told
    for event in composing.doing(books, memory, now_ms):
        memory, told = watch.step(memory, event)
        out += told
    return Learnt(books, memory, tuple(out))
