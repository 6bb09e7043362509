"""Mud that is about to be moved: announced, answered, started or called off; on a real log and in a real window."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from real_desks import MIN, Bench, Hands, bench, make_log, rig_text
from situations import NOTICE, NOW_MS, quiet, raised

from dipbook.entries.kinds import BY_NAME
from dipbook.situation import ShutInView
from dipbook_app import desk_calls, sentences_of_calls
from dipbook_app.display import DisplayUnits
from dipbook_app.drafts import Drafts
from dipbook_app.forms import prefill
from dipbook_app.pages.log import LogPage
from dipbook_app.pages.round import RoundPage
from dipbook_app.preferences import PreferencesFile
from dipbook_app.sound import Sound
from dipbook_app.window import LOG, ROUND, Window

TYPED = {"from_": "Reserve 1", "to": "Suction", "volume": "24", "told": "driller", "state": "announced"}


@pytest.fixture
def made(tmp_path: Path, qapp: object) -> Iterator[Bench]:
    with bench(make_log(tmp_path / "log.dipbook", rig_text()), Hands()) as b:
        b.hands.pass_(1)
        b.round()
        b.hands.pass_(1)
        yield b


def announce(b: Bench) -> str:
    assert b.log("about to move mud", **TYPED) == ()
    return b.situation.notices[-1].uid


def errors(found: tuple) -> list[str]:
    return [f.code for f in found if f.severity == "error"]


def test_an_answer_replaces_the_notice_and_both_stay(made: Bench) -> None:
    uid = announce(made)
    assert errors(made.desk.answer(uid, "  go ahead ", "B. Example")) == []
    (notice,) = made.situation.notices
    assert (notice.answer, notice.state, notice.told) == ("go ahead", "answered", "driller")
    record = made.last_of("about to move mud")
    assert (record.supersedes, record.reason, record.author) == (uid, "answered", "B. Example")
    assert record.payload["volume_m3"] == pytest.approx(24 * 0.158987294928)  # 1 bbl = 42 gal[US] of 231 in3, exact
    assert made.said[-1] == "Saved: the answer."


def test_an_answer_wants_words_and_a_name_and_a_notice_that_stands(made: Bench) -> None:
    uid = announce(made)
    assert errors(made.desk.answer(uid, " ", "B. Example")) == ["missing"]
    assert errors(made.desk.answer(uid, "go", "")) == ["no_author"]
    assert errors(made.desk.answer("none such", "go", "B. Example")) == ["gone"]
    assert errors(made.desk.answer(uid, "go", "B. Example")) == []
    assert errors(made.desk.answer(uid, "go again", "B. Example")) == ["gone"], "the old record was replaced"
    made.log("gas", gas="2")
    assert errors(made.desk.answer(made.last_of("gas").uid, "go", "B. Example")) == ["not_here"]
    assert errors(made.desk.call_off(made.last_of("gas").uid, "", "B. Example")) == ["not_here"]


def test_what_the_driller_was_told_is_answered_too(made: Bench) -> None:
    made.log("told driller", what="gaining", told="driller")
    assert errors(made.desk.answer(made.last_of("told driller").uid, "flow check", "B. Example")) == []
    assert made.last_of("told driller").payload["answer"] == "flow check"


def test_called_off_or_moved_it_waits_no_longer_and_moves_no_mud(made: Bench) -> None:
    before = made.situation.expected_m3
    first, second = announce(made), announce(made)
    assert len(made.situation.notices) == 2
    made.desk.set_on_watch("C. Example")
    assert errors(made.desk.call_off(first, "", "")) == []
    assert (made.last_of("about to move mud").payload["state"], made.last_of("about to move mud").reason,
            made.last_of("about to move mud").author) == ("called off", "called off", "C. Example")
    assert errors(made.desk.moved(second, "")) == []
    assert made.last_of("about to move mud").reason == "started"
    assert made.situation.notices == ()
    assert made.situation.expected_m3 == before
    over = made.last_of("about to move mud")
    at = desk_calls.At(made.situation.rig, "C. Example", made.hands.ms)
    assert errors(desk_calls.answered(over, at, "late")[1]) == ["over"]


# --- in a real window -------------------------------------------------------------------------------------------


@pytest.fixture
def window(made: Bench, qtbot: QtBot, tmp_path: Path) -> Iterator[Window]:
    drafts = Drafts(made.desk.drafts_path, made.desk)
    opened = Window(None, PreferencesFile(tmp_path / "p.json"), sound=Sound(commands=(), windows=False))
    qtbot.addWidget(opened)
    opened.take(made.desk, {ROUND: RoundPage(made.desk, drafts), LOG: LogPage(made.desk, drafts)}, made.path)
    opened.resize(1280, 800)
    opened.show()
    yield opened
    opened._pages[LOG].running._timer.stop()
    opened.take(None, {})


def press(window: Window, key: str) -> None:
    (bound,) = [s for s in window.findChildren(QShortcut) if s.key() == QKeySequence(key)]
    bound.activated.emit()
    settle(window)


def settle(window: Window) -> None:
    window._painted = None
    window._paint_newest()
    for _ in range(3):
        QApplication.processEvents()


def test_the_first_two_stand_on_the_page_with_their_keys_on_the_oldest(made: Bench, window: Window) -> None:
    for _ in range(3):
        announce(made)
    settle(window)
    calls = window.watch.calls
    told = "About to move 24.0 bbl Reserve 1 → Suction. Told driller 02:17; no answer yet."
    assert calls.readings() == (told, f"{told} And 1 more.")
    assert [b.text() for b in calls.rows[0].buttons.values()] == [
        "Answer  Ctrl+Shift+A", "Start  Ctrl+Shift+S", "Call off  Ctrl+Shift+O"]
    assert [b.text() for b in calls.rows[1].buttons.values()] == ["Answer", "Start", "Call off"]
    for row in calls.rows:
        assert all(button.height() >= 36 for button in row.buttons.values())
    second = made.situation.notices[1].uid
    made.desk.set_on_watch("C. Example")
    calls.rows[1].buttons["call off"].click()
    window._pages[LOG].panel.form.save()
    assert second not in [n.uid for n in made.situation.notices]


def test_the_answer_is_typed_in_a_small_form(made: Bench, window: Window) -> None:
    announce(made)
    press(window, "Ctrl+Shift+A")
    assert window.page == LOG
    form = window._pages[LOG].panel.form
    assert [row.name for row in form.fields] == ["words", "by"]
    QTest.keyClicks(form.field("words").editor, "wait for the mud man")
    form.save()
    assert "Who logs this?" in form.field("by").words.text()
    assert made.situation.notices[0].answer == ""
    QTest.keyClicks(form.field("by").editor, "B. Example")
    QTest.keyClick(form.field("by").editor, Qt.Key.Key_Return)
    assert made.situation.notices[0].answer == "wait for the mud man"
    assert made.last_of("about to move mud").author == "B. Example"
    window.show_page("Watch")
    settle(window)
    assert window.watch.calls.readings()[0].endswith("answer: wait for the mud man.")


def test_started_it_is_over_when_its_transfer_is_saved_and_not_before(made: Bench, window: Window) -> None:
    announce(made)
    made.desk.set_on_watch("C. Example")
    window._pages[LOG].add("transfer", {"from": "Settling"})
    QTest.keyClicks(window._pages[LOG].panel.form.field("volume").editor, "7")  # a draft that is not this transfer
    press(window, "Ctrl+Shift+S")
    form = window._pages[LOG].panel.form
    assert {n: form.field(n).text() for n in ("from", "to", "state", "volume", "by")} == {
        "from": "Reserve 1", "to": "Suction", "state": "running", "volume": "", "by": "C. Example"}
    assert form.field("volume").editor.placeholderText() == "announced 24 bbl", "said, not filled in"
    window._pages[LOG].panel.close_form()
    assert len(made.situation.notices) == 1, "nothing was started"
    press(window, "Ctrl+Shift+S")
    window._pages[LOG].panel.form.save()
    assert made.situation.notices == ()
    (running,) = made.situation.running
    assert (running.kind, running.since_ms) == ("transfer", made.hands.ms)
    assert made.last_of("about to move mud").payload["state"] == "moved"
    assert made.last_of("about to move mud").reason == "started"
    window.show_page("Watch")
    settle(window)
    assert not window.watch.calls.isVisible()
    assert window.watch.stop_bar.readings() == ("Stop Reserve 1 → Suction",)


def test_started_and_left_half_typed_it_is_over_when_it_is_saved_after_all(made: Bench, window: Window) -> None:
    announce(made)
    made.desk.set_on_watch("C. Example")
    press(window, "Ctrl+Shift+S")
    QTest.keyClicks(window._pages[LOG].panel.form.field("remark").editor, "by the hose")
    window._pages[LOG].panel.close_form()
    press(window, "F2")
    form = window._pages[LOG].panel.form
    assert form.field("remark").text() == "by the hose"
    assert form.field("volume").editor.placeholderText() == "announced 24 bbl"
    form.save()
    assert made.situation.notices == ()
    assert made.last_of("about to move mud").payload["state"] == "moved"


def test_called_off_by_a_second_key_so_that_a_wrong_one_ends_nothing(made: Bench, window: Window) -> None:
    announce(made)
    press(window, "Ctrl+Shift+O")
    form = window._pages[LOG].panel.form
    assert form.title.text() == "Call off"
    form.field("by").set_text("D. Example")
    form.save()
    assert made.situation.notices == ()
    assert made.last_of("about to move mud").author == "D. Example"
    announce(made)
    made.desk.set_on_watch("C. Example")
    window.show_page("Watch")
    press(window, "Ctrl+Shift+O")
    assert len(made.situation.notices) == 1
    QTest.keyClick(window._pages[LOG].panel.form.field("by").editor, Qt.Key.Key_Return)
    assert made.situation.notices == ()
    press(window, "Ctrl+Shift+A")
    assert window.status._said.text().startswith("No mud is about to be moved")


def test_what_is_announced_from_the_page_is_saved_with_few_keys(made: Bench, window: Window) -> None:
    made.desk.set_on_watch("C. Example")
    press(window, "Ctrl+M")
    form = window._pages[LOG].panel.form
    assert (form.kind.name, form.field("state").text()) == ("about to move mud", "announced")
    form.field("from").set_text("Reserve 1")
    form.field("told").set_text("driller")
    form.save()
    assert made.situation.notices[0].told == "driller"
    press(window, "Shift+F5")
    assert window.page == ROUND
    assert [row.tank for row in window._pages[ROUND].rows if row.isVisible()] == ["Suction"]


def test_a_shut_in_well_stands_on_the_page_until_it_is_opened(made: Bench, window: Window) -> None:
    made.log("zero", reason="test", length="0 ft")
    made.hands.pass_(10)
    made.round(suction=61.0)
    made.hands.pass_(1)
    panel = window._pages[LOG].panel
    window._pages[LOG].add("shut-in")
    assert (panel.form.field("state").text(), panel.form.field("gain").text()) == ("shut in", "3.6 bbl")  # an inch
    panel.form.field("gain").set_text("4")
    panel.form.field("by").set_text("A. Example")
    panel.form.save()
    window.show_page("Watch")
    settle(window)
    words = window.watch.readings()[0]
    assert words.startswith("Well shut in 02:28 by A. Example: gain kept at 4.0 bbl (by the books at 02:27 +3.6 bbl ±")
    assert words.endswith("Follow the rig's own well-control procedures.")
    made.pass_(5)
    made.round(suction=70.0, t_ms=made.hands.ms - MIN)
    settle(window)
    assert window.watch.readings()[0] == words, "the gain is kept as it was"
    window._pages[LOG].add("shut-in")
    assert (panel.form.field("state").text(), panel.form.field("gain").text()) == ("opened", "")
    panel.form.field("by").set_text("A. Example")
    panel.form.save()
    window.show_page("Watch")
    settle(window)
    assert not any("shut in" in text for text in window.watch.readings())


@pytest.mark.parametrize(("change", "gain"), [({}, "5.6 bbl"), ({"partial": True}, "5.6 bbl"), ({"difference_m3": None}, None),
                                              ({"difference_m3": -0.5}, None), ({"difference_m3": 0.0}, None)])
def test_a_gain_is_filled_in_only_where_the_books_have_one(change: dict, gain: str | None) -> None:
    texts = prefill.prefilled(BY_NAME["shut-in"], raised(**change))
    assert texts == ({"state": "shut in", "gain": gain} if gain else {"state": "shut in"})


def test_a_well_shut_in_without_a_gain_says_so() -> None:
    s = quiet(shut_in=ShutInView(NOW_MS - 3 * MIN, None, None, None, ""))
    assert sentences_of_calls.shut_in(s, DisplayUnits(s.rig)) == (
        "Well shut in 02:12: no gain logged (by the books then not known). Follow the rig's own well-control procedures.")
    assert sentences_of_calls.shut_in(quiet(), DisplayUnits(s.rig)) == ""


def test_a_notice_says_what_is_known_and_leaves_out_the_rest() -> None:
    s = quiet()
    units = DisplayUnits(s.rig)
    bare = replace(NOTICE, fields={"to": "Pill"}, told="")
    assert sentences_of_calls.notice(bare, s, units) == "About to move to Pill. Said 02:06; no answer yet."
    answered = replace(NOTICE, answer="go ahead.", state="answered")
    assert sentences_of_calls.notice(answered, s, units) == (
        "About to move 24.0 bbl Reserve 1 → Suction. Told driller 02:06; answer: go ahead.")


def test_a_handover_puts_who_takes_over_on_watch(made: Bench, window: Window, qtbot: QtBot) -> None:
    made.desk.set_on_watch("R. Moe")
    assert made.log("handover", leaving="R. Moe", arriving="J. Doe") == ()
    assert made.desk.on_watch == "J. Doe"
    qtbot.waitUntil(lambda: "On watch: J. Doe" in window.status.readings())
    made.hands.pass_(1)
    assert made.log("handover", t_ms=made.hands.ms - 60 * MIN, leaving="K. Lind", arriving="R. Moe") == ()
    assert made.desk.on_watch == "J. Doe", "one from paper, of an hour ago, hands nothing over now"


def test_what_was_seen_of_the_well_stands_on_the_page_in_brief(made: Bench, window: Window) -> None:
    units = DisplayUnits(made.situation.rig)
    t = made.hands.ms
    assert made.log("gas", t_ms=t - 3 * MIN, gas="2.5", what="connection") == ()
    assert made.log("drilling break", t_ms=t - 2 * MIN, speed="110 ft/h", speed_before="45 ft/h", told="driller") == ()
    assert made.log("flow check", t_ms=t - MIN, end_ms=t, readings="0.4", result="flowing", seen_by="R. Moe") == ()
    assert sentences_of_calls.signs(made.situation, units) == (
        "Seen: 02:16 flow check flowing; 02:15 drills at 110 ft/h, before at 45 ft/h; and 1 more. "
        "Follow the rig's own well-control procedures.")
    assert made.log("shut-in", state="shut in") == ()
    assert sentences_of_calls.signs(made.situation, units).endswith("and 1 more.")
