"""The Line-up page in a real window on a real log: read at a glance, worked by keyboard. Everything is invented."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.real_desks import MIN, NOW, Bench, Hands, make_log, rig_text
from builders import IN
from dipbook.situation import TargetView
from dipbook_app import stock_words
from dipbook_app.display import DisplayUnits
from dipbook_app.drafts import Drafts
from dipbook_app.pages.line_up import CHANGED, NOTE, LineUpPage
from dipbook_app.pages.log import LogPage
from dipbook_app.preferences import PreferencesFile
from dipbook_app.stylesheet import stylesheet
from dipbook_app.theme import Look
from dipbook_app.window import LINE_UP, LOG, Window

MORE = """
[hole]
volume = "400 bbl"
capacity = "0.1458 bbl/ft"
lag = "0 min"
carried_off = 1.0
porosity = 0.0
mud_on_cuttings = 0.0
[pipe]
steel = "0.00759 bbl/ft"
bore = "0.01776 bbl/ft"
stand = "93 ft"
[[valve]]
name = "Gate 2"
kind = "gate"
tank = "Settling"
to = "Suction"
open = true
[[equipment]]
name = "Desilter"
holds = "6 bbl"
on = false
"""


@pytest.fixture
def bench(tmp_path: Path, qapp: object) -> Iterator[Bench]:
    hands = Hands()
    found = Bench(make_log(tmp_path / "a.dipbook", rig_text(MORE)), hands)
    found.desk.set_on_watch("R. Moe")
    hands.pass_(1)
    yield found
    found.desk.close()


def page_of(bench: Bench, qtbot: QtBot) -> LineUpPage:
    page = LineUpPage()
    qtbot.addWidget(page)
    page.resize(1180, 700)
    page.show_situation(bench.situation)
    page.show()
    return page


def texts(page: LineUpPage, name: str) -> list[str]:
    row = next(n for n, line in enumerate(page.lines) if line.name == name)
    return [page.table.item(row, column).text() for column in range(page.table.columnCount())]


def row_of(page: LineUpPage, name: str) -> int:
    return next(n for n, line in enumerate(page.lines) if line.name == name)


def test_a_changed_line_has_a_mark_and_bold_and_its_time(bench: Bench, qtbot: QtBot) -> None:
    page = page_of(bench, qtbot)
    assert texts(page, "Gate 2")[:4] == ["", "Gate 2", "open", "rig file"]
    assert bench.log("valve", NOW, valve="Gate 2", state="closed") == ()
    page.show_situation(bench.situation)
    assert texts(page, "Gate 2")[:4] == [CHANGED, "Gate 2", "closed", "02:15\n1 min"]
    assert page.table.item(row_of(page, "Gate 2"), 2).font().bold()
    assert not page.table.item(row_of(page, "Desilter"), 2).font().bold()


def test_enter_and_the_button_ask_for_the_entry_that_changes_the_line(bench: Bench, qtbot: QtBot) -> None:
    page = page_of(bench, qtbot)
    asked: list[tuple[str, object]] = []
    page.entry_wanted.connect(lambda kind, fields: asked.append((kind, fields)))
    for _ in range(row_of(page, "Gate 2")):
        QTest.keyClick(page.table, Qt.Key.Key_Down)
    QTest.keyClick(page.table, Qt.Key.Key_Return)
    page.table.setCurrentCell(row_of(page, "Desilter"), 0)
    QTest.mouseClick(page.change_button, Qt.MouseButton.LeftButton)
    assert asked == [("valve", {"valve": "Gate 2", "state": "closed"}),
                     ("equipment", {"equipment": "Desilter", "state": "on"})]
    assert page.change_button.height() >= 20 / 25.4 * page.logicalDpiY() - 1


def test_the_stock_is_said_in_words(bench: Bench, qtbot: QtBot) -> None:
    assert bench.log("activity", NOW - 75 * MIN, activity="drilling") == ()
    for minutes, inches in ((70, 60.0), (10, 56.0)):
        assert bench.round(suction=inches, reserve=40.0, t_ms=NOW - minutes * MIN)
    units = DisplayUnits(bench.situation.rig)
    said = {section.title: section for section in stock_words.sections(bench.situation, units)}
    stock, losing = dict(said["Stock"].rows), said["Losing"]
    assert stock["Room to the brim"] == "356.2 bbl"                 # (48 + 52) in of 3.562 bbl
    assert stock["Least room"] == "Settling: 171.0 bbl"
    assert stock["Usable, active"] == "413.2 bbl"
    assert stock["Active against the hole"] == "1.0 of the hole's volume"
    assert dict(losing.rows)["Usable active mud lasts"] == "1 d 4 h"  # 116 in at 4 in an hour: 29 h, of ten minutes ago
    assert losing.notes == ("If it goes on as in the 60 min up to 02:05, rates in force included.",)
    sticks = dict(said["Sticks should read"].rows)
    assert sticks["Suction now"] == units.level(56 * IN)
    assert "Suction after the next stand" not in sticks, "the pumps aren't logged: what the lines still take isn't known"
    target = TargetView("Suction", 50 * IN, 1.0, 0.1, "steady drilling: as the books expect")
    told = next(section for section in stock_words.sections(replace(bench.situation, targets=(target,)), units)
                if section.title == "Sticks should read")
    assert dict(told.rows)["Suction after the next stand"] == units.level(50 * IN)
    assert told.notes == ("After the stand: steady drilling: as the books expect.",)


def test_an_ungauged_log_says_unknown_and_what_it_takes(bench: Bench, qtbot: QtBot) -> None:
    said = {s.title: s for s in stock_words.sections(bench.situation, DisplayUnits(bench.situation.rig))}
    assert dict(said["Stock"].rows)["Room to the brim"] == "unknown"
    assert "Not known: Settling, Suction, Reserve 1." in said["Stock"].notes
    assert said["Losing"].rows == (("Rate", "unknown"),)


def test_enter_opens_the_form_prefilled_in_a_real_window(bench: Bench, qtbot: QtBot, tmp_path: Path) -> None:
    window = Window(None, PreferencesFile(tmp_path / "p.toml"))
    qtbot.addWidget(window)
    page, log = LineUpPage(), LogPage(bench.desk, Drafts(bench.desk.drafts_path, bench.desk))
    window.take(bench.desk, {LINE_UP: page, LOG: log}, bench.path)
    window.resize(1280, 800)
    window.show()
    assert window.rail.names() == ("Watch", "Line-up", "Log", "Drill", "Start")
    window.show_page(LINE_UP)
    page.show_situation(bench.situation)
    page.table.setCurrentCell(row_of(page, "Gate 2"), 0)
    QTest.keyClick(page.table, Qt.Key.Key_Return)
    assert log.isVisible()
    form = log.panel.form
    assert form is not None
    assert form.field("valve").text() == "Gate 2"
    assert form.field("state").text() == "closed"
    window.take(None, {})


def test_home_end_and_the_page_keys_move_in_the_board(bench: Bench, qtbot: QtBot) -> None:
    page = page_of(bench, qtbot)
    page.resize(1180, 360)
    last = len(page.lines) - 1
    page.table.setCurrentCell(2, 0)
    for key, wanted in ((Qt.Key.Key_End, last), (Qt.Key.Key_Home, 0)):
        QTest.keyClick(page.table, key)
        assert page.table.currentRow() == wanted
    QTest.keyClick(page.table, Qt.Key.Key_PageDown)
    down = page.table.currentRow()
    assert down > 1
    QTest.keyClick(page.table, Qt.Key.Key_PageUp)
    assert page.table.currentRow() < down


@pytest.mark.parametrize("scale", [1.0, 1.25, 1.5])
@pytest.mark.parametrize("width", [1000, 1180, 1820])
def test_no_word_of_a_note_is_cut(bench: Bench, qtbot: QtBot, scale: float, width: int) -> None:
    page = LineUpPage()
    qtbot.addWidget(page)
    page.setStyleSheet(stylesheet(Look(text=scale)))
    page.show_situation(bench.situation)
    page.resize(width, 460)
    page.show()
    qtbot.wait(1)
    noted = [line for line in page.lines if line.note]
    assert noted
    if page.table.isColumnHidden(NOTE):
        page.table.setCurrentCell(page.lines.index(noted[0]), 0)
        assert noted[0].note in page.legend.text()
    else:
        room = page.table.columnWidth(NOTE) - 12
        metrics = page.table.fontMetrics()
        assert max(metrics.horizontalAdvance(word) for line in noted for word in line.note.split()) <= room


def test_a_stick_that_is_not_known_says_what_may_be_the_reason(bench: Bench, qtbot: QtBot) -> None:
    units = DisplayUnits(bench.situation.rig)

    def notes() -> tuple[str, ...]:
        return stock_words.sections(bench.situation, units)[-1].notes

    assert any(note.endswith("not known: never gauged.") for note in notes())
    assert bench.round(suction=60.0, reserve=40.0, t_ms=NOW - 10 * MIN)
    assert not any("not known: " in note and "stand" not in note for note in notes())
    assert bench.log("transfer", NOW - 5 * MIN, **{"from": "Reserve 1", "to": "Suction", "state": "running"}) == ()
    told = dict(stock_words.sections(bench.situation, units)[-1].rows)
    assert told["Suction now"] == "unknown"
    assert any(note.startswith("Suction") or "and Suction not known: a gate is open" in note for note in notes())
