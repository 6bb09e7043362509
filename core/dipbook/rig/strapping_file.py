"""Puts strapping tables that a rig file names into its text, ``file = "suction.csv"`` → ``table = [[…], …]``.

The log keeps its own copy of the rig file's text, so the text must stand alone. This happens where a rig file is read
from disk, and nowhere else. A table's place on its line, every comment and every other line stay as they are.
"""

from __future__ import annotations

import csv
import io
import json
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any

from dipbook.errors import QuantityError
from dipbook.quantities import FEET_INCHES, canonical, dimension_of
from dipbook.quantities import read as read_quantity
from dipbook.rig.locating import Path as Key
from dipbook.rig.locating import Places, locate
from dipbook.rig.strapping_section import HIGHEST_M, LARGEST_M3

LARGEST = 200_000
"""A table's file of more bytes than this is refused: it is something else."""
MOST_ROWS = 5000
SEPARATORS = (";", "\t", ",")
COLUMNS = (("level", "length", HIGHEST_M), ("volume", "volume", LARGEST_M3))
"""Heading, dimension of dipbook.quantities, and the value that is a slip above [SI]."""


@dataclass(frozen=True, slots=True)
class Inlined:
    """A rig file's text with its tables in it, and what kept a table out, each with its file and line."""

    text: str
    problems: tuple[str, ...]


class _NoTableError(Exception):
    """What the rig file names can't be a table: a problem of the rig file's line."""


class _WrongTableError(Exception):
    """Problems within a table's file, each with its own place."""


def with_tables(text: str, folder: Path, name: str) -> Inlined:
    """The text with each named table in place of its file's name.

    text: a rig file's, as it stands. folder: the rig file's own; tables are read from there or below. name: the rig
    file's, for messages. A text that isn't TOML is given back as it is: whoever reads it says what is wrong.
    """
    try:
        data = tomllib.loads(text)
        places = locate(text)
    except (ValueError, RecursionError):
        return Inlined(text, ())
    edits: list[tuple[int, int, str]] = []
    problems: list[str] = []
    for shape, at in _shapes(data):
        key = (*at, "file")
        if shape.get("kind") != "strapping" or "file" not in shape or "table" in shape or key not in places.values:
            continue
        try:
            rows = _table(shape["file"], folder, data)
            edits.extend(_edits(text, places, key, rows, str(shape["file"])))
        except _NoTableError as error:
            problems.append(f"{name}, line {places.line(key)}: {error}")
        except _WrongTableError as error:
            problems.extend(error.args)
    for start, end, new in sorted(edits, reverse=True):
        text = text[:start] + new + text[end:]
    return Inlined(text, tuple(problems))


def _shapes(data: dict[str, Any]) -> Iterator[tuple[dict[str, Any], Key]]:
    """The tanks' shapes and where they stand."""
    tanks = data.get("tank")
    for n, tank in enumerate(tanks if isinstance(tanks, list) else ()):
        shape = tank.get("shape") if isinstance(tank, dict) else None
        if isinstance(shape, dict):
            yield shape, ("tank", n, "shape")


def _edits(text: str, places: Places, key: Key, rows: Sequence[tuple[str, str]],
           file: str) -> Iterator[tuple[int, int, str]]:
    """The key and its value replaced, and the file's name as a comment where its line is free for one."""
    span = places.values[key]
    start = places.keys[key]
    written = text[start:span.start]
    at = written.rfind("file")  # after a dotted key's other names
    if at < 0:
        raise _NoTableError("the key file is written with escapes; write it plainly")
    table = ", ".join(f"[{_quoted(level)}, {_quoted(volume)}]" for level, volume in rows)
    end = text.find("\n", span.end)
    rest = text[span.end:end if end >= 0 else len(text)]
    said = f"  # from {file}" if not rest.strip() and key[:-1] in places.headers else ""
    yield start, span.end, f"{written[:at]}table{written[at + len('file'):]}[{table}]{said}"


def _quoted(cell: str) -> str:
    """A cell as TOML text; JSON's escapes are TOML's too."""
    return json.dumps(cell, ensure_ascii=False)


def _table(file: object, folder: Path, data: dict[str, Any]) -> list[tuple[str, str]]:
    """The rows of a table's file, each cell with its unit. Raises _NoTableError, _WrongTableError."""
    path = _path(file, folder)
    try:
        with path.open("rb") as stream:
            raw = stream.read(LARGEST + 1)
    except OSError as error:
        raise _NoTableError(f"the table's file {path.name} can't be opened: {error.strerror or error}") from None
    name = path.name
    if len(raw) > LARGEST:
        raise _WrongTableError(f"{name}: is larger than {LARGEST // 1000} kB; expected a table of levels and volumes")
    return _rows(_decoded(raw, name), name, data)


def _path(file: object, folder: Path) -> Path:
    """Where a table's file is: in the rig file's folder or below it, by its real path too."""
    if not isinstance(file, str) or not file.strip() or not file.isprintable():
        raise _NoTableError('file isn\'t the name of a file; expected one beside the rig file, like "suction.csv"')
    windows, posix = PureWindowsPath(file), PurePosixPath(file)
    if windows.drive or windows.root or posix.is_absolute() or ".." in windows.parts or file.startswith("~"):
        raise _NoTableError(f'"{file}" leads out of the rig file\'s folder; expected a file beside the rig file, like '
                            '"suction.csv"')
    try:
        home = folder.resolve()
        path = (folder / file).resolve()
        if not path.is_relative_to(home):
            raise _NoTableError(f'"{file}" is a link that leads out of the rig file\'s folder; expected the table '
                                "itself there")
        if not path.exists():
            raise _NoTableError(f'there is no file "{file}" in the rig file\'s folder, {home}; put the table there')
        if not path.is_file():
            raise _NoTableError(f'"{file}" isn\'t a file; expected a table, like "suction.csv"')
    except (OSError, ValueError, RuntimeError) as error:
        raise _NoTableError(f'"{file}" can\'t be looked for: {error}') from None
    return path


