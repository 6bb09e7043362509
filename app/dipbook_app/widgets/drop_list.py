"""A list to choose from, with an arrow that shows in every theme: the style sheet takes the system's own away."""

from __future__ import annotations

from PySide6.QtCore import QPointF
from PySide6.QtGui import QPainter, QPaintEvent, QPalette, QPolygonF, QWheelEvent
from PySide6.QtWidgets import QComboBox

ROOM = 28
"""Width kept for the arrow [px], as in the style sheet."""


class DropList(QComboBox):
    """As QComboBox. The arrow has the colour of the text and grows with it."""

    def wheelEvent(self, event: QWheelEvent) -> None:
        """The wheel changes nothing that isn't open: it scrolls what the list stands in."""
        event.ignore()

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        half = max(5.0, self.fontMetrics().xHeight() * 0.75)
        x, y = self.width() - ROOM / 2 - 2, self.height() / 2
        group = QPalette.ColorGroup.Normal if self.isEnabled() else QPalette.ColorGroup.Disabled
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        colour = self.palette().color(group, QPalette.ColorRole.Text)
        painter.setPen(colour)
        painter.setBrush(colour)
        painter.drawPolygon(QPolygonF([QPointF(x - half, y - half * 0.5), QPointF(x + half, y - half * 0.5),
                                       QPointF(x, y + half * 0.7)]))
        painter.end()
