"""Which records count: the ones that nothing supersedes and nothing strikes out."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from dipbook.records import Record


@dataclass(frozen=True, slots=True)
class StrikeOut:
    """Readings struck out. tank: name, or "" for all; from_ms, to_ms: span, both ends included [UTC ms].

    seq: of the void. It strikes what was known then: a reading entered again afterwards counts.
    """

    tank: str
    from_ms: int
    to_ms: int
    seq: int


@dataclass(frozen=True)
class Effective:
    """The records that count, by time.

    records: by time; at one time in the order in which they were first logged, so that a correction doesn't move an
    entry behind another one of its minute. superseded: uid of a record that doesn't count -> uid of the one that
    replaced it.
    strikes: readings struck out.
    """

    records: tuple[Record, ...]
    superseded: Mapping[str, str]
    strikes: tuple[StrikeOut, ...]


def effective(records: Sequence[Record]) -> Effective:
    """Sort out supersession. records: any order; those later in ``seq`` win.

    Of two records that replace the same one, only the later counts: else one transfer would be booked twice.
    """
    by_seq = sorted(records, key=lambda r: r.seq)
    superseded: dict[str, str] = {}
    for r in by_seq:
        if not r.supersedes:
            continue
        earlier = superseded.get(r.supersedes)
        if earlier is not None:
            superseded.setdefault(earlier, r.uid)
        superseded[r.supersedes] = r.uid
    strikes = tuple(
        StrikeOut(str(r.payload.get("tank") or ""), r.t_ms, int(r.payload.get("end_ms") or r.t_ms), r.seq)
        for r in by_seq if r.kind == "void" and not r.supersedes and r.uid not in superseded
    )
    counting = [r for r in by_seq if r.uid not in superseded and r.kind != "void"]
    by_uid = {r.uid: r for r in by_seq}

    def first_logged(r: Record) -> int:
        chain = {r.uid}
        while r.supersedes in by_uid and r.supersedes not in chain:
            r = by_uid[r.supersedes]
            chain.add(r.uid)
        return r.seq

    return Effective(tuple(sorted(counting, key=lambda r: (r.t_ms, first_logged(r), r.seq))), superseded, strikes)


def with_readings(of: Effective, records: Sequence[Record]) -> Effective:
    """What counts, with records that replace and strike out nothing. of: what counts without them. records: that count,
    learned after all of it."""
    counting = list(of.records)
    for r in sorted(records, key=lambda r: r.seq):
        counting.insert(bisect_right(counting, r.t_ms, key=lambda other: other.t_ms), r)
    return replace(of, records=tuple(counting))
