"""Books of a log that holds more samples than a program should keep in memory: all of what is asked for, and of the
rest what that hangs on.

A difference hangs on its zero and on what the terms are counted from, however long ago: what the tanks held at each
zero, each change of the line-up, of valves and of the rig, at each row of a trip and at each end of a strike-out. The
samples next to these instants are read, and those of the connections that a person accepted. At all other times before
the span that is asked for the books say that they don't know (``Books.whole``).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence

from dipbook import balance, composing, flowback, watch
from dipbook.books import Books, build
from dipbook.books.books import ZERO
from dipbook.exchange.times import DAY_MS, HOUR_MS
from dipbook.flowback.curves import BEFORE_MS
from dipbook.flowback.usual import AFTER_MS
from dipbook.records import RIG, TRIP_ROW, Record
from dipbook.some_samples import Spans
from dipbook.terms.system import ACTIVE_SYSTEM, ALL_SURFACE
from dipbook.time_spans import merged

MANY = 1_000_000
"""Samples up to which a log is held whole: of twelve tanks, a reading a second, over most of a day."""
FARTHEST_MS = 2 * DAY_MS
"""What is corrected farther back isn't judged anew by a watch (our choice: so much fits into memory)."""
LEARNING_MS = 6 * HOUR_MS
"""Before a zero the noise of the gauges is learned from so long (our choice)."""
BEGAN, LAST = -(2**62), 2**62
"""Before and after any time."""
HANGS_ON = frozenset((ZERO, "line-up", "valve", "void", "trip", "trip end", TRIP_ROW, RIG))
"""Kinds of entry at whose time it matters what the tanks held."""
NEVER_MORE = 8
"""Rounds of reading more: each is for a zero that was in force only once a tank had been read at all."""

Fill = Callable[[Sequence[Record], Spans], Sequence[Record]]
"""Puts into records the samples that belong to some spans (``dipbook.some_samples``)."""


def watched(bare: Sequence[Record], fill: Fill, newest_ms: int, touched_ms: int | None = None) -> Books:
    """Books for a watch that goes on: whole for a day before the newest reading, since the last zero and since the
    oldest warning that is open.

    bare: the log's records without samples. fill: of the log. newest_ms: its newest sample [UTC ms]. touched_ms: what
    was learned touches that time [UTC ms]: whole since then, if that isn't too long ago (``FARTHEST_MS``).
    """
    books = build(bare)
    begin = since(books, newest_ms)
    if touched_ms is not None:
        begin = min(begin, max(touched_ms, newest_ms - FARTHEST_MS) - HOUR_MS)
    return _books(books, fill, ((begin, LAST),))


def outgrown(books: Books) -> bool:
    """True if a watch needs much less than what its books hold by now. books: of a log that goes on."""
    held = sum(len(s) for s in books.dips.values())
    if held <= MANY:
        return False
    ends = books.readings.end_ms
    begin = int(ends[0]) if books.whole is None else books.whole[-1][0]
    return since(books, int(ends[-1])) - begin > DAY_MS


def over(bare: Sequence[Record], fill: Fill, from_ms: int, to_ms: int) -> Books:
    """Books whole over a span, and an hour on either side of it. bare, fill: as of ``watched``. from_ms, to_ms: the
    span [UTC ms]."""
    return _books(build(bare), fill, ((from_ms - HOUR_MS, to_ms + HOUR_MS),))


def here_and_there(bare: Sequence[Record], fill: Fill, at_ms: Sequence[int]) -> Books:
    """Books that know single times. bare, fill: as of ``watched``. at_ms: the times [UTC ms]."""
    return _books(build(bare), fill, tuple((t, t) for t in at_ms))


def since(books: Books, newest_ms: int) -> int:
    """From when on a watch needs all samples [UTC ms]. books: of the log, with or without samples. newest_ms: the time
    of its newest sample [UTC ms]."""
    newest = max([newest_ms, *(int(t) for t in books.readings.end_ms[-1:])])
    zero = max((r.t_ms for r in books.eff.records if r.kind == ZERO and r.t_ms <= newest), default=BEGAN)
    open_now = watch.resume(books.rig.limits, books.rig_seq, composing.journal(books.records)[0]).open_slots()
    raised = min((s.alarm.raised_t for s in open_now if s.alarm.raised_t is not None), default=newest)
    return min(newest - DAY_MS - HOUR_MS, zero - LEARNING_MS, raised - HOUR_MS)


def _books(bare: Books, fill: Fill, asked: tuple[tuple[int, int], ...]) -> Books:
    whole = tuple(merged([*_accepted(bare), *asked]))
    spans = {(BEGAN, BEGAN)} | {(int(t), int(t)) for r in bare.records if r.kind in HANGS_ON
                                for t in (r.t_ms, r.payload.get("end_ms")) if t is not None}
    for _ in range(NEVER_MORE):
        made = build(fill(bare.records, [*sorted(spans), *whole]), whole)
        more = _rests_on(made) - spans
        if not more:
            break
        spans |= more
    return made


def _accepted(books: Books) -> list[tuple[int, int]]:
    """The spans of the connections that a person accepted [UTC ms]."""
    said = flowback.said_of(books)
    return [(s.off_ms - BEFORE_MS, max(s.ends_ms, s.on_ms or 0) + AFTER_MS)
            for s in flowback.stops(books) if s.off_ms in said and said[s.off_ms].accepted]


def _rests_on(books: Books) -> set[tuple[int, int]]:
    """Every time that a difference is counted from [UTC ms], also while nobody had zeroed it; and all since it was
    asked for, where that waited until the tanks were known: with more samples it may have waited less."""
    asked = sorted({*(z.asked_ms for z in books.zeros), *(r.t_ms for r in books.line.routes)})
    found: set[tuple[int, int]] = set()
    if books.taken is not None and books.taken.t_ms is not None:
        found |= {(books.taken.t_ms, books.taken.t_ms), (int(books.readings.start_ms[0]), books.taken.t_ms)}
    for name in (ACTIVE_SYSTEM, ALL_SURFACE, *books.dips):
        before = BEGAN
        for x in balance.starts(books, name):
            since = next((t for t in asked[bisect_right(asked, before):] if t <= x.zero_ms), x.zero_ms)
            found |= {(x.zero_ms, x.zero_ms), (x.base_ms, x.base_ms), (since, x.zero_ms)}
            before = x.zero_ms
    return {(a, b) for a, b in found if b - a <= DAY_MS}
