"""A label of one line that takes smaller letters, then another line if it may, then ends in …, when there is no room,
instead of pushing its neighbours about."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QRect, QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget


class LineLabel(QLabel):
    """One line. text() is always the whole; it is the tool tip too when it doesn't fit.

    part: of the style sheet; smaller: the parts to take, one after the other, where the text doesn't fit.
    lines: how many it may take where the smallest doesn't fit on one.
    """

    def __init__(self, text: str = "", part: str = "", parent: QWidget | None = None, *, smaller: tuple[str, ...] = (),
                 lines: int = 1) -> None:
        super().__init__(parent)
        self._lines = lines
        self._whole = text
        self._parts = (part, *smaller) if smaller else ()
        self._fitting = False
        if part:
            self.setProperty("part", part)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self._fit()

    def setText(self, text: str) -> None:
        if text != self._whole:
            self._whole = text
            self.setAccessibleName(text)
            self._fit()

    def text(self) -> str:
        return self._whole

    @property
    def cut(self) -> bool:
        """True if the text doesn't fit."""
        return super().text() != self._whole

    @property
    def needed(self) -> int:
        """Width that the whole text takes [px]."""
        return self.fontMetrics().horizontalAdvance(self._whole) + 4

    def _fit(self) -> None:
        if self._fitting:
            return
        self._fitting = True
        for part in self._parts:
            if self.property("part") != part:
                self.setProperty("part", part)
                self.style().unpolish(self)
                self.style().polish(self)
            if self.fontMetrics().horizontalAdvance(self._whole) <= self.contentsRect().width():
                break
        self._fitting = False
        metrics, width = self.fontMetrics(), self.contentsRect().width()
        fits = metrics.horizontalAdvance(self._whole) <= width
        if self._lines > 1:
            room = QRect(0, 0, max(1, width), 10_000)
            tall = metrics.boundingRect(room, Qt.TextFlag.TextWordWrap, self._whole).height()
            wraps = not fits and tall <= self._lines * (metrics.lineSpacing() + 1)
            if wraps != self.wordWrap():
                self.setWordWrap(wraps)
                self.updateGeometry()
            fits = fits or wraps
        super().setText(self._whole if fits else metrics.elidedText(self._whole, Qt.TextElideMode.ElideRight, width))
        self.setToolTip("" if fits else self._whole)

    def sizeHint(self) -> QSize:
        return QSize(self.fontMetrics().horizontalAdvance(self._whole) + 4, self._tall(super().sizeHint().height()))

    def minimumSizeHint(self) -> QSize:
        return QSize(0, self._tall(super().minimumSizeHint().height()))

    def hasHeightForWidth(self) -> bool:
        return False

    def _tall(self, one: int) -> int:
        return self._lines * self.fontMetrics().lineSpacing() + 2 if self.wordWrap() else one

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self._fit()
