"""One reading at a time, many at once, in pieces, from disk: the same sums; and what no history may do to them."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dipbook.drift import Row, State, follow, from_dict, interval_of, restarted, retuned, step, tuning_for

COLUMNS = Row.__slots__
INTERVALS = (1.0, 5.0, 10.0, 60.0, 900.0)
HOUR = 3_600_000


@st.composite
def histories(draw, garbage: bool = True):
    """(interval [s], times, differences, steady, off): noise, ramps, pump stops, gaps; with garbage, spikes, unknowns,
    infinities, repeated and backward times."""
    interval = draw(st.sampled_from(INTERVALS))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    t, u, steady, off = [], [], [], []
    now, level = draw(st.integers(-HOUR, HOUR)), 0.0
    for _ in range(draw(st.integers(1, 7))):
        n = draw(st.integers(1, 90))
        mode = draw(st.sampled_from(("steady", "steady", "settling", "off")))
        ramp = draw(st.sampled_from((0.0, 0.0, 0.003, -0.01)))
        now += draw(st.sampled_from((0, 0, 20_000, HOUR)))
        for _ in range(n):
            now += max(1, int(interval * 1000.0 * rng.uniform(0.5, 1.5)))
            level += ramp * interval + 0.001 * rng.normal()
            t.append(now)
            u.append(level + 0.05 * rng.normal())
            steady.append(mode == "steady")
            off.append(mode == "off")
    t, u = np.array(t), np.array(u)
    if garbage:
        for _ in range(draw(st.integers(0, 12))):
            i = draw(st.integers(0, len(t) - 1))
            what = draw(st.sampled_from(("nan", "inf", "spike", "two spikes", "step", "same time", "backward", "outage")))
            if what == "nan":
                u[i] = math.nan
            elif what == "inf":
                u[i] = draw(st.sampled_from((math.inf, -math.inf, 1e300, -1e7)))
            elif what in ("spike", "two spikes"):
                u[i:i + 1 + (what == "two spikes")] += draw(st.sampled_from((-30.0, 2.0, 4e5)))
            elif what == "step":
                u[i:] += draw(st.sampled_from((-5.0, 0.5, 12.0)))
            elif what == "same time":
                t[i] = t[max(0, i - 1)]
            elif what == "backward":
                t[i] -= draw(st.sampled_from((1, 7_000, HOUR)))
            else:
                u[i:i + draw(st.integers(2, 60))] = math.nan
    return interval, t, u, np.array(steady), np.array(off)


def stepped(tuning, t, u, steady, off, state=None):
    """All rows, one reading at a time, through JSON now and then."""
    state, rows = State() if state is None else state, []
    for i in range(len(t)):
        if i % 37 == 5:
            state = from_dict(json.loads(json.dumps(state.as_dict())))
        state, row = step(state, int(t[i]), float(u[i]), bool(steady[i]), tuning, off=bool(off[i]))
        rows.append(row)
    return state, rows


def same(row: Row, other: Row, size: float) -> None:
    for name in COLUMNS:
        a, b = getattr(row, name), getattr(other, name)
        assert a == pytest.approx(b, rel=1e-9, abs=1e-11 * size, nan_ok=True), name


@settings(max_examples=60, deadline=None)
@given(histories(), st.data())
def test_stream_is_batch_in_any_pieces(history, data):
    interval, t, u, steady, off = history
    tuning = tuning_for(interval)
    size = 1.0 + float(np.abs(u[np.isfinite(u)]).max(initial=0.0))
    whole = follow(t, u, steady, tuning, off=off)
    state, rows = stepped(tuning, t, u, steady, off)
    for i, row in enumerate(rows):
        # Where two clocks lead by the same, rounding says which: then the others are compared.
        here = whole.row(i)
        if row.gain_clock != here.gain_clock or row.loss_clock != here.loss_clock:
            assert row.worst_gain_m3 == pytest.approx(here.worst_gain_m3, abs=1e-11 * size)
            assert row.worst_loss_m3 == pytest.approx(here.worst_loss_m3, abs=1e-11 * size)
            continue
        if (row.low_ms, row.high_ms) != (here.low_ms, here.high_ms):
            # A low that is equalled to the last digit: either is the low.
            assert row.worst_gain_m3 == pytest.approx(here.worst_gain_m3, abs=1e-11 * size)
            continue
        same(row, here, size)
    cut = data.draw(st.integers(0, len(t)))
    first = follow(t[:cut], u[:cut], steady[:cut], tuning, off=off[:cut])
    kept = from_dict(json.loads(json.dumps(first.state.as_dict())))
    assert kept.as_dict() == first.state.as_dict()
    second = follow(t[cut:], u[cut:], steady[cut:], tuning, off=off[cut:], state=kept)
    for name in ("worst_gain_m3", "worst_loss_m3", "scale_m3", "learned_s", "spikes", "watching", "moved_ms", "held_s"):
        joined = np.concatenate((getattr(first, name), getattr(second, name))).astype(float)
        assert joined == pytest.approx(getattr(whole, name).astype(float), rel=1e-9, abs=1e-11 * size, nan_ok=True), name
    # A stream taken up from a batch's state, and the other way round.
    _, after = stepped(tuning, t[cut:], u[cut:], steady[cut:], off[cut:], kept)
    assert [r.worst_gain_m3 for r in after] == pytest.approx(whole.worst_gain_m3[cut:], rel=1e-9, abs=1e-11 * size, nan_ok=True)
    assert state.t_ms == whole.state.t_ms


def test_a_tour_with_learned_noise_is_the_same_either_way():
    rng, n = np.random.default_rng(6), 8640
    rows = np.arange(n)
    t, u = 5000 * rows, np.cumsum(0.003 * rng.normal(size=n)) + 0.1 * rng.normal(size=n)
    steady, off = rows % 700 > 90, rows % 700 < 30
    u[rng.integers(0, n, 40)] += rng.choice((-4.0, 4.0, math.nan), 40)
    tuning = tuning_for(5.0)
    made = follow(t, u, steady, tuning, off=off)
    _, stream = stepped(tuning, t, u, steady, off)
    assert made.learned_s[-1] == 7200.0
    for name in ("worst_gain_m3", "worst_loss_m3", "scale_m3", "learned_s", "spikes", "held_s"):
        assert [getattr(r, name) for r in stream] == pytest.approx(getattr(made, name), rel=1e-9, abs=1e-10, nan_ok=True), name


@settings(max_examples=40, deadline=None)
@given(histories())
def test_a_stream_resumed_from_disk_is_the_stream_byte_for_byte(history):
    interval, t, u, steady, off = history
    tuning = tuning_for(interval)
    straight = resumed = State()
    for i in range(len(t)):
        given_ = (int(t[i]), float(u[i]), bool(steady[i]), tuning)
        straight, row = step(straight, *given_, off=bool(off[i]))
        resumed, again = step(from_dict(json.loads(json.dumps(resumed.as_dict()))), *given_, off=bool(off[i]))
        assert repr(row) == repr(again)
        assert json.dumps(straight.as_dict()) == json.dumps(resumed.as_dict())


@settings(max_examples=40, deadline=None)
@given(histories(garbage=False), st.sampled_from((-500.0, -0.37, 12.0, 3000.0)))
def test_a_constant_changes_nothing(history, by):
    interval, t, u, steady, off = history
    made, moved = (follow(t, x, steady, tuning_for(interval), off=off) for x in (u, u + by))
    for name in ("worst_gain_m3", "worst_loss_m3", "scale_m3"):
        assert getattr(moved, name) == pytest.approx(getattr(made, name), abs=1e-9, nan_ok=True)


@settings(max_examples=40, deadline=None)
@given(histories())
def test_the_other_sign_swaps_gain_and_loss(history):
    interval, t, u, steady, off = history
    tuning = tuning_for(interval)
    even = replace(tuning, clocks=tuple(replace(c, loss_allowance_m3_s=c.gain_allowance_m3_s) for c in tuning.clocks))
    made, turned = (follow(t, x, steady, even, off=off) for x in (u, -u))
    for name, other in (("worst_gain_m3", "worst_loss_m3"), ("worst_loss_m3", "worst_gain_m3"), ("low_ms", "high_ms"),
                        ("scale_m3", "scale_m3"), ("spikes", "spikes")):
        assert getattr(turned, other) == pytest.approx(getattr(made, name), rel=1e-12, abs=1e-12, nan_ok=True)


@settings(max_examples=60, deadline=None)
@given(histories(garbage=False), st.data())
def test_more_influx_never_lowers_a_gain(history, data):
    """For the same noise, without the rule on spikes and what is learned; so it never comes later either."""
    interval, t, u, steady, off = history
    tuning = replace(tuning_for(interval), learning=None, spike_m3=math.inf)
    begin = data.draw(st.integers(0, len(t) - 1))
    more = np.zeros(len(t))
    more[begin:] = np.cumsum(np.abs(np.random.default_rng(data.draw(st.integers(0, 99))).normal(0.0, 0.02, len(t) - begin)))
    before, after = (follow(t, x, steady, tuning, off=off) for x in (u, u + more))
    known = np.isfinite(before.worst_gain_m3)
    assert (np.isfinite(after.worst_gain_m3) == known).all()
    assert (after.worst_gain_m3[known] >= before.worst_gain_m3[known] - 1e-9).all()
    assert (after.gain_m3[:, known] >= before.gain_m3[:, known] - 1e-9).all()
    assert (after.worst_loss_m3[known] <= before.worst_loss_m3[known] + 1e-9).all()


@settings(max_examples=80, deadline=None)
@given(histories())
def test_garbage_neither_raises_nor_quietens_what_comes_after(history):
    """A gain of 5 m3 in ten minutes of good readings shows, whatever came before."""
    interval, t, u, steady, off = history
    tuning, n = tuning_for(interval), int(max(8, 1200 / interval))
    begin = int(t.max()) + int(1000 * interval)
    fresh = begin + (1000 * interval * np.arange(2 * n)).astype(np.int64)
    volumes = u[np.abs(u) <= 9e5]
    level = float(volumes[-1]) if len(volumes) else 0.0
    rise = level + 5.0 * np.clip((np.arange(2 * n) - n) / (0.5 * n), 0.0, 1.0)
    on = np.concatenate((steady, np.ones(2 * n, dtype=bool)))
    made = follow(np.concatenate((t, fresh)), np.concatenate((u, rise)), on, tuning,
                  off=np.concatenate((off, np.zeros(2 * n, dtype=bool))))
    # What is let pass in that time, and the lag of the steady clock, is all that it may lack.
    allowed = tuning.clocks[tuning.judged_by].gain_allowance_m3_s * n * interval
    assert made.worst_gain_m3[-1] >= 5.0 - allowed - 0.05
    assert np.isfinite(made.worst_gain_m3[-1])
    assert made.watching[-1]


@pytest.mark.parametrize("interval", INTERVALS)
def test_what_comes_while_nothing_is_known_shows_when_it_is_again(interval):
    """Held, not taken as zero; the difference across the outage counts."""
    tuning, n = tuning_for(interval), 400
    t = (1000 * interval * np.arange(n)).astype(np.int64)
    u = np.where(np.arange(n) < 200, 3.0, 8.0)
    u[180:240] = math.nan
    made = follow(t, u, np.ones(n, dtype=bool), tuning)
    assert (made.worst_gain_m3[180:240] == made.worst_gain_m3[179]).all()
    assert not made.watching[180:240].any()
    assert made.held_s[239] == pytest.approx(60 * interval)
    let_pass = tuning.clocks[tuning.judged_by].gain_allowance_m3_s * interval * 130
    assert made.worst_gain_m3[240:310].max() >= 5.0 - let_pass


def test_a_connection_holds_and_the_step_across_it_counts():
    tuning, n = tuning_for(5.0), 720
    t, rows = 5000 * np.arange(n), np.arange(n)
    off = (rows >= 240) & (rows < 300)
    steady = (rows < 240) | (rows >= 360)
    back = np.where(off, 3.0, 0.0)
    gained = np.where(rows >= 270, 0.8, 0.0)
    quiet = follow(t, back, steady, tuning, off=off)
    assert np.nanmax(quiet.worst_gain_m3) == 0.0
    kicked = follow(t, back + gained, steady, tuning, off=off)
    assert (kicked.worst_gain_m3[240:372] == 0.0).all()
    assert not kicked.watching[240:372].any()
    let_pass = tuning.clocks[1].gain_allowance_m3_s * 5.0 * 140
    # Half of H is the slow clock's limit, so its sum counts twice.
    assert kicked.worst_gain_m3[373] == pytest.approx(2.0 * (0.8 - let_pass), rel=0.05)
    assert kicked.low_ms[373] == 5000 * 239


def test_pumps_long_off_are_watched_on_their_own_level():
    """A flow check: what rises while the pumps are off shows then, and isn't lost when they run again."""
    tuning, n = tuning_for(5.0), 1400
    rows = np.arange(n)
    off = (rows >= 240) & (rows < 900)
    steady = (rows < 240) | (rows >= 960)
    u = np.where(off, 3.0, 0.0) + np.clip((rows - 500) / 300.0, 0.0, 1.0) * 1.5
    made = follow(5000 * rows, u, steady, tuning, off=off)
    assert np.nanmax(made.worst_gain_m3[:490]) == 0.0
    assert made.worst_gain_m3[880] > 1.2
    assert made.worst_gain_m3[960:].min() > 1.0
    assert not follow(5000 * rows, u, steady, tuning).worst_gain_m3[880]


