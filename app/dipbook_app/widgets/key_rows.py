"""Big keys beside each other, on as many rows as the width asks for; those that are hidden take no room."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QSize, QTimer
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QPushButton, QSizePolicy, QWidget

APART = 8
"""Between keys, and between rows [px]."""
TURNS = (QEvent.Type.ShowToParent, QEvent.Type.HideToParent, QEvent.Type.LayoutRequest, QEvent.Type.FontChange)


class KeyRows(QWidget):
    """Takes the keys that are added, in their order."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self._keys: list[QPushButton] = []

    def add(self, key: QPushButton) -> None:
        """Put a key behind the last."""
        key.setParent(self)
        key.installEventFilter(self)
        self._keys.append(key)
        self._lay()

    def sizeHint(self) -> QSize:
        return QSize(300, self.minimumHeight())

    def minimumSizeHint(self) -> QSize:
        return QSize(0, self.minimumHeight())

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """A key that comes, goes or says something else: lay all anew, once that is done."""
        if event.type() in TURNS:
            QTimer.singleShot(0, self, self._lay)
        return super().eventFilter(watched, event)

    def event(self, event: QEvent) -> bool:
        """The words of a key changed, and with them the room it needs."""
        if event.type() == QEvent.Type.LayoutRequest:
            self._lay()
        return super().event(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Other rows for another width."""
        super().resizeEvent(event)
        self._lay()

    def _lay(self) -> None:
        x = y = tall = 0
        for key in self._keys:
            if key.isHidden():
                continue
            size = key.sizeHint().expandedTo(key.minimumSize()).expandedTo(key.minimumSizeHint())
            if x and x + size.width() > self.width():
                x, y, tall = 0, y + tall + APART, 0
            key.setGeometry(x, y, size.width(), size.height())
            x, tall = x + size.width() + APART, max(tall, size.height())
        if y + tall != self.minimumHeight():
            self.setFixedHeight(y + tall)
