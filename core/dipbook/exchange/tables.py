"""A delimited text file to a heading and rows, each with its line: RFC 4180, and what spreadsheets make of it.

Read are commas, semicolons or tabs (whichever the heading shows), a UTF-8 mark at the start, any line end, and
``#`` lines above the heading. Whatever can't be read for certain is refused with its line and a remedy.
"""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Sequence
from dataclasses import dataclass

from dipbook.findings import Finding

SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs"}

LONGEST_LINE = 100_000
"""Bytes in a line; a longer one is no table row (our choice, no source)."""

MOST_FINDINGS = 20
"""Findings of one kind told one by one; the rest are counted."""


@dataclass(frozen=True, slots=True)
class Table:
    """A file's cells as text.

    name: the file's; header: headings, stripped; rows: cells of each row, as many as the header has.
    lines: line on which each row starts, heading_line: the headings' (1-based). separator: "," ";" or tab.
    digest: SHA-256 of the file's bytes, hex. findings: what is wrong or noteworthy; ok: False if one is an error.
    torn_off: (line, what is wrong) of rows that are not among ``rows``, because they have another width.
    """

    name: str
    header: tuple[str, ...]
    rows: Sequence[Sequence[str]]
    lines: Sequence[int]
    heading_line: int
    separator: str
    digest: str
    findings: tuple[Finding, ...]
    torn_off: Sequence[tuple[int, str]] = ()

    @property
    def ok(self) -> bool:
        """True if nothing in it is an error."""
        return not any(f.severity == "error" for f in self.findings)


def read(data: bytes, name: str, *, key: str = "time") -> Table:
    """Read a table.

    data: the file's bytes; name: for messages; key: a heading that the file must have (any case); it tells the
    separator. Never raises: what is wrong is in ``findings``, and then rows may be missing.
    """
    digest = hashlib.sha256(data).hexdigest()
    findings: list[Finding] = []

    def refused(what: str, code: str, line: int | None = None, column: str = "") -> Table:
        finding = Finding(what, code=code, severity="error", file=name, line=line, column=column, kept=False)
        return Table(name, (), (), (), 1, ",", digest, (*findings, finding))

    trouble = _trouble_in_bytes(data, name)
    if trouble is not None:
        findings.append(trouble)
        return Table(name, (), (), (), 1, ",", digest, tuple(findings))
    text = data.decode("utf-8-sig")
    stream = io.StringIO(text, newline="")
    skipped = 0
    for heading in stream:
        if heading.strip() and not heading.startswith("#"):
            break
        skipped += 1
    else:
        return refused("the file is empty: it needs a heading and rows", "empty_file")
    fits = [s for s in SEPARATORS if key in [h.casefold() for h in _cells(heading, s)]]
    if not fits:
        return refused(f"the first row must be the headings, one of them `{key}`, set apart by commas, semicolons "
                       f"or tabs; found {heading.strip()[:80]!r}", "no_heading", skipped + 1)
    best = max(len(_cells(heading, s)) for s in fits)
    fits = [s for s in fits if len(_cells(heading, s)) == best]
    if len(fits) > 1 and best > 1:
        said = " or ".join(SEPARATORS[s] for s in fits)
        return refused(f"the headings could be set apart by {said}: use one of them only", "separator", skipped + 1)
    separator = fits[0]
    header = _cells(heading, separator)

    rows: list[Sequence[str]] = []
    lines: list[int] = []
    reader = csv.reader(stream, delimiter=separator, strict=True)
    before = skipped + 1
    try:
        for row in reader:
            if "".join(row).strip():
                rows.append(row)
                lines.append(before + 1)
            before = skipped + 1 + reader.line_num
    except csv.Error as error:
        return refused(torn(str(error)), "torn", before + 1)

    findings.extend(_heading_findings(header, rows, name, skipped + 1))
    rows, lines, torn_off = even(rows, lines, len(header), separator)
    findings.extend(Finding(what, code="width", severity="error", file=name, line=line, kept=False)
                    for line, what in torn_off)
    if rows and not text.endswith(("\n", "\r")):
        findings.append(Finding("the last line has no line end: check that it wasn't cut short", code="no_line_end",
                                severity="note", file=name, line=lines[-1]))
    return Table(name, header, rows, lines, skipped + 1, separator, digest, told_once(findings), torn_off)


