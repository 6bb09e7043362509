"""The mud inside the string, by columns of different weight, and how it falls (U-tube).

With the top open the inside and the outside press alike at the bit in the end. On the way there the imbalance falls off
exponentially with a time constant, exactly while no end of a column passes from one bore into another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import exp

from dipbook.drill.profile import vertical_depth
from dipbook.mud.gas import GRAVITY
from dipbook.well import Part, String, Survey

NOTHING_M3 = 1e-12


@dataclass(slots=True)
class Bore:
    """What the string holds. string: from the bit up. bit_m: how deep the bit is [m]. above_m: pipe that stands above
    the rotary [m]. survey: of the well, None: vertical. columns: [volume m3, weight kg/m3], the lowest first."""

    string: String
    bit_m: float
    above_m: float
    survey: Survey | None = None
    columns: list[list[float]] = field(default_factory=list)

    @property
    def held_m3(self) -> float:
        """All of the mud in it [m3]."""
        return sum(volume for volume, _ in self.columns)

    @property
    def top_m2(self) -> float:
        """Bore of the pipe at the top [m3/m]."""
        return self.string.parts[-1].bore_m2

    @property
    def capacity_m3(self) -> float:
        """What it would hold when full, the pipe above the rotary too [m3]."""
        return self.string.bore(max(self.bit_m, 0.0)) + self.top_m2 * self.above_m

    @property
    def full_above_m(self) -> float:
        """Length of pipe above the rotary that stands full [m]."""
        return max(0.0, self.held_m3 - self.string.bore(max(self.bit_m, 0.0))) / self.top_m2

    def add(self, volume_m3: float, weight_kg_m3: float) -> None:
        """Mud put in at the top [m3], of a weight [kg/m3]."""
        if volume_m3 <= 0.0:
            return
        if self.columns and self.columns[-1][1] == weight_kg_m3:
            self.columns[-1][0] += volume_m3
        else:
            self.columns.append([volume_m3, weight_kg_m3])

    def let_in(self, volume_m3: float, weight_kg_m3: float) -> None:
        """Mud that came in at the bit [m3], of a weight [kg/m3]."""
        if self.columns and self.columns[0][1] == weight_kg_m3:
            self.columns[0][0] += volume_m3
        else:
            self.columns.insert(0, [volume_m3, weight_kg_m3])

    def take_below(self, volume_m3: float) -> float:
        """Take mud out at the bit [m3]; returns what there was of it."""
        return self._take(volume_m3, 0)

    def take_above(self, volume_m3: float) -> float:
        """Take mud out at the top [m3]; returns what there was of it."""
        return self._take(volume_m3, -1)

    def _take(self, volume_m3: float, end: int) -> float:
        left = volume_m3
        while left > 0.0 and self.columns:
            part = min(left, self.columns[end][0])
            self.columns[end][0] -= part
            left -= part
            if self.columns[end][0] <= NOTHING_M3:
                left -= self.columns[end][0]        # so little that it goes with the rest
                self.columns.pop(end)
        return volume_m3 - left

    def pressure_pa(self) -> float:
        """What it presses with at the bit, over what stands on its top [Pa]."""
        spans = self.string.spans(0.0, self.bit_m + self.above_m)
        total = at = 0.0
        below = self._deep(0.0)
        for volume, weight in self.columns:
            at += volume
            above = self._deep(_reach(spans, at))
            total += weight * GRAVITY * (below - above)
            below = above
        return total

    def _stiffness(self, weight_kg_m3: float) -> float:
        """By how much its pressure at the bit falls for each volume that leaves there [Pa/m3].

        Where the mud ends its own weight is taken away, g ρ/c; at each place where two muds meet, the upper one takes
        the room of the lower one, g (ρ above − ρ below)/c. weight_kg_m3: of mud that comes into an empty pipe.
        Vertical; where a slug speeds up as it falls (below nothing) the level alone counts.
        """
        spans = self.string.spans(0.0, self.bit_m + self.above_m)
        at, found, top = 0.0, 0.0, 0.0
        for n, (volume, weight) in enumerate(self.columns or [[0.0, weight_kg_m3]]):
            at += volume
            above = self.columns[n + 1][1] if n + 1 < len(self.columns) else 0.0
            found -= GRAVITY * (above - weight) / self._bore_at(spans, at)
            top = GRAVITY * weight / self._bore_at(spans, at)
        return found if found > 0.0 else top

    def _bore_at(self, spans: Sequence[tuple[Part, float]], volume_m3: float) -> float:
        """Bore where a volume from the bit up ends [m3/m]."""
        left = volume_m3
        for part, length in spans:
            left -= length * part.bore_m2
            if left <= NOTHING_M3:
                return part.bore_m2
        return self.top_m2

    def _deep(self, from_bit_m: float) -> float:
        return vertical_depth(self.survey, self.bit_m - from_bit_m)

    def falls(self, outside_pa: float, dt_s: float, tau_s: float, *, lets_in: bool, weight_kg_m3: float) -> float:
        """Let it settle for a time; returns what went out at the bit [m3], below 0 what came in.

        outside_pa: the annulus at the bit, over what stands on its top [Pa]. dt_s, tau_s: time, and time constant [s].
        lets_in: mud may come in at the bit (no float, or one that stands open). weight_kg_m3: of the mud outside.
        """
        volume = (self.pressure_pa() - outside_pa) / self._stiffness(weight_kg_m3) * (1.0 - exp(-dt_s / tau_s))
        if volume >= 0.0:
            return self.take_below(volume)
        if lets_in:
            self.let_in(-volume, weight_kg_m3)
            return volume
        return 0.0


def _reach(spans: Sequence[tuple[Part, float]], volume_m3: float) -> float:
    """How far from the bit a volume reaches in pieces of (part, length) [m]."""
    far, left = 0.0, volume_m3
    for part, length in spans:
        area = part.bore_m2
        if left <= length * area:
            return far + left / area
        far, left = far + length, left - length * area
    return far
