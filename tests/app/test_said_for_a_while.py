"""What was done is said for a while, then the line is itself again; what failed stays until it is read."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from app.situations import RIG, quiet
from dipbook_app.display import DisplayUnits
from dipbook_app.theme import PALETTES, Look
from dipbook_app.widgets.status_line import SAID_MS, StatusLine

LONG = "Round saved 02:15. Difference +1.3 bbl; the suction tank was not gauged and is carried at its last level. " * 3


@pytest.fixture
def line(qtbot):
    made = StatusLine(Look(PALETTES["day"], 1.0, 96.0))
    qtbot.addWidget(made)
    made.resize(1280, made.height())
    made.show()
    made.show_situation(quiet(), DisplayUnits(RIG, ""))
    QApplication.processEvents()
    return made


def test_what_was_done_goes_after_a_while_and_the_last_round_comes_back(line):
    line.say(LONG)
    assert line._last.isHidden()
    assert line._over.isActive()
    assert line._over.interval() == SAID_MS == 20_000
    line._over.timeout.emit()
    assert line.readings()[4] == ""
    assert line._said.isHidden()
    assert line._last.isVisible()
    assert line._store.isVisible()
    assert line._keys["units"].isVisible()


def test_the_next_words_get_their_own_time(line):
    line.say("Saved: zero.")
    line.say("The disk is full.", bad=True)
    assert not line._over.isActive(), "what failed stays"
    line.show_situation(quiet(), DisplayUnits(RIG, ""))
    assert line.readings()[4] == "The disk is full."
    line.say("Saved: zero.")
    assert line._over.isActive()
    line.say("")
    assert not line._over.isActive()


def test_a_click_takes_away_what_failed_once_it_was_shown_whole(line, qtbot, monkeypatch):
    shown = []
    monkeypatch.setattr("dipbook_app.widgets.said_label.QToolTip.showText", lambda _at, words, *_: shown.append(words))
    line.say("The disk is full.", bad=True)
    QApplication.processEvents()
    assert not line._said.cut
    qtbot.mouseClick(line._said, Qt.MouseButton.LeftButton)
    assert line.readings()[4] == ""
    line.say(LONG * 3, bad=True)
    QApplication.processEvents()
    assert line._said.cut
    qtbot.mouseClick(line._said, Qt.MouseButton.LeftButton)
    assert line.readings()[4] == LONG * 3, "first the whole is shown"
    assert shown == [LONG * 3]
    qtbot.mouseClick(line._said, Qt.MouseButton.LeftButton)
    assert line.readings()[4] == ""
