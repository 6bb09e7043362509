"""Each doubt is told of what it is for, and not of an even run. The figures are the functions' documented defaults."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dipbook.gauges import (
    Gauge,
    breathing,
    cleaned,
    clipped,
    drifts,
    gaps,
    isolated,
    missing,
    noisy,
    spikes,
    steps,
    stuck,
    tilted,
    transfers,
    true_change,
)
from gauges.sensed import AREA, columns, gauges
from ledgers import BBL, MIN

EVERY = (stuck, missing, gaps, spikes, clipped, noisy, tilted, transfers)


@pytest.mark.parametrize("step_s", [1.0, 5.0, 60.0])
@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("gain", [0.0, 1.0])
def test_an_even_run_and_a_gain_raise_no_doubt(step_s: float, seed: int, gain: float) -> None:
    made = gauges(*columns(240, step_s=step_s, seed=seed, gain=gain, from_min=180))
    assert [d for find in EVERY for d in find(made)] == []


@pytest.mark.parametrize("gain", [1.0, 2.0])
def test_a_float_that_sticks_is_told_within_minutes_with_its_share(gain: float) -> None:
    t, v = columns(60, gain=gain, from_min=20)
    rows = (t >= 20 * MIN) & (t < 40 * MIN)
    v[0, rows] = v[0, np.flatnonzero(rows)[0]]
    (d,) = stuck(gauges(t, v))
    assert (d.kind, d.tank, d.from_ms) == ("stuck", "Settling", 20 * MIN)
    assert 22 * MIN <= d.known_ms <= 24 * MIN
    assert d.to_ms is not None
    assert 40 * MIN - 5000 <= d.to_ms <= 40 * MIN + 5000, "the first value after may happen to be the same"
    assert d.share == pytest.approx(1 / 3)


def test_the_true_gain_is_what_is_read_over_one_less_the_share() -> None:
    """From two sides: 3 bbl spread over areas of 1, 2 and 3, the one of 2 stuck: 2 bbl are read."""
    areas = np.array([1.0, 2.0, 3.0])
    read = float((3.0 * areas / areas.sum())[[0, 2]].sum())
    assert read == pytest.approx(2.0)
    assert true_change(read, float(areas[1] / areas.sum())) == pytest.approx(3.0)
    assert true_change(read, None) is None
    assert true_change(read, 1.0) is None


def test_a_tank_that_always_stood_still_is_not_told_but_the_suction_is() -> None:
    t, v = columns(60, gain=1.0)
    v[0] = 200.0
    assert stuck(gauges(t, v)) == ()
    v[1] = 200.0
    assert [d.tank for d in stuck(gauges(t, v))] == ["Suction"]


def test_a_tank_that_is_not_lined_up_may_stand_still() -> None:
    t, v = columns(60)
    v[0, t >= 20 * MIN] = 200.0
    made = gauges(t, v)
    out = Gauge("Settling", made[0].t_ms, made[0].volume_m3, AREA, spans=())
    assert stuck([cleaned(out), *made[1:]]) == ()


def test_the_same_dip_four_rounds_running_while_the_others_moved() -> None:
    t = np.arange(10) * 30 * MIN
    moving = 200 + np.array([0, 1, 2, 3, 4, 6, 8, 10, 12, 14.0])
    still = 200 + np.array([0, 1, 2, 3, 4, 5, 5, 5, 5, 5.0])
    made = [cleaned(Gauge(n, t, x * BBL, AREA)) for n, x in (("A", moving), ("B", still))]
    (d,) = stuck(made)
    assert (d.tank, d.count, d.from_ms, d.known_ms, d.to_ms) == ("B", 5, 5 * 30 * MIN, 8 * 30 * MIN, None)
    assert [find(made) for find in (spikes, missing, gaps, noisy, tilted)] == [()] * 5, "rounds have no such tests"


@pytest.mark.parametrize("gain", [0.0, 2.0])
def test_a_gauge_without_values_is_missing_while_others_read(gain: float) -> None:
    t, v = columns(30, gain=gain)
    keep = (t <= 10 * MIN) | (t >= 14 * MIN)
    made = gauges(t, v)
    made[0] = cleaned(Gauge("Settling", t[keep], v[0, keep] * BBL, AREA))
    (d,) = missing(made)
    assert (d.tank, d.from_ms, d.to_ms) == ("Settling", 10 * MIN, 14 * MIN)
    assert d.known_ms == 10 * MIN + 20_000, "the first reading of another after 15 s"
    made[0] = cleaned(Gauge("Settling", t[t <= 10 * MIN], v[0, t <= 10 * MIN] * BBL, AREA))
    assert missing(made)[0].to_ms is None
    assert gaps(made) == ()


def test_a_time_without_any_is_a_gap_and_no_gauge_is_missing() -> None:
    t, v = columns(30)
    keep = (t <= 10 * MIN) | (t >= 12 * MIN)
    made = gauges(t[keep], v[:, keep])
    assert missing(made) == ()
    assert [(d.from_ms, d.to_ms) for d in gaps(made)] == [(10 * MIN, 12 * MIN)]


def test_readings_in_bursts_with_minutes_between_are_no_gaps() -> None:
    t = np.unique(np.concatenate([np.arange(0, 100, 10) * 1000 + k * 300_000 for k in range(20)]))
    made = [cleaned(Gauge("A", t, 30 + np.arange(len(t)) * 0.01, AREA))]
    assert gaps(made) == ()


@pytest.mark.parametrize(("rows", "told"), [(1, 1), (2, 1), (3, 0), (6, 0)])
def test_one_or_two_values_off_are_a_spike_and_a_third_is_real(rows: int, told: int) -> None:
    t, v = columns(30, gain=1.0, from_min=10)
    v[1, 200:200 + rows] += 8.0
    found = spikes(gauges(t, v))
    assert len(found) == told
    assert all(d.tank == "Suction" and d.value == pytest.approx(8 * BBL, abs=0.8 * BBL) for d in found)


def test_spikes_near_each_other_are_counted_and_a_slow_sensor_has_none() -> None:
    t, v = columns(60)
    v[0, [100, 150, 190]] += 9.0
    (d,) = spikes(gauges(t, v))
    assert d.count == 3
    slow, w = columns(60, step_s=10)
    w[0, 100] += 9.0
    assert spikes(gauges(slow, w)) == ()


@pytest.mark.parametrize("gain", [0.0, 2.0])
def test_a_gauge_at_the_end_of_its_range(gain: float) -> None:
    t, v = columns(60, gain=gain)
    v[0] = np.minimum(v[0] + np.maximum(t / MIN - 20, 0) * 20, 380.0)
    (d,) = clipped(gauges(t, v))
    assert (d.tank, d.said, d.to_ms) == ("Settling", "at its top", None)


@pytest.mark.parametrize("gain", [0.0, 1.0])
def test_noise_that_doubles_is_told_a_block_later_and_a_gain_is_no_noise(gain: float) -> None:
    t, v = columns(180, gain=gain, from_min=60)
    v[2, t >= 120 * MIN] += np.random.default_rng(7).normal(0, 0.6, int((t >= 120 * MIN).sum()))
    (d,) = noisy(gauges(t, v))
    assert d.tank == "Reserve"
    assert 119 * MIN <= d.from_ms <= 121 * MIN
    assert d.known_ms <= 131 * MIN
    assert 2.0 < d.value < 5.0


def test_two_gauges_that_swing_against_each_other_are_told_and_a_transfer_is_not() -> None:
    t, v = columns(60)
    wave = 3.0 * np.sin(2 * np.pi * t / 23_000)
    v[0] += wave
    v[2] -= wave
    found = tilted(gauges(t, v))
    assert {(d.tank, d.other) for d in found} == {("Settling", "Reserve"), ("Reserve", "Settling")}
    t, v = columns(60, sd_bbl=0.2)
    moved = np.clip(t / MIN - 20, 0, 10) * 3
    v[0] -= moved
    v[2] += moved
    assert tilted(gauges(t, v)) == ()
    told = transfers(gauges(t, v))
    assert {(d.tank, d.other) for d in told} == {("Settling", "Reserve")}
    assert transfers(gauges(t, v), lambda tank, at: np.clip(at / MIN - 20, 0, 10) * 3 * BBL) == (), "it is logged"


def test_a_tank_that_goes_silent_at_connections_looks_isolated() -> None:
    t, v = columns(180)
    drained = np.zeros(len(t))
    marks = []
    for off in (20, 60, 100, 140):
        s = t / 1000 - off * 60
        drained += 18 * ((1 - np.exp(-np.maximum(s, 0) / 60)) - (1 - np.exp(-np.maximum(s - 600, 0) / 40)))
        marks += [off * MIN, (off + 10) * MIN]
    share = np.ones((3, len(t))) / 3
    cut = t >= 90 * MIN
    share[2, cut], share[0, cut], share[1, cut] = 0.0, 0.5, 0.5
    found = isolated(gauges(t, v + share * drained), marks)
    assert [(d.tank, d.from_ms, d.to_ms) for d in found] == [("Reserve", 100 * MIN, None)]
    assert isolated(gauges(t, v + drained / 3), marks) == ()


def test_a_step_faster_than_a_well_flows_and_neither_a_spike_nor_a_kick() -> None:
    t = np.arange(720) * 5000
    d = np.zeros(720)
    d[300:] = 20 * BBL
    (one,) = steps(t, d)
    assert (one.kind, one.value) == ("step", pytest.approx(20 * BBL))
    d[:] = 0
    d[300:302] = 20 * BBL
    assert steps(t, d) == ()
    assert steps(t, np.maximum(t / MIN - 10, 0) * 20 * BBL) == (), "20 bbl/min is a kick"


def test_a_slow_drift_beyond_its_rate_and_not_below_it_nor_across_a_zero() -> None:
    t = np.arange(0, 4 * 60) * MIN
    zero = np.zeros(len(t))
    u = np.full(len(t), 0.1)
    assert [d.kind for d in drifts(t, 5 * BBL * t / 3_600_000, u, zero)] == ["drift"]
    assert drifts(t, 5 * BBL * t / 3_600_000, u, zero)[0].value * 3600 == pytest.approx(5 * BBL, rel=0.02)
    assert drifts(t, 3 * BBL * t / 3_600_000, u, zero) == ()
    assert drifts(t, 5 * BBL * t / 3_600_000, u, np.arange(len(t))) == ()


def test_what_came_back_too_much_and_went_again_looks_like_breathing() -> None:
    t = np.arange(0, 3600, 5) * 1000
    d = np.zeros(len(t))
    connection = (600_000, 1_200_000, 6 * BBL)
    assert [x.kind for x in breathing([connection], t, d)] == ["breathing"]
    d[t > 1_200_000] = 5 * BBL
    assert breathing([connection], t, d) == (), "it stayed: no breathing"
    assert breathing([(600_000, 1_200_000, float("nan"))], t, np.zeros(len(t))) == ()


garbage = st.lists(st.floats(allow_nan=True, allow_infinity=True), max_size=80)


@settings(max_examples=60, deadline=None)
@given(garbage, garbage, st.lists(st.integers(-(2**55), 2**55) | st.integers(0, 9000), max_size=80), st.booleans())
def test_garbage_never_raises(one: list[float], other: list[float], times: list[int], even: bool) -> None:
    n = min(len(one), len(other), len(times))
    t = np.arange(n) * 1000 if even else np.array(times[:n], dtype=np.int64)
    with np.errstate(all="ignore"):
        made = [cleaned(Gauge("A", t, one[:n], AREA)), cleaned(Gauge("B", np.array(t, dtype=float), other[:n], float("nan")))]
        for find in EVERY:
            find(made)
        isolated(made, times[:5])
        steps(t, one[:n])
        drifts(t, one[:n], other[:n], np.zeros(n))
        breathing([(0, 1000, 5.0)], t, other[:n])
