"""One tank, drawn in its true cross-section: level, limits, the mark of the dip before, and how old it all is."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QBrush,
    QFont,
    QFontMetricsF,
    QMouseEvent,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from dipbook.situation import TankView
from dipbook.tanks.gauging import AT_LEAST, AT_MOST
from dipbook.tanks.outlines import Section
from dipbook.tanks.shapes import Shape
from dipbook.tanks.tank import Tank
from dipbook_app.display import DisplayUnits
from dipbook_app.theme import Look

DOUBT = "?"
"""The sign of a gauge that can't be trusted; words always follow it."""
SMALLER, LEAST_PX = 2, 10
"""By how much letters may shrink to fit, and never below [px]."""


def sections(shape: Shape, top_m: float) -> tuple[Section, ...]:
    """The cross-section from the bottom to ``top_m`` [m]; upright walls are drawn on where the shape ends below it."""
    drawn = tuple(part for section in shape.outline() if (part := section.below(top_m)) is not None)
    highest = max((section.top for section in drawn), default=0.0)
    return tuple(replace(section, points=(*section.points, (section.points[-1][0], top_m)))
                 if highest < top_m and section.top == highest else section for section in drawn)


def span_m(shape: Shape, top_m: float) -> tuple[float, float]:
    """The left and the right edge of the cross-section up to ``top_m`` [m], from its middle [m]."""
    drawn = sections(shape, top_m)
    return min(s.middle - s.half for s in drawn), max(s.middle + s.half for s in drawn)


def width_m(shape: Shape, top_m: float) -> float:
    """The width of the cross-section up to ``top_m`` [m]."""
    left, right = span_m(shape, top_m)
    return right - left


def _has_slopes(drawn: tuple[Section, ...]) -> bool:
    """True if a wall is neither upright nor level: only then are lines smoothed."""
    return any(half != other and level != above for section in drawn
               for (half, level), (other, above) in pairwise(section.points))


def walls(drawn: tuple[Section, ...]) -> list[list[tuple[float, float]]]:
    """The lines to draw, each as (across, level) [m]: walls, floors and tops, not where parts open into each other."""
    lines = []
    for section in drawn:
        for side in (-1, 1):
            lines.append([(section.middle + side * half, level) for half, level in section.points])
        for (half, level), facing in ((section.points[0], -1), (section.points[-1], 0)):
            met = [(other.middle, other.points[facing][0]) for other in drawn
                   if other is not section and abs(other.points[facing][1] - level) < 1e-9]
            gaps = _uncovered(section.middle - half, section.middle + half, [(m - w, m + w) for m, w in met])
            lines += [[(left, level), (right, level)] for left, right in gaps]
    return lines


