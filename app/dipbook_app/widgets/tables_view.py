"""The tables of a report on the screen, one below the other: the same words and figures as on its paper.

Drawn by hand, so that nothing is cut: columns of numbers keep their width, words wrap, letters become a little smaller,
and where even that is too wide the tables can be moved sideways.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QRectF, Qt, Signal
from PySide6.QtGui import QFont, QFontMetricsF, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QAbstractScrollArea, QWidget

from dipbook_app.printing.paper import Cell, Grid
from dipbook_app.theme import Look

SIZES = (14, 13, 12, 11)
"""Letters that are tried, the first that fits is taken [px at text size 1]."""
TITLE_PX, NOTE_PX = 16, 13
PAD, ABOVE, BETWEEN, EDGE = 7, 3, 16, 6
"""Beside and above a cell's words, between two tables, around them all [px]."""
WRAP = Qt.TextFlag.TextWordWrap.value
RIGHT = (Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignTop).value
LEFT = (Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop).value
OPENS = "Enter on a line opens it"
"""Beside the title of a table whose lines open a page."""


@dataclass(frozen=True, slots=True)
class Shown:
    """One table. name: of its file. title. grid: its words. note: below it. none: in place of no rows. opens: a line of
    it opens a page."""

    name: str
    title: str
    grid: Grid
    note: str = ""
    none: str = ""
    opens: bool = False


@dataclass(frozen=True, slots=True)
class _Laid:
    """A table with its places. top: of its title; head: of its headings; rows: top of each, and the end of the last
    [px]. widths: of its columns [px]. px: of its letters. note: top [px]; bottom [px]."""

    shown: Shown
    top: float
    head: float
    rows: tuple[float, ...]
    widths: tuple[float, ...]
    px: int
    note: float
    bottom: float


