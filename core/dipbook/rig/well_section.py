"""Reads [[pump]], [hole], [pipe] and [drain_back] of a rig file.

The bounds only catch slips (common practice, no source): a 42 in hole is 0.9 m3/m, a large pump 0.03 m3 a stroke.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from math import isclose
from typing import Any

from dipbook.pumps import duplex_output, triplex_output
from dipbook.rig.locating import Path
from dipbook.rig.model import DrainBack, Hole, Pipe, Pump
from dipbook.rig.reading import Report, TableReader, Ways, shown
from dipbook.well import String

TYPES = ("triplex", "duplex")
"""Single-acting triplex, double-acting duplex."""

WORDS = {"carried_off": "share of cuttings carried off", "porosity": "porosity", "mud_on_cuttings": "mud on cuttings"}
"""What keys of [hole] are called where the crew reads of them."""

SAME_OUTPUT = 0.05
"""A pump's measures and its typed output that are less than this apart are called the same [%]."""

PIPE_AGREES = 0.005
"""How far [pipe] and the top of the string may be apart, as a share: what rounding to three digits leaves."""


def read_pumps(rows: list[dict[str, Any]], report: Report, ways: Ways) -> tuple[Pump, ...]:
    """Read the [[pump]] tables, in the file's order."""
    pumps: list[Pump] = []
    names: dict[str, int] = {}
    for n, row in enumerate(rows):
        reader = TableReader(row, ("pump", n), report, ways)
        name = reader.text("name", needed='the pump\'s name in quotes, like "1"', longest=20)
        if name is not None and any(c in '[]:"' for c in name):
            reader.problem("name", f'"{name}" has one of [ ] : " in it; expected a name without them')
        if name is not None and name.casefold() in names:
            reader.problem("name", f'"{name}" is already the pump of line {names[name.casefold()]}; '
                                   "expected a name of its own")
        elif name is not None:
            names[name.casefold()] = report.places.line(("pump", n, "name"))
        output = _output(reader)
        reader.end()
        if name is not None and output is not None:
            pumps.append(Pump(name=name, output_m3=output))
    return tuple(pumps)


def _output(reader: TableReader) -> float | None:
    """Volume per stroke [m3]: typed (calibrated against a tank), which goes first, or from the pump's measures."""
    typed, measured = read_outputs(reader)
    if reader.has("output"):
        if typed is not None and measured is not None:
            apart = 100.0 * (measured / typed - 1.0)
            says = "the same" if abs(apart) < SAME_OUTPUT else f"{abs(apart):.2g} % {'more' if apart > 0.0 else 'less'}"
            reader.report.finding((*reader.path, "output"), "calibrated_output",
                                  f"Pump {reader.report.titles.get(reader.path, '')}: its output as typed counts; by "
                                  f"its measures a stroke would be {says}.", severity="note")
        return typed
    return measured


def read_outputs(reader: TableReader) -> tuple[float | None, float | None]:
    """Volume per stroke [m3] as typed, and by the pump's measures; None where it isn't said or something is wrong.

    reader: of the pump's table; takes its keys but the name.
    """
    typed = reader.quantity("output", "volume", 2e-4, 0.1, bare="volume")
    kind = reader.choice("type", TYPES, "a type of pump")
    liner = reader.quantity("liner", "length", 0.05, 0.4)
    stroke = reader.quantity("stroke", "length", 0.05, 1.0)
    rod = reader.quantity("rod", "length", 0.01, 0.2)
    efficiency = reader.share("efficiency", 0.5, 1.0)
    measures = ("type", "liner", "stroke", "rod", "efficiency")
    if not reader.has("output"):
        if not any(reader.has(key) for key in measures):
            reader.problem("output", 'is missing; expected a volume per stroke like "0.102 bbl", '
                                     "or type, liner, stroke and efficiency")
            return None, None
        for key in measures:
            if not reader.has(key) and (key != "rod" or kind == "duplex"):
                reader.problem(key, "is missing; expected it beside the pump's other measures")
    if kind == "triplex" and reader.has("rod"):
        reader.problem("rod", "has no part in a single-acting triplex; expected it for a duplex only")
    if rod is not None and liner is not None and rod >= liner:
        reader.problem("rod", f"{shown(reader.table['rod'])} isn't thinner than the liner; expected it to be")
        return typed, None
    if kind is None or liner is None or stroke is None or efficiency is None:
        return typed, None
    if kind == "triplex":
        return typed, triplex_output(liner, stroke, efficiency)
    return typed, None if rod is None else duplex_output(liner, stroke, rod, efficiency)


