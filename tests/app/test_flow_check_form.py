"""A flow check by the clock, on a desk whose clock only the test moves."""

from __future__ import annotations

from pathlib import Path

import pytest
from desks import MIN, NOW, RecordingDesk
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from builders import BBL
from dipbook_app.drafts import Drafts
from dipbook_app.forms.flow_check_form import DRAIN_BACK, FlowCheckForm


@pytest.fixture
def desk(tmp_path: Path, qapp: object) -> RecordingDesk:
    made = RecordingDesk(tmp_path / "d.json")
    made.show(pumps_on=False)
    return made


def opened(desk: RecordingDesk, qtbot: QtBot, drafts: Drafts | None = None) -> FlowCheckForm:
    form = FlowCheckForm(desk, drafts=drafts)  # type: ignore[arg-type]
    qtbot.addWidget(form)
    form.resize(420, 620)
    form.show()
    form.start()
    return form


def read(form: FlowCheckForm, desk: RecordingDesk, at_minute: float, text: str) -> None:
    """Type a minute's volume at a time since the start."""
    desk.now = NOW + round(at_minute * MIN)
    form.tick()
    QTest.keyClicks(form.minute.editor, text)
    QTest.keyClick(form.minute.editor, Qt.Key.Key_Return)


def finish(form: FlowCheckForm, result: str = "flowing") -> None:
    form.field("result").set_text(result)
    form.field("seen by").set_text("R. Moe")
    QTest.keyClick(form, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)


def test_a_check_is_started_read_each_minute_and_finished(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, qtbot)
    assert form.minute.editor.hasFocus() or form.focusWidget() is form.minute.editor
    assert (form.clock.shown, form.minute.label.text()) == ("0:00", "Minute 1, bbl")
    read(form, desk, 1.1, "0.4")
    assert (form.clock.shown, form.minute.label.text()) == ("1:06", "Minute 2, bbl")
    read(form, desk, 2.0, "0.3")
    read(form, desk, 3.2, "0.5")
    assert form.clock.minutes == pytest.approx((0.4 * BBL, 0.3 * BBL, 0.5 * BBL))
    desk.now = NOW + 3 * MIN + 40_000
    finish(form)
    asked = desk.asked[-1][1]
    assert asked["typed"] == {"readings": "0.4; 0.3; 0.5", "result": "flowing", "seen by": "R. Moe"}
    assert (asked["t_ms"], asked["end_ms"]) == (NOW, NOW + 3 * MIN + 40_000), "to the second, not to the minute"


def test_a_minute_that_nobody_read_stays_open_and_is_never_made_up(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, qtbot)
    read(form, desk, 1.0, "0.4")
    read(form, desk, 3.1, "0.2")
    assert form.field("readings").text() == "0.4; -; 0.2"
    assert form.clock.minutes == pytest.approx((0.4 * BBL, None, 0.2 * BBL))
    desk.now = NOW + 5 * MIN + 1000
    finish(form)
    assert desk.asked[-1][1]["typed"]["readings"] == "0.4; -; 0.2; -; -"
    assert desk.records[-1].payload["readings_m3"] == pytest.approx([0.4 * BBL, None, 0.2 * BBL, None, None])


@pytest.mark.parametrize(("text", "words"), [
    ("plenty", "plenty"), ("0.4; 0.2", "One number, in bbl."), ("0.4 m3", "One number, in bbl.")])
def test_what_is_no_volume_is_said_and_kept(desk: RecordingDesk, qtbot: QtBot, text: str, words: str) -> None:
    form = opened(desk, qtbot)
    read(form, desk, 1.0, text)
    assert words in form.minute.words.said
    assert (form.minute.text(), form.field("readings").text()) == (text, "")


def test_a_minute_is_asked_for_when_it_is_over(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, qtbot)
    read(form, desk, 0.9, "0.4")
    assert form.field("readings").text() == "0.4", "the first may come a little early"
    read(form, desk, 0.95, "0.4")
    assert form.minute.words.said == "Minute 2 isn't over yet."
    assert form.field("readings").text() == "0.4"


