"""A tank as it is being described: its cross-section to scale, with its brim and its heel."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QFontMetricsF, QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from dipbook.composing.rig_views import TankSketch
from dipbook.tanks.shapes import Strapping
from dipbook_app.display import DisplayUnits
from dipbook_app.rig_words import depth_words
from dipbook_app.theme import DAY, Look
from dipbook_app.widgets.tank_drawing import sections, span_m, walls

MARGIN = 6
"""Around the drawing, for the pen [px]."""
NOTHING = "Drawn once its shape can be read."
BY_AREA = "as wide as a square of its area"


class ShapeDrawing(QWidget):
    """Shows one sketch; the same scale across and upwards."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = Look(DAY)
        self._sketch: TankSketch | None = None
        self._units: DisplayUnits | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._look = look
        self.update()

    def show_sketch(self, sketch: TankSketch | None, units: DisplayUnits) -> None:
        """sketch: of the tank, None while its shape doesn't read; units: the crew's."""
        self._sketch, self._units = sketch, units
        self.setAccessibleName(", ".join(words for words, _ in self.marks()) or NOTHING)
        self.update()

    def marks(self) -> tuple[tuple[str, float], ...]:
        """Words beside the drawing and their level above the bottom [m], the highest first."""
        sketch, units = self._sketch, self._units
        if sketch is None or units is None:
            return ()
        tank, found = sketch.tank, []
        if not sketch.has_brim or tank.top_m < tank.shape.height - 1e-6:
            found.append((f"top {units.level(tank.shape.height)}", tank.shape.height))
        if sketch.has_brim:
            found.append((f"brim {units.level(tank.top_m)}", tank.top_m))
        if sketch.has_heel:
            found.append((f"heel {units.level(tank.heel_m)}", tank.heel_m))
        return tuple(found)

    def across(self) -> str:
        """Words below the drawing: how wide it is."""
        sketch, units = self._sketch, self._units
        if sketch is None or units is None:
            return ""
        if isinstance(sketch.tank.shape, Strapping):
            return BY_AREA
        left, right = span_m(sketch.tank.shape, sketch.tank.shape.height)
        return f"{depth_words(right - left, units)} wide"

    def sizeHint(self) -> QSize:
        return QSize(300, 240)

    def minimumSizeHint(self) -> QSize:
        return QSize(160, 120)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        look = self._look
        small = look.font(13)
        painter.setFont(small)
        line = QFontMetricsF(small).height()
        if self._sketch is None:
            painter.setPen(look.colour("soft"))
            painter.drawText(QRectF(self.rect()), Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap, NOTHING)
            painter.end()
            return
        wide = max((QFontMetricsF(small).horizontalAdvance(words) for words, _ in self.marks()), default=0.0) + 24
        area = QRectF(MARGIN, MARGIN + line / 2, self.width() - wide - 2 * MARGIN,
                      self.height() - 1.5 * line - 2 * MARGIN)
        self._paint(painter, area, line)
        painter.end()

    def _paint(self, painter: QPainter, area: QRectF, line: float) -> None:
        sketch, look = self._sketch, self._look
        if sketch is None or area.width() < 20 or area.height() < 20:
            return
        tank = sketch.tank
        height = tank.shape.height
        drawn = sections(tank.shape, height)
        left, right = span_m(tank.shape, height)
        scale = min(area.width() / (right - left), area.height() / height)
        middle, bottom = area.center().x() - (left + right) / 2 * scale, area.bottom()

        def at(across: float, level: float) -> QPointF:
            return QPointF(middle + across * scale, bottom - level * scale)

        body = QPainterPath()
        for section in drawn:
            up = [at(section.middle - half, level) for half, level in section.points]
            body.addPolygon(QPolygonF([*up, *(at(section.middle + half, level)
                                              for half, level in reversed(section.points))]))
            body.closeSubpath()
        body.setFillRule(Qt.FillRule.WindingFill)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillPath(body, look.colour("panel"))
        painter.save()
        painter.setClipPath(body)
        painter.fillRect(QRectF(at(left, tank.top_m), at(right, 0.0)), look.colour("mud"))
        if sketch.has_heel:
            dead = QRectF(at(left, tank.heel_m), at(right, 0.0))
            painter.fillRect(dead, look.colour("old"))
            painter.fillRect(dead, QBrush(look.colour("line"), Qt.BrushStyle.BDiagPattern))
        painter.restore()
        painter.setPen(QPen(look.colour("ink"), 2))
        for wall in walls(drawn):
            painter.drawPolyline(QPolygonF([at(across, level) for across, level in wall]))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        below = QRectF(area.left(), bottom + 2, area.width(), line)
        painter.drawText(below, Qt.AlignmentFlag.AlignHCenter, self.across())
        beside, place = at(right, 0.0).x() + 22, float("-inf")
        for words, level in self.marks():
            y = at(0.0, level).y()
            place = max(y, place + line)
            painter.setPen(QPen(look.colour("ink"), 1))
            painter.drawLine(QPointF(at(left, 0).x(), y), QPointF(at(right, 0).x() + 6, y))
            painter.drawLine(QPointF(at(right, 0).x() + 6, y), QPointF(beside - 4, place))
            painter.drawText(QRectF(beside, place - line / 2, 400, line), Qt.AlignmentFlag.AlignVCenter, words)