def _decoded(raw: bytes, name: str) -> str:
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise _WrongTableError(f"{name}, line 1: is written in UTF-16; save it as CSV UTF-8")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise _WrongTableError(f"{name}, line {line}: the byte {raw[error.start]:02X} isn't UTF-8; save the file as "
                               "CSV UTF-8") from None


def _rows(text: str, name: str, data: dict[str, Any]) -> list[tuple[str, str]]:
    """The rows below the headings, checked as the rig file's own table is."""
    ends = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    lines = [(n, line) for n, line in enumerate(ends, start=1)
             if line.strip() and not line.lstrip().startswith("#")]
    if not lines:
        raise _WrongTableError(f"{name}: is empty; expected the headings level and volume, and rows")
    separator, order, units = _headings(lines[0][1], lines[0][0], name, data)
    decimal = "," if data.get("decimal") == "," else "."
    if len(lines) - 1 > MOST_ROWS:
        raise _WrongTableError(f"{name}: has {len(lines) - 1} rows; expected at most {MOST_ROWS}")
    if len(lines) < 3:
        raise _WrongTableError(f"{name}: has fewer than two rows below its headings; expected two or more")
    problems: list[str] = []
    rows: list[tuple[str, str]] = []
    last = [float("-inf"), float("-inf")]
    for line, content in lines[1:]:
        cells = _cells(content, separator)
        if len(cells) != len(order):
            hint = "; a decimal comma needs semicolons between the cells" if separator == "," else ""
            problems.append(f"{name}, line {line}: has {len(cells)} cells, the headings have {len(order)}{hint}")
            continue
        row: list[str] = []
        for n, (what, dimension, most) in enumerate(COLUMNS):
            try:
                value, written = _cell(cells[order.index(what)], dimension, units[n], decimal)
            except QuantityError as error:
                problems.append(f"{name}, line {line}, {what}: {error}")
                break
            if value > most:
                problems.append(f"{name}, line {line}, {what}: {written} is too large to be real; check the unit")
            elif value <= last[n]:
                problems.append(f"{name}, line {line}, {what}: {written} doesn't rise; expected a {what} above that "
                                "of the row before")
            last[n] = value
            row.append(written)
        rows.append((row[0], row[1]) if len(row) == 2 else ("", ""))
    if problems:
        raise _WrongTableError(*problems)
    return rows


def _headings(line: str, number: int, name: str, data: dict[str, Any]) -> tuple[str, list[str], list[str | None]]:
    """Separator, the columns as they stand, and the units of level and volume, those of [units] where bare."""
    for separator in SEPARATORS:
        cells = [cell.casefold() for cell in _cells(line, separator)]
        order = [cell.split("[")[0].strip() for cell in cells]
        if sorted(order) == sorted(what for what, *_ in COLUMNS):
            break
    else:
        raise _WrongTableError(f"{name}, line {number}: the headings must be level and volume, like level [in], volume "
                               f"[bbl], set apart by commas, semicolons or tabs; found {line.strip()[:60]!r}")
    units: list[str | None] = []
    raw = _cells(line, separator)
    for what, dimension, _ in COLUMNS:
        heading = raw[order.index(what)]
        unit: object = None
        if "[" in heading:
            if not heading.endswith("]"):
                raise _WrongTableError(f"{name}, line {number}: {heading!r} has no closing bracket; expected "
                                       f"{what} [unit]")
            unit = heading[heading.index("[") + 1:-1].strip()
        else:
            own = data.get("units")
            unit = own.get(what) if isinstance(own, dict) else None
        units.append(_unit(unit, dimension, f"{name}, line {number}, {what}") if isinstance(unit, str) else None)
    return separator, order, units


def _unit(symbol: str, dimension: str, place: str) -> str | None:
    try:
        known = canonical(symbol, dimension)
        if known != FEET_INCHES and dimension_of(known) != dimension:
            wanted = "a level" if dimension == "length" else "a volume"
            raise _WrongTableError(f"{place}: {symbol} is no unit of {wanted}")
    except QuantityError as error:
        raise _WrongTableError(f"{place}: {error}") from None
    return known


def _cell(cell: str, dimension: str, unit: str | None, decimal: str) -> tuple[float, str]:
    """A cell's value [SI], and its text with the unit. Raises QuantityError."""
    try:
        return read_quantity(cell, dimension, decimal=decimal).value, cell
    except QuantityError:
        value = read_quantity(cell, dimension, decimal=decimal, bare=unit).value
    written = f"{cell} {unit}"
    if read_quantity(written, dimension, decimal=decimal).value != value:
        raise QuantityError(f"{cell!r} can't be read for certain; write it with its unit.")
    return value, written


def _cells(line: str, separator: str) -> list[str]:
    try:
        found = next(csv.reader(io.StringIO(line), delimiter=separator, strict=True), [])
    except csv.Error:
        return []
    return [cell.strip() for cell in found]
