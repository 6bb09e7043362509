"""Published shares of a mud: drilled solids diluted, and the oil/water ratio of an oil mud."""

from __future__ import annotations

import pytest

from dipbook.mud.drilled_solids import built_for, dilution, dilution_a_volume
from dipbook.mud.oil_water import mud_share, oil_for, ratio_of
from dipbook.quantities import from_unit, read, read_parts, read_percent, to_unit
from published.rows import ROWS, Row


def share(text: str) -> float:
    """``5 %``, with the source's remark behind it [-]."""
    return read_percent(text.split("%")[0])[0] / 100


def volume(row: Row, key: str) -> float:
    return read(row.inputs[key], "volume").value


def test_what_a_barrel_of_solids_takes_is_the_published_one() -> None:
    # W06: (100 − 5)/5 = 19.
    row = ROWS["W06"]
    assert row.agrees(dilution_a_volume(share(row.inputs["x"])))


def test_the_mud_built_of_the_solids_and_what_goes_in_are_the_published_ones() -> None:
    # W07: 37.9/0.05 = 758, printed 759 (37.95 before the source rounded it). W08: 759 − 37.9 = 721.1.
    built, goes_in = ROWS["W07"], ROWS["W08"]
    solids = volume(built, "solids")
    ours = built_for(solids, share(built.inputs["x"]))
    assert built.agrees(to_unit(ours, "bbl"))
    assert to_unit(ours, "bbl") == pytest.approx(758.0, rel=1e-12)
    assert to_unit(built_for(from_unit(37.95, "bbl"), 0.05), "bbl") == pytest.approx(built.published_value, rel=1e-12)
    assert goes_in.agrees(to_unit(dilution(volume(goes_in, "built"), volume(goes_in, "solids")), "bbl"))
    # From the other side: 19 volumes for each of solids, and solids are 5 % of all.
    assert dilution(ours, solids) == pytest.approx(19 * solids, rel=1e-12)
    assert solids / (solids + dilution(ours, solids)) == pytest.approx(0.05, rel=1e-12)


def test_the_oil_that_changes_the_ratio_is_the_published_one() -> None:
    # M16: 10 × 88/12 − 52 = 21.33 % of the mud.
    row = ROWS["M16"]
    oil, water, wanted = share(row.inputs["oil"]), share(row.inputs["water"]), read_parts("88/12")
    assert "88/12" in row.formula
    goes_in = oil_for(1.0, oil, water, wanted)
    assert row.agrees(goes_in)
    assert (oil + goes_in) / (oil + goes_in + water) == pytest.approx(0.88, rel=1e-12)
    assert ratio_of(oil, water) == pytest.approx(52 / 62, rel=1e-12)


def test_how_much_of_a_barrel_in_the_end_is_the_mud_to_begin_with() -> None:
    # M17: 1/(1 + 0.213) = 0.8244, printed 0.82.
    row = ROWS["M17"]
    assert float(row.inputs["x"]) == ROWS["M16"].published_value
    assert row.agrees(mud_share(float(row.inputs["x"])))


USED = ("W06", "W07", "W08", "M16", "M17")
