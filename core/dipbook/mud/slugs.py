"""Slugs planned: how much, how heavy, and what it does, by the balance of two columns.

A slug of volume Vs and density ρs stands on mud of density ρm in pipe of length L whose bore holds c for a length. When
the pumps stop it falls until both sides weigh the same, ρs Vs/c + ρm (L − Vs/c − Ldry) inside and ρm L outside: of the
bore Ldry = (Vs/c)(ρs − ρm)/ρm is empty then (Lapeyrouse, Formulas and Calculations for Drilling, Production and
Workover, 2nd ed., ch. 2). It holds in a vertical pipe of one bore while the whole slug is in it. What the books make of
a slug is in ``dipbook.terms.slug``.

A slug that isn't heavier than the mud dries nothing: every function but the pressure is then NaN.
"""

from __future__ import annotations

from math import nan

from dipbook.quantities.factors import STANDARD_GRAVITY

GRAVITY = float(STANDARD_GRAVITY)


def dry_length(slug_m3: float, slug_kg_m3: float, mud_kg_m3: float, bore_m2: float) -> float:
    """Length of bore that a slug dries [m]: (Vs/c)(ρs − ρm)/ρm.

    slug_m3: Vs [m3]. slug_kg_m3, mud_kg_m3: ρs, ρm [kg/m3]. bore_m2: c, what a length of the bore holds [m3/m]. Source:
    balance of the columns; Lapeyrouse, ch. 2.
    """
    return gain(slug_m3, slug_kg_m3, mud_kg_m3) / bore_m2


def gain(slug_m3: float, slug_kg_m3: float, mud_kg_m3: float) -> float:
    """What comes back more than was pumped [m3], the bore that it dries: c Ldry = Vs (ρs/ρm − 1).

    slug_m3: Vs [m3]. slug_kg_m3, mud_kg_m3: ρs, ρm [kg/m3]. Source: balance of the columns.
    """
    return slug_m3 * (slug_kg_m3 / mud_kg_m3 - 1.0) if slug_kg_m3 > mud_kg_m3 else nan


def volume_for(dry_m: float, slug_kg_m3: float, mud_kg_m3: float, bore_m2: float) -> float:
    """Slug that dries a length of bore [m3]: c Ldry ρm/(ρs − ρm).

    dry_m: Ldry [m]. slug_kg_m3, mud_kg_m3: ρs, ρm [kg/m3]. bore_m2: c [m3/m]. Source: Lapeyrouse, ch. 2.
    """
    return bore_m2 * dry_m * mud_kg_m3 / (slug_kg_m3 - mud_kg_m3) if slug_kg_m3 > mud_kg_m3 else nan


def density_for(dry_m: float, slug_m3: float, mud_kg_m3: float, bore_m2: float) -> float:
    """Density of a slug of a volume that dries a length of bore [kg/m3]: ρm (1 + c Ldry/Vs).

    dry_m: Ldry [m]. slug_m3: Vs [m3]. mud_kg_m3: ρm [kg/m3]. bore_m2: c [m3/m]. Source: Lapeyrouse, ch. 2.
    """
    return mud_kg_m3 * (1.0 + bore_m2 * dry_m / slug_m3) if slug_m3 > 0.0 and dry_m > 0.0 else nan


def annulus_pressure(slug_m3: float, slug_kg_m3: float, mud_kg_m3: float, annulus_m2: float) -> float:
    """What the slug adds to the pressure below once it stands in the annulus [Pa]: (ρs − ρm) g Vs/Cann.

    slug_m3: Vs [m3]. slug_kg_m3, mud_kg_m3: ρs, ρm [kg/m3]. annulus_m2: Cann, what a length of the annulus that it
    stands in holds [m3/m]. Vertical, and all of it in an annulus of that size. Source: Lapeyrouse, ch. 2. Below 0 for a
    lighter slug.
    """
    return (slug_kg_m3 - mud_kg_m3) * GRAVITY * slug_m3 / annulus_m2
