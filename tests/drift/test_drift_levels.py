"""Limits that follow from noise, what false warnings to expect of a limit, what an interval costs, and the words."""

from __future__ import annotations

import math

import numpy as np
import pytest

from dipbook.drift import (
    NOTHING_YET,
    Expected,
    State,
    automatic,
    cost_said,
    costs,
    expected_false_per_tour,
    expected_said,
    follow,
    said,
    scales_of,
    step,
    tuning_for,
)
from dipbook.quantities import from_unit, write

BBL = from_unit(1.0, "bbl")
BBL_MIN = from_unit(1.0, "bbl/min")
WORDS = {
    "volume": lambda v: write(v, "bbl"), "rate": lambda v: write(v, "bbl/min"),
    "time": lambda ms: f"{ms // 3_600_000:02d}:{ms // 60_000 % 60:02d}"}


def test_an_automatic_limit_never_passes_the_ceiling_and_is_never_missing():
    assert automatic(6.0, 0.07, 0.8) == pytest.approx(0.42)
    assert automatic(7.5, 0.07, 0.8) == pytest.approx(0.525)
    assert automatic(7.5, 5.0, 0.8) == 0.8
    assert automatic(7.5, math.nan, 0.8) == 0.8
    assert automatic(7.5, math.inf, 0.8) == 0.8
    for c, ceiling in ((0.0, 0.8), (6.0, 0.0), (math.nan, 0.8), (6.0, math.nan)):
        with pytest.raises(ValueError, match="positive"):
            automatic(c, 0.07, ceiling)


@pytest.mark.parametrize("interval", [1.0, 5.0, 60.0])
@pytest.mark.parametrize("loss", [False, True])
def test_false_warnings_expected_fall_with_the_limit(interval, loss):
    tuning = tuning_for(interval)
    found = [expected_false_per_tour(c * 0.07, 0.07, tuning, loss=loss) for c in np.arange(3.0, 7.5, 0.1)]
    assert [x.usual for x in found] == sorted((x.usual for x in found), reverse=True)
    assert [x.worst for x in found] == sorted((x.worst for x in found), reverse=True)
    assert all(x.usual <= x.worst for x in found)
    low, high = (expected_false_per_tour(c * 0.07, 0.07, tuning, loss=loss) for c in (1.0, 40.0))
    assert (low.bound, high.bound) == (1, -1)
    assert low.usual >= found[0].usual - 1e-9
    assert high.usual <= found[-1].usual + 1e-9
    # The goal that the design has for c = 6 and 7.5: 1, and 0.15.
    assert expected_false_per_tour(6.0, 1.0, tuning, loss=loss).usual <= 1.0
    assert expected_false_per_tour(7.5, 1.0, tuning, loss=loss).usual <= 0.15


def test_where_the_noise_is_not_known_nothing_is_expected():
    assert expected_false_per_tour(0.5, math.nan, tuning_for(5.0)) is None
    assert expected_false_per_tour(0.5, 0.07, tuning_for(900.0)) is None
    assert expected_false_per_tour(math.nan, 0.07, tuning_for(5.0)) is None
    assert expected_said(None) == "How many false warnings to expect isn't known"


def test_expectations_in_words():
    assert expected_said(Expected(2.2, 7.9)) == "Expect about 2 false warnings a tour, up to 8 by the kind of noise"
    assert expected_said(Expected(0.9, 1.2)) == "Expect about 1 false warning a tour"
    assert expected_said(Expected(0.1, 0.5)) == "Expect about 1 false warning in 10 tours, up to 1 in 2 by the kind of noise"
    assert expected_said(Expected(0.3, 1.6)) == "Expect about 1 false warning in 3 tours, up to 2 a tour by the kind of noise"
    assert expected_said(Expected(30.0, 200.0, 1)) == "Expect more than 30 false warnings a tour"
    assert expected_said(Expected(0.01, 0.04, -1)) == "Expect fewer than 1 false warning in 25 tours"


# Own simulation of dips with noise, by another program: (interval [min], bbl/min, mean bbl, nine in ten or None).
DIPS = ((15.0, 1.0, 9.9, 16.0), (15.0, 5.0, 40.0, 70.0), (5.0, 1.0, 5.1, None), (5.0, 5.0, 15.0, None))


@pytest.mark.parametrize(("minutes", "rate", "mean", "nine_in_ten"), DIPS)
def test_costs_of_dips_are_those_simulated(minutes, rate, mean, nine_in_ten):
    made = costs(60.0 * minutes, rate * BBL_MIN, 2.25 * BBL)
    assert made.mean_m3 / BBL == pytest.approx(mean, rel=0.06)
    if nine_in_ten:
        assert made.nine_in_ten_m3 / BBL == pytest.approx(nine_in_ten, rel=0.03)
    assert made.most_m3 > made.nine_in_ten_m3 > made.mean_m3


