"""One warning drawn: its value against time with its limit, and on it the raise, the worst, what was acknowledged."""

from __future__ import annotations

from itertools import product
from typing import Any

import numpy as np
import pyqtgraph as pg
from numpy.typing import NDArray
from PySide6.QtCore import QEvent, QSize, Qt
from PySide6.QtGui import QFontMetricsF
from PySide6.QtWidgets import QGraphicsView, QLabel, QSizePolicy, QVBoxLayout, QWidget

from dipbook.quantities import to_unit
from dipbook.series import envelope
from dipbook.situation_of_warnings import ACKNOWLEDGED, GREW, OVER, RAISED, WORST, SeriesMark, WarningSeries
from dipbook_app.display import DisplayUnits
from dipbook_app.theme import Look
from dipbook_app.widgets.line_label import LineLabel
from dipbook_app.widgets.plot_axes import TimeAxis, VolumeAxis
from dipbook_app.widgets.plot_look import dress, pen

FEW = 240
"""Up to so many readings each one is marked."""
LEAST_PX = 120
MARGIN = 0.08
"""Share left free above and below [-]."""
SHARE = "share"
"""What a value is that is drawn as a share of its limit, in percent."""
ROWS = 3
"""So many rows of words stand above the curve at most."""
SIGNS = {RAISED: "t1", WORST: "d", GREW: "t1", ACKNOWLEDGED: "s", OVER: "o"}
"""What each mark looks like."""
FIRST = (RAISED, WORST, ACKNOWLEDGED, OVER, GREW)
"""Whose words have room first."""
Floats = NDArray[np.float64]


