"""What is drawn on a plot in pixels, before or behind its curves: bands, hatching, marks, a cursor, words."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

Draw = Callable[[QPainter, QRectF], None]


class PlotLayer(QGraphicsItem):
    """Draws over the whole of a plot's box.

    box: of the plot. draw: given a painter and the box [px]. front: before the curves and not behind them.
    """

    def __init__(self, box: Any, draw: Draw, *, front: bool) -> None:
        super().__init__(box)
        self._box, self._draw = box, draw
        self.setZValue(100 if front else -100)
        box.sigResized.connect(lambda _box: self.prepareGeometryChange())

    def boundingRect(self) -> QRectF:
        return QRectF(0, 0, self._box.width(), self._box.height())

    def paint(self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None) -> None:
        painter.save()
        painter.setClipRect(self.boundingRect())
        self._draw(painter, self.boundingRect())
        painter.restore()
