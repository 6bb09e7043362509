"""A limit tried on a log's quiet hours. Histories are invented; counts by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from dipbook import tried
from dipbook.limits import Limit
from dipbook.observations import observe
from dipbook.records import Draft
from drift.drifting_logs import logged, noise, pumps, ramp, times
from ledgers import BBL, MIN, booked, dips, entry

Q = BBL / 60
"""1 bbl/min."""
INCH = 240 / 12 * 1728 / 9702
GAIN = Limit(name="try", kind="gain", on="active", activity="any", value=5 * BBL, value_is="volume", deadband=1 * BBL,
             growth=None, after_readings=1, after_ms=0, set_by="x", reason="x", since="x")
DRIFT = replace(GAIN, kind="drift", value=3 * BBL)


def rounds(levels: dict[float, float], hours: float = 24.0, *more: Draft) -> list[Draft]:
    """Rounds each half hour; at some hours the suction holds so much more [bbl]."""
    made = [dips(0, Settling=60, Suction=60), entry("zero", 0, length=0, reason="x")]
    made += [dips(30 * k, Settling=60, Suction=60 + levels.get(k / 2, 0.0) / INCH) for k in range(1, round(2 * hours) + 1)]
    return [*made, *more]


def test_false_warnings_are_those_that_the_watch_would_have_raised() -> None:
    books = booked(*rounds({3.0: 5.5, 7.0: 6.0, 7.5: 6.0, 12.0: 4.9}))
    made = tried.tried(books, GAIN, Q)
    assert made.warned == 2                     # 7.0 and 7.5 h are one
    assert made.quiet_h == pytest.approx(24.0)
    assert made.a_tour == pytest.approx(1.0)
    assert made.least < 1.0 < made.most


def test_a_gain_put_on_top_is_told_by_the_round_that_shows_it() -> None:
    made = tried.tried(booked(*rounds({})), GAIN, Q)
    # 5 bbl after 5 min; the round that shows it comes within half an hour.
    assert made.told == made.tries == 20
    assert 5.0 <= made.mean_m3 / BBL <= 30.0
    assert made.most_m3 / BBL <= 30.0 + 1e-6


def test_hours_before_a_well_that_was_doubted_are_not_quiet_until_the_next_zero() -> None:
    kick = {k / 2: 8.0 for k in range(20, 25)}
    shut = entry("shut-in", 615, state="shut in")
    books = booked(*rounds(kick, 24.0, shut, entry("zero", 750, length=0, reason="killed")))
    quiet = tried.quiet_rows(books, observe(books))
    t = books.readings.end_ms / MIN
    assert quiet[(t < 585)].all()
    assert not quiet[(t >= 585) & (t < 750)].any()
    assert quiet[t >= 750].all()
    assert tried.tried(books, GAIN, Q).warned == 0          # nor does the kick count as a false warning


def test_too_few_quiet_hours_tell_nothing() -> None:
    made = tried.tried(booked(*rounds({}, 5.0)), GAIN, Q)
    assert not made.enough
    assert made.warned == 0
    assert math.isnan(made.mean_m3)
    assert made.tries == 0


@pytest.mark.parametrize("kind", ["gain", "drift"])
def test_a_higher_limit_never_costs_more_nor_tells_earlier(kind: str) -> None:
    t = times(9, 10.0)
    books = logged(t, noise(t, 1.2) + ramp(t, 0, -0.5 / 60), *pumps([]), limit="")
    found = [tried.tried(books, replace(GAIN, kind=kind, value=v * BBL), Q) for v in (1.5, 3.0, 6.0)]
    assert found[0].warned > 0
    assert [f.warned for f in found] == sorted((f.warned for f in found), reverse=True)
    assert [f.mean_m3 for f in found] == sorted(f.mean_m3 for f in found)
    assert all(f.told == f.tries for f in found[1:])


def test_drift_tells_a_gain_behind_a_surface_loss_that_a_gain_limit_misses() -> None:
    t = times(12, 10.0)
    books = logged(t, noise(t, 0.3) + ramp(t, 0, -2.5 / 60), *pumps([]), limit="")
    gain, drift = (tried.tried(books, x, Q) for x in (GAIN, DRIFT))
    assert drift.told == drift.tries
    assert drift.mean_m3 < 4 * BBL
    assert gain.mean_m3 > 2 * drift.mean_m3 or gain.told < gain.tries
    follows = tried.tried(books, replace(DRIFT, times_noise=7.5), Q)
    assert follows.mean_m3 <= drift.mean_m3 + 1e-9


def test_losses_are_put_on_top_of_a_loss_limit() -> None:
    made = tried.tried(booked(*rounds({})), replace(GAIN, kind="loss"), Q)
    assert made.told == made.tries
    assert made.mean_m3 >= 5 * BBL


def test_level_limits_have_a_cost_and_no_catch() -> None:
    high = replace(GAIN, kind="high", on="Suction", value=61 * 0.0254, value_is="level", deadband=0.0)
    made = tried.tried(booked(*rounds({3.0: 2 * INCH})), high, Q)
    assert made.warned == 1
    assert made.tries == 0


def test_the_smallest_gain_is_of_the_gauging() -> None:
    made = tried.tried(booked(*rounds({})), GAIN, Q)
    u = 0.25 * INCH / math.sqrt(3)              # a quarter inch either way, evenly
    assert made.smallest_m3 / BBL == pytest.approx(2 * u * math.sqrt(4), rel=0.02)      # two tanks, two dips each


@pytest.mark.parametrize("count", [0, 1, 2, 7, 40])
def test_the_interval_of_a_count_is_that_of_scipy(count: int) -> None:
    from scipy.stats import chi2
    low, high = tried.poisson_95(count)
    assert low == pytest.approx(0.0 if not count else chi2.ppf(0.025, 2 * count) / 2, abs=1e-6)
    assert high == pytest.approx(chi2.ppf(0.975, 2 * count + 2) / 2, rel=1e-6)


def test_what_is_known_comes_piece_by_piece_and_ends_as_the_whole() -> None:
    books = booked(*rounds({3.0: 5.5}))
    pieces = list(tried.steps(books, GAIN, Q))
    assert pieces[0].warned == 0
    assert pieces[1].warned == 1
    assert [p.tries for p in pieces[2:]] == list(range(1, 21))
    whole = tried.tried(books, GAIN, Q)
    assert all(np.array_equal(getattr(whole, x), getattr(pieces[-1], x), equal_nan=True) for x in type(whole).__slots__
               if getattr(whole, x) is not None)
