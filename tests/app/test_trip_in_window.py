"""The Trip page in the real window: nothing cut or overlapping, its key, and what isn't saved. Everything is invented."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot
from situations import warning
from trip_views import DUE_BBL, TANK, TripDesk, long_trip, some_rows, trip

from builders import BBL
from dipbook.situation import TripView
from dipbook_app.drafts import Drafts
from dipbook_app.pages.line_up import LineUpPage
from dipbook_app.pages.log import LogPage
from dipbook_app.pages.trip import TripPage
from dipbook_app.preferences import PreferencesFile
from dipbook_app.sound import Sound
from dipbook_app.window import Window

SIZES = [((1280, 800), 0.9), ((1280, 800), 1.0), ((1280, 800), 1.3), ((1280, 720), 1.3), ((1920, 1080), 1.0)]
Open = Callable[..., Window]


@pytest.fixture
def opened(tmp_path: Path, qtbot: QtBot) -> Iterator[Open]:
    """Opens the window on a trip, at its page."""
    windows: list[Window] = []

    def open_(view: TripView | None, size: tuple[int, int] = (1280, 800), text: float = 1.0, units: str = "") -> Window:
        preferences = PreferencesFile(tmp_path / "p.json")
        preferences.change(text=text, unit_set=units)
        window = Window(None, preferences, sound=Sound(commands=(), windows=False))
        qtbot.addWidget(window)
        desk = TripDesk(tmp_path / "drafts.json", view)
        desk.setParent(window)
        drafts = Drafts(desk.drafts_path, desk)
        window.take(desk, {"Line-up": LineUpPage(), "Log": LogPage(desk, drafts), "Trip": TripPage(desk, drafts)})
        window.resize(*size)
        window.show()
        window.show_page("Trip")
        paint()
        windows.append(window)
        return window

    yield open_
    for window in windows:
        window._pages["Log"].running._timer.stop()
        window.take(None, {})
        window.close()


def paint() -> None:
    for _ in range(4):
        QApplication.processEvents()


def box(widget: QWidget, page: QWidget) -> tuple[int, int]:
    """Top and bottom of a widget on its page [px]."""
    top = widget.mapTo(page, widget.rect().topLeft()).y()
    return top, top + widget.height()


@pytest.mark.parametrize(("size", "text"), SIZES, ids=lambda p: str(p))
@pytest.mark.parametrize(("held", "units", "direction"), [(True, "", "out"), (False, "", "out"), (False, "metric", "in")])
def test_nothing_is_cut_and_nothing_overlaps(opened: Open, size: tuple[int, int], text: float, held: bool, units: str,
                                             direction: str) -> None:
    due = (DUE_BBL if direction == "out" else -2.36) * BBL
    view = long_trip(direction=direction, next_due_m3=due, previous="Trip 2, out of the hole, dry, 28 Feb 2026 14:20")
    window = opened(view if held else replace(view, holds=()), size, text, units)
    page = window._pages["Trip"]
    assert [value.text() for pair in page.entry.live for value in pair if value.cut] == []
    page.entry.levels[TANK].setText("61 1/4 in")
    paint()
    assert [line.text() for line in page.head.lines() if line.cut] == []
    assert not page.head.answer.cut
    assert page.head.hold.heightForWidth(page.head.hold.width()) <= page.head.hold.height() + 8
    assert [value.text() for pair in page.entry.live for value in pair if value.cut] == []
    sheet = page.sheet
    for column in sheet.columns():
        for place in range(sheet.rowCount()):
            room = sheet.columnWidth(column) - 8
            if sheet.horizontalHeaderItem(column).text() != "Remark":
                assert sheet.fontMetrics().horizontalAdvance(sheet.item(place, column).text()) <= room, column
    assert {0, 1, 2, 3, 4, 5, 6, 8} <= set(sheet.columns())
    assert sum(sheet.columnWidth(c) for c in sheet.columns()) <= sheet.viewport().width()
    whole = sheet.viewport().height() // sheet.rowHeight(0)
    assert whole >= (1 if size[1] == 720 else 2)
    assert whole >= 7 or text > 1
    last = sheet.visualItemRect(sheet.item(sheet.rowCount() - 1, 0))
    assert last.bottom() <= sheet.viewport().height()
    field, live, kind = page.entry.levels[TANK], page.entry.live[0], page.entry.kind
    stack = [box(w, page) for w in (page.head, sheet, page.entry, page.bar)]
    inside = [box(w, page) for w in (field, *live, kind)]
    for boxes in (stack, inside):
        for (_, bottom), (top, _) in pairwise(boxes):
            assert bottom <= top
    assert stack[-1][1] <= page.height()
    for button in page.bar.buttons:
        lines = button.text().split("\n")
        assert len(lines) * button.fontMetrics().lineSpacing() <= button.height()
        assert max(button.fontMetrics().horizontalAdvance(line) for line in lines) <= button.width() - 4
    for one, other in pairwise([page.entry.lines["time"], page.entry.lines["stand"], page.entry.lines["bit depth"],
                                page.entry.levels[TANK], page.entry.lines["strokes"], page.entry.lines["remark"]]):
        assert one.geometry().right() < other.geometry().left()
    assert page.entry.lines["remark"].width() >= 90
    assert page.entry.geometry().right() < page.right.geometry().left()


@pytest.mark.parametrize(("size", "text"), SIZES, ids=lambda p: str(p))
@pytest.mark.parametrize("due", [True, False])
def test_what_stands_unfilled_is_whole(opened: Open, size: tuple[int, int], text: float, due: bool) -> None:
    words = "5 stands without a fill or a reading; unfilled the level is 123 ft down, 77 psi lost; posted for drill pipe: 5"
    page = opened(long_trip(unfilled=words, fill_due=due, holds=()), size, text)._pages["Trip"]
    told = page.head.unfilled
    assert told.heightForWidth(told.width()) <= told.height()
    assert box(told, page)[1] <= box(page.sheet, page)[0]
    assert [line.text() for line in page.head.lines() if line.cut] == []
    assert page.sheet.viewport().height() // page.sheet.rowHeight(0) >= 1


@pytest.mark.parametrize(("size", "text"), SIZES, ids=lambda p: str(p))
def test_the_plots_words_lie_on_the_plot_and_apart(opened: Open, size: tuple[int, int], text: float) -> None:
    previous = "Trip 2, out of the hole, dry, 28 Feb 2026 14:20"
    plot = opened(long_trip(previous=previous), size, text)._pages["Trip"].plot
    assert not (plot.thin.isVisible() and plot.thin.cut)
    view = plot._plot.vb.sceneBoundingRect()
    places = [item.mapRectToScene(item.boundingRect()).adjusted(4, 4, -4, -4) for item in plot._words]  # the letters
    assert all(view.contains(place) for place in places)
    assert [(a, b) for n, a in enumerate(places) for b in places[n + 1:] if a.intersects(b)] == []


@pytest.mark.parametrize("text", [1.0, 1.3])
def test_the_keys_letters_grow_with_the_text(opened: Open, text: float) -> None:
    page = opened(long_trip(), (1280, 720), text)._pages["Trip"]
    assert page.bar._px >= 15
    assert all(b.fontMetrics().height() >= 15 for b in page.bar.buttons)


@pytest.mark.parametrize("text", [0.9, 1.0, 1.3])
def test_the_empty_page_is_whole(opened: Open, text: float) -> None:
    page = opened(None, (1280, 800), text)._pages["Trip"]
    assert page.teaching.heightForWidth(page.teaching.width()) <= page.teaching.height() + 1
    assert page.begin_button.height() >= page.head.check_button.minimumSizeHint().height()


def test_the_page_has_its_place_and_its_key(opened: Open) -> None:
    window = opened(trip(some_rows(2)))
    window.show_page("Watch")
    (key,) = [s for s in window.findChildren(QShortcut) if s.key() == QKeySequence("Ctrl+4")]
    key.activated.emit()
    paint()
    assert window.page == "Trip"
    assert window._pages["Trip"].entry.levels[TANK].hasFocus()
    assert not window.rail._keys["Trip"].icon().isNull()


def test_a_row_that_isnt_saved_is_said_on_other_pages_and_f2_goes_back_to_it(opened: Open) -> None:
    window = opened(trip(some_rows(2)))
    page = window._pages["Trip"]
    QTest.keyClicks(page.entry.levels[TANK], "98")
    paint()
    assert not window.status.unsaved.isVisible(), "it is before one's eyes"
    window.show_page("Line-up")
    paint()
    assert window.status.unsaved.text() == "Not saved: A row of the trip. F2"
    window.go_on()
    paint()
    assert window.page == "Trip"
    assert page.entry.levels[TANK].text() == "98"
    page.row.save()
    window.show_page("Line-up")
    paint()
    assert not window.status.unsaved.isVisible()


def test_the_flow_checks_clock_opens_from_the_page(opened: Open) -> None:
    window = opened(trip(some_rows(2)))
    window._pages["Trip"].head.check_button.click()
    paint()
    assert window.page == "Log"
    assert window._pages["Log"].panel.form.title.text() == "Flow check"
    window._pages["Log"].panel.close_form()


def test_a_warning_moves_nothing_that_is_typed(opened: Open) -> None:
    window = opened(trip(some_rows(2)))
    page = window._pages["Trip"]
    page.entry.levels[TANK].setText("97")
    before = page.entry.mapTo(window, page.entry.rect().topLeft())
    window._desk.show(warnings=(warning(),))
    paint()
    assert window.strip.readings()[0]
    assert page.entry.mapTo(window, page.entry.rect().topLeft()) == before
    assert page.entry.levels[TANK].hasFocus()
    assert page.entry.levels[TANK].text() == "97"


@pytest.mark.parametrize("text", [0.9, 1.0, 1.3])
def test_the_row_being_typed_keeps_its_height_whatever_is_said_of_it(opened: Open, text: float) -> None:
    page = opened(trip(some_rows(2)), (1280, 800), text)._pages["Trip"]
    heights, tones = set(), set()
    for level in ("", "98", "60", "9x"):
        page.entry.levels[TANK].setText(level)
        paint()
        heights.add(page.entry.height())
        tones.add(page.entry.words.tone)
    assert tones == {"quiet", "doubt", "error"}
    assert len(heights) == 1
