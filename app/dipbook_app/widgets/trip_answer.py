"""The trip's answer on one line: the sum, how sure, and what it means, in letters that shrink before any is cut."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from dipbook_app.part_words import TIP
from dipbook_app.theme import Look
from dipbook_app.trip_words import Answer

FIGURE_PX, BESIDE_PX, WORDS_PX = 42.0, 20.0, 24.0
"""Sizes at text size 1 [px]."""
LOW_FIGURE_PX = 28.0
LEAST_PX = 13.0
GAP = 10.0


class TripAnswer(QWidget):
    """Shows an Answer. Signals: asked(): it was clicked."""

    asked = Signal()

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._answer = Answer("", "", "")
        self._low = False
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setToolTip(TIP)
        self.setAccessibleDescription(TIP)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.set_look(look)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._look = look
        self.setFixedHeight(round(QFontMetricsF(look.font(self._figure, bold=True)).capHeight()) + look.px(18))
        self.update()

    def set_low(self, low: bool) -> None:
        """low: there is room for smaller letters only."""
        if low != self._low:
            self._low = low
            self.set_look(self._look)

    @property
    def _figure(self) -> float:
        return LOW_FIGURE_PX if self._low else FIGURE_PX

    def show_answer(self, answer: Answer) -> None:
        """answer: in words."""
        if answer != self._answer:
            self._answer = answer
            self.setAccessibleName(" ".join(self.readings()))
            self.update()

    def readings(self) -> tuple[str, ...]:
        """What it says."""
        return (self._answer.figure, self._answer.beside, self._answer.words)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """A click anywhere on it."""
        if event.button() == Qt.MouseButton.LeftButton and self.rect().contains(event.position().toPoint()):
            self.asked.emit()

    def sizeHint(self) -> QSize:
        return QSize(400, self.height())

    @property
    def scale(self) -> float:
        """What the letters are shrunk by so that all of them stand on the line [-]."""
        factor = 1.0
        while factor > LEAST_PX / BESIDE_PX and sum(self._widths(factor)) + 2 * GAP > self.width():
            factor -= 0.02
        return factor

    @property
    def cut(self) -> bool:
        """True if it doesn't fit even so."""
        return sum(self._widths(self.scale)) + 2 * GAP > self.width()

    def _parts(self, factor: float) -> tuple[tuple[str, float, bool, str], ...]:
        answer = self._answer
        return ((answer.figure, self._figure * factor, True, "ink"), (answer.beside, BESIDE_PX * factor, False, "soft"),
                (answer.words, WORDS_PX * factor, True, "ink"))

    def _widths(self, factor: float) -> list[float]:
        return [QFontMetricsF(self._look.font(size, bold=bold)).horizontalAdvance(text)
                for text, size, bold, _ in self._parts(factor)]

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, factor, x = QPainter(self), self.scale, 0.0
        base = self.height() - self._look.px(9)
        for (text, size, bold, token), width in zip(self._parts(factor), self._widths(factor), strict=True):
            font = self._look.font(size, bold=bold)
            painter.setFont(font)
            painter.setPen(self._look.colour(token))
            shown = QFontMetricsF(font).elidedText(text, Qt.TextElideMode.ElideRight, max(0.0, self.width() - x))
            painter.drawText(round(x), base, shown)
            x += width + (GAP if text else 0.0)
        painter.end()
