"""The difference, the biggest thing on the Watch page: to be read from three metres."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QFontMetricsF, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from dipbook_app.part_words import TIP
from dipbook_app.theme import Look
from dipbook_app.urgency import Urgency
from dipbook_app.widgets.symbol import draw_symbol

DIGIT_MM = 14.0
"""16 arcmin at 3 m (NUREG-0700 rev. 3, section 12)."""
GENEROUS = 1.4
WORDS_FACTOR = 0.6
"""A figure that is words ("No zero yet") is smaller."""


class DifferenceFigure(QWidget):
    """Figure, unit and ± on one line, the direction in words below. Clicking asks where it comes from."""

    asked = Signal()

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._number, self._unit, self._plus_minus, self._words = "", "", "", ""
        self._urgency: Urgency | None = None
        self._factor = 1.0
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setToolTip(TIP)
        self.setAccessibleDescription(TIP)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.set_look(look)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._look = look
        self.setFixedHeight(self.sizeHint().height())
        self.update()

    def set_generous(self, generous: bool) -> None:
        """generous: there is room for more than the least size."""
        self._factor = GENEROUS if generous else 1.0
        self.set_look(self._look)

    def show_figure(self, number: str, unit: str, plus_minus: str, words: str, urgency: Urgency | None) -> None:
        """number: with its sign, or words such as "unknown"; unit; plus_minus: "± 0.9"; words: the direction;
        urgency: of the gain or loss warning that is open, None when there is none."""
        new = (number, unit, plus_minus, words, urgency)
        if new != (self._number, self._unit, self._plus_minus, self._words, self._urgency):
            self._number, self._unit, self._plus_minus, self._words, self._urgency = new
            self.setAccessibleName(" ".join(self.readings()))
            self.update()

    def readings(self) -> tuple[str, ...]:
        """What it says."""
        return (f"{self._number} {self._unit}".strip(), self._plus_minus, self._words)

    def sizeHint(self) -> QSize:
        metrics = QFontMetricsF(self._look.font(self._big))
        words = QFontMetricsF(self._look.font(26, bold=True))
        return QSize(300, round(metrics.capHeight() + words.height() + self._look.px(18)))

    @property
    def _big(self) -> float:
        """Size of the figure at factor 1 [px]."""
        probe = QFontMetricsF(self._look.font(100))
        height = max(self._look.mm(DIGIT_MM), self._look.px(DIGIT_MM * 96 / 25.4)) * self._factor
        return 100 * height / max(1.0, probe.capHeight()) / self._look.text

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        self.asked.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter and the space bar do what a click does."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.asked.emit()
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        look, width = self._look, self.width() - 16
        left = 8.0
        if self._urgency is not None:
            painter.setPen(QPen(look.colour(f"{self._urgency.colour}_edge"), 3))
            painter.drawRect(self.rect().adjusted(1, 1, -2, -2))
        elif self.hasFocus():
            painter.setPen(QPen(look.colour("ink"), 2))
            painter.drawRect(self.rect().adjusted(1, 1, -2, -2))
        size, beside = self._big, 30.0
        wordy = not any(character.isdigit() for character in self._number)
        figure = look.font(size * (WORDS_FACTOR if wordy else 1.0), bold=True)
        small = look.font(beside)
        tail = f"{self._unit}  {self._plus_minus}".strip()
        needed = (QFontMetricsF(figure).horizontalAdvance(self._number) + 10
                  + QFontMetricsF(small).horizontalAdvance(tail))
        if needed > width:
            figure = look.font(size * width / needed * 0.98, bold=True)
            small = look.font(max(15.0, beside * width / needed * 0.98))
        metrics, small_metrics = QFontMetricsF(figure), QFontMetricsF(small)
        baseline = look.px(8) + QFontMetricsF(look.font(size, bold=True)).capHeight()
        painter.setPen(look.colour("ink"))
        painter.setFont(figure)
        painter.drawText(round(left), round(baseline), self._number)
        x = left + metrics.horizontalAdvance(self._number) + 10
        painter.setFont(small)
        painter.drawText(round(x), round(baseline), self._unit)
        x += small_metrics.horizontalAdvance(f"{self._unit}  ") if self._unit else 0
        painter.setPen(look.colour("soft"))
        painter.drawText(round(x), round(baseline), self._plus_minus)
        words = look.font(24, bold=True)
        below = QRectF(left, baseline + look.px(4), width, QFontMetricsF(words).height())
        if self._urgency is not None:
            side = below.height()
            draw_symbol(painter, QRectF(below.left(), below.top(), side, side), self._urgency, look, figure=False)
            below.setLeft(below.left() + side + 6)
        painter.setFont(words)
        painter.setPen(look.colour("ink"))
        shown = QFontMetricsF(words).elidedText(self._words, Qt.TextElideMode.ElideRight, below.width())
        painter.drawText(below, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, shown)
        painter.end()
