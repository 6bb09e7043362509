"""A line of words that leads to what it rests on: by a click, or with the keyboard."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from dipbook_app.widgets.line_label import LineLabel


class AskingLine(LineLabel):
    """part: of the style sheet; smaller: as for LineLabel. Signals: asked(): it was clicked, or Enter pressed on it."""

    asked = Signal()

    def __init__(self, part: str, parent: QWidget | None = None, *, smaller: tuple[str, ...] = ()) -> None:
        super().__init__("", part, parent, smaller=smaller)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """A click anywhere on it."""
        if event.button() == Qt.MouseButton.LeftButton and self.rect().contains(event.position().toPoint()):
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
        """With an outline while the keyboard is on it."""
        super().paintEvent(event)
        if self.hasFocus():
            painter = QPainter(self)
            painter.setPen(QPen(self.palette().windowText().color(), 2))
            painter.drawRect(self.rect().adjusted(1, 1, -1, -1))
