"""Published values that the project is checked against: rows.json, each row with its source.

Grades: A read in a source and agrees; B from memory and agrees; C agrees only with the source's own rounded constants;
D a misprint or a rough rule, kept as a trap: we must not reproduce it; E derived from exact definitions.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest


@dataclass(frozen=True)
class Row:
    """One published value. tolerance is absolute, in the row's own unit; source and provenance say where it was read."""

    id: str
    topic: str
    formula: str
    inputs: dict[str, Any]
    published_value: float
    published_unit: str
    tolerance: float
    grade: str
    note: str
    source: str
    provenance: str

    def agrees(self, value: float) -> bool:
        """True if a value is the published one, within the row's tolerance."""
        return abs(value - self.published_value) <= self.tolerance * (1 + 1e-9)


_TEXT = Path(__file__).with_name("rows.json").read_text(encoding="utf-8")
ROWS: dict[str, Row] = {row["id"]: Row(**row) for row in json.loads(_TEXT)}


def rows(cases: dict[str, Any]) -> Callable[[Any], Any]:
    """Parametrise a test with (row, case) for each row id; the test's id names the row and its source."""
    return pytest.mark.parametrize(
        ("row", "case"),
        [pytest.param(ROWS[key], case, id=f"{key} {ROWS[key].source[:40]}") for key, case in cases.items()],
    )
