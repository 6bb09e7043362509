"""A tank and a pump as far as their rows read, while somebody is still typing: for a picture, never for the books."""

from __future__ import annotations

from dataclasses import dataclass

from dipbook.rig.model import ROLES
from dipbook.rig.parsing import Checked
from dipbook.rig.reading import Report, TableReader
from dipbook.rig.shape_section import read_shape
from dipbook.rig.well_section import read_outputs
from dipbook.tanks.tank import Tank

SLACK_M = 1e-9


@dataclass(frozen=True, slots=True)
class SketchedTank:
    """tank: its shape, and of brim, heel and internals those that read; the rest of it says nothing. told: whether what
    it holds can be told: not while internals are given and don't read."""

    tank: Tank
    told: bool


def sketched_tank(checked: Checked, row: int) -> SketchedTank | None:
    """The tank of a row, None while its shape doesn't read. checked: the file; row: from 0."""
    reader = _unseen(checked, "tank", row)
    shape = None if reader is None else read_shape(reader)
    if reader is None or shape is None:
        return None
    brim = reader.quantity("brim", "length", 0.1, 15.0, bare="level")
    if brim is not None and brim > shape.height + SLACK_M:
        brim = None
    heel = reader.quantity("heel", "length", 0.0, 15.0, bare="level", zero=True) or 0.0
    if heel >= (shape.height if brim is None else brim):
        heel = 0.0
    internals = reader.quantity("internals", "volume", 0.0, 500.0, bare="volume", zero=True)
    if internals and internals > 0.5 * float(shape.volume(shape.height)):
        internals = None
    told = internals is not None or not reader.has("internals")
    return SketchedTank(Tank("", ROLES[0], False, 1, shape, heel_m=heel, brim_m=brim, internals_m3=internals or 0.0),
                        told)


def sketched_outputs(checked: Checked, row: int) -> tuple[float | None, float | None]:
    """Volume per stroke of the pump of a row [m3]: as typed, and by its measures; None where not said or not read.

    checked: the file; row: from 0.
    """
    reader = _unseen(checked, "pump", row)
    return (None, None) if reader is None else read_outputs(reader)


def _unseen(checked: Checked, kind: str, row: int) -> TableReader | None:
    """A reader of a row that tells its problems to nobody: they are told where the whole file is read."""
    rows = checked.table.get(kind)
    if not isinstance(rows, list) or not row < len(rows) or not isinstance(rows[row], dict):
        return None
    return TableReader(rows[row], (kind, row), Report(checked.report.name, checked.report.places), checked.ways)
