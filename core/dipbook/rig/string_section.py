"""Reads the [[string]] tables of a rig file: the parts of the string, from the bit up.

The bounds only catch slips (common practice, no source): no part has more steel than 0.2 m3/m or is longer than 15 km.
"""

from __future__ import annotations

from math import inf
from typing import Any

from dipbook.rig.reading import Report, TableReader, Ways
from dipbook.tubulars import KINDS, Tubular, TubularError, find
from dipbook.well import Part, String


def read_string(rows: list[dict[str, Any]], report: Report, ways: Ways) -> String | None:
    """Read the [[string]] tables, the bit's end first; None without any, or where one is wrong.

    rows: as they stand. report: takes problems. ways: how the file writes values. A part is a pipe of the catalogue, or
    its steel and bore from its own data sheet, which go first where both are given; the last one, at the top, may be
    without a length.
    """
    parts: list[Part] = []
    for n, row in enumerate(rows):
        part = _part(row, n, n == len(rows) - 1, report, ways)
        if part is not None:
            parts.append(part)
    return String(tuple(parts)) if rows and len(parts) == len(rows) else None


def _part(row: dict[str, Any], n: int, last: bool, report: Report, ways: Ways) -> Part | None:
    reader = TableReader(row, ("string", n), report, ways)
    name = reader.text("name", longest=40)
    called = reader.text("pipe", longest=40)
    kind = reader.choice("kind", KINDS, "a kind of pipe")
    steel = reader.quantity("steel", "capacity", 2e-4, 0.2)
    bore = reader.quantity("bore", "capacity", 1e-6, 0.5)
    length = reader.quantity("length", "length", 0.1, 15_000.0, bare="length")
    reader.end()
    known: Tubular | None = None
    if called is not None:
        try:
            known = find(called)
        except TubularError as error:
            reader.problem("pipe", f"{error}")
            return None
    elif steel is None or bore is None:
        own = [key for key in ("steel", "bore") if reader.has(key)]
        if len(own) == 1 and not reader.has("pipe"):
            other, like = ("bore", "0.01776 bbl/ft") if own == ["steel"] else ("steel", "0.00759 bbl/ft")
            reader.problem(other, f'is missing; expected it beside the {own[0]}, like "{like}", or a pipe of the '
                                  "catalogue")
        elif not own and not reader.has("pipe"):
            reader.problem("pipe", 'is missing; expected a pipe of the catalogue like "5 19.50 NC50", or steel and '
                                   "bore from its data sheet")
        return None
    if length is None and not last:
        if not reader.has("length"):
            reader.problem("length", "is missing; only the last part, at the top, may be without a length")
        return None
    return Part(name or (known.name if known else "pipe"), kind or (known.kind if known else KINDS[0]),
                steel if steel is not None else known.steel_m2 if known else 0.0,
                bore if bore is not None else known.bore_m2 if known else 0.0, inf if length is None else length)
