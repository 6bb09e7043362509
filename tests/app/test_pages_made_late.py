"""A page is made when it is first asked for, and is then as if it had been there: look, units, situation, what it says."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot
from real_desks import GAIN, MIN, NOW, OVERDUE, Hands, make_log, rig_text

from dipbook_app.drafts import Drafts
from dipbook_app.page_names import DRILL, LOG, REVIEW, ROUND, START, TRIP, WARNINGS, WATCH
from dipbook_app.pages.review import ReviewPage
from dipbook_app.pages_made_late import Pages
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program
from dipbook_app.theme import TEXT_SIZES


@pytest.fixture
def program(tmp_path: Path, qtbot: QtBot) -> Iterator[Program]:
    hands = Hands(NOW + MIN)
    drafts = Drafts(tmp_path / "a.dipbook.drafts.json")
    drafts.put("entry remark", {"label": "Remark", "began_ms": NOW, "remark": "shakers"})
    drafts.flush()
    made = Program(PreferencesFile(tmp_path / "p.json"), hands.clock())
    made.marks.folder = tmp_path
    qtbot.addWidget(made.window)
    assert made.open_log(make_log(tmp_path / "a.dipbook", rig_text(GAIN, OVERDUE)))
    made.desk._tick.stop()
    made.window.show()
    yield made
    made.close_log()


def test_a_log_is_opened_with_the_watch_page_alone_and_every_other_comes_whole(program: Program) -> None:
    window = program.window
    assert set(window._pages.made) == {WATCH, DRILL, START}
    assert {ROUND, LOG, TRIP, WARNINGS, REVIEW} <= set(window._pages)
    assert "Remark" in window.status._unsaved.text(), "what isn't saved is told without the page it was typed on"
    window.next_units()
    window._preferences.change(text=TEXT_SIZES[-1])
    window._apply_look()
    window.show_page(ROUND)
    page = window._pages[ROUND]
    assert window.page == ROUND
    assert page.isVisible()
    assert [row.tank for row in page.rows] == ["Settling", "Suction", "Reserve 1"]
    assert window._pages[ROUND] is page
    assert set(window._pages.made) == {WATCH, DRILL, START, ROUND}
    seen = [child for child in page.findChildren(QWidget) if hasattr(child, "look")]
    assert all(child.look == window.look for child in seen)
    QTest.keyClick(window, Qt.Key.Key_F8, Qt.KeyboardModifier.ShiftModifier)
    assert window.page == WARNINGS
    window.show_page(REVIEW)
    QTest.keyClick(window._pages[REVIEW], Qt.Key.Key_F1)
    assert window.status._said._words == ReviewPage.no_figure


def test_pages_are_made_once_and_settled_and_names_make_none(qtbot: QtBot) -> None:
    settled: list[QWidget] = []
    there = QWidget()
    qtbot.addWidget(there)
    pages = Pages({"a": there, "b": QWidget}, settled.append)
    assert list(pages) == ["a", "b"]
    assert "b" in pages
    assert len(pages) == 2
    assert (pages.made, settled) == ({"a": there}, [])
    b = pages["b"]
    qtbot.addWidget(b)
    assert pages.get("b") is b
    assert settled == [b]
    assert pages.get("c") is None
    assert pages.made == {"a": there, "b": b}
