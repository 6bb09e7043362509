"""Nothing of the Warnings page and of the rail is cut, whatever the window's size and the text's."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import pytest
from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QFontMetrics
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from app.real_desks import put_away
from dipbook.cautions import CAUTION, RETURN_FLOW
from dipbook_app import demo
from dipbook_app.clock import Clock
from dipbook_app.page_names import WARNINGS
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program
from dipbook_app.stylesheet import stylesheet
from dipbook_app.theme import DAY, NIGHT, Look
from dipbook_app.widgets.rail import Rail

NOW_S = 1_767_701_080.0
SIZES = [((1280, 800), 1.0), ((1280, 800), 1.5), ((1280, 720), 1.3), ((1920, 1080), 1.0)]
PAGES = ("Watch", "Round", "Line-up", "Log", "Limits", "Trip", "Connections", "Rig", "Warnings", "Start", "Tenth", "Eleventh")


@pytest.fixture(scope="module")
def demo_log(tmp_path_factory: pytest.TempPathFactory, qapp: object) -> Path:
    """The demo's log, made once."""
    return demo.make_log(round(NOW_S * 1000), tmp_path_factory.mktemp("demo"))


@pytest.fixture(params=SIZES, ids=lambda p: f"{p[0][0]}x{p[0][1]} text {p[1]}")
def program(request: pytest.FixtureRequest, tmp_path: Path, demo_log: Path, qtbot: QtBot) -> Iterator[Program]:
    size, text = request.param
    made = Program(PreferencesFile(tmp_path / "p.json"), Clock(wall=lambda: NOW_S, steady=lambda: 0.0))
    look = made.window._chosen_look()
    made.window._chosen_look = lambda: replace(look, text=text)  # type: ignore[method-assign]
    made.window._apply_look()
    made.window.resize(*size)
    made.window.show()
    made.open_log(Path(shutil.copy(demo_log, tmp_path)))
    made.window.show_page(WARNINGS)
    paint()
    yield made
    put_away(made)


def paint() -> None:
    for _ in range(6):
        QApplication.processEvents()


def inside(widget: QWidget, of: QWidget) -> QRect:
    return QRect(widget.mapTo(of, widget.rect().topLeft()), widget.size())


def test_the_keys_and_the_words_have_their_room(program: Program) -> None:
    window, page = program.window, program.window._pages[WARNINGS]
    buttons = [b for b in (page.answer_button, page.silence_button, page.hint_button, page.map_button, page.more_button)
               if b.isVisible()]
    for button in buttons:
        assert button.width() >= button.sizeHint().width(), button.text()
        assert inside(button, page).right() <= page.width(), button.text()
    for label in (page.title, page.count, page.story.done, page.story.caution):
        if label.isVisible():
            assert label.height() >= label.heightForWidth(label.width()) or not label.wordWrap(), label.text()
    parts = [w for w in (page._left, page.right, *buttons) if w.isVisible()]
    for one, other in combinations(parts, 2):
        assert not inside(one, page).intersects(inside(other, page)), (one, other)
    beside = page.story.caution.text()
    assert not beside or beside in (f"{CAUTION} {RETURN_FLOW}", RETURN_FLOW), "whole, shorter, or left to the strip"
    assert window.strip.readings()[-1] == CAUTION
    assert bool(page.story.done.text()) != ("What was done" in dict(page.story._sections)), "told once, wherever there is room"
    assert page.more_button.isVisible() is page.story.has_more


def test_what_is_not_in_sight_is_read_with_the_button_or_its_key(program: Program) -> None:
    page = program.window._pages[WARNINGS]
    bar = page.story.area.verticalScrollBar()
    if not page.story.has_more:
        assert program.window._look.text < 1.2, "at the ordinary text all of it is in sight"
        return
    page.more_button.click()
    moved = bar.value()
    assert moved > 0
    QTest.keyClick(page.list, Qt.Key.Key_PageUp)
    assert bar.value() < moved
    for _ in range(9):
        QTest.keyClick(page.list, Qt.Key.Key_PageDown)
    assert bar.value() == bar.maximum(), "to the last word"


