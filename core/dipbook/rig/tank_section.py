"""Reads the [[tank]] tables of a rig file. The bounds on sizes only catch slips (common practice, no source)."""

from __future__ import annotations

from typing import Any

from dipbook.rig.locating import Path
from dipbook.rig.model import ROLES
from dipbook.rig.reading import Report, TableReader, Ways, shown
from dipbook.rig.shape_section import read_shape
from dipbook.tanks.shapes import Shape
from dipbook.tanks.tank import Tank

RESERVED = ("active", "all surface", "watched", "flow line", "none",
            "time", "end", "bit depth", "hole depth", "flow in", "flow out", "activity")
"""Words that stand for something else in limits, entries and the head of a readings file."""

LAST_ORDER = 1000
"""The highest order; tanks without one come after it as they stand in the file."""


def read_tanks(rows: list[dict[str, Any]], report: Report, ways: Ways) -> tuple[Tank, ...]:
    """Read all tanks, in gauging order. rows: the [[tank]] tables as they stand."""
    tanks: list[Tank] = []
    names: dict[str, int] = {}
    orders: dict[int, str] = {}
    for n, row in enumerate(rows):
        path: Path = ("tank", n)
        reader = TableReader(row, path, report, ways)
        name = _name(reader, names)
        order = _order(reader, orders, name or f"tank {n + 1}")
        tank = _tank(reader, name or "", order if order is not None else LAST_ORDER + n + 1)
        if tank is not None and name:
            tanks.append(tank)
    return tuple(sorted(tanks, key=lambda tank: tank.order))


def _name(reader: TableReader, names: dict[str, int]) -> str | None:
    report, path = reader.report, (*reader.path, "name")
    name = reader.text("name", needed="the tank's name in quotes", longest=40)
    if name is None:
        return None
    line = report.places.line(path)
    if name.casefold() in names:
        reader.problem("name", f'"{name}" is already the tank of line {names[name.casefold()]}; '
                               "expected a name of its own (capitals don't count)")
        return None
    names[name.casefold()] = line
    if name.casefold() in RESERVED or name.casefold().startswith("pump ") or name.casefold().endswith(" time"):
        reader.problem("name", f'"{name}" means something else in limits, entries or readings; '
                               "expected another name for the tank")
        return None
    if any(c in '[]:"' for c in name):
        reader.problem("name", f'"{name}" has one of [ ] : " in it; expected a name without them')
        return None
    return name


def _order(reader: TableReader, orders: dict[int, str], name: str) -> int | None:
    value = reader.take("order")
    if value is None:
        reader.report.finding(reader.path, "no_order", f"Tank {name} has no order: it is gauged after those that "
                              "have one, as they stand in the file.", severity="note", tank=name)
        return None
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= LAST_ORDER:
        reader.problem("order", f"{shown(value)} isn't a place in the gauging order; expected a whole number from 1")
        return None
    if value in orders:
        reader.problem("order", f"{value} is already the order of {orders[value]}; expected a number of its own")
        return None
    orders[value] = name
    return value


LOW_BRIM = 0.25
"""A brim below this share of the tank's height is asked about: common practice, no source."""


