"""The window's frame: nothing to be seen for a watch, hatched all around for a drill, so that none is taken for the
well."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRect, Qt
from PySide6.QtGui import QBrush, QPainter, QPaintEvent, QRegion
from PySide6.QtWidgets import QWidget

from dipbook_app.theme import Look

WIDE = 10
"""Of the hatched edge [px]."""


class DrillFrame(QWidget):
    """Holds all of the window. drill: True to be hatched."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self.drill = False

    def set_look(self, look: Look) -> None:
        """Take on new colours."""
        self._look = look
        self.update()

    def show_drill(self, drill: bool) -> None:
        """drill: the log that is open is a drill's."""
        self.drill = drill
        layout = self.layout()
        if layout is not None:
            edge = WIDE if drill else 0
            layout.setContentsMargins(edge, edge, edge, edge)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """The hatched edge."""
        super().paintEvent(event)
        if not self.drill:
            return
        painter = QPainter(self)
        inside = self.rect().adjusted(WIDE, WIDE, -WIDE, -WIDE)
        painter.setClipRegion(QRegion(self.rect()).subtracted(QRegion(inside)))
        painter.fillRect(self.rect(), self._look.colour("ground"))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        ink = QBrush(self._look.colour("ink"))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(ink)
        step, high = 2 * WIDE, self.height()
        for x in range(-high - step, self.width() + step, step):
            painter.drawPolygon(_stripe(QRect(x, 0, WIDE, high)))


def _stripe(at: QRect) -> list[QPointF]:
    lean = at.height()
    return [QPointF(at.x() + lean, 0), QPointF(at.x() + lean + at.width(), 0), QPointF(at.x() + at.width(), lean),
            QPointF(at.x(), lean)]
