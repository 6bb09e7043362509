"""A trip drawn: the difference in all across, bit depth downward as in the hole, the previous trip quieter behind."""

from __future__ import annotations

from typing import Any

import numpy as np
import pyqtgraph as pg
from numpy.typing import NDArray
from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QKeyEvent
from PySide6.QtWidgets import QGraphicsView, QLabel, QSizePolicy, QVBoxLayout, QWidget

from dipbook.quantities import to_unit
from dipbook.situation import TripRowView, TripView
from dipbook_app import trip_words
from dipbook_app.display import DisplayUnits
from dipbook_app.theme import Look
from dipbook_app.widgets.line_label import LineLabel
from dipbook_app.widgets.plot_axes import DepthAxis, VolumeAxis
from dipbook_app.widgets.plot_look import dress, pen

LEAST_PX, LOW_PX = 60, 130
"""Least height, and the height at text size 1 below which some words of the plot give way [px]."""
LEAST_DEPTH_M = 100.0
"""So much depth is drawn at least [m]."""
MARK_PX = 14
"""Rows are marked, with their ± 2u, so far apart at least [px]."""
MARGIN = 0.06
"""Share left free on either side [-]."""
Floats = NDArray[np.float64]


class TripPlot(QWidget):
    """Shows a TripView; hover, touch, the arrow keys or a row chosen in the sheet read it.

    Signals: reading(object): the row that is read, None for none.
    """

    reading = Signal(object)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._trip: TripView | None = None
        self._units: DisplayUnits | None = None
        self._told: tuple[TripRowView, ...] = ()
        self._cursor: TripRowView | None = None
        self._view = pg.GraphicsLayoutWidget()
        self._view.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.FullViewportUpdate)
        self._view.setFrameStyle(0)
        self._view.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._view.viewport().installEventFilter(self)
        self._view.ci.layout.setContentsMargins(0, 0, 0, 0)
        self._empty = QLabel("Drawn from the first stand on:\nthe difference in all, against bit depth")
        self._empty.setProperty("part", "soft")
        self._empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._empty.setWordWrap(True)
        self._depths, self._volumes = DepthAxis(), VolumeAxis("bottom")
        self._plot = self._view.addPlot(axisItems={"left": self._depths, "bottom": self._volumes})
        self._plot.setMouseEnabled(False, False)
        self._plot.setMenuEnabled(False)
        self._plot.hideButtons()
        self._plot.disableAutoRange()
        self._plot.invertY(True)
        self._zero, self._limits, self._shoe, self._previous, self._spread, self._curve = (
            pg.PlotCurveItem() for _ in range(6))
        self._dots, self._mark = pg.ScatterPlotItem(), pg.ScatterPlotItem()
        for item in (self._zero, self._limits, self._shoe, self._previous, self._spread, self._curve, self._dots,
                     self._mark):
            self._plot.addItem(item)
        self._words: list[pg.TextItem] = []
        self.thin = LineLabel("", "small", lines=2)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(2)
        layout.addWidget(self._view, 1)
        layout.addWidget(self.thin)
        layout.addWidget(self._empty, 1)
        self._drawing = False
        self._plot.vb.sigResized.connect(self._draw_again)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setMinimumHeight(LEAST_PX)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Difference in all against bit depth")
        self.set_look(look)

    def sizeHint(self) -> QSize:
        return QSize(340, 300)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._look = look
        self._view.setBackground(look.colour("ground"))
        dress((self._depths, self._volumes), look)
        self._depths.setWidth(look.px(50))
        self._volumes.setHeight(look.px(22))
        for item, token in ((self._zero, "line"), (self._limits, "ink"), (self._shoe, "line"), (self._previous, "soft"),
                            (self._spread, "soft"), (self._curve, "ink")):
            item.setPen(pen(look, token))
        self._draw()

    def show_trip(self, trip: TripView, units: DisplayUnits) -> None:
        """trip: its rows and what is behind them; units: the crew's."""
        if trip == self._trip and units.volume_unit == getattr(self._units, "volume_unit", None) and \
                units.length_unit == getattr(self._units, "length_unit", None):
            return
        self._trip, self._units = trip, units
        self._told = tuple(r for r in trip.rows if r.cumulative_m3 is not None and r.bit_m is not None)
        if self._cursor is not None:
            self._cursor = next((r for r in trip.rows if self._cursor is not None and r.uid == self._cursor.uid), None)
        self._draw()
        self.read(self._cursor)

    def read(self, row: TripRowView | None) -> None:
        """Mark a row, and tell that it is read; None for none."""
        self._cursor = row
        if self._trip is None or self._units is None:
            return
        marked = [] if row is None or row not in self._told else [row]
        x, y = self._places(marked)
        self._mark.setData(x, y, size=13, symbol="o", pen=pen(self._look, "ink"), brush=None)
        self._view.scene().prepareForPaint()
        self.reading.emit(row)

    def words(self) -> tuple[str, ...]:
        """What is written in the plot."""
        return tuple(item.toPlainText() for item in self._words)

    # --- drawing --------------------------------------------------------------------------------------------------

    def _places(self, rows: Any) -> tuple[Floats, Floats]:
        """Sums and depths of rows, in the screen's units."""
        assert self._units is not None
        return (self._units.in_volume_units([r.cumulative_m3 for r in rows]), self._depth([r.bit_m for r in rows]))

    def _depth(self, values_m: Any) -> Floats:
        assert self._units is not None
        return np.asarray(to_unit(np.asarray(values_m, dtype=np.float64), self._units.length_unit), dtype=np.float64)

    def _draw(self) -> None:
        trip, units = self._trip, self._units
        if trip is None or units is None:
            return
        for axis in (self._depths, self._volumes):
            axis.set_decimal(units.decimal)
        x, y = self._places(self._told)
        spread = 2 * units.in_volume_units([np.nan if r.cumulative_u_m3 is None else r.cumulative_u_m3
                                            for r in self._told])
        px = units.in_volume_units(np.asarray(trip.previous_m3, dtype=np.float64))
        py = self._depth(np.asarray(trip.previous_bit_m, dtype=np.float64))
        limits = [] if trip.limit_total_m3 is None else [s * units.in_volume_unit(trip.limit_total_m3) for s in (-1, 1)]
        shoe = [] if trip.shoe_m is None else list(self._depth([trip.shoe_m]))
        bits = self._depth([r.bit_m for r in trip.rows if r.bit_m is not None])
        across = _range(np.concatenate((x, x - spread, x + spread, px, limits, [0.0])), 0.5)
        down = _range(np.concatenate((y, py, shoe, bits)), float(self._depth([LEAST_DEPTH_M])[0]))
        nothing = not len(x) and not len(px)
        self._view.setVisible(not nothing)
        self._empty.setVisible(nothing)
        self.thin.setVisible(bool(trip.previous) and not nothing and self.height() >= self._look.px(LOW_PX + 60))
        if nothing:
            return
        words = self._look.px(38) / max(60.0, float(self._plot.vb.height()))
        down = (down[0] - (down[1] - down[0]) * min(0.35, words), down[1])
        self._plot.setRange(xRange=across, yRange=down, padding=0)
        self._curve.setData(x, y, connect="finite")
        self._previous.setData(px, py, connect="finite")
        apart = max(1, round(len(x) * MARK_PX / max(60.0, float(self._plot.vb.height()))))
        few = np.arange(len(x)) % apart == (len(x) - 1) % apart  # the last one always
        known = np.isfinite(spread) & few
        self._spread.setData(np.column_stack((x - spread, x + spread))[known].ravel(), np.repeat(y[known], 2),
                             connect="pairs")
        self._dots.setData(x[few], y[few], size=5, symbol="s", pen=pen(self._look, "ink"),
                           brush=self._look.colour("ink"))
        self._zero.setData([0.0, 0.0], list(down))
        self._limits.setData(np.repeat(limits, 2), np.tile(down, len(limits)), connect="pairs")
        self._shoe.setData(list(across) * len(shoe), np.repeat(shoe, 2), connect="pairs")
        self._write(trip, units, across, down, limits, shoe)
        self._view.scene().prepareForPaint()

    def _write(self, trip: TripView, units: DisplayUnits, across: tuple[float, float], down: tuple[float, float],
               limits: list[float], shoe: list[float]) -> None:
        for item in self._words:
            self._plot.removeItem(item)
        self._words = []
        line = (QFontMetricsF(self._look.font(12)).height() + 3) / max(60.0, float(self._plot.vb.height()))
        second = down[0] + line * (down[1] - down[0])
        back = trip.direction == trip_words.IN
        self._word(f"In all, {units.volume_word} ± 2u", across[0], down[0], (0, 0), "soft")
        self._word("gave more →" if back else "took less →", across[1], down[0], (1, 0), "soft")
        low = float(self._plot.vb.height()) < self._look.px(LOW_PX)
        if not low:
            self._word("← gave less" if back else "← took more", across[0], second, (0, 0), "soft")
        for value in limits:
            words = f"limit {units.volume_number(trip.limit_total_m3)}"
            self._word(words, value, down[1], (1 if value > 0 else 0, 1), "ink")
        for depth in shoe:
            at = (across[0], (0, 1)) if (trip.total_m3 or 0.0) >= 0.0 else (across[1], (1, 1))
            self._word(f"shoe {trip_words.depth(trip.shoe_m, units)}", at[0], depth, at[1], "soft")
        self.thin.setText(f"Thin: {trip.previous}" if trip.previous else "")

    def _word(self, words: str, x: float, y: float, anchor: tuple[float, float], token: str) -> None:
        item = pg.TextItem(words, color=self._look.colour(token), anchor=anchor, fill=self._look.colour("ground"))
        item.setFont(self._look.font(12))
        self._plot.addItem(item, ignoreBounds=True)
        item.setPos(float(x), float(y))
        self._words.append(item)

    def _draw_again(self) -> None:
        if not self._drawing:
            self._drawing = True
            self._draw()
            self._drawing = False

    # --- reading --------------------------------------------------------------------------------------------------

    def eventFilter(self, watched: Any, event: QEvent) -> bool:
        """Hover and touch read the row nearest in depth."""
        kind = event.type()
        if kind in (QEvent.Type.MouseMove, QEvent.Type.MouseButtonPress) and self._told:
            place = self._plot.vb.mapSceneToView(self._view.mapToScene(event.position().toPoint()))  # type: ignore[attr-defined]
            _, y = self._places(self._told)
            self.read(self._told[int(np.argmin(np.abs(y - place.y())))])
        elif kind == QEvent.Type.Leave:
            self.read(None)
        elif kind == QEvent.Type.Wheel:
            return True
        return super().eventFilter(watched, event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Up and Down go through the rows."""
        step = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}.get(Qt.Key(event.key()))
        if step is None or not self._told:
            super().keyPressEvent(event)
            return
        here = self._told.index(self._cursor) if self._cursor in self._told else len(self._told)
        self.read(self._told[min(max(here + step, 0), len(self._told) - 1)])



def _range(values: Floats, least: float) -> tuple[float, float]:
    """A range that holds all known values, ``least`` wide at any rate."""
    known = values[np.isfinite(values)]
    low, high = (float(known.min()), float(known.max())) if len(known) else (0.0, 0.0)
    pad = max((high - low) * MARGIN, least / 2)
    return low - pad, high + pad
