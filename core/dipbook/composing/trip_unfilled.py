"""Stands pulled since the hole was last seen filled: what the level and the pressure have lost, against the rule."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

from dipbook.books.trips import Trip
from dipbook.posting import Posted
from dipbook.quantities import write
from dipbook.rig.model import Rig
from dipbook.trips import Row, drop, pressure, vertical
from dipbook.trips.rows import STAND
from dipbook.trips.ways import DRY


def unfilled(trip: Trip, rows: Sequence[Row], rig: Rig, posted: Sequence[Posted]) -> tuple[str, bool]:
    """(words, whether the hole is due to be filled), ("", False) where every stand was read.

    trip: out of the hole; of one going in there is nothing. rows: of its sheet. rig: with the units of words. posted:
    what may be pulled between two fills, () where that isn't known. Rows without a level or strokes count as stands
    that nobody filled for: a trip tank that runs over the hole all along fills it, and reading its level says so.
    """
    last = max((n for n, r in enumerate(rows) if r.levels_m or r.strokes is not None), default=0)
    stands = sum(r.kind == STAND for r in rows[last + 1:])
    if not trip.out or not stands:
        return "", False
    count = f"{stands} stand{'s' if stands > 1 else ''} without a fill or a reading"
    lost = _lost(trip, rows[:last + 1], rows, rig)
    allowed, name = _allowed(trip, rows, rig, posted)
    parts = [count, *([lost] if lost else [])]
    if allowed is not None:
        parts.append(f"posted for {name}: {allowed}")
    return "; ".join(parts), allowed is not None and stands >= allowed


def _lost(trip: Trip, before: Sequence[Row], rows: Sequence[Row], rig: Rig) -> str:
    """How far the level fell and what pressure is lost, if nothing filled the hole; "" where that isn't known."""
    string, sections = trip.string(rig), rig.sections
    bits = [[r.bit_m for r in some if isfinite(r.bit_m)] for some in (before, rows)]
    if string is None or sections is None or not all(bits):
        return ""
    begin, now = bits[0][-1], bits[1][-1]
    wet = trip.way_now(rig).out != DRY
    volume = string.steel(begin) - string.steel(now) + (string.bore(begin) - string.bore(now) if wet else 0.0)
    standing = string.at(now, 0.0)
    closed = 0.0 if standing is None else standing.closed_m2 if wet else standing.steel_m2
    inside = sections.sections[0].capacity_m2
    if not volume > 0.0 or closed >= inside:
        return ""
    fell = drop(volume, inside, closed)
    said = f"unfilled the level is {write(fell, rig.units.get('length', 'm'), digits=0, decimal=rig.decimal)} down"
    density = trip.head.payload.get("density_in_kg_m3")
    if density is not None:
        gone = pressure(vertical(fell, rig.survey), float(density))
        lost = write(gone, rig.units.get("pressure", "kPa"), digits=0, decimal=rig.decimal)
        said += f", {lost} lost"
    return said


def _allowed(trip: Trip, rows: Sequence[Row], rig: Rig, posted: Sequence[Posted]) -> tuple[int | None, str]:
    """Stands posted for the pipe that is pulled now, by the rig's own rule where it has one, and what it is called."""
    bits = [r.bit_m for r in rows if isfinite(r.bit_m)]
    string = trip.string(rig)
    part = string.at(bits[-1], 0.0) if string is not None and bits else None
    found = next((p for p in posted if part is not None and p.name == part.name), None)
    if found is None:
        return None, ""
    return (found.reference if found.own is None else found.own).stands, found.name
