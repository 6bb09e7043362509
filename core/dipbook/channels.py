"""Each limit's value against it, reading by reading, for review: how near it came, also where it never warned."""

from __future__ import annotations

from collections.abc import Iterator

from dipbook.alarms.step import beyond, counted, side, threshold
from dipbook.books import Books
from dipbook.exchange.times import rfc3339, rig_time
from dipbook.exchange.writing import write
from dipbook.limits import Limit, kind_words, sides
from dipbook.observations import observe
from dipbook.quantities import to_unit
from dipbook.watch import Evidence, applies, channel_of
from dipbook.watch.evidence import Column
from dipbook.watch.rows import sample_at
from dipbook.watch.state import watchable

HEADER = ("time", "rig time", "limit", "kind", "on", "value", "counts", "limit value", "unit", "of the limit", "beyond",
          "in force", "partial", "held against")

Cells = tuple[str | float | int | None, ...]


def table(books: Books) -> bytes:
    """The table as a CSV file (RFC 4180), one row for each reading that tells something of a limit, by time.

    books: of a log or of files; the limits are those of its rig now. value, counts and limit value are in the rig's
    units, value as it is told and as the books have it (a loss is below nothing), counts what of it is held against the
    limit: of drift without what is let pass, of all others the value. "of the limit" is counts ÷ limit value, toward
    the limit, 1 at it. A limit on overdue rounds has no value at a reading, and no row.
    """
    evidence = observe(books)
    found = [row for limit in sides(books.rig.limits) if watchable(limit) and limit.kind != "overdue"
             for row in _rows(books, limit, evidence)]
    return write(HEADER, (row for _, row in sorted(found, key=lambda one: one[0])))


def _rows(books: Books, limit: Limit, evidence: Evidence) -> Iterator[tuple[int, Cells]]:
    """(time [UTC ms], cells) of one limit."""
    column = evidence.column(channel_of(limit))
    if column is None:
        return
    symbol = books.rig.units["level" if limit.value_is == "level" else "volume"]
    symbol = "in" if symbol == "ft in" else symbol
    for row in column.known.nonzero()[0].tolist():
        t = int(column.t_ms[row])
        counts, top, reached = _against(limit, column, row)
        value, counts, top = (_rounded(to_unit(x, symbol)) for x in (float(column.value[row]), counts, top))
        yield t, (rfc3339(t), rig_time(t, books.rig.zone, seconds=True), limit.name, kind_words(limit.kind), limit.on,
                  value, counts, top, symbol, None if reached is None else _rounded(reached),
                  "yes" if beyond(limit, *counted(limit, sample_at(column, row))) else "no",
                  "yes" if applies(limit, evidence.activity[row]) else "no",
                  "yes" if column.partial[row] else "no", "" if column.said is None else column.said(row))


def _against(limit: Limit, column: Column, row: int) -> tuple[float, float, float | None]:
    """(what counts, the limit that it is held to by then, how much of the limit it is; None for a low level)."""
    counts, part = counted(limit, sample_at(column, row))
    reached = None if limit.kind == "low" else counts / (threshold(limit) * part)
    return side(limit) * counts, limit.value * part, reached


def _rounded(x: float) -> float:
    """To four places, and nothing is no less than 0."""
    return round(x, 4) + 0.0
