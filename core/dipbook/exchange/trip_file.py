"""A trip file (CSV) to the rows of a trip: one row a stand, a fill, a refill or a flow check."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import isnan, nan

from dipbook import quantities
from dipbook.entries.fields import match, suggestion
from dipbook.entries.plausible import BEYOND
from dipbook.errors import QuantityError
from dipbook.exchange import tables, times
from dipbook.exchange.headings import split_unit
from dipbook.exchange.readings_rows import TOLERANCE
from dipbook.findings import Finding
from dipbook.quantities.aliases import shown
from dipbook.rig.model import Rig
from dipbook.tanks.tank import Tank
from dipbook.trips.rows import KINDS, STAND, Row

PLAIN = ("time", "kind", "stand", "bit depth", "strokes", "from", "remark")
"""Columns that aren't a tank. ``time`` is needed, and a tank or strokes; blanks are allowed everywhere else."""

MOST_STANDS, MOST_STROKES = 10_000, 1_000_000
"""Numbers in a row from these on are taken for slips of the key (our choice, no source)."""


@dataclass(frozen=True, slots=True)
class TripFile:
    """rows: by time, one at a time in the file's order. tanks: those it gives levels of. findings: by line."""

    rows: tuple[Row, ...]
    tanks: tuple[str, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class _Column:
    index: int
    heading: str
    what: str       # of PLAIN, or "tank"
    name: str = ""
    unit: str = ""


def parse(data: bytes, name: str, rig: Rig) -> TripFile:
    """Read a trip file.

    data: its bytes. name: for messages. rig: its tanks, units, zone and decimal sign. Never raises for what is in the
    file: what is wrong is an error among ``findings``, with its line and column, and then there are no rows.
    """
    table = tables.read(data, name)
    findings = list(table.findings)
    if not table.ok:
        return TripFile((), (), tuple(findings))
    if not table.rows:
        findings.append(_error(name, table.heading_line, "", "there are headings but no rows: the file is cut short, "
                               "export it again", "no_rows"))
    columns: list[_Column] = []
    for i, heading in enumerate(table.header):
        if not heading:
            continue
        try:
            columns.append(_column(i, heading, rig))
        except QuantityError as error:
            findings.append(_error(name, table.heading_line, heading, str(error), "heading"))
    known = [c.name or c.what for c in columns]
    findings += [_error(name, table.heading_line, c.heading, "this column stands here twice: keep one", "heading_twice")
                 for n, c in enumerate(columns) if (c.name or c.what) in known[:n]]
    if not any(f.code == "heading" for f in findings) and not any(c.what in ("tank", "strokes") for c in columns):
        findings.append(_error(name, table.heading_line, "", "there is no trip tank and no strokes among the columns: "
                               "what the hole took can't be told", "no_tank"))
    if any(f.severity == "error" for f in findings):
        return TripFile((), (), tuple(findings))
    clock = next(c for c in columns if c.what == "time")
    stamps, wrong = times.parse_all([row[clock.index].strip() for row in table.rows], rig.zone)
    findings += [_error(name, table.lines[i], clock.heading, what, "time") for i, what in wrong]
    read = [_row(cells, line, int(t), columns, rig, name, findings)
            for cells, line, t in zip(table.rows, table.lines, stamps.tolist(), strict=True)]
    rows = [row for row in read if row is not None]
    if not wrong:
        findings += _which_first(rows, clock, name)
    told = tables.told_once(sorted(findings, key=lambda f: f.line or 0))
    if any(f.severity == "error" for f in told):
        return TripFile((), (), told)
    rows.sort(key=lambda r: r.t_ms)
    return TripFile(tuple(rows), tuple(c.name for c in columns if c.what == "tank"), told)


def _which_first(rows: Sequence[Row], clock: _Column, name: str) -> list[Finding]:
    """Errors on rows of one time in a file that isn't by time: which of them came first can't be told."""
    if all(a.t_ms <= b.t_ms for a, b in pairwise(rows)):
        return []
    seen: dict[int, int | None] = {}
    found: list[Finding] = []
    for row in rows:
        if row.t_ms in seen:
            found.append(_error(name, row.line or 0, clock.heading, f"line {seen[row.t_ms]} has the same time, and the "
                                "rows aren't by time: which came first can't be told. Put the rows in order, or give "
                                "seconds", "same_time"))
        seen.setdefault(row.t_ms, row.line)
    return found


def _column(index: int, heading: str, rig: Rig) -> _Column:
    name, unit = split_unit(heading)
    tank = match(name, [t.name for t in rig.tanks])
    if tank is not None:
        symbol = quantities.canonical(unit) if unit else rig.units["level"]
        if symbol != quantities.FEET_INCHES and quantities.unit(symbol).dimension != "length":
            raise QuantityError(f"{unit} is no unit of level: the sheet wants what the stick or the sensor says")
        return _Column(index, heading, "tank", tank, symbol)
    plain = match(name, PLAIN)
    if plain is None:
        known = [*PLAIN, *(t.name for t in rig.tanks)]
        raise QuantityError(f"there is no tank or column {name!r}{suggestion(name, known)}")
    if plain == "bit depth":
        symbol = quantities.canonical(unit) if unit else rig.units["length"]
        if quantities.unit(symbol).dimension != "length":
            raise QuantityError(f"{unit} is no unit of depth")
        return _Column(index, heading, plain, unit=symbol)
    if unit:
        raise QuantityError(f"{heading!r}: {plain} has no unit")
    return _Column(index, heading, plain)


def _row(cells: Sequence[str], line: int, t_ms: int, columns: Sequence[_Column], rig: Rig, name: str,
         findings: list[Finding]) -> Row | None:
    """One row, None where it says nothing but a time; what can't be read is an error among ``findings``."""
    kind, stand, bit, strokes, source, remark = STAND, None, nan, None, "", ""
    levels: dict[str, float] = {}
    for c in columns:
        text = cells[c.index].strip()
        if not text:
            continue
        try:
            match c.what:
                case "tank":
                    tank = rig.tank(c.name)
                    level = _level(text, c.unit, tank, rig)
                    if isnan(level):
                        continue
                    levels[c.name] = level
                    if level > tank.top_m + TOLERANCE * tank.shape.height:
                        findings.append(Finding(f"{shown(text)} is above the brim: kept", code="above_brim", file=name,
                                                line=line, column=c.heading, tank=c.name, t_ms=t_ms))
                case "kind":
                    found = match(text, KINDS)
                    if found is None:
                        raise QuantityError(f"{shown(text)} is no kind of row{suggestion(text, KINDS)}")
                    kind = found
                case "stand":
                    stand = _stand(text)
                case "bit depth":
                    bit = quantities.read(text, "length", bare=c.unit, decimal=rig.decimal).value
                    if bit > BEYOND["bit_depth_m"][1]:
                        raise QuantityError(f"{shown(text)} can't be right: check the unit")
                case "strokes":
                    strokes = _strokes(text, rig.decimal)
                case "from":
                    tank_named = match(text, [t.name for t in rig.tanks])
                    if tank_named is None:
                        raise QuantityError(f"there is no tank {shown(text)}"
                                            f"{suggestion(text, [t.name for t in rig.tanks])}")
                    source = tank_named
                case "remark":
                    remark = text
        except QuantityError as error:
            findings.append(_error(name, line, c.heading, str(error), "unreadable"))
    if not any(cells[c.index].strip() for c in columns if c.what != "time"):
        findings.append(Finding("this row says nothing but a time: it is passed over", code="blank_row",
                                severity="note", file=name, line=line, kept=False))
        return None
    return Row(t_ms, kind, stand, bit, levels, strokes, source, remark, line)


def _level(text: str, unit: str, tank: Tank, rig: Rig) -> float:
    """Level above the tank's bottom [m], NaN where it says that it wasn't gauged. Raises QuantityError."""
    dip = quantities.read_dip(text, decimal=rig.decimal, level_unit=unit, volume_unit="", percent_of="level")
    if dip.kind == "not gauged":
        return nan
    if dip.kind != "level":
        raise QuantityError(f"{shown(text)} is no level: write what the stick or the sensor says, like "
                            f"{quantities.written_with(rig.decimal, '5.25 ft')}, or leave it blank")
    level = float(tank.level_of_dip(dip.value))
    slack = TOLERANCE * tank.shape.height
    if level < -slack:
        raise QuantityError(f"{shown(text)}: this is below the tank's bottom: check the tank, the unit and the mark")
    if level > tank.shape.height + slack:
        raise QuantityError(f"{shown(text)}: this is more than the tank can hold: check the tank and the unit")
    if isnan(float(tank.volume(level))):
        raise QuantityError(f"{shown(text)}: this is outside the tank's shape or strapping table")
    return level


def _stand(text: str) -> int:
    """The number of a stand. Raises QuantityError."""
    if not re.fullmatch(r"\d{1,9}", text, re.ASCII) or int(text) >= MOST_STANDS:
        raise QuantityError(f"{shown(text)} is no number of a stand: write a whole number below {MOST_STANDS:,}, or "
                            "leave it blank")
    return int(text)


def _strokes(text: str, decimal: str) -> float:
    """A number of strokes. Raises QuantityError."""
    if re.fullmatch(rf"\d{{1,9}}(?:{re.escape(decimal)}\d{{1,9}})?", text, re.ASCII):
        strokes = float(text.replace(decimal, "."))
        if strokes < MOST_STROKES:
            return strokes
    raise QuantityError(f"{shown(text)} is no number of strokes: write one below {MOST_STROKES:,} in plain digits, or "
                        "leave it blank")


def _error(file: str, line: int, column: str, what: str, code: str) -> Finding:
    return Finding(what, code=code, severity="error", file=file, line=line, column=column, kept=False)
