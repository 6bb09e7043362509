"""Connections laid over each other on one axis of time since the pumps stopped, with the band and the lines' volume.

Solid pens of one pixel without smoothing, as in the trend: the others are one curve with gaps, the chosen one has its
readings marked and its time written, so that nothing hangs on a colour.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pyqtgraph as pg
from numpy.typing import NDArray
from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QFontMetricsF
from PySide6.QtWidgets import QGraphicsView, QSizePolicy, QVBoxLayout, QWidget

from dipbook.situation import ConnectionView
from dipbook_app.display import DisplayUnits
from dipbook_app.theme import Look
from dipbook_app.widgets.plot_axes import VolumeAxis
from dipbook_app.widgets.plot_look import dress, pen

LEAST_MIN = 6.0
"""The axis reaches at least so far [min]."""
WORDS_Z = 20
MARKED = 40
"""So many readings of the chosen one are marked at most."""
Floats = NDArray[np.float64]


class ConnectionPlot(QWidget):
    """Shows connections and which of them is chosen."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._shown: tuple[Any, ...] = ()
        self._view = pg.GraphicsLayoutWidget()
        self._view.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.FullViewportUpdate)
        self._view.setFrameStyle(0)
        self._view.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._view.ci.layout.setContentsMargins(0, 0, 0, 0)
        self._numbers = VolumeAxis()
        self._plot = self._view.addPlot(axisItems={"left": self._numbers})
        self._plot.setMouseEnabled(False, False)
        self._plot.setMenuEnabled(False)
        self._plot.hideButtons()
        self._plot.disableAutoRange()
        self._least, self._most = pg.PlotCurveItem(), pg.PlotCurveItem()
        self._band = pg.FillBetweenItem(self._least, self._most)
        self._lines, self._others, self._chosen = pg.PlotCurveItem(), pg.PlotCurveItem(), pg.PlotCurveItem()
        self._dots, self._crosses = pg.ScatterPlotItem(), pg.ScatterPlotItem()
        for height, item in enumerate((self._lines, self._others, self._band, self._least, self._most, self._chosen,
                                       self._dots, self._crosses), 1):
            self._plot.addItem(item)
            item.setZValue(height)  # the band lies over the others: they are many, and would hide it
        self._words: list[pg.TextItem] = []
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self._view)
        self._plot.vb.sigResized.connect(self._draw)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Expanding)
        self.setMinimumHeight(110)
        self.setAccessibleName("Connections, by time since the pumps stopped")
        self.set_look(look)

    def sizeHint(self) -> QSize:
        return QSize(600, 280)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._look = look
        self._view.setBackground(look.colour("ground"))
        dress((self._plot.getAxis(side) for side in ("left", "bottom")), look)
        self._plot.getAxis("left").setWidth(look.px(54))
        self._plot.getAxis("bottom").setHeight(look.px(22))
        for item, token in ((self._least, "line"), (self._most, "line"), (self._lines, "ink"), (self._others, "soft"),
                            (self._chosen, "ink")):
            item.setPen(pen(look, token))
        self._band.setBrush(look.colour("mud"))
        self._draw()

    def show_connections(self, views: Sequence[ConnectionView], chosen: ConnectionView | None,
                         units: DisplayUnits) -> None:
        """views: those that are drawn behind, with a curve; chosen: the one that is emphasised; units: the crew's."""
        self._shown = (tuple(views), chosen, units)
        self._draw()

    def drawn(self) -> tuple[int, int]:
        """(points of the others, points of the chosen one) as drawn."""
        sizes = [0 if item.getData()[0] is None else len(item.getData()[0]) for item in (self._others, self._chosen)]
        return sizes[0], sizes[1]

    def _draw(self) -> None:
        for word in self._words:
            self._plot.removeItem(word)
        self._words = []
        if not self._shown:
            return
        views, chosen, units = self._shown
        behind = [v for v in views if v is not chosen and len(v.s)]
        x = [np.append(np.asarray(v.s) / 60.0, np.nan) for v in behind]
        y = [np.append(units.in_volume_units(v.back_m3), np.nan) for v in behind]
        self._others.setData(*(np.concatenate(a) if a else np.zeros(0) for a in (x, y)), connect="finite")
        cx, cy = np.zeros(0), np.zeros(0)
        if chosen is not None and len(chosen.s):
            cx, cy = np.asarray(chosen.s) / 60.0, units.in_volume_units(chosen.back_m3)
        self._chosen.setData(cx, cy)
        every = max(1, -(-len(cx) // MARKED))
        squares = slice(0, -1 if chosen is not None and chosen.accepted is False else None, every)  # a cross ends it
        self._dots.setData(cx[squares], cy[squares], size=6, symbol="s", pen=pen(self._look, "ink"),
                           brush=self._look.colour("ink"))
        own = [chosen] if len(cx) else []
        refused = [(float(v.s[-1]) / 60.0, units.in_volume_unit(float(v.back_m3[-1]))) for v in (*behind, *own)
                   if v.accepted is False]
        self._crosses.setData([p[0] for p in refused], [p[1] for p in refused], size=11, symbol="x",
                              pen=pen(self._look, "ink"), brush=self._look.colour("ink"))
        bx = np.asarray(chosen.band_s, dtype=float) / 60.0 if chosen is not None else np.zeros(0)
        low, high = ((units.in_volume_units(column) for column in (chosen.band_least_m3, chosen.band_most_m3))
                     if chosen is not None else (np.zeros(0), np.zeros(0)))
        self._least.setData(bx, low)
        self._most.setData(bx, high)
        self._band.setVisible(len(bx) > 1)
        lines = None if chosen is None or chosen.lines_m3 is None else units.in_volume_unit(chosen.lines_m3)
        right = max([LEAST_MIN, *(float(a[-2]) for a in x), *cx[-1:], *bx[-1:]]) * 1.02
        reach = np.concatenate((*y, cy, high, [0.0], [] if lines is None else [lines]))
        top, foot = float(np.nanmax(reach)), min(0.0, float(np.nanmin(reach)))
        span = max(top - foot, 1e-6)
        self._lines.setData([0.0, right] if lines is not None else [], [lines, lines] if lines is not None else [])
        share = self._line() / max(60.0, float(self._plot.vb.height()))
        self._plot.setRange(xRange=(0.0, right), yRange=(foot - 0.04 * span, top + (0.06 + 1.3 * share) * span),
                            padding=0)
        self._numbers.set_decimal(units.decimal)
        self._say(f"Came back, {units.volume_word}", 0.0, self._plot.vb.viewRange()[1][1], (0.0, 0.0), "soft")
        self._say("min since the pumps stopped", right, self._plot.vb.viewRange()[1][0], (1.0, 1.0), "soft")
        if lines is not None:
            self._say("the lines hold", 0.0, lines, (0.0, 0.0), "soft")
        if len(bx) > 1:  # it is narrow: its name says where it lies
            middle = len(bx) // 2
            self._say("the band", float(bx[middle]), float(low[middle]), (0.5, 0.0), "soft")
        if len(cx):
            at_end = cx[-1] > 0.85 * right
            foot_m3 = self._plot.vb.viewRange()[1][0]
            below = float(cy[-1]) - foot_m3 > 2.5 * share * span  # else it would stand in the axis
            self._say(units.time(chosen.off_ms), float(cx[-1]), float(cy[-1]),
                      (1.0 if at_end else 0.0, -0.1 if below else 1.1), "ink", bold=True, over=True)
        self._view.scene().prepareForPaint()

    def _line(self) -> float:
        return float(QFontMetricsF(self._look.font(12)).height()) + 4

    def _say(self, words: str, x: float, y: float, anchor: tuple[float, float], token: str, *,
             bold: bool = False, over: bool = False) -> None:
        """over: on a ground of its own, so that no curve runs through it."""
        item = pg.TextItem(words, color=self._look.colour(token), anchor=anchor,
                           fill=self._look.colour("ground") if over else None)
        item.setZValue(WORDS_Z)
        item.setFont(self._look.font(13 if bold else 12, bold=bold))
        self._plot.addItem(item, ignoreBounds=True)
        item.setPos(float(x), float(y))
        self._words.append(item)