def test_a_lone_jump_is_left_out_and_one_that_stays_counts_from_its_first_reading():
    tuning, n = tuning_for(1.0), 600
    rng = np.random.default_rng(1)
    u = 0.01 * rng.normal(size=n)
    quiet = follow(1000 * np.arange(n), u, np.ones(n, dtype=bool), tuning)
    for width in (1, 2):
        spiked = u.copy()
        spiked[300:300 + width] += 5.0
        made = follow(1000 * np.arange(n), spiked, np.ones(n, dtype=bool), tuning)
        assert np.nanmax(made.worst_gain_m3) < np.nanmax(quiet.worst_gain_m3) + 0.02
        assert made.spikes[-1] == width
    stays = u.copy()
    stays[300:] += 5.0
    made = follow(1000 * np.arange(n), stays, np.ones(n, dtype=bool), tuning)
    assert made.spikes[-1] == 0
    assert made.worst_gain_m3[301] < 0.1 < 1.0 < made.worst_gain_m3[302]
    plain = follow(1000 * np.arange(n), stays, np.ones(n, dtype=bool), replace(tuning, spike_m3=math.inf))
    assert made.worst_gain_m3[302:] == pytest.approx(plain.worst_gain_m3[302:])


def test_noise_is_learned_of_drift_spikes_and_holds_alike():
    rng, n = np.random.default_rng(2), 12 * 720
    rows = np.arange(n)
    steady = rows % 500 > 60
    u = 0.1 * rng.normal(size=n) + 0.0001 * rows
    u[rng.integers(0, n, n // 500)] += 3.0
    made = follow(5000 * rows, u, steady, tuning_for(5.0))
    a = -math.expm1(-5.0 / 30.0)
    assert made.scale_m3[-1] == pytest.approx(0.1 * math.sqrt(a / (2.0 - a)), rel=0.2)
    first = int(np.flatnonzero(np.isfinite(made.scale_m3))[0])
    assert made.learned_s[first] == pytest.approx(3600.0, abs=15.0)
    assert (made.learned_s[:first] < 3600.0).all()


def test_a_gain_does_not_teach_that_it_is_noise():
    """Two bbl/min for a quarter of an hour: the scale that judges it is the one from before."""
    rng, n = np.random.default_rng(3), 4 * 720
    u = 0.05 * rng.normal(size=n)
    kicked = u.copy()
    kicked[-180:] += 0.0053 * 5.0 * np.arange(180)
    scales = [follow(5000 * np.arange(n), x, np.ones(n, dtype=bool), tuning_for(5.0)).scale_m3[-1] for x in (u, kicked)]
    assert scales[0] == scales[1]


def test_after_a_zero_the_sums_begin_anew_and_the_noise_is_kept():
    rng, n = np.random.default_rng(3), 3 * 720
    t, on = 5000 * np.arange(n), np.ones(n, dtype=bool)
    made = follow(t, 0.05 * rng.normal(size=n) + np.where(np.arange(n) > n - 60, 3.0, 0.0), on, tuning_for(5.0))
    assert made.worst_gain_m3[-1] > 2.0
    after = follow(t + 5000 * n, 0.05 * rng.normal(size=n) - 40.0, on, tuning_for(5.0), state=restarted(made.state))
    assert np.nanmax(after.worst_gain_m3) < 0.5
    assert np.nanmax(after.worst_loss_m3) < 0.5
    assert after.scale_m3[20] == made.scale_m3[-1]
    assert np.isnan(after.worst_gain_m3[0])


def test_dips_by_hand_learn_no_noise_and_hold_nothing_back():
    t = 900_000 * np.arange(20)
    u = np.where(np.arange(20) < 12, 0.0, 1.0)
    made = follow(t, u, np.ones(20, dtype=bool), tuning_for(900.0))
    assert np.isnan(made.scale_m3).all()
    assert (made.learned_s == 0.0).all()
    assert made.worst_gain_m3[11] == 0.0
    assert made.worst_gain_m3[12] == pytest.approx(1.0 - 0.158987294928 * 3.0 / 4.0)


def test_dips_go_on_where_a_sensor_failed_and_the_other_way_round():
    """1 m3 seen by the sensor and 2 more while dipped by hand: the sums say 3 less what is let pass, and so on back."""
    rng, n = np.random.default_rng(3), 2 * 720
    sensor, hand = tuning_for(5.0), tuning_for(900.0)
    u = 0.03 * rng.normal(size=n) + np.where(np.arange(n) > n - 300, 1.0, 0.0)
    first = follow(5000 * np.arange(n), u, np.ones(n, dtype=bool), sensor)
    assert 0.6 < first.gain_m3[1, -1] < 1.05
    with pytest.raises(ValueError, match="see retuned"):
        follow([10**8], [1.0], [True], hand, state=first.state)
    with pytest.raises(ValueError, match="see retuned"):
        step(first.state, 10**8, 1.0, True, hand)
    state = retuned(first.state, sensor, hand)
    t = 5000 * n + 900_000 * np.arange(1, 9)
    dips = follow(t, np.linspace(1.0, 3.0, 8), np.ones(8, dtype=bool), hand, state=state)
    let_pass = sensor.clocks[1].gain_allowance_m3_s * 2.0 * 3600.0
    assert dips.worst_gain_m3[-1] == pytest.approx(first.gain_m3[1, -1] + 2.0 - let_pass, abs=0.05)
    assert np.isnan(dips.scale_m3[-1])
    back = retuned(dips.state, hand, sensor)
    after = follow(int(t[-1]) + 5000 * np.arange(1, 50), np.full(49, 3.0), np.ones(49, dtype=bool), sensor, state=back)
    assert after.gain_m3[1, -1] == pytest.approx(dips.worst_gain_m3[-1], abs=0.04)
    # The same kind of readings at another interval keeps the noise.
    assert first.scale_m3[-1] == retuned(first.state, sensor, tuning_for(1.0)).scale_m3


def test_the_usual_interval():
    assert interval_of([0, 1000, 2000, 3000, 90_000, 91_000]) == 1.0
    assert interval_of([0, 900_000, 900_000, 1_700_000]) == 850.0
    assert math.isnan(interval_of([5]))


def test_columns_of_unequal_lengths_are_refused():
    with pytest.raises(ValueError, match="same length"):
        follow([0, 1000], [0.0, 0.0], [True], tuning_for(1.0))
    with pytest.raises(ValueError, match="positive"):
        tuning_for(0.0)


def test_nothing_in_nothing_out():
    made = follow([], [], [], tuning_for(1.0))
    assert len(made.worst_gain_m3) == 0
    assert made.state == State()


@pytest.mark.slow
def test_thirty_days_at_one_second_stay_as_small_as_an_hour():
    """By blocks of an hour with the state carried on, and then by steps: the state's size on disk doesn't grow."""
    tuning, state, rng, n = tuning_for(1.0), State(), np.random.default_rng(4), 3600
    sizes = []
    for hour in range(720):
        t = 1000 * (np.arange(n) + hour * n)
        made = follow(t, 0.05 * rng.normal(size=n) - 1e-5 * t / 1000.0, np.arange(n) % 1800 > 300, tuning, state=state,
                      off=np.arange(n) % 1800 < 100)
        state = made.state
        sizes.append(len(json.dumps(state.as_dict())))
    assert max(sizes[24:]) < 1.1 * max(sizes[4:24])
    assert np.nanmax(made.worst_gain_m3) < 2.0
    begin = int(state.t_ms or 0)
    for i in range(50_000):
        state, _ = step(state, begin + 1000 * (i + 1), 0.05 * rng.normal(), i % 1800 > 300, tuning, off=i % 1800 < 100)
    assert len(json.dumps(state.as_dict())) < 1.1 * max(sizes)
