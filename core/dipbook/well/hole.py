"""The hole in sections: riser, casing, liner, open hole; each holds (π/4) D² for a length."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import isfinite

from dipbook.tubulars import area

KINDS = ("riser", "casing", "liner", "open hole")


@dataclass(frozen=True, slots=True)
class Section:
    """A length of hole of one size.

    name; kind: of KINDS. top_m, bottom_m: measured depths [m]. diameter_m: inside of the casing, or of the bit [m].
    washout: how much larger than the bit the open hole is, as a share of the diameter [-]: 0.10 is 21 % more volume.
    """

    name: str
    kind: str
    top_m: float
    bottom_m: float
    diameter_m: float
    washout: float = 0.0

    def __post_init__(self) -> None:
        if not (isfinite(self.top_m) and isfinite(self.bottom_m) and 0.0 <= self.top_m < self.bottom_m):
            raise ValueError(f"{self.name}: its bottom must be below its top")
        if not (isfinite(self.diameter_m) and self.diameter_m > 0.0 and isfinite(self.washout) and self.washout > -1.0):
            raise ValueError(f"{self.name}: its diameter must be above zero")

    @property
    def capacity_m2(self) -> float:
        """What a length holds [m3/m], washout included."""
        return area(self.diameter_m * (1.0 + self.washout))


@dataclass(frozen=True)
class Hole:
    """Sections from the rotary down, each beginning where the one above ends.

    A liner's section begins at its hanger: the casing above it is the section above. Raises ValueError where they leave
    a gap, or overlap.
    """

    sections: tuple[Section, ...]

    def __post_init__(self) -> None:
        below = 0.0
        for s in self.sections:
            if abs(s.top_m - below) > 1e-6:
                raise ValueError(f"{s.name} begins at {s.top_m:g} m, and the section above it ends at {below:g} m")
            below = s.bottom_m

    def reaching(self, depth_m: float) -> Hole:
        """The hole drilled on to a depth: its last section, open hole, goes on at its size. As it is where it reaches
        there already, the depth isn't known, or no open hole is described. depth_m: [m].
        """
        last = self.sections[-1] if self.sections else None
        if last is None or last.kind != "open hole" or not depth_m > last.bottom_m:
            return self
        return Hole((*self.sections[:-1], replace(last, bottom_m=depth_m)))

    @property
    def bottom_m(self) -> float:
        """How deep it goes [m]."""
        return self.sections[-1].bottom_m if self.sections else 0.0

    def volume(self, top_m: float, bottom_m: float) -> float:
        """What it holds between two measured depths [m3], with no pipe in it. NaN below its bottom, where a depth is
        unknown, and where the top is below the bottom.

        top_m, bottom_m: [m].
        """
        if not (0.0 <= top_m <= bottom_m + 1e-6 and bottom_m <= self.bottom_m + 1e-6):
            return float("nan")
        return sum(s.capacity_m2 * (b - a) for s, a, b in self.between(top_m, bottom_m))

    def between(self, top_m: float, bottom_m: float) -> Sequence[tuple[Section, float, float]]:
        """Its sections between two measured depths: (section, from, to) [m]. top_m, bottom_m: [m]."""
        found = [(s, max(s.top_m, top_m), min(s.bottom_m, bottom_m)) for s in self.sections]
        return [(s, a, b) for s, a, b in found if b > a]

    def at(self, depth_m: float) -> Section | None:
        """The section at a measured depth, the lower one where two meet; None outside. depth_m: [m]."""
        if self.sections and depth_m == self.bottom_m:  # a bit on bottom is in the hole
            return self.sections[-1]
        return next((s for s in self.sections if s.top_m <= depth_m < s.bottom_m), None)
