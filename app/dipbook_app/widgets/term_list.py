"""What the expected volume is made of: a short list, the largest first. What doesn't fit is counted, never dropped."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QFontMetricsF, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from dipbook.parts import Figure
from dipbook.situation import TermLine
from dipbook_app.display import DisplayUnits
from dipbook_app.part_words import TIP
from dipbook_app.theme import Look

Row = tuple[str, str, str, str]
"""Name of the term ("" for the rest), label, note, signed volume."""


class TermList(QWidget):
    """Shows the terms; asked(name) for what one rests on, by a click, or by Up, Down and Enter; "" for the smaller
    ones together."""

    asked = Signal(str)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._terms: tuple[TermLine, ...] = ()
        self._units: DisplayUnits | None = None
        self._chosen = 0
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setToolTip(TIP)
        self.setAccessibleName("What the expected volume is made of")
        self.setAccessibleDescription(TIP)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Expanding)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._look = look
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(300, 6 * self._look.px(22))

    def minimumSizeHint(self) -> QSize:
        return QSize(0, 2 * self._look.px(22))

    def show_terms(self, terms: tuple[TermLine, ...], units: DisplayUnits) -> None:
        """terms: as the Situation has them; units: the crew's. Those that are nothing at this unit are left out."""
        zero = units.volume_number(0.0)
        kept = [term for term in terms if term.note or units.volume_number(abs(term.value_m3)) != zero]
        self._terms = tuple(sorted(kept, key=lambda term: -abs(term.value_m3)))
        self._units = units
        self.update()

    def rows(self) -> tuple[Row, ...]:
        """The rows as shown now, in this height."""
        if self._units is None:
            return ()
        room = max(1, self.height() // self._row_height)
        shown = self._terms if len(self._terms) <= room else self._terms[:room - 1]
        rest = self._terms[len(shown):]
        rows = [(t.name, t.label, t.note, self._units.signed_volume(t.value_m3)) for t in shown]
        if rest:
            total = self._units.signed_volume(sum(t.value_m3 for t in rest))
            rows.append(("", f"{len(rest)} smaller", ", ".join(t.label.lower() for t in rest), total))
        if not rows:
            rows.append(("", "Nothing booked since the zero", "", ""))
        return tuple(rows)

    @property
    def _row_height(self) -> int:
        least, most = self._look.px(22), self._look.px(32)
        return min(most, max(least, self.height() // max(1, len(self._terms)))) if self._terms else least

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        rows = self.rows()
        index = int(event.position().y()) // self._row_height
        if index < len(rows) and rows[index][3]:
            self._chosen = index
            self.asked.emit(rows[index][0])

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Up and Down choose a row, Enter asks for it."""
        rows = self.rows()
        step = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}.get(Qt.Key(event.key()))
        if step is not None and rows:
            self._chosen = min(max(self._chosen + step, 0), len(rows) - 1)
            self.update()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            if self._chosen < len(rows) and rows[self._chosen][3]:
                self.asked.emit(rows[self._chosen][0])
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()

    def figure_here(self) -> Figure | None:
        """The term that the cursor is on."""
        rows = self.rows()
        name = rows[self._chosen][0] if self._chosen < len(rows) else ""
        return Figure("term", "active", name) if name else None

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        look, width = self._look, float(self.width())
        strong, soft = look.font(15), look.font(12)
        for k, (_, label, note, value) in enumerate(self.rows()):
            y = float(k * self._row_height)
            box = QRectF(8, y, width - 16, self._row_height)
            painter.setPen(QPen(look.colour("grid"), 1))
            painter.drawLine(0, round(y), round(width), round(y))
            painter.setFont(strong)
            metrics = QFontMetricsF(strong)
            painter.setPen(look.colour("ink"))
            painter.drawText(box, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, value)
            room = box.width() - metrics.horizontalAdvance(value) - 14
            shown = metrics.elidedText(label, Qt.TextElideMode.ElideRight, room)
            painter.drawText(box, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, shown)
            used = metrics.horizontalAdvance(shown) + 10
            painter.setFont(soft)
            painter.setPen(look.colour("soft"))
            words = QFontMetricsF(soft).elidedText(note, Qt.TextElideMode.ElideRight, max(0.0, room - used))
            box.setLeft(box.left() + used)
            painter.drawText(box, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, words)
            if self.hasFocus() and k == min(self._chosen, len(self.rows()) - 1):
                painter.setPen(QPen(look.colour("ink"), 2))
                painter.drawRect(QRectF(1, y + 1, width - 2, self._row_height - 2))
        painter.end()
