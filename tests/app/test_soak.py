"""A watch is long: a thousand repaints of the real Watch page on a real log take no more memory at their end."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QObject
from pytestqt.qtbot import QtBot
from real_desks import NOW, Hands

from dipbook import store
from dipbook.records import Dip
from dipbook_app import demo
from dipbook_app.desk import Desk
from dipbook_app.preferences import PreferencesFile
from dipbook_app.sound import Sound
from dipbook_app.window import Window

REPAINTS = 1_000
WARM_UP = 100
MOST_MB = 2.0
"""More than the allocator's own noise, and less than the columns of 500 trends that something held on to (8 kB each)."""
STATM = Path("/proc/self/statm")

pytestmark = [pytest.mark.slow, pytest.mark.skipif(not STATM.exists(), reason="memory is read from /proc")]


class Paints(QObject):
    """Counts the paint events of a widget."""

    def __init__(self, widget: QObject) -> None:
        super().__init__()
        self.count = 0
        widget.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        self.count += event.type() == QEvent.Type.Paint
        return False


class Station:
    """A desk on the demo's log with the real window, its time moved by hand."""

    def __init__(self, folder: Path) -> None:
        self.hands = Hands(NOW)
        self.desk = Desk(store.open(demo.make_log(NOW, folder), station="desk"), self.hands.clock(), ticking=False)
        self.desk.set_on_watch("R. Moe")
        self.window = Window(self.desk, PreferencesFile(folder / "preferences.json"), sound=Sound(commands=()))
        self.window.show()

    def repaint(self, *, anew: bool) -> None:
        """A second passes; anew: the figure and the trend are drawn anew too."""
        self.hands.pass_(1 / 60)
        self.desk.tick()
        if anew:
            now = self.desk.situation
            self.window.show_situation(replace(now, trend=replace(now.trend), difference_m3=now.now_ms / 1000 % 7))
        self.window._throttle.stop()
        self.window._paint_newest()
        QCoreApplication.processEvents()

    def gauge(self) -> None:
        """A round that finds every tank as it was, 20 s later."""
        self.hands.pass_(1 / 3)
        now = self.desk.now_ms()
        rig = self.desk.situation.rig
        dips = [Dip(t.name, now, "=", float(rig.tank(t.name).dip_of_level(t.level_m)), unchanged=True)
                for t in self.desk.situation.tanks if t.level_m is not None]
        assert self.desk.save_round(dips, start_ms=now, end_ms=now, observer="R. Moe", author="R. Moe")

    def close(self) -> None:
        self.window.take(None, {})
        self.window.close()
        self.desk.close()
        self.desk.deleteLater()


@pytest.fixture
def station(tmp_path: Path, qtbot: QtBot) -> Iterator[Station]:
    made = Station(tmp_path)
    qtbot.addWidget(made.window)
    yield made
    made.close()


def resident_mb() -> float:
    gc.collect()
    return int(STATM.read_text(encoding="ascii").split()[1]) * 4096 / 1e6


def test_a_thousand_repaints_of_the_watch_page_take_no_more_memory(station: Station) -> None:
    figure, plot = Paints(station.window.watch.figure), Paints(station.window.watch.plot._view.viewport())
    for i in range(WARM_UP):
        station.repaint(anew=i % 2 == 0)
    before, figures, plots = resident_mb(), figure.count, plot.count
    for i in range(REPAINTS):
        station.repaint(anew=i % 2 == 0)
    assert plot.count - plots >= REPAINTS // 2, "the plot was painted each time that it was drawn anew"
    assert figure.count - figures >= REPAINTS // 2, "the figure was painted"
    assert resident_mb() - before < MOST_MB


def test_a_hundred_rounds_saved_with_the_window_open_keep_memory_bounded(station: Station) -> None:
    """Each round is a record that stays; what the books and the page work out from them is let go."""
    for _ in range(20):
        station.gauge()
        station.repaint(anew=False)
    before = resident_mb()
    for _ in range(100):
        station.gauge()
        station.repaint(anew=False)
    assert resident_mb() - before < 2 * MOST_MB
