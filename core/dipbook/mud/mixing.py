"""Mud weighted up, thinned and mixed, by masses and volumes that add up.

What goes in keeps its mass and its volume: nothing shrinks, swells or dissolves. So V = V1 + V2, ρ V = ρ1 V1 + ρ2 V2,
and all that stands here is that, solved for what is asked. For salt, which does dissolve, see ``dipbook.mud.salts``.

Sources: conservation of mass; the same sums are in Lapeyrouse, Formulas and Calculations for Drilling, Production and
Workover, 2nd ed., ch. 3. What isn't known (NaN) stays unknown; what can't be is refused, never clamped.
"""

from __future__ import annotations

from math import isnan

BELOW_NOTHING = "it must be more than nothing"


class ImpossibleError(ValueError):
    """What is asked for can't be done with what there is; the text says why and what would do.

    about: the argument that is at fault, as the function calls it, without its unit.
    """

    def __init__(self, about: str, words: str) -> None:
        """about: the argument; words: a sentence without its point."""
        super().__init__(words)
        self.about = about


def solid_for(start_m3: float, mud_kg_m3: float, wanted_kg_m3: float, solid_kg_m3: float) -> float:
    """Mass of a solid that weights mud up [kg]: m = V1 ρb (W2 − W1)/(ρb − W2).

    start_m3: V1, of mud to begin with [m3]. mud_kg_m3, wanted_kg_m3: W1, W2, its weight now and wanted [kg/m3].
    solid_kg_m3: ρb, density of the solid's grains [kg/m3]. Its volume, by which the mud grows, is m/ρb.

    Raises ImpossibleError where the wanted weight isn't above the mud's, or not below the solid's. Source: mass
    balance; Lapeyrouse, ch. 3.
    """
    positive(start=start_m3, mud=mud_kg_m3, wanted=wanted_kg_m3, solid=solid_kg_m3)
    _weights_up(mud_kg_m3, wanted_kg_m3, solid_kg_m3)
    return start_m3 * solid_kg_m3 * (wanted_kg_m3 - mud_kg_m3) / (solid_kg_m3 - wanted_kg_m3)


def start_for(final_m3: float, mud_kg_m3: float, wanted_kg_m3: float, solid_kg_m3: float) -> float:
    """Mud to begin with so that there is so much once it is weighted up [m3]: V1 = Vf (ρb − W2)/(ρb − W1).

    final_m3: Vf, wanted in the end [m3]. mud_kg_m3, wanted_kg_m3, solid_kg_m3 [kg/m3], and what is raised: as of
    ``solid_for``. Source: mass balance; Lapeyrouse, ch. 3.
    """
    positive(final=final_m3, mud=mud_kg_m3, wanted=wanted_kg_m3, solid=solid_kg_m3)
    _weights_up(mud_kg_m3, wanted_kg_m3, solid_kg_m3)
    return final_m3 * (solid_kg_m3 - wanted_kg_m3) / (solid_kg_m3 - mud_kg_m3)


def liquid_for(start_m3: float, mud_kg_m3: float, wanted_kg_m3: float, liquid_kg_m3: float) -> float:
    """Water, base oil or another mud that brings mud to a weight [m3]: V2 = V1 (W1 − W2)/(W2 − ρ2).

    start_m3: V1, of mud to begin with [m3]. mud_kg_m3, wanted_kg_m3: W1, W2, its weight now and wanted [kg/m3].
    liquid_kg_m3: ρ2, of what goes in: lighter than wanted to thin, heavier to weight up [kg/m3].

    Raises ImpossibleError where the wanted weight isn't between the two. Source: mass balance; Lapeyrouse, ch. 3.
    """
    positive(start=start_m3, mud=mud_kg_m3, wanted=wanted_kg_m3, liquid=liquid_kg_m3)
    _between(mud_kg_m3, wanted_kg_m3, liquid_kg_m3)
    return start_m3 * (mud_kg_m3 - wanted_kg_m3) / (wanted_kg_m3 - liquid_kg_m3)


def liquid_in(final_m3: float, mud_kg_m3: float, wanted_kg_m3: float, liquid_kg_m3: float) -> float:
    """How much of a volume of mixed mud is the second one [m3]: V2 = Vf (W2 − W1)/(ρ2 − W1).

    final_m3: Vf, wanted in the end [m3]. mud_kg_m3, wanted_kg_m3, liquid_kg_m3 [kg/m3], and what is raised: as of
    ``liquid_for``. Source: mass balance; Lapeyrouse, ch. 3.
    """
    positive(final=final_m3, mud=mud_kg_m3, wanted=wanted_kg_m3, liquid=liquid_kg_m3)
    _between(mud_kg_m3, wanted_kg_m3, liquid_kg_m3)
    return final_m3 * (wanted_kg_m3 - mud_kg_m3) / (liquid_kg_m3 - mud_kg_m3)


def mixed(first_m3: float, first_kg_m3: float, second_m3: float, second_kg_m3: float) -> tuple[float, float]:
    """Two muds in one tank: (volume [m3], weight [kg/m3]), V = V1 + V2 and ρ = (V1 ρ1 + V2 ρ2)/V.

    first_m3, second_m3: V1, V2 [m3]. first_kg_m3, second_kg_m3: ρ1, ρ2 [kg/m3]. Raises ImpossibleError for one that is
    no more than nothing. Source: mass balance; Lapeyrouse, ch. 3.
    """
    positive(first=first_m3, first_weight=first_kg_m3, second=second_m3, second_weight=second_kg_m3)
    volume = first_m3 + second_m3
    return volume, (first_m3 * first_kg_m3 + second_m3 * second_kg_m3) / volume


def positive(**arguments: float) -> None:
    """Raises ImpossibleError about the first of ``arguments`` that is no more than nothing; unknown (NaN) passes."""
    for name, value in arguments.items():
        if value <= 0.0:
            raise ImpossibleError(name, BELOW_NOTHING)


def _weights_up(mud: float, wanted: float, solid: float) -> None:
    if wanted <= mud:
        raise ImpossibleError("wanted", "the weight wanted isn't above the mud's weight now: to make mud lighter, thin "
                                        "it with a liquid")
    if wanted >= solid:
        raise ImpossibleError("solid", "the solid isn't heavier than the weight wanted: no amount of it gets there. "
                                       "Check its density, and the weight wanted")


def _between(mud: float, wanted: float, liquid: float) -> None:
    if isnan(mud + wanted + liquid):
        return
    if not (mud < wanted < liquid or liquid < wanted < mud):
        raise ImpossibleError("wanted", "the weight wanted isn't between the mud's and that of what goes in: no amount "
                                        "of it gets there")
