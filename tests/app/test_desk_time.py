"""The desk's clock: steps, sleep, summer time; deadlines at their instant; hours in which nobody watched."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from app.real_desks import GAIN, MIN, NOW, OVERDUE, Bench, Hands, bench, make_log, rig_text
from dipbook import store
from dipbook_app.clock import Clock
from dipbook_app.desk import Desk

pytestmark = pytest.mark.usefixtures("qapp")


@pytest.fixture
def hands() -> Hands:
    return Hands()


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return make_log(tmp_path / "a.dipbook", rig_text(GAIN, OVERDUE))


def test_the_clock_follows_the_steady_clock_and_tells_a_step_once() -> None:
    hands = Hands(1_000_000)
    clock = hands.clock()
    hands.pass_(1)
    assert clock.now_ms() == 1_060_000
    assert clock.step() is None
    hands.wall += 3600
    assert clock.now_ms() == 1_060_000
    assert clock.step() == (1_060_000, 4_660_000, 3_600_000)
    assert clock.now_ms() == 4_660_000
    assert clock.step() is None
    hands.wall -= 10
    assert clock.step() == (4_660_000, 4_650_000, -10_000)


def test_a_clock_that_drifts_is_followed_without_a_step() -> None:
    hands = Hands(0)
    clock = hands.clock()
    for _ in range(1000):
        hands.steady += 1.0
        hands.wall += 1.001
        assert clock.step() is None
    assert clock.now_ms() == pytest.approx(1_001_000, abs=2)


def gaps(b: Bench) -> list[dict[str, object]]:
    b.settle()
    return [dict(r.payload) for r in b.situation.records if r.kind == "not watched"]


def test_a_clock_set_forward_is_a_record_and_a_gap(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(10)
        hands.wall += 3600
        b.desk.tick()
        assert b.desk.now_ms() == NOW + 70 * MIN
        assert gaps(b) == [{"from_ms": NOW + 10 * MIN, "to_ms": NOW + 70 * MIN, "cause":
                            "the computer's clock stepped by +3600 s, or the computer slept"}]
        assert not b.warnings                               # 70 min since the round, 60 of them nobody's
        assert b.situation.next_due_ms == NOW + 105 * MIN
        b.pass_(34)
        assert not b.warnings
        b.pass_(1.4)
        assert b.states() == {"overdue": "raised"}
        assert b.warnings[0].raised_ms == NOW + 105 * MIN
    with bench(path, hands) as b:
        assert b.states() == {"overdue": "raised"}
        assert len(gaps(b)) == 1


def test_a_clock_set_back_is_a_record_and_nothing_is_lost(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(10)
        hands.wall -= 300
        b.desk.tick()
        assert b.desk.now_ms() == NOW + 5 * MIN
        (gap,) = gaps(b)
        assert gap["from_ms"] == gap["to_ms"] == NOW + 5 * MIN
        assert "-300 s" in str(gap["cause"])
        b.pass_(10)
        assert b.round(62)
        assert "gain" in b.states()


def test_a_computer_whose_steady_clock_runs_on_in_sleep_is_noticed_too(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(1)
        hands.pass_(120)
        b.desk.tick()
        assert gaps(b) == [{"from_ms": NOW + MIN, "to_ms": NOW + 121 * MIN,
                            "cause": "the computer slept, or the program stood still"}]
        assert not b.warnings


@pytest.mark.parametrize("spacing_s", [1, 7, 29])
def test_overdue_falls_at_its_instant_whatever_the_spacing_of_the_ticks(
        path: Path, hands: Hands, spacing_s: int) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(30)
        hands.pass_(4)
        b.desk._told_ms = hands.ms
        while not b.warnings:
            hands.pass_(spacing_s / 60)
            b.desk.tick()
            assert hands.ms < NOW + 40 * MIN
        (w,) = b.warnings
        assert (w.raised_ms, w.learned_ms) == (NOW + 35 * MIN, NOW + 35 * MIN)
        assert hands.ms - w.raised_ms < spacing_s * 1000
        assert b.situation.next_due_ms == NOW + 35 * MIN
        (line,) = b.transitions()
        assert (line.t_ms, line.payload["value"]) == (NOW + 35 * MIN, 35 * 60)


def test_overdue_does_not_fall_while_the_watch_is_off(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(10)
        assert not b.log("watch", state="off", reason="rig move")
        assert not b.situation.watch_on
        assert b.situation.next_due_ms is None
        b.pass_(60)
        assert not b.warnings
        assert not b.log("watch", state="on", reason="back")
        assert b.situation.watch_on
        assert b.situation.next_due_ms == NOW + 105 * MIN
        b.pass_(34)
        assert not b.warnings
        b.pass_(2)
        assert b.warnings[0].raised_ms == NOW + 105 * MIN


def test_a_gain_is_raised_while_the_watch_is_off(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        b.log("watch", state="off", reason="rig move")
        b.pass_(10)
        b.round(62)
        assert b.states() == {"gain": "raised"}


def test_a_watch_off_that_is_struck_out_lets_the_watch_go_on(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(1)
        assert not b.log("watch", state="off", reason="wrong key")
        b.pass_(1)
        assert not b.desk.void(b.last_of("watch").uid, author="R. Moe", reason="wrong key")
        assert b.situation.watch_on
        assert b.situation.next_due_ms is not None
        b.pass_(40)
        assert b.states() == {"overdue": "raised"}


def test_a_watch_that_is_off_stays_off_across_a_restart(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        b.log("watch", state="off", reason="rig move")
    hands.pass_(120)
    with bench(path, hands) as b:
        b.pass_(1)
        assert not b.situation.watch_on
        assert not b.warnings


def test_overdue_does_not_fall_in_the_hours_with_the_program_closed(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(1)
    hands.pass_(90)
    with bench(path, hands) as b:
        b.pass_(1)
        assert not b.warnings
        assert b.situation.next_due_ms == NOW + (91 + 35) * MIN
        b.pass_(35)
        assert b.warnings[0].raised_ms == NOW + (91 + 35) * MIN


@pytest.mark.parametrize(("day", "before", "after"), [
    ("2026-03-08T07:50:00", "01:50", "03:10"),      # Chicago goes from 02:00 to 03:00
    ("2026-11-01T06:50:00", "01:50", "01:10")])     # and back from 02:00 to 01:00
def test_a_change_of_summer_time_moves_the_clock_on_the_wall_and_nothing_else(
        tmp_path: Path, day: str, before: str, after: str) -> None:
    start = round(datetime.fromisoformat(day).replace(tzinfo=UTC).timestamp() * 1000)
    hands = Hands(start)
    with bench(make_log(tmp_path / "a.dipbook", rig_text(GAIN, OVERDUE, zone="America/Chicago"), start), hands) as b:
        b.round()
        assert f"Round saved {before}." in b.said[-1]
        first = b.last_of("round").offset_min
        b.pass_(20)
        b.round(62)
        assert f"Round saved {after}." in b.said[-1]
        assert abs(b.last_of("round").offset_min - first) == 60
        assert [t - start for t in b.situation.trend.t_ms.tolist()] == [0, 20 * MIN]
        assert gaps(b) == []
        (w,) = b.warnings
        assert w.raised_ms == start + 20 * MIN
        b.pass_(36)
        assert {w.name: w.raised_ms - start for w in b.warnings}["overdue"] == 55 * MIN


def test_a_ticking_desk_ticks_by_itself(path: Path, qtbot: object) -> None:
    desk = Desk(store.open(path), Clock())
    try:
        with qtbot.waitSignal(desk.situation_changed, timeout=5000):  # type: ignore[attr-defined]
            pass
    finally:
        desk.close()
        desk.deleteLater()
