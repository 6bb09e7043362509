"""Rock on its way up: what is cut comes out when the annulus has been pumped through once more."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field

from dipbook.rig.model import Hole


@dataclass(slots=True)
class Cuttings:
    """hole: for what share leaves. annulus_m3: pumped until rock is up [m3]. through_m3: pumped so far. carried: (comes
    out at, rock [m3]) by turn. bypassed: the shakers are. up_m3: rock that came up; off_m3: mud and rock carried
    off."""

    hole: Hole
    annulus_m3: float
    through_m3: float = 0.0
    carried: deque[tuple[float, float]] = field(default_factory=deque)
    bypassed: bool = False
    up_m3: float = 0.0
    off_m3: float = 0.0

    def cut(self, rock_m3: float) -> None:
        """Rock cut at the bit [m3]."""
        if rock_m3 > 0.0:
            self.carried.append((self.through_m3 + self.annulus_m3, rock_m3))

    def pumped(self, volume_m3: float) -> float:
        """Mud pumped through the annulus [m3]; returns what leaves the system with the rock that came up [m3]."""
        self.through_m3 += volume_m3
        rock = 0.0
        while self.carried and self.carried[0][0] <= self.through_m3 + 1e-9:
            rock += self.carried.popleft()[1]
        self.up_m3 += rock
        if self.bypassed:
            return 0.0
        off = rock * (self.hole.carried_off or 0.0) * (1.0 - (self.hole.porosity or 0.0)) \
            * (1.0 + (self.hole.mud_on_cuttings or 0.0))
        self.off_m3 += off
        return off
