"""What gas in the mud and its warming do to a volume: numbers for a remark, and never more.

Nothing of this is booked and no term is made of it: how much gas is in all of the mud, and how warm all of it is,
nobody knows, and a kick that was explained away by either would be one that nobody looks for. Gas at surface is itself
a sign.
"""

from __future__ import annotations

from dipbook.mud.mixing import BELOW_NOTHING, ImpossibleError


def gas_cut(volume_m3: float, mud_kg_m3: float, share: float) -> tuple[float, float]:
    """Mud with gas in it: (the volume that it seems to be [m3], its weight [kg/m3]), V/(1 − f) and ρ(1 − f).

    volume_m3, mud_kg_m3: V, ρ of the mud alone [m3, kg/m3]. share: f, of the whole that is gas, at the pressure where
    it is measured [-]. The gas's own mass is left out: at surface it is a thousandth.

    Raises ImpossibleError where the share isn't from 0 to below 1, or a volume or weight not above nothing. Source:
    definition of the share, and mass balance.
    """
    for name, value in (("volume", volume_m3), ("mud", mud_kg_m3)):
        if value <= 0.0:
            raise ImpossibleError(name, BELOW_NOTHING)
    if share < 0.0 or share >= 1.0:
        raise ImpossibleError("share", "the gas must be less than all of it")
    return volume_m3 / (1.0 - share), mud_kg_m3 * (1.0 - share)


def gas_share(mud_kg_m3: float, cut_kg_m3: float) -> float:
    """Share of gas that makes mud as light as it was weighed [-]: f = 1 − ρcut/ρ.

    mud_kg_m3, cut_kg_m3: ρ without gas and ρcut as weighed [kg/m3]. Raises ImpossibleError where the second is above
    the first. Source: the same balance from the other side. Water that came in makes mud lighter too: it isn't told
    apart.
    """
    for name, value in (("mud", mud_kg_m3), ("cut", cut_kg_m3)):
        if value <= 0.0:
            raise ImpossibleError(name, BELOW_NOTHING)
    if cut_kg_m3 > mud_kg_m3:
        raise ImpossibleError("cut", "the mud as weighed is heavier than it is without gas: check which is which")
    return 1.0 - cut_kg_m3 / mud_kg_m3


def warmed(volume_m3: float, per_kelvin: float, from_k: float, to_k: float) -> float:
    """How much more there is of mud that has warmed [m3], below 0 for mud that has cooled: ΔV = V β ΔT.

    volume_m3: V [m3]. per_kelvin: β, of this mud, as a person gives it: no value is built in [1/K]. from_k, to_k:
    temperature before and after [K]. Raises ImpossibleError for a volume that is no more than nothing or a β below it.
    Source: definition of β, to first order.
    """
    if volume_m3 <= 0.0:
        raise ImpossibleError("volume", BELOW_NOTHING)
    if per_kelvin < 0.0:
        raise ImpossibleError("per_kelvin", "mud grows when it warms: it can't be below nothing")
    return volume_m3 * per_kelvin * (to_k - from_k)
