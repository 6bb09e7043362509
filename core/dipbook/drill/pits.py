"""The surface: tanks, the lines between pump and flow line, and equipment that fills once.

What the pump draws comes from the suction tank and what comes back ends up there: the tanks before it stand at their
weirs. Nothing is made or lost: what runs over a brim, or leaves, is counted as gone.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import exp

import numpy as np

from dipbook.rig.model import DrainBack, Rig

ACTIVE, OUTSIDE = "active", ""
"""Places that are no tank: the suction of the active system, and the world."""
EQUIPMENT = "equipment"
LINES_M3 = 1e-12


@dataclass(slots=True)
class Pits:
    """Volumes on surface. rig: as described. volumes: tank -> [m3]. suction: the tank that the pump draws from. route:
    where the returns go: ACTIVE, a tank, or OUTSIDE. lines_m3: held in lines at flow; transit_m3: on its way down the
    flow line; equipment_m3: in solids-control equipment. in_m3, gone_m3: brought in and gone so far. spilled_m3: of
    what is gone, over brims. empty: why it can't go on, "" while it can.
    runs_m3_s: down the flow line in the last step [m3/s].
    """

    rig: Rig
    volumes: dict[str, float]
    suction: str
    route: str = ACTIVE
    lines_m3: float = 0.0
    transit_m3: float = 0.0
    equipment_m3: float = 0.0
    in_m3: float = 0.0
    gone_m3: float = 0.0
    spilled_m3: float = 0.0
    empty: str = ""
    off_s: float | None = None
    top_m3: float = 0.0
    diverted: dict[str, float] = field(default_factory=dict)
    runs_m3_s: float = 0.0

    @property
    def total_m3(self) -> float:
        """All that is on surface [m3]."""
        return sum(self.volumes.values()) + self.lines_m3 + self.transit_m3 + self.equipment_m3

    def tank(self, place: str) -> str:
        """The tank of a place: the suction tank of the active system."""
        return self.suction if place == ACTIVE else place

    def move(self, source: str, target: str, volume_m3: float) -> float:
        """Move mud between two places [m3]; returns how much there was to move."""
        if source == OUTSIDE:
            self.in_m3 += volume_m3
        else:
            volume_m3 = self.draw(source, volume_m3)
        self.put(target, volume_m3)
        return volume_m3

    def draw(self, place: str, volume_m3: float) -> float:
        """Take mud out of a place [m3]; returns how much there was."""
        if place == EQUIPMENT:
            volume_m3 = min(volume_m3, self.equipment_m3)
            self.equipment_m3 -= volume_m3
            return volume_m3
        name = self.tank(place)
        drawn = min(volume_m3, self.volumes[name])
        self.volumes[name] -= drawn
        if drawn < volume_m3:
            self.empty = self.empty or f"{name} ran empty"
        return drawn

    def put(self, place: str, volume_m3: float) -> float:
        """Put mud into a place [m3]; below 0 it is taken out. What doesn't fit runs over and is gone. Returns how much
        was to be taken out and wasn't there."""
        if volume_m3 < 0.0:
            return -volume_m3 - self.draw(place, -volume_m3)
        if place == OUTSIDE:
            self.gone_m3 += volume_m3
            return 0.0
        if place == EQUIPMENT:
            self.equipment_m3 += volume_m3
            return 0.0
        name = self.tank(place)
        room = max(0.0, self.rig.tank(name).capacity_m3 - self.volumes[name])
        over = max(0.0, volume_m3 - room)
        self.volumes[name] += volume_m3 - over
        self.gone_m3 += over
        self.spilled_m3 += over
        return 0.0

    def come_back(self, volume_m3: float, dt_s: float, flow_m3_s: float, lag_s: float) -> None:
        """What came out of the well, and what the lines give or take meanwhile.

        volume_m3: in this time [m3]. dt_s: the time [s]. flow_m3_s: of the pumps, for what the lines hold [m3/s].
        lag_s: time constant of the way down the flow line [s], 0 at once.
        """
        arrives = volume_m3
        if lag_s > 0.0:
            steady = volume_m3 / dt_s * lag_s
            left = steady + (self.transit_m3 - steady) * exp(-dt_s / lag_s)
            arrives = self.transit_m3 + volume_m3 - left
            self.transit_m3 = left
        arrives -= self._lines(dt_s, flow_m3_s)
        self.runs_m3_s = arrives / dt_s
        parts = {tank: share * arrives for tank, share in self.diverted.items() if arrives > 0.0}
        for tank, part in parts.items():
            self.put(tank, part)
        lacking = self.put(self.route, arrives - sum(parts.values()))
        self.lines_m3 -= lacking        # lines that find no mud fill no further

    def _lines(self, dt_s: float, flow_m3_s: float) -> float:
        """What the lines took in a time [m3]: dL/dt = (G(Q) − L)/τ, exact while the flow stands."""
        drain = self.rig.drain_back
        if drain is None:
            return 0.0
        before, goal = self.lines_m3, held_at(drain, flow_m3_s)
        if goal < before - LINES_M3 and drain.falling_s is None:
            if self.off_s is None:
                self.off_s, self.top_m3 = 0.0, before
            self.off_s += dt_s
            seconds, back = zip((0.0, 0.0), *drain.curve, strict=True)
            returned = float(np.interp(self.off_s, seconds, back)) / drain.at[-1][1]
            self.lines_m3 = goal + (self.top_m3 - goal) * max(0.0, 1.0 - returned)
        else:
            self.off_s = None
            tau = drain.falling_s if goal < before and drain.falling_s is not None else drain.rising_s
            self.lines_m3 = goal + (before - goal) * exp(-dt_s / tau)
        return self.lines_m3 - before


def held_at(drain: DrainBack, flow_m3_s: float) -> float:
    """G(Q) [m3]: straight between the rows, nothing at rest. drain: as the rig file has it. flow_m3_s: Q [m3/s]."""
    flows, volumes = zip((0.0, 0.0), *drain.at, strict=True)
    return float(np.interp(flow_m3_s, flows, volumes))
