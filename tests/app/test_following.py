"""Following a figure to its parts in the real window, by click and by key, on the demo's logs. Everything is invented."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot
from real_desks import NOW, Hands

from dipbook.parts import ENTRY, READING, Figure
from dipbook.records import ROUND, TRIP_ROW
from dipbook_app import demo, demo_trips
from dipbook_app.display import DisplayUnits
from dipbook_app.page_names import CONNECTIONS, LINE_UP, LOG, TRIP, WATCH
from dipbook_app.part_words import GOES_ON, TIP
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program
from dipbook_app.widgets.trip_sheet import DIFFERENCE, TOOK
from dipbook_app.window import Window

Open = Callable[..., Window]


@pytest.fixture(scope="module")
def logs(tmp_path_factory: pytest.TempPathFactory, qapp: object) -> dict[str, Path]:
    into = tmp_path_factory.mktemp("logs")
    return {"night": demo.make_log(NOW, into), "day": demo.make_log(NOW, into, connections=True),
            "trips": demo_trips.make_log(NOW, into)}


@pytest.fixture
def opened(logs: dict[str, Path], tmp_path: Path, qtbot: QtBot) -> Iterator[Open]:
    programs: list[Program] = []

    def open_(which: str, page: str, size: tuple[int, int] = (1280, 800), text: float = 1.0) -> Window:
        for beside in logs[which].parent.glob(f"{logs[which].name}*"):
            shutil.copy(beside, tmp_path / beside.name)
        preferences = PreferencesFile(tmp_path / "p.json")
        preferences.change(text=text)
        program = Program(preferences, Hands(NOW).clock())
        programs.append(program)
        qtbot.addWidget(program.window)
        assert program.open_log(tmp_path / logs[which].name)
        program.window.resize(*size)
        program.window.show()
        program.window.show_page(page)
        paint()
        return program.window

    yield open_
    for program in programs:
        program.close_log()


def paint() -> None:
    for _ in range(4):
        QApplication.processEvents()


def press(key: Qt.Key, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
    target = QApplication.focusWidget()
    assert target is not None
    QTest.keyClick(target, key, modifier)
    paint()


def click(widget: QWidget, at: QPoint | None = None) -> None:
    QTest.mouseClick(widget, Qt.MouseButton.LeftButton, pos=widget.rect().center() if at is None else at)
    paint()


def choose(window: Window, kind: str) -> None:
    """Put the panel's cursor on the first part of a kind."""
    panel = window.following.panel
    assert panel.parts is not None
    place = next(n for n, p in enumerate(panel.parts.parts) if p.kind == kind and p.uid and p.follow is None)
    while panel.table.currentRow() < place:
        press(Qt.Key.Key_Down)


def test_the_big_figure_is_followed_by_a_click_to_its_entry_in_the_log(opened: Open) -> None:
    window = opened("night", WATCH)
    panel, s = window.following.panel, window._newest
    click(window.watch.figure)
    assert panel.isVisible()
    assert panel.parts.figure == Figure("difference", "active")
    shown = DisplayUnits(s.rig).signed_volume(s.difference_m3)
    assert panel.figure.text() == shown
    assert panel.shown[-1].value == shown, "what is added up is what is shown"
    press(Qt.Key.Key_Down)
    press(Qt.Key.Key_Return)
    assert panel.parts.figure.name == "expected"
    place = next(n for n, p in enumerate(panel.parts.parts) if p.follow and p.follow.what == "transfers")
    panel.table.setCurrentCell(place, 0)
    press(Qt.Key.Key_Return)
    assert panel.parts.figure.what == "transfers"
    choose(window, ENTRY)
    uid = panel.chosen().uid
    press(Qt.Key.Key_Return)
    assert window.page == LOG
    assert window._pages[LOG].chosen().uid == uid
    assert window._pages[LOG].chosen().kind == "transfer"
    assert not window.following.is_open


