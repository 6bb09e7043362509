"""The sheet of a trip as a table: a row a stand, the newest at the bottom and in sight."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt, QTimer, Signal
from PySide6.QtGui import QFont, QFontMetrics, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableWidget, QTableWidgetItem, QWidget

from dipbook.parts import Figure
from dipbook.situation import TripRowView, TripView
from dipbook_app import trip_words
from dipbook_app.display import DisplayUnits
from dipbook_app.part_words import TIP
from dipbook_app.widgets.plain_table import make_plain
from dipbook_app.widgets.text_size import FONT_EVENTS, scaled

TIME, STAND, BIT, LEVEL, SHOULD, TOOK, DIFFERENCE, LAST, IN_ALL, PACE, HOW, REMARK = range(12)
LEFT_OUT = (REMARK, PACE, HOW, LAST)
"""Columns that give way where there is no room, in this order; the chosen row is said whole beside the plot."""
NUMBERS = (STAND, BIT, SHOULD, TOOK, DIFFERENCE, LAST, IN_ALL)
FOLLOWED = {SHOULD: "expected", TOOK: "took", DIFFERENCE: "difference", LAST: "last", IN_ALL: "total"}
"""Columns whose numbers can be followed to their parts: as which figure."""
LEAST_REMARK = 70
ROOM = 14
"""What a cell's padding and a heading's take of its width [px]."""
LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter


class TripSheet(QTableWidget):
    """Signals: taken(TripRowView): Enter on a row, to correct it. pointed(object): the row that the cursor is on.
    left(): down from the last row, or Esc: back to the row being typed. figure_asked(Figure): what a number of a row
    rests on.
    """

    taken = Signal(object)
    pointed = Signal(object)
    left = Signal()
    figure_asked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(0, REMARK + 1, parent)
        self.rows: tuple[TripRowView, ...] = ()
        self._cells: list[tuple[str, ...]] = []
        self._headings: tuple[str, ...] = ()
        self._at_bottom = True
        self._low = False
        make_plain(self, "Trip sheet")
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        self.setWordWrap(False)
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        header.setMinimumSectionSize(20)
        header.setStyleSheet("QHeaderView::section { padding: 2px 5px; }")
        self.setStyleSheet("QTableView::item { padding: 2px 2px; }")
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.setMinimumHeight(1)  # in the lowest window the row being typed comes first
        bar = self.verticalScrollBar()
        bar.valueChanged.connect(self._note_place)
        bar.rangeChanged.connect(lambda _least, most: bar.setValue(most) if self._at_bottom else None)
        self.setMouseTracking(True)
        self.cellClicked.connect(self._ask)
        self.cellEntered.connect(lambda _row, column: self.viewport().setCursor(
            Qt.CursorShape.PointingHandCursor if column in FOLLOWED else Qt.CursorShape.ArrowCursor))
        self.currentCellChanged.connect(lambda *_: self.pointed.emit(self.chosen()))

    def set_low(self, low: bool) -> None:
        """low: headings of one line, from the next ``show_trip`` on."""
        self._low = low

    def show_trip(self, trip: TripView, units: DisplayUnits) -> None:
        """Show the rows; in sight stays what was, and the newest where that was."""
        headings = trip_words.headings(trip, units, low=self._low)
        cells = [trip_words.cells(row, trip, units) for row in trip.rows]
        chosen = self.chosen()
        self.rows = trip.rows
        if headings != self._headings:
            self._headings = headings
            self.setHorizontalHeaderLabels(list(headings))
            for column in NUMBERS:
                item = self.horizontalHeaderItem(column)
                if item is not None:
                    item.setTextAlignment(RIGHT)
        elif cells == self._cells:
            return
        self._cells = cells
        self.setRowCount(len(cells))
        for place, texts in enumerate(cells):
            for column, text in enumerate(texts):
                self._write(place, column, text)
        place = next((n for n, row in enumerate(self.rows) if chosen is not None and row.uid == chosen.uid), -1)
        if place != self.currentRow():
            self.setCurrentCell(place, 0 if place >= 0 else -1)
        self._fit()

    def chosen(self) -> TripRowView | None:
        """The row that the cursor is on."""
        return self.rows[self.currentRow()] if 0 <= self.currentRow() < len(self.rows) else None

    def choose_newest(self) -> None:
        """Put the cursor on the newest row."""
        if self.rows:
            self.setCurrentCell(len(self.rows) - 1, 0)

    def forget(self) -> None:
        """No row is chosen."""
        self.setCurrentCell(-1, -1)
        self.clearSelection()

    def columns(self) -> tuple[int, ...]:
        """Those that are shown."""
        return tuple(c for c in range(REMARK + 1) if not self.isColumnHidden(c))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter takes the row; down from the last and Esc lead back."""
        key = event.key()
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if (row := self.chosen()) is not None:
                self.taken.emit(row)
        elif key == Qt.Key.Key_Escape or (key == Qt.Key.Key_Down and self.currentRow() >= len(self.rows) - 1):
            self.left.emit()
        elif key in (Qt.Key.Key_Home, Qt.Key.Key_End) and self.rows:
            self.setCurrentCell(0 if key == Qt.Key.Key_Home else len(self.rows) - 1, 0)
        elif event.text().isprintable() and event.text():
            event.ignore()  # a letter is the page's, and searches no table
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Columns as there is room."""
        super().resizeEvent(event)
        self._fit()

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the text."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "_cells"):
            QTimer.singleShot(0, self, self._fit)

    def _write(self, place: int, column: int, text: str) -> None:
        item = self.item(place, column)
        if item is None:
            item = QTableWidgetItem()
            item.setTextAlignment(RIGHT if column in NUMBERS else LEFT)
            self.setItem(place, column, item)
        item.setText(text)
        item.setToolTip(f"{text}\n{TIP}" if text and column in FOLLOWED else text)

    def _ask(self, place: int, column: int) -> None:
        if column in FOLLOWED and place < len(self.rows) and self.rows[place].uid and self._cells[place][column]:
            self.figure_asked.emit(Figure("trip", self.rows[place].uid, FOLLOWED[column]))

    def _note_place(self, value: int) -> None:
        self._at_bottom = value >= self.verticalScrollBar().maximum() - 1

    def _fit(self) -> None:
        """Each column as wide as its text; those of LEFT_OUT give way, the remark takes what is left."""
        if not self._headings:
            return
        metrics, bold = self.fontMetrics(), QFont(self.font())
        bold.setBold(True)
        headed = QFontMetrics(bold)
        self.verticalHeader().setDefaultSectionSize(metrics.height() + 7)
        room = self.viewport().width()
        needed = [max(*(headed.horizontalAdvance(line) for line in self._headings[c].split("\n")),
                      *(metrics.horizontalAdvance(texts[c]) for texts in self._cells), 0) + ROOM for c in range(REMARK)]
        needed.append(scaled(self, LEAST_REMARK))
        hidden = set[int]()
        for column in LEFT_OUT:
            if sum(width for c, width in enumerate(needed) if c not in hidden) <= room:
                break
            hidden.add(column)
        left = room - sum(width for c, width in enumerate(needed) if c not in hidden)
        each = max(0, left) // (REMARK + 1 - len(hidden))
        for column, width in enumerate(needed):
            self.setColumnHidden(column, column in hidden)
            wide = width + (each if REMARK in hidden else max(0, left) if column == REMARK else 0)
            if self.columnWidth(column) != wide:
                self.setColumnWidth(column, wide)
        if self._at_bottom:
            self.scrollToBottom()
