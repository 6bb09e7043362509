"""What is typed in a list finds a choice by its whole text; what finds nothing is said and changes nothing."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from dipbook_app.forms.field_row import FieldRow
from dipbook_app.stylesheet import stylesheet
from dipbook_app.theme import Look
from dipbook_app.widgets import drop_list
from dipbook_app.widgets.dip_row import DipRow
from dipbook_app.widgets.drop_list import DropList

OPEN_LIST = pytest.mark.qt_log_ignore("This plugin does not support", extend=True)
"""The platform of the tests can't raise a window or grab the keyboard, and says so when a list opens."""
TANKS = ("Sand Trap", "Suction", "Reserve 1", "Reserve 2", "Trip", "Desander cones", "Reserve 22")


@pytest.fixture
def row(qtbot: QtBot) -> Iterator[FieldRow]:
    window = QWidget()
    qtbot.addWidget(window)
    layout = QVBoxLayout(window)
    row = FieldRow("from", "From", TANKS)
    layout.addWidget(row)
    layout.addWidget(FieldRow("to", "To", TANKS))
    window.setStyleSheet(stylesheet(Look()))
    window.show()
    window.activateWindow()
    row.editor.setFocus()
    qtbot.waitUntil(row.editor.hasFocus)
    yield row
    window.close()


def keys(text: str) -> None:
    """Keys pressed wherever the focus is, in an open list too."""
    for letter in text:
        QTest.keyClick(here(), letter)


def press(key: Qt.Key) -> None:
    QTest.keyClick(here(), key)


def here() -> QWidget:
    """What gets the keys: the open list, or what has the focus."""
    focused = QApplication.focusWidget()
    assert focused is not None
    if QApplication.activePopupWidget() is not None and isinstance(focused, QComboBox):
        return focused.view()
    return focused


@pytest.mark.parametrize("name", TANKS)
def test_a_whole_name_is_found_with_its_blanks_and_digits(row: FieldRow, qtbot: QtBot, name: str) -> None:
    with qtbot.waitSignal(row.entered):
        keys(name)
        press(Qt.Key.Key_Return)
    assert row.text() == name
    assert QApplication.activePopupWidget() is None, "the blank opens no list while a name is typed"


def test_small_letters_and_the_word_behind_find_it_too(row: FieldRow) -> None:
    keys("reserve 2")
    assert row.text() == "Reserve 2", "all of a name wins over the beginning of a longer one"
    press(Qt.Key.Key_Down)
    keys("cones")
    assert row.text() == "Desander cones"


@OPEN_LIST
def test_in_the_open_list_typing_marks_and_enter_takes_the_mark(row: FieldRow) -> None:
    press(Qt.Key.Key_Space)
    assert QApplication.activePopupWidget() is not None, "a blank with nothing typed opens the list"
    keys("Reserve 2")
    assert QApplication.activePopupWidget() is not None
    assert row.text() == "", "nothing is taken before Enter"
    press(Qt.Key.Key_Return)
    assert row.text() == "Reserve 2"
    assert QApplication.activePopupWidget() is None


def test_a_name_that_is_not_there_changes_nothing_and_enter_does_not_pass_it(row: FieldRow, qtbot: QtBot) -> None:
    row.set_text("Sand Trap")
    entered: list[bool] = []
    row.entered.connect(lambda: entered.append(True))
    keys("Reserve 9")
    assert row.text() == "Sand Trap"
    assert row.words.said == "No “Reserve 9” in this list: it stays at Sand Trap."
    press(Qt.Key.Key_Return)
    assert not entered
    assert row.editor.hasFocus()
    assert row.words.said.startswith("No “Reserve 9”")
    press(Qt.Key.Key_Return)
    assert entered, "Enter again goes on with what stands there"
    assert row.words.said == ""


@OPEN_LIST
def test_in_the_open_list_a_name_that_is_not_there_is_not_taken(row: FieldRow) -> None:
    row.set_text("Trip")
    press(Qt.Key.Key_F4)
    keys("Reserve 9")
    press(Qt.Key.Key_Return)
    assert QApplication.activePopupWidget() is None
    assert row.text() == "Trip"
    assert "Reserve 9" in row.words.said


def test_backspace_takes_a_letter_back(row: FieldRow) -> None:
    keys("Reserve 3")
    assert row.text() == ""
    press(Qt.Key.Key_Backspace)
    assert row.text() == "Reserve 1"
    assert row.words.said == ""
    keys("2")
    assert row.text() == "Reserve 2"
    for _ in "Reserve 2":
        press(Qt.Key.Key_Backspace)
    assert row.text() == "", "nothing typed: as before"


def test_a_letter_again_goes_through_what_it_begins(row: FieldRow) -> None:
    keys("r")
    assert row.text() == "Reserve 1"
    keys("r")
    assert row.text() == "Reserve 2"
    keys("rr")
    assert row.text() == "Reserve 1"


def test_after_a_pause_another_first_letter_begins_anew_but_a_digit_still_goes_on(row: FieldRow,
                                                                                   monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(drop_list, "PAUSE_S", -1.0)
    keys("res")
    keys("tr")
    assert row.text() == "Trip"
    press(Qt.Key.Key_Up)
    keys("Reserve 2")
    assert row.text() == "Reserve 2"


def test_leaving_ends_the_word(row: FieldRow) -> None:
    keys("Reserve 9")
    press(Qt.Key.Key_Tab)
    assert row.text() == ""
    assert row.words.said == ""
    row.editor.setFocus()
    keys("Trip")
    assert row.text() == "Trip"


def test_what_is_typed_in_vain_stands_in_the_lists_place(row: FieldRow) -> None:
    row.set_text("Trip")
    plain = row.editor.grab().toImage()
    keys("x")
    assert isinstance(row.editor, DropList)
    assert row.editor.lost
    assert row.editor.grab().toImage() != plain


def test_a_flag_that_is_not_there_is_not_passed(qtbot: QtBot) -> None:
    dip = DipRow("Suction", ("foam", "settled solids"))
    qtbot.addWidget(dip)
    dip.show_columns(flag=True)
    dip.show()
    entered: list[bool] = []
    dip.entered.connect(lambda: entered.append(True))
    QTest.keyClicks(dip.flag, "settled solids")
    assert dip.flag.currentText() == "settled solids"
    QTest.keyClicks(dip.flag, "x")
    QTest.keyClick(dip.flag, Qt.Key.Key_Return)
    assert not entered
    QTest.keyClick(dip.flag, Qt.Key.Key_Return)
    assert entered
