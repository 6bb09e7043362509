"""What the watch has to be told of new records, besides their readings."""

from __future__ import annotations

from collections.abc import Sequence

from dipbook import watch
from dipbook.books import Books
from dipbook.records import ROUND, SAMPLES, TRIP_ROW, Record


def struck_from(records: Sequence[Record], books: Books) -> int | None:
    """The earliest time of a reading that ``records`` strike or replace [UTC ms], None if they touch none.

    books: as they were before.
    """
    by_uid = {r.uid: r for r in books.records}
    of_levels = (ROUND, TRIP_ROW, SAMPLES)
    times = [min([d.t_ms for d in old.dips] or [old.t_ms]) for r in records
             if r.supersedes and (old := by_uid.get(r.supersedes)) is not None and old.kind in of_levels]
    times += [r.t_ms for r in records if r.kind == "void" and not r.supersedes]
    return min(times, default=None)


def doing(books: Books, memory: watch.Watch, now_ms: int) -> tuple[watch.Event, ...]:
    """The event for an activity that the books know of and the watch doesn't: no reading has been taken since.

    books: with the entry. memory: the watch's, its readings told. now_ms [UTC ms].
    """
    activity, since = books.activities.at(now_ms)
    if activity == watch.activity_now(memory):
        return ()
    return (watch.Doing(books.records[-1].seq, now_ms, activity, now_ms if since is None else since),)


def gaps(books: Books, memory: watch.Watch, now_ms: int) -> tuple[watch.Event, ...]:
    """Events for hours not watched that the books know of and the watch doesn't, also where an entry was struck out.

    memory: the watch's. now_ms: when a watch goes on whose "off" was struck out [UTC ms].
    """
    off = next((a for a, b, _ in books.unwatched if b is None), None)
    if memory.off_from is not None and off is None:
        ends = [b for a, b, _ in books.unwatched if a == memory.off_from and b is not None]
        return (watch.WatchedAgain(ends[0] if ends else now_ms),)
    told = max((b for _, b in memory.gaps), default=None)
    events: list[watch.Event] = [watch.Unwatched(a, b) for a, b, _ in books.unwatched
                                 if b is not None and b > a and (told is None or b > told)]
    if off is not None and memory.off_from is None:
        events.append(watch.Unwatched(off))
    return tuple(events)