def read_hole(table: dict[str, Any], report: Report, ways: Ways) -> Hole:
    """Read [hole]: typed values, each None where not set, with a finding."""
    reader = TableReader(table, ("hole",), report, ways)
    capacity = reader.quantity("capacity", "capacity", 1e-3, 2.0)
    annulus = reader.quantity("annulus", "volume", 0.01, 3000.0, bare="volume")
    lag = reader.quantity("lag", "duration", 0.0, 86400.0, zero=True)
    carried_off = reader.share("carried_off", 0.0, 1.0)
    porosity = reader.share("porosity", 0.0, 0.6)
    mud_on_cuttings = reader.number("mud_on_cuttings", 0.0, 5.0, "mud per volume of cuttings,")
    volume = reader.quantity("volume", "volume", 0.1, 5000.0, bare="volume")
    reader.end()
    if not reader.has("capacity"):
        report.finding(("hole",), "no_capacity", "The hole has no capacity: cuttings aren't booked, so the expected "
                       "volume reads high and a gain can hide.")
    if not reader.has("annulus") and not reader.has("lag"):
        report.finding(("hole",), "no_lag", "The hole has neither annulus nor lag: when cuttings reach the surface is "
                       "unknown, so they are held back, the expected volume reads high and a gain can hide.")
    for key, follows in (
            ("carried_off", "cuttings aren't booked, so the expected volume reads high and a gain can hide"),
            ("porosity", "it is unknown, and 0 is used"),
            ("mud_on_cuttings", "it is unknown, and 0 is used")):
        if not reader.has(key):
            report.finding(("hole",), f"no_{key}", f"The hole has no {WORDS[key]}: {follows}.")
    return Hole(capacity=capacity, annulus_m3=annulus, lag_ms=None if lag is None else round(lag * 1000),
                carried_off=carried_off, porosity=porosity, mud_on_cuttings=mud_on_cuttings,
                volume_m3=volume)


def read_pipe(table: dict[str, Any], report: Report, ways: Ways) -> Pipe | None:
    """Read [pipe]."""
    reader = TableReader(table, ("pipe",), report, ways)
    steel = reader.quantity("steel", "capacity", 2e-4, 0.1, needed='the steel per length, like "0.00759 bbl/ft"')
    bore = reader.quantity("bore", "capacity", 2e-4, 0.2, needed='the bore per length, like "0.01776 bbl/ft"')
    stand = reader.quantity("stand", "length", 3.0, 60.0, bare="length", needed='the length of a stand, like "93 ft"')
    closed = reader.choice("float", ("closed", "open"), "a float")
    reader.end()
    if not reader.has("float"):
        report.finding(("pipe",), "no_float", "The pipe has no float, closed or open: whether pipe lowered with the "
                       "pumps off fills itself is unknown.")
    if steel is None or bore is None or stand is None:
        return None
    return Pipe(steel=steel, bore=bore, stand_m=stand, float_closed=None if closed is None else closed == "closed")


def pipe_fits(hole: Hole | None, pipe: Pipe | None, report: Report) -> None:
    """Refuse a pipe as large as its hole."""
    if hole is not None and hole.capacity is not None and pipe is not None and \
            pipe.steel + pipe.bore >= hole.capacity:
        report.problem(("hole", "capacity"), "isn't more than the pipe's steel and bore together; "
                                             "expected a hole that the pipe goes into")