def test_all_open_warnings_stand_whole_in_the_list(program: Program) -> None:
    page = program.window._pages[WARNINGS]
    assert page.list.height() >= page.list.needed, "two of them"
    assert page.list.horizontalScrollBar().maximum() == 0


def test_the_words_on_the_plot_stand_apart(program: Program) -> None:
    plot = program.window._pages[WARNINGS].story.plot
    boxes = [item.sceneBoundingRect() for item in plot.word_items()]
    assert len(boxes) >= 4
    for one, other in combinations(boxes, 2):
        assert not one.adjusted(3, 3, -3, -3).intersects(other.adjusted(3, 3, -3, -3))
    for box in boxes:
        assert plot.room.adjusted(-4, -4, 4, 4).contains(box)


def test_the_map_needs_no_sideways_scrolling_and_cuts_no_word(program: Program) -> None:
    page = program.window._pages[WARNINGS]
    page.turn()
    paint()
    table = page.map.table
    assert table.horizontalScrollBar().maximum() == 0
    metrics = table.fontMetrics()
    for (row, column), at in page.map._at.items():
        icon = table.iconSize().width() + 4 if at.cell.limits else 0
        assert metrics.horizontalAdvance(table.item(row, column).text()) + icon + 12 <= table.columnWidth(column)
    assert page.map.detail.said.startswith("Gain, active system")


def test_a_form_stands_whole_beside_the_list(program: Program) -> None:
    page = program.window._pages[WARNINGS]
    page.answer()
    paint()
    form = page.form
    assert form is not None
    for row in form.fields:
        place = inside(row.editor, form.area.viewport())
        assert place.top() >= 0
        assert place.bottom() <= form.area.viewport().height(), row.name
    for key in (form.save_button, form.close_button):
        assert inside(key, page).bottom() <= inside(page.answer_button, page).top(), key.text()
        assert inside(key, form).bottom() <= form.height()


@pytest.mark.parametrize(("height", "text"), [(770, 1.0), (770, 1.3), (760, 1.5), (690, 1.3), (690, 1.5)])
@pytest.mark.parametrize("palette", [DAY, NIGHT], ids=["day", "night"])
def test_the_rail_holds_twelve_pages_and_cuts_none(qtbot: QtBot, height: int, text: float, palette: object) -> None:
    look = Look(palette, text)  # type: ignore[arg-type]
    rail = Rail(look)
    qtbot.addWidget(rail)
    rail.setStyleSheet(stylesheet(look))
    rail.show_pages(PAGES)
    rail.resize(rail.width(), height)
    rail.show()
    rail.set_look(look)
    rail.mark("Connections")
    paint()
    assert rail.minimumHeight() <= height
    keys = list(rail._keys.values())
    assert rail.counted() == (*PAGES[:8], "Start"), "nine figures, and no key stands where none is bound"
    assert [key.text().split("\n")[1] for key in keys[-3:]] == ["Ctrl+9", "", ""]
    assert keys[-1].geometry().bottom() <= height
    for key in keys:
        icon, name, bound = key.places()
        assert not icon.intersects(name)
        assert not icon.intersects(bound)
        assert not name.intersects(bound)
        for part in (icon, name, bound):
            assert key.rect().adjusted(0, -1, 0, 1).contains(part), key.text()
        metrics = QFontMetrics(key.font())
        assert metrics.height() <= name.height() + 2
        bold = key.font()
        bold.setBold(key.isChecked())
        assert QFontMetrics(bold).horizontalAdvance(key.accessibleName()) <= name.width() + 4, key.text()
        small = QFontMetrics(key._key_font())
        assert small.horizontalAdvance(key.text().split("\n")[1]) <= bound.width() + 2, key.text()
        assert small.height() <= bound.height() + 2
