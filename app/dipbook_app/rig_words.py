"""What the Rig page says: of a tank, a pump and the well while they are typed, and of what is wrong with them."""

from __future__ import annotations

import re
from math import floor, log10

from dipbook.composing.rig_views import PumpSketch, TankSketch, WellView
from dipbook.quantities import FEET_INCHES, from_unit, to_unit, write_number
from dipbook_app.display import DisplayUnits, shown_unit
from dipbook_app.forms.form import sentence

STEPS = {"m": "cm", "ft": "in", FEET_INCHES: "in"}
"""Unit of levels -> the step of level by which a tank's volume is told, where that isn't the unit itself."""
PLACES = 3
"""Digits that count of a volume for a step of level, or a stroke."""
Row = tuple[str, str]
FORM_WORDS = (("true or false", "yes or no"), ("stands beside falling", "stands beside Draining, time const."),
              ("expected the rows as table", "expected the rows"))
"""What a file calls something -> what the form does."""


def tank_rows(sketch: TankSketch | None, units: DisplayUnits) -> tuple[Row, ...]:
    """(what, value) of a tank. sketch: None while its shape doesn't read; units: the crew's."""
    if sketch is None:
        return ()
    top, step = units.level(sketch.tank.top_m), step_words(units)
    full = f"At the brim, {top}" if sketch.has_brim else f"To the top of the shape, {top}"
    heel = "Above the heel" if sketch.has_heel else "No heel given"
    rows = [(full, units.volume(sketch.full_m3)), (heel, units.volume(sketch.usable_m3))]
    if sketch.even:
        rows.insert(0, ("At every level", f"{step} = {area_words(sketch.lines[0].area_m2, units)}"))
    else:
        rows += [(f"At {units.level(line.level_m)}, {units.volume(line.volume_m3)}",
                  f"{step} = {area_words(line.area_m2, units)}") for line in sketch.lines]
    return tuple(rows)


def step_words(units: DisplayUnits) -> str:
    """``1 in``: the step of level that a tank's volume is told by. units: the crew's."""
    return f"1 {_step(units)}"


def area_words(area_m2: float | None, units: DisplayUnits) -> str:
    """``4.45 bbl``: what a tank holds for a step of level. area_m2: volume for a unit of level [m2]; units: the crew's.
    """
    return small_volume(None if area_m2 is None else area_m2 * from_unit(1.0, _step(units)), units)


def small_volume(volume_m3: float | None, units: DisplayUnits) -> str:
    """A small volume [m3] to three digits that count: ``0.102 bbl``. units: the crew's."""
    if volume_m3 is None:
        return "unknown"
    shown = abs(to_unit(volume_m3, units.volume_unit))
    digits = max(0, PLACES - 1 - floor(log10(shown))) if shown > 0 else 0
    return (f"{write_number(volume_m3, units.volume_unit, digits=digits, decimal=units.decimal)} "
            f"{shown_unit(units.volume_unit)}")


def pump_rows(sketch: PumpSketch, units: DisplayUnits) -> tuple[Row, ...]:
    """(what, value) of a pump. sketch: of it; units: the crew's."""
    if sketch.typed_m3 is not None and sketch.measured_m3 is not None:
        return (("A stroke, calibrated", f"{small_volume(sketch.typed_m3, units)}, which counts"),
                ("By its measures", small_volume(sketch.measured_m3, units)))
    how = "calibrated" if sketch.typed_m3 is not None else "by its measures"
    counts = sketch.counts_m3
    rows = [(f"A stroke, {how}" if counts is not None else "A stroke", small_volume(counts, units))]
    if counts:
        rows.append((f"Strokes to 1 {shown_unit(units.volume_unit)}",
                     f"{from_unit(1.0, units.volume_unit) / counts:.1f}".replace(".", units.decimal)))
    return tuple(rows)


def well_rows(view: WellView, units: DisplayUnits) -> tuple[Row, ...]:
    """(what, value) of the well, with the bit where it is. view: of it; units: the crew's."""
    rows: list[Row] = []
    if view.sections and view.parts:
        rows.append(("Bottoms-up", units.volume(view.bottoms_up_m3)))
        rows += _strokes([(s.pump, s.up) for s in view.strokes])
    if view.parts:
        rows.append(("Surface to bit", units.volume(view.to_bit_m3)))
        rows += _strokes([(s.pump, s.down) for s in view.strokes])
        rows.append(("Steel in the hole", units.volume(view.steel_m3)))
    if view.sections:
        rows.append(("Below the bit", units.volume(view.below_bit_m3)))
        rows.append(("Hole without pipe", units.volume(view.hole_m3)))
    return tuple(rows)


def depth_words(depth_m: float, units: DisplayUnits) -> str:
    """A depth or length [m] as short as it is: ``4980 ft``, ``91.4 m``. units: the crew's."""
    return units.length(depth_m).replace(f"{units.decimal}0 ", " ").replace(f"{units.decimal}00 ", " ")


def at_field(what: str, *, chosen: bool) -> tuple[str, str]:
    """What is wrong with a key, for its field, and the tone. what: as for a file; chosen: from a list.

    What isn't typed yet is only said to be needed.
    """
    what = of_the_form(what)
    if what.startswith("is missing"):
        needed = what.partition("; ")[2].removeprefix("expected ")
        return ("Needed: choose one." if chosen else f"Needed: {needed}." if needed else "Needed.", "quiet")
    return sentence(what), "error"


def of_the_form(what: str) -> str:
    """Words about the file as words about the form: rows as they are typed, fields by their labels. what: as read."""
    for words in (", without quotes", " in quotes", " before each"):
        what = what.replace(words, "")
    what = re.sub(r"\[\[.*?\]\]", lambda rows: "; ".join(
        f"{one} = {other}" for one, other in re.findall(r'"([^"]*)", "([^"]*)"', rows[0])) or rows[0], what)
    if " Expected something like " in what:
        what = re.sub(r" Examples: [^.]*\.", "", what)
    what = re.sub(r"is already the ([a-z]+) of line \d+", r"is already the name of another \1", what)
    for key, words in FORM_WORDS:
        what = what.replace(key, words)
    return what


def _strokes(strokes: list[tuple[str, float | None]]) -> list[Row]:
    """A row of strokes, pump by pump; none where no pump is described."""
    if not strokes:
        return []
    counts = ", ".join("unknown" if count is None else f"{count:.0f}" for _, count in strokes)
    return [(f"   strokes of pump {', '.join(pump for pump, _ in strokes)}", counts)]


def _step(units: DisplayUnits) -> str:
    return STEPS.get(units.level_unit, units.level_unit)
