"""From what the stick says to a level and a volume, and what is odd about it.

Nothing is clamped: a level above the brim or below the bottom is computed on and reported; outside a
strapping table the volume is NaN, because the table doesn't say. The doubts of a row are in
``dipbook.tanks.doubts``.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isnan, nan
from typing import Any

import numpy as np

from dipbook.findings import Finding
from dipbook.quantities import DipReading, write_level
from dipbook.tanks.doubts import question, swapped_rows
from dipbook.tanks.tank import Tank
from dipbook.tanks.uncertainty import tank_uncertainty

__all__ = ["FLAGS", "UNREAD", "Gauged", "Outside", "gauge", "outside", "question", "swapped_rows"]

FLAGS = ("foam", "agitator", "below stick", "over brim", "stuck", "clipped", "implausible")
"""Words for a dip or sample that isn't what it seems. The first four are a person's, the rest a sensor's."""
ABOVE_TABLE, BELOW_TABLE = "above its table", "below its table"
"""Put by the books where a level is past an end of the tank's shape or strapping table."""
AT_LEAST, AT_MOST = ("over brim", ABOVE_TABLE), ("below stick", BELOW_TABLE)
"""What a tank holds is at least, or at most, what it holds at that end. The first of each a person may say instead of a
level."""
UNREAD = (*AT_LEAST, *AT_MOST)
"""Dips that don't tell what the tank holds, only on which side of an end it is."""

ROUNDING_M = 1e-9
"""A level past an end by less than this is at the end: the feet and inches were equal, the floats weren't."""


@dataclass(frozen=True, slots=True)
class Gauged:
    """One dip, worked out. NaN where it isn't known.

    level_m: above the tank's bottom [m]. volume_m3: mud [m3]. u_m3: one standard uncertainty of it (k=1)
    [m3]. dip_m: what the stick would read in the tank's own datum [m]. findings: what is wrong, never more
    than noted. half_width_m: this dip's own half-width in level [m] where it is coarser than the tank's, else
    None. kind, as_typed: from the reading.
    """

    level_m: float
    volume_m3: float
    u_m3: float
    dip_m: float
    findings: tuple[Finding, ...] = ()
    half_width_m: float | None = None
    kind: str = "level"
    as_typed: str = ""

    @property
    def known(self) -> bool:
        """True if there is a volume."""
        return not isnan(self.volume_m3)


@dataclass(frozen=True, slots=True)
class Outside:
    """Where levels leave the tank: arrays of bool, or bools. A level may be in two of them.

    above_brim; below_bottom; not_in_table: the level is known and the volume isn't.
    """

    above_brim: Any
    below_bottom: Any
    not_in_table: Any


def outside(tank: Tank, level_m: Any) -> Outside:
    """Which levels leave the tank.

    tank: its geometry. level_m: above the bottom [m], scalar or array; NaN is in none.
    """
    level = np.asarray(level_m, dtype=float)
    return Outside(level > tank.top_m + ROUNDING_M, level < -ROUNDING_M,
                   ~np.isnan(level) & np.isnan(np.asarray(tank.volume(level), dtype=float)))


def gauge(tank: Tank, reading: DipReading, previous: float | None, *, unit: str = "m", decimal: str = ".") -> Gauged:
    """Work out one dip.

    tank: what was gauged. reading: from quantities.read_dip(). previous: the last level above the bottom [m],
    for "unchanged", or None. unit, decimal: how findings write a level.

    A percentage is of the level or of the volume at the brim, as the tank says, counted from the bottom
    whichever way the tank is dipped. A reading by percentage or volume can't be better than half its last
    written digit.
    """
    level, volume, own = _worked_out(tank, reading, previous)
    if not isnan(level) and isnan(volume):
        volume = float(tank.volume(level))
    dip = float(tank.dip_of_level(level))
    half_width = own if own is not None and own > (tank.dip_error_m or 0.0) else None
    if reading.kind == "unchanged":
        half_width = None
    # Without a dip error set, the writing's own step is a floor to the error, not the error: it stays unknown.
    u = nan if tank.dip_error_m is None else float(tank_uncertainty(tank, level, half_width_m=half_width))
    return Gauged(level, volume, u, dip, _findings(tank, reading, level, volume, unit, decimal), half_width,
                  reading.kind, reading.as_typed)


