"""Reads the [[equipment]] tables of a rig file: what fills once when it starts and drains back when it stops.

The bounds only catch slips (common practice, no source): a long line and its tanks hold less than 100 m3 and fill
within an hour.
"""

from __future__ import annotations

from typing import Any

from dipbook.rig.model import Equipment
from dipbook.rig.reading import Report, TableReader, Ways
from dipbook.rig.tank_section import RESERVED


def read_equipment(rows: list[dict[str, Any]], report: Report, ways: Ways) -> tuple[Equipment, ...]:
    """Read the [[equipment]] tables, in the file's order.

    rows: as they stand. report: takes problems and findings. ways: how the file writes values.
    """
    found: list[Equipment] = []
    names: dict[str, int] = {}
    for n, row in enumerate(rows):
        reader = TableReader(row, ("equipment", n), report, ways)
        name = name_of_its_own(reader, names, "equipment")
        holds = reader.quantity("holds", "volume", 1e-3, 100.0, bare="volume",
                                needed='the mud that fills it, like "6 bbl"')
        fills = reader.quantity("filling", "duration", 0.1, 3600.0, zero=True)
        drains = reader.quantity("draining", "duration", 0.1, 3600.0, zero=True)
        on = reader.flag("on", needed=True)
        reader.end()
        if name is not None and holds is not None and on is not None:
            found.append(Equipment(name=name, holds_m3=holds, fills_s=fills or 0.0, drains_s=drains or 0.0, on=on))
    return tuple(found)


def name_of_its_own(reader: TableReader, names: dict[str, int], what: str) -> str | None:
    """The name of a piece of equipment or a valve, told apart from the others whatever its capitals.

    reader: of its table. names: those above it, in lower case -> line; takes this one. what: "equipment", "valve".
    """
    name = reader.text("name", needed=f"the {what}'s name in quotes", longest=40)
    if name is None:
        return None
    folded = name.casefold()
    if folded in names:
        reader.problem("name", f'"{name}" is already the {what} of line {names[folded]}; '
                               "expected a name of its own (capitals don't count)")
        return None
    names[folded] = reader.report.places.line((*reader.path, "name"))
    if folded in RESERVED or folded.startswith("pump ") or folded.endswith(" time"):
        reader.problem("name", f'"{name}" means something else in limits, entries or readings; '
                               f"expected another name for the {what}")
        return None
    if any(c in '[]:"' for c in name):
        reader.problem("name", f'"{name}" has one of [ ] : " in it; expected a name without them')
        return None
    return name
