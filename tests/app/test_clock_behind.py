"""A computer's clock that is set back behind what the log holds: no round is filed before an earlier one, no gain goes unseen.

The peer is the same watch with a clock that nobody touched. Invented; no source.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from app.real_desks import GAIN, MIN, NOW, OVERDUE, Bench, Hands, bench, make_log, rig_text
from dipbook_app.clock import CAUGHT_UP_MS, TOLERATED_MS, Clock

HOUR_S = 3600
pytestmark = pytest.mark.usefixtures("qapp")


@pytest.fixture
def hands() -> Hands:
    return Hands()


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return make_log(tmp_path / "a.dipbook", rig_text(GAIN, OVERDUE), NOW - MIN)


def set_clock(b: Bench, seconds: float) -> None:
    b.hands.wall += seconds
    b.desk.tick()


def gauge(b: Bench, suction: float = 60.0) -> bool:
    """A round now, as the round's form gives it: by the desk's clock."""
    return b.round(suction, t_ms=b.desk.now_ms())


def times(b: Bench) -> list[int]:
    return [r.t_ms for r in b.situation.records if r.kind == "round"]


def test_a_gain_after_the_clock_was_set_back_is_told_and_overdue_comes_in_time(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        gauge(b)
        b.pass_(10)
        set_clock(b, -HOUR_S)
        assert b.desk.now_ms() == NOW + 10 * MIN
        assert b.situation.clock_text == (
            "This computer's clock (01:25) was set back behind what the log holds. Dipbook goes on by its own count, now 02:25, so that no "
            "round is filed before an earlier one: its times are 1 h ahead of this computer's. Set the computer's clock right. If it is "
            "right now, correct the times of the rounds and entries that were given too late. Watch by hand meanwhile.")
        b.pass_(5)
        assert gauge(b, 62)
        assert times(b) == [NOW, NOW + 15 * MIN]
        assert b.states() == {"gain": "raised"}
        b.pass_(36)
        assert b.states() == {"gain": "raised", "overdue": "raised"}
        assert next(w.raised_ms for w in b.warnings if w.name == "overdue") == NOW + 50 * MIN
        b.settle()
        gap = [r.payload for r in b.situation.records if r.kind == "not watched"][-1]
        assert (gap["from_ms"], gap["to_ms"]) == (NOW + 10 * MIN, NOW + 10 * MIN)
        assert gap["cause"] == "the computer's clock was set back, or right again; the watch went on by its own count"
        assert not b.failed


def test_set_right_again_it_is_over_and_times_are_the_computers(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        gauge(b)
        b.pass_(10)
        set_clock(b, -HOUR_S)
        b.pass_(20)
        set_clock(b, HOUR_S + 3)
        assert b.situation.clock_text == ""
        assert b.desk.now_ms() == hands.ms == NOW + 30 * MIN + 3_000
        b.pass_(1)
        assert gauge(b, 62)
        assert b.states() == {"gain": "raised"}


def test_set_forward_by_mistake_and_back_it_loses_no_gain_and_makes_none(path: Path, hands: Hands) -> None:
    """What was gauged meanwhile stands an hour late. The clock is right now, and the log ahead of it."""
    with bench(path, hands) as b:
        gauge(b)
        b.pass_(5)
        set_clock(b, HOUR_S)
        b.pass_(5)
        assert gauge(b)
        b.pass_(5)
        set_clock(b, -HOUR_S)
        assert "its times are 1 h ahead" in b.situation.clock_text
        b.pass_(5)
        assert gauge(b)
        assert not b.warnings
        b.pass_(5)
        assert gauge(b, 62)
        assert times(b) == sorted(times(b))
        assert b.states() == {"gain": "raised"}


def test_a_computer_that_sleeps_while_its_clock_is_behind_is_a_gap_and_not_a_clock_set_right(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        gauge(b)
        b.pass_(10)
        set_clock(b, -HOUR_S)
        b.pass_(10)
        set_clock(b, 30 * 60)           # it slept for half an hour: its steady clock stood
        assert b.desk.now_ms() == NOW + 50 * MIN
        assert "its times are 1 h ahead" in b.situation.clock_text
        b.settle()
        assert [(r.payload["from_ms"], r.payload["to_ms"]) for r in b.situation.records if r.kind == "not watched"][-1] == (
            NOW + 20 * MIN, NOW + 50 * MIN)


def test_opened_again_it_goes_on_from_the_newest_and_says_so(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        gauge(b)
        b.pass_(10)
    later = Hands(NOW + 10 * MIN - HOUR_S * 1000)
    with bench(path, later) as b:
        assert b.desk.now_ms() == NOW + 10 * MIN, "when the log was closed"
        assert "How long the log was closed before isn't known." in b.situation.clock_text
        b.pass_(5)
        assert gauge(b, 62)
        assert times(b) == [NOW, NOW + 15 * MIN]
        assert b.states() == {"gain": "raised"}
    with bench(path, Hands(NOW + 2 * HOUR_S * 1000)) as b:
        assert b.situation.clock_text == ""
        assert b.states() == {"gain": "raised"}


def test_once_nothing_in_the_log_is_later_it_follows_the_computer(path: Path, hands: Hands) -> None:
    """The rounds that were given too late are struck out, or corrected: the clock had been wrong before."""
    with bench(path, hands) as b:
        gauge(b)
        set_clock(b, HOUR_S)
        b.pass_(5)
        assert gauge(b)
        set_clock(b, -HOUR_S)
        assert b.situation.clock_text
        late = b.last_of("round").uid
        assert not [f for f in b.desk.void(late, author="R. Moe", reason="the clock was wrong") if f.severity == "error"]
        b.desk.tick()
        assert b.situation.clock_text == ""
        assert b.desk.now_ms() == hands.ms
        b.pass_(5)
        assert gauge(b, 62)
        assert b.states() == {"gain": "raised"}


@pytest.mark.parametrize("seconds", [3, 60])
def test_a_clock_put_right_by_seconds_is_not_told_and_files_nothing_before_the_newest(seconds: int, path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        gauge(b)
        set_clock(b, -seconds)
        assert b.situation.clock_text == ""
        hands.pass_(1 / 60)
        assert gauge(b, 62)
        assert times(b) == [NOW, NOW + 1_000]
        assert b.states() == {"gain": "raised"}
        b.pass_(3)
        assert b.desk.now_ms() == hands.ms, "and follows the computer as soon as that has caught up"


def test_a_step_is_told_by_what_it_was_and_what_it_is() -> None:
    hands = Hands(10_000_000)
    clock: Clock = hands.clock()
    hands.wall -= 1_000
    assert clock.step(9_500_000) == (10_000_000, 10_000_000)
    assert (clock.ahead_ms, clock.told, clock.computers_ms()) == (1_000_000, True, 9_000_000)
    hands.wall += 1_000 + CAUGHT_UP_MS / 1000
    assert clock.step(9_500_000) == (10_000_000, 10_000_000 + CAUGHT_UP_MS)
    assert clock.ahead_ms == 0
    hands.wall -= 1_000
    assert clock.step(9_000_000) == (10_000_000 + CAUGHT_UP_MS, 9_000_000 + CAUGHT_UP_MS), "nothing in the log is later: it follows"
    hands.wall -= TOLERATED_MS / 1000
    assert clock.step(9_000_000 + CAUGHT_UP_MS) is not None
    assert not clock.told


STEPS = st.lists(st.tuples(st.integers(0, 3), st.sampled_from([0, -30, -150, -3600, -86_400]), st.sampled_from([60, 61, 62, 58])),
                 min_size=2, max_size=4)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(STEPS)
def test_however_a_clock_is_set_back_the_same_is_told_as_with_one_nobody_touched(tmp_path_factory: pytest.TempPathFactory,
                                                                               steps: list[tuple[int, int, int]]) -> None:
    told = []
    for touched in (False, True):
        folder = tmp_path_factory.mktemp("clock")
        with bench(make_log(folder / "a.dipbook", rig_text(GAIN, OVERDUE), NOW - MIN), Hands()) as b:
            gauge(b)
            seen: list[object] = []
            for minutes, seconds, level in steps:
                b.pass_(minutes)
                if touched and seconds:
                    set_clock(b, seconds)
                b.pass_(1)
                assert gauge(b, level)
                seen.append(sorted(b.states().items()))
            assert times(b) == sorted(set(times(b)))
            told.append(seen)
    assert told[0] == told[1]
