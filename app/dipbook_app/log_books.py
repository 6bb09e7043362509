"""Books of a log: for a watch, and for work on another thread of a span of it, or of all of it in few points."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from dipbook import importing, long_log, reports
from dipbook.books import Books, build
from dipbook.errors import DipbookError
from dipbook.exchange.times import DAY_MS
from dipbook.records import ROUND, SAMPLES, Record
from dipbook.reports import Overview, Span
from dipbook.store import Store

MOST = 4_000_000
"""Samples that are worked out at once (our choice: half a gigabyte): of twelve tanks, a reading a second, four days."""
EACH_MS = 10 * 60_000
"""A log with very many samples is told in few points so far apart [ms]."""
Step = Callable[[str], object]


def opened(log: Store, touched_ms: int | None = None) -> Books:
    """Books of a log for a watch: of one with very many samples with those that a watch needs. log: open. touched_ms:
    what was learned touches that time [UTC ms]."""
    count, newest = log.extent()
    if newest is None or count <= long_log.MANY:
        return build(log.records(leave_out_damaged=True))
    bare = log.records(leave_out_damaged=True, samples=False)
    return long_log.watched(bare, _fill(log), newest, touched_ms)


def over(log: Store, span: Callable[[Books], Span]) -> tuple[Books, Span]:
    """Books of a log that know a span, and the span. log: open. span: given what follows from the entries alone, which
    span that is. Raises DipbookError for one with too many samples."""
    if log.extent()[0] <= long_log.MANY:
        books = build(log.records())
        return books, span(books)
    bare = log.records(samples=False)
    asked = span(build(bare))
    return _of_span(log, bare, asked, log.with_samples), asked


@dataclass(frozen=True)
class LogBooks:
    """Where a thread gets books from. books: as they stand now, for that thread alone. log: they are of, open."""

    books: Books
    log: Store

    def over(self, span: Span) -> Books:
        """Books that know a span. Raises DipbookError for one with too many samples. span: of the log."""
        if self.books.whole is None:
            return self.books
        return _of_span(self.log, self._bare(), span, _fill(self.log))

    def held(self) -> importing.Held | None:
        """What gives the log's records with all their samples of a span; None where the books' records have them."""
        if self.books.whole is None:
            return None
        bare = self._bare()
        return lambda from_ms, to_ms: _fill(self.log)(bare, [(from_ms, to_ms)])

    def overview(self, step: Step) -> Overview | None:
        """The whole log in few points. step: called with a word on how far it is; what it raises ends the work."""
        _, newest = self.log.extent()
        if self.books.whole is None or newest is None:
            return reports.overview(self.books, step)
        step("the whole log")
        bare = self._bare()
        begun = min(r.t_ms for r in bare if r.kind in (ROUND, SAMPLES))
        times = np.arange(begun, newest + 1, EACH_MS, dtype=np.int64)
        return reports.overview(long_log.here_and_there(bare, _fill(self.log), times.tolist()), step, times)

    def _bare(self) -> list[Record]:
        return [replace(r, blocks=()) if r.blocks else r for r in self.books.records]


def _of_span(log: Store, bare: Sequence[Record], span: Span, fill: long_log.Fill) -> Books:
    count, _ = log.extent(span.from_ms, span.to_ms)
    if count > MOST:
        days = span.ms / DAY_MS * MOST / count
        raise DipbookError(f"The span holds {count / 1e6:.0f} million readings. Choose one of {days:.1f} days or "
                           "less: no more is worked out at once.")
    return long_log.over(bare, fill, span.from_ms, span.to_ms)


def _fill(log: Store) -> long_log.Fill:
    """A watch goes on without what is damaged."""
    return partial(log.with_samples, leave_out_damaged=True)
