"""All tanks on one scale: the active ones first, in flow order from the shaker to the suction, then the rest."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from dipbook.rig.model import ROLES, Rig
from dipbook.situation import TankView
from dipbook_app.display import DisplayUnits
from dipbook_app.part_words import TIP
from dipbook_app.theme import Look
from dipbook_app.widgets.tank_drawing import TankDrawing, width_m

SIDE_ROOM = 40
"""Room beside a tank for its marks [px]."""
WORDS_PX, NAME_PX = 118, 84
"""Width of the words beside a tank, and of a name below one, at text size 1 [px]."""
SPARE_PX = 40
MARGIN = 7
"""Above a drawing and below it, for the pen [px]."""
LOW_PX = 190
"""Below this height the headings give way; a thin outline still tells what isn't lined up."""


@dataclass(frozen=True, slots=True)
class _Plan:
    """scale [px/m]; across: the widest drawing [px]; columns;
    width and height of a tank's place, step from row to row [px]; how its words stand."""

    scale: float
    across: float
    columns: int
    width: float
    height: float
    step: float
    beside: float
    compact: bool


def flow_order(tanks: tuple[TankView, ...], rig: Rig) -> tuple[tuple[TankView, ...], tuple[TankView, ...]]:
    """The active tanks from the shaker to the suction, and the rest. rig: for roles and gauging order."""
    order = {tank.name: tank.order for tank in rig.tanks}

    def place(view: TankView) -> tuple[int, int]:
        return (ROLES.index(view.role) if view.role in ROLES else len(ROLES), order.get(view.name, 0))

    ranked = sorted(tanks, key=place)
    return tuple(t for t in ranked if t.active), tuple(t for t in ranked if not t.active)


class TankField(QWidget):
    """Shows the tanks; asked(name) when one is clicked."""

    asked = Signal(str)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._rig: Rig | None = None
        self._groups: tuple[tuple[TankView, ...], tuple[TankView, ...]] = ((), ())
        self._drawings: dict[str, TankDrawing] = {}
        self._headings: list[tuple[QRectF, str]] = []
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Expanding)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._look = look
        for drawing in self._drawings.values():
            drawing.set_look(look)
        self._arrange()

    def sizeHint(self) -> QSize:
        return QSize(500, 300)

    def minimumSizeHint(self) -> QSize:
        return QSize(0, round(TankDrawing.text_height(self._look)) + self._look.px(60))

    def show_tanks(self, tanks: tuple[TankView, ...], rig: Rig, units: DisplayUnits) -> None:
        """tanks: now; rig: their shapes; units: the crew's."""
        groups = flow_order(tanks, rig)
        moved = [[t.name for t in g] for g in groups] != [[t.name for t in g] for g in self._groups]
        changed = rig is not self._rig or moved
        self._rig, self._groups = rig, groups
        for name in set(self._drawings) - {t.name for t in tanks}:
            gone = self._drawings.pop(name)
            gone.hide()
            gone.deleteLater()
        for view in (*groups[0], *groups[1]):
            if view.name not in self._drawings:
                drawing = TankDrawing(self._look, self)
                drawing.asked.connect(self.asked)
                drawing.setCursor(Qt.CursorShape.PointingHandCursor)
                drawing.setAccessibleDescription(TIP)
                drawing.show()
                self._drawings[view.name] = drawing
            self._drawings[view.name].show_tank(view, rig.tank(view.name), units)
        if changed:
            self._arrange()

    @property
    def drawings(self) -> tuple[TankDrawing, ...]:
        """The drawings in order."""
        return tuple(self._drawings[t.name] for group in self._groups for t in group)

    def headings(self) -> tuple[str, ...]:
        """The groups' headings."""
        return tuple(text for _, text in self._headings)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._arrange()

    def _arrange(self) -> None:
        """Choose the columns, and words beside or below, that draw the tanks largest; then place them."""
        self._headings = []
        groups = [g for g in self._groups if g]
        if not groups or self._rig is None or self.width() < 50 or self.height() < 50:
            return
        low = self.height() < self._look.px(LOW_PX)
        heading = 0.0 if low else QFontMetricsF(self._look.font(12)).height() + 2
        plan = max((p for columns in range(1, max(len(g) for g in groups) + 1) for p in self._plans(columns, heading)),
                   key=lambda p: p.scale)
        y = 0.0
        titles = ("Active, from the shaker to the suction", "Not lined up")
        for group, title in zip(self._groups, titles, strict=True):
            if not group:
                continue
            if heading:
                self._headings.append((QRectF(0, y, self.width(), heading), title))
            y += heading
            for k, view in enumerate(group):
                row, column = divmod(k, plan.columns)
                drawing = self._drawings[view.name]
                drawing.set_scale(max(1.0, plan.scale), beside=plan.beside, compact=plan.compact)
                # Words beside a drawing stand close to it, however wide the place is.
                used = min(plan.width, plan.across + SIDE_ROOM + plan.beside) if plan.beside else plan.width
                left = column * plan.width + (plan.width - used) / 2
                drawing.setGeometry(round(left), round(y + row * plan.step), round(used), round(plan.height))
            y += -(-len(group) // plan.columns) * plan.step
        self.update()

    def _plans(self, columns: int, heading: float) -> list[_Plan]:
        """The ways to place the tanks in so many columns that leave room for their words."""
        assert self._rig is not None
        groups = [g for g in self._groups if g]
        tanks = [self._rig.tank(t.name) for g in groups for t in g]
        wide, tall = max(width_m(t.shape, t.top_m) for t in tanks), max(t.top_m for t in tanks)
        rows = sum(-(-len(g) // columns) for g in groups)
        width, height = self.width() / columns, (self.height() - heading * len(groups)) / rows
        plans = []
        for beside in (0.0, float(self._look.px(WORDS_PX))):
            for compact in (False, True):
                words = TankDrawing.text_height(self._look, compact=compact)
                across = width - SIDE_ROOM - beside
                down = height - MARGIN - (0.0 if beside else words)
                scale = min(across / wide, down / tall)
                if (beside and height < words) or (not beside and width < self._look.px(NAME_PX)):
                    scale = -1.0 / columns  # no room for the words: only when nothing else is left
                # A row is little taller than its largest tank, so that the words stand close to the drawings.
                needed = max(tall * scale + MARGIN + 2, words) if beside else tall * scale + words + MARGIN + 2
                plans.append(_Plan(scale - (1e-6 if compact else 0.0), wide * max(1.0, scale), columns, width,
                                   min(height, needed), min(height, needed + SPARE_PX), beside, compact))
        return plans

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setFont(self._look.font(12))
        painter.setPen(self._look.colour("soft"))
        for box, text in self._headings:
            painter.drawText(box, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, text)
        painter.end()
