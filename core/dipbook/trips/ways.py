"""How pipe is pulled or run, and what the hole should take for it: it follows from the state before and after alone.

    fill(b1 → b2) = S(b1) − S(b2) + [what leaves with the pipe, or enters it]

S(b) is the steel in the hole with the bit at b. Out: dry, the bore's mud stays in the hole; wet, it is lost with the
pipe; a bucket returns a share of it to the trip tank. In: on a closed float the bore stays empty, so that steel and
bore are displaced; open ended the mud fills the pipe. A self-filling float lies between: both bounds are given.
"""

from __future__ import annotations

from dataclasses import dataclass

from dipbook.well import String

DRY, WET, BUCKET = "dry", "wet", "bucket"
CLOSED, OPEN, SELF_FILLING = "closed", "open", "self-filling"
OUT_WAYS = (DRY, WET, BUCKET)
IN_WAYS = (CLOSED, OPEN, SELF_FILLING)


@dataclass(frozen=True, slots=True)
class Way:
    """How pipe is moved. out: of OUT_WAYS, pulling; running: of IN_WAYS. returned: share of the bore's mud that a
    bucket gives back to the trip tank [-]."""

    out: str = DRY
    running: str = CLOSED
    returned: float = 0.0

    def __post_init__(self) -> None:
        if self.out not in OUT_WAYS or self.running not in IN_WAYS:
            raise ValueError("pipe is pulled dry, wet or with a bucket, and run closed, open or self-filling")
        if not 0.0 <= self.returned <= 1.0:
            raise ValueError("a bucket returns a share from 0 to 1")

    @property
    def lost(self) -> float:
        """Share of the bore's mud that leaves with pipe pulled [-]."""
        return {DRY: 0.0, WET: 1.0, BUCKET: 1.0 - self.returned}[self.out]

    def name(self, from_m: float, to_m: float) -> str:
        """What it is called for a move of the bit. from_m, to_m: bit depths [m]."""
        return self.out if to_m <= from_m else f"{self.running} float"


@dataclass(frozen=True, slots=True)
class Expected:
    """What the hole should take [m3], positive into it; below 0 it gives that back. least_m3, most_m3: its bounds,
    equal where it is known. Of one that answers another, what a float let in and what was left to fill, the first goes
    with the first, and the sum of both is narrower than either."""

    least_m3: float
    most_m3: float

    @property
    def mean_m3(self) -> float:
        """Between the bounds [m3]."""
        return (self.least_m3 + self.most_m3) / 2.0

    def __add__(self, other: Expected) -> Expected:
        """Both together, bound by bound."""
        return Expected(self.least_m3 + other.least_m3, self.most_m3 + other.most_m3)

    @property
    def width_m3(self) -> float:
        """How far apart the bounds are [m3]."""
        return self.most_m3 - self.least_m3


def expected(string: String, from_m: float, to_m: float, way: Way) -> Expected:
    """What the hole should take for a move of the bit.

    string: in the hole. from_m, to_m: bit depths before and after [m]. way: how the pipe is moved. NaN where the string
    is shorter than that.
    """
    steel = string.steel(from_m) - string.steel(to_m)
    bore = string.bore(from_m) - string.bore(to_m)
    if to_m <= from_m:
        return Expected(steel + way.lost * bore, steel + way.lost * bore)
    closed, open_ = steel + bore, steel
    if way.running == SELF_FILLING:
        return Expected(min(closed, open_), max(closed, open_))
    fill = closed if way.running == CLOSED else open_
    return Expected(fill, fill)
