"""Chooses the kind of entry to add: arrows or the first letter, then Enter."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLabel, QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from dipbook.entries.kinds import KINDS

ROW = 44


class KindList(QListWidget):
    """A list in which Enter or a tap chooses. Signals: chosen(str): the kind's name."""

    chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Kind of entry")
        for kind in KINDS:
            item = QListWidgetItem(kind.label)
            item.setData(Qt.ItemDataRole.UserRole, kind.name)
            item.setToolTip(kind.help)
            item.setSizeHint(QSize(0, ROW))
            self.addItem(item)
        self.setCurrentRow(0)
        self.itemClicked.connect(self._choose)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter chooses."""
        item = self.currentItem()
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and item is not None:
            self._choose(item)
        else:
            super().keyPressEvent(event)

    def _choose(self, item: QListWidgetItem) -> None:
        self.chosen.emit(str(item.data(Qt.ItemDataRole.UserRole)))


class KindChooser(QWidget):
    """The list under its question. Signals: chosen(str): the kind's name; closed(): Esc."""

    chosen = Signal(str)
    closed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        title = QLabel("What is to be logged?")
        title.setProperty("part", "title")
        self.list = KindList()
        self.list.chosen.connect(self.chosen)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(title)
        layout.addWidget(self.list, 1)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc closes."""
        if event.key() == Qt.Key.Key_Escape:
            self.closed.emit()
        else:
            super().keyPressEvent(event)
