"""CSV out: RFC 4180, with text cells guarded so that a spreadsheet doesn't run them as formulas, and without characters
that no reader of tables takes."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

_NUMBER = re.compile(r"-?\d+(\.\d+)?", re.ASCII)
_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""First characters that make a cell a formula (OWASP, CSV injection), and their full-width forms."""
_UNSEEN = re.compile(r"[\s\x00-\x1f\x7f-\x9f\u00ad\u200b-\u200f\u202a-\u202e\u2060-\u206f\ufeff]+")
"""What may stand before such a character without being seen: a program may pass over it."""
_SHOWN = {n: 0x2400 + n for n in range(0x20) if n not in (0x09, 0x0A, 0x0D)} | {0x7F: 0x2421} | dict.fromkeys(
    (*range(0x80, 0xA0), *range(0xD800, 0xE000)), 0xFFFD)
"""Control character -> the sign that Unicode has to show it by; half a character and the rest -> the sign for what
can't be shown. Tabs and line ends stay."""


def write(header: Sequence[str], rows: Iterable[Sequence[str | float | int | None]]) -> bytes:
    """A table as a CSV file.

    header: headings; rows: as many cells each; numbers are written as they stand (floats shortest round trip), None and
    NaN are blank, texts are guarded, control characters in them are shown by signs (U+2400 and on). Returns UTF-8
    bytes, lines ended by CR LF. Raises ValueError for a row of another width.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, quoting=csv.QUOTE_MINIMAL, lineterminator="\r\n")
    writer.writerow([guarded(h.translate(_SHOWN)) for h in header])
    for row in rows:
        if len(row) != len(header):
            raise ValueError(f"{len(row)} cells under {len(header)} headings")
        writer.writerow([_cell(cell) for cell in row])
    return out.getvalue().encode("utf-8")


def guarded(text: str) -> str:
    """The text with an apostrophe before it where a spreadsheet would take it for a formula; plain numbers stay.

    A text that has such an apostrophe already takes one more, so that ``unguarded`` gives back what it was.
    """
    bare = text.lstrip("'")
    seen = _UNSEEN.match(bare)
    inside = bare[seen.end():] if seen else bare
    if (inside.startswith(_STARTS) or bare.lstrip(" ").startswith(_STARTS)) and not _NUMBER.fullmatch(text):
        return f"'{text}"
    return text


def unguarded(text: str) -> str:
    """The text as it was before ``guarded`` put an apostrophe before it; any other text as it is."""
    bare = text.removeprefix("'")
    return bare if bare != text and guarded(bare) == text else text


def _cell(cell: str | float | int | None) -> str:
    if isinstance(cell, str):
        return guarded(cell.translate(_SHOWN))
    if cell is None or cell != cell:
        return ""
    return str(int(cell)) if isinstance(cell, int) else repr(float(cell))
