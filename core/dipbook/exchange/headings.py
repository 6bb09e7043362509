"""Headings of a readings file: what each column is, and its unit."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from dipbook import quantities
from dipbook.entries.fields import match, suggestion
from dipbook.errors import QuantityError
from dipbook.findings import Finding
from dipbook.rig.model import Rig

_WITH_UNIT = re.compile(r"(.+?)\s*\[(.+)\]")

PLAIN = ("time", "bit depth", "hole depth", "flow in", "flow out", "activity")
"""Columns that are neither a tank, nor a tank's time, nor a pump."""

_UNITS = {"bit depth": ("length", "length"), "hole depth": ("length", "length"), "flow in": ("rate", "flow"),
          "flow out": ("rate", "flow")}


@dataclass(frozen=True, slots=True)
class Column:
    """One column. index: from 0; heading: as written; what: one of PLAIN, "level", "volume", "percent",
    "tank time" or "pump"; name: the tank or pump; unit: symbol of a bare number, "" where there is none."""

    index: int
    heading: str
    what: str
    name: str = ""
    unit: str = ""


def split_unit(heading: str) -> tuple[str, str]:
    """``Suction [in]`` as ("Suction", "in"); without brackets the unit is ""."""
    found = _WITH_UNIT.fullmatch(heading.strip())
    return (found[1], found[2].strip()) if found else (heading.strip(), "")


def read_headings(headings: Sequence[str], rig: Rig, file: str, line: int) -> tuple[tuple[Column, ...],
                                                                                   tuple[Finding, ...]]:
    """What the columns of a readings file are.

    headings: as written (a blank one is passed over); rig: its tanks, pumps and units; file, line: for messages.
    Returns (columns, findings); a column that isn't known is an error.
    """
    columns: list[Column] = []
    findings: list[Finding] = []
    for i, heading in enumerate(headings):
        if not heading:
            continue
        try:
            columns.append(_column(i, heading, rig))
        except QuantityError as error:
            findings.append(Finding(str(error), code="heading", severity="error", file=file, line=line,
                                    column=heading, kept=False))
    findings.extend(_twice(columns, file, line))
    tanks = {c.name for c in columns if c.what in ("level", "volume", "percent")}
    for c in columns:
        if c.what == "tank time" and c.name not in tanks:
            findings.append(Finding(f"there are times for {c.name} but no column with its dips", code="heading",
                                    severity="error", file=file, line=line, column=c.heading, kept=False))
    return tuple(columns), tuple(findings)


def _column(index: int, heading: str, rig: Rig) -> Column:
    name, unit = split_unit(heading)
    tanks = [tank.name for tank in rig.tanks]
    tank = match(heading, tanks)
    if tank is not None:
        name, unit = tank, ""
    tank = tank or match(name, tanks)
    if tank is not None:
        return _tank_column(index, heading, tank, unit, rig)
    plain = match(name, PLAIN)
    if plain is not None:
        return Column(index, heading, plain, unit=_unit(plain, heading, unit, rig))
    folded = name.casefold()
    if folded.endswith(" time") and not unit:
        tank = match(name[:-len(" time")].strip(), tanks)
        if tank is not None:
            return Column(index, heading, "tank time", tank)
    if folded.startswith("pump "):
        pump = match(name[len("pump "):].strip(), [p.name for p in rig.pumps])
        if pump is not None:
            return Column(index, heading, "pump", pump, _symbol(heading, unit or "1/min", "frequency"))
    known = [*tanks, *PLAIN, *(f"pump {p.name}" for p in rig.pumps)]
    raise QuantityError(f"there is no tank or column {name!r}{suggestion(name, known)}")


def _tank_column(index: int, heading: str, tank: str, unit: str, rig: Rig) -> Column:
    if unit == "%":
        if not rig.tank(tank).percent_of:
            raise QuantityError(f"a percentage could be of the level or of the volume: set percent_of for {tank} in "
                                "the rig file")
        return Column(index, heading, "percent", tank, "%")
    if not unit:
        return Column(index, heading, "level", tank, rig.units["level"])
    symbol = quantities.canonical(unit)
    if symbol == quantities.FEET_INCHES:
        return Column(index, heading, "level", tank, symbol)
    dimension = quantities.unit(symbol).dimension
    if dimension not in ("length", "volume"):
        raise QuantityError(f"{unit} is no unit of level or volume: a tank takes ft, in, m, cm, bbl, m3 and the like")
    return Column(index, heading, "level" if dimension == "length" else "volume", tank, symbol)


def _unit(what: str, heading: str, unit: str, rig: Rig) -> str:
    if what not in _UNITS:
        if unit:
            raise QuantityError(f"{heading!r}: {what} has no unit")
        return ""
    dimension, of_rig = _UNITS[what]
    return _symbol(heading, unit or rig.units[of_rig], dimension)


def _symbol(heading: str, unit: str, dimension: str) -> str:
    symbol = quantities.canonical(unit)
    if symbol != quantities.FEET_INCHES and quantities.unit(symbol).dimension != dimension:
        raise QuantityError(f"{heading!r}: {unit} is no unit of {dimension}")
    return symbol


def _twice(columns: Sequence[Column], file: str, line: int) -> list[Finding]:
    findings = []
    seen: dict[tuple[str, str], Column] = {}
    for c in columns:
        key = ("tank" if c.what in ("level", "volume", "percent") else c.what, c.name)
        if key in seen:
            findings.append(Finding(f"{seen[key].heading!r} and {c.heading!r} are the same thing: keep one column",
                                    code="heading_twice", severity="error", file=file, line=line, column=c.heading,
                                    kept=False))
        seen.setdefault(key, c)
    return findings
