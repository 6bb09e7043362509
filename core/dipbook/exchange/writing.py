"""CSV out: RFC 4180, with text cells guarded so that a spreadsheet doesn't run them as formulas."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

_NUMBER = re.compile(r"-?\d+(\.\d+)?", re.ASCII)
_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""First characters that make a cell a formula (OWASP, CSV injection), and their full-width forms."""


def write(header: Sequence[str], rows: Iterable[Sequence[str | float | int | None]]) -> bytes:
    """A table as a CSV file.

    header: headings; rows: as many cells each; numbers are written as they stand (floats shortest round trip), None and
    NaN are blank, texts are guarded. Returns UTF-8 bytes, lines ended by CR LF. Raises ValueError for a row of
    another width.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, quoting=csv.QUOTE_MINIMAL, lineterminator="\r\n")
    writer.writerow([guarded(h) for h in header])
    for row in rows:
        if len(row) != len(header):
            raise ValueError(f"{len(row)} cells under {len(header)} headings")
        writer.writerow([_cell(cell) for cell in row])
    return out.getvalue().encode("utf-8")


def guarded(text: str) -> str:
    """The text with an apostrophe before it where a spreadsheet would take it for a formula; plain numbers stay."""
    if text.lstrip(" ").startswith(_STARTS) and not _NUMBER.fullmatch(text):
        return f"'{text}"
    return text


def unguarded(text: str) -> str:
    """The text as it was before ``guarded`` put an apostrophe before it; any other text as it is."""
    bare = text.removeprefix("'")
    return bare if bare != text and guarded(bare) == text else text


def _cell(cell: str | float | int | None) -> str:
    if isinstance(cell, str):
        return guarded(cell)
    if cell is None or cell != cell:
        return ""
    return str(int(cell)) if isinstance(cell, int) else repr(float(cell))
