"""The symbol of a warning: an outline of its own for each rank, with the rank's figure inside."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, QTimer
from PySide6.QtGui import QHideEvent, QPainter, QPaintEvent, QPen, QPolygonF, QShowEvent
from PySide6.QtWidgets import QWidget

from dipbook_app.theme import Look
from dipbook_app.urgency import Urgency


def draw_symbol(painter: QPainter, box: QRectF, urgency: Urgency, look: Look, *, filled: bool = True,
                figure: bool = True, on_fill: bool = False) -> None:
    """Draw a symbol into a square. filled: False is the dark half of a flash; outline and figure stay.

    on_fill: True where the square itself has the urgency's colour.
    figure: False for a mark instead, where no word beside it says that the figure is the priority and no count.
    """
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    pen = QPen(look.colour(f"on_{urgency.colour}" if on_fill else f"{urgency.colour}_edge"), max(2.0, box.width() / 18))
    pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    painter.setPen(pen)
    painter.setBrush(look.colour(urgency.colour) if filled else look.colour("ground"))
    inner = box.adjusted(3, 3, -3, -3)
    middle = inner.center()
    if urgency.outline == "diamond":
        painter.drawPolygon(QPolygonF([QPointF(middle.x(), inner.top()), QPointF(inner.right(), middle.y()),
                                       QPointF(middle.x(), inner.bottom()), QPointF(inner.left(), middle.y())]))
    elif urgency.outline == "triangle":
        painter.drawPolygon(QPolygonF([QPointF(middle.x(), inner.top()), inner.bottomRight(), inner.bottomLeft()]))
    else:
        painter.drawEllipse(inner)
    font = look.font(15, bold=True)
    font.setPixelSize(max(9, round(box.height() * 0.36)))
    painter.setFont(font)
    painter.setPen(look.colour(f"on_{urgency.colour}") if filled else look.colour("ink"))
    drop = box.height() * (0.13 if urgency.outline == "triangle" else 0.0)
    painter.drawText(inner.translated(0, drop), Qt.AlignmentFlag.AlignCenter, str(urgency.rank) if figure else "!")
    painter.restore()


class Symbol(QWidget):
    """Shows one symbol, or nothing. Flashes (the symbol only, never text) while told to and on the screen."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._urgency: Urgency | None = None
        self._flashing = False
        self._filled = True
        """Of the flash; what isn't flashing is only outlined."""
        self._timer = QTimer(self)
        self._timer.timeout.connect(self._flash)
        side = look.px(56)
        self.setFixedSize(QSize(side, side))

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._look = look
        self.setFixedSize(QSize(look.px(56), look.px(56)))
        self.update()

    def show_urgency(self, urgency: Urgency | None, *, flashing: bool) -> None:
        """urgency: what to draw, None for nothing; flashing: True while unacknowledged."""
        if (urgency, flashing) == (self._urgency, self._flashing):
            return
        self._urgency, self._flashing, self._filled = urgency, flashing, True
        self._set_timer()
        self.update()

    @property
    def flashing(self) -> bool:
        """True while it flashes."""
        return self._timer.isActive()

    def _set_timer(self) -> None:
        if self._urgency is not None and self._flashing and self.isVisible():
            self._timer.start(round(500 / self._urgency.flash_hz))
        else:
            self._timer.stop()
            self._filled = True

    def _flash(self) -> None:
        self._filled = not self._filled
        self.update()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._set_timer()

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self._set_timer()

    def paintEvent(self, event: QPaintEvent) -> None:
        if self._urgency is not None:
            painter = QPainter(self)
            draw_symbol(painter, QRectF(self.rect()), self._urgency, self._look, filled=self._filled and self._flashing,
                        on_fill=self._flashing)
            painter.end()
