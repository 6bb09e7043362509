"""A round that couldn't be stored: what it would have raised is raised, and it ends nothing.

The books don't have it. The watch has what it raised as it has any warning: it goes to the journal once that can be
written, and the round, stored later, raises it no second time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from dipbook import watch
from dipbook.books import Books, learn
from dipbook.limits import TRIP_KINDS
from dipbook.observations import observe
from dipbook.records import ROUND, TRIP_ROW, Draft, numbered

CAUSE = "by a round that could not be stored"
RAISES = ("ACT", "REA")


def judged(memory: watch.Watch, books: Books, drafts: Sequence[Draft], now_ms: int,
           ) -> tuple[watch.Watch, tuple[watch.Transition, ...]]:
    """The watch with what a round raises, and the transitions. memory: the watch. books: of the log, without the round.
    drafts: that couldn't be stored; others than rounds and rows of a trip tell nothing. now_ms [UTC ms].
    """
    last = books.records[-1].seq
    if not any(d.kind in (ROUND, TRIP_ROW) for d in drafts):
        return memory, ()
    made, touched = learn(books, numbered(list(drafts), last + 1))
    if touched is None:
        return memory, ()
    first = int(made.readings.index_at(touched - 1)) + 1
    evidence = replace(observe(made, first).in_part(), suspects=None)
    bare = replace(evidence, trip={}, trip_u={})
    after = _raised(memory, bare, last, now_ms) or (memory, ())
    for kind in TRIP_KINDS:
        if kind in evidence.trip:
            one = replace(bare, trip={kind: evidence.trip[kind]}, trip_u={kind: evidence.trip_u[kind]})
            more = _raised(after[0], one, last, now_ms)
            after = after if more is None else (more[0], (*after[1], *more[1]))
    return after


def _raised(memory: watch.Watch, evidence: watch.Evidence, seq: int, now_ms: int,
            ) -> tuple[watch.Watch, tuple[watch.Transition, ...]] | None:
    """A step of the watch that does nothing but raise; None for another."""
    made, out = watch.step(memory, watch.Learned(seq, now_ms, evidence, cause=CAUSE))
    return (made, tuple(out)) if out and all(each.event in RAISES for each in out) else None
