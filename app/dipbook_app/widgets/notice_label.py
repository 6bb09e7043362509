"""What has to be read whole: words over as many lines as they take, and no room at all while there are none."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QRect, QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

from dipbook_app.widgets.text_size import FONT_EVENTS, restyle

EDGE_X, EDGE_Y = 14, 6
"""What the style's edge and padding take of the width and the height [px]."""

SLACK = 2
"""Left free where there is no edge: letters may reach out of their boxes [px]."""
TO_SPARE = 12
"""Words laid out in parts of a pixel may need so much more than they measure [px]."""
EDGED = ("bad", "outlined")


class NoticeLabel(QLabel):
    """part: of the style sheet. turned(): it takes more room, or less."""

    turned = Signal()

    def __init__(self, part: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", part)
        self.setWordWrap(True)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.hide()

    def show_words(self, words: str, part: str | None = None) -> None:
        """words: "" for none; part: another part of the style sheet than before, or None for the same."""
        if part is not None and part != self.property("part"):
            self.setProperty("part", part)
            restyle(self)
        if words != self.text():
            self.setText(words)
            self.setAccessibleName(words)
        self.setVisible(bool(words))
        self._fit()

    @property
    def needed(self) -> int:
        """Width that the words take on one line, with their edge [px]."""
        return self.fontMetrics().horizontalAdvance(self.text()) + (EDGE_X if self._edged else SLACK) + TO_SPARE

    @property
    def _edged(self) -> bool:
        return self.property("part") in EDGED

    def sizeHint(self) -> QSize:
        return QSize(300, self.minimumHeight())

    def minimumSizeHint(self) -> QSize:
        return QSize(0, self.minimumHeight())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Other lines for another width."""
        super().resizeEvent(event)
        self._fit()

    def changeEvent(self, event: QEvent) -> None:
        """The text's size has changed."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS:
            self._fit()

    def _fit(self) -> None:
        edges = EDGE_X if self._edged else SLACK
        room = QRect(0, 0, max(1, self.width() - edges - TO_SPARE), 10_000)
        height = self.fontMetrics().boundingRect(room, Qt.TextFlag.TextWordWrap, self.text()).height()
        height += EDGE_Y if self._edged else 0
        if height != self.minimumHeight():
            self.setFixedHeight(height)
            self.turned.emit()
