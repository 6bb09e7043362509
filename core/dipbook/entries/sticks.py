"""Two sticks of one tank: what each says of the volume, and how far that can be trusted."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, isnan

from dipbook.quantities import write_level
from dipbook.rig.model import Rig
from dipbook.tanks.tank import Tank
from dipbook.tanks.uncertainty import tank_uncertainty

ROUNDING = 1e-5
"""Share of a tank's height by which rounding may put a stick outside [-], as for dips."""


@dataclass(frozen=True, slots=True)
class Stick:
    """One stick worked out. level_m: above the bottom [m]; volume_m3, u_m3 (k=1) [m3], NaN where not known."""

    level_m: float
    volume_m3: float
    u_m3: float


def worked_out(tank: Tank, dip_m: float) -> Stick:
    """What a stick says of the tank.

    tank: that was gauged. dip_m: what the stick read [m], in the tank's own datum. Nothing is clamped.
    """
    level = float(tank.level_of_dip(dip_m))
    return Stick(level, float(tank.volume(level)), float(tank_uncertainty(tank, level)))


def outside(tank: Tank, dip_m: float, rig: Rig) -> str:
    """Words on a stick that can't be one of this tank; "" for one that can.

    tank: that was gauged. dip_m: what the stick read [m], in the tank's own datum. rig: its units.
    """
    level = float(tank.level_of_dip(dip_m))
    top = tank.shape.height
    if level > top * (1 + ROUNDING):
        return (f"more than {tank.name} can hold: at its top the stick reads {_at(tank, top, rig)}. Check the tank and "
                "the unit")
    if level < -ROUNDING * top:
        more = "more" if tank.gauge == "down" else "less"
        return (f"below the bottom of {tank.name}: the stick can't read {more} than {_at(tank, 0.0, rig)} there. Check "
                "the tank and the unit")
    if isnan(float(tank.volume(level))):
        return f"the table of {tank.name} doesn't reach so far: its volume there isn't known"
    return ""


def two_u(one: Stick, other: Stick) -> float:
    """Twice the standard uncertainty of the difference of two sticks [m3]; NaN where no dip error is set.

    one, other: independent of each other.
    """
    return 2.0 * hypot(one.u_m3, other.u_m3)


def _at(tank: Tank, level_m: float, rig: Rig) -> str:
    return write_level(float(tank.dip_of_level(level_m)), rig.units.get("level") or "m", rig.decimal)
