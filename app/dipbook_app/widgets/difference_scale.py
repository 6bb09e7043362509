"""The difference on a straight scale: zero in the middle, words at the ends, the limits where they are."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from dipbook_app.display import DisplayUnits
from dipbook_app.theme import Look

LEFT_WORDS = "less than expected"
RIGHT_WORDS = "more than expected"


def half_range(values: tuple[float, ...]) -> float:
    """A round half-range that holds all values, in their unit: 1, 2 or 5 times a power of ten, with a margin."""
    largest = max((abs(v) for v in values if math.isfinite(v)), default=0.0) * 1.15
    if largest <= 0.0:
        return 1.0
    power = 10.0 ** math.floor(math.log10(largest))
    return next(step * power for step in (1.0, 2.0, 5.0, 10.0) if step * power >= largest * (1 - 1e-12))


class DifferenceScale(QWidget):
    """Shows the value, its ± 2u and the limits. All in the screen's unit of volume."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._value: float | None = None
        self._spread: float | None = None
        self._limits: tuple[tuple[float, str], ...] = ()
        self._half = 1.0
        self._units: DisplayUnits | None = None
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.set_look(look)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._look = look
        self.setFixedHeight(self.sizeHint().height())
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(300, self._look.px(73))

    def show_difference(self, difference_m3: float | None, u_m3: float | None, limits: tuple[tuple[float, str], ...],
                        units: DisplayUnits) -> None:
        """difference_m3, u_m3 (k=1) [m3] or None; limits: (signed value [m3], words); units: the crew's."""
        self._units = units
        self._value = None if difference_m3 is None else units.in_volume_unit(difference_m3)
        self._spread = None if u_m3 is None else 2 * units.in_volume_unit(u_m3)
        self._limits = tuple((units.in_volume_unit(value), words) for value, words in limits)
        reach = [value for value, _ in self._limits]
        if self._value is not None:
            reach.append(abs(self._value) + (self._spread or 0.0))
        self._half = half_range(tuple(reach))
        self.update()

    def readings(self) -> tuple[str, ...]:
        """Words at the ends, the scale's half-range and the limits' words."""
        return (LEFT_WORDS, RIGHT_WORDS, f"{self._half:g}", *(words for _, words in self._limits))

    def x_of(self, value: float) -> float:
        """Where a value stands across the widget [px]. value: in the screen's unit of volume."""
        span = (self.width() - 2 * self._margin) / 2
        clipped = min(max(value / self._half, -1.0), 1.0)
        return self.width() / 2 + clipped * span

    @property
    def _margin(self) -> int:
        return self._look.px(26)

    def words_places(self, metrics: QFontMetricsF | None = None) -> list[tuple[tuple[float, float], str]]:
        """Where each limit's words stand across the widget [px]: on the outer side of their line, so that two limits
        close to zero keep theirs, else on its inner side; left out where they would stand on others'."""
        metrics = QFontMetricsF(self._look.font(12)) if metrics is None else metrics
        placed: list[tuple[tuple[float, float], str]] = []
        for value, words in self._limits:
            x, width = self.x_of(value), metrics.horizontalAdvance(words) + 6
            sides = ((x - width, x), (x, x + width))
            for left, right in sides if value < 0 else sides[::-1]:
                free = all(right <= a or left >= b for (a, b), _ in placed)
                crossed = any(left < self.x_of(other) < right for other, _ in self._limits)
                if left >= 0 and right <= self.width() and free and not crossed:
                    placed.append(((left, right), words))
                    break
        return placed

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        look = self._look
        small = look.font(12)
        metrics = QFontMetricsF(small)
        painter.setFont(small)
        top = metrics.height() + 2
        axis = top + look.px(20)
        self._paint_axis(painter, metrics, axis)
        painter.setPen(QPen(look.colour("ink"), 3))
        for value, _ in self._limits:
            x = self.x_of(value)
            painter.drawLine(QPointF(x, 3), QPointF(x, axis + look.px(6)))
        for (left, right), words in self.words_places(metrics):
            painter.drawText(QRectF(left, 0, right - left, metrics.height()), Qt.AlignmentFlag.AlignCenter, words)
        if self._value is not None:
            self._paint_value(painter, axis)
        painter.end()

    def _paint_axis(self, painter: QPainter, metrics: QFontMetricsF, axis: float) -> None:
        look = self._look
        painter.setPen(QPen(look.colour("line"), 1))
        painter.drawLine(QPointF(self.x_of(-self._half), axis), QPointF(self.x_of(self._half), axis))
        decimal = self._units.decimal if self._units else "."
        for part in (-1.0, -0.5, 0.0, 0.5, 1.0):
            value = part * self._half
            x = self.x_of(value)
            painter.setPen(QPen(look.colour("ink" if part == 0 else "line"), 2 if part == 0 else 1))
            painter.drawLine(QPointF(x, axis - look.px(5)), QPointF(x, axis + look.px(5)))
            sign = "−" if value < 0 else "+" if value > 0 else ""
            text = f"{sign}{abs(value):g}".replace(".", decimal)
            if self._value is None and not self._limits:
                continue
            painter.setPen(look.colour("soft"))
            box = QRectF(x - 40, axis + look.px(6), 80, metrics.height())
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
        below = QRectF(0, axis + look.px(6) + metrics.height(), self.width(), metrics.height())
        painter.setPen(look.colour("ink"))
        painter.drawText(below, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, f"← {LEFT_WORDS}")
        painter.drawText(below, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, f"{RIGHT_WORDS} →")

    def _paint_value(self, painter: QPainter, axis: float) -> None:
        look = self._look
        value = self._value or 0.0
        if self._spread is not None:
            left, right = self.x_of(value - self._spread), self.x_of(value + self._spread)
            painter.fillRect(QRectF(left, axis - look.px(7), max(2.0, right - left), look.px(14)), look.colour("mud"))
        x, tall, half = self.x_of(value), look.px(15), look.px(8)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(look.colour("ground"), 1))
        painter.setBrush(look.colour("ink"))
        corners = [QPointF(x, axis), QPointF(x - half, axis - tall), QPointF(x + half, axis - tall)]
        painter.drawPolygon(QPolygonF(corners))
