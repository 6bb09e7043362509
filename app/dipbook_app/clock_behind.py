"""A clock that is behind what the log holds: what that means for the watch, in words."""

from __future__ import annotations

from dipbook.books import Books
from dipbook_app.typed_times import clock, span_words

TOLERATED_MS = 90_000
"""Clocks are put right by seconds now and then: so much later than the clock a reading may be without a word."""


def words(books: Books, now_ms: int) -> str:
    """What to say while the log holds readings later than the clock; "" while it doesn't.

    books: of the log. now_ms: the desk's clock [UTC ms].
    """
    ends = books.readings.end_ms
    last = int(ends[-1]) if len(ends) else now_ms
    if last - now_ms <= TOLERATED_MS:
        return ""
    zone = books.rig.zone
    return (f"This computer's clock ({clock(now_ms, zone)}) is {span_words(last - now_ms)} behind the log's newest "
            f"reading ({clock(last, zone, now_ms=now_ms)}). All is kept, but what is gauged now is filed before that "
            "reading: until then the difference, gains, losses and overdue can't be relied on. Set the clock right, "
            "and watch by hand.")
