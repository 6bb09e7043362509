"""Beside the form of the Rig page: the tank or the well drawn as it is typed, and its numbers."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QLabel, QScrollArea, QStackedWidget, QVBoxLayout, QWidget

from dipbook.composing.rig_views import PumpSketch, TankSketch, WellView
from dipbook_app.display import DisplayUnits, shown_words
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.rig_words import Row, pump_rows, tank_rows, well_rows
from dipbook_app.theme import Look
from dipbook_app.widgets.shape_drawing import ShapeDrawing
from dipbook_app.widgets.text_size import scaled
from dipbook_app.widgets.well_drawing import WellDrawing
from dipbook_app.widgets.words_label import WordsLabel

LEAST_TANK, LEAST_WELL = 150, 225
"""Height kept for the drawing, and for what is typed below it, at the ordinary text [px]."""


class RigPicture(QWidget):
    """Signals: bit_typed(): another bit depth is to be drawn; left(): Enter in that field."""

    bit_typed = Signal()
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.shape = ShapeDrawing()
        self.well = WellDrawing()
        self._nothing = QWidget()
        self._stack = QStackedWidget()
        for drawing in (self.shape, self.well, self._nothing):
            self._stack.addWidget(drawing)
        self.before = WordsLabel(whole=False)
        self.bit = FieldRow("bit", "Bit drawn at")
        self.bit.changed.connect(self.bit_typed)
        self.bit.entered.connect(self.left)
        self.numbers = QLabel()
        self.numbers.setTextFormat(Qt.TextFormat.RichText)
        self.numbers.setWordWrap(True)
        self.numbers.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.rows: tuple[Row, ...] = ()
        self.remarks: tuple[str, ...] = ()
        self.numbers.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.area = QScrollArea()
        self.area.setWidget(self.numbers)
        self.area.setWidgetResizable(True)
        self.area.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.before)
        layout.addWidget(self._stack, 1)
        layout.addWidget(self.bit)
        layout.addWidget(self.area)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self.shape.set_look(look)
        self.well.set_look(look)

    def show_tank(self, sketch: TankSketch | None, units: DisplayUnits, before: str = "") -> None:
        """sketch: of the tank, None while its shape doesn't read; units: the crew's. before: said of one of before."""
        self.before.say(before, "doubt")
        self.shape.show_sketch(sketch, units)
        self._show(self.shape, tank_rows(sketch, units))

    def show_pump(self, sketch: PumpSketch, units: DisplayUnits) -> None:
        """sketch: of the pump; units: the crew's."""
        self.before.say("")
        self._show(self._nothing, pump_rows(sketch, units))

    def show_well(self, view: WellView, units: DisplayUnits, before: str = "") -> None:
        """view: hole and string; units: the crew's. before: said of one of before."""
        self.before.say(before, "doubt")
        self.well.show_well(view, units)
        self._show(self.well, well_rows(view, units), view.remarks)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The numbers take the room that they need and no more, the drawing the rest."""
        super().resizeEvent(event)
        self._fit()

    def show_nothing(self) -> None:
        """Nothing is drawn of what is chosen."""
        self._show(self._nothing, ())

    def _show(self, drawing: QWidget, rows: Sequence[Row], remarks: Sequence[str] = ()) -> None:
        self.rows, self.remarks = tuple(rows), tuple(remarks)
        self._stack.setCurrentWidget(drawing)
        self._stack.setVisible(drawing is not self._nothing)
        self.setVisible(bool(rows) or drawing is not self._nothing)
        self.bit.setVisible(drawing is self.well)
        cells = "".join(f"<tr><td style='padding: 1px 12px 1px 0'>{_plain(what)}</td>"
                        f"<td style='padding: 1px 0'><b>{_plain(value)}</b></td></tr>" for what, value in rows)
        said = "".join(f"<p style='margin: 3px 0'>{_plain(shown_words(words))}</p>" for words in remarks)
        self.numbers.setText(f"{said}<table>{cells}</table>")
        self.numbers.setAccessibleName("; ".join(f"{what} {value}" for what, value in rows))
        self._fit()

    def _fit(self) -> None:
        needed = self.numbers.heightForWidth(max(self.width() - 2, 1)) + 4
        alone = self._stack.currentWidget() is self._nothing
        self.area.setMaximumHeight(needed if not alone else 16_777_215)
        least = LEAST_WELL if self._stack.currentWidget() is self.well else LEAST_TANK
        self.area.setMinimumHeight(0 if alone else min(needed, max(self.height() - scaled(self, least), 60)))


def _plain(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
