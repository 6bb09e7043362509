"""The mud column outside the pipe: what stands in it from the ground, how it presses, and how gas moves up it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from dipbook.drill.influx import GAS, Fluid, Parcel
from dipbook.drill.profile import Profile, vertical_depth
from dipbook.mud.gas import GRAVITY, STANDARD_ATMOSPHERE
from dipbook.well import Survey

PARCEL_S = 120.0
"""What comes in longer after a parcel began is a parcel of its own [s]."""


@dataclass(slots=True)
class Column:
    """mud_kg_m3: of the mud. survey: of the well, None: vertical. parcels: what came in, the highest first. empty_m3:
    of the hole at the top, that no mud fills."""

    mud_kg_m3: float
    survey: Survey | None = None
    parcels: list[Parcel] = field(default_factory=list)
    empty_m3: float = 0.0

    @property
    def influx_m3(self) -> float:
        """Room that what came in takes now [m3]."""
        return sum(p.volume_m3 for p in self.parcels)

    @property
    def liquid_m3(self) -> float:
        """Of that, oil and water [m3]."""
        return sum(p.volume_m3 for p in self.parcels if p.fluid.kind != GAS)

    def lacking(self, shape: Profile, depth_m: float, *, there_too: bool = False) -> float:
        """Height of mud that is missing above a depth [m]: the empty top, and gas or lighter fluid in place of mud.

        shape: of the hole. there_too: what has its middle there counts, as for the formation that it comes from.
        """
        lost = self.empty_m3 / shape.area(0.0)
        for p in self.parcels:
            if p.depth_m < depth_m or (there_too and p.depth_m == depth_m):
                light = 1.0 - (p.fluid.weight_kg_m3 / self.mud_kg_m3 if p.fluid.kind != GAS else 0.0)
                lost += light * self._free_volume(p) / shape.area(p.depth_m)
        return lost

    def _free_volume(self, p: Parcel) -> float:
        hidden = p.fluid.out_below_pa is not None and p.volume_m3 <= p.fluid.swelling * p.came_m3 * (1.0 + 1e-9)
        return 0.0 if hidden else p.volume_m3

    def pressure(self, shape: Profile, depth_m: float, *, there_too: bool = False) -> float:
        """Absolute pressure at a measured depth, at rest [Pa]; never below that of the open air. shape: of the hole.
        depth_m: [m]. there_too: as of ``lacking``."""
        mud = max(0.0, vertical_depth(self.survey, depth_m)
                  - self.lacking(shape, depth_m, there_too=there_too))
        return STANDARD_ATMOSPHERE + self.mud_kg_m3 * GRAVITY * mud

    def comes_in(self, fluid: Fluid, came_m3: float, at_m: float, pressure_pa: float, now_s: float) -> float:
        """An influx [m3 as it comes in] at a depth [m], at the formation's absolute pressure [Pa]; returns the room
        that it takes [m3]."""
        # Of two formations that flow at once each has its own parcel, or every step would begin two new ones.
        last = next((p for p in reversed(self.parcels) if p.fluid is fluid and now_s - p.began_s <= PARCEL_S), None)
        if last is None:
            last = Parcel(fluid, 0.0, pressure_pa, at_m, 0.0, now_s)
            self.parcels.append(last)
        share = last.came_m3 / (last.came_m3 + came_m3)
        last.depth_m = share * last.depth_m + (1.0 - share) * at_m
        last.came_pa = share * last.came_pa + (1.0 - share) * pressure_pa
        last.came_m3 += came_m3
        before, last.volume_m3 = last.volume_m3, last.room(pressure_pa)
        return last.volume_m3 - before

    def would_take(self, shape: Profile, up_m3_s: float, bit_m: float, slip_m_s: float, dt_s: float) -> float:
        """Room that what came in would take after a time, before any of it is out at the top [m3]; as of ``rises``,
        and nothing is moved."""
        tried = Column(self.mud_kg_m3, self.survey, [replace(p) for p in self.parcels], self.empty_m3)
        return self.influx_m3 + tried.rises(shape, up_m3_s, bit_m, slip_m_s, dt_s)[0]

    def rises(self, shape: Profile, up_m3_s: float, bit_m: float, slip_m_s: float, dt_s: float) -> tuple[float, float]:
        """Move what came in for a time: (how much it grew, gas that came out at the top) [m3].

        shape: of the hole. up_m3_s: flow around the pipe [m3/s]. bit_m: below it nothing flows [m]. slip_m_s: of free
        gas through the mud, along the hole [m/s]. dt_s: the time [s].
        """
        grew = vented = 0.0
        left: list[Parcel] = []
        for p in self.parcels:
            pressure = self.pressure(shape, p.depth_m)
            speed = (up_m3_s / shape.area(p.depth_m) if p.depth_m <= bit_m else 0.0)
            speed += slip_m_s if p.free(pressure) > 0.0 else 0.0
            p.depth_m = max(0.0, p.depth_m - speed * dt_s)
            before, p.volume_m3 = p.volume_m3, p.room(self.pressure(shape, p.depth_m))
            grew += p.volume_m3 - before
            above = p.volume_m3 / shape.area(p.depth_m) / 2.0 - p.depth_m
            if above > 0.0 and speed > 0.0:
                out = min(p.volume_m3, max(above, speed * dt_s) * shape.area(0.0))
                share = out / p.volume_m3 if p.volume_m3 > 0.0 else 1.0
                vented += out if p.fluid.kind == GAS else 0.0
                p.came_m3 *= 1.0 - share
                p.volume_m3 -= out
            if p.came_m3 > 1e-9:
                left.append(p)
            else:
                vented += p.volume_m3 if p.fluid.kind == GAS else 0.0
        self.parcels = left
        return grew, vented
