"""What sets the cells of a text apart, and which sign is the decimal one: from the data, or asked. Never guessed."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterable, Sequence

from dipbook.exchange.tables import torn
from dipbook.findings import Finding

SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
"""Separator -> its name."""
DECIMALS = {".": "point", ",": "comma"}
"""Decimal sign -> its name."""
MOST = 0.75
"""Share of the rows that have to be equally wide where some are torn [-] (our choice, no source)."""
LOOKED_AT = 1000
"""Rows from which separator and decimal sign are told."""

_POINT = re.compile(r"-?(\d+)\.(\d+)", re.ASCII)
_COMMA = re.compile(r"-?(\d+),(\d+)", re.ASCII)


def separators(text: str) -> tuple[str, ...]:
    """The separators that cut every row looked at, from a row of headings on, into equally many cells, at least two.

    text: of the file. Of several, one that leaves fewer lines above its headings goes before the others; of those that
    leave equally many none does, and it has to be asked. Where none cuts every row evenly, those that cut most of them.
    """
    lines = _first_lines(text, LOOKED_AT)
    for share in (1.0, MOST):
        fits = {s: above for s in SEPARATORS if (above := _even(lines, s, share)) is not None}
        if fits:
            return tuple(s for s in fits if fits[s] == min(fits.values()))
    return ()


def possible(text: str) -> tuple[str, ...]:
    """The separators that are in the text at all, for a question. text: of the file."""
    start = "".join(_first_lines(text, LOOKED_AT))
    return tuple(s for s in SEPARATORS if s in start)


def split(text: str, separator: str, name: str) -> tuple[list[list[str]], list[int], Finding | None]:
    """The rows of a text with the line on which each starts; blank ones and ``#`` lines at the top are left out.

    text: of the file; separator: one of SEPARATORS; name: of the file, for messages. The finding says what can't be
    read, or None.
    """
    rows: list[list[str]] = []
    lines: list[int] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    before = 0
    try:
        for row in reader:
            if "".join(row).strip() and not (not rows and row[0].startswith("#")):
                rows.append(row)
                lines.append(before + 1)
            before = reader.line_num
    except csv.Error as error:
        return [], [], Finding(torn(str(error)), code="torn", severity="error", file=name, line=before + 1, kept=False)
    return rows, lines, None


def heading_place(rows: Sequence[Sequence[str]]) -> int:
    """Which row holds the headings, from 0: the first that is as wide as most rows are. rows: of cells."""
    widths = Counter(_width(row) for row in rows[:LOOKED_AT])
    if not widths:
        return 0
    most = max(widths, key=lambda w: (widths[w], w))
    return next((i for i, row in enumerate(rows[:LOOKED_AT]) if _width(row) >= min(most, 2) and len(row) >= most), 0)


def decimals(cells: Iterable[str]) -> tuple[str, ...]:
    """The decimal signs that the numbers of a file leave possible: one if they show it, two if it has to be asked.

    cells: stripped texts; what isn't a number says nothing. () if no number has a sign at all. Digits in a group of
    three behind a sign (1,500) say nothing, because the sign may set thousands apart.
    """
    seen: set[str] = set()
    unclear = False
    for cell in cells:
        for sign, form in ((".", _POINT), (",", _COMMA)):
            if sign not in cell:
                continue
            found = form.fullmatch(cell)
            if found is None:
                continue
            whole, part = found[1], found[2]
            if len(part) == 3 and len(whole) <= 3 and not whole.startswith("0"):
                unclear = True
            else:
                seen.add(sign)
    if len(seen) == 1:
        return tuple(seen)
    return (".", ",") if seen or unclear else ()


def _first_lines(text: str, count: int) -> list[str]:
    lines: list[str] = []
    for line in io.StringIO(text, newline=""):
        if line.strip() and not (line.startswith("#") and not lines):
            lines.append(line)
            if len(lines) == count:
                break
    return lines


def _width(row: Sequence[str]) -> int:
    """Cells of a row up to the last that isn't blank."""
    return max((i + 1 for i, cell in enumerate(row) if cell.strip()), default=0)


def _even(lines: Sequence[str], separator: str, share: float) -> int | None:
    """How many rows stand above the headings where a separator gives this share of the rows their width, else None.

    Where half of what would be the headings has no letter in it, they are data, and the separator is another.
    """
    try:
        rows = [row for row in csv.reader(iter(lines), delimiter=separator) if row]
    except csv.Error:
        return None
    above = heading_place(rows)
    rows = rows[above:]
    if len(rows) < 2 or len(rows[0]) < 2 or 2 * sum(any(c.isalpha() for c in cell) for cell in rows[0]) < len(rows[0]):
        return None
    width = len(rows[0])
    even = sum(len(row) == width or (len(row) > width and not "".join(row[width:]).strip()) for row in rows)
    return above if even >= share * len(rows) else None
