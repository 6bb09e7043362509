"""How long a flow check has run, in figures that are read from across the shack, with a bar for each minute read."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from dipbook_app.widgets.text_size import scaled

CAPITALS = 53
"""Height of the figures [px]: 14 mm at 96 dpi, as the difference's, read at 3 m."""
BAR, GAP = 12, 5
"""Width of a minute's bar and the gap behind it [px]."""
NUMBERS = 11
"""Height of the minutes' numbers below their bars [px]."""
ROOM = 6


class CheckClock(QWidget):
    """Minutes and seconds at the left, the minutes' bars at the right, in the theme's ink only."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("check clock")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.shown = "0:00"
        self.minutes: tuple[float | None, ...] = ()

    def show_time(self, since_ms: int) -> None:
        """Show a time since the start [ms]."""
        seconds = max(0, since_ms // 1000)
        shown = f"{seconds // 60}:{seconds % 60:02}"
        if shown != self.shown:
            self.shown = shown
            self.setAccessibleName(f"{shown} since the start")
            self.update()

    def show_minutes(self, minutes: Sequence[float | None]) -> None:
        """Show the minutes' volumes, None where one wasn't read; the tallest bar is the largest."""
        if tuple(minutes) != self.minutes:
            self.minutes = tuple(minutes)
            self.update()

    def sizeHint(self) -> QSize:
        """Room for the figures."""
        return QSize(200, scaled(self, CAPITALS) + 2 * ROOM)

    def minimumSizeHint(self) -> QSize:
        """The same: figures that are cut say nothing."""
        return self.sizeHint()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the figures, then the newest minutes that there is room for."""
        painter = QPainter(self)
        ink = self.palette().windowText().color()
        painter.setPen(ink)
        font = painter.font()
        tall = scaled(self, CAPITALS)
        font.setPixelSize(tall)
        capitals = QFontMetrics(font).capHeight()
        if capitals:
            font.setPixelSize(round(tall * tall / capitals))
        font.setBold(True)
        painter.setFont(font)
        wide = QFontMetrics(font).horizontalAdvance(self.shown)
        painter.drawText(0, ROOM + tall, self.shown)
        self._bars(painter, QRectF(wide + 24, ROOM, self.width() - wide - 24, tall))

    def _bars(self, painter: QPainter, area: QRectF) -> None:
        """A bar up for mud that came, down for mud that was lost, a dot for a minute that wasn't read, on a line with
        the minutes' numbers below, so that one bar beside the figures isn't read as one of them."""
        bar, step = scaled(self, BAR), scaled(self, BAR + GAP)
        room = max(0, int(area.width() // step) - 2)  # the last two places are for the word
        minutes = self.minutes[-room:] if room else ()
        if not any(m is not None for m in minutes):
            return
        first = len(self.minutes) - len(minutes) + 1
        font = self.font()
        font.setPixelSize(scaled(self, NUMBERS))
        painter.setFont(font)
        tall = QFontMetrics(font).height()
        up = max((m for m in minutes if m is not None and m > 0), default=0.0)
        down = max((-m for m in minutes if m is not None and m < 0), default=0.0)
        high = area.height() - tall
        scale = high / (up + down) if up + down > 0 else 0.0
        base = area.top() + (up * scale if up + down > 0 else high)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        painter.drawLine(int(area.left()), int(base), int(area.right()), int(base))
        for k in range(len(minutes)):
            place = QRectF(area.left() + k * step - GAP / 2, area.bottom() - tall, step, tall)
            painter.drawText(place, Qt.AlignmentFlag.AlignCenter, str(first + k))
        word = QRectF(area.left() + len(minutes) * step, area.bottom() - tall, 2.5 * step, tall)
        painter.drawText(word, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, "min")
        painter.setBrush(painter.pen().color())
        painter.setPen(Qt.PenStyle.NoPen)
        for k, m in enumerate(minutes):
            x = area.left() + k * step
            if m is None:
                painter.drawEllipse(QRectF(x + bar / 2 - 1.5, base - 1.5, 3, 3))
            else:
                painter.drawRect(QRectF(x, base - max(m, 0.0) * scale, bar, abs(m) * scale))
