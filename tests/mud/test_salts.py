"""Salt in water: the table against its own other columns, the mass balance from two sides, and a case worked by hand."""

from __future__ import annotations

import csv
from importlib import resources
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dipbook.mud import NAMES, SaltError, find, most_percent, percent_after, volume_increase
from dipbook.mud.salts import density

ROWS = list(csv.DictReader(resources.files("dipbook.mud").joinpath("salts.csv").read_text(encoding="utf-8").splitlines()))
MOLAR = {"sodium chloride": 58.443, "potassium chloride": 74.551, "calcium chloride": 110.984}
"""g/mol, as in the handbook's table."""

MOL_PER_L = {
    "sodium chloride": {0.5: 0.086, 1: 0.172, 2: 0.346, 3: 0.523, 4: 0.703, 5: 0.885, 6: 1.069, 8: 1.445, 10: 1.832, 12: 2.229,
                        14: 2.637, 16: 3.056, 18: 3.486, 20: 3.928, 22: 4.382, 24: 4.847, 26: 5.326},
    "potassium chloride": {0.5: 0.067, 1: 0.135, 2: 0.271, 3: 0.409, 4: 0.549, 5: 0.691, 6: 0.835, 8: 1.127, 10: 1.426, 12: 1.733,
                           14: 2.048, 16: 2.370, 18: 2.701, 20: 3.039, 22: 3.386, 24: 3.742},
    "calcium chloride": {0.5: 0.045, 1: 0.091, 2: 0.183, 3: 0.277, 4: 0.372, 5: 0.469, 6: 0.567, 8: 0.768, 10: 0.976, 12: 1.191,
                         14: 1.413, 16: 1.641, 18: 1.878, 20: 2.122, 22: 2.374, 24: 2.634, 26: 2.902, 28: 3.179, 30: 3.464, 32: 3.759,
                         34: 4.062, 36: 4.375, 38: 4.698, 40: 5.030}}
"""Moles a litre at 20 °C, another column of the same handbook: CRC Handbook of Chemistry and Physics, 102nd ed.,
Concentrative Properties of Aqueous Solutions."""

KG_PER_M3 = {1: 10.053, 2: 20.250, 4: 41.072, 6: 62.478, 8: 84.472, 10: 107.070, 12: 130.284, 14: 154.128, 16: 178.592, 18: 203.742,
             20: 229.560, 22: 256.080, 24: 283.296, 26: 311.272}
"""Sodium chloride in the brine [kg/m3] at 20 °C: Poradnik fizykochemiczny, WNT, Warszawa 1974."""


def test_the_table_holds_three_salts_each_rising_from_water() -> None:
    assert NAMES == ("sodium chloride", "potassium chloride", "calcium chloride")
    for salt in NAMES:
        rows = [(float(r["percent_by_weight"]), float(r["density_kg_m3"])) for r in ROWS if r["salt"] == salt]
        assert rows[0] == (0.0, 998.2)
        assert all(a[0] < b[0] and a[1] < b[1] for a, b in pairwise(rows))
    assert all(r["temperature_c"] == "20" and r["source"] for r in ROWS)


@pytest.mark.parametrize("salt", NAMES)
def test_every_density_agrees_with_the_handbooks_moles_a_litre(salt: str) -> None:
    # c = ρ w / M. The column is rounded to a thousandth of a mole.
    for percent, moles in MOL_PER_L[salt].items():
        assert density(salt, percent) * percent / 100 / MOLAR[salt] == pytest.approx(moles, abs=0.0006), percent
    table = {float(r["percent_by_weight"]) for r in ROWS if r["salt"] == salt} - {0.0}
    assert table == set(MOL_PER_L[salt]), "every row of the table is checked"


def test_sodium_chloride_agrees_with_another_handbook() -> None:
    for percent, kg in KG_PER_M3.items():
        assert density("sodium chloride", percent) * percent / 100 == pytest.approx(kg, rel=2e-4), percent


