"""Salt dissolved in water or brine: how much the volume grows, from a handbook's densities of brine.

Dissolved salt takes less room than its grains did, so mass / grain density would book too much. The increase follows
from a mass balance and the density of brine by its weight share: nothing else is assumed. The table, ``salts.csv``, is
for salt in water at 20 °C; of mud with solids in it only the water counts.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from functools import lru_cache
from importlib import resources
from typing import Any

import numpy as np

TABLE = "salts.csv"

FORMULAS: Mapping[str, str] = {"nacl": "sodium chloride", "kcl": "potassium chloride", "cacl2": "calcium chloride"}
"""What else people write for a salt -> its name."""


class SaltError(ValueError):
    """More salt than the table has a density for; the text says how much that would be."""

    def __init__(self, percent: float, most: float) -> None:
        """percent: by weight, asked for; most: with which the table ends [%]."""
        super().__init__(f"{percent:.1f} % by weight is more than the table's last row, {most:g} %")
        self.percent = percent
        self.most = most


@lru_cache(maxsize=1)
def _table() -> Mapping[str, tuple[Any, Any]]:
    """Salt -> (percent by weight, rising; density of the brine [kg/m3])."""
    text = resources.files("dipbook.mud").joinpath(TABLE).read_text(encoding="utf-8")
    found: dict[str, list[tuple[float, float]]] = {}
    for row in csv.DictReader(text.splitlines()):
        found.setdefault(row["salt"], []).append((float(row["percent_by_weight"]), float(row["density_kg_m3"])))
    return {salt: (np.array([p for p, _ in rows]), np.array([d for _, d in rows])) for salt, rows in found.items()}


NAMES: tuple[str, ...] = tuple(_table())
"""The salts that there is a table for."""


def find(word: str) -> str | None:
    """The salt that a word names, by its name or its formula in any case; None where there is none. word: as typed."""
    folded = " ".join(word.split()).casefold().replace("₂", "2")
    return FORMULAS.get(folded, folded if folded in NAMES else None)


def most_percent(salt: str) -> float:
    """Percent by weight with which the table of a salt ends, near saturation. salt: one of NAMES."""
    return float(_table()[salt][0][-1])


def density(salt: str, percent: float) -> float:
    """Density of a brine at 20 °C [kg/m3], between the table's rows in a straight line.

    salt: one of NAMES. percent: by weight, of the brine. Raises SaltError beyond the table, ValueError below 0.

    Source: CRC Handbook of Chemistry and Physics, Concentrative Properties of Aqueous Solutions; see salts.csv.
    """
    percents, densities = _table()[salt]
    if percent < 0:
        raise ValueError(f"no such share of salt: {percent} %")
    if percent > percents[-1] * (1 + 1e-12):
        raise SaltError(percent, float(percents[-1]))
    return float(np.interp(percent, percents, densities))


def percent_after(salt: str, mass_kg: float, into_m3: float, had_percent: float = 0.0) -> float:
    """Percent by weight once it is dissolved: w1 = (m + w0 M) / (M + m), where M = V0 ρ(w0).

    salt: one of NAMES. mass_kg: m, of salt added [kg]. into_m3: V0, of water or brine before [m3]. had_percent: w0,
    salt already in it [% by weight]. Raises SaltError where had_percent is beyond the table.
    """
    brine = into_m3 * density(salt, had_percent)
    return 100.0 * (mass_kg + had_percent / 100.0 * brine) / (brine + mass_kg)


def volume_increase(salt: str, mass_kg: float, into_m3: float, had_percent: float = 0.0) -> float:
    """How much more there is once the salt is dissolved [m3]: (V0 ρ(w0) + m) / ρ(w1) − V0, by conservation of mass.

    salt: one of NAMES. mass_kg: m, of salt added [kg]. into_m3: V0, of water or brine before [m3]. had_percent: w0,
    salt already in it [% by weight]. Raises SaltError where that is beyond the table, near saturation.
    """
    brine = into_m3 * density(salt, had_percent)
    after = density(salt, percent_after(salt, mass_kg, into_m3, had_percent))
    return (brine + mass_kg) / after - into_m3
