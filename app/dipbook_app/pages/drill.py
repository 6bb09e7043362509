"""The Drill page: choose a training drill and begin it; while one runs, what it is; afterwards where it lies."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QKeySequence, QResizeEvent, QShortcut
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from dipbook.cautions import CAUTION
from dipbook.drill_folder import DIPS, SENSORS
from dipbook.drill_run import Choice
from dipbook_app.choosing import RIG_FILES, SCENARIO_FILES, Choose, choose_file, path_of
from dipbook_app.drilling.beginning import seed_of
from dipbook_app.theme import Look
from dipbook_app.widgets.drop_list import DropList
from dipbook_app.widgets.plain_table import WholeCells, make_plain

ANY = "Any of them"
ANY_TRAINS = "One that the seed draws: you are told at the end which it was"
BY_SENSORS, BY_DIPS = "by sensors", "by dips, walked"
SUFFIX = ".toml"
START_MM, KEY_MM = 54.0, 13.0
"""Width and height of the keys at the foot [mm]: none is pressed under stress."""
SHOWN, SEALED = "shown", "kept from the trainee until the end"
WHAT_IT_IS = ("A drill runs in a log of its own, on the ordinary pages, with an invented well, on the demo rig or on a "
              "rig file of yours. Everything in it is invented, every page of it is hatched and says DRILL, and "
              "nothing of it reaches a real log. The rig's own well-control procedures govern, not this.")
LIST_ROWS = 5
"""So many rows of the list are seen at least."""


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
        self.ask_file: Choose = choose_file
        self._ids: tuple[str, ...] = ()
        self._folder: Path | None = None
        self._start_px = self._key_px = 0
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
        self.rig, self.own = QLineEdit(), QLineEdit()
        self.rig.setPlaceholderText("the demo rig")
        self.own.setPlaceholderText("one of the list")
        self.own.textChanged.connect(self._own_turned)
        self.start = self._key("Start the drill\nCtrl+Shift+B", self.begin)
        self.debrief = self._key("Go through it\nCtrl+Shift+Return", self._go_through)
        self.past = self._key("Drills done\nCtrl+Shift+H", self.past_wanted.emit)
        self.pit_record = self._key("Pit drill's record\nCtrl+Shift+P", self.pit_record_wanted.emit)
        self.pit_record.setToolTip("Of the last pit drill on the rig, to be signed: written beside the log")
        self.words = QLabel()
        self.words.setWordWrap(True)
        self.words.setProperty("part", "strong")
        self.words.setTextFormat(Qt.TextFormat.PlainText)
        caution = QLabel(CAUTION)
        caution.setProperty("part", "soft")
        caution.setWordWrap(True)
        self.asks = QWidget()
        self.area = QScrollArea()
        self._build(title, what, caution)
        for key, do in (("Ctrl+Shift+B", self.begin), ("Ctrl+Shift+Return", self._go_through),
                        ("Ctrl+Shift+H", self.past_wanted.emit), ("Ctrl+Shift+P", self.pit_record_wanted.emit),
                        ("Ctrl+Shift+R", self.choose_rig), ("Ctrl+Shift+F", self.choose_own)):
            shortcut = QShortcut(QKeySequence(key), self)
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            shortcut.activated.connect(do)
        self.setFocusProxy(self.table)
        self.debrief.hide()
        self.pit_record.hide()
        self.set_look(look)

    def _key(self, words: str, do: Callable[[], object]) -> QPushButton:
        key = QPushButton(words)
        key.setProperty("part", "low")
        key.clicked.connect(lambda: do())
        return key

    def _build(self, title: QLabel, what: QLabel, caution: QLabel) -> None:
        form = QGridLayout(self.asks)
        form.setContentsMargins(0, 0, 0, 0)
        form.setHorizontalSpacing(10)
        for words, field, row, place, wide in (
                ("Trainee", self.trainee, 0, 0, 1), ("Instructor", self.instructor, 0, 2, 1),
                ("Seed, a number", self.seed, 1, 0, 1), ("Tanks are read", self.mode, 1, 2, 1),
                ("Name and seed are", self.sealed, 2, 0, 3), ("Rig file", self.rig, 3, 0, 2),
                ("Own scenario file", self.own, 4, 0, 2)):
            label = QLabel(words)
            label.setBuddy(field)
            form.addWidget(label, row, place)
            form.addWidget(field, row, place + 1, 1, wide)
        for row, key, do in ((3, "Ctrl+Shift+R", self.choose_rig), (4, "Ctrl+Shift+F", self.choose_own)):
            choose = QPushButton(f"Choose {key}")
            choose.clicked.connect(lambda _=False, ask=do: ask())
            form.addWidget(choose, row, 3)
        form.setColumnStretch(1, 1)
        form.setColumnStretch(3, 1)
        body = QWidget()
        inner = QVBoxLayout(body)
        inner.setContentsMargins(0, 0, 6, 0)
        for part in (title, what):
            inner.addWidget(part)
        inner.addWidget(self.table, 1)
        inner.addWidget(self.asks)
        inner.addWidget(caution)
        self.area.setWidget(body)
        self.area.setWidgetResizable(True)
        self.area.setFrameShape(QFrame.Shape.NoFrame)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        buttons = QHBoxLayout()
        buttons.setSpacing(12)
        for button in (self.start, self.debrief, self.past, self.pit_record):
            buttons.addWidget(button)
        buttons.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 10, 16, 8)
        column.addWidget(self.area, 1)
        column.addWidget(self.words)
        column.addLayout(buttons)

    def set_look(self, look: Look) -> None:
        """Take on new sizes."""
        self._start_px, self._key_px = look.mm(START_MM), max(look.mm(KEY_MM), look.px(46))
        self._fit()

    def _fit(self) -> None:
        """Keys as wide as their words, rows as high as theirs."""
        for key in (self.start, self.debrief, self.past, self.pit_record):
            key.setFixedSize(self._start_px, self._key_px)
        self.table.resizeRowsToContents()
        header, rows = self.table.horizontalHeader().sizeHint().height(), min(LIST_ROWS, self.table.rowCount())
        self.table.setMinimumHeight(header + sum(self.table.rowHeight(row) for row in range(rows)) + 4)

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
        own = str(path_of(self.own.text())) if self.own.text().strip() else ""
        if own and Path(own).suffix.lower() != SUFFIX:
            self.say(f"{self.own.text().strip()} is no scenario file: its name ends in {SUFFIX}.")
            self.own.setFocus()
            return
        self.begin_wanted.emit(Choice(
            own or self._ids[max(0, self.table.currentRow())], seed, self.sealed.currentText() == SEALED,
            self.trainee.text().strip(), self.instructor.text().strip(), mode, self.rig.text().strip()))

    def choose_rig(self) -> None:
        """Ask for the rig file that the drill is to run on."""
        self._choose(self.rig, "Choose a rig file to run the drill on", RIG_FILES)

    def choose_own(self) -> None:
        """Ask for a scenario file, to be run in place of one of the list."""
        self._choose(self.own, "Choose a scenario file", SCENARIO_FILES)

    def _choose(self, line: QLineEdit, title: str, pattern: str) -> None:
        if self.asks.isEnabled() and (path := self.ask_file(self, title, pattern, line.text())):
            line.setText(path)
            line.setFocus()

    def _own_turned(self, text: str) -> None:
        """The list says nothing while a file goes before it."""
        self.table.setEnabled(self.asks.isEnabled() and not text.strip())

    def seal(self) -> None:
        """Show nothing of what was chosen: it is kept from the trainee."""
        self.seed.clear()
        self.own.clear()
        self.table.selectRow(0)

    def say(self, words: str) -> None:
        """Say what happened, or why not."""
        self.words.setText(words)

    def show_under_way(self, words: str) -> None:
        """A drill is under way: nothing else is begun. words: which, "" while none is."""
        for part in (self.asks, self.start):
            part.setEnabled(not words)
        self._own_turned(self.own.text())
        self.say(words)

    def show_finished(self, folder: Path | None, words: str) -> None:
        """folder: of the drill that was finished, None for none. words: what came of it."""
        self._folder = folder
        self.debrief.setVisible(folder is not None)
        self.say(words)

    def _go_through(self) -> None:
        if self._folder is not None:
            self.debrief_wanted.emit(self._folder)

