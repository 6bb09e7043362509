"""Edits of a TOML text, as (start, end, new text): what isn't edited keeps every character. See ``locating``."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import tomlkit

from dipbook.rig.locating import Path, Places

Value = str | bool | int | float
Edit = tuple[int, int, str]


def edited(text: str, edits: Iterable[Edit]) -> str:
    """The text with the edits done; at one place they stand in the order given. text; edits: that don't overlap.

    Raises ValueError where they do.
    """
    begun = len(text)
    for start, end, new in sorted(edits, key=lambda edit: edit[:2])[::-1]:
        if end > begun:
            raise ValueError(f"edits of a text overlap at character {start}")
        text, begun = text[:start] + new + text[end:], start
    return text


def written(value: Value) -> str:
    """A value as TOML. value: a text, a number, true or false."""
    return tomlkit.item(value).as_string()


def line_end(text: str) -> str:
    """How the text's lines end."""
    return "\r\n" if "\r\n" in text else "\n"


def past_line(text: str, offset: int) -> int:
    """Where the line after a character begins. text; offset: of the character."""
    end = text.find("\n", offset)
    return len(text) if end < 0 else end + 1


def set_keys(places: Places, table: Path, keys: Sequence[tuple[str, str | None]]) -> list[Edit]:
    """The edits that set keys of one table: a value replaced, a new line after the table's last one, a line taken out.

    places: of the text. table: path of the table. keys: (key, value as TOML, or None to take it out). Raises KeyError
    if there is no such table.
    """
    edits: list[Edit] = []
    changed = {key: value for key, value in keys if value is None or (*table, key) not in places.values}
    if table in places.values and any(value is not None or (*table, key) in places.values
                                      for key, value in changed.items()):
        return [_inline(places, table, dict(keys))]
    for key, value in keys:
        span = places.values.get((*table, key))
        if value is None:
            edits += without_key(places, (*table, key))
        elif span is not None:
            edits.append((span.start, span.end, value))
    new = [(tomlkit.key(key).as_string(), value) for key, value in changed.items() if value is not None]
    return edits + _new_keys(places, table, new) if new else edits


def _inline(places: Places, table: Path, keys: dict[str, str | None]) -> Edit:
    """An inline table written anew with keys set (or out, None): it can hold no comment."""
    text, span = places.text, places.values[table]
    if text[span.start] != "{":
        raise KeyError(table)
    there = {str(path[-1]): text[at.start:at.end] for path, at in places.values.items()
             if len(path) == len(table) + 1 and path[:-1] == table}
    pairs = [f"{tomlkit.key(key).as_string()} = {value}" for key, value in (there | keys).items() if value is not None]
    return span.start, span.end, f"{{ {', '.join(pairs)} }}" if pairs else "{}"


def _new_keys(places: Places, table: Path, new: list[tuple[str, str]]) -> list[Edit]:
    text = places.text
    named = table
    while named not in places.ends and named in places.keys and named[:-1] not in places.values:
        named = named[:-1]  # dotted keys of the table above
    if named not in places.ends:
        if table:
            raise KeyError(table)
        return [(0, 0, "".join(f"{key} = {value}{line_end(text)}" for key, value in new))]
    dots = "".join(f"{tomlkit.key(str(part)).as_string()}." for part in table[len(named):])
    end = past_line(text, places.ends[named])
    before = "" if text[:end].endswith("\n") else line_end(text)
    return [(end, end, before + "".join(f"{dots}{key} = {value}{line_end(text)}" for key, value in new))]


def without_key(places: Places, path: Path) -> list[Edit]:
    """The edits that take one key of a table out, with its line; none where it isn't there.

    places: of the text; path: its own, not within an inline table.
    """
    if path not in places.values:
        return []
    return [(places.keys[path], past_line(places.text, places.values[path].end), "")]


def without_table(places: Places, path: Path) -> list[Edit]:
    """The edits that take a table and its sub-tables out, from header to last value; other comments stay.

    places: of the text; path: of the table.
    """
    return [(span.start, past_line(places.text, places.ends[table]), "") for table, span in places.headers.items()
            if table[:len(path)] == path]


def set_rows(places: Places, path: Path, old: Sequence[Sequence[str]], new: Sequence[Sequence[str]]) -> list[Edit]:
    """The edits that turn the rows of a list, each a list of texts, into others; the comments on rows that stay, stay.

    places: of the text. path: of the list. old: its rows as they read; new: as they shall read.
    """
    text, indent = places.text, ""
    head = 0
    while head < min(len(old), len(new)) and list(old[head]) == list(new[head]):
        head += 1
    tail = 0
    while tail < min(len(old), len(new)) - head and list(old[-1 - tail]) == list(new[-1 - tail]):
        tail += 1
    spans = [places.values[(*path, n)] for n in range(len(old))]
    if len(spans) > 1:
        indent = text[spans[0].end:spans[1].start].lstrip(",")
        indent = line_end(text) + indent.rpartition("\n")[2] if "\n" in indent else " "
    gap = "," + (indent or " ")
    gone, come = range(head, len(old) - tail), list(new[head:len(new) - tail])
    edits: list[Edit] = []
    for n, row in zip(gone, come, strict=False):
        for column, cell in enumerate(row):
            at = places.values.get((*path, n, column))
            if at is None or len(old[n]) != len(row):
                return [(*_ends(places, path), in_brackets(new))]
            if cell != old[n][column]:
                edits.append((at.start, at.end, written(cell)))
    more = [row_in_brackets(row) for row in come[len(gone):]]
    if more and not spans:
        return [(*_ends(places, path), in_brackets(new))]
    if more:
        after = head + min(len(gone), len(come))
        if after < len(spans):
            edits.append((spans[after].start, spans[after].start, "".join(row + gap for row in more)))
        else:
            edits.append((spans[-1].end, spans[-1].end, "".join(gap + row for row in more)))
    surplus = list(gone)[len(come):]
    if surplus:
        first, last = surplus[0], surplus[-1]
        if last + 1 < len(spans):
            edits.append((spans[first].start, spans[last + 1].start, ""))
        elif first:
            edits.append((spans[first - 1].end, spans[last].end, ""))
        else:
            return [(*_ends(places, path), "[]")]
    return edits


def row_in_brackets(row: Sequence[str]) -> str:
    """A row as TOML: ``["0 in", "0 bbl"]``. row: its texts."""
    return f"[{', '.join(written(cell) for cell in row)}]"


def in_brackets(rows: Sequence[Sequence[str]]) -> str:
    """Rows as TOML. rows: each a row of texts."""
    return f"[{', '.join(row_in_brackets(row) for row in rows)}]"


def _ends(places: Places, path: Path) -> tuple[int, int]:
    span = places.values[path]
    return span.start, span.end
