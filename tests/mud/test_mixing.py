"""Weighting up, thinning and mixing: by hand, as conservation of mass and volume, and what can't be.

The published examples are in tests/published.
"""

from __future__ import annotations

from math import isnan, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dipbook.mud import mixing
from dipbook.mud.mixing import ImpossibleError, liquid_for, liquid_in, mixed, solid_for, start_for
from dipbook.quantities import from_unit, to_unit

VOLUMES = st.floats(0.1, 500.0)
MUDS = st.floats(800.0, 1900.0)
RISES = st.floats(1.001, 1.9)
"""Wanted over now, and then the solid over wanted."""


def ppg(value: float) -> float:
    return from_unit(value, "lbm/gal[US]")


def test_weighting_up_by_hand() -> None:
    # 10 m3 of 1200 to 1500 with grains of 4200 kg/m3: 10 × 4200 × 300/2700 = 4666.67 kg, 1.11111 m3 of them.
    # (12000 + 4666.67)/11.11111 = 1500.
    mass = solid_for(10.0, 1200.0, 1500.0, 4200.0)
    assert mass == pytest.approx(4666.6667, abs=1e-3)
    assert (12_000.0 + mass) / (10.0 + mass / 4200.0) == pytest.approx(1500.0, rel=1e-12)
    assert start_for(10.0 + 10.0 / 9.0, 1200.0, 1500.0, 4200.0) == pytest.approx(10.0, rel=1e-12)


def test_a_barrel_takes_140_pounds_from_12_to_14() -> None:
    # 1470 (14 − 12)/(35 − 14) = 140 lb a barrel, 140 sacks of 100 lb for 100 bbl, and not 140 lb for 100 bbl.
    pounds = to_unit(solid_for(from_unit(1.0, "bbl"), ppg(12.0), ppg(14.0), ppg(35.0)), "lbm")
    assert pounds == pytest.approx(140.0, rel=1e-12)


def test_thinning_by_hand() -> None:
    # 10 m3 of 1500 to 1250 with water of 1000: 10 × 250/250 = 10 m3, half of what there is then.
    assert liquid_for(10.0, 1500.0, 1250.0, 1000.0) == pytest.approx(10.0, rel=1e-12)
    assert liquid_in(20.0, 1500.0, 1250.0, 1000.0) == pytest.approx(10.0, rel=1e-12)
    assert mixed(10.0, 1500.0, 10.0, 1000.0) == pytest.approx((20.0, 1250.0), rel=1e-12)


@given(VOLUMES, MUDS, RISES, RISES)
def test_a_solid_keeps_its_mass_and_its_volume(volume: float, mud: float, rise: float, more: float) -> None:
    wanted, solid = mud * rise, mud * rise * more
    mass = solid_for(volume, mud, wanted, solid)
    final = volume + mass / solid
    assert mass > 0
    assert volume * mud + mass == pytest.approx(final * wanted, rel=1e-9)
    assert start_for(final, mud, wanted, solid) == pytest.approx(volume, rel=1e-9)


@given(VOLUMES, MUDS, RISES, RISES, st.booleans())
def test_a_liquid_keeps_its_mass_and_its_volume(volume: float, light: float, rise: float, more: float, thins: bool) -> None:
    wanted, heavy = light * rise, light * rise * more
    mud, liquid = (heavy, light) if thins else (light, heavy)
    needed = liquid_for(volume, mud, wanted, liquid)
    assert needed > 0
    together = mixed(volume, mud, needed, liquid)
    assert together == pytest.approx((volume + needed, wanted), rel=1e-9)
    assert liquid_in(together[0], mud, wanted, liquid) == pytest.approx(needed, rel=1e-9)


@given(VOLUMES, MUDS, VOLUMES, MUDS)
def test_mixing_is_the_same_either_way_round_and_lies_between(v1: float, w1: float, v2: float, w2: float) -> None:
    volume, weight = mixed(v1, w1, v2, w2)
    assert (volume, weight) == pytest.approx(mixed(v2, w2, v1, w1), rel=1e-12)
    assert volume * weight == pytest.approx(v1 * w1 + v2 * w2, rel=1e-12)
    assert min(w1, w2) * (1 - 1e-12) <= weight <= max(w1, w2) * (1 + 1e-12)


@given(VOLUMES, MUDS, RISES, RISES)
def test_a_powder_is_a_liquid_of_its_grains_density(volume: float, mud: float, rise: float, more: float) -> None:
    wanted, solid = mud * rise, mud * rise * more
    assert solid_for(volume, mud, wanted, solid) == pytest.approx(solid * liquid_for(volume, mud, wanted, solid), rel=1e-9)


@pytest.mark.parametrize(("now", "wanted", "solid", "about", "words"), [
    (1200.0, 1200.0, 4200.0, "wanted", "thin it with a liquid"), (1200.0, 1100.0, 4200.0, "wanted", "isn't above the mud's"),
    (1200.0, 1500.0, 1500.0, "solid", "no amount of it gets there"), (1200.0, 1500.0, 1300.0, "solid", "isn't heavier"),
    (0.0, 1500.0, 4200.0, "mud", "more than nothing"), (1200.0, 1500.0, -1.0, "solid", "more than nothing")])
def test_weighting_up_that_cant_be_says_why(now: float, wanted: float, solid: float, about: str, words: str) -> None:
    for work in (solid_for, start_for):
        with pytest.raises(ImpossibleError, match=words) as caught:
            work(10.0, now, wanted, solid)
        assert caught.value.about == about


@pytest.mark.parametrize(("now", "wanted", "liquid"), [(1500.0, 1250.0, 1250.0), (1500.0, 1250.0, 1300.0), (1500.0, 1500.0, 1000.0),
                                                       (1500.0, 1600.0, 1000.0), (1200.0, 1300.0, 1300.0), (1200.0, 1200.0, 1200.0)])
def test_a_liquid_that_doesnt_lead_there_is_refused(now: float, wanted: float, liquid: float) -> None:
    for work in (liquid_for, liquid_in):
        with pytest.raises(ImpossibleError, match="isn't between") as caught:
            work(10.0, now, wanted, liquid)
        assert caught.value.about == "wanted"


def test_nothing_of_a_mud_mixes_with_nothing() -> None:
    with pytest.raises(ImpossibleError, match="more than nothing") as caught:
        mixed(10.0, 1200.0, 0.0, 1000.0)
    assert caught.value.about == "second"
    for work in (solid_for, start_for, liquid_for, liquid_in):
        with pytest.raises(ImpossibleError, match="more than nothing"):
            work(0.0, 1200.0, 1300.0, 4200.0)


@pytest.mark.parametrize("place", range(4))
def test_what_isnt_known_stays_unknown(place: int) -> None:
    for work in (mixing.solid_for, mixing.start_for, mixing.liquid_for, mixing.liquid_in):
        arguments = [10.0, 1200.0, 1500.0, 4200.0]
        arguments[place] = nan
        assert isnan(work(*arguments))
    both = [10.0, 1200.0, 5.0, 1300.0]
    both[place] = nan
    assert isnan(mixed(*both)[1])
