"""The Line-up page: where everything stands and since when, how much room and mud there is, what sticks should read."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QFont, QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QScrollArea,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from dipbook.parts import Figure
from dipbook.situation import BoardLine, Situation
from dipbook_app.display import DisplayUnits
from dipbook_app.figure_links import figure_of, inked, link
from dipbook_app.stock_words import Section, sections
from dipbook_app.widgets.plain_table import make_plain
from dipbook_app.widgets.text_size import FONT_EVENTS, scaled

HEADINGS = ("", "What", "State", "Since", "Note")
CHANGED = "●"
"""Marks a line that isn't as the rig file has it; its text is bold, too."""
LEGEND = f"{CHANGED} and bold: not as the rig file has it at the start."
NOTE = HEADINGS.index("Note")
LEAST_NOTE = 150
"""Room for a note in the table [px]."""
NOTHING_DESCRIBED = "Valves, gates and equipment can be described in the rig file."
STOCK_WIDTH = 400
MOST_STOCK = 0.42
"""Share of the page's width that the stock takes at most."""


class LineUpPage(QWidget):
    """The board as a table, and beside it the stock of mud. Enter on a line opens the entry that changes it.

    Signals: entry_wanted(str, object): kind and fields of that entry. figure_asked(Figure): what a figure rests on.
    """

    entry_wanted = Signal(str, object)
    figure_asked = Signal(object)

    def __init__(self, unit_set: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._unit_set = unit_set
        self._situation: Situation | None = None
        self.lines: tuple[BoardLine, ...] = ()
        self._cells: list[tuple[str, ...]] = []
        self._figures: tuple[Figure, ...] = ()
        title = QLabel("Line-up")
        title.setProperty("part", "title")
        self.table = self._table()
        self.empty = QLabel(NOTHING_DESCRIBED)
        self.legend = QLabel(LEGEND)
        for label in (self.empty, self.legend):
            label.setWordWrap(True)
            label.setProperty("part", "soft")
        self.change_button = QPushButton("Change\nEnter")
        self.change_button.setProperty("part", "big")
        self.change_button.setAutoDefault(False)
        self.change_button.clicked.connect(self.change)
        foot = QHBoxLayout()
        foot.setSpacing(12)
        foot.addWidget(self.change_button)
        foot.addWidget(self.legend, 1)
        left = QVBoxLayout()
        left.addWidget(title)
        left.addWidget(self.table, 1)
        left.addWidget(self.empty)
        left.addLayout(foot)
        self.stock = QLabel()
        self.stock.setTextFormat(Qt.TextFormat.RichText)
        self.stock.setWordWrap(True)
        self.stock.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.stock.setAccessibleName("Stock")
        self.stock.linkActivated.connect(lambda href: self.figure_asked.emit(figure_of(href)))
        self.stock.setContentsMargins(12, 0, 0, 0)
        self.beside = QScrollArea()
        self.beside.setWidgetResizable(True)
        self.beside.setFrameShape(QFrame.Shape.NoFrame)
        self.beside.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.beside.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.beside.setWidget(self.stock)
        layout = QHBoxLayout(self)
        layout.addLayout(left, 1)
        layout.addWidget(self.beside)
        self._fit()
        self.setFocusProxy(self.table)

    def show_situation(self, situation: Situation) -> None:
        """Show the board and the stock."""
        self._situation = situation
        units = DisplayUnits(situation.rig, self._unit_set)
        self.lines = situation.board
        cells = [_cells(line, units, situation.now_ms) for line in self.lines]
        if cells != self._cells:
            self._fill(cells)
        rig = situation.rig
        self.empty.setVisible(not (rig.valves or rig.equipment))
        told = sections(situation, units)
        self._figures = tuple(figure for section in told for figure in section.figures.values())
        text = inked("".join(_html(section) for section in told), self.palette().windowText().color().name())
        if self.stock.text() != text:
            self.stock.setText(text)

    def show_units(self, unit_set: str) -> None:
        """Write in another set of units. unit_set: its name, "" for the rig's own."""
        self._unit_set = unit_set
        if self._situation is not None:
            self.show_situation(self._situation)

    def chosen(self) -> BoardLine | None:
        """The line that the cursor is on."""
        row = self.table.currentRow()
        return self.lines[row] if 0 <= row < len(self.lines) else None

    def figures(self) -> tuple[Figure, ...]:
        """Those beside the board that can be followed."""
        return self._figures

    def shown_in(self, figure: Figure) -> QWidget:
        """Where a figure is shown. figure: any of the page's: they all stand beside the board."""
        return self.beside

    def kept_clear(self) -> tuple[QWidget, ...]:
        """What nothing is laid over."""
        return (self.change_button,)

    def change(self) -> None:
        """Ask for the entry that changes the chosen line."""
        line = self.chosen()
        if line is not None:
            fields: Mapping[str, Any] = dict(line.fields)
            self.entry_wanted.emit(line.kind, fields)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Enter in the table; Home and End go to its first and last line, where a table of Qt's stays in the line."""
        if watched is self.table and event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
                self.change()
                return True
            if event.key() in (Qt.Key.Key_Home, Qt.Key.Key_End) and self.lines:
                self.table.setCurrentCell(0 if event.key() == Qt.Key.Key_Home else len(self.lines) - 1, 0)
                return True
        elif watched is self.table and event.type() == QEvent.Type.Resize:
            QTimer.singleShot(0, self, self._show_columns)
        return super().eventFilter(watched, event)

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the text."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "beside"):
            self._fit()

    def showEvent(self, event: QShowEvent) -> None:
        """Come up with the cursor in the table."""
        super().showEvent(event)
        if self.table.currentRow() < 0 and self.lines:
            self.table.setCurrentCell(0, 0)
        self.table.setFocus()

    def _fit(self) -> None:
        side = round(20 / 25.4 * self.logicalDpiY())
        self.change_button.setMinimumSize(scaled(self, 132), side)
        self._show_columns()

    def _show_columns(self) -> None:
        """The notes in the table where there is room; else the chosen line's stands below it."""
        self.beside.setFixedWidth(min(scaled(self, STOCK_WIDTH), round(self.width() * MOST_STOCK)))
        header = self.table.horizontalHeader()
        bar = self.table.verticalScrollBar().sizeHint().width()  # kept, so that the note doesn't come and go with it
        taken = [max(self.table.sizeHintForColumn(c), header.sectionSizeHint(c)) for c in range(NOTE)]
        taken = [max(wide, header.sectionSize(c)) for c, wide in enumerate(taken[:-1])] + taken[-1:]
        room = self.table.width() - 2 * self.table.frameWidth() - bar - sum(taken)
        hidden = room < scaled(self, LEAST_NOTE)
        self.table.setColumnHidden(NOTE, hidden)
        header.setSectionResizeMode(NOTE - 1, QHeaderView.ResizeMode.Stretch if hidden
                                    else QHeaderView.ResizeMode.ResizeToContents)
        self.table.resizeRowsToContents()
        self._say_note()

    def _say_note(self) -> None:
        line = self.chosen()
        note = line.note if line is not None and self.table.isColumnHidden(NOTE) else ""
        self.legend.setText(f"{line.name}: {note}." if line is not None and note else LEGEND)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Columns as there is room."""
        super().resizeEvent(event)
        self._show_columns()

    def _fill(self, cells: list[tuple[str, ...]]) -> None:
        """Only the cells that differ. The cursor stays on its line, even where lines came or went above it."""
        row = self.table.currentRow()
        name = self._cells[row][1] if 0 <= row < len(self._cells) else None
        first = not self._cells
        self._cells = cells
        self.table.setRowCount(len(cells))
        for place, texts in enumerate(cells):
            for column, text in enumerate(texts):
                item = self.table.item(place, column)
                if item is None:
                    item = QTableWidgetItem()
                    self.table.setItem(place, column, item)
                item.setText(text)
                item.setToolTip(text)
                font = QFont()       # only its weight is its own: it grows with the table's
                font.setBold(not self.lines[place].normal)
                item.setFont(font)
        places = [n for n, texts in enumerate(cells) if texts[1] == name]
        if name is not None and cells and row not in places:
            self.table.setCurrentCell(places[0] if places else -1, 0)
        if first and row < 0 and cells:
            self.table.setCurrentCell(0, 0)
        self._show_columns()
        self.change_button.setEnabled(bool(cells))

    def _table(self) -> QTableWidget:
        table = QTableWidget(0, len(HEADINGS))
        table.setHorizontalHeaderLabels(list(HEADINGS))
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        make_plain(table, "Line-up")
        table.verticalHeader().setMinimumSectionSize(36)
        table.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header = table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(len(HEADINGS) - 1, QHeaderView.ResizeMode.Stretch)
        table.installEventFilter(self)
        table.itemSelectionChanged.connect(self._say_note)
        return table


def _cells(line: BoardLine, units: DisplayUnits, now_ms: int) -> tuple[str, ...]:
    since = "rig file"
    if line.since_ms is not None:
        since = f"{units.time_near(line.since_ms, now_ms)}\n{units.span(now_ms - line.since_ms)}"
    return ("" if line.normal else CHANGED, line.name, line.state, since, line.note)


def _html(section: Section) -> str:
    rows = "".join(f"<tr><td style='padding: 2px 10px 2px 0'>{_plain(name)}</td>"
                   f"<td style='padding: 2px 0'><b>{link(value, section.figures.get(name))}</b></td></tr>"
                   for name, value in section.rows)
    notes = "".join(f"<p style='margin: 3px 0'>{_plain(note)}</p>" for note in section.notes)
    return f"<h3 style='margin: 10px 0 3px 0'>{_plain(section.title)}</h3><table>{rows}</table>{notes}"


def _plain(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
