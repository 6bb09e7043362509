"""A move of mud drawn against time: how much has been moved, and where it will end if the end is known."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

FAINT = 0.25
"""How much of the ink fills what has been moved."""


class Ramp(QWidget):
    """A straight rise from the start to now, dashed on to the end. Drawn in the theme's ink only.

    It shows shares: of the time, and of the volume. With no known rate it shows the time alone, as a flat dashed line.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("ramp")
        self.setFixedHeight(48)
        self.setMinimumWidth(96)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.done = 0.0
        self.known = False

    def show_share(self, done: float, *, known: bool) -> None:
        """Show a move.

        done: share of the whole that has passed, 0 to 1; 1 for a move without a known end. known: amount known.
        """
        done = min(1.0, max(0.0, done))
        if (done, known) != (self.done, self.known):
            self.done, self.known = done, known
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the base line, the moved part filled, and the part still to come dashed."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        ink = self.palette().windowText().color()
        area = QRectF(self.rect()).adjusted(2, 6, -2, -6)
        start, end = area.bottomLeft(), area.topRight()
        now = QPointF(area.left() + self.done * area.width(), area.bottom() - self.done * area.height())
        faint = self.palette().windowText().color()
        faint.setAlphaF(FAINT)
        painter.setPen(QPen(ink, 1.0))
        painter.drawLine(area.bottomLeft(), area.bottomRight())
        dashed = QPen(ink, 1.0, Qt.PenStyle.DashLine)
        if not self.known:
            painter.setPen(dashed)
            painter.drawLine(area.bottomLeft(), QPointF(now.x(), area.bottom()))
            painter.drawLine(QPointF(now.x(), area.bottom()), QPointF(now.x(), area.top()))
            return
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(faint)
        painter.drawPolygon([start, now, QPointF(now.x(), area.bottom())])
        painter.setPen(QPen(ink, 2.0))
        painter.drawLine(start, now)
        if self.done < 1.0:
            painter.setPen(dashed)
            painter.drawLine(now, end)
