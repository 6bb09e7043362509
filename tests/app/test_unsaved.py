"""What is typed in a form and isn't saved is said on every page, until it is saved or thrown away."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from real_desks import Bench, Hands, bench, make_log, rig_text

from dipbook_app.drafts import Drafts
from dipbook_app.pages.log import LogPage
from dipbook_app.preferences import PreferencesFile
from dipbook_app.sound import Sound
from dipbook_app.window import LOG, Window

TYPED = {"from_": "Reserve 1", "to": "Suction", "volume": "24", "told": "driller", "state": "announced"}


@pytest.fixture
def made(tmp_path: Path, qapp: object) -> Iterator[Bench]:
    with bench(make_log(tmp_path / "log.dipbook", rig_text()), Hands()) as b:
        b.hands.pass_(1)
        b.round()
        b.hands.pass_(1)
        b.desk.set_on_watch("C. Example")
        yield b


@pytest.fixture
def window(made: Bench, qtbot: QtBot, tmp_path: Path) -> Iterator[Window]:
    opened = Window(None, PreferencesFile(tmp_path / "p.json"), sound=Sound(commands=(), windows=False))
    qtbot.addWidget(opened)
    take(opened, made)
    opened.resize(1280, 800)
    opened.show()
    yield opened
    opened._pages[LOG].running._timer.stop()
    opened.take(None, {})


def take(window: Window, made: Bench) -> None:
    window.take(made.desk, {LOG: LogPage(made.desk, Drafts(made.desk.drafts_path, made.desk))}, made.path)


def press(window: Window, key: str) -> None:
    (bound,) = [s for s in window.findChildren(QShortcut) if s.key() == QKeySequence(key)]
    bound.activated.emit()
    QApplication.processEvents()


def said(window: Window) -> str:
    """The lasting words on what isn't saved, "" if they can't be seen."""
    QApplication.processEvents()
    return window.status.unsaved.text() if window.status.unsaved.isVisible() else ""


def form(window: Window):
    return window._pages[LOG].panel.form


def test_a_form_left_with_something_typed_is_said_on_every_page_until_it_is_saved(window: Window) -> None:
    press(window, "Ctrl+M")
    QTest.keyClicks(form(window).field("told").editor, "driller")
    assert said(window) == "", "it is before one's eyes"
    window.show_page("Watch")
    assert said(window) == "Not saved: About to move mud. F2"
    window.status.say("Round saved 02:15.")
    window.status._over.timeout.emit()
    assert said(window) == "Not saved: About to move mud. F2", "it lasts"
    QTest.mouseClick(window.status.unsaved, Qt.MouseButton.LeftButton)
    assert window.page == LOG
    assert said(window) == ""
    assert form(window).field("told").text() == "driller"
    form(window).field("from").set_text("Reserve 1")
    form(window).save()
    window.show_page("Watch")
    assert said(window) == ""


def test_a_form_closed_with_esc_stays_said_and_comes_back_with_the_key(window: Window) -> None:
    press(window, "Ctrl+T")
    QTest.keyClicks(form(window).field("rate").editor, "2")
    QTest.keyClick(form(window), Qt.Key.Key_Escape)
    assert form(window) is None
    assert said(window) == "Not saved: Transfer. F2", "on the Log page too: the form is closed"
    press(window, "F2")
    assert form(window).field("rate").text() == "2"
    assert said(window) == ""


def test_after_a_restart_it_is_still_said(window: Window, made: Bench) -> None:
    press(window, "Ctrl+T")
    QTest.keyClicks(form(window).field("rate").editor, "2")
    window._pages[LOG].panel.close_form()
    window._pages[LOG].running._timer.stop()
    take(window, made)
    assert said(window) == "Not saved: Transfer. F2"


def test_nothing_is_said_of_a_form_in_which_nothing_was_typed(window: Window) -> None:
    press(window, "Ctrl+T")
    volume = form(window).field("volume").editor
    QTest.keyClicks(volume, "2")
    window.show_page("Watch")
    assert said(window) != ""
    window.show_page(LOG)
    QTest.keyClick(volume, Qt.Key.Key_Backspace)
    window.show_page("Watch")
    assert said(window) == "", "as it was when it opened"


def test_it_is_thrown_away_with_a_second_key_only(window: Window, made: Bench) -> None:
    press(window, "Ctrl+T")
    assert form(window).discard_button.isHidden(), "nothing to throw away"
    QTest.keyClicks(form(window).field("volume").editor, "2")
    assert form(window).discard_button.isVisible()
    before = len(made.situation.records)
    both = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier
    QTest.keyClick(form(window).field("volume").editor, Qt.Key.Key_D, both)
    assert form(window).words.said == "Discard again throws away what is typed here."
    QTest.keyClick(form(window).field("volume").editor, Qt.Key.Key_D, both)
    assert form(window) is None
    assert said(window) == ""
    press(window, "Ctrl+T")
    assert form(window).field("volume").text() == ""
    assert len(made.situation.records) == before


@pytest.mark.parametrize("key", ["Ctrl+T", "F6", "Ctrl+Shift+S", "Ctrl+F"])
def test_an_answer_whose_form_another_key_replaces_is_kept_and_said(window: Window, made: Bench, key: str) -> None:
    assert made.log("about to move mud", **TYPED) == ()
    press(window, "Ctrl+Shift+A")
    QTest.keyClicks(form(window).field("words").editor, "wait")
    press(window, key)
    assert said(window) == "Not saved: The answer on 24.0 bbl Reserve 1 → Suction. F2"
    press(window, "F2")
    assert form(window).title.text() == "Answer"
    assert form(window).field("words").text() == "wait"
    form(window).save()
    assert made.situation.notices[0].answer == "wait"
    assert "answer" not in said(window)


def test_a_transfer_started_from_an_announcement_leaves_an_older_draft_alone(window: Window, made: Bench) -> None:
    made.log("about to move mud", **TYPED)
    press(window, "Ctrl+T")
    QTest.keyClicks(form(window).field("remark").editor, "older")
    press(window, "Ctrl+Shift+S")
    assert said(window) == "Not saved: Transfer. F2"
    QTest.keyClicks(form(window).field("remark").editor, "newer")
    window.show_page("Watch")
    assert said(window) == "Not saved: Transfer and 1 more. F2"
    press(window, "F2")
    assert form(window).field("remark").text() == "older", "the oldest first"
    press(window, "F2")
    assert form(window).field("remark").text() == "newer"


def test_the_answer_on_a_notice_that_is_over_is_no_longer_asked_for(window: Window, made: Bench) -> None:
    made.log("about to move mud", **TYPED)
    uid = made.situation.notices[0].uid
    press(window, "Ctrl+Shift+A")
    QTest.keyClicks(form(window).field("words").editor, "wait")
    window.show_page("Watch")
    assert said(window) != ""
    made.desk.call_off(uid, "", "B. Example")
    window._show_unsaved()
    assert said(window) == ""


def test_a_reason_to_strike_out_and_a_stop_are_kept_too(window: Window, made: Bench) -> None:
    made.log("transfer", from_="Reserve 1", to="Suction", state="running")
    press(window, "Ctrl+Shift+1")
    QTest.keyClicks(form(window).field("volume").editor, "12")
    window._pages[LOG].panel.strike(made.last_of("transfer"))
    QTest.keyClicks(form(window).field("reason").editor, "no such move")
    window.show_page("Watch")
    assert said(window) == "Not saved: Stop: Reserve 1 → Suction and 1 more. F2"
    press(window, "F2")
    assert form(window).field("volume").text() == "12"
    press(window, "F2")
    assert form(window).field("reason").text() == "no such move"


def test_the_words_never_hide_that_the_log_isnt_kept(window: Window) -> None:
    press(window, "Ctrl+T")
    QTest.keyClicks(form(window).field("volume").editor, "2")
    window.show_page("Watch")
    status = window.status
    assert not status._store.isVisible()
    status.show_log_wrong("damaged")
    assert status._store.isVisible()
    assert said(window) != ""
    assert status.unsaved.geometry().right() <= status.width()
