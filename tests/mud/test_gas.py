"""Gas at another pressure and gas spread through a column: by hand, from both sides, against an integration.

The published examples are in tests/published.
"""

from __future__ import annotations

from math import isnan, log, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.special import lambertw

from dipbook.mud.gas import GRAVITY, STANDARD_ATMOSPHERE, at_depth, expanded, gas_cut_loss
from dipbook.mud.mixing import ImpossibleError

VOLUMES, PRESSURES, FACTORS = st.floats(1e-3, 500.0), st.floats(5e4, 2e8), st.floats(0.2, 3.0)
MUDS, DEPTHS, SHARES = st.floats(800.0, 2300.0), st.floats(1.0, 10_000.0), st.floats(0.0, 0.99)


def test_gas_by_hand() -> None:
    # 2 m3 at 30 MPa are 600 m3 at 0.1 MPa; with z 1.2 there and 1 then, 500 m3: the gas there took more room than Boyle.
    assert expanded(2.0, 30e6, 0.1e6) == pytest.approx(600.0, rel=1e-12)
    assert expanded(2.0, 30e6, 0.1e6, 1.2, 1.0) == pytest.approx(500.0, rel=1e-12)
    # 1200 kg/m3 × 9.80665 × 1000 m = 11.76798 MPa, and an atmosphere.
    assert at_depth(1200.0, 1000.0) == pytest.approx(11_767_980.0 + 101_325.0, rel=1e-12)
    assert at_depth(1200.0, 0.0) == STANDARD_ATMOSPHERE


@given(VOLUMES, PRESSURES, PRESSURES, FACTORS, FACTORS)
def test_as_much_gas_there_as_then_and_back_again(volume: float, first: float, then: float, z: float, z_then: float) -> None:
    """p V/z is what stays: n R T."""
    other = expanded(volume, first, then, z, z_then)
    assert then * other / z_then == pytest.approx(first * volume / z, rel=1e-9)
    assert expanded(other, then, first, z_then, z) == pytest.approx(volume, rel=1e-9)


@given(VOLUMES, PRESSURES, PRESSURES)
def test_gas_grows_where_the_pressure_falls_and_only_there(volume: float, first: float, then: float) -> None:
    other = expanded(volume, first, then)
    assert (other > volume) == (then < first) or other == pytest.approx(volume, rel=1e-12)


@given(MUDS, DEPTHS, SHARES)
def test_the_loss_is_the_root_that_lamberts_function_gives(mud: float, depth: float, share: float) -> None:
    # (p − p0) + a ln(p/p0) = W, a = n p0: (p/a) e^(p/a) = (p0/a) e^((W + p0)/a). Where e^x overflows, ours alone is put back in.
    lost, whole = gas_cut_loss(mud, depth, share)
    assert whole == pytest.approx(mud * GRAVITY * depth, rel=1e-12)
    assert 0.0 <= lost <= whole
    bottom, gas = STANDARD_ATMOSPHERE + whole - lost, share / (1.0 - share) * STANDARD_ATMOSPHERE
    assert (bottom - STANDARD_ATMOSPHERE) + gas * log(bottom / STANDARD_ATMOSPHERE) == pytest.approx(whole, rel=1e-9)
    exponent = (whole + STANDARD_ATMOSPHERE) / gas if gas > 0.0 else 1e9
    if exponent < 600.0:
        other = gas * lambertw(STANDARD_ATMOSPHERE / gas * 2.718281828459045**exponent).real
        assert bottom == pytest.approx(other, rel=1e-6)


@pytest.mark.parametrize(("mud", "depth", "share"), [(1200.0, 1500.0, 0.5), (1900.0, 4000.0, 0.9), (1000.0, 30.0, 0.3)])
def test_the_loss_is_that_of_a_column_added_up_slice_by_slice(mud: float, depth: float, share: float) -> None:
    # Each slice weighs what its mud weighs; of it the gas takes f p0/((1 − f) p) of the mud's volume, by Boyle.
    def slope(_h: float, p: list[float]) -> list[float]:
        gas = expanded(share / (1.0 - share), STANDARD_ATMOSPHERE, p[0])
        return [mud * GRAVITY / (1.0 + gas)]

    found = solve_ivp(slope, (0.0, depth), [STANDARD_ATMOSPHERE], rtol=1e-10, atol=1e-3)
    bottom = float(found.y[0][-1])
    lost, whole = gas_cut_loss(mud, depth, share)
    assert whole - lost == pytest.approx(bottom - STANDARD_ATMOSPHERE, rel=1e-7)


