"""The demo's trips: their log opens, the sheet finds what was put in, and the books agree with what was moved."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit
from pytestqt.qtbot import QtBot
from real_desks import Hands

from dipbook import balance, composing, store
from dipbook.books import Books, build
from dipbook.records import WARNING, Record
from dipbook.terms.trip import sheet_of
from dipbook_app import demo_trips
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program

BBL = 0.158987294928
NOW = 1_772_352_900_000


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> tuple[Record, ...]:
    with store.open(demo_trips.make_log(NOW, Path(tmp_path_factory.mktemp("demo")))) as log:
        return log.records()


@pytest.fixture(scope="module")
def books(records: tuple[Record, ...]) -> Books:
    return build(records)


def test_out_and_back_in_are_clean_and_the_last_trip_shows_the_four_barrels_that_came_in(books: Books) -> None:
    """The trip tank is read to an eighth of an inch, 0.036 bbl: every sum within 0.15 bbl of what was put in."""
    sums = [sheet_of(books, trip)[0][-1].cumulative_m3 / BBL for trip in books.trips]
    assert sums == pytest.approx([0.0, 0.0, 4.0], abs=0.15)
    assert [trip.end_ms is None for trip in books.trips] == [False, False, True]
    assert [f.what for trip in books.trips for f in sheet_of(books, trip)[1]] == []


def test_all_surface_agrees_with_the_sheet_at_every_reading(books: Books) -> None:
    """What came in shows on all tanks together, whatever was moved between them; a quarter inch of every tank is within 4u."""
    b = balance.at(books, books.readings.end_ms, "all surface")
    last = books.trips[-1]
    before = b.t_ms < last.begun_ms
    assert np.all(np.abs(b.difference_m3[before]) < 4 * b.u_m3[before] + 0.2 * BBL)
    assert b.difference_m3[-1] / BBL == pytest.approx(4.0, abs=0.5)
    assert balance.followed(books, [int(b.t_ms[-1])]) == (("Trip",), ("",))


def test_the_warnings_are_raised_and_the_hold_points_wait_for_somebody(books: Books, records: tuple[Record, ...]) -> None:
    raised = [(r.payload["name"], r.payload["system"]) for r in records if r.kind == WARNING and r.payload["state"] == "raised"
              and r.payload["kind"] != "overdue"]
    assert raised == [("last five stands", "took less"), ("whole trip", "took less")]
    trip = composing.picture(composing.seen(books), NOW).trip
    assert trip is not None
    assert [h.decided for h in trip.holds] == ["", ""]
    assert [(p.place, p.state) for p in trip.prompts] == [("off bottom", "done"), ("at the shoe", "ahead"), ("before the BHA", "ahead")]
    assert trip.previous.startswith("Trip 1, out of the hole, dry")


def test_the_trip_page_goes_on_with_the_demo_s_trip_by_keyboard(tmp_path: Path, qtbot: QtBot, qapp: QApplication) -> None:
    """On the real window: one level and Enter are a stand; the trip before is drawn behind it."""
    hands = Hands(NOW)
    program = Program(PreferencesFile(tmp_path / "p.json"), hands.clock())
    qtbot.addWidget(program.window)
    program.window.show()
    program.open_log(demo_trips.make_log(NOW, tmp_path))
    program.window.show_page("Trip")
    qtbot.waitUntil(lambda: isinstance(QApplication.focusWidget(), QLineEdit))
    rows = len(program.desk.situation.trip.rows)
    QTest.keyClicks(QApplication.focusWidget(), "21 3/4")
    QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Return)
    trip = program.desk.situation.trip
    assert len(trip.rows) == rows + 1
    assert trip.rows[-1].stand == demo_trips.LAST_STAND + 1
    assert trip.rows[-1].difference_m3 / BBL == pytest.approx(0.0, abs=0.05)
    program.window.show_page("Watch")
    qtbot.waitUntil(lambda: program.window.watch.figure.readings()[2] == "trip: hole took less")
    QTest.mouseClick(program.window.watch.figure, Qt.MouseButton.LeftButton)
    assert program.window.following.panel.parts.title == "The trip's sum"
    log = program.window.open_page("Log")
    log.show_kinds(("trip row",))
    log.table.selectRow(log.table.model().rowCount() - 1)
    log.correct()
    assert log.words.said.startswith("A row of a trip is corrected on the Trip page")
    program.close_log()
