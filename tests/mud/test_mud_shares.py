"""Drilled solids diluted, and the oil/water ratio changed: by hand, as volumes that add up, and what can't be.

The published examples are in tests/published.
"""

from __future__ import annotations

from math import isnan, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dipbook.mud.drilled_solids import built_for, dilution, dilution_a_volume
from dipbook.mud.mixing import ImpossibleError
from dipbook.mud.oil_water import mud_share, oil_for, ratio_of, water_for

VOLUMES, SHARES = st.floats(0.1, 500.0), st.floats(0.01, 0.99)


def test_solids_by_hand() -> None:
    # 4 m3 of solids as 8 %: 50 m3, 46 of them put in.
    assert built_for(4.0, 0.08) == pytest.approx(50.0, rel=1e-12)
    assert dilution(50.0, 4.0) == pytest.approx(46.0, rel=1e-12)
    assert dilution_a_volume(0.08) == pytest.approx(11.5, rel=1e-12)


@given(VOLUMES, SHARES, VOLUMES)
def test_solids_are_the_share_of_what_is_built_and_of_mud_that_held_it_already(solids: float, share: float, mud: float) -> None:
    goes_in = dilution(built_for(solids, share), solids)
    assert solids / (solids + goes_in) == pytest.approx(share, rel=1e-9)
    assert (solids + share * mud) / (solids + goes_in + mud) == pytest.approx(share, rel=1e-9)
    assert goes_in == pytest.approx(dilution_a_volume(share) * solids, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(("about", "solids", "share"), [("solids", 0.0, 0.05), ("solids", -1.0, 0.05), ("share", 1.0, 0.0),
                                                        ("share", 1.0, 1.0), ("share", 1.0, 1.2), ("share", 1.0, -0.1)])
def test_solids_that_cant_be_are_refused(about: str, solids: float, share: float) -> None:
    with pytest.raises(ImpossibleError) as caught:
        built_for(solids, share)
    assert caught.value.about == about


def test_solids_that_are_all_of_it_are_refused() -> None:
    with pytest.raises(ImpossibleError, match="all of it") as caught:
        dilution(4.0, 4.0)
    assert caught.value.about == "built"
    with pytest.raises(ImpossibleError, match="more than nothing"):
        dilution(4.0, 0.0)


def test_oil_and_water_by_hand() -> None:
    # 100 m3 with 60 % oil and 20 % water is 75/25. To 80/20: 20 × 4 − 60 = 20 m3 of oil. To 60/40: 60 × 2/3 − 20 = 20 of water.
    assert ratio_of(0.6, 0.2) == pytest.approx(0.75, rel=1e-12)
    assert oil_for(100.0, 0.6, 0.2, 0.8) == pytest.approx(20.0, rel=1e-12)
    assert water_for(100.0, 0.6, 0.2, 0.6) == pytest.approx(20.0, rel=1e-12)
    assert mud_share(0.2) == pytest.approx(100 / 120, rel=1e-12)


@given(VOLUMES, st.floats(0.05, 0.6), st.floats(0.05, 0.35), SHARES)
def test_what_goes_in_brings_the_ratio_there_and_only_one_of_the_two_does(mud: float, oil: float, water: float, wanted: float) -> None:
    if abs(wanted - ratio_of(oil, water)) < 1e-6:
        return
    up = wanted > ratio_of(oil, water)
    needed = (oil_for if up else water_for)(mud, oil, water, wanted)
    liquids = mud * (oil + water) + needed
    assert needed > 0.0
    assert (mud * oil + (needed if up else 0.0)) / liquids == pytest.approx(wanted, rel=1e-9)
    assert mud_share(needed / mud) * (mud + needed) == pytest.approx(mud, rel=1e-9)
    with pytest.raises(ImpossibleError, match="brings it there") as caught:
        (water_for if up else oil_for)(mud, oil, water, wanted)
    assert caught.value.about == "ratio"


@given(VOLUMES, st.floats(0.05, 0.6), st.floats(0.05, 0.35), SHARES)
def test_oil_for_and_water_for_are_the_same_with_the_two_changed_round(mud: float, oil: float, water: float, wanted: float) -> None:
    if wanted > ratio_of(oil, water) + 1e-6:
        assert oil_for(mud, oil, water, wanted) == pytest.approx(water_for(mud, water, oil, 1.0 - wanted), rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("work", [oil_for, water_for])
def test_a_ratio_that_cant_be_is_refused(work: object) -> None:
    assert callable(work)
    for about, arguments in (("ratio", (10.0, 0.6, 0.2, 0.0)), ("ratio", (10.0, 0.6, 0.2, 1.0)), ("mud", (0.0, 0.6, 0.2, 0.8)),
                             ("oil", (10.0, 0.0, 0.2, 0.8)), ("water", (10.0, 0.6, 0.0, 0.8)), ("water", (10.0, 0.7, 0.4, 0.8))):
        with pytest.raises(ImpossibleError) as caught:
            work(*arguments)
        assert caught.value.about == about
    with pytest.raises(ImpossibleError, match="that ratio already") as caught:
        work(10.0, 0.6, 0.15, 0.8)
    assert caught.value.about == "ratio"
    with pytest.raises(ImpossibleError, match="less than nothing"):
        mud_share(-0.1)


def test_what_isnt_known_stays_unknown() -> None:
    assert isnan(built_for(nan, 0.05))
    assert isnan(built_for(1.0, nan))
    assert isnan(dilution(nan, 1.0))
    assert isnan(dilution(10.0, nan))
    assert isnan(ratio_of(nan, 0.2))
    assert isnan(mud_share(nan))
    for place in range(4):
        for work, wanted in ((oil_for, 0.8), (water_for, 0.7)):
            arguments = [10.0, 0.6, 0.2, wanted]
            arguments[place] = nan
            assert isnan(work(*arguments))
