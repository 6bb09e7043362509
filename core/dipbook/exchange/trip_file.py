"""A trip file (CSV) to the rows of a trip: one row a stand, a fill, a refill or a flow check."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isnan, nan

from dipbook import quantities
from dipbook.entries.fields import match, suggestion
from dipbook.errors import QuantityError
from dipbook.exchange import tables, times
from dipbook.exchange.headings import split_unit
from dipbook.findings import Finding
from dipbook.rig.model import Rig
from dipbook.trips.sheet import KINDS, STAND, Row

PLAIN = ("time", "kind", "stand", "bit depth", "strokes", "remark")
"""Columns that aren't a tank. ``time`` is needed, and a tank or strokes; blanks are allowed everywhere else."""


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
    columns: list[_Column] = []
    for i, heading in enumerate(table.header):
        if not heading:
            continue
        try:
            columns.append(_column(i, heading, rig))
        except QuantityError as error:
            findings.append(_error(name, table.heading_line, heading, str(error), "heading"))
    known = [c.name or c.what for c in columns]
    findings += [_error(name, table.heading_line, c.heading, "this column stands here twice", "heading_twice")
                 for n, c in enumerate(columns) if (c.name or c.what) in known[:n]]
    if not any(c.what in ("tank", "strokes") for c in columns):
        findings.append(_error(name, table.heading_line, "", "there is no trip tank and no strokes among the columns: "
                               "what the hole took can't be told", "no_tank"))
    if any(f.severity == "error" for f in findings):
        return TripFile((), (), tuple(findings))
    clock = next(c for c in columns if c.what == "time")
    stamps, wrong = times.parse_all([row[clock.index].strip() for row in table.rows], rig.zone)
    findings += [_error(name, table.lines[i], clock.heading, what, "time") for i, what in wrong]
    rows = [_row(cells, line, int(t), columns, rig, name, findings)
            for cells, line, t in zip(table.rows, table.lines, stamps.tolist(), strict=True)]
    if any(f.severity == "error" for f in findings):
        return TripFile((), (), tuple(sorted(findings, key=lambda f: f.line or 0)))
    rows.sort(key=lambda r: r.t_ms)
    return TripFile(tuple(rows), tuple(c.name for c in columns if c.what == "tank"), tuple(findings))


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
         findings: list[Finding]) -> Row:
    """One row; what can't be read is an error among ``findings``."""
    kind, stand, bit, strokes, remark = STAND, None, nan, 0.0, ""
    levels: dict[str, float] = {}
    for c in columns:
        text = cells[c.index].strip()
        if not text:
            continue
        try:
            match c.what:
                case "tank":
                    dip = quantities.read_dip(text, decimal=rig.decimal, level_unit=c.unit, volume_unit="",
                                              percent_of="")
                    if dip.kind != "level":
                        raise QuantityError(f"“{text}” is no level")
                    levels[c.name] = float(rig.tank(c.name).level_of_dip(dip.value))
                case "kind":
                    found = next((k for k in KINDS if k == text.casefold()), None)
                    if found is None:
                        raise QuantityError(f"“{text}” is none of {', '.join(KINDS)}")
                    kind = found
                case "stand":
                    stand = int(text)
                case "bit depth":
                    bit = quantities.read(text, "length", bare=c.unit, decimal=rig.decimal).value
                case "strokes":
                    strokes = float(text.replace(rig.decimal, "."))
                    if not 0.0 <= strokes < 1e6:
                        raise QuantityError(f"“{text}” can't be a number of strokes")
                case "remark":
                    remark = text
        except QuantityError as error:
            findings.append(_error(name, line, c.heading, str(error), "unreadable"))
        except ValueError:
            findings.append(_error(name, line, c.heading, f"“{text}” is no number", "unreadable"))
    if isnan(bit) and stand is None and not levels and not strokes and not remark:
        findings.append(Finding("this row says nothing", code="blank_row", severity="note", file=name, line=line))
    return Row(t_ms, kind, stand, bit, levels, strokes, remark, line)


def _error(file: str, line: int, column: str, what: str, code: str) -> Finding:
    return Finding(what, code=code, severity="error", file=file, line=line, column=column, kept=False)
