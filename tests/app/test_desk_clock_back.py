"""The computer's clock is set back while the log holds later readings: the desk goes on by its own count, warns in time,
and says so in a notice that stands."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from app.real_desks import GAIN, MIN, NOW, OVERDUE, Bench, Hands, bench, make_log, rig_text
from builders import IN
from dipbook.records import Dip
from dipbook_app import clock_behind
from dipbook_app.clock import Clock
from dipbook_app.clock_behind import ClockBehind
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program

pytestmark = pytest.mark.usefixtures("qapp")
HOUR = 60 * MIN


@pytest.fixture
def hands() -> Hands:
    return Hands()


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return make_log(tmp_path / "a.dipbook", rig_text(GAIN, OVERDUE))


def step(b: Bench, minutes: float) -> None:
    """The computer's clock is set."""
    b.hands.wall += 60 * minutes
    b.desk.tick()


def gaps(b: Bench) -> list[tuple[int, int, str]]:
    b.settle()
    return [(r.payload["from_ms"], r.payload["to_ms"], r.payload["cause"])
            for r in b.situation.records if r.kind == "not watched"]


def correct(b: Bench, uid: str, t_ms: int, level: float) -> bool:
    """Give a round another time."""
    dips = tuple(Dip(n, t_ms, f"{v} in", v * IN) for n, v in (("Settling", 60.0), ("Suction", level), ("Reserve 1", 60.0)))
    return b.desk.save_round(dips, start_ms=t_ms, end_ms=t_ms, observer="", author="R. Moe", supersedes=uid, reason="clock")


