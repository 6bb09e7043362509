"""The map of what is watched, drawn as a grid: things down, kinds of limit across, in one block or two side by side."""

from __future__ import annotations

from dataclasses import dataclass

import qtawesome
from PySide6.QtCore import QEvent, QObject, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from dipbook.situation import AsideView
from dipbook.situation_of_warnings import WatchedCell, WatchedGroup, WatchedLimit, WatchedMap, WatchedRow
from dipbook_app import watched_words
from dipbook_app.display import DisplayUnits
from dipbook_app.theme import Look
from dipbook_app.widgets.plain_table import make_plain
from dipbook_app.widgets.text_size import FONT_EVENTS, scaled
from dipbook_app.widgets.words_label import WordsLabel

DETAIL_LINES = 3
PAD_PX, ICON_PX = 24, 16
"""Around a cell's words, and its icon [px at the ordinary text]."""
ROW_PX, MOST_ROW_PX = 25, 40
FRAME = 4
GAP_PX = 18
"""Between two blocks."""


@dataclass(frozen=True, slots=True)
class _At:
    """What stands in a place of the grid. group: its name; head: the row of its heading."""

    row: WatchedRow
    cell: WatchedCell
    group: str
    head: int


class WatchedGrid(QWidget):
    """Arrows go from cell to cell; what the chosen one stands for is written whole below."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._map: WatchedMap | None = None
        self._units: DisplayUnits | None = None
        self._now_ms = 0
        self._at: dict[tuple[int, int], _At] = {}
        self._aside: tuple[AsideView, ...] = ()
        self._shown: tuple[object, ...] = ()
        self.title = QLabel("What is watched")
        self.title.setProperty("part", "title")
        self.counts = WordsLabel()
        self.table = QTableWidget()
        make_plain(self.table, "What is watched")
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectItems)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setAlternatingRowColors(False)
        self.table.horizontalHeader().hide()
        self.table.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.table.currentCellChanged.connect(lambda *_: self._tell())
        self.table.installEventFilter(self)
        self.detail = WordsLabel(DETAIL_LINES)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        head = QHBoxLayout()
        head.setSpacing(18)
        head.addWidget(self.title)
        head.addWidget(self.counts, 1)
        layout.addLayout(head)
        layout.addWidget(self.table, 99)
        layout.addWidget(self.detail)
        layout.addStretch(1)
        self.setFocusProxy(self.table)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._look = look
        self._fill(anew=True)

    def show_map(self, view: WatchedMap, units: DisplayUnits, now_ms: int, aside: tuple[AsideView, ...] = ()) -> None:
        """view: the map; units: the crew's; now_ms [UTC ms]; aside: how those that are set aside are."""
        self._map, self._units, self._now_ms, self._aside = view, units, now_ms, aside
        self._fill()

    def choose(self, kind: str, on: str) -> None:
        """Put the cursor on a kind of limit of a thing. kind: of a limit. on: as the map names it."""
        for (row, column), at in self._at.items():
            ons = {at.cell.on, *(w.limit.on for w in at.cell.limits)}
            if at.cell.kind == kind and on in ons:
                self._go(row, column)
                return

    @property
    def limits(self) -> tuple[WatchedLimit, ...]:
        """Those of the cell that the cursor is on, what counts most first."""
        at = self._at.get((self.table.currentRow(), self.table.currentColumn()))
        return () if at is None else at.cell.limits

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Up and Down go on where the column has no more cells: to the nearest one of the next row."""
        if watched is self.table and event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            step = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}.get(Qt.Key(event.key()), 0)
            if step:
                self._step(step)
                return True
        return super().eventFilter(watched, event)

    def _step(self, step: int) -> None:
        """To the next row of the same block that has a cell, as near to this column as there is one. step: +1, −1."""
        row, column = self.table.currentRow(), self.table.currentColumn()
        wide = 2 + (0 if self._map is None else max((len(g.kinds) for g in self._map.groups), default=0))
        ahead = [(r, c) for r, c in self._at if (r - row) * step > 0 and c // wide == column // wide]
        if ahead:
            self._go(*min(ahead, key=lambda at: (abs(at[0] - row), abs(at[1] - column), at[1])))

    def _go(self, row: int, column: int) -> None:
        """Put the cursor there."""
        self.table.setCurrentCell(row, column)
        self._see(row, column)

    def _see(self, row: int, column: int) -> None:
        """Bring a cell into sight, its heading too."""
        at = self._at.get((row, column))
        for place in (row if at is None else at.head, row):
            if (item := self.table.item(place, column)) is not None:
                self.table.scrollToItem(item)

    def readings(self) -> tuple[tuple[str, ...], ...]:
        """The words of the grid, row by row."""
        return tuple(tuple(self._text(r, c) for c in range(self.table.columnCount()))
                     for r in range(self.table.rowCount()))

    def words_of(self, kind: str, on: str) -> str:
        """The words of one cell, "" where there is none. kind, on: as in ``choose``."""
        return next((self._text(*place) for place, at in self._at.items()
                     if (at.cell.kind, at.cell.on) == (kind, on)), "")

    def _text(self, row: int, column: int) -> str:
        item = self.table.item(row, column)
        return "" if item is None else item.text()

    # --- filling ------------------------------------------------------------------------------------------------

    def _blocks(self, view: WatchedMap) -> tuple[tuple[WatchedGroup, ...], ...]:
        """One above the other where there is the height, else in two columns of about the same length."""
        groups = view.groups
        total = sum(len(g.rows) + 1 for g in groups)
        fits = total * scaled(self, ROW_PX) <= self._room()
        if fits or len(groups) < 2 or self.width() < self._wide(view) + 2 * FRAME:
            return (groups,)
        best = min(range(1, len(groups)), key=lambda k: abs(2 * sum(len(g.rows) + 1 for g in groups[:k]) - total))
        return groups[:best], groups[best:]

    def _room(self) -> int:
        """Height for the rows [px]."""
        return self.height() - self.title.sizeHint().height() - self.detail.sizeHint().height() - 4 * FRAME

    def _wide(self, view: WatchedMap) -> int:
        """How wide two blocks are whose words are all whole [px]."""
        units, metrics = self._units, self.fontMetrics()
        assert units is not None
        font = QFont(self.table.font())
        font.setBold(True)
        heads = QFontMetrics(font)
        names = max(metrics.horizontalAdvance(watched_words.row_words(row, g.name))
                    for g in view.groups for row in g.rows)
        cells = max(metrics.horizontalAdvance(watched_words.cell_words(c, units))
                    for g in view.groups for row in g.rows for c in row.cells)
        kinds = max(len(g.kinds) for g in view.groups)
        over = max(heads.horizontalAdvance(watched_words.column_words(k)) for g in view.groups for k in g.kinds)
        pad, icon = scaled(self, PAD_PX), scaled(self, ICON_PX) + 6
        return 2 * (names + pad + kinds * (max(cells + icon, over) + pad)) + GAP_PX

    def _fill(self, *, anew: bool = False) -> None:
        view, units = self._map, self._units
        if view is None or units is None:
            return
        blocks = self._blocks(view)
        told = (view, units, len(blocks), self._now_ms // 60_000)
        if told == self._shown and not anew:
            return
        self._shown = told
        self.counts.say(watched_words.counts(view) + "." + (
            f" Not watched: {watched_words.others(view, units, self._now_ms)}" if view.others else ""))
        here = (self.table.currentRow(), self.table.currentColumn())
        kinds = max((len(g.kinds) for g in view.groups), default=0)
        width = kinds + 1
        self.table.blockSignals(True)
        self.table.clear()
        self.table.setRowCount(max(sum(len(g.rows) + 1 for g in block) for block in blocks))
        self.table.setColumnCount(len(blocks) * width + len(blocks) - 1)
        self._at = {}
        for number, block in enumerate(blocks):
            self._fill_block(block, number * (width + 1), width, units)
        for place in range(self.table.rowCount()):
            for column in range(self.table.columnCount()):
                if self.table.item(place, column) is None:
                    self.table.setItem(place, column, _plain("", chosen=False))
        self.table.blockSignals(False)
        self._fit()
        if here not in self._at:
            here = next(iter(self._at), (-1, -1))
        self._go(*here)
        self._tell()

    def _fill_block(self, block: tuple[WatchedGroup, ...], left: int, width: int, units: DisplayUnits) -> None:
        row = 0
        for group in block:
            head = row
            self.table.setItem(row, left, self._heading(watched_words.GROUPS.get(group.name, group.name)))
            for place in range(width - 1):
                words = watched_words.column_words(group.kinds[place]) if place < len(group.kinds) else ""
                self.table.setItem(row, left + 1 + place, self._heading(words, soft=True))
            for each in group.rows:
                row += 1
                name = _plain(watched_words.row_words(each, group.name), chosen=False)
                name.setForeground(self._look.colour("ink"))
                self.table.setItem(row, left, name)
                for place, cell in enumerate(each.cells):
                    item = _plain(watched_words.cell_words(cell, units), chosen=cell.possible)
                    icon = watched_words.icon_of(cell)
                    if icon:
                        item.setIcon(qtawesome.icon(icon, color=self._look.palette.ink))
                    if not cell.limits:
                        item.setForeground(self._look.colour("soft"))
                    self.table.setItem(row, left + 1 + place, item)
                    if cell.possible:
                        self._at[row, left + 1 + place] = _At(each, cell, group.name, head)
            row += 1

    def _heading(self, words: str, *, soft: bool = False) -> QTableWidgetItem:
        item = _plain(words, chosen=False)
        font = QFont(self.table.font())
        font.setBold(True)
        item.setFont(font)
        item.setBackground(self._look.colour("ground"))
        item.setForeground(self._look.colour("soft" if soft else "ink"))
        return item

    def _tell(self) -> None:
        at, units = self._at.get((self.table.currentRow(), self.table.currentColumn())), self._units
        self.detail.say("" if at is None or units is None else
                        watched_words.detail(at.row, at.cell, at.group, units, self._now_ms, self._aside))

    def _fit(self) -> None:
        """Names as wide as they need, the cells share the rest."""
        header, blocks = self.table.horizontalHeader(), 1 if self._map is None else len(self._blocks(self._map))
        columns = self.table.columnCount()
        width = (columns - blocks + 1) // max(1, blocks)
        for column in range(columns):
            place = column % (width + 1)
            if place == width:
                header.setSectionResizeMode(column, QHeaderView.ResizeMode.Fixed)
                header.resizeSection(column, GAP_PX)
            else:
                header.setSectionResizeMode(column, QHeaderView.ResizeMode.ResizeToContents if place == 0
                                            else QHeaderView.ResizeMode.Stretch)
        side = scaled(self, ICON_PX)
        self.table.setIconSize(QSize(side, side))
        self.table.verticalHeader().setMinimumSectionSize(8)
        rows = max(1, self.table.rowCount())
        high = max(scaled(self, ROW_PX), min(scaled(self, MOST_ROW_PX), self._room() // rows))
        for place in range(rows):
            self.table.setRowHeight(place, high)
        self.table.setMaximumHeight(rows * high + 2 * FRAME)
        self._word_cells()
        self._see(self.table.currentRow(), self.table.currentColumn())

    def _word_cells(self) -> None:
        """With why, where a cell has the room for it."""
        units, metrics = self._units, self.table.fontMetrics()
        if units is None:
            return
        around = scaled(self, ICON_PX) + scaled(self, PAD_PX)
        for (row, column), at in self._at.items():
            more = watched_words.more_words(at.cell, units, self._now_ms)
            fits = metrics.horizontalAdvance(more) + around <= self.table.columnWidth(column)
            item = self.table.item(row, column)
            if item is not None:
                words = more if fits else watched_words.cell_words(at.cell, units)
                item.setToolTip(words)
                wide = metrics.horizontalAdvance(words) + around > self.table.columnWidth(column)
                item.setText(watched_words.tight_words(at.cell, units) if wide else words)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """One block or two, as there is room."""
        super().resizeEvent(event)
        self._fill()
        self._fit()

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the text."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "detail"):
            self._fill(anew=True)


def _plain(words: str, *, chosen: bool) -> QTableWidgetItem:
    """chosen: the cursor may stand on it."""
    item = QTableWidgetItem(words)
    item.setToolTip(words)
    item.setFlags(Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable if chosen else Qt.ItemFlag.NoItemFlags)
    return item