def _tank(reader: TableReader, name: str, order: int) -> Tank | None:
    before = len(reader.report.found)
    role = reader.choice("role", ROLES, "a role", needed=True)
    active = reader.flag("active", needed=True)
    gauge = reader.choice("gauge", ("up", "down"), "a gauge", needed=True)
    shape = read_shape(reader)
    brim = reader.quantity("brim", "length", 0.1, 15.0, bare="level")
    mark = _level_for(reader, "mark", "down", gauge)
    offset = _level_for(reader, "offset", "up", gauge)
    if gauge == "down" and not reader.has("mark"):
        reader.problem("mark", 'is missing; expected the height of the mark, like "9 ft", of a tank gauged "down"')
    heel = reader.quantity("heel", "length", 0.0, 15.0, bare="level", zero=True)
    dip_error = reader.quantity("dip_error", "length", 1e-5, 0.5, bare="level")
    percent_of = reader.choice("percent_of", ("level", "volume"), "what a percentage is of")
    fresh_for = reader.quantity("fresh_for", "duration", 1.0, 86400.0)
    internals = reader.quantity("internals", "volume", 0.0, 500.0, bare="volume", zero=True)
    reader.end()
    if shape is None:
        return None
    _levels_agree(reader, shape, brim, mark, heel, dip_error)
    if internals and internals > 0.5 * float(shape.volume(shape.height)):
        reader.problem("internals", "take up more than half of the tank; expected less")
    if len(reader.report.found) > before or role is None or active is None or gauge is None:
        return None
    _findings(reader, name, brim, dip_error, fresh_for)
    if brim is not None and brim < LOW_BRIM * shape.height:
        reader.report.finding((*reader.path, "brim"), "low_brim",
                              f"Tank {name} is {reader.level(shape.height)} high and its brim is at "
                              f"{reader.level(brim)}. Is that the unit meant? A number without one takes the unit of "
                              "levels.", tank=name)
    return Tank(name=name, role=role, active=active, order=order, shape=shape, gauge=gauge, mark_m=mark or 0.0,
                offset_m=offset or 0.0, dip_error_m=dip_error, heel_m=heel or 0.0, brim_m=brim,
                percent_of=percent_of or "", fresh_for_ms=None if fresh_for is None else round(fresh_for * 1000),
                internals_m3=internals or 0.0)


def _level_for(reader: TableReader, key: str, only: str, gauge: str | None) -> float | None:
    """A level that has a meaning for one way of gauging only."""
    level = reader.quantity(key, "length", 0.0, 20.0, bare="level", zero=key == "offset")
    if level is not None and gauge is not None and gauge != only:
        reader.problem(key, f'is only for a tank gauged "{only}"; this one is gauged "{gauge}"')
    return level


def _levels_agree(reader: TableReader, shape: Shape, brim: float | None, mark: float | None, heel: float | None,
                  dip_error: float | None) -> None:
    """Heel < brim <= height, brim <= mark."""
    slack = 1e-9
    top = shape.height if brim is None else brim
    if brim is not None and brim > shape.height + slack:
        reader.problem("brim", f"{shown(reader.table['brim'])} is above the top of the shape, "
                               f"{reader.level(shape.height)}; expected at most that")
    if heel is not None and heel >= top:
        reader.problem("heel", f"{shown(reader.table['heel'])} isn't below the brim, {reader.level(top)}; "
                               "expected a level below it")
    if mark is not None and mark < top - slack:
        reader.problem("mark", f"{shown(reader.table['mark'])} is below the brim, {reader.level(top)}; "
                               "expected a mark at the brim or above it")
    if mark is not None and mark > top + 5.0:
        reader.problem("mark", f"{shown(reader.table['mark'])} is more than 5 m above the brim; "
                               "expected its height above the tank's bottom")
    if dip_error is not None and dip_error > shape.height / 4:
        reader.problem("dip_error", f"{shown(reader.table['dip_error'])} is more than a quarter of the tank; "
                                    'expected a half-width like "1/4 in"')


def _findings(reader: TableReader, name: str, brim: float | None, dip_error: float | None,
              fresh_for: float | None) -> None:
    report, path = reader.report, reader.path
    if dip_error is None:
        report.finding(path, "no_dip_error", f"Tank {name} has no dip error: how far its dips, and every difference "
                       "with it, can be trusted is unknown.", tank=name)
    if fresh_for is None:
        report.finding(path, "no_fresh_for", f"Tank {name} has no time that a dip stays fresh for: nothing says when "
                       "one is stale.", tank=name)
    if brim is None:
        report.finding(path, "no_brim", f"Tank {name} has no brim: the top of its shape counts as the brim.",
                       severity="note", tank=name)
