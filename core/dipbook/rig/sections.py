"""Reads the [[section]] tables of a rig file, the hole from the rotary down, its [survey], and [fill_rule].

The bounds only catch slips (common practice, no source): no section is wider than 1.5 m or deeper than 15 km, no
rule has more than 50 stands or 10 MPa between two fills.
"""

from __future__ import annotations

from typing import Any

from dipbook.rig.model import FillRule
from dipbook.rig.reading import Report, TableReader, Ways
from dipbook.well import Hole, Section, Survey
from dipbook.well.hole import KINDS


def read_sections(rows: list[dict[str, Any]], report: Report, ways: Ways) -> Hole | None:
    """Read the [[section]] tables, from the rotary down; None without any, or where one is wrong.

    rows: as they stand. report: takes problems. ways: how the file writes values. Each begins where the one above ends.
    """
    found: list[Section] = []
    top = 0.0
    for n, row in enumerate(rows):
        reader = TableReader(row, ("section", n), report, ways)
        name = reader.text("name", needed='a name in quotes, like "9 5/8 casing"', longest=40)
        kind = reader.choice("kind", KINDS, "a kind of section", needed=True)
        bottom = reader.quantity("bottom", "length", 0.1, 15_000.0, bare="length",
                                 needed='the measured depth where it ends, like "5000 ft"')
        diameter = reader.quantity("diameter", "length", 0.02, 1.5, needed='its inside, like "8.835 in"')
        washout = reader.share("washout", 0.0, 1.0)
        reader.end()
        if washout and kind != "open hole":
            reader.problem("washout", "is of open hole only; expected none in a riser, casing or liner")
        if bottom is not None and bottom <= top:
            reader.problem("bottom", "isn't below the section above it; expected sections from the rotary down")
        elif None not in (name, kind, bottom, diameter):
            found.append(Section(str(name), str(kind), top, float(bottom or 0.0), float(diameter or 0.0),
                                 washout or 0.0))
        top = bottom if bottom is not None else top
    return Hole(tuple(found)) if rows and len(found) == len(rows) else None


def read_survey(table: dict[str, Any], report: Report, ways: Ways) -> Survey | None:
    """Read [survey]: rows of measured and vertical depth, from the rotary down; None where it is wrong. table: as it
    stands. report: takes problems. ways: how the file writes values. The rotary itself, both 0, may be left out.
    """
    reader = TableReader(table, ("survey",), report, ways)
    example = '[["3000 ft", "2990 ft"], ["5200 ft", "5020 ft"]]'
    value = reader.take("stations")
    reader.end()
    if not isinstance(value, list) or not value:
        reader.problem("stations", f"isn't rows of measured and vertical depth; expected {example}")
        return None
    stations: list[tuple[float, float]] = [(0.0, 0.0)]
    for n, row in enumerate(value):
        path = ("survey", "stations", n)
        if not isinstance(row, list) or len(row) != 2:
            report.problem(path, f"isn't a measured and a vertical depth; expected rows like {example}")
            return None
        md, tvd = (reader.measure(each, path, "length", 0.0, 15_000.0, "length", zero=True) for each in row)
        if md is None or tvd is None:
            return None
        if (md, tvd) != (0.0, 0.0):
            stations.append((md, tvd))
    try:
        return Survey(tuple(md for md, _ in stations), tuple(tvd for _, tvd in stations))
    except ValueError as refusal:
        reader.problem("stations", f"{refusal}; expected rows like {example}")
        return None


def read_fill_rule(table: dict[str, Any], report: Report, ways: Ways) -> FillRule | None:
    """Read [fill_rule]; None where it is wrong. table: as it stands. report: takes problems. ways: how the file writes
    values. It has stands, pressure or both, and says who set it, why and since when, as a limit does.
    """
    reader = TableReader(table, ("fill_rule",), report, ways)
    stands = reader.number("stands", 1, 50, "a whole number of stands")
    pressure = reader.quantity("pressure", "pressure", 1e3, 1e7)
    set_by = reader.text("set_by", needed="who set it")
    reason = reader.text("reason", needed="why it was set")
    since = reader.since()
    reader.end()
    if stands is not None and stands != int(stands):
        reader.problem("stands", f"{stands:g} isn't a whole number; expected how many stands may be pulled between two "
                                 "fills")
    if not reader.has("stands") and not reader.has("pressure"):
        reader.problem("stands", "is missing, and so is pressure; expected stands, pressure or both: the smaller "
                                 "counts")
    if None in (set_by, reason, since) or (stands is None and pressure is None):
        return None
    return FillRule(None if stands is None else int(stands), pressure, str(set_by), str(reason), str(since))
