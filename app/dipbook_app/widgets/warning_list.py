"""The list of open warnings, and below it what is set aside: each with its symbol, in words that are never cut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QPen, QResizeEvent
from PySide6.QtWidgets import QListWidget, QListWidgetItem, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from dipbook_app.theme import Look
from dipbook_app.urgency import Urgency
from dipbook_app.widgets.symbol import draw_symbol

SYMBOL_PX = 40
EDGE, GAP = 8, 10
"""Room around an item, and between its symbol and its words [px]."""
HEAD_PX, TEXT_PX = 15, 13
KEY = Qt.ItemDataRole.UserRole


@dataclass(frozen=True, slots=True)
class Line:
    """One item. key: what it is of. head, text: its words. urgency: of its symbol. waits: nobody has acknowledged it;
    aside: its limit is set aside, and no warning sounds."""

    key: str
    head: str
    text: str
    urgency: Urgency
    waits: bool = False
    aside: bool = False


class _Lines(QStyledItemDelegate):
    """Draws a line: symbol and priority at the left, its words beside."""

    def __init__(self, look: Look, parent: QListWidget) -> None:
        super().__init__(parent)
        self.look = look
        self._list = parent

    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> QSize:
        width = self._list.viewport().width()
        head, text = self._boxes(index.data(KEY), QRect(0, 0, width, 10_000))
        side = self._side() + QFontMetrics(self.look.font(11)).lineSpacing()
        return QSize(width, max(head.height() + text.height(), side) + 2 * EDGE)

    def _side(self) -> int:
        return self.look.px(SYMBOL_PX)

    def _boxes(self, line: Line, box: QRect) -> tuple[QRect, QRect]:
        left = box.left() + EDGE + self._side() + 2 * GAP
        room = QRect(left, box.top() + EDGE, max(40, box.right() - left - EDGE), 10_000)
        wrap = Qt.TextFlag.TextWordWrap
        head = QFontMetrics(self.look.font(HEAD_PX, bold=True)).boundingRect(room, wrap, line.head)
        below = QRect(left, head.bottom() + 3, room.width(), 10_000)
        text = QFontMetrics(self.look.font(TEXT_PX)).boundingRect(below, wrap, line.text)
        return (QRect(left, room.top(), room.width(), head.height() + 2),
                QRect(left, below.top(), room.width(), text.height() + 2))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex,
              ) -> None:
        line: Line = index.data(KEY)
        box: QRect = option.rect
        look = self.look
        painter.save()
        chosen = index.row() == self._list.currentRow()
        painter.fillRect(box, look.colour("select" if chosen else "panel"))
        if chosen and self._list.hasFocus():
            painter.setPen(QPen(look.colour("ink"), 2))
            painter.drawRect(box.adjusted(1, 1, -2, -2))
        painter.setPen(look.colour("line"))
        painter.drawLine(box.bottomLeft(), box.bottomRight())
        side, small = self._side(), QFontMetrics(look.font(11))
        left = box.left() + EDGE + GAP // 2
        sign = QRectF(left, box.top() + EDGE, side, side)
        if line.aside:
            self._pause(painter, sign)
        else:
            draw_symbol(painter, sign, line.urgency, look, filled=line.waits)
        painter.setPen(look.colour("ink"))
        painter.setFont(look.font(11))
        below = QRectF(box.left(), sign.bottom(), 2 * (left - box.left()) + side, small.lineSpacing())
        painter.drawText(below, Qt.AlignmentFlag.AlignCenter, "no sound" if line.aside else
                         f"priority {line.urgency.rank}")
        head, text = self._boxes(line, box)
        painter.setFont(look.font(HEAD_PX, bold=True))
        painter.drawText(head, Qt.TextFlag.TextWordWrap, line.head)
        painter.setFont(look.font(TEXT_PX))
        painter.drawText(text, Qt.TextFlag.TextWordWrap, line.text)
        painter.restore()

    def _pause(self, painter: QPainter, box: QRectF) -> None:
        """Two bars in a square: it is set aside."""
        painter.setPen(QPen(self.look.colour("ink"), 2))
        inner = box.adjusted(5, 5, -5, -5)
        painter.drawRect(inner)
        wide = inner.width() / 6
        for place in (1.5, 3.5):
            painter.fillRect(QRectF(inner.left() + place * wide, inner.top() + inner.height() * 0.25, wide,
                                    inner.height() * 0.5), self.look.colour("ink"))


class WarningList(QListWidget):
    """Up and Down go through it; which one is chosen is told by its key."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._lines: tuple[Line, ...] = ()
        self._delegate = _Lines(look, self)
        self.setItemDelegate(self._delegate)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollMode(QListWidget.ScrollMode.ScrollPerPixel)
        self.setAccessibleName("Open warnings, and what is set aside")

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._delegate.look = look
        self._lay_out()

    def show_lines(self, lines: Sequence[Line]) -> None:
        """Show these, the chosen one still chosen while it is among them, else the first."""
        lines = tuple(lines)
        if lines == self._lines:
            return
        chosen = self.chosen
        same = [x.key for x in lines] == [x.key for x in self._lines]
        self._lines = lines
        if not same:
            self.blockSignals(True)
            self.clear()
            for _ in lines:
                self.addItem(QListWidgetItem())
        for place, line in enumerate(lines):
            item = self.item(place)
            item.setData(KEY, line)
            item.setData(Qt.ItemDataRole.AccessibleTextRole, f"{line.head}. {line.text}")
        if not same:
            keys = [x.key for x in lines]
            self.setCurrentRow(keys.index(chosen) if chosen in keys else 0 if lines else -1)
            self.blockSignals(False)
            if self.chosen != chosen:
                self.currentRowChanged.emit(self.currentRow())
        self._lay_out()

    @property
    def lines(self) -> tuple[Line, ...]:
        """All that it shows, from the top."""
        return self._lines

    @property
    def chosen(self) -> str:
        """Key of the line that is chosen, "" for none."""
        row = self.currentRow()
        return self._lines[row].key if 0 <= row < len(self._lines) else ""

    def choose(self, key: str) -> bool:
        """Choose a line by its key; False where there is none."""
        for place, line in enumerate(self._lines):
            if line.key == key:
                self.setCurrentRow(place)
                self.scrollToItem(self.item(place))
                return True
        return False

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Words wrap anew."""
        super().resizeEvent(event)
        self._lay_out()

    def _lay_out(self) -> None:
        """Never higher than its lines: what is below it has the rest."""
        self.scheduleDelayedItemsLayout()
        self.viewport().update()
        self.setMaximumHeight(max(SYMBOL_PX, self.needed))
        self.setMinimumHeight(max(self.sizeHintForRow(0), SYMBOL_PX) + 2 * self.frameWidth() + 2)

    @property
    def needed(self) -> int:
        """Height that all its lines take [px]."""
        return sum(self.sizeHintForRow(row) for row in range(self.count())) + 2 * self.frameWidth() + 2
