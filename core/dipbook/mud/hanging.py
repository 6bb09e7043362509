"""A slug that hangs in the string while the pipe is pulled: how much of the bore stands empty over it.

At rest the columns inside and outside weigh the same at the bit: ρm·(a − Ldry) + ρs·(e − a) + ρm·(bit − e) = ρm·bit,
so that (ρs − ρm)(e − a) = ρm·Ldry. a and e are the slug's upper and lower end: over it stands what was pumped behind
it, V(Ldry … a), and V(a … e) is its own volume, or what of it is still above the bit once its lower end is there. With
the bores of the string this is a broken line in the volume that stands empty, and the first root is where it rests.

As the pipe comes out the slug sinks into narrower bores, heavy-weight and collars, and stands higher there: more of the
bore is empty, more comes back than the steel alone explains, and all of it is taken again by the time the bit is out.

Source: derived from the balance of columns; tested against it, and against ``dipbook.mud.tapered`` where the whole slug
is in the pipe.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from math import nan

import numpy as np

from dipbook.mud.mixing import ImpossibleError
from dipbook.mud.tapered import Bore, bores
from dipbook.well import String


@dataclass(frozen=True, slots=True)
class Hanging:
    """A slug in the pipe. slug_m3: its volume. density_kg_m3, mud_kg_m3: its weight and that of the mud around it.
    behind_m3: mud pumped behind it, that stands on it."""

    slug_m3: float
    density_kg_m3: float
    mud_kg_m3: float
    behind_m3: float = 0.0

    def empty_m3(self, string: String, bit_m: float) -> float:
        """How much of the bore stands empty with the bit at a depth [m3]; NaN where the string doesn't reach so far or
        has a part without a bore. string: in the hole. bit_m: bit depth [m].
        """
        if bit_m <= 0.0:
            return 0.0
        try:
            return empty(self.slug_m3, self.behind_m3, self.density_kg_m3 / self.mud_kg_m3 - 1.0, bores(string, bit_m))
        except ImpossibleError:
            return nan


def empty(slug_m3: float, behind_m3: float, heavier: float, pipe: Sequence[Bore]) -> float:
    """How much of a pipe stands empty over a slug at rest in it [m3].

    slug_m3, behind_m3: its volume, and of the mud that was pumped behind it. heavier: (ρs − ρm)/ρm [-], above 0. pipe:
    bores from the rotary down to the bit.
    """
    depths = np.array([0.0, *accumulate(bore.length_m for bore in pipe)])
    holds = np.array([0.0, *accumulate(bore.length_m * bore.area_m2 for bore in pipe)])

    def too_heavy(volume: float) -> float:
        """How much longer the empty bore would have to be, with so much empty, for the slug to rest [m]."""
        top, upper, lower = np.interp((volume, volume + behind_m3, volume + behind_m3 + slug_m3), holds, depths)
        return float(heavier * (lower - upper) - top)

    corners = sorted({0.0, *(v for end in holds for v in (end, end - behind_m3, end - behind_m3 - slug_m3)
                             if 0.0 < v <= holds[-1])})
    before = too_heavy(0.0)
    if before <= 0.0:
        return 0.0
    for a, b in pairwise(corners):
        after = too_heavy(b)
        if after <= 0.0:
            return float(a + (b - a) * before / (before - after))
        before = after
    return nan
