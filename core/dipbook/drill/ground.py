"""What the hole is drilled through: formations that flow, that take mud, and that take it and give it back."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

from dipbook.drill.influx import Fluid


@dataclass(slots=True)
class Formation:
    """One that flows into the hole in proportion to how far the hole's pressure is below its own.

    depth_m: measured [m]. over_pa: its pressure over that of the mud column at rest when it was opened, below 0 under
    it [Pa]. productivity: [m3/s/Pa]. at_most_m3: that it holds, inf without end. event: what it is called. came_m3: by
    now, as it came in.
    """

    depth_m: float
    over_pa: float
    productivity: float
    fluid: Fluid
    at_most_m3: float
    event: str
    came_m3: float = 0.0

    def gives(self, excess_pa: float, dt_s: float) -> float:
        """What comes in [m3]. excess_pa: the hole's pressure over the mud column at rest [Pa]. dt_s: in that time
        [s]."""
        under = self.over_pa - excess_pa
        came = min(max(0.0, self.productivity * under * dt_s), self.at_most_m3 - self.came_m3)
        self.came_m3 += came
        return came


@dataclass(slots=True)
class Thief:
    """One that takes mud in proportion to how far the hole's pressure is above what opens it.

    depth_m: measured [m]. opens_pa: over the mud column at rest, below 0 for one that takes mud at rest too [Pa].
    takes: [m3/s/Pa]. lost_m3: by now.
    """

    depth_m: float
    opens_pa: float
    takes: float
    event: str
    lost_m3: float = 0.0

    def taken(self, excess_pa: float, dt_s: float) -> float:
        """What it takes [m3]. excess_pa, dt_s: as of ``Formation.gives``."""
        lost = max(0.0, self.takes * (excess_pa - self.opens_pa) * dt_s)
        self.lost_m3 += lost
        return lost


@dataclass(slots=True)
class Breathing:
    """One that opens under the pressure of circulating and closes when that is gone (ballooning).

    depth_m: measured [m]. per_pa: what it holds for each pascal over the mud column at rest [m3/Pa]. tau_s: how fast it
    gets there [s]. held_m3: now. lost_m3, returned_m3: taken and given back, never netted.
    """

    depth_m: float
    per_pa: float
    tau_s: float
    event: str
    held_m3: float = 0.0
    lost_m3: float = 0.0
    returned_m3: float = 0.0

    def taken(self, excess_pa: float, dt_s: float) -> float:
        """What it takes [m3], below 0 what it gives back; exact for a pressure that stands. excess_pa, dt_s: as of
        ``Formation.gives``."""
        change = (self.per_pa * max(0.0, excess_pa) - self.held_m3) * (1.0 - exp(-dt_s / self.tau_s))
        self.held_m3 += change
        if change > 0.0:
            self.lost_m3 += change
        else:
            self.returned_m3 -= change
        return change