def test_the_key_opens_it_where_the_cursor_is_and_escape_goes_back_there(opened: Open) -> None:
    window = opened("night", WATCH)
    panel = window.following.panel
    window.watch._actual.setFocus()
    press(Qt.Key.Key_F1)
    assert panel.parts.figure.name == "actual"
    assert panel.isAncestorOf(QApplication.focusWidget())
    press(Qt.Key.Key_Return)
    assert panel.parts.figure.name == "tank"
    press(Qt.Key.Key_Backspace)
    assert panel.parts.figure.name == "actual"
    press(Qt.Key.Key_Escape)
    assert not panel.isVisible()
    assert window.page == WATCH
    assert QApplication.focusWidget() is window.watch._actual


def test_the_key_goes_through_all_figures_of_the_page(opened: Open) -> None:
    window = opened("night", WATCH)
    wanted = window.watch.figures()
    seen = []
    for _ in wanted:
        press(Qt.Key.Key_F1)
        seen.append(window.following.panel.parts.figure)
    assert tuple(seen) == wanted
    assert {"difference", "actual", "expected", "uncertainty", "tank"} <= {f.name for f in seen}


def test_a_reading_shows_its_round(opened: Open) -> None:
    window = opened("night", WATCH)
    click(window.watch.tanks.drawings[0])
    panel = window.following.panel
    assert panel.parts.figure == Figure("tank", window.watch.tanks.drawings[0]._view.name)
    assert panel.geometry().right() < window.watch.tanks.mapTo(window, QPoint(0, 0)).x() + window.watch.tanks.width() / 2
    choose(window, READING)
    press(Qt.Key.Key_Return)
    assert window._pages[LOG].chosen().kind == ROUND


def test_all_entries_behind_a_term_are_one_key_away(opened: Open) -> None:
    window = opened("night", WATCH)
    window.following.ask(Figure("term", "active", "rates"))
    panel = window.following.panel
    panel.table.setCurrentCell(panel.table.rowCount() - 1, 0)
    assert panel.chosen() is None or panel.chosen().uid
    if panel.chosen() is not None:
        panel.table.setCurrentCell(-1, -1)
    panel.entries_button.click()
    log = window._pages[LOG]
    assert window.page == LOG
    assert log.kinds.currentData() == frozenset(("rate in force",))


def test_a_number_of_the_trips_sheet_is_followed_by_click_and_by_key(opened: Open) -> None:
    window = opened("trips", TRIP)
    page, panel = window._pages[TRIP], window.following.panel
    row = len(page.sheet.rows) - 1
    click(page.sheet.viewport(), page.sheet.visualItemRect(page.sheet.item(row, TOOK)).center())
    assert panel.parts.figure == Figure("trip", page.sheet.rows[row].uid, "took")
    assert DisplayUnits(window._newest.rig).stand_number(panel.parts.value) == page.sheet.item(row, TOOK).text()
    choose(window, READING)
    uid = panel.chosen().uid
    press(Qt.Key.Key_Return)
    assert window.page == LOG
    assert (window._pages[LOG].chosen().uid, window._pages[LOG].chosen().kind) == (uid, TRIP_ROW)
    window.show_page(TRIP)
    paint()
    typed = QApplication.focusWidget()
    press(Qt.Key.Key_F1)
    assert panel.parts.figure.what == "difference"
    assert DisplayUnits(window._newest.rig).stand_number(panel.parts.value, sign=True) == \
        page.sheet.item(page.sheet.currentRow() if page.sheet.currentRow() >= 0 else row, DIFFERENCE).text()
    press(Qt.Key.Key_F)
    assert page.row.entry.isVisible()
    press(Qt.Key.Key_Escape)
    assert QApplication.focusWidget() is typed, "back to the row being typed"
    click(page.head.answer)
    assert panel.parts.figure.what == "total"


def test_what_is_posted_is_followed_by_its_link(opened: Open) -> None:
    window = opened("trips", TRIP)
    page = window._pages[TRIP]
    figures = window._newest.trip.posted_figures
    assert len(figures) == len(window._newest.trip.posted) > 0
    assert page.beside.text().count("<a href=") == len(figures)
    page.beside.figure_asked.emit(figures[0])
    panel = window.following.panel
    assert panel.parts.figure == figures[0]
    assert panel.parts.value is not None
    assert f"{panel.parts.value:g} stand" in window._newest.trip.posted[0]