class TablesView(QAbstractScrollArea):
    """Tables to be read: Up and Down go from line to line, PgUp and PgDn by screens, Home and End to the ends.

    Signals: opened(str, int): a line is to be opened: name of its table, its place in it.
    """

    opened = Signal(str, int)

    def __init__(self, look: Look, name: str, parent: QWidget | None = None) -> None:
        """name: for those who can't see it."""
        super().__init__(parent)
        self._look = look
        self._tables: tuple[Shown, ...] = ()
        self._laid: tuple[_Laid, ...] = ()
        self._wide = self._tall = 0.0
        self._at = (-1, -1)
        self.setAccessibleName(name)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setFrameStyle(0)
        self.verticalScrollBar().setSingleStep(24)

    # --- what it shows ------------------------------------------------------------------------------------------

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._look = look
        self._lay()

    def show_tables(self, tables: Sequence[Shown]) -> None:
        """tables: in order. The place where a person was reading is kept where there are the same tables."""
        same = [t.name for t in tables] == [t.name for t in self._tables]
        self._tables = tuple(tables)
        if not same:
            self._at = (-1, -1)
        self._lay()
        if not same:
            self.verticalScrollBar().setValue(0)
            self.horizontalScrollBar().setValue(0)

    def shown(self) -> tuple[Shown, ...]:
        """The tables as they are drawn."""
        return self._tables

    @property
    def place(self) -> tuple[str, int] | None:
        """Name of the table and number of the line that the cursor is on."""
        table, row = self._at
        return (self._tables[table].name, row) if 0 <= table < len(self._tables) else None

    @property
    def too_wide(self) -> bool:
        """True where the tables have to be moved sideways."""
        return self.horizontalScrollBar().maximum() > 0

    def choose(self, name: str, row: int) -> None:
        """Put the cursor on a line. name: of its table. row: its place."""
        place = next((n for n, t in enumerate(self._tables) if t.name == name), -1)
        if place >= 0 and 0 <= row < len(self._tables[place].grid.rows):
            self._at = (place, row)
            self._show_cursor()

    # --- laying out ---------------------------------------------------------------------------------------------

    def _lay(self) -> None:
        room = max(120.0, self.viewport().width() - 2.0 * EDGE)
        y, wide, laid = float(EDGE), 0.0, list[_Laid]()
        for shown in self._tables:
            one = self._laid_out(shown, y, room)
            laid.append(one)
            wide = max(wide, sum(one.widths))
            y = one.bottom + self._look.px(BETWEEN)
        self._laid, self._wide, self._tall = tuple(laid), wide, y
        view = self.viewport().size()
        self.verticalScrollBar().setRange(0, max(0, round(y - view.height())))
        self.verticalScrollBar().setPageStep(max(1, view.height() - 60))
        self.horizontalScrollBar().setRange(0, max(0, round(wide + 2 * EDGE - view.width())))
        self.horizontalScrollBar().setPageStep(view.width())
        self.viewport().update()

    def _laid_out(self, shown: Shown, top: float, room: float) -> _Laid:
        head = top + self._title_height(shown, room)
        px, widths = fitted(shown.grid, room, lambda px, bold: self._metrics(px, bold=bold))
        rows: list[float] = []
        y = head
        if shown.grid.rows:
            y += self._row_height(shown.grid.headings, widths, px, bold=True)
            for cells, strong in shown.grid.rows:
                rows.append(y)
                y += self._row_height(cells, widths, px, bold=strong)
        elif shown.none:
            y += self._height(shown.none, room, self._metrics(SIZES[0]))
        rows.append(y)
        note = y + 4
        bottom = note + (self._height(shown.note, room, self._metrics(NOTE_PX)) if shown.note else 0.0)
        return _Laid(shown, top, head, tuple(rows), tuple(widths), px, note, bottom)

    def _title_height(self, shown: Shown, room: float) -> float:
        return self._height(shown.title, room, self._metrics(TITLE_PX, bold=True)) + 4

    def _row_height(self, cells: Sequence[Cell], widths: Sequence[float], px: int, *, bold: bool) -> float:
        metrics = self._metrics(px, bold=bold)
        return max(self._height(c.text, w - 2 * PAD, metrics) for c, w in zip(cells, widths, strict=True)) + 2 * ABOVE

    def _height(self, text: str, width: float, metrics: QFontMetricsF) -> float:
        if metrics.horizontalAdvance(text) <= width:
            return metrics.lineSpacing()
        return metrics.boundingRect(QRectF(0, 0, width + 1, 100_000), WRAP, text).height() + 1

    def _font(self, px: int, *, bold: bool = False) -> QFont:
        return self._look.font(px, bold=bold)

    def _metrics(self, px: int, *, bold: bool = False) -> QFontMetricsF:
        return QFontMetricsF(self._font(px, bold=bold))

    # --- drawing ------------------------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self.viewport())
        look = self._look
        painter.fillRect(event.rect(), look.colour("panel"))
        down, aside = self.verticalScrollBar().value(), self.horizontalScrollBar().value()
        high = self.viewport().height()
        painter.translate(EDGE - aside, -down)
        for place, laid in enumerate(self._laid):
            if laid.bottom >= down and laid.top <= down + high:
                self._draw(painter, place, laid, down, down + high)
        painter.resetTransform()
        if self.hasFocus():
            painter.setPen(QPen(look.colour("ink"), 2))
            painter.drawRect(self.viewport().rect().adjusted(1, 1, -1, -1))

    def _draw(self, painter: QPainter, place: int, laid: _Laid, top: float, bottom: float) -> None:
        look, shown = self._look, laid.shown
        room = max(120.0, self.viewport().width() - 2.0 * EDGE)
        painter.setPen(look.colour("ink"))
        painter.setFont(self._font(TITLE_PX, bold=True))
        painter.drawText(QRectF(0, laid.top, room, laid.head - laid.top), WRAP | LEFT, shown.title)
        painter.setPen(look.colour("soft"))
        if shown.opens and shown.grid.rows:
            beside = self._metrics(TITLE_PX, bold=True).horizontalAdvance(shown.title) + 2 * PAD
            painter.setFont(self._font(NOTE_PX))
            painter.drawText(QRectF(beside, laid.top + 2, room - beside, laid.head - laid.top), LEFT, OPENS)
        if not shown.grid.rows:
            painter.setFont(self._font(SIZES[0]))
            painter.drawText(QRectF(0, laid.head, room, laid.rows[-1] - laid.head), WRAP | LEFT, shown.none)
        wide = sum(laid.widths)
        for n, (cells, strong) in enumerate(shown.grid.rows):
            y, end = laid.rows[n], laid.rows[n + 1]
            if end < top or y > bottom:
                continue
            here = (place, n) == self._at
            if here or strong or n % 2:
                painter.fillRect(QRectF(-2, y, wide + 4, end - y),
                                 look.colour("select" if here or strong else "ground"))
            painter.setFont(self._font(laid.px, bold=strong))
            painter.setPen(look.colour("ink"))
            self._draw_cells(painter, cells, laid.widths, y, end)
            if here and self.hasFocus():
                painter.setPen(QPen(look.colour("ink"), 1))
                painter.drawRect(QRectF(-2, y, wide + 4, end - y - 1))
        if shown.grid.rows:
            self._draw_head(painter, laid, top)
        if shown.note:
            painter.setPen(look.colour("soft"))
            painter.setFont(self._font(NOTE_PX))
            painter.drawText(QRectF(0, laid.note, room, laid.bottom - laid.note + 2), WRAP | LEFT, shown.note)

    def _draw_head(self, painter: QPainter, laid: _Laid, top: float) -> None:
        """The headings, which stay in sight while their lines are read."""
        tall = laid.rows[0] - laid.head
        y = min(max(laid.head, top), max(laid.head, laid.rows[-1] - tall))
        painter.fillRect(QRectF(-2, y, sum(laid.widths) + 4, tall), self._look.colour("panel"))
        painter.setFont(self._font(laid.px, bold=True))
        painter.setPen(self._look.colour("soft"))
        self._draw_cells(painter, laid.shown.grid.headings, laid.widths, y, y + tall)
        painter.setPen(self._look.colour("line"))
        painter.drawLine(0, round(y + tall) - 1, round(sum(laid.widths)), round(y + tall) - 1)

    @staticmethod
    def _draw_cells(painter: QPainter, cells: Sequence[Cell], widths: Sequence[float], y: float, end: float) -> None:
        x = 0.0
        for cell, width in zip(cells, widths, strict=True):
            box = QRectF(x + PAD, y + ABOVE, width - 2 * PAD + 1, end - y)
            painter.drawText(box, WRAP | (RIGHT if cell.right else LEFT), cell.text)
            x += width

    # --- moving -------------------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key, bar = Qt.Key(event.key()), self.verticalScrollBar()
        if key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self._step(-1 if key == Qt.Key.Key_Up else 1)
        elif key in (Qt.Key.Key_PageUp, Qt.Key.Key_PageDown):
            bar.setValue(bar.value() + (-1 if key == Qt.Key.Key_PageUp else 1) * bar.pageStep())
        elif key in (Qt.Key.Key_Home, Qt.Key.Key_End):
            bar.setValue(0 if key == Qt.Key.Key_Home else bar.maximum())
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right) and self.too_wide:
            across = self.horizontalScrollBar()
            across.setValue(across.value() + (-80 if key == Qt.Key.Key_Left else 80))
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.place is not None:
            self._open()
        else:
            super().keyPressEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        y = event.position().y() + self.verticalScrollBar().value()
        for place, laid in enumerate(self._laid):
            for n in range(len(laid.shown.grid.rows)):
                if laid.rows[n] <= y < laid.rows[n + 1]:
                    again = self._at == (place, n)
                    self._at = (place, n)
                    self.viewport().update()
                    if again:
                        self._open()
                    return

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._lay()

    def scrollContentsBy(self, dx: int, dy: int) -> None:
        self.viewport().update()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.StyleChange:
            self._lay()

    def focusInEvent(self, event: object) -> None:
        self.viewport().update()

    def focusOutEvent(self, event: object) -> None:
        self.viewport().update()

    def _open(self) -> None:
        table, row = self._at
        if self._tables[table].opens:
            self.opened.emit(self._tables[table].name, row)

    def _step(self, way: int) -> None:
        """The next line, in the next table after the last of one; none: as far as it goes."""
        lines = [(place, n) for place, t in enumerate(self._tables) for n in range(len(t.grid.rows))]
        if not lines:
            self.verticalScrollBar().setValue(self.verticalScrollBar().value() + way * 24)
            return
        if self._at not in lines:
            self._at = lines[0]
        else:
            n = lines.index(self._at) + way
            if not 0 <= n < len(lines):      # what stands before the first and after the last
                self.verticalScrollBar().setValue(0 if n < 0 else self.verticalScrollBar().maximum())
                return
            self._at = lines[n]
        self._show_cursor()

    def _show_cursor(self) -> None:
        place, n = self._at
        laid, bar, high = self._laid[place], self.verticalScrollBar(), self.viewport().height()
        head = laid.rows[0] - laid.head if laid.shown.grid.rows else 0
        top, bottom = laid.rows[n] - head - 4, laid.rows[n + 1] + 4
        if n == 0:
            top = laid.top - 4
        if top < bar.value() or bottom - top > high:
            bar.setValue(round(top))
        elif bottom > bar.value() + high:
            bar.setValue(round(bottom - high))
        self.viewport().update()


