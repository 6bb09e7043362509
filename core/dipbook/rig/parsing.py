"""A rig file's text to a Rig: every problem at once, each with its line, and findings on what is left open."""

from __future__ import annotations

import difflib
import hashlib
import re
import tomllib
import zoneinfo
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from dipbook.errors import QuantityError, RigFileError
from dipbook.findings import Finding
from dipbook.quantities import FEET_INCHES, canonical, dimension_of
from dipbook.rig.crew_section import read_crew
from dipbook.rig.equipment_section import read_equipment
from dipbook.rig.limit_section import read_limits
from dipbook.rig.locating import Path, Places, locate
from dipbook.rig.model import Rig
from dipbook.rig.reading import Report, TableReader, Ways, shown
from dipbook.rig.sections import read_fill_rule, read_sections, read_survey
from dipbook.rig.string_section import read_string
from dipbook.rig.tank_section import read_tanks
from dipbook.rig.tour_section import read_tours
from dipbook.rig.valve_section import read_valves
from dipbook.rig.well_section import pipe_agrees, pipe_fits, read_drain_back, read_hole, read_pipe, read_pumps

UNIT_DIMENSIONS = MappingProxyType(
    {"level": "length", "volume": "volume", "length": "length", "density": "density", "flow": "rate",
     "temperature": "temperature", "pressure": "pressure", "speed": "speed"})
"""Keys of [units] -> dimension of dipbook.quantities."""

NEEDED_UNITS = ("level", "volume", "length")

_UNIT_EXAMPLES = MappingProxyType(
    {"level": "in", "volume": "bbl", "length": "ft", "density": "lbm/gal[US]", "flow": "gal[US]/min",
     "temperature": "degF", "pressure": "psi", "speed": "ft/h"})

_IN_FEET = MappingProxyType({"temperature": "degF", "pressure": "psi", "speed": "ft/h"})
_IN_METRES = MappingProxyType({"temperature": "degC", "pressure": "kPa", "speed": "m/h"})
"""Units that go with the unit of length where [units] doesn't name them."""


@dataclass(frozen=True, slots=True)
class RigDocument:
    """A rig file that could be read.

    text: as it stands, comments and all. digest: SHA-256 of the text in UTF-8, hexadecimal. rig: what it says, SI.
    findings: what it leaves open and what follows from that. name: the file's name, for messages.
    """

    text: str
    digest: str
    rig: Rig
    findings: tuple[Finding, ...]
    name: str = "rig.toml"


@dataclass(frozen=True, slots=True)
class Checked:
    """A rig file that may have problems, as far as it reads.

    rig: what it says, None where anything is wrong. seen: the parts that read well (name "" and zone "UTC" where those
    don't), for a picture and never for the books. problems: (path, what is wrong). findings: (path, finding); those on
    the file as a whole only where nothing is wrong. table: the text as TOML; report, ways: to read parts of it again.
    """

    rig: Rig | None
    seen: Rig
    problems: tuple[tuple[Path, str], ...]
    findings: tuple[tuple[Path, Finding], ...]
    table: Mapping[str, Any]
    report: Report
    ways: Ways


def check(text: str, name: str = "rig.toml") -> Checked:
    """Read a rig file's text and refuse nothing: what is wrong is told with its path. text: valid TOML; name: as of
    ``parse``. Raises RigFileError if it isn't TOML."""
    data, places = _toml(text, name)
    report = Report(name, places)
    rig, seen, ways = _rig(data, report)
    findings = zip(report.about, report.findings, strict=True)
    return Checked(None if report.found else rig, seen, tuple(report.wrong), tuple(findings), data, report, ways)


def parse(text: str, name: str = "rig.toml") -> RigDocument:
    """Read a rig file's text.

    text: TOML as docs/rig-file.md describes it. name: the file's name, for messages.
    Raises RigFileError with every problem: file, line, key, what is wrong and what was expected.
    """
    text = text.removeprefix("\ufeff")
    data, places = _toml(text, name)
    report = Report(name, places)
    rig, _, _ = _rig(data, report)
    if report.found or rig is None:
        raise refused(name, report.problems())
    digest = hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
    return RigDocument(text, digest, rig, tuple(report.findings), name)


def refused(name: str, problems: tuple[str, ...]) -> RigFileError:
    """The error that lists all problems. problems: each with its place."""
    count = "1 problem" if len(problems) == 1 else f"{len(problems)} problems"
    lines = "\n".join(problems)
    return RigFileError(f"{name} was not used: {count}. Nothing was changed.\n{lines}", problems)