def test_a_connection_at_a_minute_is_followed_by_click_and_by_key(opened: Open) -> None:
    window = opened("day", CONNECTIONS)
    page, panel = window._pages[CONNECTIONS], window.following.panel
    column = next(c for c in range(page.table.columnCount()) if page.table.horizontalHeaderItem(c).text() == "3 min")
    click(page.table.viewport(), page.table.visualItemRect(page.table.item(1, column)).center())
    view = page.chosen()
    assert panel.parts.figure == Figure("connection", str(view.off_ms), "back", 3.0)
    assert panel.parts.value == pytest.approx(dict(view.back_at)[3.0])
    press(Qt.Key.Key_Escape)
    page.table.setFocus()
    press(Qt.Key.Key_F1)
    assert panel.parts.figure.what == "excess"
    assert panel.parts.value == pytest.approx(view.above_m3)
    press(Qt.Key.Key_Down)
    press(Qt.Key.Key_Return)
    assert panel.parts.figure.what == "band"
    assert any("accepted by" in row.what for row in panel.shown)
    press(Qt.Key.Key_Delete)
    assert window.page == CONNECTIONS, "the page's keys aren't the panel's"


def test_room_and_sticks_beside_the_board_are_links(opened: Open) -> None:
    window = opened("night", LINE_UP)
    page, panel = window._pages[LINE_UP], window.following.panel
    assert Figure("stock", "room") in page.figures()
    assert page.stock.text().count("<a href=") == len(page.figures())
    press(Qt.Key.Key_F1)
    assert panel.parts.figure == Figure("stock", "room")
    assert panel.parts.value == pytest.approx(window._newest.stock.room_m3)
    press(Qt.Key.Key_Escape)
    assert QApplication.focusWidget() is page.table


@pytest.mark.parametrize(("which", "page"), [("night", WATCH), ("trips", TRIP), ("day", CONNECTIONS), ("night", LINE_UP)])
@pytest.mark.parametrize(("size", "text"), [((1280, 800), 1.0), ((1280, 800), 1.3), ((1920, 1080), 1.0)])
def test_it_never_lies_over_the_strip_or_the_big_keys(opened: Open, which: str, page: str, size: tuple[int, int],
                                                      text: float) -> None:
    window = opened(which, page, size, text)
    shown = window._stack.currentWidget()
    for _ in shown.figures()[:6]:
        press(Qt.Key.Key_F1)
        panel = window.following.panel
        here = QRect(panel.mapTo(window, QPoint(0, 0)), panel.size())
        for kept in (window.strip, window.status, *(w for w in shown.kept_clear() if w.isVisible())):
            assert not here.intersects(QRect(kept.mapTo(window, QPoint(0, 0)), kept.size())), kept
        assert window.rect().contains(here)
        assert panel.table.viewport().height() >= panel.table.rowHeight(0) + 20, "more than one row"
        assert panel.table.horizontalScrollBar().maximum() == 0


def test_figures_that_can_be_followed_say_so(opened: Open) -> None:
    window = opened("night", WATCH)
    watch = window.watch
    for widget in (watch.figure, watch._actual, watch._expected, watch._other, watch.terms):
        assert widget.cursor().shape() == Qt.CursorShape.PointingHandCursor
        assert TIP in widget.toolTip()
        assert TIP in widget.accessibleDescription()
        assert widget.focusPolicy() & Qt.FocusPolicy.TabFocus
    assert GOES_ON in {row.leads for row in _rows_of(window, Figure("actual", "active"))}


def _rows_of(window: Window, figure: Figure) -> tuple:
    window.following.ask(figure)
    return window.following.panel.shown


def test_a_warning_can_be_acknowledged_while_it_is_open(opened: Open) -> None:
    window = opened("night", WATCH)
    press(Qt.Key.Key_F1)
    before = {w.occurrence: w.state for w in window._newest.warnings}
    press(Qt.Key.Key_F8)
    paint()
    assert {w.occurrence: w.state for w in window._desk.situation.warnings} != before
    assert window.following.is_open
