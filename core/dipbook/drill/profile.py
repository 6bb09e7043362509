"""The room around the pipe from the bottom of the hole up, and how deep a measured depth is vertically."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from itertools import accumulate

from dipbook.mud.influx import pieces
from dipbook.rig.model import Rig
from dipbook.well import String, Survey

IN_THE_HOLE_M = 0.5
"""A bit above this depth is out of the hole."""


@dataclass(frozen=True, slots=True)
class Profile:
    """Pieces of the hole as the pipe stands in it, from the rotary down.

    bottoms_m: measured depth where each ends [m]. areas_m2: what a length of each holds around the pipe, or without
    pipe below the bit [m3/m].
    """

    bottoms_m: tuple[float, ...]
    areas_m2: tuple[float, ...]

    def area(self, depth_m: float) -> float:
        """What a length holds there [m3/m]; of the last piece below the bottom. depth_m: measured depth [m]."""
        return self.areas_m2[min(bisect_right(self.bottoms_m, depth_m), len(self.areas_m2) - 1)]

    def volume(self) -> float:
        """All of it together [m3]."""
        tops = (0.0, *self.bottoms_m[:-1])
        return sum(a * (b - t) for a, b, t in zip(self.areas_m2, self.bottoms_m, tops, strict=True))


def profile(rig: Rig, string: String, bit_m: float, bottom_m: float, scale: float = 1.0) -> Profile:
    """The pieces with the bit at a depth.

    rig: its sections, or else the typed capacity of its hole for all of it. string: in the hole. bit_m, bottom_m:
    measured depths [m]. scale: of the room around the pipe [-], so that all of it is what the crew measured. Raises
    ImpossibleError where hole or string don't reach so far.
    """
    capacity = rig.hole.capacity if rig.hole is not None and rig.hole.capacity is not None else 0.0
    if rig.sections is None:
        closed = string.parts[-1].closed_m2
        found = [(bottom_m - bit_m, capacity), (bit_m, scale * (capacity - closed))]
    elif bit_m <= IN_THE_HOLE_M:
        hole = rig.sections.reaching(bottom_m)
        found = [(b - a, s.capacity_m2) for s, a, b in reversed(hole.between(0.0, bottom_m))]
    else:
        up, below = list(pieces(rig.sections, string, bit_m, bottom_m)), bottom_m - bit_m
        found, deep = [], 0.0
        for length, area in up:
            found.append((length, area if deep + length <= below + 1e-6 else scale * area))
            deep += length
    down = [(length, area) for length, area in reversed(found) if length > 0.0]
    return Profile(tuple(accumulate(length for length, _ in down)), tuple(area for _, area in down))


def vertical_depth(survey: Survey | None, md_m: float) -> float:
    """How deep a measured depth is vertically [m]. survey: of the well, None: vertical; below its last station the
    well is taken as going on straight down, and above the rotary as upright. md_m: measured depth, below 0 above the
    rotary [m].
    """
    if survey is None or md_m <= 0.0:
        return md_m
    last = survey.md_m[-1]
    return float(survey.tvd(md_m)) if md_m <= last else survey.tvd_m[-1] + md_m - last
