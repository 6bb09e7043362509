"""What must be added so that drilled solids stay a share of the mud, by volumes that add up.

Solids of a volume S are a share x of S/x: so much is built of them and what goes in, S/x − S, that brings none itself.
Mud that holds x already keeps x by it. What the screens and centrifuges took out isn't S: only what stays in the mud.
Source: balance of volumes.
"""

from __future__ import annotations

from dipbook.mud.mixing import ImpossibleError, positive


def built_for(solids_m3: float, share: float) -> float:
    """Mud that solids are a share of [m3]: S/x.

    solids_m3: S, drilled and left in the mud [m3]. share: x, that they may be [-]. Raises ImpossibleError where the
    solids are no more than nothing, or the share isn't between nothing and all. Source: balance of volumes.
    """
    positive(solids=solids_m3)
    if share <= 0.0 or share >= 1.0:
        raise ImpossibleError("share", "it must be between nothing and all of it")
    return solids_m3 / share


def dilution(built_m3: float, solids_m3: float) -> float:
    """What goes in beside the solids [m3]: built − S.

    built_m3: of solids and what goes in together [m3]. solids_m3: S [m3]. Raises ImpossibleError where the solids are
    no more than nothing, or are all of it. Source: balance of volumes.
    """
    positive(solids=solids_m3)
    if built_m3 <= solids_m3:
        raise ImpossibleError("built", "the solids are all of it: nothing goes in")
    return built_m3 - solids_m3


def dilution_a_volume(share: float) -> float:
    """What goes in for each volume of solids [m3/m3]: (1 − x)/x.

    share: x, that the solids may be [-]. Raises ImpossibleError as ``built_for`` does. Source: balance of volumes.
    """
    return dilution(built_for(1.0, share), 1.0)
