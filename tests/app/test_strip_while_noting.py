"""No warning hides another in the strip: also not while somebody types the note that closes one."""

from __future__ import annotations

from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLineEdit, QVBoxLayout, QWidget
from shiboken6 import delete

from app.situations import RIG, warning
from dipbook.cautions import CAUTION
from dipbook_app.display import DisplayUnits
from dipbook_app.theme import PALETTES, Look
from dipbook_app.widgets.warning_strip import LOOK_MS, WarningStrip

NOW = 1_772_352_900_000
OVER = warning(kind="loss", name="loss", occurrence="loss-1", state="over_acknowledged", sounding=False,
               actions=("close",))
RAISED = warning(actions=("acknowledge",))


@pytest.fixture
def strip(qtbot):
    made = WarningStrip(Look(PALETTES["day"], 1.0, 96.0))
    qtbot.addWidget(made)
    made.resize(1100, made.height())
    made.show()
    made.closed, made.acked = [], []
    made.close_wanted.connect(lambda *args: made.closed.append(args))
    made.acknowledge_wanted.connect(made.acked.append)
    return made


def show(strip, *warnings):
    strip.show_warnings(warnings, DisplayUnits(RIG, ""), NOW)
    QApplication.processEvents()


def test_a_gain_raised_while_a_note_is_typed_is_shown_and_the_note_goes_on(strip, qtbot):
    show(strip, OVER)
    strip.close_shown()
    qtbot.keyClicks(strip.note, "Gate to the reserve ")
    show(strip, OVER, RAISED)
    assert strip.readings()[0].startswith("GAIN")
    assert strip.readings()[-1] == CAUTION
    assert (strip.noting, strip.note.text()) == (True, "Gate to the reserve ")
    assert strip._note_for.text() == "Note for LOSS active system:"
    strip._came_up.invalidate()
    strip.acknowledge_shown()
    assert strip.acked == ["gain-1"]
    qtbot.keyClicks(strip.note, "leaked")
    qtbot.keyClick(strip.note, Qt.Key.Key_Return)
    assert strip.closed == [("loss-1", "Gate to the reserve leaked")]
    show(strip, RAISED)
    assert strip.readings()[0].startswith("GAIN")


def test_after_escape_the_gain_that_came_meanwhile_is_still_shown(strip, qtbot):
    show(strip, OVER)
    strip.close_shown()
    show(strip, OVER, RAISED)
    qtbot.keyClick(strip.note, Qt.Key.Key_Escape)
    assert strip.readings()[:2] == (strip.readings()[0], "Not acknowledged. Also open: LOSS active system (over, to be closed)")
    assert strip.readings()[0].startswith("GAIN")


def test_a_warning_that_is_raised_again_ends_its_note_and_is_shown(strip):
    show(strip, OVER)
    strip.close_shown()
    show(strip, replace(OVER, state="raised", actions=("acknowledge",)))
    assert not strip.noting
    assert strip.readings()[0].startswith("LOSS")
    assert strip.readings()[1].startswith("Not acknowledged")


def test_a_gain_that_is_raised_again_from_over_comes_to_the_front(strip):
    due = warning(kind="overdue", name="due", occurrence="due-1", value_is="duration", value=2400.0, limit=1800.0)
    over = replace(RAISED, state="over")
    show(strip, over, due)
    strip.show_next()
    assert strip.shown.occurrence == "due-1"
    show(strip, RAISED, due)
    assert strip.shown.occurrence == "gain-1"


def test_a_gain_that_comes_up_under_the_finger_is_not_acknowledged_unread(strip, qtbot):
    due = warning(kind="overdue", name="due", occurrence="due-1", value_is="duration", value=2400.0, limit=1800.0)
    show(strip, due)
    show(strip, due, RAISED)
    strip.acknowledge_shown()
    assert strip.acked == []
    qtbot.waitUntil(lambda: strip._came_up.hasExpired(LOOK_MS), timeout=5000)
    strip.acknowledge_shown()
    assert strip.acked == ["gain-1"]
    show(strip, due, replace(RAISED, state="acknowledged", actions=()))
    assert strip.shown.occurrence == "due-1", "the next that waits comes up by itself"
    strip.acknowledge_shown()
    assert strip.acked == ["gain-1"], "not by the same press of the key"
    qtbot.waitUntil(lambda: strip._came_up.hasExpired(LOOK_MS), timeout=5000)
    strip.acknowledge_shown()
    assert strip.acked == ["gain-1", "due-1"]


def test_after_an_acknowledgement_what_is_shown_stays_while_nothing_else_waits(strip):
    show(strip, RAISED, OVER)
    show(strip, replace(RAISED, state="acknowledged", actions=()), OVER)
    assert strip.shown.occurrence == RAISED.occurrence


def test_the_symbols_figure_is_called_a_priority(strip):
    show(strip, RAISED)
    assert strip._rank.text() == "priority 1"
    assert strip._rank.isVisible()


def test_others_are_named_with_their_states_those_that_wait_for_a_person_first(strip):
    surface = warning(occurrence="gain-2", system="all surface")
    show(strip, RAISED, surface, OVER)
    assert strip.readings()[1] == ("Not acknowledged. Also open: GAIN all surface tanks (not acknowledged); "
                                   "LOSS active system (over, to be closed)")


@pytest.mark.parametrize("key", [Qt.Key.Key_Return, Qt.Key.Key_Escape])
def test_after_the_note_the_cursor_is_where_it_was(qtbot, key):
    window = QWidget()
    qtbot.addWidget(window)
    column = QVBoxLayout(window)
    made, first, dip = WarningStrip(Look(PALETTES["day"], 1.0, 96.0)), QLineEdit(), QLineEdit()
    for part in (made, first, dip):
        column.addWidget(part)
    window.resize(1100, 300)
    window.show()
    window.activateWindow()
    show(made, OVER)
    dip.setFocus()
    qtbot.keyClicks(dip, "5")
    made.close_shown()
    assert QApplication.focusWidget() is made.note
    qtbot.keyClicks(made.note, "Gate leaked")
    qtbot.keyClick(made.note, key)
    assert not made.noting
    assert QApplication.focusWidget() is dip
    show(made)
    qtbot.keyClicks(QApplication.focusWidget(), "8")
    assert dip.text() == "58"


def test_where_the_field_is_gone_after_the_note_nothing_fails(qtbot):
    window = QWidget()
    qtbot.addWidget(window)
    made, dip = WarningStrip(Look(PALETTES["day"], 1.0, 96.0), window), QLineEdit(window)
    window.show()
    window.activateWindow()
    show(made, OVER)
    dip.setFocus()
    made.close_shown()
    delete(dip)
    qtbot.keyClick(made.note, Qt.Key.Key_Escape)
    assert not made.noting