def _uncovered(left: float, right: float, covers: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """What of a span no cover lies over."""
    gaps = []
    for start, end in sorted(covers):
        if start > left + 1e-9:
            gaps.append((left, min(start, right)))
        left = max(left, end)
    return [*gaps, (left, right)] if left <= right - 1e-9 or not covers else gaps


LEAST_SCALE = 5.0
"""Below this a drawing would be a mark of some pixels that says nothing: only the words are shown [px/m]."""


class TankDrawing(QWidget):
    """Shows one tank. Clicking asks for its readings."""

    asked = Signal(str)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._view: TankView | None = None
        self._tank: Tank | None = None
        self._units: DisplayUnits | None = None
        self._scale = 20.0
        self._beside = 0.0
        self._compact = False
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Ignored)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._look = look
        self.update()

    def set_scale(self, px_per_m: float, *, beside: float = 0.0, compact: bool = False) -> None:
        """px_per_m: the same for every tank on the page and in both directions [px/m].

        beside: width of the words beside the drawing [px], 0 for words below it. compact: three lines, not four.
        """
        self._scale, self._beside, self._compact = px_per_m, beside, compact
        self.update()

    def show_tank(self, view: TankView, tank: Tank, units: DisplayUnits) -> None:
        """view: the tank now; tank: its shape; units: the crew's."""
        if (view, units) != (self._view, self._units):
            self._view, self._tank, self._units = view, tank, units
            self.setAccessibleName(", ".join(text for text in self.readings() if text))
            self.setToolTip("\n".join(text for text in self.details() if text))
            self.update()

    @property
    def name(self) -> str:
        """The tank's name."""
        return self._view.name if self._view else ""

    def readings(self) -> tuple[str, str, str, str]:
        """Name, volume, what the stick says and condition, as written below the drawing."""
        view, units = self._view, self._units
        if view is None or units is None:
            return ("", "", "", "")
        if view.t_ms is None:
            return (view.name, "not gauged yet", "", "")
        bound = "≥ " if view.flag in AT_LEAST else "≤ " if view.flag in AT_MOST else ""
        volume = ("" if view.volume_m3 is None else bound) + units.volume(view.volume_m3)
        return (view.name, volume, self._stick(view.level_m, view.flag, units), self._condition(view, units))

    def details(self) -> tuple[str, ...]:
        """All that is known, for whoever asks."""
        view, units, tank = self._view, self._units, self._tank
        if view is None or units is None or tank is None:
            return ()
        spread = f" {units.plus_minus(view.u_m3)}" if view.u_m3 is not None else ""
        name, volume, stick, condition = self.readings()
        stick = f"Stick {stick}; {units.level(view.level_m)} above the bottom" if stick else ""
        before = "" if view.previous_t_ms is None else (
            f"Before: {self._stick(view.previous_level_m, '', units)} at {units.time(view.previous_t_ms)}")
        booked = "" if not view.booked_m3 else f"Booked since its dip: {units.signed_volume(view.booked_m3)}"
        room = "" if view.room_m3 is None else f"Room to the brim: {units.volume(view.room_m3)}"
        gauged = f"Gauged {units.time(view.t_ms)}{spread}"
        return (name, volume, stick, gauged, condition, before, booked, room,
                *(f"{word} limit at {units.level(level)} above the bottom" for word, level in view.limit_levels),
                view.flag, *(f"{DOUBT} Since {units.time(d.since_ms)}: {d.text}" for d in view.doubts))

    def _stick(self, level_m: float | None, flag: str, units: DisplayUnits) -> str:
        """What the stick says at a level above the bottom [m]; "" where it couldn't be read. flag: of the dip."""
        if self._tank is None or flag in (AT_LEAST[0], AT_MOST[0]):
            return ""
        return units.level(None if level_m is None else float(self._tank.dip_of_level(level_m)))

    @staticmethod
    def _condition(view: TankView, units: DisplayUnits) -> str:
        age = units.span(view.age_ms)
        if view.doubts:  # said with a sign and words: see dipbook.gauges
            return f"{DOUBT} {view.doubts[0].brief}{', …' if len(view.doubts) > 1 else ''}"
        if view.flag:
            return view.flag
        if view.held:
            return f"held, {age}"
        return f"old, {age}" if view.stale else age

    @staticmethod
    def text_height(look: Look, *, compact: bool = False) -> float:
        """Height of the words [px]. compact: level and age share a line."""
        small = QFontMetricsF(look.font(12)).height() * (1 if compact else 2)
        return QFontMetricsF(look.font(13)).height() + QFontMetricsF(look.font(14, bold=True)).height() + small

    def sizeHint(self) -> QSize:
        return QSize(90, 140)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self._view is not None:
            self.asked.emit(self._view.name)

    def paintEvent(self, event: QPaintEvent) -> None:
        if self._view is None or self._tank is None:
            return
        painter = QPainter(self)
        words = self.text_height(self._look, compact=self._compact)
        if self._beside:
            left = self.width() - self._beside
            self._paint_drawing(painter, QRectF(0, 0, left, self.height()))
            self._paint_words(painter, QRectF(left, (self.height() - words) / 2, self._beside, words),
                              Qt.AlignmentFlag.AlignLeft)
        else:
            self._paint_drawing(painter, QRectF(0, 0, self.width(), self.height() - words))
            self._paint_words(painter, QRectF(0, self.height() - words, self.width(), words),
                              Qt.AlignmentFlag.AlignHCenter)
        painter.end()

    def _paint_drawing(self, painter: QPainter, area: QRectF) -> None:
        view, tank, look = self._view, self._tank, self._look
        if view is None or tank is None or self._scale < LEAST_SCALE:
            return
        drawn = sections(tank.shape, tank.top_m)
        left, right = span_m(tank.shape, tank.top_m)
        bottom, middle = area.bottom() - 3, area.center().x() - (left + right) / 2 * self._scale

        def at(across: float, level: float) -> QPointF:
            return QPointF(middle + across * self._scale, bottom - level * self._scale)

        def edges(level: float) -> tuple[float, float]:
            """The walls furthest left and right at a level."""
            here = [(s.middle, half) for s in drawn if (half := s.half_at(level)) is not None]
            return min((m - half for m, half in here), default=left), max((m + half for m, half in here), default=right)

        body = QPainterPath()
        for section in drawn:
            up = [at(section.middle - half, level) for half, level in section.points]
            down = [at(section.middle + half, level) for half, level in reversed(section.points)]
            body.addPolygon(QPolygonF([*up, *down]))
            body.closeSubpath()
        body.setFillRule(Qt.FillRule.WindingFill)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, _has_slopes(drawn))
        painter.fillPath(body, look.colour("panel"))
        if view.level_m is not None and math.isfinite(view.level_m):
            surface = min(max(view.level_m, 0.0), tank.top_m)
            doubtful = view.stale or view.held or bool(view.flag or view.doubts)
            painter.save()
            painter.setClipPath(body)
            mud = QRectF(at(left, surface), at(right, 0.0))
            painter.fillRect(mud, look.colour("old" if doubtful else "mud"))
            if doubtful:
                painter.fillRect(mud, QBrush(look.colour("line"), Qt.BrushStyle.BDiagPattern))
            style = Qt.PenStyle.DashLine if doubtful else Qt.PenStyle.SolidLine
            painter.setPen(QPen(look.colour("ink"), 2, style))
            painter.drawLine(at(left, surface), at(right, surface))
            painter.restore()
        painter.setPen(QPen(look.colour("ink" if view.active else "line"), 2 if view.active else 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for line in walls(drawn):
            painter.drawPolyline(QPolygonF([at(across, level) for across, level in line]))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        small = look.font(10)
        painter.setFont(small)
        for word, level in view.limit_levels:
            if 0 <= level <= tank.top_m:
                edge = at(edges(level)[1], level)
                painter.setPen(QPen(look.colour("ink"), 2))
                painter.drawLine(edge - QPointF(6, 0), edge + QPointF(6, 0))
                painter.drawText(edge + QPointF(8, 4), word[:1].upper())
        if view.previous_level_m is not None and 0 <= view.previous_level_m <= tank.top_m:
            tip = at(edges(view.previous_level_m)[0], view.previous_level_m)
            painter.setPen(QPen(look.colour("ink"), 1))
            painter.drawPolygon([tip, tip + QPointF(-8, -4), tip + QPointF(-8, 4)])

    @staticmethod
    def _fitting(font: QFont, text: str, width: float, *, whole: str) -> tuple[QFont, str]:
        """Smaller letters, then the condition alone: how old a dip is matters more than its level, drawn above.

        font; text: that doesn't fit in width [px]; whole: the condition.
        """
        least = QFont(font)
        for shown in (text, whole) if text.endswith(whole) else (text,):
            for size in range(font.pixelSize() - 1, font.pixelSize() - SMALLER - 1, -1):
                least = QFont(font)
                least.setPixelSize(max(size, LEAST_PX))
                if QFontMetricsF(least).horizontalAdvance(shown) <= width:
                    return least, shown
        return least, whole if text.endswith(whole) else text

    def _paint_words(self, painter: QPainter, box: QRectF, side: Qt.AlignmentFlag) -> None:
        view, top = self._view, box.top()
        doubtful = view is not None and (view.stale or view.held or bool(view.flag or view.doubts))
        name, volume, level, condition = self.readings()
        bold, small = self._look.font(14, bold=True), self._look.font(12)
        last = self._look.font(12, bold=True) if doubtful else small
        rows = [(name, self._look.font(13), "ink"), (volume, bold, "ink")]
        if self._compact:
            rows.append((", ".join(t for t in (condition if doubtful else level, "" if doubtful else condition) if t),
                         last, "ink"))
        else:
            rows += [(level, small, "ink"), (condition, last, "ink" if doubtful else "soft")]
        for text, font, ink in rows:
            metrics = QFontMetricsF(font)
            if metrics.horizontalAdvance(text) > box.width() - 4:
                font, text = self._fitting(font, text, box.width() - 4, whole=condition)
                metrics = QFontMetricsF(font)
            painter.setFont(font)
            painter.setPen(self._look.colour(ink))
            shown = metrics.elidedText(text, Qt.TextElideMode.ElideRight, box.width() - 4)
            line = QRectF(box.left(), top, box.width(), metrics.height())
            painter.drawText(line, side | Qt.AlignmentFlag.AlignVCenter, shown)
            top += metrics.height()