def pipe_agrees(pipe: Pipe, string: String | None, report: Report) -> None:
    """Tell where [pipe], by which the window books pipe moved, isn't the top part of the string, by which a trip is
    worked out: one of the two would be wrong unseen."""
    if string is None:
        return
    top = string.parts[-1]
    for what, here, there in (("steel", pipe.steel, top.steel_m2), ("bore", pipe.bore, top.bore_m2)):
        if not isclose(here, there, rel_tol=PIPE_AGREES):
            apart = f"{100 * abs(here / there - 1):.2g} % {'more' if here > there else 'less'}"
            report.finding(("pipe", what), "pipe_disagrees",
                           f"The pipe's {what} is {apart} than that of {top.name}, the top part of the string. The log "
                           "books pipe moved by the Pipe of the figures, a trip is worked out by the string: give "
                           "both what the pipe's own data sheet says.")


def read_drain_back(table: dict[str, Any], report: Report, ways: Ways) -> DrainBack | None:
    """Read [drain_back]: the volume that lines hold at flow, and how it drains."""
    reader = TableReader(table, ("drain_back",), report, ways)

    def flow(value: Any, path: Path) -> float | None:
        return reader.measure(value, path, "rate", 1e-4, 0.5, "flow", zero=True)

    def volume(value: Any, path: Path) -> float | None:
        return reader.measure(value, path, "volume", 1e-3, 100.0, "volume", zero=True)

    def time(value: Any, path: Path) -> float | None:
        return reader.measure(value, path, "duration", 0.1, 7200.0, zero=True)

    at = _rows(reader, "at", "flow and volume", '[["300 gal[US]/min", "12 bbl"]]', flow, volume)
    if at is None and not reader.has("at"):
        reader.problem("at", 'is missing; expected rows like [["300 gal[US]/min", "12 bbl"]]')
    rising = reader.quantity("rising", "duration", 0.1, 3600.0, needed='a time constant like "40 s"')
    falling = reader.quantity("falling", "duration", 0.1, 3600.0)
    stopped = reader.quantity("stopped", "rate", 1e-6, 0.1, bare="flow")
    curve = _rows(reader, "curve", "time and volume", '[["1 min", "4 bbl"], ["2 min", "7 bbl"]]', time, volume)
    if reader.has("falling") and reader.has("curve"):
        reader.problem("curve", "stands beside falling; expected one of the two")
    elif not reader.has("falling") and not reader.has("curve"):
        reader.problem("falling", 'is missing; expected a time constant like "60 s", or a curve')
    reader.end()
    if at is not None and curve is not None and curve[-1][1] > at[-1][1] * (1 + 1e-9):
        reader.problem("curve", "gives back more than the lines hold at the highest flow; expected at most that")
    if at is None or rising is None or (falling is None and curve is None):
        return None
    return DrainBack(at=at, falling_s=None if curve else falling, rising_s=rising, curve=curve or (),
                     stopped_m3_s=stopped)


_Measure = Callable[[Any, Path], float | None]


def _rows(reader: TableReader, key: str, what: str, example: str, first: _Measure,
          second: _Measure) -> tuple[tuple[float, float], ...] | None:
    """Rows of two values, the first rising, the second not falling; a row of zeros at the start is left out."""
    value = reader.take(key)
    if value is None:
        return None
    if not isinstance(value, list) or not value:
        reader.problem(key, f"{shown(value)} isn't rows of {what}; expected {example}")
        return None
    rows: list[tuple[float, float]] = []
    sound = True
    for n, row in enumerate(value):
        path: Path = ("drain_back", key, n)
        if not isinstance(row, list) or len(row) != 2:
            alone = shown(row[0]) if isinstance(row, list) and len(row) == 1 else shown(row)
            reader.report.problem(path, f"{alone} isn't a row of {what}; expected rows like {example}")
            sound = False
            continue
        x, y = first(row[0], path), second(row[1], path)
        if x is None or y is None:
            sound = False
        elif n == 0 and x == 0 and y == 0:
            continue
        elif x == 0:
            reader.report.problem(path, f"{shown(row[0])} has a volume; expected 0 there")
            sound = False
        else:
            rows.append((x, y))
    for one, two in pairwise(rows):
        if sound and (two[0] <= one[0] or two[1] < one[1]):
            reader.problem(key, f"has rows that don't rise; expected rising {what}, row by row")
            sound = False
    if sound and (not rows or rows[-1][1] == 0):
        reader.problem(key, f"holds no volume; expected rows like {example}")
        sound = False
    return tuple(rows) if sound else None
