"""Gas in mud and mud that warms: by hand, from both sides, and what can't be."""

from __future__ import annotations

from math import isnan, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dipbook.mud.apparent import gas_cut, gas_share, warmed
from dipbook.mud.mixing import ImpossibleError

VOLUMES, MUDS, SHARES = st.floats(0.1, 500.0), st.floats(800.0, 2300.0), st.floats(0.0, 0.95)


def test_a_tenth_of_gas_by_hand() -> None:
    # 9 m3 of 1200 kg/m3 with a tenth of gas seem to be 10 m3 of 1080.
    assert gas_cut(9.0, 1200.0, 0.1) == pytest.approx((10.0, 1080.0), rel=1e-12)
    assert gas_share(1200.0, 1080.0) == pytest.approx(0.1, rel=1e-12)


@given(VOLUMES, MUDS, SHARES)
def test_the_mud_keeps_its_mass_and_the_share_comes_back(volume: float, mud: float, share: float) -> None:
    apparent, cut = gas_cut(volume, mud, share)
    assert apparent * cut == pytest.approx(volume * mud, rel=1e-9)
    assert apparent - volume == pytest.approx(share * apparent, rel=1e-9, abs=1e-12)
    assert gas_share(mud, cut) == pytest.approx(share, abs=1e-12)


@pytest.mark.parametrize("share", [1.0, 1.5, -0.01])
def test_a_share_that_cant_be_is_refused(share: float) -> None:
    with pytest.raises(ImpossibleError, match="less than all of it") as caught:
        gas_cut(9.0, 1200.0, share)
    assert caught.value.about == "share"


def test_mud_heavier_than_without_gas_is_refused_and_as_heavy_is_no_gas() -> None:
    assert gas_share(1200.0, 1200.0) == 0.0
    with pytest.raises(ImpossibleError, match="check which is which") as caught:
        gas_share(1200.0, 1201.0)
    assert caught.value.about == "cut"


def test_mud_that_warms_by_hand_and_back_again() -> None:
    # 80 m3, 0.0005 a degree, 20 degrees: 0.8 m3. The β is invented.
    assert warmed(80.0, 0.0005, 300.0, 320.0) == pytest.approx(0.8, rel=1e-12)
    assert warmed(80.0, 0.0005, 320.0, 300.0) == pytest.approx(-0.8, rel=1e-12)
    assert warmed(80.0, 0.0, 300.0, 320.0) == 0.0


def test_nothing_and_less_are_refused_and_unknown_stays_unknown() -> None:
    for work in (lambda: gas_cut(0.0, 1200.0, 0.1), lambda: gas_cut(9.0, 0.0, 0.1), lambda: gas_share(0.0, 1200.0),
                 lambda: gas_share(1200.0, 0.0), lambda: warmed(0.0, 0.0005, 300.0, 320.0)):
        with pytest.raises(ImpossibleError, match="more than nothing"):
            work()
    with pytest.raises(ImpossibleError, match="grows when it warms"):
        warmed(80.0, -0.0005, 300.0, 320.0)
    assert isnan(gas_cut(nan, 1200.0, 0.1)[0])
    assert isnan(gas_cut(9.0, 1200.0, nan)[0])
    assert isnan(gas_share(nan, 1200.0))
    assert isnan(warmed(80.0, nan, 300.0, 320.0))
