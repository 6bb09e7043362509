"""Two short texts: on one line where there is room, else on two. Neither is cut while the other has room to spare."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QSizePolicy, QWidget

from dipbook_app.widgets.line_label import LineLabel
from dipbook_app.widgets.text_size import FONT_EVENTS

GAP = 10


class PairLabel(QWidget):
    """part: of the style sheet, for both.

    Signals: turned(): from one line to two, or back.
    """

    turned = Signal()

    def __init__(self, part: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.first, self.second = LineLabel("", part), LineLabel("", part)
        self._box = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        self._box.setContentsMargins(0, 0, 0, 0)
        self._box.setSpacing(GAP)
        self._box.addWidget(self.first)
        self._box.addWidget(self.second)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)

    def set_texts(self, first: str, second: str) -> None:
        """first, second: "" for none."""
        self.first.setText(first)
        self.second.setText(second)
        self.second.setVisible(bool(second))
        self._fit()

    @property
    def two_lines(self) -> bool:
        """True if they stand one above the other."""
        return self._box.direction() == QBoxLayout.Direction.TopToBottom and not self.second.isHidden()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """One line or two."""
        super().resizeEvent(event)
        self._fit()

    def changeEvent(self, event: QEvent) -> None:
        """The text's size has changed."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "_box"):
            self._fit()

    def _fit(self) -> None:
        first, second = self.first.needed, self.second.needed if self.second.text() else 0
        room = self.width() - GAP
        one_line = first + second <= room
        direction = QBoxLayout.Direction.LeftToRight if one_line else QBoxLayout.Direction.TopToBottom
        self._box.setStretch(0, first)
        self._box.setStretch(1, second)
        if direction != self._box.direction():
            self._box.setDirection(direction)
            self._box.setSpacing(GAP if one_line else 0)
            self.updateGeometry()
            self.turned.emit()
