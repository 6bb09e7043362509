"""The hours of a span in which nothing watched, and why."""

from __future__ import annotations

from dataclasses import dataclass

from dipbook import balance
from dipbook.books import Books
from dipbook.entries.words import CAUSES
from dipbook.reports.spans import Span


@dataclass(frozen=True, slots=True)
class Unwatched:
    """One stretch. from_ms, to_ms: [UTC ms]. why: in words."""

    from_ms: int
    to_ms: int
    why: str

    @property
    def ms(self) -> int:
        """How long it is [ms]."""
        return self.to_ms - self.from_ms


def unwatched(books: Books, span: Span) -> tuple[Unwatched, ...]:
    """The stretches of a span in which the difference wasn't watched: the watch was off, the program closed, the clock
    changed, or the returns went where the books can't follow them. books: of the log. span."""
    turns = {span.from_ms, *(int(t) for t in books.activities.t_ms), *(r.t_ms for r in books.line.routes)}
    turns |= {t for trip in books.trips for t in (trip.begun_ms, trip.end_ms) if t is not None}
    turns |= {t for a, b, _ in books.unwatched for t in (a, b) if t is not None}
    marks = sorted(t for t in turns if span.from_ms <= t < span.to_ms)
    names, notes = balance.watched(books, marks)
    found: list[Unwatched] = []
    for t, end, name, note in zip(marks, [*marks[1:], span.to_ms], names, notes, strict=True):
        if name != balance.NOT_WATCHED:
            continue
        why = CAUSES.get(note, note)
        if found and found[-1].to_ms == t and found[-1].why == why:
            found[-1] = Unwatched(found[-1].from_ms, end, why)
        else:
            found.append(Unwatched(t, end, why))
    return tuple(found)
