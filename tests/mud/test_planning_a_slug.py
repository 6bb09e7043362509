"""Slugs planned, worked by hand, from both sides of the balance of columns, and against what the books make of one.

The published examples are in tests/published.
"""

from __future__ import annotations

from math import isnan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dipbook.mud import slugs
from dipbook.quantities import from_unit, to_unit
from dipbook.quantities.factors import FOOT, PSI
from dipbook.records import Record
from dipbook.terms import slug as booked

FT = float(FOOT)
LIGHT, HEAVY = 1200.0, 1500.0
BORE = 0.01
VOLUMES, SHARES, BORES = st.floats(0.1, 50.0), st.floats(1.001, 2.0), st.floats(0.001, 0.05)


def test_three_cubic_metres_by_hand() -> None:
    # 3 m3 in 0.01 m3/m stand 300 m; (1500 − 1200)/1200 = 0.25 of that is dry: 75 m, 0.75 m3.
    assert slugs.dry_length(3.0, HEAVY, LIGHT, BORE) == pytest.approx(75.0, rel=1e-12)
    assert slugs.gain(3.0, HEAVY, LIGHT) == pytest.approx(0.75, rel=1e-12)
    assert slugs.volume_for(75.0, HEAVY, LIGHT, BORE) == pytest.approx(3.0, rel=1e-12)
    assert slugs.density_for(75.0, 3.0, LIGHT, BORE) == pytest.approx(HEAVY, rel=1e-12)


def test_in_the_annulus_by_hand() -> None:
    # 3 m3 in 0.03 m3/m stand 100 m; 300 kg/m3 × 9.80665 × 100 = 294 199.5 Pa. Lighter: as much less.
    assert slugs.annulus_pressure(3.0, HEAVY, LIGHT, 0.03) == pytest.approx(294_199.5, rel=1e-12)
    assert slugs.annulus_pressure(3.0, LIGHT, HEAVY, 0.03) == pytest.approx(-294_199.5, rel=1e-12)
    assert slugs.annulus_pressure(3.0, LIGHT, LIGHT, 0.03) == 0.0


def test_in_field_units_by_hand() -> None:
    # 25 bbl of 13.5 on 12.0 lb/gal in 0.01776 bbl/ft: 25 × 1.5/12 = 3.125 bbl come back, 175.96 ft; in an annulus of
    # 0.05 bbl/ft 500 ft × 1.5 × 12/231 = 38.961 psi.
    slug, heavy, light = from_unit(25.0, "bbl"), from_unit(13.5, "lbm/gal[US]"), from_unit(12.0, "lbm/gal[US]")
    assert to_unit(slugs.gain(slug, heavy, light), "bbl") == pytest.approx(3.125, rel=1e-12)
    assert slugs.dry_length(slug, heavy, light, from_unit(0.01776, "bbl/ft")) / FT == pytest.approx(175.957, abs=0.001)
    assert slugs.annulus_pressure(slug, heavy, light, from_unit(0.05, "bbl/ft")) / float(PSI) == pytest.approx(38.961, abs=0.0005)


@pytest.mark.parametrize("heavy", [LIGHT, 1100.0, float("nan")])
def test_a_slug_that_isnt_heavier_dries_nothing_that_could_be_told(heavy: float) -> None:
    assert isnan(slugs.gain(3.0, heavy, LIGHT))
    assert isnan(slugs.dry_length(3.0, heavy, LIGHT, BORE))
    assert isnan(slugs.volume_for(75.0, heavy, LIGHT, BORE))


@pytest.mark.parametrize(("dry", "volume"), [(0.0, 3.0), (-1.0, 3.0), (75.0, 0.0), (75.0, -1.0), (float("nan"), 3.0), (75.0, float("nan"))])
def test_no_density_for_no_length_or_no_slug(dry: float, volume: float) -> None:
    assert isnan(slugs.density_for(dry, volume, LIGHT, BORE))


@given(VOLUMES, st.floats(900.0, 2300.0), SHARES, BORES)
def test_both_columns_weigh_the_same_and_the_formulas_undo_each_other(volume: float, light: float, share: float, bore: float) -> None:
    heavy = light * share
    dry = slugs.dry_length(volume, heavy, light, bore)
    stands = volume / bore
    length = stands + dry + 100.0  # any pipe that the whole slug is in
    inside, outside = heavy * stands + light * (length - stands - dry), light * length
    assert inside == pytest.approx(outside, rel=1e-9)
    assert slugs.gain(volume, heavy, light) == pytest.approx(bore * dry, rel=1e-9)
    assert slugs.volume_for(dry, heavy, light, bore) == pytest.approx(volume, rel=1e-9)
    assert slugs.density_for(dry, volume, light, bore) == pytest.approx(heavy, rel=1e-9)


@given(VOLUMES, st.floats(900.0, 2300.0), SHARES)
def test_what_is_planned_is_what_the_books_bring_back(volume: float, light: float, share: float) -> None:
    log = [Record(seq=1, uid="1", kind="slug", t_ms=0, learned_ms=0, payload={
        "from": "Reserve", "volume_m3": volume, "density_kg_m3": light * share, "mud_density_kg_m3": light, "return_s": 60.0})]
    (fall,), findings = booked.slugs(log)
    assert findings == []
    assert fall.left_m3 == pytest.approx(slugs.gain(volume, light * share, light), rel=1e-9)
