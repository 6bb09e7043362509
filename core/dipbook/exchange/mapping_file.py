"""A mapping as a small TOML file that a person can read and change, and back."""

from __future__ import annotations

import tomllib
from typing import Any

import tomlkit

from dipbook.errors import ImportFileError
from dipbook.exchange.dates import FORMS
from dipbook.exchange.mapping import MEANINGS, RIGS_ZONE, ColumnMeaning, Mapping

FORMAT = 1
PLAIN = ("encoding", "separator", "decimal", "sheet", "dates", "zone")
"""Keys at the top of the file whose values are texts; they may be left out."""
_COLUMN = {"heading": "heading", "is": "meaning", "of": "name", "unit": "unit"}
HEAD = "How a readings file of another form is read by Dipbook: docs/files.md, “Files of other forms”."
TO_FILL_IN = ("Fill in each is = \"\"; a tank's or pump's column needs of = \"its name\" as well, and a level, volume, "
              "depth or rate its unit = \"cm\" or the like.")
BLANKS = {"dates": f"{', '.join(FORMS)}; blank where the file shows it",
          "zone": f"{RIGS_ZONE}, or an offset like +01:00; blank where each time has its own"}
"""Keys that are written though nobody has said them, and what may be filled in."""


def as_text(mapping: Mapping) -> str:
    """The mapping as TOML; where a column is unsaid, with what may be filled in beside it. mapping: any."""
    document = tomlkit.document()
    document.add(tomlkit.comment(HEAD))
    unsaid = any(not c.meaning for c in mapping.columns)
    if unsaid:
        document.add(tomlkit.comment(TO_FILL_IN))
    document.add("format", tomlkit.item(FORMAT))
    for key in PLAIN:
        if getattr(mapping, key):
            document.add(key, tomlkit.item(getattr(mapping, key)))
        elif unsaid and key in BLANKS:
            document.add(key, tomlkit.item("").comment(BLANKS[key]))
    if mapping.heading_row:
        document.add("heading_row", tomlkit.item(mapping.heading_row))
    if mapping.tanks:
        tanks = tomlkit.table()
        for word, tank in mapping.tanks:
            tanks.add(tomlkit.key([word]) if not word.isidentifier() else word, tank)
        document.add("tanks", tanks)
    columns = tomlkit.aot()
    for c in mapping.columns:
        column = tomlkit.table()
        for key, name in _COLUMN.items():
            if getattr(c, name) or key == "heading":
                column.add(key, getattr(c, name))
            elif not c.meaning and key == "is":
                column.add(key, tomlkit.item("").comment(f"one of {', '.join(MEANINGS)}"))
        columns.append(column)
    if mapping.columns:
        document.add("column", columns)
    return tomlkit.dumps(document)


def from_text(text: str, name: str) -> Mapping:
    """The mapping of a TOML file.

    text: of the file; name: for messages. Raises ImportFileError, with every problem, for what can't be a mapping.
    """
    try:
        content = tomllib.loads(text.removeprefix("\ufeff"))
    except tomllib.TOMLDecodeError as error:
        raise ImportFileError(f"{name}: this is no TOML ({error}). See docs/files.md.") from None
    wrong: list[str] = []
    known = {"format", "heading_row", "tanks", "column", *PLAIN}
    wrong += [f"there is no key {key!r}; known are {', '.join(sorted(known))}" for key in content if key not in known]
    if content.get("format") != FORMAT:
        wrong.append(f"it has to say format = {FORMAT}")
    plain = {key: _text(content, key, key, wrong) for key in PLAIN}
    row = content.get("heading_row", 0)
    if type(row) is not int or row < 0:
        wrong.append("heading_row has to be a line's number")
        row = 0
    told = content.get("tanks", {})
    if not isinstance(told, dict) or not all(isinstance(tank, str) for tank in told.values()):
        wrong.append("[tanks] has to be words of the file and names of tanks, as texts")
        told = {}
    found = content.get("column", [])
    if not isinstance(found, list) or not all(isinstance(column, dict) for column in found):
        wrong.append("each column has to stand under [[column]]")
        found = []
    columns = tuple(_column(column, n, wrong) for n, column in enumerate(found, 1))
    if wrong:
        raise ImportFileError("\n".join(f"{name}: {what}" for what in wrong))
    return Mapping(columns, tanks=tuple(told.items()), heading_row=row, **plain)


def _column(content: dict[str, Any], n: int, wrong: list[str]) -> ColumnMeaning:
    wrong += [f"column {n}: there is no key {key!r}; known are {', '.join(_COLUMN)}"
              for key in content if key not in _COLUMN]
    if "heading" not in content:
        wrong.append(f"column {n}: its heading is missing")
    return ColumnMeaning(**{name: _text(content, key, f"column {n}: {key}", wrong) for key, name in _COLUMN.items()})


def _text(content: dict[str, Any], key: str, said: str, wrong: list[str]) -> str:
    value = content.get(key, "")
    if not isinstance(value, str):
        wrong.append(f"{said} has to be a text in quotes")
        return ""
    return value
