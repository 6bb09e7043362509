"""The sums against published examples and against figures worked out apart from them."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.signal import lfilter

from dipbook.drift import State, follow, noise_of_smoothed, reflected, smoothed, step, tuning_for
from dipbook.drift.tuning import Clock, Tuning

# NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3 "CUSUM Control Charts": data, target and k from memory; each
# sum below was worked out again by the definition, term by term.
NIST = (324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625, 325.150, 328.325,
        327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350)
TARGET, K, H = 325.0, 0.3175, 4.1959
UPPER = (0, 0, 0, 0, 0.0325, 0, 0, 0, 0, 0, 0, 0, 3.0075, 4.94, 7.4475, 10.63, 11.9875, 14.445, 16.0025, 19.035)


def plain(allowance: float) -> Tuning:
    """One clock without smoothing that is let ``allowance`` a second; each reading counts as it is."""
    return Tuning(1.0, (Clock("plain", 0.0, allowance, allowance, 1.0),), 0, gap_s=math.inf, bridge_s=0.0)


def totals(x) -> np.ndarray:
    """Readings whose changes are x, from 0 on."""
    return np.concatenate(([0.0], np.cumsum(x)))


def test_nist_example_by_running_minimum():
    z = np.array(NIST) - TARGET
    up, _ = reflected(np.cumsum(z), K * np.arange(1, 21))
    down, _ = reflected(-np.cumsum(z), K * np.arange(1, 21))
    assert up == pytest.approx(UPPER, abs=1e-9)
    assert int(np.flatnonzero(up > H)[0]) + 1 == 14
    assert down.max() == pytest.approx(0.715, abs=1e-9)
    assert int(down.argmax()) + 1 == 8
    assert up[-1] == pytest.approx(19.035, abs=1e-9)
    assert z.sum() == pytest.approx(19.075, abs=1e-9)


def test_nist_example_through_the_detector_a_group_a_second():
    """Many at once, and one at a time: changes of the difference are the groups' deviations."""
    u, t = totals(np.array(NIST) - TARGET), 1000 * np.arange(21)
    made = follow(t, u, np.ones(21, dtype=bool), plain(K))
    assert made.worst_gain_m3[1:] == pytest.approx(UPPER, abs=1e-9)
    assert made.worst_loss_m3.max() == pytest.approx(0.715, abs=1e-9)
    # The sum at the end counts from group 12.
    assert made.low_ms[-1] == 12_000
    assert made.gain_rate_m3_s[-1] == pytest.approx((u[-1] - u[12]) / 8.0)
    state, rows = State(), []
    for ms, value in zip(t, u, strict=True):
        state, row = step(state, int(ms), float(value), True, plain(K))
        rows.append(row.worst_gain_m3)
    assert rows[1:] == pytest.approx(UPPER, abs=1e-9)


def arl(shift: float, k: float, h: float, *, nodes: int = 120) -> float:
    """Mean run length of a one-sided sum of normals of sd 1, by the integral equation of Page and van Dobben de Bruyn
    (from memory), Gauss-Legendre nodes and an atom at zero."""
    x, w = np.polynomial.legendre.leggauss(nodes)
    x, w = 0.5 * h * (x + 1.0), 0.5 * h * w
    density = np.exp(-0.5 * (x[None, :] - x[:, None] + k - shift)**2) / math.sqrt(2 * math.pi) * w
    at_zero = np.array([0.5 * math.erfc((a - k + shift) / math.sqrt(2.0)) for a in (0.0, *x)])
    first = np.exp(-0.5 * (x + k - shift)**2) / math.sqrt(2 * math.pi) * w
    system = np.zeros((nodes + 1, nodes + 1))
    system[0, 0], system[0, 1:] = at_zero[0], first
    system[1:, 0], system[1:, 1:] = at_zero[1:], density
    return float(np.linalg.solve(np.eye(nodes + 1) - system, np.ones(nodes + 1))[0])


