"""Published mixing: start volumes and volume increases of weighting up, thinning, and two muds in one.

By what the entry books of the solid, whose mass is worked out here from a mass balance in SI, and by dipbook.mud.mixing.
G11 has no publisher: it is a definition, worked out (grade E).
"""

from __future__ import annotations

import pytest

from builders import box_tank, two_box_rig
from dipbook.entries.checks import make
from dipbook.mud.apparent import gas_cut, gas_share
from dipbook.mud.mixing import liquid_for, liquid_in, mixed, solid_for, start_for
from dipbook.quantities import from_unit, read, to_unit
from published.rows import ROWS, Row, rows

KG_M3 = "lbm/gal[US]"
CALCIUM_CARBONATE, HEMATITE = 22.5, 40.0
"""Densities [lbm/gal] that the source's formulas stand on (22.5 and 40 as constants in them)."""
ROOMY = two_box_rig(tanks=(box_tank("Suction", "suction", active=True, order=1),))


@rows({"M06": CALCIUM_CARBONATE, "M12": HEMATITE})
def test_the_start_volume_and_the_solid_that_is_booked_make_the_final_volume(row: Row, case: float) -> None:
    solid, start, wanted = (from_unit(x, KG_M3) for x in (case, float(row.inputs["W1"]), float(row.inputs["W2"])))
    final = read(row.inputs["Vf"], "volume").value
    mass = final * solid * (wanted - start) / (solid - start)
    draft, findings = make("addition", {"to": "Suction", "mass": f"{mass:.6f} kg", "density": f"{case} {KG_M3}"}, t_ms=0, rig=ROOMY,
                           learned_ms=0)
    assert draft is not None, findings
    begun = final - draft.payload["volume_m3"]
    assert row.agrees(to_unit(begun, "bbl"))
    assert begun * start + mass == pytest.approx(final * wanted, rel=1e-9), "the mass is that of the wanted mud"


def ppg(value: object) -> float:
    """A density [lb/gal] in kg/m3."""
    return from_unit(float(str(value)), KG_M3)


def volume(text: str) -> float:
    """A volume [m3]."""
    return read(text, "volume").value


@rows({"M06": CALCIUM_CARBONATE, "M12": HEMATITE})
def test_the_start_volume_is_the_published_one(row: Row, case: float) -> None:
    begun = start_for(volume(row.inputs["Vf"]), ppg(row.inputs["W1"]), ppg(row.inputs["W2"]), ppg(case))
    assert row.agrees(to_unit(begun, "bbl"))


@rows({"M09": (35.0, 100.0), "M10": (35.0, 500.0), "M11": (40.0, 100.0)})
def test_the_solid_to_weight_up_takes_the_published_volume(row: Row, case: tuple[float, float]) -> None:
    grain, start = case
    mass = solid_for(from_unit(start, "bbl"), ppg(row.inputs["W1"]), ppg(row.inputs["W2"]), ppg(grain))
    assert row.agrees(to_unit(mass / ppg(grain), "bbl"))


@rows({"M07": "water", "M08": "diesel oil"})
def test_the_liquid_to_thin_with_is_the_published_one(row: Row, case: str) -> None:
    # M07: 100 (14 − 12)/(12 − 8.33) = 54.496 bbl of water, M08: 100 × 2/5 = 40 bbl of oil of 7.0 lb/gal.
    given = row.inputs
    needed = liquid_for(volume(given["V1"]), ppg(given["W1"]), ppg(given["W2"]), ppg(given["Dw"]))
    assert row.agrees(to_unit(needed, "bbl")), case


def test_the_second_mud_in_a_volume_is_the_published_one() -> None:
    # 300 (11.5 − 11)/(14 − 11) = 50 bbl.
    row = ROWS["M14"]
    given = row.inputs
    assert row.agrees(to_unit(liquid_in(volume(given["Vf"]), ppg(given["D1"]), ppg(given["Df"]), ppg(given["D2"])), "bbl"))


def test_two_muds_in_one_weigh_what_is_published() -> None:
    row = ROWS["M15"]
    given = row.inputs
    together, weight = mixed(volume(given["V1"]), ppg(given["D1"]), volume(given["V2"]), ppg(given["D2"]))
    assert row.agrees(to_unit(weight, KG_M3))
    assert to_unit(together, "bbl") == pytest.approx(800.0, rel=1e-12)


def test_gas_in_mud_makes_it_seem_as_much_as_its_definition_says() -> None:
    row = ROWS["G11"]
    assert row.grade == "E"
    apparent, cut = gas_cut(volume(row.inputs["V"]), ppg(10.0), row.inputs["f"])
    assert row.agrees(to_unit(apparent, "bbl"))
    assert gas_share(ppg(10.0), cut) == pytest.approx(row.inputs["f"], rel=1e-12)


USED = {"M06", "M07", "M08", "M09", "M10", "M11", "M12", "M14", "M15", "G11"}
