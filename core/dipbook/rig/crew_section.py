"""Reads the [[crew]] tables of a rig file: the people whose names are offered where somebody says who it is."""

from __future__ import annotations

from typing import Any

from dipbook.rig.model import Person
from dipbook.rig.reading import Report, TableReader, Ways

LONGEST = 60
"""Letters of a name or a role at most."""


def read_crew(rows: list[dict[str, Any]], report: Report, ways: Ways) -> tuple[Person, ...]:
    """Read the [[crew]] tables, in the file's order.

    rows: as they stand. report: takes problems. ways: how the file writes values. Names are told apart whatever their
    capitals; two people of one name are written so that they can be told apart.
    """
    found: list[Person] = []
    names: dict[str, int] = {}
    for n, row in enumerate(rows):
        reader = TableReader(row, ("crew", n), report, ways)
        name = reader.text("name", needed='the person\'s name in quotes, like "A. Example"', longest=LONGEST)
        role = reader.text("role", longest=LONGEST)
        reader.end()
        if name is None:
            continue
        folded = name.casefold()
        if folded in names:
            reader.problem("name", f'"{name}" is already the person of line {names[folded]}; '
                                   "expected a name of its own (capitals don't count)")
            continue
        names[folded] = report.places.line((*reader.path, "name"))
        found.append(Person(name, role or ""))
    return tuple(found)
