"""The Drill page: choose a training drill and begin it; while one runs, what it is; afterwards where it lies."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QKeySequence, QResizeEvent, QShortcut
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QLineEdit,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from dipbook.cautions import CAUTION
from dipbook.drill_folder import DIPS, SENSORS
from dipbook.drill_run import Choice
from dipbook_app.drilling.beginning import seed_of
from dipbook_app.theme import Look
from dipbook_app.widgets.drop_list import DropList
from dipbook_app.widgets.plain_table import WholeCells, make_plain

ANY = "Any of them"
ANY_TRAINS = "One that the seed draws: you are told at the end which it was"
BY_SENSORS, BY_DIPS = "by sensors", "by dips, walked"
START_MM = 54.0
"""Width of the key that starts it [mm]."""
SHOWN, SEALED = "shown", "kept from the trainee until the end"
WHAT_IT_IS = ("A drill runs in a log of its own, on the ordinary pages, on an invented rig and well. Everything in it "
              "is invented, every page of it is hatched and says DRILL, and nothing of it reaches a real log. The "
              "rig's own well-control procedures govern, not this.")


class DrillPage(QWidget):
    """begin_wanted(Choice): begin this drill. debrief_wanted(Path): go through the finished drill in this folder.
    past_wanted(): show the drills that were done. pit_record_wanted(): write the record of the last pit drill on the
    rig."""

    begin_wanted = Signal(object)
    debrief_wanted = Signal(object)
    past_wanted = Signal()
    pit_record_wanted = Signal()

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._ids: tuple[str, ...] = ()
        self._folder: Path | None = None
        self._start_px = 0
        title = QLabel("Training drill")
        title.setProperty("part", "title")
        what = QLabel(WHAT_IT_IS)
        what.setWordWrap(True)
        what.setProperty("part", "soft")
        self.table = QTableWidget(0, 2)
        self.table.setHorizontalHeaderLabels(["Drill", "What it trains"])
        make_plain(self.table, "Drills")
        self.table.setSelectionMode(QTableWidget.SelectionMode.SingleSelection)
        self.table.setItemDelegateForColumn(1, WholeCells(self.table))
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
        header.sectionResized.connect(lambda *_: self.table.resizeRowsToContents())
        self.trainee, self.instructor, self.seed = QLineEdit(), QLineEdit(), QLineEdit()
        self.seed.setPlaceholderText("drawn")
        self.sealed = DropList()
        self.sealed.addItems([SHOWN, SEALED])
        self.mode = DropList()
        self.mode.addItems([BY_SENSORS, BY_DIPS])
        self.start = QPushButton("Start the drill\nCtrl+Shift+B")
        self.start.setProperty("part", "big")
        self.start.clicked.connect(self.begin)
        self.debrief = QPushButton("Go through it\nCtrl+Shift+Return")
        self.debrief.setProperty("part", "big")
        self.debrief.clicked.connect(self._go_through)
        self.past = QPushButton("Drills done\nCtrl+Shift+H")
        self.past.setProperty("part", "big")
        self.past.clicked.connect(self.past_wanted)
        self.pit_record = QPushButton("Pit drill's record\nCtrl+Shift+P")
        self.pit_record.setProperty("part", "big")
        self.pit_record.setToolTip("Of the last pit drill on the rig, to be signed: written beside the log")
        self.pit_record.clicked.connect(self.pit_record_wanted)
        self.words = QLabel()
        self.words.setWordWrap(True)
        self.words.setProperty("part", "strong")
        self.words.setTextFormat(Qt.TextFormat.PlainText)
        caution = QLabel(CAUTION)
        caution.setProperty("part", "soft")
        caution.setWordWrap(True)
        self.asks = QWidget()
        self._build(title, what, caution)
        for key, do in (("Ctrl+Shift+B", self.begin), ("Ctrl+Shift+Return", self._go_through),
                        ("Ctrl+Shift+H", self.past_wanted.emit), ("Ctrl+Shift+P", self.pit_record_wanted.emit)):
            shortcut = QShortcut(QKeySequence(key), self)
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            shortcut.activated.connect(do)
        self.setFocusProxy(self.table)
        self.debrief.hide()
        self.pit_record.hide()
        self.set_look(look)

    def _build(self, title: QLabel, what: QLabel, caution: QLabel) -> None:
        form = QGridLayout(self.asks)
        form.setContentsMargins(0, 0, 0, 0)
        form.setHorizontalSpacing(10)
        for words, field, row, place, wide in (
                ("Trainee", self.trainee, 0, 0, 1), ("Instructor", self.instructor, 0, 2, 1),
                ("Seed, a whole number", self.seed, 1, 0, 1), ("Tanks are read", self.mode, 1, 2, 1),
                ("Name and seed are", self.sealed, 2, 0, 3)):
            label = QLabel(words)
            label.setBuddy(field)
            form.addWidget(label, row, place)
            form.addWidget(field, row, place + 1, 1, wide)
        form.setColumnStretch(1, 1)
        form.setColumnStretch(3, 1)
        buttons = QVBoxLayout()
        buttons.addWidget(self.start)
        buttons.addWidget(self.debrief)
        buttons.addWidget(self.past)
        buttons.addWidget(self.pit_record)
        buttons.addStretch(1)
        below = QHBoxLayout()
        below.setSpacing(24)
        below.addWidget(self.asks, 1)
        below.addLayout(buttons)
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 10, 16, 8)
        for part in (title, what):
            column.addWidget(part)
        column.addWidget(self.table, 1)
        column.addLayout(below)
        column.addWidget(self.words)
        column.addWidget(caution)

    def set_look(self, look: Look) -> None:
        """Take on new sizes."""
        self._start_px = look.mm(START_MM)
        self._fit()

    def _fit(self) -> None:
        """Keys as wide as their words, rows as high as theirs."""
        for key in self.findChildren(QPushButton):
            key.setFixedWidth(self._start_px)
        self.table.resizeRowsToContents()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Other lines for another width."""
        super().resizeEvent(event)
        QTimer.singleShot(0, self, self._fit)

    def show_situation(self, situation: Any) -> None:
        """Nothing here comes of the log but that it has a pit drill."""
        self.pit_record.setVisible(situation.pit_drills > 0)

    def show_scenarios(self, scenarios: tuple[tuple[str, str, str], ...]) -> None:
        """scenarios: (id, name, what it trains), as listed."""
        rows = (("", ANY, ANY_TRAINS), *scenarios)
        self._ids = tuple(row[0] for row in rows)
        self.table.setRowCount(len(rows))
        for n, (_, name, trains) in enumerate(rows):
            for column, text in enumerate((name, trains)):
                self.table.setItem(n, column, QTableWidgetItem(text))
        self.table.selectRow(0)
        self.table.resizeRowsToContents()

    def choose(self, scenario: str) -> None:
        """Choose a drill. scenario: its id, "" for any."""
        self.table.selectRow(self._ids.index(scenario))

    def begin(self) -> None:
        """Begin the drill that is chosen."""
        if not self.start.isEnabled():
            return
        seed = seed_of(self.seed.text())
        if seed is None:
            self.say("The seed is a whole number of up to nine figures, or blank for one that is drawn.")
            self.seed.setFocus()
            return
        if not self._ids:
            return
        mode = DIPS if self.mode.currentText() == BY_DIPS else SENSORS
        self.begin_wanted.emit(Choice(
            self._ids[max(0, self.table.currentRow())], seed, self.sealed.currentText() == SEALED,
            self.trainee.text().strip(), self.instructor.text().strip(), mode))

    def seal(self) -> None:
        """Show nothing of what was chosen: it is kept from the trainee."""
        self.seed.clear()
        self.table.selectRow(0)

    def say(self, words: str) -> None:
        """Say what happened, or why not."""
        self.words.setText(words)

    def show_under_way(self, words: str) -> None:
        """A drill is under way: nothing else is begun. words: which, "" while none is."""
        for part in (self.table, self.asks, self.start):
            part.setEnabled(not words)
        self.say(words)

    def show_finished(self, folder: Path | None, words: str) -> None:
        """folder: of the drill that was finished, None for none. words: what came of it."""
        self._folder = folder
        self.debrief.setVisible(folder is not None)
        self.say(words)

    def _go_through(self) -> None:
        if self._folder is not None:
            self.debrief_wanted.emit(self._folder)

