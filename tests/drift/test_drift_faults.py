"""Faults of gauges on the bench's simulated floor, each with a gain of a bbl a minute from an hour and a half on."""

from __future__ import annotations

import math

import numpy as np
import pytest

from bench.detection import levels, world
from bench.detection.world import Floor
from dipbook.drift import expected_false_per_tour, follow, tuning_for
from dipbook.quantities import from_unit

BBL = from_unit(1.0, "bbl")
H, ONSET_S = 2.7 * BBL, 5400.0


def alarm(run: world.Run, read, dt: float) -> tuple[bool, float]:
    """(any alarm before the gain, seconds from its beginning to the alarm)."""
    made = follow(np.round(run.t_s * 1000.0).astype(np.int64), read * BBL, run.steady, tuning_for(dt))
    over = np.nan_to_num(made.worst_gain_m3) >= H
    rows = np.flatnonzero(over & (run.t_s >= ONSET_S))
    return bool(over[run.t_s < ONSET_S].any()), float(run.t_s[rows[0]] - ONSET_S) if len(rows) else math.inf


def kicked(dt: float, replicate: int) -> world.Run:
    return world.run(Floor(dt_s=dt), 40, replicate, 2.2, kind="drilling", q=1.0, onset_s=ONSET_S)


@pytest.mark.parametrize("dt", [1.0, 5.0])
@pytest.mark.parametrize("replicate", range(6))
def test_lone_spikes_alarm_nothing_and_delay_nothing(dt, replicate):
    """One reading in 500 jumps by 12 to 40 bbl, up or down. Within eight sd of the steps, here 7 to 9 bbl, nothing is left
    out: such a jump may warn."""
    run = kicked(dt, replicate)
    rng, n = np.random.default_rng(replicate), len(run.t_s)
    at = np.arange(100, n - 5, 7)[rng.permutation((n - 105) // 7)[:n // 500]]
    spiked = run.read.copy()
    spiked[at] += rng.choice((-1.0, 1.0), len(at)) * rng.uniform(12.0, 40.0, len(at))
    clean, found = alarm(run, run.read, dt), alarm(run, spiked, dt)
    assert found[0] == clean[0]
    assert found[1] == pytest.approx(clean[1], abs=20.0)


@pytest.mark.parametrize("dt", [1.0, 5.0, 60.0])
@pytest.mark.parametrize("lost_s", [40.0, 300.0, 600.0])
def test_what_is_gained_while_nothing_is_read_shows_on_return(dt, lost_s):
    """Nothing read from the beginning of the gain on: at the latest two minutes after the return what came meanwhile is
    told, if that is more than the limit."""
    run = kicked(dt, 1)
    read = run.read.copy()
    read[(run.t_s >= ONSET_S) & (run.t_s < ONSET_S + lost_s)] = math.nan
    before, delay = alarm(run, read, dt)
    assert not before
    assert delay <= max(lost_s + 120.0, 240.0)


@pytest.mark.parametrize("replicate", range(4))
def test_a_float_that_sticks_makes_a_gain_late_by_its_share_and_no_more(replicate):
    """One of three tanks reads the same from before the gain on: two thirds of it show, so it comes late, but comes."""
    run = kicked(5.0, replicate)
    seen = run.read - run.well / 3.0
    clean, found = alarm(run, run.read, 5.0), alarm(run, seen, 5.0)
    assert clean[1] - 5.0 <= found[1] <= 2.0 * clean[1] + 30.0


def test_a_gain_that_grows_under_foam_is_still_a_gain():
    """The noise doubles with the gain: what was learned before judges it."""
    run = world.run(Floor(), 41, 0, 4.5, kind="drilling", q=1.0, onset_s=4.0 * 3600.0)
    later = run.t_s >= 4.0 * 3600.0
    noise = run.read - run.base - run.true
    read = run.read + np.where(later, noise, 0.0)
    t = np.round(run.t_s * 1000.0).astype(np.int64)
    quiet, foam = (follow(t, x * BBL, run.steady, tuning_for(5.0)) for x in (run.read, read))
    assert foam.scale_m3[-1] == pytest.approx(quiet.scale_m3[-1], rel=0.25)
    rows = [np.flatnonzero((m.worst_gain_m3 >= H) & later)[0] for m in (quiet, foam)]
    assert rows[1] <= rows[0] + 12


@pytest.mark.parametrize("dt", [5.0, 60.0])
def test_false_warnings_come_as_often_as_is_expected(dt):
    """Eight quiet histories in noise of 20 s, limits so low that there is much to count: else constants were changed and
    ``drift.levels`` wasn't made anew."""
    ran = [levels.quiet((Floor(dt_s=dt), 950, i)) for i in range(8)]
    hours = sum(h for h, _ in ran)
    for c in (3.5, 4.5):
        for loss in (False, True):
            told = sum(counts[levels.C.index(c)][loss] for _, counts in ran) / hours * 12.0
            expected = expected_false_per_tour(c, 1.0, tuning_for(dt), loss=loss)
            assert 0.5 * expected.usual < told < 1.3 * expected.worst
