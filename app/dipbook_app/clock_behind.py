"""A computer's clock that is behind what the log holds: what that means, in words."""

from __future__ import annotations

from dipbook.books import Books
from dipbook.records import UNWATCHED, WARNING
from dipbook_app.clock import Clock
from dipbook_app.typed_times import clock as clock_time
from dipbook_app.typed_times import span_words


def words(at: Clock, zone: str, reopened: bool) -> str:
    """What to say while the desk's clock goes on by its own count; "" while it follows the computer's.

    at: the desk's clock. zone: of the rig. reopened: it was so when the log was opened.
    """
    if not at.told:
        return ""
    ahead, now = span_words(at.ahead_ms), at.now_ms()
    computers = clock_time(at.computers_ms(), zone, now_ms=now)
    closed = " How long the log was closed before isn't known." if reopened else ""
    return (f"This computer's clock ({computers}) was set back behind what the log holds. Dipbook goes on by its own "
            f"count, now {clock_time(now, zone)}, so that no round is filed before an earlier one: its times are "
            f"{ahead} ahead of this computer's.{closed} Set the computer's clock right. If it is right now, correct "
            "the times of the rounds and entries that were given too late. Watch by hand meanwhile.")


def newest_ms(books: Books) -> int:
    """The latest time in a log at which something was gauged or done [UTC ms]. books: of it."""
    done = next(r.t_ms for r in reversed(books.eff.records) if r.kind not in (WARNING, UNWATCHED))
    return max([done, *(int(t) for t in books.readings.end_ms[-1:])])
