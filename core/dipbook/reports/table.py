"""A table of a report: columns that say what they measure, rows of plain values, and how a value is written.

Paper, file and screen all write a value by these functions, so that none shows another figure than the others.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from math import isfinite

from dipbook.exchange.times import zone_info
from dipbook.quantities import UNKNOWN, write_number
from dipbook.reports.adding import shown
from dipbook.reports.spans import Span, offset

TEXT, TIME, VOLUME, SIGNED, U, LENGTH, FLOW, MASS, SPAN, COUNT = (
    "text", "time", "volume", "signed", "u", "length", "flow", "mass", "span", "count")
"""What a column holds: words; a time [UTC ms]; a volume [m3]; one with its sign; one standard uncertainty of a volume
(k = 1) [m3], written as ± at k = 2; a length [m]; a flow [m3/s]; a mass [kg]; a length of time [ms]; a whole number."""
QUANTITIES = (VOLUME, SIGNED, U, LENGTH, FLOW, MASS)
MOST_DIGITS = 4
"""Decimals of an uncertainty that is small."""
DAY_MS = 86_400_000
MINUTE_MS = 60_000

Value = str | float | int | None
"""A cell: words or a number as its column says; "" where it has no meaning, None where it isn't known."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column. heading. what: of the words above. unit: symbol and digits: decimals of a quantity. paper: it stands
    on the paper too, not in the file alone."""

    heading: str
    what: str = TEXT
    unit: str = ""
    digits: int = 0
    paper: bool = True


@dataclass(frozen=True, slots=True)
class Row:
    """One row. cells: a value a column. strong: a total. paper: it stands on the paper too. held: its volumes are what
    is held, no changes, and are written without a +."""

    cells: tuple[Value, ...]
    strong: bool = False
    paper: bool = True
    held: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """One table. name: of its file. title. columns; rows. note: words below it. none: words in place of no rows."""

    name: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    note: str = ""
    none: str = ""


@dataclass(frozen=True, slots=True)
class Writing:
    """How values are written. zone: IANA name; decimal: the crew's sign. span: of the report: times have their date
    where it is longer than a day, and their offset where the clocks are changed in it."""

    zone: str
    decimal: str
    span: Span

    def clock(self, t_ms: int) -> str:
        """``02:15``, ``14 Mar 02:15``, ``01:30 −05:00``. t_ms: [UTC ms]."""
        local = datetime.fromtimestamp(t_ms / 1000, UTC).astimezone(zone_info(self.zone))
        far = self.span.ms > DAY_MS or abs(t_ms - self.span.to_ms) > DAY_MS
        day = f"{local.day} {local:%b} " if far else ""
        return f"{day}{local:%H:%M}" + (f" {offset(t_ms, self.zone)}" if self.span.two_offsets(self.zone) else "")


def on_paper(column: Column, value: Value, by: Writing, *, held: bool = False) -> str:
    """A cell as a person reads it. column, value: of a table. by: how. held: of its row."""
    if value is None:
        return UNKNOWN
    if isinstance(value, str):
        return value
    if column.what == TIME:
        return by.clock(int(value))
    if column.what == SPAN:
        hours, minutes = divmod(round(value / MINUTE_MS), 60)
        return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"
    if column.what == COUNT:
        return str(int(value))
    if column.what == U:
        said = write_number(2 * value, column.unit, digits=_u_digits(column, value), decimal=by.decimal)
        return f"± {said}"
    return write_number(value, column.unit, digits=column.digits, decimal=by.decimal,
                        sign=column.what == SIGNED and not held)


def in_file(column: Column, value: Value, by: Writing) -> str | float | int | None:
    """A cell as a file has it: the figure of the paper as a plain number, times with their offset, minutes of a length
    of time, blank where it isn't known. column, value: of a table. by: how."""
    if value is None or isinstance(value, str):
        return value or None
    if column.what == TIME:
        moment = datetime.fromtimestamp(value / 1000, UTC).astimezone(zone_info(by.zone))
        return moment.isoformat(timespec="seconds")
    if column.what == SPAN:
        return round(value / MINUTE_MS)
    if column.what == COUNT:
        return int(value)
    if not isfinite(value):
        return None
    digits, worth = (_u_digits(column, value), 2 * value) if column.what == U else (column.digits, value)
    said = shown(worth, column.unit, digits)
    return str(abs(said)) if said == 0 else str(said)


def heading_in_file(column: Column) -> str:
    """``volume [bbl]``: a heading with its unit, as files of readings have them. column: of a table."""
    unit = column.unit or ("min" if column.what == SPAN else "")
    more = ", 2u" if column.what == U else ""
    return f"{column.heading}{more} [{unit}]" if unit else column.heading


def _u_digits(column: Column, u: float) -> int:
    """Decimals of an uncertainty: a small one isn't nothing."""
    digits = column.digits
    while u > 0 and shown(2 * u, column.unit, digits) == 0 and digits < MOST_DIGITS:
        digits += 1
    return digits
