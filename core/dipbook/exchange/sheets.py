"""Spreadsheets (.xlsx, .xls, .ods) to rows of text: values as they are stored, dates as times without an offset."""

from __future__ import annotations

import datetime as dt
import io
import re
import zipfile
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from dipbook.exchange.tables import LONGEST_LINE
from dipbook.findings import Finding

MOST_CELLS = 4_000_000
"""Cells of a workbook, blank ones inside the outline of its sheets too (our choice, no source)."""
MOST_BYTES = 400_000_000
"""Bytes that a workbook may unpack to (our choice, no source)."""
MOST_REPEATED = 20_000
"""How often one cell or row with a value may be said to repeat in an .ods file (our choice, no source)."""

_ZIP, _OLE = b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_CHUNK, _OVERLAP = 1_000_000, 10_000
_CELL = re.compile(rb"""<(?:\w{1,20}:)?(?:c|row)\s[^>]{0,200}?\br=["']([A-Z]{0,3})(\d{1,7})["']""")
_NO_VALUE = re.compile(rb"</f>(?:<v></v>|<v ?/>)?</c>")
_TAG = re.compile(rb"<table:table-(cell|row)\b([^>]{0,4000})>")
_TIMES = re.compile(rb'number-(?:columns|rows)-repeated="(\d{1,20})"')
_LOOSE = re.compile(rb"(?<!\?)>[ \t\r\n]+(?=</?(?:table:|office:|text:p\b))")
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet with data in it. name; rows: of cells as text; lines: each row's number in the sheet, from 1."""

    name: str
    rows: tuple[tuple[str, ...], ...]
    lines: tuple[int, ...]


class _RefusedError(Exception):
    """Words on why a workbook isn't read."""


def is_workbook(data: bytes) -> bool:
    """True if the bytes begin as a workbook's do, whatever the file is called. data: the file's."""
    return data.startswith((_ZIP, _OLE))


def load(data: bytes, name: str) -> tuple[tuple[Sheet, ...], Finding | None]:
    """The sheets that hold data, in order, hidden ones too, and what keeps the workbook from being read.

    data: its bytes; name: for messages. Never raises for what is in the file.
    """
    try:
        if data.startswith(_ZIP):
            _weigh(data)
        return _sheets(data), None
    except _RefusedError as error:
        what = str(error)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError, ValueError) as error:
        what = f"the workbook is damaged, or has a password ({error}): save it again without one, or as CSV UTF-8"
    return (), Finding(what, code="workbook", severity="error", file=name, kept=False)


def _weigh(data: bytes) -> None:
    """Refuse a workbook that unpacks to far more than it should, before anything is built of it."""
    total = cells = 0
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        for member in packed.infolist():
            ods = member.filename == "content.xml"
            sheet = member.filename.endswith(".xml") and not ods
            if member.filename.endswith(".bin") and "worksheets/" in member.filename:
                raise _RefusedError("the workbook is in a binary form: save it as .xlsx, or the sheet as CSV UTF-8")
            width = height = 0
            tail = b""
            with packed.open(member) as stream:
                while part := stream.read(_CHUNK):
                    total += len(part)
                    if total > MOST_BYTES:
                        raise _RefusedError(f"the workbook unpacks to more than {MOST_BYTES / 1e6:.0f} MB: save the "
                                            "sheet as CSV UTF-8")
                    seen = tail + part
                    if sheet:
                        if _NO_VALUE.search(seen):
                            raise _RefusedError("the workbook has formulas whose values were never worked out: open "
                                                "it in a spreadsheet program and save it there")
                        for letters, digits in _CELL.findall(seen):
                            width, height = max(width, _number(letters)), max(height, int(digits))
                    elif ods:
                        _repeats(seen)
                    tail = seen[-_OVERLAP:]
            cells += width * height
            if cells > MOST_CELLS:
                raise _RefusedError(f"the workbook's sheets span more than {MOST_CELLS:,} cells: delete what lies far "
                                    "from the table, or save the sheet as CSV UTF-8")


def _number(letters: bytes) -> int:
    """A column's number from its letters."""
    n = 0
    for letter in letters:
        n = n * 26 + letter - 64
    return n


