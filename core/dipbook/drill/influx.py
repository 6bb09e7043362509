"""What has come in from a formation: parcels on their way up the hole, and what room they take.

Gas keeps its amount: V = V1 (p1/p)(z/z1) (``dipbook.mud.gas.expanded``), with z on a straight line in pressure from 1
where there is none to the formation's. Gas that dissolves (oil-base mud) stays hidden down to the pressure at which it
comes out: below that the share 1 − p/pb is free, as much as Henry's law keeps dissolved in proportion to pressure; what
is dissolved takes up a share of the room that it had as it came in. Oil and water keep their volume.
"""

from __future__ import annotations

from dataclasses import dataclass

from dipbook.mud.gas import expanded

GAS, OIL, WATER = "gas", "oil", "water"
FLUIDS = (GAS, OIL, WATER)


@dataclass(frozen=True, slots=True)
class Fluid:
    """What a formation gives. kind: of FLUIDS. weight_kg_m3: of oil or water; gas weighs nothing beside the mud.

    z: the gas's compressibility factor at the formation [-]. out_below_pa: pressure, absolute, below which dissolved
    gas comes out [Pa]; None for gas that doesn't dissolve. swelling: room that dissolved gas takes, as a share of what
    it had as it came in [-].
    """

    kind: str
    weight_kg_m3: float = 0.0
    z: float = 1.0
    out_below_pa: float | None = None
    swelling: float = 0.0


@dataclass(slots=True)
class Parcel:
    """Some of it on its way. came_m3: as it came in [m3], at came_pa, absolute [Pa]. depth_m: of its middle, measured
    [m]. volume_m3: now. began_s: when it began to come in [s]."""

    fluid: Fluid
    came_m3: float
    came_pa: float
    depth_m: float
    volume_m3: float
    began_s: float

    def free(self, pressure_pa: float) -> float:
        """Share of its gas that is free [-], 0 for a liquid. pressure_pa: around it, absolute [Pa]."""
        if self.fluid.kind != GAS:
            return 0.0
        out = self.fluid.out_below_pa
        return 1.0 if out is None else max(0.0, 1.0 - pressure_pa / out)

    def room(self, pressure_pa: float) -> float:
        """What room it takes [m3]. pressure_pa: around it, absolute [Pa]."""
        return room(self.fluid, self.came_m3, self.came_pa, pressure_pa)


def room(fluid: Fluid, came_m3: float, came_pa: float, pressure_pa: float) -> float:
    """What room an influx takes at a pressure [m3].

    fluid: what it is. came_m3, came_pa: its volume as it came in [m3] and the pressure then, absolute [Pa].
    pressure_pa: around it now, absolute [Pa].
    """
    if fluid.kind != GAS or came_m3 <= 0.0:
        return came_m3
    whole = expanded(came_m3, came_pa, pressure_pa, fluid.z, z_at(fluid, came_pa, pressure_pa))
    if fluid.out_below_pa is None:
        return whole
    free = max(0.0, 1.0 - pressure_pa / fluid.out_below_pa)
    return free * whole + (1.0 - free) * fluid.swelling * came_m3


def z_at(fluid: Fluid, came_pa: float, pressure_pa: float) -> float:
    """The compressibility factor at a pressure [-]: 1 + (z1 − 1) p/p1. fluid: for z1. came_pa: p1; pressure_pa: p, both
    absolute [Pa]. Invented: a straight line is no equation of state; at z1 = 1 it is Boyle's law."""
    return 1.0 + (fluid.z - 1.0) * pressure_pa / came_pa
