"""A readings file of any form: Dipbook's own as it is, another by what was said of it; then the same checks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from dipbook.exchange import dates, dialect, foreign, readings, sheets, tables
from dipbook.exchange import mapping as m
from dipbook.exchange.foreign import NOTHING_SAID, Foreign
from dipbook.exchange.headings import Column
from dipbook.exchange.mapping import Mapping
from dipbook.exchange.readings import ReadingsFile
from dipbook.findings import Finding
from dipbook.rig.model import Rig

LINES_KEPT, LONGEST_KEPT = 10, 300
"""How many of the rows left out are kept with the log, and how much of each."""
ANOTHER_FORM = frozenset({"no_heading", "separator", "encoding", "nul", "heading", "heading_twice", "no_tank"})
"""What is wrong with a file that may be read in another form."""

_WHAT = {meaning: what for what, meaning in {
    "level": m.LEVEL, "volume": m.VOLUME, "percent": m.PERCENT, "tank time": m.GAUGED_AT, "pump": m.PUMP,
    "bit depth": m.BIT_DEPTH, "hole depth": m.HOLE_DEPTH, "flow in": m.FLOW_IN, "activity": m.ACTIVITY}.items()}


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Rows that were left out because a person said so. count; lines: the first of them: (line, text, why)."""

    count: int
    lines: tuple[tuple[int, str, str], ...]


@dataclass(frozen=True, slots=True)
class Taken:
    """What is in a readings file. file: see there; other: how it was looked at where it is of another form, else None.

    could_leave_out: rows without which the rest could be read, 0 where there are none or that isn't enough.
    left_out: the rows that were, or None.
    """

    file: ReadingsFile
    other: Foreign | None = None
    could_leave_out: int = 0
    left_out: LeftOut | None = None


@dataclass(frozen=True, slots=True)
class _Source:
    """The rows as they stand in the file. encoding: "" for a workbook."""

    data: bytes
    rows: Sequence[Sequence[str]]
    separator: str
    encoding: str

    def text(self, lines: Sequence[int], line: int) -> str:
        """The row of a line, cut to what is kept. lines: those of the rows."""
        if line in lines:
            return self.separator.join(self.rows[list(lines).index(line)])[:LONGEST_KEPT]
        written = self.data.decode(self.encoding, errors="replace").splitlines() if self.encoding else []
        return written[line - 1][:LONGEST_KEPT] if line <= len(written) else ""


def take(data: bytes, name: str, rig: Rig, said: Mapping = NOTHING_SAID, *, good_rows_only: bool = False) -> Taken:
    """Read a readings file.

    data: its bytes; name: for messages; rig: its tanks, pumps, units and zone; said: of a file of another form.
    good_rows_only: True to leave out the rows that can't be read, instead of refusing the file.
    Never raises for what is in the file: see the findings of ``file``.
    """
    if said == NOTHING_SAID and not sheets.is_workbook(data):
        table, columns, found = readings.opened(data, name, rig)
        errors = [f for f in found if f.severity == "error" and f.code != "width"]
        if not errors:
            taken = _rows(table, columns, rig, found, (), good_rows_only, _Source(data, table.rows, ",", "utf-8"))
            if taken.file.ok or not _other_decimal(table, columns, rig, taken.file):
                return taken
        elif not any(f.code in ANOTHER_FORM for f in errors):
            return Taken(_nothing(name, table.digest, rig, found))
        other = foreign.look(data, name, rig)
        if not other.ready and any(c.what in ("level", "volume", "percent") for c in columns):
            return Taken(_nothing(name, table.digest, rig, found), other)
    else:
        other = foreign.look(data, name, rig, said)
    if not other.ready:
        return Taken(_nothing(name, other.digest, rig, foreign.findings(other)), other)
    table, columns, no_times = as_table(other)
    findings = [Finding(what, code="width", severity="error", file=name, line=line, kept=False)
                for line, what in other.torn_off]
    source = _Source(data, other.rows, other.mapping.separator or ",",
                     other.mapping.encoding or (other.encoding.name if other.encoding else ""))
    taken = _rows(table, columns, replace(rig, decimal=other.mapping.decimal), tables.told_once(findings), no_times,
                  good_rows_only, source)
    return replace(taken, other=other)


def as_table(f: Foreign) -> tuple[tables.Table, tuple[Column, ...], tuple[tuple[int, str], ...]]:
    """A file of another form as a table of Dipbook's own.

    f: one that is ready. Returns (table, its columns under the file's own headings, (row, why) of times that can't be
    read). A file with one dip a row keeps its rows, each with one tank, so that a line stays a line.
    """
    mapping = f.mapping
    offset = "" if mapping.zone in ("", m.RIGS_ZONE) else mapping.zone
    times, no_times = dates.plain(foreign.stamps(f), mapping.dates or dates.YEAR_FIRST, offset)
    if mapping.long:
        _nameless(f, times, no_times)
    when = [c.heading for c in mapping.columns if c.meaning in (m.TIME, m.DATE, m.CLOCK)]
    columns = [Column(0, " and ".join(when), "time")]
    cells: list[Sequence[str]] = [times]
    for i, c in enumerate(mapping.columns):
        what = _WHAT.get(c.meaning)
        if what is not None:
            unit = "%" if c.meaning == m.PERCENT else c.unit
            columns.append(Column(len(cells), c.heading or f"{i + 1}", what, c.name, unit))
            cells.append([row[i] for row in f.rows])
    if mapping.long:
        _one_dip_a_row(f, columns, cells)
    rows = list(zip(*cells, strict=True))
    table = tables.Table(f.name, tuple(c.heading for c in columns), rows, f.lines, f.heading_line, mapping.separator,
                         f.digest, (), f.torn_off)
    return table, tuple(columns), tuple(no_times)


