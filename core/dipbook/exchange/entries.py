"""An entries file (CSV) to drafts: one row, one entry, checked as the forms check them.

Rows may come in any order. A row may replace another (``supersedes``, by its ``id``): whole, or, as a
``correction``, in the fields that it gives; a ``void`` strikes it out. Nothing is to be kept of a file that is not
``ok``.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from dipbook import quantities
from dipbook.entries.checks import KEPT, Outcome, correct, make, strike
from dipbook.entries.fields import MEASURES, match, suggestion
from dipbook.entries.kinds import BY_NAME, KINDS
from dipbook.errors import QuantityError
from dipbook.exchange import tables, times
from dipbook.exchange.headings import split_unit
from dipbook.exchange.states import uid_of
from dipbook.exchange.writing import unguarded
from dipbook.findings import Finding
from dipbook.records import Draft, Record
from dipbook.rig.model import Rig

CORRECTION, VOID = "correction", "void"

WHO_AND_WHEN = ("time", "end", "kind", "by", "id", "supersedes", "reason")
"""Columns of every entry."""

FIELD_DIMENSIONS: Mapping[str, str] = {f.name: f.dimension for kind in KINDS for f in kind.fields if f.name != "reason"}
"""Columns of fields -> their dimension."""

COLUMNS = (*WHO_AND_WHEN, *FIELD_DIMENSIONS)


@dataclass(frozen=True, slots=True)
class EntriesFile:
    """What an entries file holds.

    name; digest: SHA-256 of its bytes, hex; drafts: by time, a row after the one that it supersedes.
    findings: by line; ok: False if one is an error, and then nothing of it holds.
    """

    name: str
    digest: str
    drafts: tuple[Draft, ...]
    findings: tuple[Finding, ...]

    @property
    def ok(self) -> bool:
        """True if nothing in it is an error."""
        return not any(f.severity == "error" for f in self.findings)


@dataclass(frozen=True, slots=True)
class _Row:
    """One row. line: where it starts; uid; target: uid that it supersedes, or ""; cells: column -> text, no blanks."""

    line: int
    uid: str
    target: str
    cells: Mapping[str, str]
    text: str


def parse(data: bytes, name: str, rig: Rig, *, learned_ms: int | None = None,
          known: Mapping[str, Record] | None = None) -> EntriesFile:
    """Read an entries file.

    data: its bytes; name: for messages; rig: tanks, pumps, units, zone, decimal mark. learned_ms: when it is imported
    [UTC ms]; None: each row at its own time. known: uid -> record of the log, which ``supersedes`` may name too.
    Uids are the rows' ids, or follow from what the row says, so that the same file gives the same uids.
    Never raises for what is in the file: see ``findings`` and ``ok``.
    """
    table = tables.read(data, name)
    findings = list(table.findings)
    if table.ok:
        columns, units, found = _columns(table, rig)
        findings.extend(found)
        if not any(f.severity == "error" for f in findings):
            drafts, found = _Reader(table, columns, units, rig, learned_ms, known or {}).read()
            findings.extend(found)
            if not any(f.severity == "error" for f in findings):
                return EntriesFile(name, table.digest, drafts, tables.told_once(findings))
    return EntriesFile(name, table.digest, (), tables.told_once(findings))


def sift(file: EntriesFile, records: Mapping[str, Record]) -> tuple[tuple[Draft, ...], tuple[Finding, ...]]:
    """What of a file the log hasn't got yet.

    file: one that is ``ok``; records: uid -> record of the log. Returns (drafts that are new, findings): an entry whose
    id the log has with another content is an error, and then nothing is to be added.
    """
    new: list[Draft] = []
    findings: list[Finding] = []
    for draft in file.drafts:
        record = records.get(draft.uid)
        if record is None:
            new.append(draft)
        elif _says(draft) != _says(record):
            findings.append(Finding(
                f"the log has another entry with the id {draft.uid!r}: give this one an id of its own, or, to change "
                "that one, a row that supersedes it", code="id_taken", severity="error", file=file.name,
                column="id", t_ms=draft.t_ms, kept=False))
    if len(new) < len(file.drafts) - len(findings):
        findings.append(Finding(f"{len(file.drafts) - len(findings) - len(new)} of {len(file.drafts)} entries are in "
                                "the log already: not added again", code="known_already", severity="note",
                                file=file.name))
    return tuple(new), tuple(findings)


def _says(entry: Draft | Record) -> tuple[Any, ...]:
    payload = {k: v for k, v in entry.payload.items() if k != "typed"}
    return entry.kind, entry.t_ms, entry.supersedes, json.dumps(payload, sort_keys=True)


def _columns(table: tables.Table, rig: Rig) -> tuple[dict[int, str], dict[str, str], list[Finding]]:
    """(index -> column, column -> unit of its bare numbers, findings)."""
    columns: dict[int, str] = {}
    units: dict[str, str] = {}
    findings: list[Finding] = []

    def refused(what: str, column: str) -> None:
        findings.append(Finding(what, code="heading", severity="error", file=table.name, line=table.heading_line,
                                column=column, kept=False))

    for i, heading in enumerate(table.header):
        if not heading:
            continue
        name, unit = split_unit(heading)
        column = match(name, COLUMNS)
        if column is None:
            refused(f"there is no column {name!r}{suggestion(name, COLUMNS)}", heading)
            continue
        if column in columns.values():
            refused(f"the column {column!r} is there twice: keep one", heading)
        columns[i] = column
        if unit and not (unit == "%" and FIELD_DIMENSIONS.get(column) == "percent"):
            dimension = MEASURES.get(FIELD_DIMENSIONS.get(column, ""), ("", ""))[0]
            try:
                if not dimension:
                    raise QuantityError(f"{column} has no unit")
                units[column] = quantities.canonical(unit, dimension)
                if quantities.unit(units[column]).dimension != dimension:
                    raise QuantityError(f"{unit} is no unit of {dimension}")
            except QuantityError as error:
                refused(str(error), heading)
    if "kind" not in columns.values():
        refused("there is no column `kind`", "")
    return columns, units, findings


class _Reader:
    """Reads the rows of one table."""

    def __init__(self, table: tables.Table, columns: Mapping[int, str], units: Mapping[str, str], rig: Rig,
                 learned_ms: int | None, known: Mapping[str, Record]) -> None:
        self.table = table
        self.units = units
        self.rig = rig
        self.learned_ms = learned_ms
        self.known = known
        self.findings: list[Finding] = []
        self.done: dict[str, Draft | None] = {}
        self.rows = self._rows(columns)
        self.by_uid = {row.uid: row for row in self.rows}

    def read(self) -> tuple[tuple[Draft, ...], list[Finding]]:
        """(drafts, findings)."""
        self._refuse_twice()
        for row in self.rows:
            self._with_targets(row)
        self.findings.sort(key=lambda f: (f.line or 0, f.column))
        drafts = [d for d in self.done.values() if d is not None]
        return self._in_order(drafts), self.findings

    def _rows(self, columns: Mapping[int, str]) -> list[_Row]:
        rows: list[_Row] = []
        seen: Counter[str] = Counter()
        for line, row in zip(self.table.lines, self.table.rows, strict=True):
            cells = {column: unguarded(row[i].strip()) for i, column in columns.items() if row[i].strip()}
            text = json.dumps([sorted(cells.items()), sorted((c, self.units[c]) for c in cells if c in self.units)])
            uid = cells.get("id", "")
            if not uid:
                seen[text] += 1
                uid = uid_of(f"entry:{seen[text]}:{text}")
            rows.append(_Row(line, uid, cells.get("supersedes", ""), cells, text))
        return rows

    def _refuse_twice(self) -> None:
        """An id given twice, and two rows that supersede the same."""
        for column, key in (("id", "uid"), ("supersedes", "target")):
            first: dict[str, int] = {}
            for row in self.rows:
                value = getattr(row, key)
                if value and value in first:
                    what = (f"the id {value!r} is on line {first[value]} too: each needs its own" if column == "id"
                            else f"line {first[value]} supersedes {value!r} too: supersede that row instead")
                    self._error(row, what, column, "twice")
                first.setdefault(value, row.line)
        replaced = {record.supersedes: record.uid for record in self.known.values() if record.supersedes}
        for row in self.rows:
            by = replaced.get(row.target, row.uid)
            if by != row.uid:
                self._error(row, f"{row.target!r} has been superseded by {by!r}: supersede that one", "supersedes",
                            "twice")

    def _with_targets(self, row: _Row) -> None:
        """Read a row, after the rows that it supersedes by way of others."""
        chain: list[_Row] = []
        seen: set[str] = set()
        at: _Row | None = row
        while at is not None and at.uid not in self.done:
            if at.uid in seen:
                self._error(row, "these rows supersede each other in a circle", "supersedes", "circle")
                self.done.update(dict.fromkeys(seen))
                return
            seen.add(at.uid)
            chain.append(at)
            at = self.by_uid.get(at.target) if at.target else None
        for link in reversed(chain):
            self.done[link.uid] = self._after_target(link)

    def _after_target(self, row: _Row) -> Draft | None:
        """The draft of a row whose target, if it is in the file, has been read."""
        if not row.target:
            return self._read(row, None)
        target = self.done[row.target] if row.target in self.by_uid else self.known.get(row.target)
        if target is not None:
            return self._read(row, target)
        if row.target not in self.by_uid:
            ids = [r.cells["id"] for r in self.rows if "id" in r.cells]
            self._error(row, f"there is no entry with the id {row.target!r}{suggestion(row.target, ids)}", "supersedes",
                        "unknown_id")
        return None

    def _read(self, row: _Row, target: Draft | Record | None) -> Draft | None:
        kind = match(row.cells.get("kind", ""), [*BY_NAME, CORRECTION])
        if kind is None:
            said = row.cells.get("kind", "")
            known = ", ".join([*BY_NAME, CORRECTION])
            self._error(row, f"there is no kind {said!r}; the kinds are {known}" if said
                        else f"the row needs a kind, one of {known}", "kind", "unknown_kind")
            return None
        if kind == CORRECTION and target is None:
            self._error(row, "a correction needs `supersedes`: the id of the entry that it corrects", "supersedes",
                        "missing")
            return None
        changes = target is not None and kind in (CORRECTION, VOID)
        t_ms = self._time(row, "time", needed=not changes)
        end_ms = self._time(row, "end", needed=False)
        if t_ms is None and (not changes or "time" in row.cells):
            return None
        if "end" in row.cells and end_ms is None:
            return None
        draft, findings = self._outcome(row, kind, t_ms, end_ms, target)
        for finding in findings:
            self.findings.append(replace(finding, file=self.table.name, line=row.line, t_ms=t_ms))
        return draft

    def _outcome(self, row: _Row, kind: str, t_ms: int | None, end_ms: int | None,
                 target: Draft | Record | None) -> Outcome:
        cells = row.cells
        typed = {c: text for c, text in cells.items() if c in FIELD_DIMENSIONS}
        reason, author = cells.get("reason", ""), cells.get("by", "")
        at = t_ms if t_ms is not None else target.t_ms if target is not None else 0
        offset = times.offset_min(at, self.rig.zone)
        learned_ms = self.learned_ms
        if learned_ms is None:  # at its own time, but not before the one that it replaces
            learned_ms = max(at, target.learned_ms if target is not None else at)
        if target is not None and kind == VOID:
            if typed or "end" in cells:
                return None, (Finding("a void of one entry gives only supersedes, reason and by", code="not_here",
                                      severity="error", column=next(iter(typed), "end"), kept=False),)
            return strike(target, t_ms=t_ms, author=author, learned_ms=learned_ms, reason=reason, uid=row.uid)
        if target is not None and kind == CORRECTION:
            return correct(target, typed, t_ms=t_ms, end_ms=KEPT if "end" not in cells else end_ms, rig=self.rig,
                           author=author, learned_ms=learned_ms, reason=reason, uid=row.uid, bare=self.units,
                           offset_min=offset)
        if target is not None and target.kind != kind:
            return None, (Finding(f"a {kind} can't replace a {target.kind}: void that one and enter this without "
                                  "supersedes", code="other_kind", severity="error", column="kind", kept=False),)
        assert t_ms is not None
        if kind == "remark" and "remark" not in typed and reason:
            typed["remark"] = reason
        return make(kind, typed, t_ms=t_ms, end_ms=end_ms, rig=self.rig, author=author, learned_ms=learned_ms,
                    supersedes=row.target or None, reason=reason, uid=row.uid, bare=self.units, offset_min=offset)

    def _time(self, row: _Row, column: str, *, needed: bool) -> int | None:
        text = row.cells.get(column, "")
        if not text:
            if needed:
                self._error(row, f"the row needs a time: write it like {times.FORM}", column, "missing")
            return None
        try:
            return times.parse(text, self.rig.zone)
        except QuantityError as error:
            self._error(row, str(error), column, "time")
            return None

    def _in_order(self, drafts: Sequence[Draft]) -> tuple[Draft, ...]:
        """By time; a row not before the one that it supersedes; alike rows by what they say."""
        text = {row.uid: row.text for row in self.rows}
        due: dict[str, tuple[int, int]] = {}
        for uid, draft in self.done.items():  # a target is done before the row that supersedes it
            if draft is not None:
                t_ms, rank = due.get(draft.supersedes or "", (draft.t_ms, -1))
                due[uid] = (max(draft.t_ms, t_ms), rank + 1)
        return tuple(sorted(drafts, key=lambda d: (*due[d.uid], text[d.uid], d.uid)))

    def _error(self, row: _Row, what: str, column: str, code: str) -> None:
        self.findings.append(Finding(what, code=code, severity="error", file=self.table.name, line=row.line,
                                     column=column, kept=False))
