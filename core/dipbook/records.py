"""The log's records: appended, never altered. Everything else is computed from them.

A record has two times: ``t_ms``, when it happened, and ``seq``, the order in which it became known
(``learned_ms`` is the clock then). The books are ordered by ``t_ms``, the warnings by ``seq``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

EMPTY: Mapping[str, Any] = MappingProxyType({})

# Kinds of record that are not entries of the crew (those are in dipbook.entries.kinds).
RIG = "rig"                # payload: text (the TOML), digest, effective: "change" | "correction"
ROUND = "round"            # payload: observer, start_ms, end_ms, remark, complete; with dips
SAMPLES = "samples"        # an import or a sensor feed; payload: source, file, digest; with blocks
WARNING = "warning"        # a transition; payload: see dipbook.watch.Transition.payload
TRIP_ROW = "trip row"      # of a trip's sheet; payload: what, stand, bit_depth_m, strokes, from; with or without dips
ROWS = "rows"              # a channel of samples: t the time of a row's last dip, v of its first [UTC ms]
UNWATCHED = "not watched"  # payload: from_ms, to_ms, cause ("closed", "crashed", "clock step", "off")


@dataclass(frozen=True, slots=True)
class Dip:
    """One gauging of one tank.

    tank: the tank's name.
    t_ms: when it was gauged [UTC ms].
    as_typed: what the person wrote.
    level_m: reading in the tank's own gauge datum (innage or outage as the rig says) [m], or None.
    volume_m3: a volume given instead of a level [m3], or None.
    t_half_ms: half-width of the time's uncertainty [ms].
    resolution_m: half-width of this dip's level error [m], or None for the tank's own.
    flag: "" or one of the words of ``dipbook.tanks.gauging.FLAGS``.
    unchanged: gauged and found the same (``as_typed`` says so), as distinct from not gauged.
    """

    tank: str
    t_ms: int
    as_typed: str
    level_m: float | None = None
    volume_m3: float | None = None
    t_half_ms: int = 0
    resolution_m: float | None = None
    flag: str = ""
    unchanged: bool = False


@dataclass(frozen=True, slots=True)
class Block:
    """A run of samples of one channel, as imported or sensed.

    channel: ``tank:NAME:level`` [m, in the tank's datum] or ``tank:NAME:volume`` [m3].
    t_ms: sample times, int64, rising [UTC ms]; v: values, float64, same length.
    """

    channel: str
    t_ms: Any
    v: Any


@dataclass(frozen=True, slots=True)
class Draft:
    """A record before the store has numbered it. Fields as in Record."""

    kind: str
    t_ms: int
    learned_ms: int
    author: str = ""
    payload: Mapping[str, Any] = field(default_factory=dict)
    dips: tuple[Dip, ...] = ()
    blocks: tuple[Block, ...] = ()
    supersedes: str | None = None
    reason: str = ""
    uid: str = ""
    offset_min: int = 0
    payload_version: int = 1


@dataclass(frozen=True, slots=True)
class Record:
    """One line of the log.

    seq: order of learning, 1, 2, …; uid: unique text id; station: who wrote it (a desk's name).
    kind: see above and dipbook.entries.kinds; t_ms: when it happened; learned_ms: when it was learned.
    offset_min: the rig's UTC offset in force; author: who; supersedes: uid of the record that this one
    replaces, or None; reason: why. payload: plain JSON values, SI. prev_hash, hash: the chain ("" outside a store).
    """

    seq: int
    uid: str
    kind: str
    t_ms: int
    learned_ms: int
    author: str = ""
    payload: Mapping[str, Any] = field(default_factory=lambda: EMPTY)
    dips: tuple[Dip, ...] = ()
    blocks: tuple[Block, ...] = ()
    supersedes: str | None = None
    reason: str = ""
    offset_min: int = 0
    station: str = ""
    payload_version: int = 1
    prev_hash: str = ""
    hash: str = ""


def numbered(drafts: list[Draft] | tuple[Draft, ...], first_seq: int = 1) -> tuple[Record, ...]:
    """Number drafts as a store would, without one (headless runs and tests).

    drafts: in the order of learning; first_seq: the first number [-]. A draft without a uid gets ``r<seq>``.
    """
    return tuple(
        Record(seq=n, uid=d.uid or f"r{n}", kind=d.kind, t_ms=d.t_ms, learned_ms=d.learned_ms, author=d.author,
               payload=d.payload, dips=d.dips, blocks=d.blocks, supersedes=d.supersedes, reason=d.reason,
               offset_min=d.offset_min, payload_version=d.payload_version)
        for n, d in enumerate(drafts, first_seq)
    )