@pytest.mark.parametrize("interval", [1.0, 5.0, 60.0, 900.0])
@pytest.mark.parametrize("rate", [0.25, 1.0, 20.0])
def test_costs_are_what_the_sums_do_without_noise(interval, rate):
    """The second side: a ramp from a random time on, followed until its sum reaches the limit."""
    limit, q = 2.4 * BBL, rate * BBL_MIN
    n = int(4.0 * limit / q / interval) + 400
    t = (1000 * interval * np.arange(n)).astype(np.int64)
    made = []
    for k in range(60):
        onset = interval * (100 + k / 60.0)
        over = follow(t, q * np.maximum(0.0, t / 1000.0 - onset), np.ones(n, dtype=bool), tuning_for(interval)).worst_gain_m3
        at = int(np.flatnonzero(over >= limit)[0])
        made.append(q * (t[at] / 1000.0 - onset))
    cost = costs(interval, q, limit)
    # Sampled, a filter is up to half a reading ahead of the smooth one.
    assert np.mean(made) == pytest.approx(cost.mean_m3, abs=0.7 * q * interval, rel=0.02)
    assert max(made) <= cost.most_m3 + 0.02 * limit


def test_costs_of_nothing_and_of_what_is_let_pass():
    assert costs(900.0, BBL_MIN).mean_m3 == pytest.approx(7.5 * BBL)
    assert math.isinf(costs(900.0, BBL_MIN / 60.0, BBL).mean_m3)
    for bad in ((0.0, 1.0, 1.0), (1.0, 0.0, 1.0), (1.0, 1.0, -1.0), (math.nan, 1.0, 1.0)):
        with pytest.raises(ValueError, match="must be"):
            costs(*bad)


def test_costs_in_words():
    words = {"volume": WORDS["volume"], "rate": WORDS["rate"], "span": lambda ms: f"{ms // 60_000} min"}
    assert cost_said(900.0, BBL_MIN, 2.25 * BBL, **words) == (
        "At 1.0 bbl/min the well has made about 10.3 bbl by the reading that shows it, if one comes each 15 min")
    assert cost_said(900.0, BBL_MIN / 60.0, BBL, **words) == (
        "0.0 bbl/min from the well is within what is let pass: no reading each 15 min shows it")


def followed(rate, minutes, interval=5.0, sign=1.0):
    """The row after a ramp that begins at 01:00."""
    n = int((3600 + 60 * minutes) / interval) + 1
    t = interval * np.arange(n)
    u = sign * rate * BBL_MIN * np.maximum(0.0, t - 3600.0) / 1.0
    made = follow((1000 * t).astype(np.int64), u, np.ones(n, dtype=bool), tuning_for(interval))
    return made.row(-1)


def test_what_is_said_of_a_gain():
    assert said(followed(1.0, 10), 2.7 * BBL, tuning_for(5.0), loss=False, **WORDS) == (
        "7.6 bbl above the low at 01:00, limit 1.4 bbl (the slow pace's part of 2.7 bbl), about 0.8 bbl/min")
    dips = tuning_for(900.0)
    assert said(followed(1.0, 15, 900.0), 2.7 * BBL, dips, loss=False, **WORDS) == (
        "14.2 bbl above the low at 01:00, limit 2.7 bbl, about 1.0 bbl/min")
    assert said(followed(1.0, 15, 900.0), math.nan, dips, loss=False, **WORDS) == (
        "14.2 bbl above the low at 01:00, no limit set, about 1.0 bbl/min")
    assert said(followed(1.0, 15, 900.0, -1.0), 2.7 * BBL, dips, loss=True, **WORDS) == (
        "13.7 bbl below the high at 01:00, limit 2.7 bbl, about 1.0 bbl/min")


def test_what_is_said_while_nothing_or_nothing_new_is_known():
    tuning = tuning_for(900.0)
    state, row = step(State(), 0, math.nan, True, tuning)
    assert said(row, BBL, tuning, loss=False, **WORDS) == NOTHING_YET
    state, row = step(state, 3_600_000, 1.0, True, tuning)
    assert said(row, BBL, tuning, loss=False, **WORDS) == "0.0 bbl above the low at 01:00, limit 1.0 bbl"
    state, row = step(state, 5_400_000, math.nan, True, tuning)
    assert said(row, BBL, tuning, loss=False, **WORDS) == (
        "0.0 bbl above the low at 01:00, limit 1.0 bbl, held since 01:00")


def test_scale_is_the_sd_of_normal_noise_and_ignores_a_few_jumps():
    """1.4826 = 1/Φ⁻¹(3/4) (Rousseeuw and Croux 1993, from memory)."""
    rng = np.random.default_rng(8)
    d = np.column_stack([np.diff(rng.normal(0.0, sd, 40_002))[::2] for sd in (0.3, 0.7)])
    assert scales_of(d, 0.01) == pytest.approx((0.3, 0.7), rel=0.03)
    d[::500] += 50.0
    assert scales_of(d + 7.0, 0.01) == pytest.approx((0.3, 0.7), rel=0.03)
    assert scales_of(0.0 * d, 0.01) == (0.01, 0.01)
