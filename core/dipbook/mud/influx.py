"""How far a gain stands in the annulus of a well that is shut in, and what it weighs by the pressures: for a remark.

Nothing of this is booked. The weight is the difference of large numbers over a height that hangs on the gain: a few
psi, or a barrel more or less, make gas of water. It says what the pressures logged would mean if what came in
stood as one piece above the bit, with clean mud elsewhere, and the pressures had settled. No pressure to hold and no
weight to kill with follows from it: the rig's own well-control procedure decides.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isnan, nan

from dipbook.mud.gas import GRAVITY
from dipbook.mud.mixing import ImpossibleError, positive
from dipbook.well import Hole, String, Survey, annulus_up


@dataclass(frozen=True, slots=True)
class Standing:
    """A gain as one piece from the bottom of the hole up.

    length_m: along the hole. top_m: measured depth of its top; NaN where the bottom's depth isn't known. above_bit_m:
    how high what of it is above the bit stands, vertically: the pressures tell of that part alone; NaN below a survey.
    """

    length_m: float
    top_m: float
    above_bit_m: float


def height(gain_m3: float, annulus: Sequence[tuple[float, float]]) -> float:
    """How far a gain reaches along an annulus [m]; of one size V/A.

    gain_m3: V [m3]. annulus: (length [m], what a length of it holds [m3/m]) from below up, inf for a length that goes
    on as far as is needed. Raises ImpossibleError where the gain is no more than nothing or the annulus holds less, or
    where pipe is as wide as the hole. Source: a volume over a cross-section.
    """
    positive(gain=gain_m3)
    if isnan(gain_m3) or any(isnan(length + area) for length, area in annulus):
        return nan
    far, left = 0.0, gain_m3
    for length, area in annulus:
        if area <= 0.0:
            raise ImpossibleError("annulus", "there the pipe is as wide as the hole: check the sizes")
        if left <= length * area:
            return far + left / area
        far, left = far + length, left - length * area
    raise ImpossibleError("gain", "the annulus up to surface holds less than that gain")


def pieces(hole: Hole, string: String, bit_m: float, bottom_m: float) -> tuple[tuple[float, float], ...]:
    """(length [m], what a length holds [m3/m]) from the bottom of the hole up: below the bit with no pipe in it.

    hole, string: as described. bit_m, bottom_m: measured depths of the bit, and down to where the hole is drilled [m];
    its open hole goes on down to there. Raises ImpossibleError where the bit is below that, or hole or string don't
    reach so far.
    """
    if isnan(bit_m) or isnan(bottom_m) or not 0.0 < bit_m <= bottom_m:
        raise ImpossibleError("bit", "the bit must be in the hole: check its depth")
    hole = hole.reaching(bottom_m)
    up = annulus_up(hole, string, bit_m)
    if up is None or hole.bottom_m < bottom_m - 1e-6:
        raise ImpossibleError("bit", "the hole or the string of the rig file doesn't reach so far: check the depth, or "
                                     "type what the annulus holds")
    below = [(b - a, section.capacity_m2) for section, a, b in reversed(hole.between(bit_m, bottom_m))]
    return (*below, *up)


def standing(gain_m3: float, annulus: Sequence[tuple[float, float]], bit_m: float = nan, bottom_m: float = nan,
             survey: Survey | None = None) -> Standing:
    """Where a gain stands, as one piece from the bottom up.

    gain_m3: [m3]. annulus: as of ``height``, from bottom_m up. bit_m, bottom_m: measured depths of the bit and of the
    bottom [m]; NaN where nobody knows: the bit is taken as on bottom then. survey: of the well, None: vertical. Raises
    what ``height`` does.
    """
    length = height(gain_m3, annulus)
    bottom = bit_m if isnan(bottom_m) else bottom_m
    bit = bottom if isnan(bit_m) else bit_m
    if survey is None:
        below = 0.0 if isnan(bit) else bottom - bit
        return Standing(length, bottom - length, length if isnan(length) else max(0.0, length - below))
    top = bottom - length
    if isnan(top):
        return Standing(length, nan, nan)
    return Standing(length, top, float(survey.tvd(bit) - survey.tvd(top)) if top < bit else 0.0)


def density(mud_kg_m3: float, pipe_pa: float, casing_pa: float, height_m: float) -> float:
    """What a gain weighs by the pressures of a well shut in [kg/m3]: ρ − (pc − pp)/(g h).

    mud_kg_m3: ρ, of the mud in the pipe and in the rest of the annulus [kg/m3]. pipe_pa, casing_pa: pp, pc, as read,
    both by gauge or both absolute [Pa]. height_m: h, of what stands above the bit, vertically [m].

    Take it with care: it is the difference of large numbers. An error of δp between the pressures makes one of
    δp/(g h), one of a tenth in the gain about a tenth of ρ − ρi; a float valve in the string, pressures that haven't
    settled, gas strung out in the mud and a hole that is washed out make it wrong by more. Above ρ where the casing
    pressure is the lower one.

    Raises ImpossibleError where it would weigh nothing or less, and for a pressure below nothing. Source: at the bit
    both sides press alike, pp + ρ g H = pc + ρ g (H − h) + ρi g h; Lapeyrouse, Formulas and Calculations for Drilling,
    Production and Workover, 2nd ed., ch. 4.
    """
    positive(mud=mud_kg_m3, height=height_m)
    for name, value in (("pipe", pipe_pa), ("casing", casing_pa)):
        if value < 0.0:
            raise ImpossibleError(name, "it can't be below nothing")
    found = mud_kg_m3 - (casing_pa - pipe_pa) / (GRAVITY * height_m)
    if found <= 0.0:
        raise ImpossibleError("casing", "by these it would weigh less than nothing: the gain is larger, it stands "
                                        "higher, or the pressures aren't those of a well at rest")
    return found