def _repeats(xml: bytes) -> None:
    """Refuse cells with a value, and rows with such a cell, that are said to be there very often."""
    rows = 1
    for kind, inside in _TAG.findall(xml):
        found = _TIMES.search(inside)
        times = int(found[1]) if found else 1
        if kind == b"row":
            rows = times
        elif b"value-type" in inside and (times > MOST_REPEATED or rows > MOST_REPEATED or
                                          times * rows > MOST_CELLS):
            raise _RefusedError("a cell of the workbook is repeated far too often: save the sheet as CSV UTF-8")


def _tight(data: bytes) -> bytes:
    """An .ods file without the blanks between the tags of its tables, which mean nothing outside of paragraphs and at
    which the reader stops: a program may write each cell on a line of its own. Other files as they are."""
    if not data.startswith(_ZIP):
        return data
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        if "content.xml" not in packed.namelist():
            return data
        xml = packed.read("content.xml")
        if _LOOSE.search(xml) is None:
            return data
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w") as written:
            for member in packed.infolist():
                part = _LOOSE.sub(b">", xml) if member.filename == "content.xml" else packed.read(member)
                written.writestr(member.filename, part)
    return out.getvalue()


def _sheets(data: bytes) -> tuple[Sheet, ...]:
    """All sheets with data in them."""
    from python_calamine import CalamineError, CalamineWorkbook, SheetTypeEnum

    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(_tight(data)))
        found = []
        cells = 0
        for about in book.sheets_metadata:
            if about.typ != SheetTypeEnum.WorkSheet:
                continue
            outline = book.get_sheet_by_name(about.name)
            cells += outline.height * outline.width
            if cells > MOST_CELLS:
                raise _RefusedError(f"the workbook's sheets span more than {MOST_CELLS:,} cells: save the sheet as "
                                    "CSV UTF-8")
            sheet = _texts(about.name, outline.to_python(skip_empty_area=False))
            if sheet.rows:
                found.append(sheet)
        return tuple(found)
    except CalamineError as error:
        raise _RefusedError(f"the workbook can't be read ({error}): save it again, without a password, or as CSV "
                            "UTF-8") from None


def _texts(name: str, rows: Sequence[Sequence[Any]]) -> Sheet:
    kept: list[tuple[str, ...]] = []
    lines: list[int] = []
    for line, row in enumerate(rows, 1):
        cells = tuple(_text(cell) for cell in row)
        if any(cells):
            joined = "".join(cells)
            if len(joined) > LONGEST_LINE:
                raise _RefusedError(f"sheet {name}, row {line} has {len(joined):,} characters: it isn't such a table")
            control = _CONTROL.search(joined)
            if control is not None:
                raise _RefusedError(f"sheet {name}, row {line}: there is a control character "
                                    f"(U+{ord(control[0]):04X}) in a cell: delete it")
            kept.append(cells)
            lines.append(line)
    return Sheet(name, tuple(kept), tuple(lines))


def _text(cell: Any) -> str:
    """A cell as it is stored: numbers in full, with a point; times as 2026-03-31 02:15:00."""
    if isinstance(cell, str):
        return " ".join(cell.split())
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, (int, float)):
        return str(int(cell)) if cell == cell and abs(cell) < 1e15 and cell == int(cell) else _written(cell)
    if isinstance(cell, dt.datetime):
        at = cell.replace(microsecond=0) + dt.timedelta(milliseconds=round(cell.microsecond / 1000))
        return f"{at:%Y-%m-%d %H:%M:%S}" + (f".{at.microsecond // 1000:03d}" if at.microsecond else "")
    if isinstance(cell, dt.date):
        return f"{cell.isoformat()} 00:00:00"
    if isinstance(cell, dt.time):
        return f"{cell:%H:%M:%S}" + (f".{cell.microsecond // 1000:03d}" if cell.microsecond >= 1000 else "")
    if isinstance(cell, dt.timedelta):
        seconds = round(cell.total_seconds())
        return f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"
    return f"{cell}"


def _written(number: float) -> str:
    """A number in full, without a power of ten."""
    text = repr(number)
    if "e" not in text:
        return text
    from decimal import Decimal

    return f"{Decimal(text):f}"