def test_static_with_a_rising_flow_is_asked_about_once_and_kept_by_a_second_enter(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, qtbot)
    for minute, text in enumerate(("0.1", "0.3", "0.6", "0.9"), 1):
        read(form, desk, minute, text)
    finish(form, "static")
    assert desk.asked == []
    assert "Not saved yet" in form.words.said
    assert form.field("end").text() == "", "it runs on"
    desk.now += 20_000
    QTest.keyClick(form, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert desk.asked[-1][1]["typed"]["result"] == "static"
    assert desk.asked[-1][1]["end_ms"] == NOW + 4 * MIN + 20_000


def test_a_result_and_a_witness_are_needed(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, qtbot)
    read(form, desk, 1.0, "0.4")
    QTest.keyClick(form, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert desk.asked == []
    assert form.field("result").words.said
    assert form.field("seen by").words.said


def test_a_refusal_goes_with_its_field_and_the_words_below_with_the_last(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, qtbot)
    read(form, desk, 1.0, "0.4")
    form.save()
    assert form.field("seen by").words.said == "Say who watched."
    assert form.words.said == "Not saved. See “Result”, “Who watched”."
    form.field("result").set_text("static")
    assert form.field("result").words.said == ""
    assert form.words.said.startswith("Not saved."), "who watched is still wanted"
    form.field("seen by").set_text("A. Example")
    assert (form.field("seen by").words.said, form.words.said) == ("", "")
    form.minute.set_text("0.60,9x")
    form.keep_minute()
    assert form.minute.words.said
    form.minute.set_text("0.6")
    assert form.minute.words.said == ""


def test_after_a_restart_it_runs_on_from_its_start(desk: RecordingDesk, qtbot: QtBot) -> None:
    drafts = Drafts(desk.drafts_path)
    form = opened(desk, qtbot, drafts)
    read(form, desk, 1.0, "0.4")
    form.hide()
    desk.now = NOW + 4 * MIN + 5_000
    again = opened(desk, qtbot, Drafts(desk.drafts_path))
    assert again.clock.shown == "4:05"
    assert "restored" in again.restored.text()
    read(again, desk, 4.2, "0.2")
    assert again.field("readings").text() == "0.4; -; -; 0.2"


def test_a_start_alone_outlives_a_crash(desk: RecordingDesk, qtbot: QtBot) -> None:
    opened(desk, qtbot, drafts := Drafts(desk.drafts_path))
    drafts.flush()
    desk.now = NOW + 2 * MIN
    assert opened(desk, qtbot, Drafts(desk.drafts_path)).clock.shown == "2:00"


def test_pumps_that_the_log_has_on_are_said_and_block_nothing(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, qtbot)
    assert not form.pumps.isVisible()
    desk.show(pumps_on=True)
    assert form.pumps.isVisible()
    desk.show(pumps_on=None)
    assert not form.pumps.isVisible(), "unknown isn't on"
    desk.show(pumps_on=True)
    read(form, desk, 1.0, "0")
    finish(form, "unclear")
    assert desk.asked[-1][1]["typed"]["result"] == "unclear"


def test_the_form_judges_nothing_and_says_what_drain_back_does(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, qtbot)
    for minute in (1, 2, 3):
        read(form, desk, minute, "0")
    assert (form.field("result").text(), form.field("trend").text()) == ("", "")
    assert form.said.text() == DRAIN_BACK


def test_mud_that_is_lost_counts_below_nothing(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, qtbot)
    read(form, desk, 1.0, "-0.4")
    assert form.clock.minutes == pytest.approx((-0.4 * BBL,))


@pytest.mark.parametrize("height", [520, 640])
def test_the_clock_the_minute_and_the_keys_are_seen_at_any_height(desk: RecordingDesk, qtbot: QtBot, height: int) -> None:
    desk.show(pumps_on=True)
    form = opened(desk, qtbot)
    form.resize(420, height)
    for part in (form.clock, form.minute.editor, form.pumps, form.said, form.save_button):
        at = part.mapTo(form, part.rect().topLeft())
        assert at.y() >= 0
        assert at.y() + part.height() <= height
        assert part.height() >= part.minimumSizeHint().height()
    assert form.clock.height() >= 53


def test_finish_asks_about_a_refused_minute_and_leaves_it_out_only_when_told(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, qtbot)
    read(form, desk, 1.0, "0.4")
    read(form, desk, 1.2, "0.6")
    read(form, desk, 1.3, "0.8")
    assert form.minute.words.said == "Minute 3 isn't over yet."
    finish(form)
    assert desk.asked == []
    assert form.words.said == ("Not saved yet. 0.8 isn't kept: Minute 3 isn't over yet. Finish again to leave it out.")
    assert form.field("end").text() == "", "it runs on"
    assert form.focusWidget() is form.minute.editor
    QTest.keyClick(form, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert desk.asked[-1][1]["typed"]["readings"] == "0.4; 0.6"


def test_finish_takes_a_minute_that_is_over_and_was_not_entered(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, qtbot)
    read(form, desk, 1.0, "0.4")
    read(form, desk, 1.2, "0.6")
    read(form, desk, 1.3, "0.8")
    assert form.minute.text() == "0.8"
    desk.now = NOW + 3 * MIN + 2000
    finish(form)
    assert desk.asked[-1][1]["typed"]["readings"] == "0.4; 0.6; 0.8"


def test_finish_asks_about_a_minute_that_is_no_volume(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, qtbot)
    read(form, desk, 1.0, "some")
    finish(form)
    assert desk.asked == []
    assert form.words.said.startswith("Not saved yet. some isn't kept:")


def test_a_bar_stands_on_a_line_with_its_minutes_number(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, qtbot)
    read(form, desk, 0.9, "0.4")
    image = form.clock.grab().toImage()
    ink = form.clock.palette().windowText().color().lightness()

    def dark(x: int, y: int) -> bool:
        return abs(image.pixelColor(x, y).lightness() - ink) < 40

    right = image.width() - 5
    assert any(dark(right, y) for y in range(image.height())), "the line goes on to the edge"
    line = next(y for y in range(image.height()) if dark(right, y))
    assert any(dark(x, y) for x in range(image.width() // 2, image.width()) for y in range(line + 3, image.height())), \
        "its number and what it counts are below"
