"""One tubular, and its three volumes for a length, which are never one another:

steel, the metal alone (pulled dry, or run open ended); bore, what it holds inside; closed = steel + bore (pulled wet,
or run in on a closed float before it is filled).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, pi

KINDS = ("drill pipe", "heavy-weight", "collar", "casing", "tubing")
STEEL_KG_M3 = 2747.0 * 0.45359237 / 0.158987294928
"""Density of steel [kg/m3]: 2747 lb/bbl, 65.4 lb/gal (Lapeyrouse, Formulas and Calculations for Drilling, Production
and Workover, 2nd ed., ch. 1)."""

INCH, FOOT, POUND = 0.0254, 0.3048, 0.45359237


@dataclass(frozen=True, slots=True)
class Tubular:
    """A kind of pipe, SI.

    name: as it is called. kind: of KINDS. od_m, id_m: of the tube [m]. weight_kg_m: mean weight in air with its tool
    joints [kg/m], NaN unknown. steel_m2: steel's volume for a length [m3/m]. bore_m2: what a length holds [m3/m].
    source: where the numbers are from.
    """

    name: str
    kind: str
    od_m: float
    id_m: float
    weight_kg_m: float
    steel_m2: float
    bore_m2: float
    source: str = ""

    def __post_init__(self) -> None:
        if not (isfinite(self.od_m) and isfinite(self.id_m) and 0.0 < self.id_m < self.od_m):
            raise ValueError(f"{self.name}: the inside must be above zero and less than the outside")
        if not (isfinite(self.steel_m2) and self.steel_m2 > 0.0 and isfinite(self.bore_m2) and self.bore_m2 > 0.0):
            raise ValueError(f"{self.name}: steel and bore must be above zero")

    @property
    def closed_m2(self) -> float:
        """Volume of a length with its bore closed [m3/m]: steel and bore."""
        return self.steel_m2 + self.bore_m2


@dataclass(frozen=True, slots=True)
class Joint:
    """Tool joints of drill pipe. od_m, id_m: of the joint [m]. length_m: pin and box together, tong to tong [m].
    upset_od_m: pipe at the elevator upset [m]. upset_kg: weight of the upsets of one length [kg]."""

    od_m: float
    id_m: float
    length_m: float
    upset_od_m: float
    upset_kg: float


def area(diameter_m: float) -> float:
    """Cross-section of a circle, or what a length of it holds [m3/m]: (π/4) D². diameter_m: D [m].

    In inches and barrels a foot: D²/1029.4.
    """
    return pi / 4.0 * diameter_m**2


def tube_only(od_m: float, id_m: float) -> float:
    """Steel of a plain tube for a length [m3/m], without tool joints: drill pipe has 12 to 23 % more.

    od_m, id_m: outside and inside [m].
    """
    return area(od_m) - area(id_m)


def steel_by_weight(weight_kg_m: float) -> float:
    """Steel for a length by its weight [m3/m]: w/ρ. weight_kg_m: mean weight in air, tool joints included [kg/m]."""
    return weight_kg_m / STEEL_KG_M3


def adjusted_weight(od_m: float, id_m: float, joint: Joint) -> float:
    """Mean weight of drill pipe with its tool joints [kg/m].

    w = (29.4 Wdp + Wtj)/(Ltj + 29.4) with Wtj = 0.222 L (D² − d²) + 0.167 (D³ − Dte³) − 0.501 d² (D − Dte) and Ltj =
    (L + 2.253 (D − Dte))/12, in inches, feet and pounds (API RP 7G, from memory; its table is met to 0.15 lb/ft).
    od_m, id_m: of the tube [m]. joint: its tool joints.
    """
    big, small, length, upset = (x / INCH for x in (joint.od_m, joint.id_m, joint.length_m, joint.upset_od_m))
    tube = 10.68 * (od_m - id_m) / 2.0 / INCH * (od_m / INCH - (od_m - id_m) / 2.0 / INCH)
    pipe = tube + joint.upset_kg / POUND / 29.4
    joints = 0.222 * length * (big**2 - small**2) + 0.167 * (big**3 - upset**3) - 0.501 * small**2 * (big - upset)
    longer = (length + 2.253 * (big - upset)) / 12.0
    return (29.4 * pipe + joints) / (longer + 29.4) * POUND / FOOT
