"""What was just done, or what failed: on two lines; a click shows the whole, or is done with it."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QRect, QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics, QMouseEvent, QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QToolTip, QWidget

from dipbook_app.widgets.text_size import FONT_EVENTS, restyle

LINES = 2
EDGE_X = 14
"""What the style's edge and padding take of the width [px]."""
WHOLE_MS = 60_000


class SaidLabel(QLabel):
    """text() is always the whole; it is the tool tip too. cut: True if not all of it is shown.

    read(): a person has clicked on words that were shown whole, or whose whole they have seen.
    """

    read = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._words = ""
        self._opened = False
        self.setProperty("part", "strong")
        self.setWordWrap(True)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Ignored)
        self.hide()

    def show_words(self, words: str, *, bad: bool) -> None:
        """words: "" for none; bad: True for what failed."""
        self._words, self._opened = words, False
        self.setProperty("part", "bad" if bad and words else "strong")
        restyle(self)
        self.setToolTip(words)
        self.setAccessibleName(words)
        self.setVisible(bool(words))
        self._fit()

    def text(self) -> str:
        return self._words

    @property
    def cut(self) -> bool:
        """True if not all of the words are shown."""
        return super().text() != self._words

    @property
    def needed(self) -> int:
        """Width that the words take on two lines, with some to spare for where they break [px]."""
        advance = self.fontMetrics().horizontalAdvance(self._words)
        return round(advance * (0.5 if advance < 200 else 0.56)) + EDGE_X

    def sizeHint(self) -> QSize:
        return QSize(200, LINES * self.fontMetrics().lineSpacing())

    def minimumSizeHint(self) -> QSize:
        return QSize(0, 0)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Show the whole; after that, or where it is shown already, the words are done with."""
        if self._opened or not self.cut:
            QToolTip.hideText()
            self.read.emit()
            return
        self._opened = True
        QToolTip.showText(event.globalPosition().toPoint(), self._words, self, QRect(), WHOLE_MS)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Other lines for another width."""
        super().resizeEvent(event)
        self._fit()

    def changeEvent(self, event: QEvent) -> None:
        """The text's size has changed."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "_words"):
            self._fit()

    def _fit(self) -> None:
        metrics, words = self.fontMetrics(), self._words
        room = max(1, self.width() - EDGE_X)
        if not _fits(words, metrics, room):
            least, most = 0, len(words)
            while least < most - 1:
                middle = (least + most) // 2
                if _fits(words[:middle].rstrip() + " …", metrics, room):
                    least = middle
                else:
                    most = middle
            words = words[:least].rstrip() + " …"
        if words != super().text():
            super().setText(words)


def _fits(words: str, metrics: QFontMetrics, room: int) -> bool:
    wrap = Qt.TextFlag.TextWordWrap
    box = metrics.boundingRect(QRect(0, 0, room, 10_000), wrap, words)
    return box.height() < (LINES + 0.5) * metrics.lineSpacing() and box.width() <= room
