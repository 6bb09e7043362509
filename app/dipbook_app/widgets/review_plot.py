"""The trend of a span: actual and expected above, the difference below, one cursor through both.

Behind the curves lie what the rig did, as bands, and the hours in which nothing watched, hatched; on them entries,
corrections and warnings as marks. Drawn as measured in docs/performance.md: at most two points a pixel from envelopes
that are worked out beforehand, solid pens of one pixel, the whole view at once, the scene prepared before it is
painted.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QBrush, QColor, QFontMetricsF, QKeyEvent, QPainter, QPen, QPolygonF
from PySide6.QtWidgets import QGraphicsView, QLabel, QSizePolicy, QVBoxLayout, QWidget

from dipbook.reports import writing
from dipbook_app.display import DisplayUnits
from dipbook_app.reviewer import Reviewed
from dipbook_app.theme import Look
from dipbook_app.widgets.line_label import LineLabel
from dipbook_app.widgets.plot_axes import TimeAxis, VolumeAxis
from dipbook_app.widgets.plot_layer import PlotLayer
from dipbook_app.widgets.plot_look import dress, pen

FEW = 240
"""Up to so many readings each one is marked, with its ± 2u."""
NAMED_PX = 80
"""In a lower plot what the rig did isn't named, since the curves would lie over it [px at text size 1]."""
LEAST_VIEW_MS = 60_000
FAR_PX = 24
"""So far Ctrl and an arrow move the cursor [px]."""
MARGIN = 0.1
"""Share left free above and below the curves [-]."""
HINT = "← → read, ↑ ↓ zoom, PgUp PgDn along, Home all, N next warning"


