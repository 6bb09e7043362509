"""Coming to the Trip page on a real desk, in the real window: the cursor is where the level is typed. All invented."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from real_desks import Bench, Hands, bench, make_log, rig_text
from test_trips_at_the_desk import TRIP

from dipbook_app.drafts import Drafts
from dipbook_app.page_names import CONNECTIONS, LINE_UP, LOG
from dipbook_app.page_names import TRIP as TRIP_PAGE
from dipbook_app.pages.connections import ConnectionsPage
from dipbook_app.pages.line_up import LineUpPage
from dipbook_app.pages.log import LogPage
from dipbook_app.pages.trip import TripPage
from dipbook_app.preferences import PreferencesFile
from dipbook_app.sound import Sound
from dipbook_app.window import Window

CTRL = Qt.KeyboardModifier.ControlModifier


class Opened:
    """The window on a real log, with the keyboard's own way to the widget that has the cursor."""

    def __init__(self, b: Bench, path: Path, qtbot: QtBot) -> None:
        self.bench = b
        drafts = Drafts(b.desk.drafts_path, b.desk)
        self.window = Window(None, PreferencesFile(path / "p.json"), sound=Sound(commands=(), windows=False))
        qtbot.addWidget(self.window)
        self.window.take(b.desk, {LINE_UP: LineUpPage(), LOG: LogPage(b.desk, drafts),
                                  TRIP_PAGE: TripPage(b.desk, drafts), CONNECTIONS: ConnectionsPage()})
        self.window.resize(1280, 800)
        self.window.show()
        self.window.activateWindow()
        self.paint()

    def paint(self) -> None:
        for _ in range(4):
            QApplication.processEvents()

    def key(self, key: Qt.Key, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        QTest.keyClick(QApplication.focusWidget() or self.window, key, modifier)
        self.paint()

    def type_(self, text: str) -> None:
        QTest.keyClicks(QApplication.focusWidget(), text)
        self.paint()

    def to_trip(self) -> None:
        """The page's own key."""
        place = self.window.rail.names().index(TRIP_PAGE)
        self.key(Qt.Key(Qt.Key.Key_1 + place), CTRL)

    @property
    def level(self) -> str:
        return self.window._pages[TRIP_PAGE].entry.levels["Trip"].text()


@pytest.fixture
def opened(tmp_path: Path, qtbot: QtBot) -> Iterator[Opened]:
    with bench(make_log(tmp_path / "log.dipbook", rig_text(TRIP)), Hands()) as b:
        b.hands.pass_(1)
        b.round()
        b.desk.set_on_watch("R. Moe")
        shown = Opened(b, tmp_path, qtbot)
        yield shown
        shown.window._pages[LOG].running._timer.stop()
        shown.window.take(None, {})
        shown.window.close()


def begin(opened: Opened, start: str) -> None:
    """Open the entry that begins a trip from a page, and save it by its keys."""
    opened.window.show_page(start)
    opened.paint()
    if start == TRIP_PAGE:
        opened.key(Qt.Key.Key_B, Qt.KeyboardModifier.AltModifier)
    else:
        opened.window._pages[LOG].panel.add("trip")
    opened.paint()
    form = opened.window._pages[LOG].panel.form
    for name, text in (("direction", "out"), ("bit depth", "9000"), ("pulled", "dry")):
        form.field(name).set_text(text)
    form.field("pulled").focus()
    for _ in range(2):      # what looks odd is asked about once
        if opened.bench.desk.situation.trip is None:
            opened.key(Qt.Key.Key_Return, CTRL)
    assert opened.bench.desk.situation.trip is not None


@pytest.mark.parametrize("start", [TRIP_PAGE, LOG])
def test_after_the_trip_was_begun_its_key_leads_to_the_level(opened: Opened, start: str) -> None:
    begin(opened, start)
    opened.to_trip()
    opened.type_("90")
    assert opened.level == "90"
    opened.key(Qt.Key.Key_Return)
    assert [r.levels for r in opened.bench.desk.situation.trip.rows] == [(("Trip", "90"),)]


def test_a_trip_that_began_while_the_page_was_hidden(opened: Opened) -> None:
    assert opened.bench.log("trip", direction="out", bit_depth="9000", pulled="dry") == ()
    for page in (LINE_UP, CONNECTIONS):
        opened.window.show_page(page)
        opened.paint()
        opened.to_trip()
        opened.type_("9")
        assert opened.level == "9", "what was typed is marked when one comes back"
    QTest.mouseClick(opened.window.rail._keys[LINE_UP], Qt.MouseButton.LeftButton)
    opened.paint()
    QTest.mouseClick(opened.window.rail._keys[TRIP_PAGE], Qt.MouseButton.LeftButton)
    opened.paint()
    assert QApplication.focusWidget() is opened.window._pages[TRIP_PAGE].entry.levels["Trip"]


def test_a_trip_that_begins_before_ones_eyes(opened: Opened) -> None:
    opened.window.show_page(TRIP_PAGE)
    opened.paint()
    assert opened.bench.log("trip", direction="out", bit_depth="9000", pulled="dry") == ()
    opened.window._paint_newest()
    opened.paint()
    opened.type_("90")
    assert opened.level == "90"


def test_its_key_leads_to_the_level_from_the_plot_and_the_sheet(opened: Opened) -> None:
    begin(opened, LOG)
    opened.to_trip()
    page = opened.window._pages[TRIP_PAGE]
    for widget in (page.plot, page.sheet, page.beside, page.head.check_button):
        widget.setFocus()
        opened.to_trip()
        assert QApplication.focusWidget() is page.entry.levels["Trip"]
        widget.setFocus()
        opened.window.show_page(LOG)
        opened.paint()
        opened.to_trip()
        assert QApplication.focusWidget() is page.entry.levels["Trip"]
