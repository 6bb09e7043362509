"""The drills that were done, by trainee and date: for coaching, with nobody ranked by them."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from PySide6.QtCore import QEvent, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QHeaderView, QLabel, QTableWidget, QTableWidgetItem, QVBoxLayout, QWidget

from dipbook.debrief.history import DrillDone
from dipbook.debriefing import Past
from dipbook_app import history_words as words
from dipbook_app.display import DisplayUnits
from dipbook_app.theme import Look
from dipbook_app.widgets.plain_table import WholeCells, make_plain
from dipbook_app.widgets.text_size import FONT_EVENTS

SCENARIO = words.HEADINGS.index("Scenario")


class DrillHistory(QWidget):
    """One heading a trainee, then a row a drill, the newest last. Enter, or a click on a row again, opens its debrief.

    wanted(Path): the folder of the drill that is to be opened. closed(): Esc.
    """

    wanted = Signal(object)
    closed = Signal()

    def __init__(self, look: Look | None = None, unit_set: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._unit_set = unit_set
        self._past: Past | None = None
        self._folders: list[Path | None] = []
        self.note = _words("soft")
        self.unread = _words("bad")
        self.table = QTableWidget(0, len(words.HEADINGS))
        self.table.setHorizontalHeaderLabels(list(words.HEADINGS))
        self.table.setSelectionMode(QTableWidget.SelectionMode.SingleSelection)
        self.table.setVerticalScrollMode(QTableWidget.ScrollMode.ScrollPerPixel)
        make_plain(self.table, "Drills that were done")
        self.table.setAlternatingRowColors(False)
        self.table.setItemDelegateForColumn(SCENARIO, WholeCells(self.table))
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(SCENARIO, QHeaderView.ResizeMode.Stretch)
        self.table.cellDoubleClicked.connect(lambda *_: self.open_chosen())
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        for widget, stretch in ((self.note, 0), (self.table, 1), (self.unread, 0)):
            layout.addWidget(widget, stretch)
        self.setFocusProxy(self.table)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes: the style sheet does it all."""

    def show_units(self, unit_set: str) -> None:
        """Write in another set of units. unit_set: its name, "" for each rig's own."""
        self._unit_set = unit_set
        if self._past is not None:
            self.show_past(self._past)

    def show_past(self, past: Past) -> None:
        """past: the drills to show."""
        self._past = past
        units = {path.name: DisplayUnits(rig, self._unit_set) for path, _, rig in past.drills}
        places = {path.name: path for path, _, _ in past.drills}
        self._folders = []
        self.table.clearSpans()
        self.table.setRowCount(0)       # its labels go with its rows
        self.table.setRowCount(sum(1 + len(t.drills) for t in past.trainees))
        for trainee in past.trainees:
            row = len(self._folders)
            self._heading(row, f"{words.name_of(trainee)}. "
                               f"{words.in_all(trainee, units[trainee.drills[-1].folder])}")
            self._folders.append(None)
            for done in trainee.drills:
                self._row(len(self._folders), done, units)
                self._folders.append(places[done.folder])
        self.note.setText(f"{words.KEYS} {words.NOTE}" if past.drills else words.NONE)
        self.unread.setText("\n".join(f"{path.name} can't be read. {why}" for path, why in past.unread))
        self.unread.setVisible(bool(past.unread))
        self.table.setVisible(bool(past.drills))
        last = len(self._folders) - 1
        if last >= 0:
            self.table.setCurrentCell(last, 0)
        QTimer.singleShot(0, self, self._fit)

    def rows(self) -> tuple[tuple[str, ...], ...]:
        """The rows as they read, headings of trainees with one cell."""
        found = []
        for row, folder in enumerate(self._folders):
            label = self.table.cellWidget(row, 0)
            cells = [self.table.item(row, c) for c in range(len(words.HEADINGS))]
            found.append((label.text(),) if isinstance(label, QLabel) and folder is None else
                         tuple("" if cell is None else cell.text() for cell in cells))
        return tuple(found)

    def open_chosen(self) -> None:
        """Ask for the debrief of the chosen drill."""
        row = self.table.currentRow()
        folder = self._folders[row] if 0 <= row < len(self._folders) else None
        if folder is not None:
            self.wanted.emit(folder)

    def _row(self, row: int, done: DrillDone, units: Mapping[str, DisplayUnits]) -> None:
        for column, text in enumerate(words.cells(done, units[done.folder])):
            self._put(row, column, text)

    def _put(self, row: int, column: int, text: str) -> None:
        item = QTableWidgetItem(text)
        item.setTextAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.table.setItem(row, column, item)

    def _heading(self, row: int, text: str) -> None:
        """A trainee's name and sums over the whole width: a label, since a cell's words widen its column."""
        item = QTableWidgetItem()
        item.setFlags(Qt.ItemFlag.NoItemFlags)
        self.table.setItem(row, 0, item)
        label = _words("strong")
        label.setText(text)
        label.setContentsMargins(6, 8, 6, 2)
        self.table.setCellWidget(row, 0, label)
        self.table.setSpan(row, 0, 1, len(words.HEADINGS))

    def _fit(self) -> None:
        self.table.resizeRowsToContents()
        for row in range(len(self._folders)):
            label = self.table.cellWidget(row, 0)
            if label is not None:
                self.table.setRowHeight(row, label.heightForWidth(self.table.viewport().width()) + 6)
        item = self.table.currentItem()
        if item is not None:
            self.table.scrollToItem(item)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter opens the chosen drill, Esc closes."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.open_chosen()
        elif event.key() == Qt.Key.Key_Escape:
            self.closed.emit()
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Words wrap anew."""
        super().resizeEvent(event)
        QTimer.singleShot(0, self, self._fit)

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the text."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "table"):
            QTimer.singleShot(0, self, self._fit)


def _words(part: str) -> QLabel:
    label = QLabel()
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setProperty("part", part)
    return label
