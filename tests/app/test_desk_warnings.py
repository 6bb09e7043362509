"""A desk from dip to warning, on a real log: raised, acknowledged, over, closed; restarts; late and corrected data."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from app.real_desks import GAIN, MIN, NOW, Hands, bench, make_log, rig_text
from builders import BBL
from dipbook.cautions import CAUTION
from dipbook_app.preferences import PreferencesFile
from dipbook_app.urgency import DANGER
from dipbook_app.window import Window

pytestmark = pytest.mark.usefixtures("qapp")
INCH = 3.562 * BBL


@pytest.fixture
def hands() -> Hands:
    return Hands()


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return make_log(tmp_path / "a.dipbook", rig_text(GAIN))


def test_a_dip_becomes_a_difference_and_a_warning_with_caution_and_sound(
        path: Path, hands: Hands, qtbot: object, tmp_path: Path) -> None:
    with bench(path, hands) as b:
        window = Window(None, PreferencesFile(tmp_path / "p.json"))
        qtbot.addWidget(window)  # type: ignore[attr-defined]
        window.take(b.desk, {})
        asked: list[object] = []
        window.sound.sound = asked.append  # type: ignore[method-assign]
        assert b.round()
        assert b.situation.difference_m3 == pytest.approx(0, abs=1e-9)
        assert not b.warnings
        assert not window.strip.readings()
        b.pass_(30)
        assert b.round(62)
        assert b.situation.difference_m3 == pytest.approx(2 * INCH, rel=1e-3)
        (w,) = b.warnings
        assert (w.name, w.state, w.sounding, w.raised_ms) == ("gain", "raised", True, hands.ms)
        assert w.actions == ("acknowledge",)
        assert "7.1 bbl" in w.text
        assert "limit 5.0 bbl" in w.text
        assert b.desk.sounding
        assert window.strip.readings()[-1] == CAUTION
        assert asked[-1] is DANGER
        b.desk.acknowledge(w.occurrence)
        assert asked[-1] is None
        assert "Difference +7.1 ± " in b.said[-1]
        window.take(None, {})


def test_a_warning_goes_its_way_to_the_close_with_a_note(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.desk.set_on_watch("R. Moe")
        b.round()
        b.pass_(30)
        b.round(62)
        occurrence = b.warnings[0].occurrence
        b.desk.close_warning(occurrence, "too early")
        assert "Not closed" in b.failed[-1]
        assert b.states() == {"gain": "raised"}
        b.desk.acknowledge(occurrence)
        assert not b.desk.sounding
        b.desk.acknowledge(occurrence)
        assert "already" in b.failed[-1]
        b.pass_(30)
        b.round(60.5)
        assert b.states() == {"gain": "over_acknowledged"}
        b.desk.close_warning(occurrence, "  ")
        assert "note" in b.failed[-1]
        b.desk.close_warning(occurrence, "trip tank had been left running")
        assert not b.warnings
        assert b.journal() == [("gain", "ACT", "raised"), ("gain", "ACK", "acknowledged"),
                               ("gain", "RTN", "over_acknowledged"), ("gain", "RST", "closed")]
        assert b.transitions()[-1].payload["note"] == "trip tank had been left running"
        assert b.transitions()[-1].author == "R. Moe"
        assert not b.desk.store.verify()


def test_growth_after_acknowledging_sounds_again(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(30)
        b.round(62)
        b.desk.acknowledge(b.warnings[0].occurrence)
        b.pass_(30)
        b.round(62.5)                       # 1.8 bbl more: less than the growth of 2 bbl
        assert b.states() == {"gain": "acknowledged"}
        b.pass_(30)
        b.round(62.75)                      # 2.7 bbl more than when it last sounded
        assert b.states() == {"gain": "raised"}
        assert b.desk.sounding
        assert len({r.payload["occurrence"] for r in b.transitions()}) == 1


def test_silence_lasts_thirty_seconds_and_a_new_warning_breaks_it(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(30)
        b.round(62)
        b.desk.silence()
        assert not b.desk.sounding
        assert b.states() == {"gain": "raised"}
        hands.pass_(29.9 / 60)
        b.desk.tick()
        assert not b.desk.sounding
        hands.pass_(0.2 / 60)
        b.desk.tick()
        assert b.desk.sounding
        assert b.warnings[0].sounding


@pytest.mark.parametrize("acknowledged", [False, True])
def test_a_restart_sounds_what_nobody_acknowledged_and_nothing_else(
        path: Path, hands: Hands, acknowledged: bool) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(30)
        b.round(62)
        if acknowledged:
            b.desk.acknowledge(b.warnings[0].occurrence)
        before = b.warnings[0]
        lines = b.journal()
    hands.pass_(5)
    with bench(path, hands) as b:
        (after,) = b.warnings
        assert replace(after, sounding=before.sounding) == before
        assert after.sounding is b.desk.sounding is (not acknowledged)
        assert b.journal() == lines
        b.pass_(1)
        assert b.journal() == lines
        b.round(60)
        assert b.states() == {"gain": "over_acknowledged" if acknowledged else "over"}


def test_nothing_is_raised_where_no_limit_is_set_and_the_screen_says_so(tmp_path: Path, hands: Hands) -> None:
    with bench(make_log(tmp_path / "b.dipbook", rig_text()), hands) as b:
        b.round()
        b.pass_(30)
        b.round(90)
        assert not b.warnings
        assert b.situation.unwatched == ("No limits are set: nothing is being watched",)
        assert b.situation.difference_m3 is not None
        assert b.situation.difference_m3 > 100 * BBL


def test_a_transfer_logged_after_the_warning_does_not_clear_it(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.desk.set_on_watch("R. Moe")
        b.round()
        b.pass_(30)
        b.round(62, reserve=58)
        raised = b.warnings[0]
        assert b.situation.hints
        t = hands.ms
        hands.pass_(2)
        assert not b.log("transfer", t - 20 * MIN, t - 10 * MIN, from_="Reserve 1", to="Suction", volume="7.124 bbl")
        (w,) = b.warnings
        assert (w.occurrence, w.state, w.sounding) == (raised.occurrence, "over", True)
        assert "now 0.0 bbl, had been 7.1 bbl, limit 5.0 bbl" in w.text
        b.desk.close_warning(w.occurrence, "an unlogged transfer")
        assert "Acknowledge it first" in b.failed[-1]
        b.desk.acknowledge(w.occurrence)
        assert b.states() == {"gain": "over_acknowledged"}
        b.desk.close_warning(w.occurrence, "an unlogged transfer, source dipped")
        assert not b.warnings
        over = [r.payload for r in b.transitions() if r.payload["event"] == "RTN"]
        assert [p["cause"] for p in over] == ["transfer logged"]
        assert over[0]["learned"] == over[0]["time"] == hands.ms
    with bench(path, hands) as b:
        assert not b.warnings


def test_correcting_a_round_returns_its_warning_and_changes_no_earlier_line(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(30)
        t = hands.ms
        b.round(65)
        b.journal()
        before = [(r.seq, r.hash) for r in b.transitions()]
        hands.pass_(3)
        assert not b.round(60.25, t_ms=t, supersedes=b.last_of("round").uid)
        assert "Say why" in b.failed[-1]
        assert b.round(60.25, t_ms=t, supersedes=b.last_of("round").uid, reason="5 ft 0 1/4, not 5 ft 5")
        assert b.states() == {"gain": "over"}
        b.journal()
        assert [(r.seq, r.hash) for r in b.transitions()][:1] == before
        assert b.transitions()[-1].payload["cause"] == "a round was corrected"
        rounds = [r for r in b.situation.records if r.kind == "round"]
        assert not b.round(61, t_ms=t, supersedes=rounds[1].uid, reason="again")
        assert "corrected or struck out meanwhile" in b.failed[-1]
        assert b.situation.store_ok


def test_striking_the_last_round_out_returns_its_warning(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(30)
        b.round(65)
        uid = b.last_of("round").uid
        assert b.desk.void(uid, author="R. Moe", reason=" ")[0].code == "no_reason"
        assert not b.desk.void(uid, author="R. Moe", reason="rows swapped")
        assert b.states() == {"gain": "over"}
        assert b.desk.void(uid, author="R. Moe", reason="again")[0].code == "gone"


def test_a_late_round_raises_now_and_is_marked_with_when_it_was(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(60)
        b.round(60)
        assert not b.warnings
        b.pass_(10)
        assert b.round(62, t_ms=hands.ms - 40 * MIN)
        (w,) = b.warnings
        assert (w.raised_ms, w.learned_ms) == (hands.ms - 40 * MIN, hands.ms)
        assert w.state == "over"
        assert w.sounding
        b.journal()
        assert all(r.learned_ms == hands.ms for r in b.transitions())


def test_a_tightened_limit_acts_at_once_and_a_loosened_one_waits(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.desk.set_on_watch("R. Moe")
        b.round()
        b.pass_(30)
        b.round(61.25)                                           # 4.45 bbl
        assert not b.warnings
        (limit,) = b.situation.rig.limits
        tight = replace(limit, value=4 * BBL, as_typed="4 bbl", reason="section change")
        assert {f.column for f in b.desk.set_limits([tight], author="", reason=" ")} == {"author", "reason"}
        assert b.situation.rig.limits == (limit,)
        assert not [f for f in b.desk.set_limits([tight], author="T. Pusher", reason="near the shoe")
                    if f.severity == "error"]
        assert b.states() == {"gain": "raised"}
        record = b.last_of("rig")
        assert (record.author, record.reason) == ("T. Pusher", "near the shoe")
        assert "4 bbl" in record.payload["text"]
        b.desk.set_limits([replace(limit, value=20 * BBL, as_typed="20 bbl")], author="T. Pusher", reason="mixing")
        assert b.last_of("rig").reason == "mixing"
        assert b.states() == {"gain": "raised"}                 # it stands on the 4 bbl still
        assert b.warnings[0].limit == pytest.approx(4 * BBL)
        b.desk.acknowledge(b.warnings[0].occurrence)
        b.pass_(20)
        b.round(60)
        b.desk.close_warning(b.warnings[0].occurrence, "back")
        b.pass_(20)
        b.round(62)
        assert not b.warnings                                    # the 20 bbl count from the close on
    with bench(path, hands) as b:
        assert not b.warnings
        assert b.journal()[-1][1] == "RST"


def test_a_limit_tightened_after_a_reading_passes_no_judgement_on_it_at_the_next_start(
        path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(30)
        b.round(61.25)                                           # 4.45 bbl, under the limit of 5 then
        b.pass_(30)
        b.round(60)
        (limit,) = b.situation.rig.limits
        b.desk.set_limits([replace(limit, value=4 * BBL, as_typed="4 bbl")], author="T. Pusher", reason="shoe")
        assert not b.warnings
    with bench(path, hands) as b:
        assert not b.warnings
        assert b.journal() == []


def test_an_impossible_set_of_limits_changes_nothing_and_says_why(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        (limit,) = b.situation.rig.limits
        found = b.desk.set_limits([limit, limit], author="T. Pusher", reason="twice")
        assert [f.severity for f in found] == ["error"]
        assert "Two limits have one name. Nothing was changed" in found[0].what
        assert b.situation.rig.limits == (limit,)
        found = b.desk.adopt_rig("zone = 3", author="T. Pusher", reason="new file")
        assert "rig, line 1" in found[0].what
        assert len([r for r in b.situation.records if r.kind == "rig"]) == 1


def test_a_crash_between_the_round_and_its_warning_is_made_good_at_the_next_start(
        path: Path, hands: Hands, monkeypatch: pytest.MonkeyPatch) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(30)
        monkeypatch.setattr(b.desk._writer, "put", lambda drafts: None)   # as if killed before the thread wrote
        b.round(62)
        raised = b.warnings[0]
    with bench(path, hands) as b:
        (w,) = b.warnings
        assert (w.state, w.raised_ms, w.occurrence) == ("raised", raised.raised_ms, raised.occurrence)
        assert w.learned_ms == hands.ms
        assert b.desk.sounding
        assert b.journal() == [("gain", "ACT", "raised")]
    with bench(path, hands) as b:
        assert b.journal() == [("gain", "ACT", "raised")]


def test_a_partial_round_raises_and_never_clears(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(30)
        b.round(62, settling=None)
        assert b.situation.partial
        assert b.states() == {"gain": "raised"}
        assert "partial" in b.warnings[0].text
        b.pass_(30)
        b.round(60, settling=None)
        assert b.states() == {"gain": "raised"}
        b.pass_(1)
        b.round(60)
        assert b.states() == {"gain": "over"}


def test_a_dip_that_tells_what_a_tank_was_worth_when_it_left_looks_again_at_what_lies_between(
        path: Path, hands: Hands) -> None:
    """Suction leaves at 02:25, provisionally worth its dip of 02:15; a dip of 03:05 shows 3 in more: more left then,
    so less was expected of Settling at 02:45, and the difference of that round was past the limit."""
    with bench(path, hands) as b:
        b.round()
        b.pass_(10)
        assert not b.log("line-up", tank="Suction", state="out")
        b.pass_(20)
        b.round(None, 60)
        assert b.situation.difference_m3 == pytest.approx(0, abs=1e-6)
        b.pass_(20)
        b.round(63, None)
        (w,) = b.warnings
        assert (w.raised_ms, w.learned_ms) == (NOW + 30 * MIN, hands.ms)


def test_with_nobody_on_watch_a_warning_can_be_acknowledged_and_not_closed(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.desk.set_on_watch("")
        b.round()
        b.pass_(30)
        b.round(62)
        b.desk.set_on_watch("")
        occurrence = b.warnings[0].occurrence
        b.desk.acknowledge(occurrence)
        assert b.states() == {"gain": "acknowledged"}
        b.pass_(30)
        b.round(60.5)
        b.desk.set_on_watch("")
        b.desk.close_warning(occurrence, "gate left open")
        assert "who is on watch" in b.failed[-1]
        assert b.states() == {"gain": "over_acknowledged"}
        b.settle()
        assert [r.author for r in b.desk.store.records(kinds=["warning"]) if r.payload["event"] == "ACK"] == ["nobody named"]


def test_what_rounds_can_miss_goes_by_the_longest_wait_and_not_by_a_check_a_minute_later(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        for wait in (0, 30, 1):
            b.pass_(wait)
            b.round()
        assert b.desk.situation.interval_ms == 30 * 60_000
        b.pass_(45)
        b.desk.tick()
        assert b.desk.situation.interval_ms == 45 * 60_000


def test_a_warning_is_shown_before_what_the_books_show_is_worked_out_anew(tmp_path: Path, qapp: object) -> None:
    hands = Hands()
    with bench(make_log(tmp_path / "a.dipbook", rig_text(GAIN), hands.ms - 60_000), hands) as on:
        on.round()
        on.log("zero", reason="test")
        on.pass_(5)
        heard: list[tuple[str, tuple[str, ...], bool]] = []
        old = on.situation.difference_m3
        for name in ("warned", "situation_changed"):
            getattr(on.desk, name).connect(lambda s, n=name: heard.append(
                (n, tuple(w.state for w in s.warnings), s.difference_m3 == old)))
        on.round(suction=64)
        assert heard[:2] == [("warned", ("raised",), True), ("situation_changed", ("raised",), False)]
        heard.clear()
        on.round(suction=64)
        assert [n for n, *_ in heard] == ["situation_changed"], "nothing of the warnings has changed"