@given(MUDS, DEPTHS, st.floats(0.01, 0.9))
def test_more_gas_and_more_depth_lose_more_and_a_smaller_share_deeper(mud: float, depth: float, share: float) -> None:
    lost, whole = gas_cut_loss(mud, depth, share)
    more, _ = gas_cut_loss(mud, depth, share + 0.05)
    deeper, all_of_it = gas_cut_loss(mud, 2.0 * depth, share)
    assert more > lost
    assert deeper > lost
    assert deeper / all_of_it < lost / whole


def test_near_the_surface_the_share_lost_is_the_gas_and_without_gas_nothing_is() -> None:
    lost, whole = gas_cut_loss(1200.0, 0.001, 0.25)
    assert lost / whole == pytest.approx(0.25, rel=1e-4)
    assert gas_cut_loss(1200.0, 3000.0, 0.0)[0] == 0.0


def test_a_pressure_on_the_surface_leaves_less_lost() -> None:
    # Ten atmospheres of gas at surface hold ten times as much gas by mass: the same share, and more of it below.
    open_, _ = gas_cut_loss(1200.0, 1500.0, 0.5)
    held, _ = gas_cut_loss(1200.0, 1500.0, 0.5, 10 * STANDARD_ATMOSPHERE)
    assert held > open_


@pytest.mark.parametrize(("about", "words", "arguments"), [
    ("gas", "more than nothing", (0.0, 1e6, 1e5)), ("from", "more than nothing", (1.0, 0.0, 1e5)),
    ("to", "more than nothing", (1.0, 1e6, -1.0)), ("z_from", "more than nothing", (1.0, 1e6, 1e5, 0.0)),
    ("z_to", "more than nothing", (1.0, 1e6, 1e5, 1.0, -0.1))])
def test_gas_that_cant_be_is_refused_at_its_argument(about: str, words: str, arguments: tuple[float, ...]) -> None:
    with pytest.raises(ImpossibleError, match=words) as caught:
        expanded(*arguments)
    assert caught.value.about == about


@pytest.mark.parametrize(("about", "words", "arguments"), [
    ("mud", "more than nothing", (0.0, 1000.0, 0.5)), ("depth", "more than nothing", (1200.0, 0.0, 0.5)),
    ("surface", "more than nothing", (1200.0, 1000.0, 0.5, 0.0)), ("share", "less than all", (1200.0, 1000.0, 1.0)),
    ("share", "less than all", (1200.0, 1000.0, -0.01))])
def test_a_column_that_cant_be_is_refused_at_its_argument(about: str, words: str, arguments: tuple[float, ...]) -> None:
    with pytest.raises(ImpossibleError, match=words) as caught:
        gas_cut_loss(*arguments)
    assert caught.value.about == about


def test_a_depth_above_the_surface_is_refused() -> None:
    with pytest.raises(ImpossibleError, match="above the surface") as caught:
        at_depth(1200.0, -1.0)
    assert caught.value.about == "depth"
    with pytest.raises(ImpossibleError, match="more than nothing"):
        at_depth(0.0, 100.0)


def test_what_isnt_known_stays_unknown() -> None:
    for place in range(5):
        arguments = [1.0, 1e6, 1e5, 1.0, 1.0]
        arguments[place] = nan
        assert isnan(expanded(*arguments))
    for place in range(4):
        arguments = [1200.0, 1000.0, 0.5, 1e5]
        arguments[place] = nan
        assert isnan(gas_cut_loss(*arguments)[0])
    assert isnan(at_depth(nan, 100.0))
    assert isnan(at_depth(1200.0, nan))