def _nameless(f: Foreign, times: list[str], wrong: list[tuple[int, str]]) -> None:
    """Take the time from rows whose value is of no tank, or is a bare number without a unit: they can't be read."""
    at, value = f.mapping.places(m.TANK)[0], f.mapping.places(m.VALUE)[0]
    unit_at = f.mapping.places(m.UNIT)
    for i, row in enumerate(f.rows):
        given = row[value].strip()
        if given and not row[at].strip():
            times[i] = ""
            wrong.append((i, "there is a value, and no tank is named"))
        elif given and unit_at and not row[unit_at[0]].strip() and given[-1].isdigit():
            times[i] = ""
            wrong.append((i, f"{given[:40]!r} has no unit"))


def _one_dip_a_row(f: Foreign, columns: list[Column], cells: list[Sequence[str]]) -> None:
    """Give each tank a column, filled where a row is of that tank."""
    mapping = f.mapping
    at, value = mapping.places(m.TANK)[0], mapping.places(m.VALUE)[0]
    unit_at = mapping.places(m.UNIT)
    tank_of = dict(mapping.tanks)
    names = [tank_of.get(row[at].strip(), "") for row in f.rows]
    values = [row[value].strip() for row in f.rows]
    if unit_at:
        units = [row[unit_at[0]].strip() for row in f.rows]
    else:
        units = [mapping.columns[value].unit] * len(values)
    heading = mapping.columns[value].heading or f"{value + 1}"
    for tank in dict.fromkeys(name for name in names if name):
        here = {u for u, n, v in zip(units, names, values, strict=True) if n == tank and v}
        one = next(iter(here)) if len(here) == 1 else ""
        symbol = m.unit_of(one)
        if symbol:
            what = "level" if m.dimension_of(symbol) == "length" else "volume"
            columns.append(Column(len(cells), heading, what, tank, symbol))
            cells.append([v if n == tank else "" for n, v in zip(names, values, strict=True)])
        else:
            columns.append(Column(len(cells), heading, "level", tank, ""))
            cells.append([_with_unit(v, u) if n == tank else ""
                          for n, v, u in zip(names, values, units, strict=True)])


def _with_unit(value: str, unit: str) -> str:
    return value if not value or not unit or value.casefold() == "same" else f"{value} {unit}"


def _rows(table: tables.Table, columns: Sequence[Column], rig: Rig, found: Sequence[Finding],
          no_times: Sequence[tuple[int, str]], good_rows_only: bool, source: _Source) -> Taken:
    """Read the rows of a table, all or only the good ones."""
    if not table.rows:
        return Taken(_nothing(table.name, table.digest, rig, found))
    file = readings.of_table(table, columns, rig, found, no_times=no_times)
    if file.ok:
        return Taken(file)
    rest, bad = _good(table, columns, rig, found, no_times, file)
    if rest is None:
        return Taken(file)
    if not good_rows_only:
        return Taken(file, None, len(bad))
    left_out = LeftOut(len(bad), tuple((line, source.text(table.lines, line), why)
                                       for line, why in sorted(bad.items())[:LINES_KEPT]))
    lines = ", ".join(str(line) for line, _, _ in left_out.lines)
    more = " and more" if left_out.count > LINES_KEPT else ""
    said = Finding(f"{left_out.count} {'row is' if left_out.count == 1 else 'rows are'} left out (line {lines}{more}), "
                   "because they can't be read: what was gauged then is not in the log", code="left_out",
                   severity="warning", file=table.name, kept=False)
    return Taken(replace(rest, findings=(said, *rest.findings)), None, 0, left_out)


def _good(table: tables.Table, columns: Sequence[Column], rig: Rig, found: Sequence[Finding],
          no_times: Sequence[tuple[int, str]], file: ReadingsFile) -> tuple[ReadingsFile | None, dict[int, str]]:
    """What the good rows hold, None if there are none, and the others' lines with what is wrong.

    Once a row is out, one that says "same" goes too: it isn't known what it is the same as.
    """
    bad: dict[int, str] = {}
    words = [f for f in found if f.code != "width"]
    no_time = dict(no_times)
    while not file.ok:
        more = {line: why for line, why in file.bad if line not in bad}
        if not more:
            return None, bad
        bad.update(more)
        for line in file.same:
            bad.setdefault(line, "it says “same”, and a row before it may have been left out")
        keep = [i for i, line in enumerate(table.lines) if line not in bad]
        if not keep:
            return None, bad
        rest = replace(table, rows=[table.rows[i] for i in keep], lines=[table.lines[i] for i in keep], torn_off=())
        file = readings.of_table(rest, columns, rig, words, no_times=[
            (new, no_time[i]) for new, i in enumerate(keep) if i in no_time])
    return file, bad


def _other_decimal(table: tables.Table, columns: Sequence[Column], rig: Rig, file: ReadingsFile) -> bool:
    """True if a file in Dipbook's own form shows by its numbers that it writes the other decimal sign."""
    if not any(f.code == "unreadable" for f in file.findings):
        return False
    places = [c.index for c in columns if c.what not in ("time", "tank time", "activity", "flow out")]
    shown = dialect.decimals(row[i].strip() for row in table.rows[:dialect.LOOKED_AT] for i in places)
    return len(shown) == 1 and shown[0] != rig.decimal


def _nothing(name: str, digest: str, rig: Rig, found: Sequence[Finding]) -> ReadingsFile:
    return ReadingsFile(name, digest, "", 0, (), (), None, None, rig.zone, tuple(found))
