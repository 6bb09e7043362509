"""Which records count: the ones that nothing supersedes and nothing strikes out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from dipbook.records import Record


@dataclass(frozen=True, slots=True)
class StrikeOut:
    """Readings struck out. tank: name, or "" for all; from_ms, to_ms: span, both ends included [UTC ms]."""

    tank: str
    from_ms: int
    to_ms: int


@dataclass(frozen=True)
class Effective:
    """The records that count, by time.

    records: sorted by (t_ms, seq). superseded: uid of a record that doesn't count -> uid of the one that replaced it.
    strikes: readings struck out.
    """

    records: tuple[Record, ...]
    superseded: Mapping[str, str]
    strikes: tuple[StrikeOut, ...]


def effective(records: Sequence[Record]) -> Effective:
    """Sort out supersession. records: any order; those later in ``seq`` win."""
    by_seq = sorted(records, key=lambda r: r.seq)
    superseded = {r.supersedes: r.uid for r in by_seq if r.supersedes}
    strikes = tuple(
        StrikeOut(str(r.payload.get("tank") or ""), r.t_ms, int(r.payload.get("end_ms") or r.t_ms))
        for r in by_seq if r.kind == "void" and not r.supersedes and r.uid not in superseded
    )
    counting = [r for r in by_seq if r.uid not in superseded and r.kind != "void"]
    return Effective(tuple(sorted(counting, key=lambda r: (r.t_ms, r.seq))), superseded, strikes)
