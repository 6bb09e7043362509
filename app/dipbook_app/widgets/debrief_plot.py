"""A drill against time: what was shown by a moment, noise and all, with the line of what happened below it; the truth
laid over it when somebody asks for it.

Solid pens of one pixel as in the trend; the truth is dashed, so that nothing hangs on a colour.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pyqtgraph as pg
from numpy.typing import NDArray
from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtWidgets import QGraphicsView, QSizePolicy, QVBoxLayout, QWidget

from dipbook.debrief.shown import Then
from dipbook.debrief.told import Debrief
from dipbook_app.debrief_words import KINDS, WAS_SO, LineOf
from dipbook_app.display import DisplayUnits
from dipbook_app.theme import Look
from dipbook_app.widgets.plot_axes import TimeAxis, VolumeAxis
from dipbook_app.widgets.plot_look import dress, pen

LEAST_PX = 220
LANE_WORDS = {"done": "done", "warned": "warned", "logged": "logged", WAS_SO: "was so"}
LANE_PX = 19
"""Height of a lane at the ordinary text [px]."""
GAIN_LIMIT, LOSS_LIMIT = "limit on gain", "limit on loss"
FEW = 400
"""Up to so many readings each one is marked."""
Floats = NDArray[np.float64]


class DebriefPlot(QWidget):
    """Shows a drill up to a moment. at(int): a moment was pointed at [UTC ms]."""

    at = Signal(object)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._told: Debrief | None = None
        self._lines: tuple[LineOf, ...] = ()
        self._units: DisplayUnits | None = None
        self._then: Then | None = None
        self._t_ms, self._truth_shown = 0, False
        self._view = pg.GraphicsLayoutWidget()
        self._view.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.FullViewportUpdate)
        self._view.setFrameStyle(0)
        self._view.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._view.viewport().installEventFilter(self)
        self._view.ci.layout.setContentsMargins(0, 0, 0, 0)
        self._view.ci.layout.setSpacing(2)
        self._numbers, self._axis = VolumeAxis(), TimeAxis()
        self._plot = self._view.addPlot(row=0, col=0, axisItems={"left": self._numbers})
        self._lanes = self._view.addPlot(row=1, col=0, axisItems={"bottom": self._axis, "left": _NoNumbers("left")})
        for plot in (self._plot, self._lanes):
            plot.setMouseEnabled(False, False)
            plot.setMenuEnabled(False)
            plot.hideButtons()
            plot.disableAutoRange()
        self._plot.hideAxis("bottom")
        self._grid, self._zero, self._limit_lines = pg.PlotCurveItem(), pg.PlotCurveItem(), pg.PlotCurveItem()
        self._spread, self._difference, self._truth = pg.PlotCurveItem(), pg.PlotCurveItem(), pg.PlotCurveItem()
        self._dots, self._hollow = pg.ScatterPlotItem(), pg.ScatterPlotItem()
        for item in (self._grid, self._zero, self._limit_lines, self._spread, self._difference, self._dots,
                     self._hollow, self._truth):
            self._plot.addItem(item)
        self._ticks, self._loud, self._rules = pg.PlotCurveItem(), pg.ScatterPlotItem(), pg.PlotCurveItem()
        for item in (self._rules, self._ticks, self._loud):
            self._lanes.addItem(item)
        self._cursors = (pg.InfiniteLine(angle=90), pg.InfiniteLine(angle=90))
        self._plot.addItem(self._cursors[0], ignoreBounds=True)
        self._lanes.addItem(self._cursors[1], ignoreBounds=True)
        self._words: list[tuple[Any, pg.TextItem]] = []
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self._view)
        self._plot.vb.sigResized.connect(self._draw)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("The drill against time")
        self.set_look(look)

    def sizeHint(self) -> QSize:
        return QSize(600, 360)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._look = look
        self.setMinimumHeight(look.px(LEAST_PX))
        self._view.setBackground(look.colour("ground"))
        for plot in (self._plot, self._lanes):
            dress((plot.getAxis(side) for side in ("left", "bottom")), look)
            plot.getAxis("left").setWidth(look.px(64))
        self._axis.setHeight(look.px(22))
        self._lanes.setFixedHeight(look.px(LANE_PX) * len(KINDS) + look.px(22) + 6)
        for item, token in ((self._grid, "grid"), (self._zero, "line"), (self._limit_lines, "ink"),
                            (self._spread, "soft"), (self._difference, "ink"), (self._ticks, "ink"),
                            (self._rules, "grid")):
            item.setPen(pen(look, token))
        dashed = pen(look, "ink")
        dashed.setStyle(Qt.PenStyle.DashLine)
        dashed.setWidth(2)      # some hundred points: here it costs nothing
        self._truth.setPen(dashed)
        for line in self._cursors:
            line.setPen(pen(look, "ink"))
        self._draw()

    def show_drill(self, told: Debrief, lines: Sequence[LineOf], units: DisplayUnits) -> None:
        """told: the drill. lines: on the line below. units: the crew's."""
        self._told, self._lines, self._units = told, tuple(lines), units
        self._then = None
        self._draw()

    def show_then(self, then: Then, t_ms: int, truth: bool) -> None:
        """then: the trend as it stood at t_ms [UTC ms]; truth: lay what was so over it."""
        self._then, self._t_ms, self._truth_shown = then, t_ms, truth
        self._draw()

    def drawn(self) -> tuple[int, int, int]:
        """(points of what was shown, points of the truth, marks on the line) as drawn."""
        sizes = [0 if item.getData()[0] is None else len(item.getData()[0])
                 for item in (self._difference, self._truth, self._ticks)]
        return sizes[0], sizes[1], sizes[2] // 2

    def marks(self) -> tuple[LineOf, ...]:
        """What stands on the line now: what had happened by the moment, and with the truth all that was so."""
        return tuple(x for x in self._lines if (x.kind != WAS_SO and x.t_ms <= self._t_ms)
                     or (x.kind == WAS_SO and self._truth_shown))

    def _draw(self) -> None:
        told, units, then = self._told, self._units, self._then
        for plot, item in self._words:
            plot.removeItem(item)
        self._words = []
        if told is None or units is None or then is None:
            return
        low, high = told.about.began_ms, max(told.about.ended_ms, told.about.began_ms + 60_000)
        self._axis.set_clock(low, units)
        self._numbers.set_decimal(units.decimal)
        x = (np.asarray(then.t_ms) - low) / 1000.0
        y, spread = units.in_volume_units(then.difference_m3), 2 * units.in_volume_units(then.u_m3)
        self._difference.setData(x, y, connect="finite")
        known = np.isfinite(y) & np.isfinite(spread)
        self._spread.setData(np.repeat(x[known], 2), np.column_stack((y - spread, y + spread))[known].ravel(),
                             connect="pairs")
        partial, few = np.asarray(then.partial, dtype=bool), len(x) <= FEW
        for item, chosen, symbol, ground in ((self._dots, ~partial, "s", "ink"),
                                             (self._hollow, partial, "o", "ground")):
            cut = np.isfinite(y) & chosen & few
            item.setData(x[cut], y[cut], size=5, symbol=symbol, pen=pen(self._look, "ink"),
                         brush=self._look.colour(ground))
        tx, ty = np.zeros(0), np.zeros(0)
        if self._truth_shown:
            tx, ty = (told.truth.t_ms - low) / 1000.0, units.in_volume_units(told.truth.surface_m3)
        self._truth.setData(tx, ty)
        right = (high - low) / 1000.0
        steps = self._limits(low)
        limits = np.concatenate([value for _, value, _ in steps])
        self._limit_lines.setData(np.concatenate([at for at, _, _ in steps]), limits, connect="finite")
        self._zero.setData([0.0, right], [0.0, 0.0])
        # The scale is that of the whole drill as far as it was shown: else it would tell what is to come.
        rows = _range(np.concatenate((y, y - spread, y + spread, ty, limits, [0.0])))
        self._plot.setRange(xRange=(0.0, right), yRange=rows, padding=0)
        self._lanes.setRange(xRange=(0.0, right), yRange=(0.0, float(len(KINDS))), padding=0)
        levels = self._numbers.tickValues(rows[0], rows[1], max(40.0, float(self._plot.vb.height())))
        at = [v for _, values in levels[:1] for v in values]
        self._grid.setData(np.tile([0.0, right], len(at)), np.repeat(at, 2).astype(float), connect="pairs")
        self._show_lanes(low, right)
        self._say(self._plot, f"Shown, {units.volume_word} and ± 2u", 0.0, rows[1], (0.0, 0.0), "soft")
        if len(ty):
            below = 1.0 if ty[-1] >= 0 else 0.0
            self._say(self._plot, "what was so", float(tx[-1]), float(ty[-1]), (1.0, below), "ink")
        for at_s, value, words in steps:
            if np.isfinite(value).any():
                self._say(self._plot, words, float(at_s[np.isfinite(value)][0]), float(value[np.isfinite(value)][0]),
                          (0.0, 1.0 if words == GAIN_LIMIT else 0.0), "soft")
        for line in self._cursors:
            line.setPos((self._t_ms - low) / 1000.0)
        self._view.scene().prepareForPaint()

    def _limits(self, low: int) -> list[tuple[Floats, Floats, str]]:
        """(places [s], values in the screen's unit, words) of the limits on gain and loss as they were in force, each
        ended by a gap."""
        told, units = self._told, self._units
        assert told is not None
        assert units is not None
        read = told.shown
        cut = np.asarray(read.learned_ms) <= self._t_ms
        found = []
        for column, turn, words in ((read.gain_m3, 1.0, GAIN_LIMIT), (read.loss_m3, -1.0, LOSS_LIMIT)):
            x = (np.asarray(read.t_ms)[cut] - low) / 1000.0
            y = turn * units.in_volume_units(np.asarray(column)[cut])
            found.append((np.append(x, [x[-1] if len(x) else 0.0]), np.append(y, [np.nan]), words))
        return found

    def _show_lanes(self, low: int, right: float) -> None:
        """A lane a kind, from the top; a warning that sounded has a filled mark too."""
        marks = self.marks()
        x = np.array([(m.t_ms - low) / 1000.0 for m in marks], dtype=float)
        row = np.array([len(KINDS) - 1 - KINDS.index(m.kind) for m in marks], dtype=float)
        self._ticks.setData(np.repeat(x, 2), np.column_stack((row + 0.15, row + 0.85)).ravel() if len(marks)
                            else np.zeros(0), connect="pairs")
        loud = [n for n, m in enumerate(marks) if m.loud]
        self._loud.setData(x[loud], row[loud] + 0.5, size=self._look.px(11), symbol="t1",
                           pen=pen(self._look, "danger_edge"), brush=self._look.colour("danger"))
        edges = np.arange(1.0, len(KINDS))
        self._rules.setData(np.tile([0.0, right], len(edges)), np.repeat(edges, 2), connect="pairs")
        self._lanes.getAxis("left").setTicks([[(len(KINDS) - 0.5 - n, LANE_WORDS[k]) for n, k in enumerate(KINDS)]])

    def _say(self, plot: Any, words: str, x: float, y: float, anchor: tuple[float, float], token: str) -> None:
        item = pg.TextItem(words, color=self._look.colour(token), anchor=anchor)
        item.setFont(self._look.font(12))
        plot.addItem(item, ignoreBounds=True)
        item.setPos(float(x), float(y))
        self._words.append((plot, item))

    def eventFilter(self, watched: Any, event: QEvent) -> bool:
        if event.type() == QEvent.Type.MouseButtonPress and self._told is not None:
            place = self._plot.vb.mapSceneToView(self._view.mapToScene(event.position().toPoint()))  # type: ignore[attr-defined]
            self.at.emit(self._told.about.began_ms + round(place.x() * 1000))
        elif event.type() == QEvent.Type.Wheel:
            return True
        return super().eventFilter(watched, event)


class _NoNumbers(pg.AxisItem):
    """Words of the lanes in place of numbers."""


def _range(values: Floats) -> tuple[float, float]:
    known = values[np.isfinite(values)]
    low, high = float(known.min()), float(known.max())
    pad = max((high - low) * 0.12, 0.5)
    return low - pad, high + pad


