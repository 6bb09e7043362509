"""The narrow rail of pages at the left: an icon and a word each, only for pages that exist."""

from __future__ import annotations

import qtawesome
from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtWidgets import QButtonGroup, QSizePolicy, QToolButton, QVBoxLayout, QWidget

from dipbook_app.theme import Look

ICONS = {
    "Start": "mdi6.home-outline",
    "Watch": "mdi6.eye-outline",
    "Round": "mdi6.ruler",
    "Line-up": "mdi6.valve",
    "Log": "mdi6.notebook-outline",
    "Limits": "mdi6.arrow-collapse-vertical",
    "Rig": "mdi6.storage-tank-outline",
}
"""Material Design Icons, through QtAwesome."""


class Rail(QWidget):
    """Shows the pages there are; asked(name) when one is chosen."""

    asked = Signal(str)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._keys: dict[str, QToolButton] = {}
        self._group = QButtonGroup(self)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 6, 0, 6)
        self._column.setSpacing(4)
        self._column.addStretch(1)
        self.set_look(look)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._look = look
        self.setFixedWidth(look.mm(20) + 10)
        for name, key in self._keys.items():
            self._dress(name, key)

    def show_pages(self, names: tuple[str, ...]) -> None:
        """names: in order; the first is Ctrl+1."""
        for key in self._keys.values():
            self._group.removeButton(key)
            self._column.removeWidget(key)
            key.hide()
            key.deleteLater()
        self._keys = {}
        for place, name in enumerate(names):
            key = QToolButton()
            key.setProperty("part", "rail")
            key.setCheckable(True)
            key.setText(f"{name}\nCtrl+{place + 1}")
            key.setAccessibleName(name)
            key.setToolTip(f"{name}  Ctrl+{place + 1}")
            key.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextUnderIcon)
            key.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            key.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            key.clicked.connect(lambda _=False, chosen=name: self.asked.emit(chosen))
            self._group.addButton(key)
            self._column.insertWidget(place, key)
            self._keys[name] = key
            self._dress(name, key)

    def mark(self, name: str) -> None:
        """Show which page is on."""
        if name in self._keys:
            self._keys[name].setChecked(True)

    def names(self) -> tuple[str, ...]:
        """The pages shown."""
        return tuple(self._keys)

    def _dress(self, name: str, key: QToolButton) -> None:
        if name in ICONS:
            key.setIcon(qtawesome.icon(ICONS[name], color=self._look.palette.ink))
        key.setIconSize(QSize(30, 30))
        key.setFixedHeight(self._look.mm(20))