def siegmund(shift: float, k: float, h: float) -> float:
    """Siegmund, Sequential Analysis (1985), from memory: (exp(−2Db) + 2Db − 1)/(2D²), D = shift − k, b = h + 1.166."""
    d, b = shift - k, h + 1.166
    return b * b if d == 0.0 else (math.exp(-2.0 * d * b) + 2.0 * d * b - 1.0) / (2.0 * d * d)


def two_sided(by, shift: float, k: float, h: float) -> float:
    return 1.0 / (1.0 / by(shift, k, h) + 1.0 / by(-shift, k, h))


# Montgomery, Introduction to Statistical Quality Control: 168, 26.6, 8.38 ... and 465, 38.0, 10.4 ... for k = 0.5 and h = 4, 5,
# from memory; the decimals worked out again by the integral equation. (shift, h = 4, Siegmund, h = 5, Siegmund)
TABLE = (
    (0.0, 167.68, 169.05, 465.44, 469.11), (0.25, 74.22, 74.43, 139.49, 139.78), (0.5, 26.63, 26.64, 38.00, 38.01),
    (0.75, 13.29, 13.27, 17.05, 17.03), (1.0, 8.38, 8.34, 10.38, 10.34), (1.5, 4.75, 4.67, 5.75, 5.67),
    (2.0, 3.34, 3.22, 4.01, 3.89), (3.0, 2.19, 1.99, 2.57, 2.39))


@pytest.mark.parametrize(("shift", "four", "four_about", "five", "five_about"), TABLE)
def test_oracles_agree_with_the_tables(shift, four, four_about, five, five_about):
    """The oracle of the next test, from two sides: the table and Siegmund's approximation."""
    for h, exact, about in ((4.0, four, four_about), (5.0, five, five_about)):
        assert two_sided(arl, shift, 0.5, h) == pytest.approx(exact, rel=0.005)
        assert two_sided(siegmund, shift, 0.5, h) == pytest.approx(about, abs=0.01)


def run_lengths(steps: np.ndarray, k: float, h: float) -> np.ndarray:
    """Readings until the detector's sum exceeds h, a run a line; the state begins anew in each."""
    found = np.zeros(len(steps))
    t = 1000 * np.arange(steps.shape[1] + 1)
    for i, x in enumerate(steps):
        over = np.flatnonzero(follow(t, totals(x), np.ones(len(t), dtype=bool), plain(k)).worst_gain_m3 > h)
        assert len(over), "a run was too short"
        found[i] = over[0]
    return found


@pytest.mark.parametrize(("shift", "h"), [(0.0, 3.0), (0.5, 4.0), (1.0, 4.0), (1.0, 5.0), (2.0, 5.0)])
def test_run_lengths_of_the_detector_are_those_of_the_tables(shift, h):
    """One side; the mean of 600 runs within four of its standard errors of the integral equation's."""
    exact = arl(shift, 0.5, h)
    n = int(12 * exact) + 60
    found = run_lengths(np.random.default_rng(5).normal(shift, 1.0, (600, n)), 0.5, h)
    assert found.mean() == pytest.approx(exact, abs=4.0 * found.std() / math.sqrt(len(found)))
    assert found.mean() == pytest.approx(siegmund(shift, 0.5, h), rel=0.15)


# Own simulation of 20,000 runs; that it falls is Böhm and Hackl (1996), abstract: one side, k = 0.5, h = 5.
WANDERING = ((0.0, 928.0), (0.25, 242.0), (0.5, 106.0), (0.75, 69.0))


