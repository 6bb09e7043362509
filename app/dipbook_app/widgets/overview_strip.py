"""The whole log in one strip, and on it the span that is reviewed, as a brush."""

from __future__ import annotations

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from dipbook.reports import Overview
from dipbook_app.display import DisplayUnits
from dipbook_app.theme import Look
from dipbook_app.widgets.plot_look import pen

HIGH_PX = 44
LEAST_BRUSH_PX = 4


class OverviewStrip(QWidget):
    """The difference over the whole log with its warnings; a click puts the middle of the span there.

    Signals: moved(int): where the middle of the span is to be [UTC ms].
    """

    moved = Signal(object)      # an int of Qt's has 32 bits, and a time more

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._of: Overview | None = None
        self._units: DisplayUnits | None = None
        self._brush = (0, 0)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setToolTip("The whole log. [ and ] move the span, − and + make it shorter and longer.")
        self.setAccessibleName("The whole log, with the span that is reviewed")

    def sizeHint(self) -> QSize:
        return QSize(400, self._look.px(HIGH_PX))

    def minimumSizeHint(self) -> QSize:
        return QSize(100, self._look.px(HIGH_PX))

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._look = look
        self.updateGeometry()
        self.update()

    def show_log(self, of: Overview | None, units: DisplayUnits) -> None:
        """of: the whole log, None while it isn't known. units: the crew's."""
        self._of, self._units = of, units
        self.update()

    def show_brush(self, from_ms: int, to_ms: int) -> None:
        """from_ms, to_ms: of the span [UTC ms]."""
        self._brush = (from_ms, to_ms)
        self.update()

    @property
    def brush(self) -> tuple[int, int]:
        """From and to of the span [UTC ms]."""
        return self._brush

    def ends(self) -> tuple[int, int]:
        """From and to of the strip [UTC ms]: all of the log, and the span where it goes beyond."""
        a, b = self._brush
        if self._of is None:
            return a, max(b, a + 1)
        low, high = min(self._of.from_ms, a), max(self._of.to_ms, b)
        return low, max(high, low + 1)

    def x_of(self, t_ms: int) -> float:
        """Where a time lies [px]. t_ms: [UTC ms]."""
        low, high = self.ends()
        return (t_ms - low) / (high - low) * (self.width() - 1)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, look, of = QPainter(self), self._look, self._of
        box = QRectF(self.rect()).adjusted(0, 0, -1, -1)
        painter.fillRect(box, look.colour("panel"))
        a, b = (self.x_of(t) for t in self._brush)
        b = max(b, a + LEAST_BRUSH_PX)
        painter.fillRect(QRectF(a, 0, b - a, box.height()), look.colour("select"))
        letters = QFontMetricsF(look.font(11))
        if of is not None and len(of.t_ms) and self._units is not None:
            self._curve(painter, of, box, letters.height())
            painter.setPen(pen(look, "danger_edge"))
            for t in of.raised:
                x = self.x_of(t)
                painter.drawLine(QPointF(x, 2), QPointF(x, box.height() - letters.height() - 2))
        painter.setPen(pen(look, "line"))
        painter.drawRect(box)
        painter.setPen(QPen(look.colour("ink"), 2))
        painter.drawRect(QRectF(a, 1, b - a, box.height() - 2))
        self._dates(painter, box, letters)

    def _curve(self, painter: QPainter, of: Overview, box: QRectF, below: float) -> None:
        low, high = self.ends()
        known = np.isfinite(of.difference_m3)
        if not known.any():
            return
        least, most = float(of.difference_m3[known].min()), float(of.difference_m3[known].max())
        tall, room = max(most - least, 1e-6), box.height() - below - 6
        x = (of.t_ms - low) / (high - low) * (self.width() - 1)
        y = 3 + (most - of.difference_m3) / tall * room
        painter.setPen(pen(self._look, "ink"))
        painter.drawPath(pg.arrayToQPath(x, y, connect="finite", finiteCheck=True))

    def _dates(self, painter: QPainter, box: QRectF, letters: QFontMetricsF) -> None:
        if self._units is None:
            return
        painter.setFont(self._look.font(11))
        painter.setPen(self._look.colour("soft"))
        foot = QRectF(4, box.height() - letters.height() - 1, box.width() - 8, letters.height())
        low, high = self.ends()
        for t, side in ((low, Qt.AlignmentFlag.AlignLeft), (high, Qt.AlignmentFlag.AlignRight)):
            painter.drawText(foot, side.value, f"{self._units.date(t)} {self._units.time(t)}")
        painter.drawText(foot, Qt.AlignmentFlag.AlignHCenter.value, "the whole log, as known now")

    def mousePressEvent(self, event: QMouseEvent) -> None:
        low, high = self.ends()
        self.moved.emit(round(low + event.position().x() / max(1, self.width() - 1) * (high - low)))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if event.buttons():
            self.mousePressEvent(event)