def _toml(text: str, name: str) -> tuple[dict[str, Any], Places]:
    try:
        return tomllib.loads(text), locate(text)
    except RecursionError:
        raise refused(name, (f"{name}, line 1: brackets stand within brackets too deeply; "
                             "expected a rig file as docs/rig-file.md shows it",)) from None
    except ValueError as error:  # TOMLDecodeError, or a number of thousands of digits
        found = re.search(r"^(.*) \(at (?:line (\d+), column (\d+)|end of document)\)$", str(error), re.DOTALL)
        what = found[1] if found else str(error)
        line = int(found[2]) if found and found[2] else text.count("\n") + 1 if found else 1
        column = f", column {found[3]}" if found and found[3] else ""
        raise refused(name, (f"{name}, line {line}{column}: this isn't TOML: {what}. A text needs quotes, a table "
                             "[brackets], each key its own line",)) from None


def _rig(data: dict[str, Any], report: Report) -> tuple[Rig | None, Rig, Ways]:
    """The rig, None with problems; what of it reads well; and how values are written."""
    _titles(data, report)
    decimal = data.get("decimal", ".")
    units = _units(data, report)
    ways = Ways(decimal if decimal in (".", ",") else ".", units)
    top = TableReader(data, (), report, ways)
    for key in ("rig", "zone", "decimal", "units", "tank", "pump", "hole", "pipe", "drain_back", "equipment", "valve",
                "limit", "string", "section", "fill_rule", "survey", "crew", "tour"):
        top.known.append(key)
    top.choice("decimal", (".", ","), "a decimal sign")
    zone = _zone(top)
    head = _table(data, "rig", report)
    name, invented = None, None
    if head is None:
        if "rig" not in data:
            top.problem("rig", 'is missing; expected rig = { name = "the rig\'s name" }')
    else:
        reader = TableReader(head, ("rig",), report, ways)
        name = reader.text("name", needed="the rig's name in quotes", longest=80)
        invented = reader.flag("invented")
        reader.end()
    tank_rows = _array(data, "tank", report)
    if "tank" not in data:
        report.problem(("tank",), "is missing; expected a [[tank]] table for each tank")
    tanks = read_tanks(tank_rows, report, ways)
    pumps = read_pumps(_array(data, "pump", report), report, ways)
    hole_table, pipe_table = _table(data, "hole", report), _table(data, "pipe", report)
    drain_table = _table(data, "drain_back", report)
    hole = None if hole_table is None else read_hole(hole_table, report, ways)
    pipe = None if pipe_table is None else read_pipe(pipe_table, report, ways)
    drain_back = None if drain_table is None else read_drain_back(drain_table, report, ways)
    pipe_fits(hole, pipe, report)
    tank_names = tuple(str(row["name"]).strip() for row in tank_rows if isinstance(row.get("name"), str))
    equipment = read_equipment(_array(data, "equipment", report), report, ways)
    valves = read_valves(_array(data, "valve", report), tanks, tank_names, report, ways)
    sections = read_sections(_array(data, "section", report), report, ways)
    string = read_string(_array(data, "string", report), report, ways)
    rule_table = _table(data, "fill_rule", report)
    fill_rule = None if rule_table is None else read_fill_rule(rule_table, report, ways)
    survey_table = _table(data, "survey", report)
    survey = None if survey_table is None else read_survey(survey_table, report, ways)
    limits = read_limits(_array(data, "limit", report), tanks, tank_names, report, ways)
    crew = read_crew(_array(data, "crew", report), report, ways)
    tours = read_tours(_array(data, "tour", report), report, ways)
    top.end()
    rig = Rig(name=name or "", invented=bool(invented), zone=zone or "UTC", decimal=ways.decimal, units=units,
              tanks=tanks, pumps=pumps, hole=hole, pipe=pipe, drain_back=drain_back, limits=limits,
              equipment=equipment, valves=valves, string=string, sections=sections, fill_rule=fill_rule,
              survey=survey, crew=crew, tours=tours)
    if report.found or name is None or zone is None:
        return None, rig, ways
    _findings(rig, report)
    return rig, rig, ways


def _titles(data: dict[str, Any], report: Report) -> None:
    """Names of rows, so that messages say tank.Suction and not the second tank."""
    for key in ("tank", "pump", "equipment", "valve", "limit", "string", "section", "crew", "tour"):
        rows = data.get(key)
        for n, row in enumerate(rows if isinstance(rows, list) else ()):
            name = row.get("code" if key == "tour" else "name") if isinstance(row, dict) else None
            good = isinstance(name, str) and name.strip() and name.isprintable() and len(name) <= 60
            report.titles[(key, n)] = str(name).strip() if good else f"number {n + 1}"


