"""Published conversions and unit constants. The sources stand in rows.json and in each test's id."""

from __future__ import annotations

from importlib import import_module
from math import pi
from pathlib import Path

import pytest

from dipbook.quantities import from_unit, read, to_unit
from dipbook.quantities.factors import (
    BARREL,
    FOOT,
    INCH,
    POUND,
    PSI,
    STANDARD_GRAVITY,
    US_GALLON,
)
from published.rows import ROWS, Row, rows


def converted(text: str, dimension: str, into: str) -> float:
    return to_unit(read(text, dimension).value, into)


def gradient(density_kg_m3: float) -> float:
    """Pressure per length [psi/ft]."""
    return density_kg_m3 * float(STANDARD_GRAVITY * FOOT / PSI)


DIRECT = {
    "U01": converted("1 bbl", "volume", "m3"),
    "U02": converted("1 gal", "volume", "m3"),
    "U03": converted("1 ft", "length", "m"),
    "U05": converted("1 lb", "mass", "kg"),
    "U08": float(550 * FOOT * POUND * STANDARD_GRAVITY),
    "U09": converted("1 lb/gal", "density", "kg/m3"),
    "U11": converted("1 lbm/ft3", "density", "lbm/gal[US]"),
    "U12": converted("1 ft3", "volume", "bbl"),
    "U14": converted("1 ft3", "volume", "gal[US]"),
    "U16": converted("1 bbl", "volume", "m3"),
    "U19": converted("100 lbm/ft3", "density", "lbm/gal[US]"),
    "U20": converted("90 lbm/ft3", "density", "lbm/gal[US]"),
    "U21": converted("16.8 ppg", "density", "lbm/ft3"),
    "U22": gradient(from_unit(1.0, "lbm/gal[US]")),
    "U27": converted("0.2 lbm/gal", "density", "g/L"),
    "P17": float(US_GALLON / INCH**3) * 4 / pi,
    "W10": converted("300 gpm", "rate", "bbl/min"),
    "K23": converted("1 ft3", "volume", "bbl"),
    "K25": float(BARREL / (FOOT**2 * INCH)),
}


@rows(DIRECT)
def test_a_published_conversion_is_met(row: Row, case: float) -> None:
    assert row.grade in "ABE"
    assert row.agrees(case)


# Grade C: the value by the source's own constants; the exact value; the share by which they may differ, from the note.
BY_CONSTANTS = {
    "U23": (0.052 * 10 * 1000, gradient(from_unit(10.0, "lbm/gal[US]")) * 1000, 0.0011),
    "U24": (0.052 * 13.5 * 12000, gradient(from_unit(13.5, "lbm/gal[US]")) * 12000, 0.0011),
    "U25": (0.72 / 0.052, 0.72 / gradient(from_unit(1.0, "lbm/gal[US]")), 0.0011),
}


@rows(BY_CONSTANTS)
def test_a_rounded_constant_gives_the_printed_value_and_exact_factors_agree_nearly(
        row: Row, case: tuple[float, float, float]) -> None:
    by_source, exact, share = case
    assert row.grade == "C"
    assert row.agrees(by_source)
    assert exact == pytest.approx(by_source, rel=share)


def test_the_field_value_of_fresh_water_is_not_reproduced() -> None:
    # U18, grade D: 8.33 lbm/gal belongs to 998 kg/m3, not to 1000.
    row = ROWS["U18"]
    assert row.grade == "D"
    assert not row.agrees(to_unit(1000.0, "lbm/gal[US]"))


def test_cuttings_of_a_published_hole_in_bbl_per_foot() -> None:
    row = ROWS["W01"]
    area = pi / 4 * read(row.inputs["hole"], "length").value ** 2
    assert row.agrees(to_unit(area * (1 - row.inputs["phi"]), "bbl/ft"))


@pytest.mark.parametrize(("key", "grain", "start"), [("M09", 35.0, 100.0), ("M10", 35.0, 500.0), ("M11", 40.0, 100.0)])
def test_the_volume_of_weighting_material_is_its_mass_over_its_density(key: str, grain: float, start: float) -> None:
    # Mass to weight up from a mass balance, in SI; its volume is what an addition by mass and density books.
    row = ROWS[key]
    w1, w2 = (from_unit(float(row.inputs[name]), "lbm/gal[US]") for name in ("W1", "W2"))
    density = from_unit(grain, "lbm/gal[US]")
    mass = from_unit(start, "bbl") * density * (w2 - w1) / (density - w2)
    assert row.agrees(to_unit(mass / density, "bbl"))


USED = {*DIRECT, *BY_CONSTANTS, "U18", "W01", "M09", "M10", "M11"}


def test_every_row_kept_is_used_by_a_test() -> None:
    # Each test_published_*.py beside this one names its rows in USED.
    files = Path(__file__).parent.glob("test_published_*.py")
    used = [import_module(f"published.{file.stem}").USED for file in files]
    assert set().union(*used) == set(ROWS)
