"""What a hole loses that isn't filled: level, pressure, and how many stands may be pulled before that.

Volumes go by measured depth, pressure by the vertical: by the survey where the rig file has one, else as in a vertical
well, which never understates it.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, inf, isfinite

from dipbook.well import Survey

GRAVITY = 9.80665
"""Standard gravity [m/s2], exact."""
CFR_PRESSURE_PA = 75.0 * 6894.757293168
"""75 psi (30 CFR 250.456(c)): the hydrostatic loss before which the annulus is filled."""
CFR_STANDS = 5
"""Five stands (the same), whichever loses less."""


def drop(volume_m3: float, inside_m2: float, closed_m2: float) -> float:
    """How far the level falls [m] when a volume of pipe has left an unfilled hole: V/(Ccsg − Cpipe).

    volume_m3: what the pipe took along, steel or steel and bore [m3]. inside_m2: what a length of casing at surface
    holds [m3/m]. closed_m2: what a length of the pipe that still stands there takes of that: its steel pulled dry, its
    steel and bore pulled wet; 0 for the last pipe [m3/m].
    """
    return volume_m3 / (inside_m2 - closed_m2)


def pressure(drop_m: float, density_kg_m3: float) -> float:
    """Hydrostatic pressure lost [Pa]: ρ g h. drop_m: how far the level fell, vertically [m]. density_kg_m3: of the mud.
    """
    return density_kg_m3 * GRAVITY * drop_m


def length_for(pressure_pa: float, density_kg_m3: float, inside_m2: float, closed_m2: float) -> float:
    """Length of pipe [m] that may be pulled before so much pressure is lost: Δp (Ccsg − Cpipe)/(ρ g Cpipe).

    pressure_pa: Δp [Pa]. density_kg_m3: of the mud. inside_m2, closed_m2: as of ``drop`` [m3/m].
    """
    return pressure_pa * (inside_m2 - closed_m2) / (density_kg_m3 * GRAVITY * closed_m2)


@dataclass(frozen=True, slots=True)
class Allowed:
    """Stands that may be pulled between two fills, and what fills the hole then. stands: whole ones. volume_m3: for
    those [m3]. by: what sets it, in words. pressure_pa: what they lose unfilled [Pa]. drop_m: how far the level falls
    then [m]."""

    stands: int
    volume_m3: float
    by: str
    pressure_pa: float
    drop_m: float


def allowed(stand_m: float, taken_m2: float, inside_m2: float, density_kg_m3: float, *,
            pressure_pa: float = CFR_PRESSURE_PA, stands: int | None = CFR_STANDS,
            survey: Survey | None = None) -> Allowed:
    """The smaller of a pressure and a number of stands, in whole stands.

    stand_m: its length [m]. taken_m2: what a length of it takes along, steel, or steel and bore pulled wet [m3/m].
    inside_m2: of the casing at surface [m3/m]. density_kg_m3: of the mud. pressure_pa, stands: the rule's, by default
    those of 30 CFR 250.456(c); infinite, or None: the rule has the other alone. survey: of the well, by which a level
    that falls along the hole falls vertically; None: taken as vertical, and never less is lost than that. 0 stands
    where not even one may be pulled unfilled: the hole is filled all along. Raises ValueError where that can't be told:
    something unknown or not above zero, pipe as wide as the casing, or no rule.
    """
    known = all(isfinite(x) and x > 0.0 for x in (stand_m, taken_m2, inside_m2, density_kg_m3))
    rule = pressure_pa >= 0.0 and (stands is None or stands >= 0) and (isfinite(pressure_pa) or stands is not None)
    if not (known and taken_m2 < inside_m2 and rule):
        raise ValueError("stands between fills: stand, pipe, casing and mud must be known and above zero, and the pipe "
                         "narrower than the casing")
    def lost(count: int) -> float:
        return pressure(vertical(drop(count * stand_m * taken_m2, inside_m2, taken_m2), survey), density_kg_m3)

    by_pressure = length_for(pressure_pa, density_kg_m3, inside_m2, taken_m2) / stand_m + 1e-9
    most = inf if stands is None else stands
    count = floor(min(by_pressure, most))
    while survey is not None and count < most and lost(count + 1) <= pressure_pa * (1.0 + 1e-9):
        count += 1
    volume = count * stand_m * taken_m2
    return Allowed(count, volume, "the pressure" if count < most else "the number of stands", lost(count),
                   drop(volume, inside_m2, taken_m2))


def vertical(drop_m: float, survey: Survey | None) -> float:
    """How far a level that fell along the hole fell vertically [m]. drop_m: along it, from the rotary [m]. survey: of
    the well; None, or not that deep: taken as vertical, which loses the most.
    """
    found = drop_m if survey is None else survey.tvd(drop_m)
    return found if isfinite(found) else drop_m
