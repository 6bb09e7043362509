"""A drill done in the window, ended, and gone through there: the debrief lies over the Drill page. All invented."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from dipbook.drill_run import Choice
from dipbook_app.page_names import DRILL
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program


@pytest.fixture
def program(tmp_path: Path, qtbot: QtBot) -> Iterator[Program]:
    found = Program(PreferencesFile(tmp_path / "preferences.json"))
    found.drills.into, found.drills.ticking = tmp_path / "drills", False
    qtbot.addWidget(found.window)
    found.window.resize(1280, 800)
    found.window.show()
    yield found
    found.close_log()


def test_a_drill_is_done_ended_and_gone_through(program: Program) -> None:
    window, key = program.window, Qt.Key
    assert not program.debriefs.show_past()                    # none yet
    assert program.drills.begin(Choice("kick-drilling-fast", 1, False, "T. Berg", "I. Voss", "sensors"))
    driver = program.drills.driver
    assert driver is not None
    for second in range(60 * 58):
        driver.second()
        if second == 60 * 57:
            driver.tell_driller()
            driver.flow_check()
    assert not program.debriefs.show_past()                    # one is under way
    driver.shut_in()
    program.drills.end()
    window.drill.debrief_wanted.emit(driver.folder)
    page = program.debriefs.page
    assert window.page == DRILL
    assert page.isVisible()
    assert page.size() == window.drill.size()
    QApplication.processEvents()
    assert program.desk.situation.warnings                     # how it ended isn't told beside how it went
    assert window.strip.open_now == ()
    window.show_page("Watch")
    assert window.strip.open_now
    window.show_page(DRILL)
    assert window.strip.open_now == ()
    QTest.keyClick(page.view.table, key.Key_T)
    said = dict(page.view.readings())
    assert "flow check at 06:57, 2 min after it began" in said["What was done"]
    assert "The flow check came" in said["What could have been seen"]
    window.switch_theme()
    assert "bbl" in dict(page.view.readings())["What was done"]
    for _ in range(2):                                         # oilfield, metric
        QTest.keyClick(page.view.table, key.Key_U, Qt.KeyboardModifier.ControlModifier)
    said = dict(page.view.readings())
    assert "m³" in said["What was done"]                       # where it is shown, and the truth stays laid over it
    assert "The flow check came" in said["What could have been seen"]
    QTest.keyClick(page.view.table, key.Key_Escape)
    assert not page.isVisible()
    assert window.strip.open_now
    QTest.keyClick(window.drill, key.Key_H, Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier)
    assert page.isVisible()
    assert page.history.rows()[0][0].startswith("T. Berg. 1 drill.")
    window.resize(1400, 900)
    QApplication.processEvents()
    assert page.size() == window.drill.size()
    QTest.keyClick(page.history.table, key.Key_Return)
    assert page.debrief_shown
    QTest.keyClick(page.view.table, key.Key_Escape)
    assert not page.debrief_shown
    QTest.keyClick(page.history.table, key.Key_Escape)
    assert not page.isVisible()


def test_a_drill_that_was_ended_at_once_is_gone_through_too(program: Program) -> None:
    assert program.drills.begin(Choice("nothing", 1, True, "", "", "dips"))
    assert program.drills.driver is not None
    folder = program.drills.driver.folder
    program.drills.end()
    assert program.debriefs.open(folder)
    view = program.debriefs.page.view
    view.next_reading()
    view.show_truth()
    view.tick()
    assert "No reading yet" in view.now.text()
    assert "The well did nothing in this drill" in dict(view.readings())["What was done"]
    view.ask_record()
    assert (folder / "record.pdf").is_file()
