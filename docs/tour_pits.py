"""The pits that the filmed tour dips: plain arithmetic, ten seconds at a time, nothing of Dipbook's books.

Everything is invented. What the crew does in the film is done here too (a transfer moves mud whether or not it is
logged), so that what the screen then says can be held against what was really there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from dipbook.rig.model import DrainBack, Rig

BBL = 0.158987294928
STEP_S = 10
FT_BBL = 0.3048 / BBL
"""[m3/m] to bbl/ft."""


@dataclass
class Ramp:
    """Mud on the move: from a tank ("" from outside) to a tank ("" out), at a rate [bbl/min]; left: what is still to
    go [bbl]."""

    source: str
    target: str
    rate: float
    left: float


class Pits:
    """Volumes by tank [bbl] and the state of the well. rig: its tanks and pipe; levels: at the start [in] by tank."""

    def __init__(self, rig: Rig, levels: dict[str, float]) -> None:
        self.rig = rig
        self.volume = {name: float(rig.tank(name).volume(inches * 0.0254)) / BBL for name, inches in levels.items()}
        self.ramps: list[Ramp] = []
        self.hole, self.bit, self.above = 9765.0, 9765.0, 60.0          # ft
        self.flow, self.lines, self.pumped = 0.0, 0.0, 0.0              # bbl/min, bbl, bbl
        self.drilling, self.speed = False, 45.0                        # ft/h
        self.cut: list[tuple[float, float]] = []
        self.influx, self.rain, self.reach = 0.0, 0.0, "Suction"       # bbl/min, bbl/min, where the well's mud shows

    def move(self, source: str, target: str, volume: float, minutes: float) -> None:
        """Let mud run evenly over some minutes."""
        self.ramps.append(Ramp(source, target, volume / minutes, volume))

    def stop_moving(self) -> float:
        """Close the valves. Returns what has still not gone over [bbl]."""
        left = sum(ramp.left for ramp in self.ramps)
        self.ramps.clear()
        return left

    def fill_stand(self) -> None:
        """A stand is made up and filled from the pits."""
        stand = self.rig.pipe.stand_m / 0.3048
        self.volume[self.reach] -= self.rig.pipe.bore * FT_BBL * stand
        self.above += stand

    def step(self) -> None:
        """Ten seconds."""
        minutes = STEP_S / 60
        hole, pipe, drain = self.rig.hole, self.rig.pipe, self.rig.drain_back
        goal = _lines_at(self.flow, drain) if self.flow else 0.0
        tau = drain.rising_s if goal > self.lines else drain.falling_s
        change = (goal - self.lines) * (1 - math.exp(-STEP_S / tau))
        self.lines += change
        well = -change + (self.influx + self.rain) * minutes
        if self.flow:
            self.pumped += self.flow * minutes
            if self.drilling:
                made = min(self.speed / 60 * minutes, self.above)
                self.hole += made
                self.bit += made
                self.above -= made
                well += (pipe.steel + pipe.bore) * FT_BBL * made
                self.cut.append((self.pumped + hole.annulus_m3 / BBL, hole.capacity * FT_BBL * made))
        while self.cut and self.cut[0][0] <= self.pumped:
            well -= self.cut.pop(0)[1]
        self.volume[self.reach] += well
        for ramp in list(self.ramps):
            gone = min(ramp.rate * minutes, ramp.left)
            ramp.left -= gone
            if ramp.source:
                self.volume[ramp.source] -= gone
            if ramp.target:
                self.volume[ramp.target] += gone
            if ramp.left <= 1e-9:
                self.ramps.remove(ramp)

    def inches(self, tank: str) -> float:
        """Where the mud stands now by the stick [in]."""
        described = self.rig.tank(tank)
        return float(described.dip_of_level(described.level(self.volume[tank] * BBL))) / 0.0254

    def stick(self, tank: str) -> str:
        """What the stick says now, to the quarter inch, as a derrickhand writes it."""
        quarters = round(self.inches(tank) * 4)
        whole, part = divmod(quarters, 4)
        return f"{whole}{('', ' 1/4', ' 1/2', ' 3/4')[part]}"


def _lines_at(flow: float, drain: DrainBack) -> float:
    """Mud that the lines hold at a flow [bbl/min]: straight between the rig file's rows [bbl]."""
    rows = [(0.0, 0.0), *((q * 60 / BBL, v / BBL) for q, v in drain.at)]
    for (q0, v0), (q1, v1) in pairwise(rows):
        if flow <= q1:
            return v0 + (v1 - v0) * (flow - q0) / (q1 - q0)
    return rows[-1][1]
