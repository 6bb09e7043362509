"""Is the log what was written? Every record, dip and block is read and its seal computed again."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import Any

from sqlalchemy import Connection, Engine, Row, Text, cast, func, select, type_coerce
from sqlalchemy.exc import SQLAlchemyError

from dipbook.errors import StoreDamagedError
from dipbook.findings import Finding
from dipbook.records import Dip
from dipbook.store import blocks, chain, rows, sqlite
from dipbook.store.schema import block, dip, log_head, meta, record

STRIDE = 500  # records looked at together, so that a long log needn't fit in memory


def verify(engine: Engine, file: str) -> tuple[Finding, ...]:
    """Check the file, the protection, the numbering, the chain and every block.

    engine: of the log. file: its name, for the findings. Codes: file_damaged, protection_missing,
    missing_seq, head_wrong, chain_broken, record_altered, block_damaged, loose_row. Empty: nothing wrong was
    found.

    It shows alterations by whoever doesn't seal the whole log anew. Against that, compare the last hash with
    one noted elsewhere.
    """
    found: list[Finding] = []
    try:
        with engine.connect() as connection, connection.begin():
            for part in (_file, _numbering, _chain):
                found.extend(_finding(file, code, what) for code, what in part(connection))
    except (SQLAlchemyError, UnicodeDecodeError) as error:  # the second, of a text that is no text any more
        inner = getattr(error, "orig", None) or error
        found.append(_finding(file, "file_damaged", f"Reading stopped here: {inner}. "
                              "What comes after was not checked. Go on from a backup."))
    return tuple(found)


def _finding(file: str, code: str, what: str) -> Finding:
    return Finding(what, code=code, severity="error", file=file)


def _file(connection: Connection) -> Iterator[tuple[str, str]]:
    for said in sqlite.integrity(connection):
        yield "file_damaged", f"The database says of its file: {said}. Go on from a backup."
    for said in sqlite.loose_rows(connection):
        yield "loose_row", f"{said[:1].upper()}{said[1:]}."
    wanting = sqlite.triggers_wanting(connection)
    if wanting:
        yield "protection_missing", ("The log's protection against alteration was taken off "
                                     f"({', '.join(wanting)}). Opening it for writing puts it back.")


def _numbering(connection: Connection) -> Iterator[tuple[str, str]]:
    head = connection.execute(select(log_head.c.seq)).scalar_one_or_none()
    last = connection.execute(select(func.max(record.c.seq))).scalar_one() or 0
    if head != last:
        yield "head_wrong", (f"The last record is {last}, but {head} had been given. "
                             "Records at the end were taken out or added from outside.")
    before = 0
    for seq in connection.execute(select(record.c.seq).order_by(record.c.seq)).scalars():
        if seq != before + 1:
            many = seq > before + 2
            gone = f"Records {before + 1} to {seq - 1} are" if many else f"Record {before + 1} is"
            yield "missing_seq", f"{gone} missing."
        before = seq


def _chain(connection: Connection) -> Iterator[tuple[str, str]]:
    header = {row.key: row.value for row in connection.execute(select(meta.c.key, meta.c.value))}
    link = chain.first_link(header)
    before = 0
    for chunk in _chunks(connection):
        low, high = chunk[0].seq, chunk[-1].seq
        dips: dict[int, list[Dip]] = defaultdict(list)
        for row in connection.execute(select(dip).where(dip.c.record_seq.between(low, high))
                                      .order_by(dip.c.record_seq, dip.c.place)):
            dips[row.record_seq].append(rows.dip_of(row))
        digests: dict[int, list[str]] = defaultdict(list)
        for row in connection.execute(select(block).where(block.c.source_seq.between(low, high))
                                      .order_by(block.c.source_seq, block.c.place)):
            digests[row.source_seq].append(row.sha256)
            try:
                blocks.unpack(rows.packed_of(row))
            except StoreDamagedError as error:
                yield "block_damaged", f"Record {row.source_seq}, block {row.place}: {error}"
        for row in chunk:
            if row.seq == before + 1 and row.prev_hash != link:
                yield "chain_broken", (f"The chain is broken at record {row.seq}: it was not written after "
                                       + (f"record {before} as it stands." if before else "this header."))
            if _hash(row, dips.get(row.seq, []), digests.get(row.seq, [])) != row.hash:
                yield "record_altered", f"Record {row.seq} ({row.kind}) is not what was written."
            link, before = row.hash, row.seq


def _chunks(connection: Connection) -> Iterator[Sequence[Any]]:
    # The payload is fetched as text, as it may no longer be JSON.
    columns = [c for c in record.columns if c is not record.c.payload]
    payload = type_coerce(cast(record.c.payload, Text), Text).label("payload")
    low = None
    while True:
        query = select(*columns, payload).order_by(record.c.seq).limit(STRIDE)
        chunk = connection.execute(query if low is None else query.where(record.c.seq > low)).all()
        if not chunk:
            return
        yield chunk
        low = chunk[-1].seq


def _hash(row: Row[Any], dips: list[Dip], digests: list[str]) -> str:
    """The seal of what stands there now; "" if it can't be a record at all."""
    try:
        return chain.record_hash(rows.record_of(row, json.loads(row.payload), dips), digests)
    except (ValueError, TypeError):
        return ""