class WarningPlot(QWidget):
    """Shows a WarningSeries; hover, touch, or ``step`` reads it."""

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._series: WarningSeries | None = None
        self._units: DisplayUnits | None = None
        self._value_is, self._colour, self._signed = "volume", "danger", False
        self._title = ""
        self._now_ms = 0
        self._row: int | None = None
        self._read_out = LineLabel("", "small")
        self._empty = QLabel("No readings to draw")
        self._empty.setProperty("part", "soft")
        self._empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._view = pg.GraphicsLayoutWidget()
        self._view.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.FullViewportUpdate)
        self._view.setFrameStyle(0)
        self._view.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._view.viewport().installEventFilter(self)
        self._view.ci.layout.setContentsMargins(0, 0, 0, 0)
        self._axis, self._numbers = TimeAxis(), VolumeAxis()
        self._plot = self._view.addPlot(axisItems={"bottom": self._axis, "left": self._numbers})
        self._plot.setMouseEnabled(False, False)
        self._plot.setMenuEnabled(False)
        self._plot.hideButtons()
        self._plot.disableAutoRange()
        self._grid, self._zero, self._limit, self._leads, self._curve = (pg.PlotCurveItem() for _ in range(5))
        self._dots, self._hollow, self._signs = (pg.ScatterPlotItem() for _ in range(3))
        for item in (self._grid, self._zero, self._limit, self._leads, self._curve, self._dots, self._hollow,
                     self._signs):
            self._plot.addItem(item)
        self._cursor = pg.InfiniteLine(angle=90)
        self._plot.addItem(self._cursor, ignoreBounds=True)
        self._words: list[pg.TextItem] = []
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(2)
        layout.addWidget(self._read_out)
        layout.addWidget(self._view, 1)
        layout.addWidget(self._empty, 1)
        self._drawing = False
        self._plot.vb.sigResized.connect(self._draw_again)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("The warning's value against time")
        self.set_look(look)

    def sizeHint(self) -> QSize:
        return QSize(520, 220)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._look = look
        self._view.setBackground(look.colour("ground"))
        dress((self._axis, self._numbers), look)
        self._numbers.setWidth(look.px(54))
        self._axis.setHeight(look.px(22))
        for item, token in ((self._grid, "grid"), (self._zero, "line"), (self._limit, "ink"), (self._leads, "line"),
                            (self._curve, "ink")):
            item.setPen(pen(look, token))
        self._cursor.setPen(pen(look, "soft"))
        self.setMinimumHeight(max(LEAST_PX, look.px(LEAST_PX)))
        self._draw()

    def show_series(self, series: WarningSeries | None, value_is: str, title: str, units: DisplayUnits,
                    now_ms: int, *, colour: str = "danger", signed: bool = False) -> None:
        """series: None for nothing to draw; value_is: as of the warning; title: what is drawn; units: the crew's;
        now_ms [UTC ms]; colour: of the warning's urgency; signed: it is a difference, read with its sign."""
        self._colour, self._signed = colour, signed
        if series is not self._series:
            self._row = None
        self._series, self._title, self._units, self._now_ms = series, title, units, now_ms
        self._value_is = SHARE if series is not None and series.of_limit else value_is
        self._draw()

    @property
    def read_out(self) -> str:
        """What is read now."""
        return self._read_out.text()

    def drawn(self) -> tuple[Floats, Floats]:
        """Places [s after the left edge] and values [the screen's unit] of the curve as drawn."""
        x, y = self._curve.getData()
        return (np.zeros(0), np.zeros(0)) if x is None else (x, y)

    def words(self) -> tuple[str, ...]:
        """The words on the plot."""
        return tuple(item.toPlainText() for item in self._words)

    def word_items(self) -> tuple[Any, ...]:
        """The words as they are laid out, for whoever looks whether they stand apart."""
        return tuple(self._words)

    @property
    def room(self) -> Any:
        """Where the plot is, in the scene that its words are laid out in."""
        return self._plot.vb.sceneBoundingRect()

    # --- drawing ------------------------------------------------------------------------------------------------

    def _unit(self) -> str:
        assert self._units is not None
        if self._value_is == "duration":
            return "min"
        if self._value_is == "level":
            return {"ft in": "ft"}.get(self._units.level_unit, self._units.level_unit)
        return self._units.volume_unit

    def _in_unit(self, values: Any) -> Floats:
        if self._value_is == SHARE:
            return np.asarray(values, dtype=np.float64) * 100.0
        return np.asarray(to_unit(np.asarray(values, dtype=np.float64), self._unit()), dtype=np.float64)

    def _draw_again(self) -> None:
        if not self._drawing:
            self._drawing = True
            self._draw()
            self._drawing = False

    def _draw(self) -> None:
        series, units = self._series, self._units
        nothing = series is None or units is None or not np.isfinite(np.asarray(series.value, dtype=float)).any()
        self._view.setVisible(not nothing)
        self._empty.setVisible(nothing)
        if nothing or series is None or units is None:
            self._read_out.setText(self._title)
            return
        low, high = series.from_ms, series.to_ms
        self._axis.set_clock(low, units)
        self._numbers.set_decimal(units.decimal)
        t = np.asarray(series.t_ms, dtype=np.int64)
        value = np.asarray(series.value, dtype=float)
        kept_t, kept = envelope(t, value, max(50, self._view.width()))
        x, y = (kept_t - low) / 1000.0, self._in_unit(kept)
        self._curve.setData(x, y, connect="finite")
        self._show_readings(t, value, np.asarray(series.partial, dtype=bool), low)
        width_s = max(1.0, (high - low) / 1000.0)
        limit = self._limit_word(series)
        room = QFontMetricsF(self._look.font(12)).horizontalAdvance(limit) + 12
        right = width_s * (1.0 + room / max(200.0, float(self._plot.vb.width()) - room))
        marks = [m for m in series.marks if m.value is not None and low <= m.t_ms <= high]
        steps = self._in_unit([v for _, v in series.steps])
        zero = [0.0] if self._value_is in ("volume", SHARE) and float(np.nanmin(y)) < 0.0 < float(np.nanmax(y)) else []
        known = np.concatenate((y[np.isfinite(y)], steps, self._in_unit([m.value for m in marks]), zero))
        rows = self._rows(marks, low, right)
        span = self._range(known, 1 + max((row for row, _ in rows.values()), default=-1))
        self._plot.setRange(xRange=(0.0, right), yRange=span, padding=0)
        self._zero.setData([0.0, right], [0.0, 0.0])
        self._show_limit(series, low, right)
        self._show_grid(span, right)
        for item in self._words:
            self._plot.removeItem(item)
        self._words = []
        lines = (span[1] - float(steps[-1])) / (span[1] - span[0]) * max(60.0, float(self._plot.vb.height()))
        in_words = lines < (2 + max((row for row, _ in rows.values()), default=-1)) * QFontMetricsF(
            self._look.font(12)).height()
        self._word(limit, right, float(steps[-1]), (1.0, 0.0 if in_words else 1.0))
        self._show_marks(marks, rows, low, span)
        self._show_cursor()
        self._view.scene().prepareForPaint()

    def _range(self, known: Floats, rows: int) -> tuple[float, float]:
        """What holds all that is drawn, with room above for rows of words."""
        low, high = float(known.min()), float(known.max())
        pad = max((high - low) * MARGIN, abs(high) * 1e-3, 0.05)
        low, high = low - pad, high + pad
        line = QFontMetricsF(self._look.font(12)).height()
        share = min(0.5, rows * line / max(60.0, float(self._plot.vb.height())))
        return low, high + (high - low) * share / (1.0 - share)

    def _limit_word(self, series: WarningSeries) -> str:
        assert self._units is not None
        if self._value_is == SHARE:
            return "100 %"
        value = abs(series.steps[-1][1]) if self._value_is == "volume" else series.steps[-1][1]
        return f"limit {self._text(value, unit=False)}"

    def _text(self, value: float, *, sign: bool = False, unit: bool = True) -> str:
        """A value in the crew's unit. value: SI. sign: of a difference, + too."""
        units = self._units
        assert units is not None
        if self._value_is == SHARE:
            return f"{abs(value):.0%} of its limit".replace("%", " %")
        if self._value_is == "duration":
            return units.span(round(value * 1000))
        if self._value_is == "level":
            return units.level(value)
        if not unit:
            return units.volume_number(value, sign=sign)
        return units.signed_volume(value) if sign else units.volume(value)

    def _show_readings(self, t: Any, value: Floats, partial: Any, low: int) -> None:
        """Each reading while they are few; hollow where it is only known in part."""
        few = len(t) <= FEW and self._value_is != "duration"
        x, y = (t - low) / 1000.0, self._in_unit(value)
        ok = np.isfinite(y) & few
        look = self._look
        self._dots.setData(x[ok & ~partial], y[ok & ~partial], size=6, symbol="s", pen=pen(look, "ink"),
                           brush=look.colour("ink"))
        self._hollow.setData(x[ok & partial], y[ok & partial], size=7, symbol="o", pen=pen(look, "ink"),
                             brush=look.colour("ground"))

    def _show_limit(self, series: WarningSeries, low: int, right: float) -> None:
        """The limit as it stood at each time."""
        begins = [max(0.0, (t - low) / 1000.0) for t, _ in series.steps]
        ends = [*begins[1:], right]
        values = self._in_unit([v for _, v in series.steps])
        x = np.column_stack((begins, ends)).ravel()
        self._limit.setData(np.asarray(x, dtype=float), np.repeat(values, 2))

    def _show_grid(self, span: tuple[float, float], right: float) -> None:
        levels = self._numbers.tickValues(span[0], span[1], max(40.0, float(self._plot.vb.height())))
        at = [v for _, values in levels[:1] for v in values]
        self._grid.setData(np.tile([0.0, right], len(at)), np.repeat(at, 2).astype(float), connect="pairs")

    def _mark_word(self, mark: SeriesMark) -> str:
        assert self._units is not None
        when = self._units.time_near(mark.t_ms, self._now_ms)
        return f"{mark.what} {when}"

    def _rows(self, marks: list[SeriesMark], low: int, right: float) -> dict[int, tuple[int, bool]]:
        """Which mark's word stands in which row above the curve, and whether to the left of its line: so that none is
        over another, nor, where there is room, over another's line."""
        metrics = QFontMetricsF(self._look.font(12))
        width = max(200.0, float(self._plot.vb.width()))
        taken: list[tuple[int, float, float, float]] = []  # row, from, to, its line
        rows: dict[int, tuple[int, bool]] = {}
        for place in sorted(range(len(marks)), key=lambda k: (FIRST.index(marks[k].what), -marks[k].t_ms)):
            at = (marks[place].t_ms - low) / 1000.0 / right * width
            wide = metrics.horizontalAdvance(self._mark_word(marks[place])) + 8
            for lines, row, to_left in product((True, False), range(ROWS), (False, True)):
                begin, end = (at - wide, at) if to_left else (at, at + wide)
                if begin < -2 or end > width or any(_touches((row, begin, end, at), other, lines) for other in taken):
                    continue
                taken.append((row, begin, end, at))
                rows[place] = (row, to_left)
                break
        return rows

    def _show_marks(self, marks: list[SeriesMark], rows: dict[int, tuple[int, bool]], low: int,
                    span: tuple[float, float]) -> None:
        look, metrics = self._look, QFontMetricsF(self._look.font(12))
        height = max(60.0, float(self._plot.vb.height()))
        x = [(m.t_ms - low) / 1000.0 for m in marks]
        y = self._in_unit([m.value for m in marks]).tolist()
        self._signs.setData(x, y, size=look.px(11), symbol=[SIGNS[m.what] for m in marks], pen=pen(look, "ink"),
                            brush=[look.colour(self._colour if m.what in (RAISED, GREW) else "ground") for m in marks])
        ups: list[tuple[float, float]] = []
        for place, (row, to_left) in rows.items():
            top = span[1] - (row * metrics.height()) / height * (span[1] - span[0])
            foot = top - metrics.height() / height * (span[1] - span[0])
            self._word(self._mark_word(marks[place]), x[place], top, (1.0 if to_left else 0.0, 0.0))
            ups += [(x[place], y[place]), (x[place], foot)]
        self._leads.setData([a for a, _ in ups], [b for _, b in ups], connect="pairs")

    def _word(self, words: str, x: float, y: float, anchor: tuple[float, float]) -> None:
        item = pg.TextItem(words, color=self._look.colour("ink"), anchor=anchor)
        item.setFont(self._look.font(12))
        item.textItem.document().setDocumentMargin(2)
        self._plot.addItem(item, ignoreBounds=True)
        item.setPos(float(x), float(y))
        self._words.append(item)

    # --- reading ------------------------------------------------------------------------------------------------

    def step(self, by: int) -> None:
        """Read the reading before (-1) or after (1) the one that is read."""
        series = self._series
        if series is None or not len(series.t_ms):
            return
        last = len(series.t_ms) - 1
        self._read(last if self._row is None else min(max(self._row + by, 0), last))

    def stop_reading(self) -> None:
        """Take the cursor away."""
        self._row = None
        self._show_cursor()

    def _read(self, row: int) -> None:
        self._row = row
        self._show_cursor()

    def _show_cursor(self) -> None:
        series, units, row = self._series, self._units, self._row
        if series is None or units is None or row is None or row >= len(series.t_ms):
            self._cursor.hide()
            self._read_out.setText(self._title)
            return
        t, value = int(series.t_ms[row]), float(series.value[row])
        self._cursor.setPos((t - series.from_ms) / 1000.0)
        self._cursor.show()
        said = "unknown" if not np.isfinite(value) else self._text(value, sign=self._signed)
        part = ", partial" if bool(series.partial[row]) else ""
        self._read_out.setText(f"{units.time_near(t, self._now_ms)}  {said}{part}")

    def eventFilter(self, watched: Any, event: QEvent) -> bool:
        kind = event.type()
        if kind in (QEvent.Type.MouseMove, QEvent.Type.MouseButtonPress) and self._series is not None \
                and len(self._series.t_ms):
            place = self._plot.vb.mapSceneToView(self._view.mapToScene(event.position().toPoint()))  # type: ignore[attr-defined]
            t = self._series.from_ms + round(place.x() * 1000)
            self._read(int(np.argmin(np.abs(np.asarray(self._series.t_ms) - t))))
        elif kind == QEvent.Type.Leave:
            self.stop_reading()
        elif kind == QEvent.Type.Wheel:
            return True
        return super().eventFilter(watched, event)


def _touches(one: tuple[int, float, float, float], other: tuple[int, float, float, float], lines: bool) -> bool:
    """True if two words are on one another, or (lines) the line of the higher one goes through the lower one. Each: its
    row, from where to where [px], and where its line is."""
    if one[0] == other[0]:
        return one[2] + 6 >= other[1] and one[1] - 6 <= other[2]
    if not lines:
        return False
    high, low = (one, other) if one[0] < other[0] else (other, one)
    return low[1] - 1 <= high[3] <= low[2] + 1 and abs(low[3] - high[3]) > 1

