"""The trend: volumes above, the unexplained with its limits below, one time axis, entries and warnings as marks.

Drawn for speed as measured in docs/performance.md: an envelope of at most two points a pixel, solid pens of one
pixel without smoothing, the whole view repainted at once, the scene prepared before it is painted.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pyqtgraph as pg
from numpy.typing import NDArray
from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QKeyEvent
from PySide6.QtWidgets import QGraphicsView, QHBoxLayout, QLabel, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from dipbook.series import envelope
from dipbook.situation import Trend
from dipbook_app.display import HOUR_MS, DisplayUnits
from dipbook_app.theme import Look
from dipbook_app.widgets.line_label import LineLabel
from dipbook_app.widgets.plot_axes import TimeAxis, VolumeAxis
from dipbook_app.widgets.plot_look import dress, pen

SPANS: tuple[tuple[str, int], ...] = (("4 h", 4 * HOUR_MS), ("12 h", 12 * HOUR_MS), ("All", 0))
FEW = 240
"""Up to so many readings each one is marked, with its ± 2u."""
MARKS_IN_WORDS = 3
LEAST_PX = 150
LOW_PX = 125
"""Below this height, at text size 1, the volumes above leave their room to what is unexplained [px]."""
WITH_VOLUMES_PX = 152
"""Height, at text size 1, in which the words of both plots stand apart [px]."""
QWIDGETSIZE_MAX = 16_777_215
Floats = NDArray[np.float64]


class TrendPlot(QWidget):
    """Shows the trend; hover, touch or the arrow keys read it."""

    read = Signal(str)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._trend: Trend | None = None
        self._units: DisplayUnits | None = None
        self._limits: tuple[tuple[float, str], ...] = ()
        self._now_ms = self._base_ms = 0
        self._span_ms = SPANS[1][1]
        self._cursor_ms: int | None = None
        self._title = ""
        self._read_out = LineLabel("", "small")
        self._empty = QLabel("No readings to draw yet")
        self._empty.setProperty("part", "soft")
        self._empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._empty.hide()
        self._buttons: list[QPushButton] = []
        top = QHBoxLayout()
        top.setSpacing(4)
        top.addWidget(self._read_out, 1)
        for words, span in SPANS:
            button = QPushButton(words)
            button.setCheckable(True)
            button.setChecked(span == self._span_ms)
            button.setToolTip(f"Show {'everything' if not span else f'the last {words}'}")
            button.clicked.connect(lambda _=False, chosen=span: self.set_span(chosen))
            self._buttons.append(button)
            top.addWidget(button)
        self._view = pg.GraphicsLayoutWidget()
        self._view.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.FullViewportUpdate)
        self._view.setFrameStyle(0)
        self._view.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._view.viewport().installEventFilter(self)
        self._view.ci.layout.setContentsMargins(0, 0, 0, 0)
        self._view.ci.layout.setSpacing(2)
        self._axis = TimeAxis()
        self._numbers = (VolumeAxis(), VolumeAxis())
        self._upper = self._view.addPlot(row=0, col=0, axisItems={"left": self._numbers[0]})
        self._lower = self._view.addPlot(row=1, col=0, axisItems={"bottom": self._axis, "left": self._numbers[1]})
        self._view.ci.layout.setRowStretchFactor(0, 4)
        self._view.ci.layout.setRowStretchFactor(1, 5)
        for plot in (self._upper, self._lower):
            plot.setMouseEnabled(False, False)
            plot.setMenuEnabled(False)
            plot.hideButtons()
            plot.disableAutoRange()
        self._upper.hideAxis("bottom")
        self._grid_up, self._grid_low = pg.PlotCurveItem(), pg.PlotCurveItem()
        self._expected, self._actual = pg.PlotCurveItem(), pg.PlotCurveItem()
        self._marks, self._warned = pg.PlotCurveItem(), pg.PlotCurveItem()
        self._spread, self._difference = pg.PlotCurveItem(), pg.PlotCurveItem()
        self._limit_lines, self._zero = pg.PlotCurveItem(), pg.PlotCurveItem()
        self._dots, self._hollow = pg.ScatterPlotItem(), pg.ScatterPlotItem()
        for item in (self._grid_up, self._marks, self._warned, self._expected, self._actual):
            self._upper.addItem(item)
        for item in (self._grid_low, self._zero, self._limit_lines, self._spread, self._difference, self._dots,
                     self._hollow):
            self._lower.addItem(item)
        self._cursors = (pg.InfiniteLine(angle=90), pg.InfiniteLine(angle=90))
        self._upper.addItem(self._cursors[0], ignoreBounds=True)
        self._lower.addItem(self._cursors[1], ignoreBounds=True)
        self._words: list[tuple[Any, pg.TextItem]] = []
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(2)
        layout.addLayout(top)
        layout.addWidget(self._view, 1)
        layout.addWidget(self._empty, 1)
        self._drawing = self._held = self._stale = False
        for plot in (self._upper, self._lower):
            plot.vb.sigResized.connect(self._draw_again)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Expanding)
        self._with_volumes = False
        self.set_look(look)

    def sizeHint(self) -> QSize:
        return QSize(600, 320)

    def ask_for_volumes(self, ask: bool) -> None:
        """ask: take so much height at least that the volumes are drawn too, and not only what is unexplained."""
        self._with_volumes = ask
        top = self._buttons[0].sizeHint().height() + 2
        self.setMinimumHeight(max(LEAST_PX, self._look.px(WITH_VOLUMES_PX) + top) if ask else LEAST_PX)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._look = look
        self._view.setBackground(look.colour("ground"))
        for plot in (self._upper, self._lower):
            dress((plot.getAxis(side) for side in ("left", "bottom")), look)
            plot.getAxis("left").setWidth(look.px(54))
        self.ask_for_volumes(self._with_volumes)
        self._axis.setHeight(look.px(22))
        for item, token in ((self._grid_up, "grid"), (self._grid_low, "grid"), (self._expected, "soft"),
                            (self._actual, "ink"), (self._marks, "soft"), (self._warned, "danger_edge"),
                            (self._spread, "soft"), (self._difference, "ink"), (self._limit_lines, "ink"),
                            (self._zero, "line")):
            item.setPen(pen(look, token))
        for line in self._cursors:
            line.setPen(pen(look, "soft"))
        self._draw()

    # --- showing ------------------------------------------------------------------------------------------------

    def show_trend(self, trend: Trend, limits: tuple[tuple[float, str], ...], now_ms: int, units: DisplayUnits) -> None:
        """trend: the columns; limits: (signed value [m3], words); now_ms: right edge [UTC ms]; units: the crew's."""
        same = trend is self._trend and units is self._units and limits == self._limits
        if same and abs(now_ms - self._now_ms) < self._span_shown() / 2000:
            return  # the right edge would move by less than half a pixel
        self._trend, self._limits, self._now_ms, self._units = trend, limits, now_ms, units
        self._draw()

    def set_title(self, words: str) -> None:
        """words: shown while nothing is read."""
        self._title = words
        if self._cursor_ms is None:
            self._read_out.setText(words)

    def set_span(self, span_ms: int) -> None:
        """How much to show back from now [ms]; 0 for everything."""
        self._span_ms = span_ms
        for button, (_, span) in zip(self._buttons, SPANS, strict=True):
            button.setChecked(span == span_ms)
        self._draw()

    def shown_points(self) -> int:
        """Points in the difference curve as drawn."""
        x = self._difference.getData()[0]
        return 0 if x is None else len(x)

    @property
    def read_out(self) -> str:
        """What is read now."""
        return self._read_out.text()

    def _span_shown(self) -> int:
        return max(60_000, round(self._high_ms() - self._low_ms()))

    def _low_ms(self) -> int:
        trend = self._trend
        first = int(trend.t_ms[0]) if trend is not None and len(trend.t_ms) else self._now_ms - HOUR_MS
        low = first if self._span_ms == 0 else max(first, self._now_ms - self._span_ms)
        return min(low, self._now_ms - HOUR_MS // 2)

    def _high_ms(self) -> int:
        trend = self._trend
        last = int(trend.t_ms[-1]) if trend is not None and len(trend.t_ms) else self._now_ms
        return max(last, self._now_ms)

    def _thin(self, t_ms: Any, values: Any) -> tuple[Floats, Floats]:
        """Seconds after the base and the screen's unit, at most two points a pixel."""
        trend_t, kept = envelope(t_ms, values, max(50, self._view.width()))
        assert self._units is not None
        return (trend_t - self._base_ms) / 1000.0, self._units.in_volume_units(kept)

    def _draw(self) -> None:
        trend, units = self._trend, self._units
        if trend is None or units is None:
            return
        self._make_room()
        nothing = not len(trend.t_ms)
        self._view.setVisible(not nothing)
        self._empty.setVisible(nothing)
        if nothing:
            return
        low, high = self._low_ms(), self._high_ms()
        self._base_ms = low
        self._axis.set_clock(low, units)
        for numbers in self._numbers:
            numbers.set_decimal(units.decimal)
        t = np.asarray(trend.t_ms, dtype=np.int64)
        first = max(0, int(np.searchsorted(t, low)) - 1)
        t = t[first:]
        actual, expected, difference, u = (np.asarray(c, dtype=float)[first:]
                                           for c in (trend.actual, trend.expected, trend.difference, trend.u))
        partial = np.asarray(trend.partial, dtype=bool)[first:]
        width_s = (high - low) / 1000.0
        xs, ys = self._thin(t, actual)
        ex, ey = self._thin(t, expected)
        dx, dy = self._thin(t, difference)
        self._actual.setData(xs, ys, connect="finite")
        self._expected.setData(ex, ey, connect="finite")
        self._difference.setData(dx, dy, connect="finite")
        self._show_readings(t, difference, u, partial)
        limits = [units.in_volume_unit(value) for value, _ in self._limits]
        right = width_s * (1.0 + self._look.px(62) / max(200.0, float(self._lower.vb.width())))
        self._limit_lines.setData(np.tile([0.0, right], len(limits)), np.repeat(limits, 2), connect="pairs")
        self._zero.setData([0.0, right], [0.0, 0.0])
        upper = _range(np.concatenate((ys, ey)), 0.08, self._title_share(self._upper))
        spread = 2 * units.in_volume_units(u)
        d = units.in_volume_units(difference)
        reach = np.concatenate((d - spread, d + spread, dy, limits, [0.0]))
        lower = _range(reach, 0.08, self._title_share(self._lower))
        self._upper.setRange(xRange=(0.0, right), yRange=upper, padding=0)
        self._lower.setRange(xRange=(0.0, right), yRange=lower, padding=0)
        self._show_marks(low, high, upper)
        self._show_grid(self._grid_up, upper, right, self._upper)
        self._show_grid(self._grid_low, lower, right, self._lower)
        self._show_words(xs, ys, ex, ey, right, lower)
        self._show_cursor()
        self._view.scene().prepareForPaint()

    def _make_room(self) -> None:
        """In a very low plot what is unexplained takes all of it: the volumes stand in words beside it."""
        low = self._view.height() < self._look.px(LOW_PX)
        if low == self._upper.isVisible():
            self._upper.setVisible(not low)
            self._upper.setMaximumHeight(0 if low else QWIDGETSIZE_MAX)
            self._view.ci.layout.setRowStretchFactor(0, 0 if low else 4)
            self._view.ci.layout.activate()

    def _draw_again(self) -> None:
        """The room has changed, and with it what fits."""
        if self._held:
            self._stale = True
        elif not self._drawing:
            self._drawing = True
            self._draw()
            self._drawing = False

    def hold(self, held: bool) -> None:
        """held: the page tries where it has room, and each size that it tries isn't worth drawing."""
        self._held = held
        if not held and self._stale:
            self._stale = False
            self._draw_again()

    def _title_share(self, plot: Any) -> float:
        """The share of a plot's height that its title takes."""
        return float(min(0.4, self._look.px(20) / max(40.0, float(plot.vb.height()))))

    def _show_readings(self, t: Any, difference: Floats, u: Floats, partial: Any) -> None:
        """Each reading with its ± 2u while they are few."""
        units, look = self._units, self._look
        assert units is not None
        few = len(t) <= FEW
        x = (t - self._base_ms) / 1000.0 if few else np.zeros(0)
        y = units.in_volume_units(difference) if few else np.zeros(0)
        s = 2 * units.in_volume_units(u) if few else np.zeros(0)
        known = np.isfinite(y) & np.isfinite(s)
        self._spread.setData(np.repeat(x[known], 2), np.column_stack((y - s, y + s))[known].ravel(), connect="pairs")
        good = np.isfinite(y) & ~partial[:len(y)]
        held = np.isfinite(y) & partial[:len(y)]
        self._dots.setData(x[good], y[good], size=6, symbol="s", pen=pen(look, "ink"), brush=look.colour("ink"))
        self._hollow.setData(x[held], y[held], size=7, symbol="o", pen=pen(look, "ink"), brush=look.colour("ground"))

    def _show_marks(self, low: int, high: int, upper: tuple[float, float]) -> None:
        """Entries as short lines on the foot of the upper plot, warnings as taller ones."""
        trend = self._trend
        assert trend is not None
        tall = upper[1] - upper[0]
        for item, warned, share in ((self._marks, False, 0.06), (self._warned, True, 0.16)):
            x = [(t - self._base_ms) / 1000.0 for t, kind, _ in trend.marks
                 if low <= t <= high and (kind == "warning") == warned]
            item.setData(np.repeat(x, 2), np.tile([upper[0], upper[0] + share * tall], len(x)), connect="pairs")

    def _show_grid(self, item: Any, rows: tuple[float, float], right: float, plot: Any) -> None:
        """A line at each number of the axis, drawn as one curve: the library's own grid costs 25 ms a frame."""
        height = max(40.0, float(plot.vb.height()))
        levels = plot.getAxis("left").tickValues(rows[0], rows[1], height)
        at = [v for _, values in levels[:1] for v in values]
        item.setData(np.tile([0.0, right], len(at)), np.repeat(at, 2).astype(float), connect="pairs")

    def _show_words(self, xs: Floats, ys: Floats, ex: Floats, ey: Floats, right: float,
                    lower: tuple[float, float]) -> None:
        units = self._units
        assert units is not None
        for plot, item in self._words:
            plot.removeItem(item)
        self._words = []
        last = [(x[ok][-1], y[ok][-1]) for x, y in ((xs, ys), (ex, ey)) if (ok := np.isfinite(y)).any()]
        if len(last) == 2:
            above = bool(last[0][1] >= last[1][1])
            self._column(self._upper, [("actual", *last[0], above, "ink"),
                                       ("expected", *last[1], not above, "soft")], 0.0)
        limits = [(words, right, units.in_volume_unit(value), value > 0, "ink") for value, words in self._limits]
        self._column(self._lower, limits, 1.0)
        top = self._upper.vb.viewRange()[1][1]
        self._word(self._upper, f"Volume, {units.volume_word}", 0.0, top, (0.0, 0.0), "soft")
        self._word(self._lower, f"Unexplained, {units.volume_word} and ± 2u", 0.0, lower[1], (0.0, 0.0), "soft")

    def _column(self, plot: Any, words: list[tuple[str, float, float, bool, str]], anchor: float) -> None:
        """Words one above the other at the right of a plot, each by its value, none over another or over an edge.

        words: (text, x, value, above its value and not below, colour), the most important first: where there is no room
        for all, the last are left out. anchor: 1 where the text ends at x, 0 where it begins there.
        """
        low, high = plot.vb.viewRange()[1]
        height = max(1.0, float(plot.vb.height()))
        line = QFontMetricsF(self._look.font(12)).height() + 6
        words = words[:max(1, int(height / line))]
        at = [(high - value) / (high - low) * height + (-line / 2 if above else line / 2)
              for _, _, value, above, _ in words]
        order = sorted(range(len(words)), key=lambda k: at[k])
        free = line / 2
        for k in order:
            at[k] = free = max(at[k], free)
            free += line
        free = height - line / 2
        for k in reversed(order):
            at[k] = free = min(at[k], free)
            free -= line
        for (text, x, _, _, token), y in zip(words, at, strict=True):
            self._word(plot, text, x, high - y / height * (high - low), (anchor, 0.5), token)

    def _word(self, plot: Any, words: str, x: float, y: float, anchor: tuple[float, float], token: str) -> None:
        item = pg.TextItem(words, color=self._look.colour(token), anchor=anchor)
        item.setFont(self._look.font(12))
        plot.addItem(item, ignoreBounds=True)
        item.setPos(float(x), float(y))
        self._words.append((plot, item))

    # --- reading ------------------------------------------------------------------------------------------------

    def read_at(self, t_ms: int) -> str:
        """Read the plot at a moment [UTC ms]: the reading nearest to it, and what was entered about then."""
        trend, units = self._trend, self._units
        if trend is None or units is None or not len(trend.t_ms):
            return ""
        index = int(np.argmin(np.abs(np.asarray(trend.t_ms) - t_ms)))
        self._cursor_ms = int(trend.t_ms[index])
        near = self._span_shown() / 60
        marks = [label for t, _, label in trend.marks if abs(t - t_ms) <= near]
        text = (f"{units.time_near(self._cursor_ms, self._now_ms)}  actual {units.volume_number(trend.actual[index])}, "
                f"expected {units.volume_number(trend.expected[index])}, "
                f"difference {units.signed_volume(trend.difference[index])} {units.plus_minus(trend.u[index])}"
                f"{', partial' if trend.partial[index] else ''}")
        if marks:
            more = f" and {len(marks) - MARKS_IN_WORDS} more" if len(marks) > MARKS_IN_WORDS else ""
            text += f"  |  {'; '.join(marks[:MARKS_IN_WORDS])}{more}"
        self._read_out.setText(text)
        self._show_cursor()
        self._view.scene().prepareForPaint()
        self.read.emit(text)
        return text

    def stop_reading(self) -> None:
        """Take the cursor away."""
        self._cursor_ms = None
        self._read_out.setText(self._title)
        self._show_cursor()

    def _show_cursor(self) -> None:
        for line in self._cursors:
            line.setVisible(self._cursor_ms is not None)
            if self._cursor_ms is not None:
                line.setPos((self._cursor_ms - self._base_ms) / 1000.0)

    def eventFilter(self, watched: Any, event: QEvent) -> bool:
        kind = event.type()
        if kind in (QEvent.Type.MouseMove, QEvent.Type.MouseButtonPress) and self._trend is not None:
            place = self._lower.vb.mapSceneToView(self._view.mapToScene(event.position().toPoint()))  # type: ignore[attr-defined]
            self.read_at(self._base_ms + round(place.x() * 1000))
        elif kind == QEvent.Type.Leave:
            self.stop_reading()
        elif kind == QEvent.Type.Wheel:
            return True
        return super().eventFilter(watched, event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(event.key()))
        if step is None or self._trend is None or not len(self._trend.t_ms):
            super().keyPressEvent(event)
            return
        times = self._trend.t_ms
        if self._cursor_ms is None:
            index = len(times) - 1
        else:
            index = min(max(int(np.searchsorted(times, self._cursor_ms)) + step, 0), len(times) - 1)
        self.read_at(int(times[index]))



def _range(values: Floats, margin: float, title: float) -> tuple[float, float]:
    """A range that holds all known values.

    margin: share left free on either side [-]; title: more at the top for the title, and at the foot for words [-].
    """
    known = values[np.isfinite(values)]
    if not len(known):
        return (-1.0, 1.0)
    low, high = float(known.min()), float(known.max())
    pad = max((high - low) * margin, abs(high) * 1e-3, 0.05)
    extra = (high - low + 2 * pad) * title
    return (low - pad - extra, high + pad + extra)
