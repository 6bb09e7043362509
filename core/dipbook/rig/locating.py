"""Where each key of a TOML text stands: its line for messages, its characters for rewriting.

The text must already be valid TOML (tomllib has read it). A path is a tuple such as
``("tank", 3, "shape", "table", 0, 1)``: names of keys and numbers of rows, from 0.
"""

from __future__ import annotations

import tomllib
from bisect import bisect_right
from dataclasses import dataclass, field

Path = tuple[str | int, ...]

_SPACE = " \t\r\n"
_STOP = "\n,]}#"  # a date and its time may have a space between them


@dataclass(frozen=True, slots=True)
class Span:
    """Characters start to end (end not included) of the text."""

    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Places:
    """Places in one text.

    headers: path of a table -> its header's span. values: path of a key or row -> its value's span.
    keys: path of a key -> where the key itself starts. ends: path of a table -> where its last value ends.
    """

    text: str
    headers: dict[Path, Span] = field(default_factory=dict)
    values: dict[Path, Span] = field(default_factory=dict)
    keys: dict[Path, int] = field(default_factory=dict)
    ends: dict[Path, int] = field(default_factory=dict)
    line_starts: list[int] = field(default_factory=list)

    def line(self, path: Path) -> int:
        """The line, from 1, of the key, row or table at a path; of what holds it if it isn't there itself. path: its
        own."""
        for n in range(len(path), 0, -1):
            part = path[:n]
            if part in self.keys:
                return self.line_at(self.keys[part])
            if part in self.headers:
                return self.line_at(self.headers[part].start)
            if part in self.values:
                return self.line_at(self.values[part].start)
        return 1

    def line_at(self, offset: int) -> int:
        """The line, from 1, of a character. offset: its number, from 0."""
        return bisect_right(self.line_starts, offset)


def locate(text: str) -> Places:
    """Find the places of all keys in a valid TOML text."""
    places = Places(text)
    places.line_starts.append(0)
    places.line_starts.extend(i + 1 for i, c in enumerate(text) if c == "\n")
    _Scanner(text, places).run()
    return places


class _Scanner:
    """One pass over the text."""

    def __init__(self, text: str, places: Places) -> None:
        self.text = text
        self.places = places
        self.at = 0
        self.rows: dict[Path, int] = {}

    def run(self) -> None:
        table: Path = ()
        while self.skip():
            start = self.at
            if self.text.startswith("[[", start):
                self.at += 2
                name = self.key("]")
                parent = self.resolve(name[:-1])
                path = (*parent, name[-1])
                row = self.rows[path] = self.rows.get(path, -1) + 1
                table = (*path, row)
                self.at += 2
                self.places.headers[table] = Span(start, self.at)
                self.places.ends[table] = self.at
            elif self.text[start] == "[":
                self.at += 1
                table = self.resolve(self.key("]"))
                self.at += 1
                self.places.headers[table] = Span(start, self.at)
                self.places.ends[table] = self.at
            else:
                self.pair(table)
                self.places.ends[table] = self.at

    def resolve(self, name: Path) -> Path:
        """The path with the number of the latest row after each array of tables."""
        path: Path = ()
        for part in name:
            path = (*path, part)
            if path in self.rows:
                path = (*path, self.rows[path])
        return path

    def skip(self) -> bool:
        """Step over blanks, line ends and comments; False at the end of the text."""
        text, n = self.text, len(self.text)
        while self.at < n:
            c = text[self.at]
            if c == "#":
                end = text.find("\n", self.at)
                self.at = n if end < 0 else end
            elif c in _SPACE:
                self.at += 1
            else:
                return True
        return False

    def key(self, until: str) -> Path:
        """A dotted key up to, not over, the character ``until``."""
        parts: list[str] = []
        while self.skip() and self.text[self.at] != until:
            c = self.text[self.at]
            if c == ".":
                self.at += 1
            elif c in "\"'":
                start = self.at
                self.string()
                parts.append(_unquoted(self.text[start:self.at]))
            else:
                start = self.at
                while self.at < len(self.text) and self.text[self.at] not in " \t." + until:
                    self.at += 1
                parts.append(self.text[start:self.at])
        return tuple(parts)

    def pair(self, table: Path) -> None:
        """``key = value``."""
        start = self.at
        path = table
        for part in self.key("="):
            path = (*path, part)
            self.places.keys.setdefault(path, start)
        self.at += 1
        self.value(path)

    def value(self, path: Path) -> None:
        self.skip()
        start = self.at
        c = self.text[start]
        if c in "\"'":
            self.string()
        elif c == "[":
            self.array(path)
        elif c == "{":
            self.inline(path)
        else:
            while self.at < len(self.text) and self.text[self.at] not in _STOP:
                self.at += 1
            self.at = start + len(self.text[start:self.at].rstrip())
        self.places.values[path] = Span(start, self.at)

    def array(self, path: Path) -> None:
        self.at += 1
        row = 0
        while self.skip() and self.text[self.at] != "]":
            if self.text[self.at] == ",":
                self.at += 1
                continue
            self.value((*path, row))
            row += 1
        self.at += 1

    def inline(self, path: Path) -> None:
        self.at += 1
        while self.skip() and self.text[self.at] != "}":
            if self.text[self.at] == ",":
                self.at += 1
                continue
            self.pair(path)
        self.at += 1

    def string(self) -> None:
        """Step over a string of any of the four kinds."""
        text, quote = self.text, self.text[self.at]
        triple = text.startswith(quote * 3, self.at)
        mark = quote * 3 if triple else quote
        self.at += len(mark)
        while not text.startswith(mark, self.at):
            self.at += 2 if quote == '"' and text[self.at] == "\\" else 1
        self.at += len(mark)
        if triple:  # up to two more quotes belong to the string
            for _ in range(2):
                if text.startswith(quote, self.at):
                    self.at += 1


def _unquoted(written: str) -> str:
    """The name that a quoted key means."""
    (name,) = tomllib.loads(f"{written} = 0")
    return name