def fitted(grid: Grid, room: float, metrics: Callable[[int, bool], QFontMetricsF]) -> tuple[int, list[float]]:
    """(px of the letters at text size 1, width of each column [px]): numbers stay on one line, words share what is left
    and wrap. It may be wider than there is room, where the smallest letters don't fit.

    grid: the table. room: width there is [px]. metrics: of letters of a size, bold or not.
    """
    count = len(grid.headings)
    px, least, natural = SIZES[-1], [0.0] * count, [0.0] * count
    for size in SIZES:
        px = size
        normal, bold = metrics(size, False), metrics(size, True)
        least, natural = [], []
        for n in range(count):
            texts = [(grid.headings[n].text, True), *((cells[n].text, strong) for cells, strong in grid.rows)]
            whole = max((bold if b else normal).horizontalAdvance(t) for t, b in texts)
            kept = [t for t in texts[1:] if grid.headings[n].right]     # numbers; a heading may wrap
            words = [(w, b) for t, b in (texts if not grid.headings[n].right else texts[:1]) for w in t.split(" ")]
            longest = max((bold if b else normal).horizontalAdvance(w) for w, b in (*words, *kept))
            natural.append(whole + 2 * PAD + 2)
            least.append(longest + 2 * PAD + 2)
        if sum(natural) <= room:
            return size, natural
        if sum(least) <= room and size <= SIZES[1]:
            break
    wanted = [max(0.0, a - b) for a, b in zip(natural, least, strict=True)]
    shares, left = [0.0] * count, max(0.0, room - sum(least))
    waiting = [n for n in range(count) if wanted[n] > 0.0]
    while waiting and left > 0.5:         # short columns get all they want first
        each = left / len(waiting)
        for n in waiting:
            more = min(each, wanted[n] - shares[n])
            shares[n] += more
            left -= more
        waiting = [n for n in waiting if wanted[n] - shares[n] > 0.5]
    return px, [a + b for a, b in zip(least, shares, strict=True)]
