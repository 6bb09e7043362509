"""Pump output from its measures; the published values are in tests/published."""

from __future__ import annotations

from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import dblquad

from dipbook.errors import QuantityError
from dipbook.pumps import duplex_output, flow, lag_strokes, seconds_for, strokes_for, triplex_output

IN, BBL = 0.0254, 0.158987294928


def swept(liner: float, rod: float, stroke: float) -> float:
    """Volume swept on one side of a piston [m3], by integration over the ring between rod and liner."""
    volume, _ = dblquad(lambda r, _: r * stroke, 0.0, 2 * np.pi, rod / 2, liner / 2)
    return float(volume)


def test_a_triplex_sweeps_three_liners_a_turn() -> None:
    assert triplex_output(6 * IN, 12 * IN, 0.97) == pytest.approx(3 * swept(6 * IN, 0.0, 12 * IN) * 0.97, rel=1e-9)


def test_a_duplex_sweeps_two_liners_and_two_rings_a_turn() -> None:
    expected = 2 * (swept(6 * IN, 0.0, 12 * IN) + swept(6 * IN, 2 * IN, 12 * IN)) * 0.85
    assert duplex_output(6 * IN, 12 * IN, 2 * IN, 0.85) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(("liner", "stroke", "rod", "efficiency", "why"), [
    (0.0, 0.3, 0.05, 0.9, "liner must be above zero"), (0.15, -0.3, 0.05, 0.9, "stroke must be above zero"),
    (float("nan"), 0.3, 0.05, 0.9, "liner must be above zero"), (0.15, 0.3, 0.0, 0.9, "rod must be above zero"),
    (0.15, 0.3, 0.15, 0.9, "isn't thinner"), (0.15, 0.3, 0.05, 95.0, "write 0.95, not 95"),
    (0.15, 0.3, 0.05, 0.0, "write 0.95, not 95"), (0.15, 0.3, 0.05, float("nan"), "write 0.95, not 95"),
])
def test_a_pump_that_cannot_be_is_refused(liner: float, stroke: float, rod: float, efficiency: float, why: str) -> None:
    with pytest.raises(QuantityError, match=why):
        duplex_output(liner, stroke, rod, efficiency)


@given(st.floats(1e-4, 0.1), st.floats(1.0, 200.0))
def test_flow_over_the_time_of_the_strokes_is_their_volume(output: float, speed: float) -> None:
    assert flow(output, speed) * seconds_for(500, speed) == pytest.approx(500 * output)


def test_strokes_and_flow_take_arrays_where_a_log_has_them() -> None:
    np.testing.assert_allclose(flow(0.016, np.array([0.0, 60.0])), [0.0, 0.016])
    assert seconds_for(100, np.array([60.0, 0.0])).tolist() == [100.0, inf]
    assert seconds_for(100, 0.0) == inf


def test_rounding_the_output_moves_the_lag_by_six_strokes() -> None:
    # W12's note: 0.102 instead of 0.10177 bbl a stroke, 250 bbl of annulus.
    exact = triplex_output(6 * IN, 12 * IN, 0.97)
    assert lag_strokes(250 * BBL, exact) - lag_strokes(250 * BBL, 0.102 * BBL) == pytest.approx(5.6, abs=0.1)


def test_strokes_of_a_pump_without_output_are_refused() -> None:
    for output in (0.0, float("nan")):
        with pytest.raises(QuantityError, match="isn't above zero"):
            strokes_for(1.0, output)
