"""The well as it is described: hole and string drawn to depth; widths have a scale of their own, or none would show."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from dipbook.composing.rig_views import PartView, SectionView, WellView
from dipbook_app.display import DisplayUnits
from dipbook_app.rig_words import depth_words
from dipbook_app.theme import DAY, Look

At = Callable[[float, float], QPointF]
MIDDLE_SHARE = 0.2
"""Share of the width for the well itself; the words stand at both sides."""
LETTERS = (13, 12, 11)
"""Sizes of the words, the first that fits [px at text size 1]."""
BESIDE = 20
"""Room for the lines from the words to the well [px]."""
LEAST_PART = 3.0
"""A short part of the string is drawn at least so long [px]."""
SHOE = 7.0
NOTHING = "Drawn to depth once the hole's sections or the string's parts can be read."
SCALE_WORDS = "depths to scale, widths larger"


@dataclass(frozen=True, slots=True)
class Mark:
    """Words at a depth. depth_m: measured [m]; words; left: on the hole's side, else on the string's."""

    depth_m: float
    words: str
    left: bool


class WellDrawing(QWidget):
    """Shows one well."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = Look(DAY)
        self._view: WellView | None = None
        self._units: DisplayUnits | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._look = look
        self.update()

    def show_well(self, view: WellView, units: DisplayUnits) -> None:
        """view: hole and string; units: the crew's."""
        self._view, self._units = view, units
        self.setAccessibleName(", ".join(mark.words for mark in self.marks()) or NOTHING)
        self.update()

    def marks(self) -> tuple[Mark, ...]:
        """The words beside the drawing, from the rotary down."""
        view, units = self._view, self._units
        if view is None or units is None:
            return ()
        found = [Mark(s.section.bottom_m, f"{s.end} {depth_words(s.section.bottom_m, units)}", True)
                 for s in view.sections]
        for s in view.sections:
            middle = (s.section.top_m + s.section.bottom_m) / 2
            found.append(Mark(middle, s.section.name, True))
            if s.annulus_m3 is not None:
                found.append(Mark(middle, f"annulus {units.volume(s.annulus_m3)}", True))
        found += [Mark((p.top_m + p.bottom_m) / 2, _part_words(p, units), False) for p in view.parts
                  if p.top_m is not None and p.bottom_m is not None]
        if view.bit_m is not None and view.parts:
            found.append(Mark(view.bit_m, f"bit {depth_words(view.bit_m, units)}", False))
        return tuple(sorted(found, key=lambda mark: mark.depth_m))

    @property
    def deepest_m(self) -> float:
        """The depth at the drawing's foot [m]; 0 with nothing to draw."""
        view = self._view
        if view is None:
            return 0.0
        depths = [s.section.bottom_m for s in view.sections]
        depths += [view.bit_m] if view.bit_m is not None and view.parts else []
        return max(depths, default=0.0)

    def sizeHint(self) -> QSize:
        return QSize(420, 280)

    def minimumSizeHint(self) -> QSize:
        return QSize(220, 140)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        look, view = self._look, self._view
        small = self._letters()
        painter.setFont(small)
        line = QFontMetricsF(small).height()
        if view is None or not self.deepest_m:
            painter.setPen(look.colour("soft"))
            painter.drawText(QRectF(self.rect()), Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap, NOTHING)
            painter.end()
            return
        column = QRectF(self.width() * (1 - MIDDLE_SHARE) / 2, line, self.width() * MIDDLE_SHARE,
                        self.height() - 3.0 * line)
        widest = max([s.section.diameter_m * (1 + s.section.washout) for s in view.sections]
                     + [p.outer_m for p in view.parts if p.top_m is not None])
        down, across = column.height() / self.deepest_m, (column.width() - 2 * SHOE) / widest

        def at(diameter: float, depth: float) -> QPointF:
            """The right wall of a circle of a diameter [m], negative for the left one, at a depth [m]."""
            return QPointF(column.center().x() + diameter / 2 * across, column.top() + depth * down)

        for s in view.sections:
            wide = s.section.diameter_m * (1 + s.section.washout)
            painter.fillRect(QRectF(at(-wide, s.section.top_m), at(wide, s.section.bottom_m)), look.colour("mud"))
        for s in view.sections:
            self._paint_section(painter, s, at)
        for p in view.parts:
            self._paint_part(painter, p, at)
        painter.setPen(QPen(look.colour("line"), 1))
        painter.drawLine(QPointF(column.left() - 10, column.top()), QPointF(column.right() + 10, column.top()))
        if view.bit_m is not None and view.parts:
            tip, half = at(0.0, view.bit_m), max(view.parts[0].outer_m / 2 * across * 1.1, 4.0)
            painter.setBrush(look.colour("ink"))
            painter.drawPolygon(QPolygonF([tip - QPointF(half, 3), tip + QPointF(half, -3), tip + QPointF(0, 4)]))
        for left in (True, False):
            self._paint_marks(painter, [m for m in self.marks() if m.left is left], column, line, down, left)
        painter.setPen(look.colour("soft"))
        painter.setFont(look.font(12))
        painter.drawText(QRectF(0, self.height() - line, self.width(), line),
                         Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignVCenter, SCALE_WORDS)
        painter.end()

    def _room(self) -> float:
        """Width for the words at one side [px]."""
        return self.width() * (1 - MIDDLE_SHARE) / 2 - BESIDE

    def _letters(self) -> QFont:
        """The largest letters with which all words fit, else the smallest."""
        for size in LETTERS:
            font = self._look.font(size)
            if all(QFontMetricsF(font).horizontalAdvance(mark.words) <= self._room() for mark in self.marks()):
                return font
        return self._look.font(LETTERS[-1])

    def _paint_section(self, painter: QPainter, view: SectionView, at: At) -> None:
        s, look = view.section, self._look
        cased = s.kind != "open hole"
        wide = s.diameter_m * (1 + s.washout)
        style = {"riser": Qt.PenStyle.DashLine, "open hole": Qt.PenStyle.SolidLine}.get(s.kind, Qt.PenStyle.SolidLine)
        painter.setPen(QPen(look.colour("ink"), 3 if cased and s.kind != "riser" else 1, style))
        for side in (-1, 1):
            painter.drawLine(at(side * wide, s.top_m), at(side * wide, s.bottom_m))
            if s.washout:
                painter.setPen(QPen(look.colour("ink"), 1, Qt.PenStyle.DotLine))
                painter.drawLine(at(side * s.diameter_m, s.top_m),
                                 at(side * s.diameter_m, s.bottom_m))
                painter.setPen(QPen(look.colour("ink"), 1))
            if view.end == "shoe":
                foot = at(side * wide, s.bottom_m)
                painter.setBrush(look.colour("ink"))
                painter.drawPolygon(QPolygonF([foot, foot + QPointF(side * SHOE, 0), foot - QPointF(0, SHOE)]))
        if not cased:
            painter.drawLine(at(-wide, s.bottom_m), at(wide, s.bottom_m))

    def _paint_part(self, painter: QPainter, part: PartView, at: At) -> None:
        if part.top_m is None or part.bottom_m is None:
            return
        look = self._look
        box = QRectF(at(-part.outer_m, part.top_m), at(part.outer_m, part.bottom_m))
        if box.height() < LEAST_PART:
            box.setTop(box.bottom() - LEAST_PART)
        painter.setPen(QPen(look.colour("ink"), 1))
        painter.setBrush(look.colour("field"))
        painter.drawRect(box)
        half = part.inner_m / part.outer_m * box.width() / 2
        painter.fillRect(QRectF(box.center().x() - half, box.top() + 1, 2 * half, box.height() - 1), look.colour("mud"))

    def _paint_marks(self, painter: QPainter, marks: list[Mark], column: QRectF, line: float, down: float,
                     left: bool) -> None:
        """The words at one side, each at its depth or below the one above it, none beyond the foot."""
        places: list[float] = []
        for mark in marks:
            places.append(max(column.top() + mark.depth_m * down, places[-1] + line if places else line / 2))
        foot = column.bottom() + line / 4
        for n in range(len(places) - 1, -1, -1):
            places[n] = min(places[n], foot)
            foot = places[n] - line
        room = self._room()
        metrics = QFontMetricsF(painter.font())
        for mark, y in zip(marks, places, strict=True):
            near, far = (column.left() - 2, column.left() - 14) if left else (column.right() + 2, column.right() + 14)
            painter.setPen(QPen(self._look.colour("line"), 1))
            painter.drawLine(QPointF(near, column.top() + mark.depth_m * down), QPointF(far, y))
            painter.setPen(self._look.colour("ink"))
            box = QRectF(far - room - 4 if left else far + 4, y - line / 2, room, line)
            side = Qt.AlignmentFlag.AlignRight if left else Qt.AlignmentFlag.AlignLeft
            painter.drawText(box, side | Qt.AlignmentFlag.AlignVCenter,
                             metrics.elidedText(mark.words, Qt.TextElideMode.ElideRight, room))


def _part_words(part: PartView, units: DisplayUnits) -> str:
    return part.name if part.length_m is None else f"{part.name} {depth_words(part.length_m, units)}"
