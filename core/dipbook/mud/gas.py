"""What gas is at another pressure, and what a column of mud loses by gas that is spread through it.

Numbers for a remark, and never more: nothing of this is booked, and no pressure to hold and no weight to kill with
follows from it. How much gas there is further down nobody knows from what is weighed at surface: more gas below than
above takes more than ``gas_cut_loss`` says.
"""

from __future__ import annotations

from math import isnan, log, nan

from dipbook.mud.mixing import ImpossibleError, positive
from dipbook.quantities.factors import STANDARD_GRAVITY

GRAVITY = float(STANDARD_GRAVITY)
STANDARD_ATMOSPHERE = 101_325.0
"""[Pa], exact by convention (10th CGPM, 1954): what stands on an open surface, where nobody measured it."""


def expanded(gas_m3: float, from_pa: float, to_pa: float, z_from: float = 1.0, z_to: float = 1.0) -> float:
    """What a volume of gas is at another pressure [m3]: V2 = V1 p1 z2/(p2 z1).

    gas_m3: V1 [m3]. from_pa, to_pa: p1, p2, both absolute: an atmosphere more than a gauge reads [Pa]. z_from, z_to:
    z1, z2, the gas's compressibility factor there and then [-]; 1 and 1 are Boyle's law. At one temperature, and as
    much gas as before: what dissolves in the mud, or comes out of it, isn't in it.

    Raises ImpossibleError for one that is no more than nothing. Source: Boyle's law, and z by its definition,
    p V = z n R T.
    """
    positive(gas=gas_m3, **{"from": from_pa}, to=to_pa, z_from=z_from, z_to=z_to)
    return gas_m3 * (from_pa / to_pa) * (z_to / z_from)


def at_depth(mud_kg_m3: float, depth_m: float, surface_pa: float = STANDARD_ATMOSPHERE) -> float:
    """The absolute pressure in a column of mud at rest, without gas in it [Pa]: p0 + ρ g h.

    mud_kg_m3: ρ [kg/m3]. depth_m: h, vertical, from 0 [m]. surface_pa: p0, absolute, on the surface [Pa]. Raises
    ImpossibleError for a depth above the surface, or a weight or pressure that is no more than nothing. Source: weight
    of a column.
    """
    positive(mud=mud_kg_m3, surface=surface_pa)
    if depth_m < 0.0:
        raise ImpossibleError("depth", "it can't be above the surface")
    return surface_pa + mud_kg_m3 * GRAVITY * depth_m


def gas_cut_loss(mud_kg_m3: float, depth_m: float, share: float,
                 surface_pa: float = STANDARD_ATMOSPHERE) -> tuple[float, float]:
    """What a column loses by gas in it, against the same mud without: (lost [Pa], the mud's own [Pa]).

    mud_kg_m3: ρ of the mud without gas [kg/m3]. depth_m: h, vertical [m]. share: f, of the whole that is gas at
    surface [-]. surface_pa: p0, absolute, on the surface [Pa].

    Derived: to each volume of mud belong n = f/(1 − f) volumes of gas at p0, and n p0/p at p, by Boyle's law. So what
    is there weighs ρ/(1 + n p0/p), the gas itself nothing, and dp/dh = ρ g/(1 + n p0/p). Separated and integrated from
    the surface: (p − p0) + n p0 ln(p/p0) = ρ g h, solved for p by Newton's steps. What is lost is ρ g h − (p − p0).

    It holds for gas spread evenly over all of the mud down to there, at rest in it, at one temperature, as an ideal
    gas: gas that comes in below, and hasn't reached the surface, isn't in it. Raises ImpossibleError where the share
    isn't from 0 to below 1, or another is no more than nothing. Source: Strong's equation as White corrected it
    (1957), derived anew as above.
    """
    positive(mud=mud_kg_m3, depth=depth_m, surface=surface_pa)
    if share < 0.0 or share >= 1.0:
        raise ImpossibleError("share", "the gas must be less than all of it")
    whole = mud_kg_m3 * GRAVITY * depth_m
    if isnan(whole + share + surface_pa):
        return nan, whole
    gas = share / (1.0 - share) * surface_pa
    return gas * log(_bottom(whole, gas, surface_pa) / surface_pa), whole


def _bottom(whole_pa: float, gas_pa: float, surface_pa: float) -> float:
    """p of (p − p0) + n p0 ln(p/p0) = ρ g h. The left side rises and bends down, so that Newton's steps from the
    surface rise to the root and never pass it: when they rise no more, they are there."""
    pressure = surface_pa
    while True:
        lacks = whole_pa - (pressure - surface_pa) - gas_pa * log(pressure / surface_pa)
        nearer = pressure + lacks / (1.0 + gas_pa / pressure)
        if not nearer > pressure * (1.0 + 1e-15):
            return pressure
        pressure = nearer
