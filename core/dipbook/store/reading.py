"""Reading records and series back from the tables."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from sqlalchemy import ColumnElement, Connection, and_, exists, func, or_, select

from dipbook.errors import StoreDamagedError
from dipbook.records import ROWS, SAMPLES, Block, Dip, Record
from dipbook.some_samples import Spans, only, pieces, times
from dipbook.store import blocks, rows
from dipbook.store.schema import block, dip, record

AT_ONCE = 500
"""Values in one IN (...): databases limit them."""


def records(connection: Connection, *, after: int, known_at: int | None, span: tuple[int, int] | None,
            kinds: Collection[str] | None, leave_out_damaged: bool, samples: bool = True) -> tuple[Record, ...]:
    """Records in order of seq; arguments as ``Store.records``."""
    wanted = _wanted(after, known_at, span, kinds)
    found = connection.execute(select(record).where(wanted).order_by(record.c.seq)).all()
    if not found:
        return ()
    seqs = select(record.c.seq).where(wanted)
    dips: dict[int, list[Dip]] = defaultdict(list)
    for row in connection.execute(
            select(dip).where(dip.c.record_seq.in_(seqs)).order_by(dip.c.record_seq, dip.c.place)):
        dips[row.record_seq].append(rows.dip_of(row))
    got = _pieces(connection, block.c.source_seq.in_(seqs), leave_out_damaged) if samples else {}
    made = (rows.record_of(row, row.payload, dips.get(row.seq, ())) for row in found)
    return tuple(replace(r, blocks=blocks.joined(got[r.seq])) if r.seq in got else r for r in made)


def with_samples(connection: Connection, bare: Sequence[Record], spans: Spans, leave_out_damaged: bool,
                 ) -> tuple[Record, ...]:
    """Records with the samples that belong to some spans; arguments as ``Store.with_samples``."""
    headings: dict[int, dict[str, list[Any]]] = defaultdict(lambda: defaultdict(list))
    for row in connection.execute(
            select(block.c.source_seq, block.c.place, block.c.channel, block.c.t0, block.c.t1, block.c.n)
            .order_by(block.c.source_seq, block.c.place)):
        headings[row.source_seq][row.channel].append(row)

    def filled(r: Record) -> Record:
        got = _samples_of(connection, r.seq, headings[r.seq], spans, leave_out_damaged)
        return only(replace(r, blocks=blocks.joined(got)), spans)
    return tuple(filled(r) if r.seq in headings else r for r in bare)


def _samples_of(connection: Connection, seq: int, channels: Mapping[str, Sequence[Any]], spans: Spans,
                leave_out_damaged: bool) -> list[Block]:
    """The blocks of one record that hold what the spans ask for: of each tank, then the rows that these are of."""
    tanks = {name: of for name, of in channels.items() if name != ROWS}
    got = _read(connection, seq, _places(tanks, spans), leave_out_damaged)
    if got and ROWS in channels:
        at = times(only(Record(seq, "", SAMPLES, 0, 0, blocks=blocks.joined(got)), spans).blocks)
        got += _read(connection, seq, _places({ROWS: channels[ROWS]}, [(t, t) for t in at.tolist()]), leave_out_damaged)
    return got


def _pieces(connection: Connection, wanted: ColumnElement[bool], leave_out_damaged: bool) -> dict[int, list[Block]]:
    """The samples of blocks, by record."""
    got: dict[int, list[Block]] = defaultdict(list)
    for row in connection.execute(select(block).where(wanted).order_by(block.c.source_seq, block.c.place)):
        try:
            got[row.source_seq].append(blocks.unpack(rows.packed_of(row)))
        except StoreDamagedError as error:
            if not leave_out_damaged:
                raise StoreDamagedError(f"Record {row.source_seq}: {error}") from error
    return got


def _places(channels: Mapping[str, Sequence[Any]], spans: Spans) -> list[int]:
    """Places of the blocks of some channels of a record that hold what the spans ask for."""
    wanted: list[int] = []
    for of in channels.values():
        t0, t1, n, place = np.array([(h.t0, h.t1, h.n, h.place) for h in of], dtype=np.int64).T
        wanted += place[pieces(t0, t1, n, spans)].tolist()
    return sorted(wanted)


def _read(connection: Connection, seq: int, places: Sequence[int], leave_out_damaged: bool) -> list[Block]:
    """Some blocks of a record, in order."""
    got: list[Block] = []
    for first in range(0, len(places), AT_ONCE):
        wanted = and_(block.c.source_seq == seq, block.c.place.in_(places[first:first + AT_ONCE]))
        got += _pieces(connection, wanted, leave_out_damaged)[seq]
    return got


def _wanted(after: int, known_at: int | None, span: tuple[int, int] | None,
            kinds: Collection[str] | None) -> ColumnElement[bool]:
    parts: list[ColumnElement[bool]] = [record.c.seq > int(after)]
    if known_at is not None:
        parts.append(record.c.seq <= int(known_at))
    if kinds is not None:
        parts.append(record.c.kind.in_(sorted(kinds)))
    if span is not None:
        t0, t1 = int(span[0]), int(span[1])
        parts.append(or_(
            record.c.t_ms.between(t0, t1),
            exists().where(dip.c.record_seq == record.c.seq, dip.c.t_ms.between(t0, t1)),
            exists().where(block.c.source_seq == record.c.seq, block.c.t0 <= t1, block.c.t1 >= t0)))
    return and_(*parts)


def extent(connection: Connection, from_ms: int, to_ms: int) -> tuple[int, int | None]:
    """(about how many samples the log holds in a span, the time of the newest [UTC ms], None without one)."""
    inside = and_(block.c.t1 >= int(from_ms), block.c.t0 <= int(to_ms))
    count, newest = connection.execute(
        select(func.coalesce(func.sum(block.c.n), 0), func.max(block.c.t1)).where(inside)).one()
    return int(count), None if newest is None else int(newest)


def series(connection: Connection, channel: str, t0: int, t1: int, known_at: int | None) -> tuple[Any, Any]:
    """Samples of one channel in order of time; arguments as ``Store.series``."""
    later = record.alias("later")
    replaced = exists().where(later.c.supersedes == record.c.uid)
    query = (select(block).join(record, record.c.seq == block.c.source_seq)
             .where(block.c.channel == channel, block.c.t0 <= int(t1), block.c.t1 >= int(t0)))
    if known_at is not None:
        query = query.where(record.c.seq <= int(known_at))
        replaced = replaced.where(later.c.seq <= int(known_at))
    query = query.where(~replaced).order_by(block.c.source_seq, block.c.place)
    found = [blocks.unpack(rows.packed_of(row)) for row in connection.execute(query)]
    if not found:
        return np.empty(0, np.int64), np.empty(0, np.float64)
    t = np.concatenate([b.t_ms for b in found])
    v = np.concatenate([b.v for b in found])
    inside = (t >= t0) & (t <= t1)
    t, v = t[inside], v[inside]
    order = np.argsort(t, kind="stable")  # stable: at one time the sample learned last stays last
    t, v = t[order], v[order]
    last = np.append(t[1:] != t[:-1], True) if len(t) else np.empty(0, bool)
    return t[last], v[last]
