"""What a glove presses on the Round page, in millimetres at 96 dots an inch, on the smallest window with ten tanks."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication, QWidget
from ten_tanks import Keyboard

from dipbook_app.pages.round import RoundPage

MM = 96 / 25.4
"""Pixels to a millimetre at 96 dots an inch, which is what a screen of no other density is taken for."""
STRESS, LEAST, APART = 20.0, 9.0, 6.0
"""Under stress, and the least for a glove, side to side [mm] (our choice; 20 and 6 mm stand in the style sheet)."""


@pytest.fixture(params=[(1280, 800), (1920, 1080)], ids=["1280x800", "1920x1080"])
def page(request: pytest.FixtureRequest, tmp_path: Path, qapp: object) -> Iterator[RoundPage]:
    keyboard = Keyboard(tmp_path)
    keyboard.window.resize(*request.param)
    keyboard.press(Qt.Key.Key_F5)
    page = keyboard.window._pages["Round"]
    assert isinstance(page, RoundPage)
    keyboard.type_("55")
    for _ in range(4):  # what the page shows for the first time asks for room in turns
        keyboard.app.processEvents()
    yield page
    keyboard.close()


def size(widget: QWidget) -> tuple[float, float]:
    """Width and height [mm]."""
    assert widget.isVisible()
    return widget.width() / MM, widget.height() / MM


def test_save_and_its_neighbours_are_large_and_apart(page: RoundPage) -> None:
    keys = [page.foot.discard_button, page.foot.save_button]
    for key in keys:
        assert min(size(key)) >= STRESS - 0.1
    left, right = keys
    gap = right.mapTo(page, QPoint(0, 0)).x() - left.mapTo(page, QPoint(left.width(), 0)).x()
    assert gap / MM >= APART


def test_same_not_gauged_and_the_fields_of_every_row_are_large_enough(page: RoundPage) -> None:
    for row in page.rows:
        for key in (row.same_button, row.not_gauged_button):
            assert size(key)[0] >= STRESS
            assert size(key)[1] >= LEAST
        assert size(row.stick)[1] >= LEAST
        for widget in (row.stick, row.same_button, row.not_gauged_button):  # whole, and on nothing else
            assert row.rect().contains(widget.geometry() if widget is row.stick
                                       else widget.geometry().translated(row.keys.pos()))


def test_a_field_in_error_is_whole(page: RoundPage) -> None:
    row = page.rows[3]
    row.stick.setText("x")
    QApplication.processEvents()
    assert row.stick.property("part") == "bad"
    assert row.rect().contains(row.stick.geometry())
    assert row.stick.height() >= row.stick.minimumSizeHint().height()


def test_all_ten_rows_are_in_sight(page: RoundPage) -> None:
    seen = page.area.viewport().rect()
    for row in page.rows:
        assert seen.contains(row.geometry().translated(0, -page.area.verticalScrollBar().value()))


def test_the_keys_at_the_top_are_large_enough_and_whole(page: RoundPage) -> None:
    for key in (*page.head.modes.values(), *page.head.switches.values(), page.head.print_button):
        assert size(key)[1] >= LEAST
        room = key.fontMetrics().boundingRect(0, 0, 999, 999, 0, key.text())
        assert room.width() <= key.width() - 6
        assert room.height() <= key.height() - 2
    for row in page.rows:
        room = row.not_gauged_button.fontMetrics().boundingRect(0, 0, 999, 999, 0, row.not_gauged_button.text())
        assert room.height() <= row.not_gauged_button.height() - 2
