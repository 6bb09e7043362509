"""Reading records and series back from the tables."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import replace
from typing import Any

import numpy as np
from sqlalchemy import ColumnElement, Connection, and_, exists, or_, select

from dipbook.errors import StoreDamagedError
from dipbook.records import Block, Dip, Record
from dipbook.store import blocks, rows
from dipbook.store.schema import block, dip, record


def records(connection: Connection, *, after: int, known_at: int | None, span: tuple[int, int] | None,
            kinds: Collection[str] | None, leave_out_damaged: bool) -> tuple[Record, ...]:
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
    pieces: dict[int, list[Block]] = defaultdict(list)
    for row in connection.execute(
            select(block).where(block.c.source_seq.in_(seqs)).order_by(block.c.source_seq, block.c.place)):
        try:
            pieces[row.source_seq].append(blocks.unpack(rows.packed_of(row)))
        except StoreDamagedError as error:
            if not leave_out_damaged:
                raise StoreDamagedError(f"Record {row.source_seq}: {error}") from error
    return tuple(
        replace(rows.record_of(row, row.payload, dips.get(row.seq, ())),
                blocks=blocks.joined(pieces.get(row.seq, ())))
        for row in found)


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