class ReviewPlot(QWidget):
    """Left and Right move the cursor, with Ctrl further; Up and Down zoom about it, PgUp and PgDn go along, Home shows
    all of the span. The wheel zooms, a pressed mouse drags.

    Signals: turned(int): the cursor is on another reading: its number in the report's trend, −1 for none.
    """

    turned = Signal(int)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._of: Reviewed | None = None
        self._units: DisplayUnits | None = None
        self._low = self._high = 0
        self._ranges = [(0.0, 1.0), (0.0, 1.0)]
        self._index = -1
        self._dragged: float | None = None
        self._read_out = LineLabel("", "strong", smaller=("firm",), lines=2)
        self._empty = QLabel("No reading in this span: nothing to draw.")
        self._empty.setProperty("part", "soft")
        self._empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._view = pg.GraphicsLayoutWidget()
        self._view.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.FullViewportUpdate)
        self._view.setFrameStyle(0)
        self._view.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._view.viewport().installEventFilter(self)
        self._view.ci.layout.setContentsMargins(0, 0, 0, 0)
        self._view.ci.layout.setSpacing(2)
        self._axis, self._numbers = TimeAxis(), (VolumeAxis(), VolumeAxis())
        self._plots = (self._view.addPlot(row=0, col=0, axisItems={"left": self._numbers[0]}),
                       self._view.addPlot(row=1, col=0, axisItems={"bottom": self._axis, "left": self._numbers[1]}))
        for plot in self._plots:
            plot.setMouseEnabled(False, False)
            plot.setMenuEnabled(False)
            plot.hideButtons()
            plot.disableAutoRange()
        self._plots[0].hideAxis("bottom")
        self._actual, self._expected, self._difference = (pg.PlotCurveItem() for _ in range(3))
        for plot, curves in zip(self._plots, ((self._expected, self._actual), (self._difference,)), strict=True):
            for curve in curves:
                plot.addItem(curve)
        self._layers = [PlotLayer(plot.vb, draw, front=front) for n, plot in enumerate(self._plots)
                        for front, draw in ((False, lambda p, box, n=n: self._behind(p, box, n)),
                                            (True, lambda p, box, n=n: self._before(p, box, n)))]
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(2)
        layout.addWidget(self._read_out)
        layout.addWidget(self._view, 1)
        layout.addWidget(self._empty, 1)
        self._drawing = False
        self._plots[1].vb.sigResized.connect(lambda _box: self._draw_again())
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Expanding)
        self.setMinimumHeight(150)
        self.setAccessibleName("Trend of the span")
        self.set_look(look)

    def sizeHint(self) -> QSize:
        return QSize(700, 320)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._look = look
        self._view.setBackground(look.colour("ground"))
        for plot in self._plots:
            dress((plot.getAxis(side) for side in ("left", "bottom")), look)
            plot.getAxis("left").setWidth(look.px(54))
        self._axis.setHeight(look.px(22))
        for curve, token in ((self._actual, "ink"), (self._expected, "soft"), (self._difference, "ink")):
            curve.setPen(pen(look, token))
        self._draw()

    # --- what it shows ------------------------------------------------------------------------------------------

    def show_span(self, reviewed: Reviewed, units: DisplayUnits) -> None:
        """reviewed: of the span; of the same one as before, the part that was looked at stays. units: the crew's."""
        before, span = self._of, reviewed.report.span
        if before is None or (before.report.span.from_ms, before.report.span.to_ms) != (span.from_ms, span.to_ms):
            self._low, self._high = span.from_ms, span.to_ms
            self._index = -1
        self._of, self._units = reviewed, units
        self._index = min(self._index, len(reviewed.difference) - 1)
        self._say()
        self._draw()

    @property
    def view(self) -> tuple[int, int]:
        """From and to of what is drawn [UTC ms]."""
        return self._low, self._high

    @property
    def read_out(self) -> str:
        """What is read at the cursor."""
        return self._read_out.text()

    @property
    def index(self) -> int:
        """The reading that the cursor is on, −1 for none."""
        return self._index

    def drawn(self) -> tuple[Any, Any]:
        """Places [s after the span's beginning] and values [the screen's unit] of the difference as it is drawn."""
        x, y = self._difference.getData()
        return (np.zeros(0), np.zeros(0)) if x is None else (x, y)

    def set_view(self, low_ms: int, high_ms: int) -> None:
        """Draw a part of the span, as far as it goes. low_ms, high_ms: [UTC ms]."""
        if self._of is None:
            return
        span = self._of.report.span
        wide = min(max(high_ms - low_ms, LEAST_VIEW_MS), span.ms)
        low = min(max(low_ms, span.from_ms), span.to_ms - wide)
        if (low, low + wide) != (self._low, self._high):
            self._low, self._high = low, low + wide
            self._draw()

    def zoom(self, share: float, about_ms: int | None = None) -> None:
        """share: of what is drawn now [-]. about_ms: what stays in its place [UTC ms], None: the cursor, or the
        middle."""
        here = about_ms if about_ms is not None else self._at_ms()
        if here is None or not self._low <= here <= self._high:
            here = (self._low + self._high) // 2
        before = self._high - self._low
        wide = max(LEAST_VIEW_MS, round(before * share))
        low = round(here - (here - self._low) / before * wide)
        self.set_view(low, low + wide)

    def pan(self, share: float) -> None:
        """Go along. share: of what is drawn, + later [-]."""
        by = round((self._high - self._low) * share)
        self.set_view(self._low + by, self._high + by)

    def read_at(self, t_ms: int) -> None:
        """Put the cursor on the reading nearest to a time, and show it. t_ms: [UTC ms]."""
        if self._of is None or not len(self._of.difference):
            return
        times = self._of.report.trend.t_ms
        after = int(np.searchsorted(times, t_ms))
        near = [n for n in (after - 1, after) if 0 <= n < len(times)]
        self._take(min(near, key=lambda n: abs(int(times[n]) - t_ms)))

    def step(self, way: int, px: int = 1) -> None:
        """The cursor on the next reading that is at least so far away. way: −1 or 1; px: on the screen."""
        if self._of is None or not len(self._of.difference):
            return
        times, last = self._of.report.trend.t_ms, len(self._of.difference) - 1
        if self._index < 0:
            inside = int(np.searchsorted(times, self._high, side="right")) - 1
            self._take(max(0, inside))
            return
        far = round(px * (self._high - self._low) / max(1.0, self._plots[1].vb.width()))
        t = int(times[self._index])
        if way > 0:
            n = max(self._index + 1, int(np.searchsorted(times, t + far)))
        else:
            n = min(self._index - 1, int(np.searchsorted(times, t - far, side="right")) - 1)
        self._take(min(max(n, 0), last))

    def _take(self, index: int) -> None:
        self._index = index
        t, wide = self._at_ms(), self._high - self._low
        if t is not None and not self._low <= t <= self._high:
            self.set_view(t - wide // 2, t + wide - wide // 2)
        self._say()
        self._prepare()
        self.turned.emit(index)

    def _at_ms(self) -> int | None:
        return None if self._of is None or self._index < 0 else int(self._of.report.trend.t_ms[self._index])

    def _say(self) -> None:
        of, units, n = self._of, self._units, self._index
        if of is None or units is None or n < 0:
            self._read_out.setText(HINT)
            return
        t = of.report.trend
        partial = ", partial" if t.partial[n] else ""
        self._read_out.setText(
            f"{writing(of.report).clock(int(t.t_ms[n]))}  actual {units.volume_number(t.actual_m3[n])}, expected "
            f"{units.volume_number(t.expected_m3[n])}, difference {units.signed_volume(t.difference_m3[n])} "
            f"{units.plus_minus(t.u_m3[n])}{partial}")

    # --- drawing ------------------------------------------------------------------------------------------------

    def _draw_again(self) -> None:
        if not self._drawing:
            self._drawing = True
            self._draw()
            self._drawing = False

    def _draw(self) -> None:
        """The part that is looked at, anew."""
        of, units = self._of, self._units
        if of is None or units is None:
            return
        nothing = not len(of.difference)
        self._view.setVisible(not nothing)
        self._empty.setVisible(nothing)
        if nothing:
            return
        base = of.report.span.from_ms
        self._axis.set_clock(base, units)
        for numbers in self._numbers:
            numbers.set_decimal(units.decimal)
        low, high = (self._low - base) / 1000.0, (self._high - base) / 1000.0
        buckets = max(50, self._view.width())
        reach: list[list[Any]] = [[], [np.zeros(1)]]
        for curve, series, n in ((self._expected, of.expected, 0), (self._actual, of.actual, 0),
                                 (self._difference, of.difference, 1)):
            t, v = series.between(self._low, self._high, buckets)
            y = units.in_volume_units(v)
            curve.setData((t - base) / 1000.0, y, connect="finite")
            reach[n].append(y)
        for n, plot in enumerate(self._plots):
            self._ranges[n] = _range(np.concatenate(reach[n]), self._look.px(18) / max(40.0, float(plot.vb.height())))
            plot.setRange(xRange=(low, high), yRange=self._ranges[n], padding=0)
        self._prepare()

    def _prepare(self) -> None:
        for layer in self._layers:
            layer.update()
        self._view.scene().prepareForPaint()

    def _x(self, t_ms: float, box: QRectF) -> float:
        return (t_ms - self._low) / max(1, self._high - self._low) * box.width()

    def _y(self, value: float, box: QRectF, n: int) -> float:
        low, high = self._ranges[n]
        return (high - value) / (high - low) * box.height()

    def _behind(self, painter: QPainter, box: QRectF, n: int) -> None:
        """Bands, hatching, the grid and the zero."""
        of = self._of
        if of is None or not len(of.difference):
            return
        look = self._look
        self._bands(painter, box, n)
        painter.setPen(pen(look, "grid"))
        for _, values in self._numbers[n].tickValues(*self._ranges[n], max(40.0, box.height()))[:1]:
            for value in values:
                y = round(self._y(value, box, n))
                painter.drawLine(0, y, int(box.width()), y)
        hatch = QBrush(look.colour("line"), Qt.BrushStyle.BDiagPattern)
        for each in of.report.unwatched:
            x0, x1 = self._x(each.from_ms, box), self._x(each.to_ms, box)
            if x1 >= 0 and x0 <= box.width():
                painter.fillRect(QRectF(x0, 0, max(2.0, x1 - x0), box.height()), hatch)
        if n == 1:
            painter.setPen(pen(look, "line"))
            y = round(self._y(0.0, box, n))
            painter.drawLine(0, y, int(box.width()), y)

    def _bands(self, painter: QPainter, box: QRectF, n: int) -> None:
        """What the rig did: every second stretch a little lighter, its name at the foot of the upper plot."""
        assert self._of is not None
        look, metrics = self._look, QFontMetricsF(self._look.font(11))
        painter.setFont(look.font(11))
        for place, (a, b, name) in enumerate(self._of.report.trend.activities):
            x0, x1 = max(0.0, self._x(a, box)), min(box.width(), self._x(b, box))
            if x1 <= x0:
                continue
            if place % 2:
                painter.fillRect(QRectF(x0, 0, x1 - x0, box.height()), look.colour("panel"))
            if n == 0 and box.height() > look.px(NAMED_PX) and metrics.horizontalAdvance(name) + 8 <= x1 - x0:
                painter.setPen(look.colour("soft"))
                painter.drawText(QPointF(x0 + 4, box.height() - self._foot() - metrics.descent()), name)

    def _foot(self) -> float:
        """Height of the marks at the foot of the upper plot [px]."""
        return float(self._look.px(9))

    def _before(self, painter: QPainter, box: QRectF, n: int) -> None:
        """Readings while they are few, marks, words, the cursor."""
        of, units, look = self._of, self._units, self._look
        if of is None or units is None or not len(of.difference):
            return
        if n == 1:
            self._readings(painter, box)
        self._marks(painter, box, n)
        t = self._at_ms()
        if t is not None and self._low <= t <= self._high:
            painter.setPen(pen(look, "ink"))
            x = round(self._x(t, box))
            painter.drawLine(x, 0, x, int(box.height()))
        title = (f"Actual, and expected (grey), {units.volume_word}" if n == 0
                 else f"Difference, {units.volume_word}, and ± 2u")
        painter.setFont(look.font(12))
        metrics = QFontMetricsF(look.font(12))
        ground = QColor(look.colour("ground"))
        ground.setAlpha(200)
        painter.fillRect(QRectF(0, 0, metrics.horizontalAdvance(title) + 8, metrics.height() + 2), ground)
        painter.setPen(look.colour("soft"))
        painter.drawText(QPointF(4, metrics.ascent() + 1), title)

    def _readings(self, painter: QPainter, box: QRectF) -> None:
        assert self._of is not None
        assert self._units is not None
        t, look = self._of.report.trend, self._look
        first, last = (int(np.searchsorted(t.t_ms, self._low, side="left")),
                       int(np.searchsorted(t.t_ms, self._high, side="right")))
        if last - first > FEW:
            return
        values = self._units.in_volume_units(t.difference_m3[first:last])
        spread = 2 * self._units.in_volume_units(t.u_m3[first:last])
        for k in range(last - first):
            if not np.isfinite(values[k]):
                continue
            x, y = self._x(int(t.t_ms[first + k]), box), self._y(values[k], box, 1)
            if np.isfinite(spread[k]):
                painter.setPen(pen(look, "soft"))
                painter.drawLine(QPointF(x, self._y(values[k] - spread[k], box, 1)),
                                 QPointF(x, self._y(values[k] + spread[k], box, 1)))
            hollow = bool(t.partial[first + k])
            painter.setPen(pen(look, "ink"))
            painter.setBrush(look.colour("ground" if hollow else "ink"))
            if hollow:
                painter.drawEllipse(QPointF(x, y), 3.0, 3.0)
            else:
                painter.drawRect(QRectF(x - 2, y - 2, 4, 4))

    def _marks(self, painter: QPainter, box: QRectF, n: int) -> None:
        """Entries as short lines at the foot, corrections with a small ring, warnings as triangles with a line."""
        assert self._of is not None
        report, look = self._of.report, self._look
        foot, bottom = self._foot(), box.height()
        if n == 0:
            painter.setPen(pen(look, "soft"))
            for t, _ in report.trend.marks:
                if self._low <= t <= self._high:
                    x = self._x(t, box)
                    painter.drawLine(QPointF(x, bottom - foot), QPointF(x, bottom))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(pen(look, "ink"))
            for each in report.gauging.corrections:
                if self._low <= each.t_ms <= self._high:
                    painter.drawEllipse(QPointF(self._x(each.t_ms, box), bottom - foot / 2), foot / 2.4, foot / 2.4)
        edge = look.colour("danger_edge")
        for t in report.trend.raised:
            if not self._low <= t <= self._high:
                continue
            x = self._x(t, box)
            line = QPen(edge, 1)
            line.setCosmetic(True)
            painter.setPen(line)
            painter.drawLine(QPointF(x, 0), QPointF(x, bottom))
            if n == 1:
                painter.setBrush(edge)
                painter.drawPolygon(QPolygonF([QPointF(x, bottom - 1.6 * foot), QPointF(x - foot * 0.8, bottom - 1),
                                               QPointF(x + foot * 0.8, bottom - 1)]))

    # --- keys and mouse -----------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key, far = Qt.Key(event.key()), event.modifiers() & Qt.KeyboardModifier.ControlModifier
        if key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            self.step(-1 if key == Qt.Key.Key_Left else 1, FAR_PX if far else 1)
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.zoom(0.5 if key == Qt.Key.Key_Up else 2.0)
        elif key in (Qt.Key.Key_PageUp, Qt.Key.Key_PageDown):
            self.pan(-0.5 if key == Qt.Key.Key_PageUp else 0.5)
        elif key == Qt.Key.Key_Home and self._of is not None:
            self.set_view(self._of.report.span.from_ms, self._of.report.span.to_ms)
        else:
            super().keyPressEvent(event)

    def eventFilter(self, watched: Any, event: QEvent) -> bool:
        kind = event.type()
        if self._of is None or kind not in (QEvent.Type.MouseMove, QEvent.Type.MouseButtonPress,
                                            QEvent.Type.MouseButtonRelease, QEvent.Type.Wheel):
            return bool(super().eventFilter(watched, event))
        box = self._plots[1].vb.sceneBoundingRect()
        share = (event.position().x() - box.left()) / max(1.0, box.width())  # type: ignore[attr-defined]
        t = round(self._low + share * (self._high - self._low))
        if kind == QEvent.Type.Wheel:
            self.zoom(0.8 if event.angleDelta().y() > 0 else 1.25, t)  # type: ignore[attr-defined]
            return True
        if kind == QEvent.Type.MouseButtonPress:
            self.setFocus()
            self._dragged = share
        elif kind == QEvent.Type.MouseButtonRelease:
            self._dragged = None
        elif self._dragged is not None:
            self.pan(self._dragged - share)
            self._dragged = share
            return True
        if self._low <= t <= self._high:
            self.read_at(t)
        return False


def _range(values: Any, title: float) -> tuple[float, float]:
    """A range that holds all known values. title: share left free at the top for it, and at the foot for marks [-]."""
    known = values[np.isfinite(values)]
    if not len(known):
        return (-1.0, 1.0)
    low, high = float(known.min()), float(known.max())
    pad = max((high - low) * MARGIN, abs(high) * 1e-3, 0.05)
    extra = (high - low + 2 * pad) * min(0.4, title)
    return (low - pad - extra, high + pad + extra)