def even(rows: Sequence[Sequence[str]], lines: Sequence[int], width: int, separator: str,
         ) -> tuple[list[Sequence[str]], list[int], list[tuple[int, str]]]:
    """The rows that have as many cells as the heading, their lines, and (line, what is wrong) of the others.

    rows, lines: of the file; width: cells of the heading; separator: between cells. Blank cells beyond are cut off.
    """
    kept: list[Sequence[str]] = []
    at: list[int] = []
    wrong: list[tuple[int, str]] = []
    for i, row in enumerate(rows):
        if len(row) == width:
            kept.append(row)
            at.append(lines[i])
        elif len(row) > width and not "".join(row[width:]).strip():
            kept.append(row[:width])
            at.append(lines[i])
        else:
            wrong.append((lines[i], wrong_width(len(row), width, separator, i == len(rows) - 1)))
    return kept, at, wrong


def told_once(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """The findings with long runs of one kind cut to ``MOST_FINDINGS`` and a count of the rest."""
    told: dict[tuple[str, str, str], int] = {}
    kept: list[Finding] = []
    for finding in findings:
        key = (finding.code, finding.severity, finding.column)
        told[key] = told.get(key, 0) + 1
        if told[key] <= MOST_FINDINGS:
            kept.append(finding)
    for (code, severity, column), count in told.items():
        if count > MOST_FINDINGS:
            first = next(f for f in findings if (f.code, f.severity, f.column) == (code, severity, column))
            kept.append(Finding(f"and {count - MOST_FINDINGS} more like this", code=code, severity=severity,
                                file=first.file, column=column, tank=first.tank, kept=first.kept))
    return tuple(kept)


def _cells(heading: str, separator: str) -> tuple[str, ...]:
    """The headings of a line, stripped; () where the line can't be read with this separator."""
    try:
        rows = list(csv.reader([heading], delimiter=separator, strict=True))
    except csv.Error:
        return ()
    return tuple(cell.strip() for cell in rows[0]) if rows else ()


def _trouble_in_bytes(data: bytes, name: str) -> Finding | None:
    """What keeps the bytes from being lines of text, or None."""

    def trouble(what: str, code: str, at: int) -> Finding:
        end = b"\n" if b"\n" in data else b"\r"
        line = data.count(end, 0, at) + 1
        column = f"byte {at - (data.rfind(end, 0, at) + 1) + 1}"
        return Finding(what, code=code, severity="error", file=name, line=line, column=column, kept=False)

    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return trouble("the file is in UTF-16: save it as CSV UTF-8", "encoding", 0)
    nul = data.find(b"\0")
    if nul >= 0:
        return trouble("there is a zero byte in the file: it is damaged or isn't text; export it again", "nul", nul)
    longest = 0
    for line in io.BytesIO(data):
        if len(line) > LONGEST_LINE and max(len(part) for part in line.split(b"\r")) > LONGEST_LINE:
            return trouble(f"this line has {len(line):,} bytes, more than the {LONGEST_LINE:,} that a row may have: "
                           "it is damaged or isn't such a table", "long_line", longest)
        longest += len(line)
    try:
        data.decode("utf-8")
    except UnicodeDecodeError as error:
        return trouble(f"byte 0x{data[error.start]:02X} is not UTF-8: save the file as CSV UTF-8",
                       "encoding", error.start)
    return None


def _heading_findings(header: Sequence[str], rows: Sequence[Sequence[str]], name: str, line: int) -> list[Finding]:
    findings: list[Finding] = []
    seen: dict[str, int] = {}
    for i, heading in enumerate(header):
        if not heading:
            if any(len(row) > i and row[i].strip() for row in rows):
                findings.append(Finding(f"column {i + 1} has values but no heading", code="no_heading",
                                        severity="error", file=name, line=line, column=str(i + 1), kept=False))
        elif heading.casefold() in seen:
            findings.append(Finding(f"the heading {heading!r} is there twice, in columns {seen[heading.casefold()]} "
                                    f"and {i + 1}: keep one", code="heading_twice", severity="error", file=name,
                                    line=line, column=heading, kept=False))
        else:
            seen[heading.casefold()] = i + 1
    return findings


def torn(error: str) -> str:
    """What a row that can't be read means. error: the words of the reader of CSV."""
    if "unexpected end" in error or "field larger" in error:
        return "a quote is opened here and never closed: the file is cut short, or a quote is missing"
    error = error.replace("'\t'", "a tab")
    return f"this row can't be read ({error}): a cell with quotes in it needs each of them doubled"


def wrong_width(has: int, width: int, separator: str, last: bool) -> str:
    """Words on a row with another count of cells than the heading.

    has, width: cells of the row and of the heading; separator: between cells; last: True for the file's last row.
    """
    said = f"this row has {has} {'cell' if has == 1 else 'cells'}, the heading has {width}"
    if has < width:
        return said + (": the file is cut short, export it again" if last else ": a cell is missing")
    if separator == ",":
        return said + ": a cell with a comma in it (a decimal comma, say) needs quotes, or use semicolons"
    return said + ": a cell with the separator in it needs quotes"