def test_a_case_worked_by_hand() -> None:
    # 10 m3 of water are 9982 kg. 2495.5 kg of sodium chloride make 12477.5 kg of brine of exactly 20 %, 1147.8 kg/m3:
    # 10.87079 m3, so 0.87079 m3 more. By grain density (2165 kg/m3, from memory) it would be 1.153 m3.
    assert percent_after("sodium chloride", 2495.5, 10.0) == pytest.approx(20.0, abs=1e-9)
    assert volume_increase("sodium chloride", 2495.5, 10.0) == pytest.approx(12477.5 / 1147.8 - 10.0, abs=1e-9)
    assert volume_increase("sodium chloride", 2495.5, 10.0) == pytest.approx(0.8708, abs=1e-4)
    assert volume_increase("sodium chloride", 2495.5, 10.0) < 2495.5 / 2165


amounts = st.tuples(st.sampled_from(NAMES), st.floats(0.1, 0.9), st.floats(0.0, 0.9), st.floats(0.5, 300.0))


def to_reach(salt: str, w0: float, w1: float, into: float) -> float:
    """Salt [kg] that takes a brine from w0 to w1 [-]: the mass of water stays."""
    brine = into * density(salt, 100 * w0)
    return brine * (w1 - w0) / (1 - w1)


@given(amounts)
def test_mass_is_conserved(case: tuple[str, float, float, float]) -> None:
    salt, share, had, into = case
    most = most_percent(salt) / 100
    w0, w1 = had * share * most, share * most
    mass = to_reach(salt, w0, w1, into)
    assert percent_after(salt, mass, into, 100 * w0) == pytest.approx(100 * w1, rel=1e-9)
    after = into + volume_increase(salt, mass, into, 100 * w0)
    assert after * density(salt, 100 * w1) == pytest.approx(into * density(salt, 100 * w0) + mass, rel=1e-12)
    assert after * density(salt, 100 * w1) * (1 - w1) == pytest.approx(into * density(salt, 100 * w0) * (1 - w0), rel=1e-9)


@given(amounts)
def test_two_sacks_one_after_the_other_are_one_of_both(case: tuple[str, float, float, float]) -> None:
    salt, share, had, into = case
    w1 = share * most_percent(salt) / 100
    whole = to_reach(salt, 0.0, w1, into)
    first = had * whole
    grown = into + volume_increase(salt, first, into)
    second = volume_increase(salt, whole - first, grown, percent_after(salt, first, into))
    assert grown + second == pytest.approx(into + volume_increase(salt, whole, into), rel=1e-9)


@pytest.mark.parametrize("salt", NAMES)
@pytest.mark.parametrize("percent", [3.5, 11.0, 21.0])
def test_a_little_more_salt_takes_its_partial_volume(salt: str, percent: float) -> None:
    # From the other side: at constant water, dV/dm = 1/ρ − (1 − w) ρ'/ρ², the partial specific volume of the salt.
    slope = (density(salt, percent + 0.5) - density(salt, percent - 0.5)) / 0.01
    rho, w = density(salt, percent), percent / 100
    expected = 1 / rho - (1 - w) * slope / rho**2
    assert volume_increase(salt, 0.01, 1.0, percent) / 0.01 == pytest.approx(expected, rel=2e-3)
    assert 0 < expected < 1 / 1900, "less than the grains of any of them take"


def test_no_salt_is_no_change() -> None:
    assert volume_increase("potassium chloride", 0.0, 10.0, 5.0) == pytest.approx(0.0, abs=1e-12)


def test_beyond_the_table_is_refused_and_never_clamped() -> None:
    with pytest.raises(SaltError, match=r"33\.4 % by weight is more than the table's last row, 26 %") as caught:
        volume_increase("sodium chloride", 5000.0, 10.0)
    assert caught.value.most == 26.0
    with pytest.raises(SaltError):
        volume_increase("sodium chloride", 1.0, 10.0, 30.0)
    with pytest.raises(ValueError, match="no such share"):
        density("sodium chloride", -1.0)


@pytest.mark.parametrize(("word", "salt"), [("NaCl", "sodium chloride"), ("Sodium  Chloride", "sodium chloride"), ("KCl", "potassium chloride"),
                                            ("CaCl2", "calcium chloride"), ("CaCl₂", "calcium chloride"), ("barite", None), ("", None)])
def test_a_salt_is_known_by_name_or_formula(word: str, salt: str | None) -> None:
    assert find(word) == salt
