"""Reads the [[tour]] tables of a rig file: the shifts that a report is made for."""

from __future__ import annotations

import re
from typing import Any

from dipbook.rig.model import Tour
from dipbook.rig.reading import Report, TableReader, Ways, shown

MOST = 12
"""Tours of a day at most: one every two hours."""
_CODE = re.compile(r"[A-Za-z][A-Za-z0-9]{0,3}", re.ASCII)
_START = re.compile(r"(\d{1,2}):(\d\d)", re.ASCII)
CODE_FORM = 'a letter, or up to four letters and digits that begin with one, like "D"'
START_FORM = 'the local time when it begins in quotes, like "06:00"'


def read_tours(rows: list[dict[str, Any]], report: Report, ways: Ways) -> tuple[Tour, ...]:
    """Read the [[tour]] tables, by the time when they begin. Each lasts until the next begins.

    rows: as they stand. report: takes problems. ways: how the file writes values. Codes are told apart whatever their
    capitals; no two tours begin at one time.
    """
    found: list[Tour] = []
    lines: dict[str, int] = {}
    for n, row in enumerate(rows):
        reader = TableReader(row, ("tour", n), report, ways)
        code = reader.text("code", needed=CODE_FORM, longest=20)
        start = reader.text("start", needed=START_FORM, longest=20)
        reader.end()
        if code is not None and not _CODE.fullmatch(code):
            reader.problem("code", f"{shown(code)} isn't a code; expected {CODE_FORM}")
            code = None
        minute = None if start is None else _minute(start)
        if start is not None and minute is None:
            reader.problem("start", f"{shown(start)} isn't a time of day; expected {START_FORM}")
        if code is None or minute is None:
            continue
        place = report.places.line((*reader.path, "code"))
        if code.casefold() in lines:
            reader.problem("code", f'"{code}" is already the tour of line {lines[code.casefold()]}; '
                                   "expected a code of its own (capitals don't count)")
            continue
        lines[code.casefold()] = place
        other = next((t for t in found if t.start_min == minute), None)
        if other is not None:
            reader.problem("start", f"{shown(start)} is when tour {other.code} begins; expected a time of its own")
            continue
        found.append(Tour(code, minute))
    if len(rows) > MOST:
        report.problem(("tour", MOST), f"is one too many; expected at most {MOST} tours of a day")
    return tuple(sorted(found, key=lambda t: t.start_min))


def _minute(text: str) -> int | None:
    """Minutes after midnight; None for what is no time of day."""
    match = _START.fullmatch(text)
    if match is None or int(match[1]) > 23 or int(match[2]) > 59:
        return None
    return int(match[1]) * 60 + int(match[2])
