"""A readings file (CSV) to samples of the tanks and to entries for what else it carries.

One row a time, one column a tank, blanks where a tank wasn't gauged; depth, pumps, flow and activity may stand
beside them. Rows may come in any order. Nothing is to be kept of a file that is not ``ok``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from dipbook.exchange import tables, times
from dipbook.exchange.headings import Column, read_headings
from dipbook.exchange.long_files import parse_long
from dipbook.exchange.readings_rows import ReadingsFile, RowsReader, TankSeries
from dipbook.exchange.states import uid_of
from dipbook.findings import Finding
from dipbook.records import ROWS, SAMPLES, Block, Draft
from dipbook.rig.model import Rig

__all__ = ["ReadingsFile", "TankSeries", "of_table", "opened", "parse", "to_draft"]


def parse(data: bytes, name: str, rig: Rig) -> ReadingsFile:
    """Read a readings file.

    data: its bytes; name: for messages; rig: tanks, pumps, units, zone, decimal mark.
    Never raises for what is in the file: see ``findings`` and ``ok``.
    """
    quick = parse_long(data, name, rig)
    if quick is not None:
        return quick
    table, columns, findings = opened(data, name, rig)
    if any(f.severity == "error" and f.code != "width" for f in findings) or not table.rows:
        return _empty(table, rig, findings)
    file = of_table(table, columns, rig, findings)
    return file if table.ok else replace(file, series=(), entries=())


def opened(data: bytes, name: str, rig: Rig) -> tuple[tables.Table, tuple[Column, ...], tuple[Finding, ...]]:
    """The table of a readings file and what its columns are; nothing of its rows is read.

    data, name, rig: as in ``parse``. Returns (table, columns, findings); an error among them refuses the file.
    """
    table = tables.read(data, name)
    findings = list(table.findings)
    if any(f.severity == "error" and f.code != "width" for f in findings):
        return table, (), tuple(findings)
    columns, found = read_headings(table.header, rig, name, table.heading_line)
    findings.extend(found)
    if not found and not any(c.what in ("level", "volume", "percent") for c in columns):
        findings.append(Finding("no column is a tank of this rig", code="no_tank", severity="error", file=name,
                                line=table.heading_line, kept=False))
    if not table.rows and not table.torn_off:
        findings.append(Finding("there are headings but no rows: the file is cut short, export it again",
                                code="no_rows", severity="error", file=name, kept=False))
    return table, columns, tuple(findings)


def of_table(table: tables.Table, columns: Sequence[Column], rig: Rig, findings: Sequence[Finding], *,
             no_times: Sequence[tuple[int, str]] = ()) -> ReadingsFile:
    """Read the rows of a table.

    table: with at least one row; columns: what its columns are, one of them "time"; rig: as in ``parse``, with the
    decimal sign of the file; findings: those made so far; no_times: (row from 0, why) of times that can't be read.
    """
    return RowsReader(table, columns, rig, list(findings), dict(no_times)).read()


def to_draft(file: ReadingsFile, learned_ms: int, author: str = "") -> tuple[Draft, tuple[Draft, ...]]:
    """The records of a readings file.

    file: one that is ``ok``; learned_ms: when it is imported [UTC ms]; author: who imports it.
    Returns (draft of kind "samples" with a block a tank, drafts of the entries). Uids follow from what the file says,
    so that the same file, in any order of rows, gives the same uids.
    """
    blocks = [Block(f"tank:{s.tank}:{s.what}", s.t_ms, s.v) for s in file.series]
    if file.row_end_ms is not None:
        blocks.append(Block(ROWS, file.row_end_ms, file.row_start_ms.astype(float)))
    first = min((int(s.t_ms[0]) for s in file.series), default=learned_ms)
    draft = Draft(SAMPLES, first, learned_ms, author=author, blocks=tuple(blocks),
                  payload={"source": "import", "file": file.name, "digest": file.digest, "rows": file.rows},
                  uid=uid_of(f"readings:{file.content}"), offset_min=times.offset_min(first, file.zone))
    entries = tuple(
        Draft(e.kind, e.t_ms, learned_ms, author=author, payload=e.payload, uid=e.uid, offset_min=e.offset_min)
        for e in file.entries)
    return draft, entries


def _empty(table: tables.Table, rig: Rig, findings: Sequence[Finding]) -> ReadingsFile:
    return ReadingsFile(table.name, table.digest, "", len(table.rows), (), (), None, None, rig.zone,
                        tables.told_once(findings))
