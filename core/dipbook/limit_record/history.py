"""Every value that each limit had: who set it, why, from when until when, from the rig texts that the log adopted."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from dipbook.limits import Limit
from dipbook.records import RIG, Record
from dipbook.rig.changes import limit_in_words
from dipbook.rig.document import parse
from dipbook.rig.model import Rig
from dipbook.rig.writing import same_limit

WHO_AND_WHY = ("set_by", "reason", "since")
"""Fields of a limit that say nothing of what it warns of."""
SHELVED, OFF_THE_SHELF = "shelved", "off the shelf"
OUT_OF_SERVICE, BACK_IN_SERVICE = "out of service", "back in service"
TEXTS_KEPT = 256
"""Rig texts of which the limits are kept once they have been read: reading one takes some hundredths of a second."""


@dataclass(frozen=True, slots=True)
class Stood:
    """One limit as it stood for a time.

    limit: as it was. from_ms: since when [UTC ms]. by, reason: of the change of the rig that brought it; where a whole
    rig file was adopted the limit's own set_by and reason may be others. until_ms: until when [UTC ms], None while it
    is in force. ended_by, ended_reason: of the change that ended it, "" while it is in force. withdrawn: it ended
    without another in its place.
    """

    limit: Limit
    from_ms: int
    by: str
    reason: str
    until_ms: int | None = None
    ended_by: str = ""
    ended_reason: str = ""
    withdrawn: bool = False


@dataclass(frozen=True, slots=True)
class AsideChange:
    """One limit set aside, or taken up again. at_ms: when [UTC ms]. name: of the limit. how: SHELVED, OFF_THE_SHELF,
    OUT_OF_SERVICE or BACK_IN_SERVICE. by, reason: who and why, by "" where it came by itself. instead: what was watched
    in its place. until_ms: when a shelf was to end by itself [UTC ms], None for out of service; once: also with the
    condition."""

    at_ms: int
    name: str
    how: str
    by: str
    reason: str
    instead: str = ""
    until_ms: int | None = None
    once: bool = False


@dataclass(frozen=True, slots=True)
class Change:
    """One limit set, changed or withdrawn. at_ms: from when on [UTC ms]. name: of the limit. by, reason: who and why,
    "" where nobody said. before, after: the limit, None where there was or is none of that name. words: what differs, a
    sentence each."""

    at_ms: int
    name: str
    by: str
    reason: str
    before: Limit | None
    after: Limit | None
    words: tuple[str, ...] = ()


def history(records: Iterable[Record]) -> Mapping[str, tuple[Stood, ...]]:
    """Limit's name -> all that it was, oldest first; limits that were withdrawn are in it too.

    records: of the log, in any order, those that were corrected included: what stood then stood, and a correction of
    the rig changes the limits from when it was learned.
    """
    found: dict[str, list[Stood]] = {}
    before: Mapping[str, Limit] = {}
    for record, limits in replayed(records):
        at_ms = record.t_ms if record.supersedes is None else record.learned_ms
        for name in dict.fromkeys((*before, *limits)):
            was, now = before.get(name), limits.get(name)
            if was is not None and now is not None and same_limit(was, now):
                continue
            if was is not None:
                found[name][-1] = replace(found[name][-1], until_ms=at_ms, ended_by=record.author,
                                          ended_reason=record.reason, withdrawn=now is None)
            if now is not None:
                found.setdefault(name, []).append(Stood(now, at_ms, record.author, record.reason))
        before = limits
    return {name: tuple(stood) for name, stood in found.items()}


def changes(stood: Mapping[str, Sequence[Stood]], rig: Rig) -> tuple[Change, ...]:
    """Every change of a limit, the oldest first. stood: the history. rig: for the units of the words.

    Who and why are those of the change of the rig; where it names none, the limit's own, which no limit is without.
    """
    found: list[Change] = []
    for name, each in stood.items():
        was: Stood | None = None
        for now in each:
            before = None if was is None or was.withdrawn else was.limit
            found.append(Change(now.from_ms, name, now.by or now.limit.set_by, now.reason or now.limit.reason, before,
                                now.limit, differing(before, now.limit, rig)))
            if now.withdrawn and now.until_ms is not None:
                found.append(Change(now.until_ms, name, now.ended_by, now.ended_reason, now.limit, None,
                                    differing(now.limit, None, rig)))
            was = now
    return tuple(sorted(found, key=lambda change: change.at_ms))


def differing(before: Limit | None, after: Limit | None, rig: Rig) -> tuple[str, ...]:
    """What differs between two states of a limit, a sentence each; who set it, why and since when are left aside.

    before, after: the limit, None for none. rig: for the units.
    """
    if before is not None and after is not None:
        before = replace(before, **{key: getattr(after, key) for key in WHO_AND_WHY})
    return limit_in_words(before, after, rig)


def replayed(records: Iterable[Record]) -> Iterator[tuple[Record, Mapping[str, Limit]]]:
    """Each rig text of a log as it was learned, with the limits in force then by name. records: of the log, in any
    order. At one time a correction keeps the place of what it corrects, as it does in the books."""
    in_force: dict[str, Record] = {}
    place: dict[str, int] = {}
    heir: dict[str, str] = {}
    for record in sorted((r for r in records if r.kind == RIG), key=lambda r: r.seq):
        place[record.uid] = record.seq
        if record.supersedes is not None:
            in_force.pop(heir.get(record.supersedes, record.supersedes), None)
            heir[record.supersedes] = record.uid
            place[record.uid] = place.get(record.supersedes, record.seq)
        in_force[record.uid] = record
        newest = max(in_force.values(), key=lambda r: (r.t_ms, place[r.uid]))
        yield record, {limit.name: limit for limit in limits_of(newest)}


def limits_of(record: Record) -> tuple[Limit, ...]:
    """The limits of one rig text of the log. record: of the kind "rig". Raises RigFileError if it can't be read."""
    return _limits_of(str(record.payload["text"]))


@lru_cache(maxsize=TEXTS_KEPT)
def _limits_of(text: str) -> tuple[Limit, ...]:
    return parse(text, "rig").rig.limits
