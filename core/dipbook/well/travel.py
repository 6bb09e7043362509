"""Where mud is that was pumped: down the string, then up the annulus, by measured depth and strokes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import isfinite

from dipbook.well.hole import Hole
from dipbook.well.string import String

STRING, ANNULUS, SURFACE, UNKNOWN = "string", "annulus", "surface", "unknown"


@dataclass(frozen=True, slots=True)
class Place:
    """Where a front of mud is. where: of STRING, ANNULUS, SURFACE or UNKNOWN. depth_m: measured [m], 0 at surface.
    to_bit_m3, to_surface_m3: still to be pumped until it is there [m3], 0 once it is, NaN unknown.
    """

    where: str
    depth_m: float
    to_bit_m3: float
    to_surface_m3: float


def place(pumped_m3: float, hole: Hole, string: String, bit_m: float) -> Place:
    """Where mud is after so much has been pumped behind it.

    pumped_m3: since it went in at the top [m3]. hole, string: as described. bit_m: bit depth [m]. The hole is taken as
    full, and what is pumped as coming back: with losses it is less far. UNKNOWN where the bit is below the hole, the
    string too short, or pipe wider than the hole.
    """
    down = [(length, p.bore_m2) for p, length in reversed(string.spans(0.0, bit_m))]
    up = annulus_up(hole, string, bit_m)
    if not isfinite(pumped_m3) or pumped_m3 < 0.0 or up is None or any(area <= 0.0 for _, area in (*down, *up)):
        return Place(UNKNOWN, float("nan"), float("nan"), float("nan"))
    to_bit = sum(length * area for length, area in down)
    whole = to_bit + sum(length * area for length, area in up)
    if pumped_m3 < to_bit:
        return Place(STRING, _along(pumped_m3, down), to_bit - pumped_m3, whole - pumped_m3)
    if pumped_m3 < whole:
        return Place(ANNULUS, bit_m - _along(pumped_m3 - to_bit, up), 0.0, whole - pumped_m3)
    return Place(SURFACE, 0.0, 0.0, 0.0)


def surface_to_bit(string: String, bit_m: float) -> float:
    """What fills the string from surface to bit [m3]. string: as described. bit_m: bit depth [m]; NaN if too short."""
    return string.bore(bit_m)


def bottoms_up(hole: Hole, string: String, bit_m: float) -> float:
    """What brings mud from the bit to surface [m3]; NaN where that isn't known. hole, string: as described. bit_m: bit
    depth [m].
    """
    up = annulus_up(hole, string, bit_m)
    return float("nan") if up is None else float(sum(length * area for length, area in up))


def annulus_up(hole: Hole, string: String, bit_m: float) -> list[tuple[float, float]] | None:
    """(length [m], area [m2]) of the annulus from the bit up, cut at each change of hole or pipe; None where the bit is
    below the hole or the string too short. hole, string: as described. bit_m: bit depth [m].
    """
    if not bit_m <= min(hole.bottom_m, string.length_m) + 1e-6:
        return None
    cuts = {0.0, bit_m, *(s.top_m for s in hole.sections if s.top_m < bit_m)}
    above = 0.0
    for p in string.parts:
        above += p.length_m
        if above < bit_m:
            cuts.add(bit_m - above)
    marks = sorted(cuts, reverse=True)
    found: list[tuple[float, float]] = []
    for bottom, top in pairwise(marks):
        middle = (bottom + top) / 2.0
        section, part = hole.at(middle), string.at(bit_m, middle)
        if section is None or part is None:
            return None
        found.append((bottom - top, section.capacity_m2 - part.closed_m2))
    return found


def _along(volume_m3: float, pieces: Sequence[tuple[float, float]]) -> float:
    """How far a volume reaches along pieces of (length [m], area [m2]) [m]."""
    far, left = 0.0, volume_m3
    for length, area in pieces:
        held = length * area
        if left <= held:
            return far + left / area
        far, left = far + length, left - held
    return far
