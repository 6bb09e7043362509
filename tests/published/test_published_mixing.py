"""Published start volumes for weighting up: what there was and what the entry books of the solid make the volume wanted.

The mass of solid is that of a mass balance, worked out here in SI; what is checked is the volume that the entry books.
"""

from __future__ import annotations

import pytest

from builders import box_tank, two_box_rig
from dipbook.entries.checks import make
from dipbook.quantities import from_unit, read, to_unit
from published.rows import Row, rows

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


USED = {"M06", "M12"}
