"""Entries of a log to an entries file that reads back as the same entries."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from dipbook.entries.fields import MEASURES
from dipbook.entries.kinds import BY_NAME, Field
from dipbook.exchange import writing
from dipbook.exchange.entries import FIELD_DIMENSIONS, VOID, WHO_AND_WHEN
from dipbook.exchange.times import rfc3339
from dipbook.quantities import DIMENSIONS
from dipbook.records import Record

FOLLOWS = {("addition", "volume"): "mass_kg", ("boat", "volume"): "before_m"}
"""Kind and field -> the payload's key from which the field follows, where nobody typed it."""


def written(records: Iterable[Record], decimal: str) -> bytes:
    """An entries file of the entries of ``records``; other records are left out, and voids of what is left out.

    records: in the log's order. decimal: the rig's decimal sign. What was typed is written as it was typed, with the
    unit that a bare number took; what nobody typed, in SI. Returns UTF-8 bytes.
    """
    kept: list[Record] = []
    uids: set[str] = set()
    for record in records:
        if record.kind in BY_NAME and (record.supersedes is None or record.supersedes in uids):
            kept.append(record)
            uids.add(record.uid)
    rows = [_row(record, decimal) for record in kept]
    fields = [name for name in FIELD_DIMENSIONS if any(name in row for row in rows)]
    header = (*WHO_AND_WHEN, *fields)
    return writing.write(header, [[row.get(name, "") for name in header] for row in rows])


def _row(record: Record, decimal: str) -> dict[str, str]:
    """Column -> cell."""
    payload, typed = record.payload, record.payload.get("typed") or {}
    end = payload.get("end_ms")
    row = {"time": rfc3339(record.t_ms), "end": "" if end is None else rfc3339(int(end)), "kind": record.kind,
           "by": record.author, "id": record.uid, "supersedes": record.supersedes or "",
           "reason": record.reason or str(payload.get("reason") or "")}
    if record.kind == VOID and record.supersedes:
        return row
    for field in BY_NAME[record.kind].fields:
        if field.name == "reason" or payload.get(field.key) is None:
            continue
        if field.name in typed:
            row[field.name] = str(typed[field.name])
        elif payload.get(FOLLOWS.get((record.kind, field.name), "")) is None:
            row[field.name] = _cell(field, payload[field.key], decimal)
    return row


def _cell(field: Field, value: object, decimal: str) -> str:
    """A value that nobody typed, exactly."""
    if isinstance(value, list | tuple):
        return "; ".join("-" if each is None else _number(each, decimal) for each in value) + " m3"
    if not isinstance(value, int | float):
        return str(value)
    if field.dimension == "percent":
        return f"{_number(value, decimal)} %"
    return f"{_number(value, decimal)} {DIMENSIONS[MEASURES[field.dimension][0]]}"


def _number(value: float, decimal: str) -> str:
    """Every digit that it takes to read the same number back, without a power of ten."""
    return format(Decimal(repr(float(value))), "f").replace(".", decimal)
