"""Words of a trip: its beginning and end, the rows of its sheet, and what was decided at a hold point."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from dipbook.entries.kinds import NOT_CIRCULATED, OUT, TRIP, TRIP_DECISION, TRIP_END
from dipbook.entries.pen import Pen
from dipbook.records import TRIP_ROW
from dipbook.trips.rows import FILL, STAND
from dipbook.trips.ways import BUCKET


def _trip(pen: Pen) -> str:
    number, out = pen.text("number"), pen.text("direction") == OUT
    said = f"Trip {number}, {pen.text('direction')}" if number else f"Trip {pen.text('direction')}"
    how = pen.text("pulled") if out else f"{pen.text('float')} float"
    parts = [f"{said} from {pen.length('bit_depth_m', 'bit depth')}", f"pulled {how}" if out else how]
    if pen.text("pulled") == BUCKET:
        parts[-1] = f"pulled with a bucket that gives back {pen.percent('returned_percent')}"
    if tank := pen.text("tank"):
        parts.append(f"on {tank}")
    if pipe := pen.text("pipe"):
        parts.append(pipe)
    if purpose := pen.text("purpose"):
        parts.append(purpose)
    for key, name, words in (("density_in_kg_m3", "density in", "mud in"),
                             ("density_out_kg_m3", "density out", "mud out")):
        if density := pen.quantity(key, name, "density"):
            parts.append(f"{words} {density}")
    if bottoms_up := pen.text("bottoms_up"):
        parts.append(f"bottoms-up {bottoms_up}" + (
            f": {pen.text('why_not')}" if bottoms_up == NOT_CIRCULATED and pen.text("why_not") else ""))
    if gas := pen.percent("gas_percent"):
        parts.append(f"gas {gas}")
    return ", ".join(parts)


def _end(pen: Pen) -> str:
    tally = f", joints against the tally: {pen.text('tally')}" if pen.text("tally") else ""
    return f"Trip ended{tally}" + (f", signed by {pen.text('signed')}" if pen.text("signed") else "")


def _decision(pen: Pen) -> str:
    return f"Decided by {pen.text('decided_by')}: {pen.text('action')}"


def _row(pen: Pen) -> str:
    what, stand = pen.text("what"), pen.record.payload.get("stand")
    said = {STAND: "Stand", FILL: "Reading, no pipe moved"}.get(what, what[:1].upper() + what[1:])
    parts = [f"{said} {stand}" if what == STAND and stand is not None else said]
    if bit := pen.length("bit_depth_m", "bit depth"):
        parts.append(f"bit {bit}")
    parts += [pen.dip(dip) for dip in pen.record.dips]
    strokes = pen.record.payload.get("strokes")
    if strokes is not None:
        parts.append(f"{strokes:g} strokes")
    source, to = pen.text("from"), pen.text("to")
    if source and source in {d.tank for d in pen.record.dips}:
        parts.append(f"emptied to {to}")
    elif source:
        parts.append(f"from {source}")
    return ", ".join(parts)


SAY: Mapping[str, Callable[[Pen], str]] = {TRIP: _trip, TRIP_END: _end, TRIP_DECISION: _decision, TRIP_ROW: _row}
"""Kind of record -> its words."""