@pytest.mark.parametrize(("phi", "mean"), WANDERING[1:])
def test_limits_of_independent_readings_are_far_too_low_for_noise_that_wanders(phi, mean):
    """Steps that are AR(1) with sd 1 of all: why no limit here follows from a table for independent readings."""
    rng, n = np.random.default_rng(7), 3200
    e = rng.normal(0.0, 1.0, (500, n)) * math.sqrt(1.0 - phi * phi)
    e[:, 0] /= math.sqrt(1.0 - phi * phi)
    for i in range(1, n):
        e[:, i] += phi * e[:, i - 1]
    found = run_lengths(np.ascontiguousarray(e), 0.5, 5.0)
    assert found.mean() == pytest.approx(mean, abs=4.0 * found.std() / math.sqrt(len(found)) + 0.02 * mean)
    assert found.mean() < 0.3 * arl(0.0, 0.5, 5.0)


def test_smoothing_is_the_recursion_at_uneven_steps():
    rng = np.random.default_rng(3)
    t = np.cumsum(rng.integers(1, 40_000, 3000))
    u = rng.normal(0.0, 1.0, 3000)
    f, before, by_hand = 2.0, int(t[0]) - 500, []
    for ms, value in zip(t, u, strict=True):
        f += -math.expm1(-(ms - before) / 30_000.0) * (value - f)
        before = int(ms)
        by_hand.append(f)
    assert smoothed(t, u, 30.0, 2.0, int(t[0]) - 500) == pytest.approx(by_hand, abs=1e-12)
    assert smoothed(t, u, 0.0, 2.0, 0) == pytest.approx(u)


def test_sd_of_an_exponentially_weighted_mean():
    """White noise: sd √(a/(2 − a)) (Roberts 1959, from memory); with dt 5 s and τ 30 s, a = 1 − e^(−1/6)."""
    a = 1.0 - math.exp(-5.0 / 30.0)
    assert noise_of_smoothed(2.0, 0.0, 20.0, 5.0, 30.0) == pytest.approx(2.0 * math.sqrt(a / (2.0 - a)), rel=1e-12)
    # Figures of the design, for the three clocks; simulated apart 0.719, 0.456, 0.268.
    assert [noise_of_smoothed(math.sqrt(0.75), 0.6, 20.0, 5.0, tau) for tau in (5.0, 30.0, 120.0)] == pytest.approx(
        [0.717, 0.455, 0.266], abs=0.0015)


@pytest.mark.parametrize("tau", [5.0, 30.0, 120.0])
def test_sd_of_smoothed_noise_that_wanders(tau):
    rng, n = np.random.default_rng(11), 400_000
    p = math.exp(-0.25)
    e = rng.normal(0.0, math.sqrt(1.0 - p * p), n)
    wandering = lfilter([1.0], [1.0, -p], e)
    u = math.sqrt(0.6) * wandering + math.sqrt(0.4) * rng.normal(0.0, 1.0, n)
    f = smoothed(5000 * np.arange(n), u, tau, 0.0, 0)
    assert f[1000:].std() == pytest.approx(noise_of_smoothed(1.0, 0.6, 20.0, 5.0, tau), rel=0.02)


def test_a_ramp_is_followed_at_the_lag_of_its_clock():
    """After many time constants the smoothed level is behind a ramp by q τ: so the sum, above the low at its beginning."""
    q, tuning = 0.01, tuning_for(1.0)
    clock = tuning.clocks[1]
    t = np.arange(0, 4000)
    u = q * np.maximum(0.0, t - 1000.0)
    made = follow(1000 * t, u, np.ones(len(t), dtype=bool), replace(tuning, learning=None, clocks=(clock,), judged_by=0))
    # Sampled each second a step of the input counts as from its reading on: half a reading less of lag.
    lag = 1.0 / -math.expm1(-1.0 / 30.0) - 1.0
    rise = q * 2999.0 - q * lag
    turn_s = made.low_ms[-1] / 1000.0
    assert made.gain_m3[0, -1] == pytest.approx(
        rise - clock.gain_allowance_m3_s * (3999.0 - turn_s) - (smoothed(1000 * t, u, 30.0, 0.0, 0)[int(turn_s)]), abs=1e-9)
