"""Long readings files at the speed of a reader of columns: what is plain all through. Anything else is left to the
careful reader, which says what is wrong and where."""

from __future__ import annotations

import hashlib
import io
import re
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from dipbook import quantities
from dipbook.errors import QuantityError
from dipbook.exchange import tables, times
from dipbook.exchange.cells import exactly
from dipbook.exchange.headings import Column, read_headings
from dipbook.exchange.readings_rows import ReadingsFile, RowsReader
from dipbook.rig.model import Rig

LEAST_BYTES = 4_000_000
"""A shorter file is read with care at once; a longer one is worth the reader of columns being loaded (a tenth of a
second; our choice, by docs/performance.md)."""
HEAD_BYTES = 65_536
"""The heading stands in the first bytes."""
FORMS = {16: "%Y-%m-%d %H:%M", 19: "%Y-%m-%d %H:%M:%S", 23: "%Y-%m-%d %H:%M:%S%.3f"}
"""Length of a time without its offset -> how it is written."""
MOST_PLACES = 15
"""Digits behind a point with which a number still comes out exactly (``cells.exactly``): 10**16 is beyond 2**53."""
PLAIN = b"0123456789.,;\t\r\n-+:TZz "
"""Bytes of a file that may be plain all through."""


class _NotPlainError(Exception):
    """Something needs the careful reader."""


def parse_long(data: bytes, name: str, rig: Rig) -> ReadingsFile | None:
    """What ``readings.parse`` gives of a long file that is plain all through: times written alike, numbers with a
    point, as many cells in every row. None of a short file, and of one in which anything is to be said or looked at
    closely.

    data, name, rig: as of ``readings.parse``.
    """
    if len(data) < LEAST_BYTES or rig.decimal != "." or not data.endswith(b"\n"):
        return None
    try:
        return _read(data, name, rig)
    except _NotPlainError:
        return None


def _read(data: bytes, name: str, rig: Rig) -> ReadingsFile:
    head = tables.read(data[:data.rfind(b"\n", 0, HEAD_BYTES) + 1], name)
    columns, found = read_headings(head.header, rig, name, head.heading_line) if head.ok else ((), ())
    usual = all(c.what == "time" or (c.what in ("level", "volume") and c.unit in quantities.UNITS) for c in columns)
    if not head.ok or head.findings or found or not usual or len(columns) != len(head.header) or len(columns) < 2:
        raise _NotPlainError
    begin = 0
    for _ in range(head.heading_line):
        begin = data.index(b"\n", begin) + 1
    body = data[begin:]
    if body.translate(None, PLAIN):
        raise _NotPlainError
    file = _LongReader(body, data, name, head, columns, rig).read()
    if file.findings:
        raise _NotPlainError
    return file


class _Unread(dict[int, Sequence[str]]):
    """No cell is looked at by itself here."""

    def __missing__(self, key: int) -> Sequence[str]:
        raise _NotPlainError


class _LongReader(RowsReader):
    """Reads the rows as columns; what it would have to say something about is not plain."""

    def __init__(self, body: bytes, data: bytes, name: str, head: tables.Table, columns: Sequence[Column],
                 rig: Rig) -> None:
        import polars

        clock = next(str(c.index) for c in columns if c.what == "time")
        schema = {str(c.index): polars.String if c.what == "time" else polars.Float64 for c in columns}
        sep, self._signs = head.separator.encode(), body.translate(None, b"0123456789.")
        if re.search(rb"\.[^0-9]", body):
            raise _NotPlainError
        try:
            self._frame = polars.read_csv(io.BytesIO(body), has_header=False, separator=head.separator, schema=schema,
                                          quote_char=None)
        except polars.exceptions.PolarsError:
            raise _NotPlainError from None
        rows = self._frame.height
        # A row that is too short, or a blank one, would be filled up in silence.
        if not rows or self._signs.count(sep) != rows * (len(columns) - 1) or self._signs.count(b"\n") != rows \
                or self._frame[clock].null_count():
            raise _NotPlainError
        self._places = _most_places(body)
        lines = range(head.heading_line + 1, head.heading_line + 1 + rows)
        digest = hashlib.sha256(data).hexdigest()
        table = tables.Table(name, head.header, (), lines, head.heading_line, head.separator, digest, ())
        super().__init__(table, columns, rig, [], {})

    def _cells(self) -> Mapping[int, Sequence[str]]:
        return _Unread()

    def times(self, clock: Column) -> tuple[Any, list[tuple[int, str]]]:
        """All alike, with one offset or none, and none near a change of the clocks."""
        texts = self._frame[str(clock.index)]
        first = str(texts[0])
        suffix = times.suffix_of(first)
        form = FORMS.get(len(first) - len(suffix))
        seconds = {16: "", 19: r":[0-5]\d", 23: r":[0-5]\d\.\d{3}"}.get(len(first) - len(suffix), "")
        shape = r"^\d{4}-\d\d-\d\d[T ]\d\d:\d\d" + seconds + suffix.replace("+", r"\+") + "$"
        if form is None or not texts.str.contains(shape).all():
            raise _NotPlainError
        # Every time has as many signs; any more stand in a number, and no plain number has one.
        marks = first.encode()
        for signs in (b"-", b"+", b":", b"Zz", b"T "):
            if sum(map(self._signs.count, signs)) != len(texts) * sum(map(marks.count, signs)):
                raise _NotPlainError
        bare = texts.str.head(len(first) - len(suffix)).str.replace("T", " ", literal=True)
        stamps = bare.str.to_datetime(form, time_unit="ms", strict=False)
        if stamps.null_count():
            raise _NotPlainError
        t_ms = stamps.to_physical().to_numpy().astype(np.int64)
        if not times.FIRST_YEAR <= int(str(texts.min())[:4]) <= int(str(texts.max())[:4]) <= times.LAST_YEAR:
            raise _NotPlainError
        if suffix:
            try:
                return t_ms - times.offset_ms(first, suffix), []
            except QuantityError:
                raise _NotPlainError from None
        local = times.to_utc(t_ms, self.rig.zone)
        if local is None:
            raise _NotPlainError
        return local, []

    def plain(self, c: Column) -> tuple[Any, list[int]]:
        """Every cell, blank or digits with a point inside."""
        found = self._frame[str(c.index)].to_numpy().astype(np.float64, copy=False)
        made = exactly(found, self._places, quantities.UNITS[c.unit].factor)
        if made is None:
            raise _NotPlainError
        return made, []

    def _error(self, row: int, c: Column, what: str, code: str, tank: str = "") -> None:
        raise _NotPlainError


def _most_places(body: bytes) -> int:
    """How many digits stand behind a point at most, 1 where none does; more than a float tells apart are not plain."""
    places = 1
    while re.search(rb"\.\d{%d}" % (places + 1), body):
        places += 1
        if places > MOST_PLACES:
            raise _NotPlainError
    return places