def _worked_out(tank: Tank, reading: DipReading, previous: float | None) -> tuple[float, float, float | None]:
    """Level [m], volume [m3] if it was given, and half the last written digit as level [m] where that
    counts."""
    half = None if reading.step is None else reading.step / 2.0
    if reading.kind == "level":
        return float(tank.level_of_dip(reading.value)), nan, None
    if reading.kind == "volume":
        level = float(tank.level(reading.value))
        return level, reading.value, _as_level(tank, level, half)
    if reading.kind == "percent" and tank.percent_of == "level":
        share = reading.value / 100.0
        return share * tank.top_m, nan, None if half is None else half / 100.0 * tank.top_m
    if reading.kind == "percent" and tank.percent_of == "volume":
        volume = reading.value / 100.0 * tank.capacity_m3
        level = float(tank.level(volume))
        return level, volume, _as_level(tank, level, None if half is None else half / 100.0 * tank.capacity_m3)
    if reading.kind == "unchanged" and previous is not None and not isnan(previous):
        return previous, nan, None
    return nan, nan, None


def _as_level(tank: Tank, level: float, half_volume: float | None) -> float | None:
    """A half-width in volume as one in level, or None where the slope isn't known.

    Where walls meet in a point or an edge, or close above the mud, the slope is 0: there it is how far the level of a
    volume that half-width away lies off.
    """
    if half_volume is None or isnan(level):
        return None
    slope = float(tank.slope(level))
    if slope:
        return half_volume / slope
    volume = float(tank.volume(level))
    off = [abs(float(tank.level(volume + side)) - level) for side in (-half_volume, half_volume)]
    return max((far for far in off if not isnan(far)), default=None)


def _findings(tank: Tank, reading: DipReading, level: float, volume: float, unit: str,
              decimal: str) -> tuple[Finding, ...]:
    """What is wrong with a dip, most serious first."""
    if reading.kind == "not gauged":
        return ()

    def say(code: str, what: str, severity: str = "warning", kept: bool = True) -> Finding:
        return Finding(f"{tank.name}: {what}", code=code, severity=severity, tank=tank.name, kept=kept)

    def at(value: float) -> str:
        return write_level(value, unit, decimal)

    if reading.kind == "unchanged" and isnan(level):
        return (say("no_previous", "gauged “same”, but there is no dip before it. Write what the stick says.",
                    kept=False),)
    if reading.kind == "percent" and not tank.percent_of:
        return (say("no_percent_of", f"“{reading.as_typed}”, but the rig file doesn't say what a percentage is of. "
                    "Write a level, or set percent_of.", kept=False),)
    found = []
    where = outside(tank, level)
    if where.above_brim:
        found.append(say("above_brim", f"level {at(level)} is above the brim at {at(tank.top_m)}. Kept as read; "
                         "check the dip, and the tank."))
    if where.below_bottom and tank.gauge == "down":
        dip = float(tank.dip_of_level(level))
        found.append(say("beyond_mark", f"a dip of {at(dip)} is more than the mark's height over the bottom, "
                         f"{at(tank.mark_m)}. Kept as read; check the dip and the mark."))
    elif where.below_bottom:
        found.append(say("below_bottom", f"level {at(level)} is below the tank's bottom. Kept as read; check the dip "
                         "and the gauge point."))
    if where.not_in_table or (reading.kind != "unchanged" and isnan(level)):
        unknown = " The volume is unknown." if isnan(volume) else ""
        found.append(say("outside_table", f"“{reading.as_typed}” is outside the tank's shape or strapping table, which "
                         f"doesn't say what the tank holds there.{unknown}"))
    if tank.dip_error_m is None:
        found.append(say("no_dip_error", "no dip_error is set, so how far this dip can be trusted is unknown.", "note"))
    return tuple(found)