def _table(data: dict[str, Any], key: str, report: Report) -> dict[str, Any] | None:
    value = data.get(key)
    if value is None or isinstance(value, dict):
        return value
    brackets = "once, in single brackets" if isinstance(value, list) else "as a table"
    report.problem((key,), f"isn't one table; expected [{key}] {brackets}")
    return None


def _array(data: dict[str, Any], key: str, report: Report) -> list[dict[str, Any]]:
    value = data.get(key, [])
    if isinstance(value, list) and all(isinstance(row, dict) for row in value):
        return value
    report.problem((key,), f"isn't a row of tables; expected [[{key}]] in double brackets before each")
    return []


def _units(data: dict[str, Any], report: Report) -> MappingProxyType[str, str]:
    """[units]: key -> symbol. Level, volume and length are needed; some of the others go with the length."""
    units: dict[str, str] = {}
    table = _table(data, "units", report)
    if table is None:
        if "units" not in data:
            report.problem(("units",), 'is missing; expected [units] with level, volume and length, like level = "in"')
        return MappingProxyType(units)
    reader = TableReader(table, ("units",), report, Ways(".", units))
    for key, dimension in UNIT_DIMENSIONS.items():
        example = f'a unit like "{_UNIT_EXAMPLES[key]}"'
        symbol = reader.text(key, needed=example if key in NEEDED_UNITS else "", longest=30)
        if symbol is None:
            continue
        try:
            known = canonical(symbol)
            given = dimension_of(known)
        except QuantityError as error:
            reader.problem(key, f"{error} Expected {example}.")
            continue
        if given != dimension:
            reader.problem(key, f"{shown(symbol)} is a unit of {given}; expected {example}")
        elif known == FEET_INCHES and key != "level":
            reader.problem(key, f"{shown(symbol)} is a way of writing a level; expected {example}")
        else:
            units[key] = known
    reader.end()
    for key, symbol in (_IN_FEET if units.get("length") == "ft" else _IN_METRES).items():
        units.setdefault(key, symbol)
    return MappingProxyType(units)


def _zone(top: TableReader) -> str | None:
    zone = top.text("zone", needed='the rig\'s time zone, like "Etc/GMT+6" or "America/Chicago"', longest=60)
    if zone is None:
        return None
    try:
        zoneinfo.ZoneInfo(zone)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        close = difflib.get_close_matches(zone, sorted(zoneinfo.available_timezones()), n=1)
        hint = f'did you mean "{close[0]}"?' if close else 'expected one like "Etc/GMT+6" or "America/Chicago"'
        top.problem("zone", f"{shown(zone)} isn't a time zone of the IANA list; {hint}")
        return None
    return zone


def _findings(rig: Rig, report: Report) -> None:
    """What the file as a whole leaves open."""
    if not any(limit.watched for limit in rig.limits):
        report.finding(("limit",), "no_limits", "No limit is set: nothing is being watched. A limit needs a value, "
                       "who set it, why and since when.")
    elif not any(limit.kind == "gain" and limit.watched for limit in rig.limits):
        report.finding(("limit",), "no_gain_limit", "No limit of kind gain is set: nothing warns of a gain.")
    if not rig.active_at_start:
        report.finding(("tank",), "no_active_tank", "No tank is active: there is nothing to balance until one is lined "
                       "up.")
    if rig.hole is None:
        report.finding((), "no_hole", "The rig file doesn't describe the hole: cuttings aren't booked, so the "
                       "expected volume reads high and a gain can hide.")
    if rig.pipe is None:
        report.finding((), "no_pipe", "The rig file doesn't describe the pipe: pipe moved and stands filled "
                       "can't be booked.")
    else:
        pipe_agrees(rig.pipe, rig.string, report)
    if rig.drain_back is None:
        report.finding((), "no_drain_back", "The rig file doesn't say what drains back: what drains "
                       "from the lines when the pumps stop is not explained, it counts as 0.")
    if not rig.pumps:
        report.finding((), "no_pumps", "The rig file describes no pump: flow is known only where it is "
                       "logged.")
    if "flow" not in rig.units and (rig.pumps or rig.drain_back is not None):
        report.finding(("units",), "no_flow_unit", "No unit is set for flow: flows have to be written with their unit.",
                       severity="note")
    if "density" not in rig.units:
        report.finding(("units",), "no_density_unit", "No unit is set for density: densities have to be written with "
                       "their unit.", severity="note")
