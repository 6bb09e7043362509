"""The oil/water ratio of an oil mud, by volumes that add up: what brings it to another.

The ratio is of the liquids alone: oil to oil and water, as the retort tells them, with the solids left out. What goes
in is all oil or all water: salt that is in the water counts for nothing here. So oil in: (Vo + x)/(Vo + Vw + x) = R.
Source: balance of volumes.
"""

from __future__ import annotations

from dipbook.mud.mixing import ImpossibleError, positive

SLACK = 1e-9
"""Ratios that differ by less are one: far below what a retort tells."""


def ratio_of(oil: float, water: float) -> float:
    """Oil of oil and water [-]: Fo/(Fo + Fw). oil, water: Fo, Fw, of the mud's volume [-].

    Raises ImpossibleError where one is no more than nothing, or both are more than all of it. Source: definition.
    """
    positive(oil=oil, water=water)
    if oil + water > 1.0 + 1e-9:
        raise ImpossibleError("water", "oil and water are more than all of the mud")
    return oil / (oil + water)


def oil_for(mud_m3: float, oil: float, water: float, ratio: float) -> float:
    """Oil that raises the ratio [m3]: V (Fw R/(1 − R) − Fo).

    mud_m3: V, of mud to begin with [m3]. oil, water: Fo, Fw, of its volume [-]. ratio: R wanted, oil of oil and
    water [-]. Raises ImpossibleError where that isn't above what it is now, or is all oil. Source: balance of volumes.
    """
    _possible(mud_m3, ratio)
    if _above(ratio, oil, water) < 0:
        raise ImpossibleError("ratio", "the mud has more oil than that: water brings it there, not oil")
    return mud_m3 * (water * ratio / (1.0 - ratio) - oil)


def water_for(mud_m3: float, oil: float, water: float, ratio: float) -> float:
    """Water that lowers the ratio [m3]: V (Fo (1 − R)/R − Fw).

    mud_m3: V, of mud to begin with [m3]. oil, water: Fo, Fw, of its volume [-]. ratio: R wanted, oil of oil and
    water [-]. Raises ImpossibleError where that isn't below what it is now, or is no oil. Source: balance of volumes.
    """
    _possible(mud_m3, ratio)
    if _above(ratio, oil, water) > 0:
        raise ImpossibleError("ratio", "the mud has less oil than that: oil brings it there, not water")
    return mud_m3 * (oil * (1.0 - ratio) / ratio - water)


def mud_share(added: float) -> float:
    """How much of the volume in the end is the mud to begin with [-]: 1/(1 + x).

    added: x, what goes in for a volume of the mud [m3/m3]. Raises ImpossibleError below 0. Source: balance of volumes.
    """
    if added < 0.0:
        raise ImpossibleError("added", "what goes in can't be less than nothing")
    return 1.0 / (1.0 + added)


def _possible(mud_m3: float, ratio: float) -> None:
    positive(mud=mud_m3)
    if ratio <= 0.0 or ratio >= 1.0:
        raise ImpossibleError("ratio", "it must be between no oil and all oil: nothing that goes in gets to the ends")


def _above(ratio: float, oil: float, water: float) -> float:
    """How far a ratio is above the mud's own. Raises ImpossibleError where they are one."""
    more = ratio - ratio_of(oil, water)
    if abs(more) < SLACK:
        raise ImpossibleError("ratio", "the mud has that ratio already: nothing goes in")
    return more