def test_back_an_hour_then_a_gain_is_raised_in_time_and_overdue_is_in_time(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(10)
        step(b, -60)
        assert b.desk.now_ms() == NOW + 10 * MIN
        assert b.situation.clock_ahead_ms == HOUR
        ((a, z, cause),) = gaps(b)
        assert a == z
        assert "-3600 s" in cause
        assert "its own count" in cause
        b.pass_(10)
        assert b.round(62)
        (w,) = b.warnings
        assert (w.name, w.state, w.raised_ms) == ("gain", "raised", NOW + 20 * MIN)
        assert [t - NOW for t in b.situation.trend.t_ms.tolist()] == [0, 20 * MIN]
        b.pass_(34.7)
        assert "overdue" not in b.states()
        b.pass_(0.7)
        assert {w.name: w.raised_ms for w in b.warnings}["overdue"] == NOW + 55 * MIN
        assert b.situation.clock_ahead_ms == HOUR
        assert b.desk.store.verify() == ()


def test_opened_again_the_notice_stands_and_a_gain_is_told(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(10)
        step(b, -60)
        b.pass_(10)
    hands.pass_(5)
    with bench(path, hands) as b:
        assert b.desk.now_ms() == NOW + 20 * MIN, "where it was last known to watch"
        assert b.situation.clock_ahead_ms == HOUR - 5 * MIN
        assert "isn't known" in gaps(b)[-1][2]
        b.pass_(5)
        b.round(62)
        assert b.states() == {"gain": "raised"}
        assert b.warnings[0].raised_ms == NOW + 25 * MIN


def test_a_clock_set_back_while_the_program_was_closed_keeps_the_order(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.pass_(10)
        b.round()
    hands.wall -= 3600
    with bench(path, Hands(hands.ms)) as b:
        assert b.desk.now_ms() == NOW + 10 * MIN
        assert b.situation.clock_ahead_ms == HOUR
        ((a, z, cause),) = gaps(b)
        assert a == z == NOW + 10 * MIN
        assert "isn't known" in cause
        b.pass_(1)
        b.round(62)
        assert b.states() == {"gain": "raised"}


def test_opening_and_closing_again_and_again_puts_overdue_off_by_no_more_than_the_time_closed(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        step(b, -60)
    for _ in range(4):
        with bench(path, hands) as b:
            b.pass_(9)
    with bench(path, hands) as b:
        assert b.states() == {"overdue": "raised"}


@pytest.mark.parametrize("round_between", [True, False])
def test_forward_an_hour_and_back_loses_no_gain_and_raises_no_false_one(path: Path, hands: Hands, round_between: bool) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(5)
        step(b, 60)
        b.pass_(5)
        if round_between:
            b.round()
        b.pass_(5)
        step(b, -60)
        assert b.situation.clock_ahead_ms == (HOUR if round_between else 0)
        b.pass_(5)
        b.round()
        assert not b.warnings
        b.pass_(5)
        b.round(62)
        assert b.states() == {"gain": "raised"}


def test_set_right_again_it_follows_and_nothing_is_missed(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(10)
        step(b, -60)
        b.pass_(10)
        b.round(61)
        step(b, 60)
        assert b.situation.clock_ahead_ms == 0
        assert b.desk.now_ms() == hands.ms == NOW + 20 * MIN
        b.pass_(10)
        b.round(62)
        assert b.states() == {"gain": "raised"}
        assert [a == z for a, z, _ in gaps(b)] == [True, True]


def test_corrected_to_the_right_time_the_notice_goes(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(5)
        step(b, 60)
        b.round(60.2)
        b.pass_(5)
        step(b, -60)
        assert b.situation.clock_ahead_ms == HOUR
        b.round(60.4)
        late = [r for r in b.situation.records if r.kind == "round"][1:]
        assert correct(b, late[0].uid, NOW + 5 * MIN, 60.2)
        assert b.situation.clock_ahead_ms == HOUR, "one of them is still ahead"
        assert correct(b, late[1].uid, NOW + 10 * MIN, 60.4)
        b.pass_(1)
        assert b.situation.clock_ahead_ms == 0
        assert b.desk.now_ms() == hands.ms
        b.round(62)
        assert b.states()["gain"] == "raised"


def test_struck_out_the_notice_goes_too(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        step(b, 60)
        b.round()
        step(b, -60)
        assert not b.desk.void(b.last_of("round").uid, author="R. Moe", reason="clock")
        b.pass_(1)
        assert b.situation.clock_ahead_ms == 0


def test_time_that_only_passes_does_not_turn_the_count_back(path: Path, hands: Hands) -> None:
    """Else deadlines that are counted would fall an hour late."""
    with bench(path, hands) as b:
        b.round()
        step(b, -60)
        b.pass_(61)
        assert b.desk.now_ms() == NOW + 61 * MIN
        assert b.situation.clock_ahead_ms == HOUR


def test_a_minute_is_worked_off_without_a_word_and_never_backwards(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        hands.pass_(0.1)
        step(b, -1)
        assert b.situation.clock_ahead_ms == 0
        assert b.failed == []
        assert b.round(62)
        assert b.states() == {"gain": "raised"}
        before = b.desk.now_ms()
        b.pass_(11)
        assert b.desk.now_ms() == hands.ms
        assert b.desk.now_ms() > before


def test_a_computer_that_slept_is_followed_though_its_clock_was_behind(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        step(b, -60)
        step(b, 180)
        assert b.situation.clock_ahead_ms == 0
        assert b.desk.now_ms() == hands.ms == NOW + 120 * MIN
        assert gaps(b)[-1][:2] == (NOW, NOW + 120 * MIN)
        b.round(62)
        assert b.states() == {"gain": "raised"}


def test_the_notice_sounds_stands_when_acknowledged_and_can_be_silenced(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(10)
        step(b, -60)
        notice = ClockBehind()
        (w,) = notice.views(b.situation)
        assert (w.state, w.sounding, w.actions) == ("raised", True, ("acknowledge",))
        assert w.text == ("Set this computer's clock right: it says 01:25, the log 02:25. Dipbook goes on by its own count, so that rounds "
                          "stay in order. If the clock is right, correct the times of what was logged too late. Until then go by the "
                          "rig's procedure, and watch by hand too.")
        notice.silence(b.situation.now_ms)
        assert not notice.views(b.situation)[0].sounding
        notice.acknowledge()
        b.pass_(5)
        (w,) = notice.views(b.situation)
        assert (w.state, w.sounding, w.actions) == ("acknowledged", False, ())
        step(b, 60)
        assert notice.views(b.situation) == ()


def test_what_nobody_can_correct_does_not_hold_the_clock(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        assert clock_behind.held_ms(b.desk.books_apart().books) == 0
        step(b, -60)
        assert b.desk.now_ms() == hands.ms


def test_once_the_log_is_closed_the_computer_s_clock_is_followed(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        step(b, -60)
        clock: Clock = b.desk._clock
        assert clock.ahead_ms
    assert clock.now_ms() == hands.ms


STEPS = st.lists(st.tuples(st.integers(1, 10), st.one_of(st.integers(-300, -3), st.integers(0, 0)), st.booleans()),
                 min_size=1, max_size=5)


@settings(max_examples=6, deadline=None, suppress_health_check=list(HealthCheck))
@given(STEPS)
def test_however_far_the_clock_is_set_back_after_a_round_warnings_are_those_of_an_untouched_clock(
        plan: list[tuple[int, int, bool]]) -> None:
    told = []
    for touched in (True, False):
        with tempfile.TemporaryDirectory() as folder, bench(
                make_log(Path(folder) / "a.dipbook", rig_text(GAIN, OVERDUE)), Hands()) as b:
            b.round()
            level = 60.0
            for minutes, back, gain in plan:
                if touched and back:
                    step(b, back)
                b.pass_(minutes)
                level += 2.0 if gain else 0.0
                b.round(level)
            ends = [r.payload["end_ms"] for r in b.situation.records if r.kind == "round"]
            assert ends == sorted(ends)
            told.append((ends, [(r.payload["name"], r.payload["event"], r.t_ms) for r in b.transitions()]))
    assert told[0] == told[1]


def test_on_the_window_it_stands_on_the_strip_below_a_gain_and_again_at_each_opening(path: Path, hands: Hands) -> None:
    program = Program(PreferencesFile(path.with_name("p.json")), hands.clock())
    window = program.window
    try:
        assert program.open_log(path)
        desk = program.desk
        assert desk is not None
        desk._tick.stop()
        b = Bench.__new__(Bench)
        b.path, b.hands, b.desk = path, hands, desk
        b.round()
        b.pass_(1)
        step(b, -60)
        assert window.strip.readings()[0] == "CLOCK BEHIND THE LOG by 1 h, since 02:16"
        window.acknowledge(window.strip.occurrence_shown)
        window.strip.close_shown()
        assert [(w.kind, w.state) for w in window.strip.open_now] == [("clock", "acknowledged")]
        b.pass_(1)
        b.round(62)
        window.acknowledge(window.strip.occurrence_shown)
        assert [w.kind for w in window.strip.open_now] == ["gain", "clock"]
        program.close_log()
        assert program.open_log(path)
        assert [(w.kind, w.state) for w in window.strip.open_now] == [
            ("clock", "raised"), ("gain", "acknowledged")], "what nobody has acknowledged comes first: F8 answers it"
    finally:
        program.close_log()
        window.close()
        window.deleteLater()
