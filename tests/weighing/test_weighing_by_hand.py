"""A limit weighed on histories counted by hand. Invented; the Poisson interval is held against scipy."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import chi2

from dipbook import watch
from dipbook.books import Books, build
from dipbook.limits import Limit
from dipbook.observations import observe
from dipbook.records import WARNING, Draft, numbered
from dipbook.weighing import poisson_interval, quiet_rows, weigh
from dipbook.weighing.quiet import left_out
from drift.drifting_logs import logged, noise, times
from ledgers import BBL, MIN, RIG, booked, dips, entry

A_MINUTE = BBL / 60
FLAT = 100.0
IN_BBL = 30 * 8 / 12 * 0.17810760667903525     # a box of 30 x 8 ft, an inch of it


def limit(kind: str = "gain", value: float = 5.0, **other: object) -> Limit:
    base = Limit("weighed", kind, "active", "any", value * BBL, "volume", min(1.0, value / 2) * BBL, None, 1, 0, "A. Sample",
                 "invented", "2026-01-05")
    return replace(base, **other)  # type: ignore[arg-type]


def rounds(hours: int, *more: object, up: dict[int, float] | None = None) -> Books:
    """Rounds each 15 min; up: minute -> inches more in Suction."""
    return booked(entry("zero", 1, reason="begun"), *(
        dips(m, Settling=FLAT, Suction=FLAT + (up or {}).get(m, 0.0)) for m in range(0, hours * 60 + 1, 15)), *more)  # type: ignore[arg-type]


@pytest.mark.parametrize("count", [0, 1, 2, 7, 40, 300])
def test_the_interval_of_a_count_is_garwoods(count: int) -> None:
    low, high = poisson_interval(count)
    assert low == pytest.approx(chi2.ppf(0.025, 2 * count) / 2 if count else 0.0, rel=1e-9)
    assert high == pytest.approx(chi2.ppf(0.975, 2 * count + 2) / 2, rel=1e-9)
    with pytest.raises(ValueError, match="below"):
        poisson_interval(-1)


def test_nothing_moves_and_nothing_is_told() -> None:
    made = weigh(rounds(24), limit(), (A_MINUTE,))
    assert made.quiet.hours == pytest.approx(24, abs=0.26)
    assert made.cost is not None
    assert (made.cost.warnings, made.cost.least) == (0, 0.0)
    assert made.cost.most == pytest.approx(3.688879 * 12 / made.quiet.hours, rel=1e-5)   # -ln 0.025, two-sided 95 %
    (one,) = made.caught
    assert (one.tries, one.missed, one.standing) == (20, 0, 0)
    # Passed 5 min after the moment, told at the next round: within 5 and 5 + 15 bbl.
    assert 5.0 <= one.mean_m3 / BBL <= one.worst_m3 / BBL < 20.0


def test_excursions_of_two_inches_warn_a_limit_below_them_and_no_other() -> None:
    up = {300: 2.0, 600: 2.0, 615: 2.0, 900: 2.0}
    books = rounds(24, up=up)
    low, high = weigh(books, limit(value=5.0)), weigh(books, limit(value=9.0))
    assert pytest.approx(7.12, abs=0.01) == 2 * IN_BBL
    assert low.cost is not None
    assert high.cost is not None
    assert (low.cost.warnings, high.cost.warnings) == (3, 0)     # two rounds in a row are one warning
    assert low.cost.a_tour == pytest.approx(3 * 12 / low.quiet.hours)


def test_too_few_hours_give_no_figures() -> None:
    made = weigh(rounds(5), limit(), (A_MINUTE,))
    assert (made.cost, made.caught, made.needed_h) == (None, (), 6.0)
    assert np.isnan(made.smallest_m3)


@pytest.mark.parametrize(("kind", "fields", "out"), [
    ("shut-in", {"state": "shut in"}, True), ("shut-in", {"state": "opened"}, False),
    ("flow check", {"result": "flowing"}, True), ("flow check", {"result": "static"}, False)])
def test_a_kick_is_not_quiet_from_half_an_hour_before_until_the_next_zero(kind: str, fields: dict[str, str],
                                                                        out: bool) -> None:
    books = rounds(24, entry(kind, 600, **fields), entry("zero", 720, reason="killed"), up=dict.fromkeys((570, 585, 600), 3.0))
    evidence = observe(books)
    rows, quiet = quiet_rows(books, evidence, "active")
    gone = evidence.t_ms[~rows & (evidence.t_ms > 2 * MIN)] / MIN
    assert quiet.events == int(out)
    assert gone.tolist() == (list(range(570, 720, 15)) if out else [])
    made = weigh(books, limit())
    assert made.cost is not None
    assert made.cost.warnings == (0 if out else 1)


def test_every_hour_that_is_not_quiet_has_its_reason_once() -> None:
    gap = Draft("not watched", 300 * MIN, 400 * MIN, payload={"from_ms": 300 * MIN, "to_ms": 400 * MIN, "cause": "closed"})
    books = rounds(24, gap, entry("shut-in", 600, state="shut in"), dips(1620, Settling=FLAT, Suction=FLAT))
    _, quiet = quiet_rows(books, observe(books), "active")
    # By hand: the reading at 0 is before the zero; 300 to 405 nobody watched; from 555 on, the reading before the half
    # hour before the shut-in, nothing is quiet, since nobody has given a zero.
    assert quiet.ruled_out == {"event": pytest.approx((1620 - 555) / 60), "unwatched": pytest.approx(105 / 60),
                               "unknown": pytest.approx(0.25)}
    assert (quiet.events, quiet.unended) == (1, 1)
    assert quiet.hours + sum(quiet.ruled_out.values()) == pytest.approx(27)
    apart = rounds(3, dips(300, Settling=FLAT, Suction=FLAT))
    _, quiet = quiet_rows(apart, observe(apart), "active")
    assert quiet.ruled_out["apart"] == pytest.approx(2)


def test_without_a_zero_since_nothing_after_an_event_is_quiet() -> None:
    books = rounds(24, entry("shut-in", 600, state="shut in"))
    _, quiet = quiet_rows(books, observe(books), "active")
    assert quiet.spans[-1][1] / MIN == 555


def test_hours_that_nobody_watched_are_no_quiet_hours() -> None:
    gap = Draft("not watched", 600 * MIN, 640 * MIN, payload={"from_ms": 600 * MIN, "to_ms": 640 * MIN, "cause": "closed"})
    books = rounds(24, gap)
    _, quiet = quiet_rows(books, observe(books), "active")
    ends = [(a / MIN, b / MIN) for a, b in quiet.spans]
    assert [b for _, b in ends[:-1]] == [600]
    assert ends[-1] == (645, 1440)


def test_the_smallest_gain_is_two_standard_uncertainties_of_a_change() -> None:
    # Two tanks, a quarter inch either way each, evenly likely: u = 1/4 in / sqrt 3 a dip, four dips in a change.
    made = weigh(rounds(12), limit())
    assert made.smallest_m3 / BBL == pytest.approx(2 * np.sqrt(4) * 0.25 * IN_BBL / np.sqrt(3), rel=0.02)


def test_drift_tells_a_gain_of_gauges_within_minutes_and_a_loss_limit_its_loss() -> None:
    t = times(9, 10.0)
    books = logged(t, noise(t))
    made = weigh(books, limit("drift", 3.0), (A_MINUTE,))
    (one,) = made.caught
    assert made.cost is not None
    assert made.cost.warnings == 0
    assert one.missed == one.standing == 0
    assert 1.0 < one.mean_m3 / BBL <= one.worst_m3 / BBL < 6.0
    (lost,) = weigh(books, limit("loss", 5.0), (A_MINUTE,)).caught
    assert lost.rate_m3_s < 0
    assert 3.0 < lost.mean_m3 / BBL < 6.5


@settings(max_examples=10, deadline=None)
@given(seed=st.integers(0, 1000), low=st.floats(1.0, 6.0), more=st.floats(0.1, 6.0), kind=st.sampled_from(["gain", "loss"]))
def test_a_higher_limit_never_costs_more(seed: int, low: float, more: float, kind: str) -> None:
    # Lone excursions among still rounds: each is a warning of every limit below it.
    inches = np.random.Generator(np.random.PCG64(seed)).normal(0.0, 2.0, 60)
    books = rounds(14, up={30 * k: float(x) for k, x in enumerate(inches) if k})
    costs = [weigh(books, limit(kind, v)).cost for v in (low, low + more)]
    assert costs[0] is not None
    assert costs[1] is not None
    assert costs[0].warnings >= costs[1].warnings
    sign = 1 if kind == "gain" else -1
    assert costs[0].warnings == sum(sign * x * IN_BBL >= low - 1e-9 for k, x in enumerate(inches) if 0 < 30 * k <= 840)


@settings(max_examples=8, deadline=None)
@given(seed=st.integers(0, 1000), low=st.floats(1.5, 3.0), more=st.floats(0.1, 2.0), kind=st.sampled_from(["gain", "loss"]))
def test_a_higher_limit_never_tells_earlier(seed: int, low: float, more: float, kind: str) -> None:
    inches = np.random.Generator(np.random.PCG64(seed)).normal(0.0, 0.1, 60)
    books = rounds(14, up={15 * k: float(x) for k, x in enumerate(inches) if k})
    (a,), (b,) = (weigh(books, limit(kind, v), (A_MINUTE,)).caught for v in (low, low + more))
    assert (a.standing, b.standing, a.tries, b.tries, a.within_m3) == (0, 0, 20, 20, b.within_m3)
    assert b.missed >= a.missed
    assert b.mean_m3 >= a.mean_m3 - 1e-9
    assert b.worst_m3 >= a.worst_m3 - 1e-9


def test_hours_about_a_warning_that_was_raised_are_left_out() -> None:
    standing = replace(limit(value=5.0), name="gain")
    books = rounds(24, up={600: 3.0})
    told = next(w for w in watch.run((standing,), observe(books))[1] if w.state == "raised")
    warned = build(numbered([*books.records, Draft("warning", told.time, told.learned, payload=told.payload())]))
    evidence = observe(warned)
    rows, quiet = quiet_rows(warned, evidence, "active")
    assert (quiet.events, quiet.spans[-1][1] / MIN) == (1, 555)
    assert not rows[evidence.t_ms >= 570 * MIN].any()


def test_nothing_is_proposed_or_kept() -> None:
    books = rounds(24)
    before, rig = (dict(books.worked_out), dict(books.kept)), books.rig
    first = weigh(books, limit("drift", 3.0), (A_MINUTE,))
    assert (books.worked_out, books.kept) == before
    assert books.rig is rig
    assert weigh(build(books.records), limit("drift", 3.0), (A_MINUTE,)) == first
    assert not any("propose" in name or "suggest" in name for name in dir(first))
    with pytest.raises(ValueError, match="overdue"):
        weigh(books, limit("overdue"))


def test_a_zero_alone_makes_no_quiet_while_the_warning_before_it_is_not_closed() -> None:
    drafts = [dips(0, Settling=60, Suction=60), entry("zero", 0, length=0, reason="x"),
              *(dips(30 * k, Settling=60, Suction=60 + (3.0 if k >= 4 else 0.0)) for k in range(1, 12)),
              entry("zero", 125, length=0, reason="too soon")]
    limit = RIG + """
[[limit]]
name = "gain"
kind = "gain"
on = "active"
value = "5 bbl"
deadband = "1 bbl"
set_by = "x"
reason = "x"
since = "x"
"""
    books = booked(*drafts, rig=limit)
    told = watch.run(books.rig.limits, observe(books), 1)[1]
    journal = [Draft(WARNING, w.time, w.learned, author="x", payload=w.payload()) for w in told]
    kept = booked(*drafts, *journal, rig=limit)
    assert left_out(kept) == ((90 * MIN, None),)
