"""The narrow rail of pages at the left: an icon and a word each, only for pages that exist."""

from __future__ import annotations

import qtawesome
from PySide6.QtCore import Signal
from PySide6.QtGui import QFontMetrics, QResizeEvent
from PySide6.QtWidgets import QButtonGroup, QVBoxLayout, QWidget

from dipbook_app.page_names import OWN_KEYS
from dipbook_app.theme import Look
from dipbook_app.widgets.rail_key import RailKey

ICONS = {
    "Start": "mdi6.home-outline",
    "Watch": "mdi6.eye-outline",
    "Round": "mdi6.ruler",
    "Line-up": "mdi6.valve",
    "Log": "mdi6.notebook-outline",
    "Limits": "mdi6.arrow-collapse-vertical",
    "Trip": "mdi6.transfer-up",
    "Connections": "mdi6.chart-bell-curve-cumulative",
    "Rig": "mdi6.storage-tank-outline",
    "Warnings": "mdi6.bell-outline",
    "Drill": "mdi6.school-outline",
    "Review": "mdi6.clipboard-text-clock-outline",
}
"""Material Design Icons, through QtAwesome."""
COUNTED = 9
"""So many pages have Ctrl and a figure."""
SMALL_PX, LEAST_PX = 13, 10
"""A name's letters as in the style sheet, and the smallest that a long one has so that it stands whole [px]."""
HIGH_MM, LEAST_MM = 20, 9
"""Height of a key, and the least where the window is too low for all of them; none is pressed under stress."""
EDGE_PX, BETWEEN_PX = 6, 4
"""Above and below all keys, and between two [px]."""
SIDES, SPARE = 10, 16
"""What an edge takes of a key's width, and what a name in its ordinary size leaves free besides [px]."""


class Rail(QWidget):
    """Shows the pages there are; asked(name) when one is chosen."""

    asked = Signal(str)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._keys: dict[str, RailKey] = {}
        self._group = QButtonGroup(self)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, EDGE_PX, 0, EDGE_PX)
        self._column.setSpacing(BETWEEN_PX)
        self._column.setSizeConstraint(QVBoxLayout.SizeConstraint.SetNoConstraint)
        self._column.addStretch(1)
        self.set_look(look)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._look = look
        self.setFixedWidth(look.mm(20) + 10)
        for name, key in self._keys.items():
            self._dress(name, key)
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        """As high as there is room for, all keys alike."""
        count = max(1, len(self._keys))
        around = 2 * EDGE_PX + BETWEEN_PX * (count - 1)
        self.setMinimumHeight(count * self._look.mm(LEAST_MM) + around)
        high = min(self._look.mm(HIGH_MM), max(self._look.mm(LEAST_MM), (self.height() - around) // count))
        for key in self._keys.values():
            key.setFixedHeight(high)

    def show_pages(self, names: tuple[str, ...]) -> None:
        """names: in order; the first is Ctrl+1. One that has a key of its own doesn't count; after the ninth
        there is none."""
        for key in self._keys.values():
            self._group.removeButton(key)
            self._column.removeWidget(key)
            key.hide()
            key.deleteLater()
        self._keys = {}
        counted = 0
        for place, name in enumerate(names):
            counted += name not in OWN_KEYS
            key = RailKey(name, OWN_KEYS.get(name, f"Ctrl+{counted}" if counted <= COUNTED else ""))
            key.clicked.connect(lambda _=False, chosen=name: self.asked.emit(chosen))
            self._group.addButton(key)
            self._column.insertWidget(place, key)
            self._keys[name] = key
            self._dress(name, key)
        self._fit()

    def mark(self, name: str) -> None:
        """Show which page is on."""
        if name in self._keys:
            self._keys[name].setChecked(True)

    def names(self) -> tuple[str, ...]:
        """The pages shown."""
        return tuple(self._keys)

    def counted(self) -> tuple[str, ...]:
        """Those that Ctrl and a figure open, in that order."""
        return tuple(name for name in self._keys if name not in OWN_KEYS)[:COUNTED]

    def _dress(self, name: str, key: RailKey) -> None:
        key.set_look(self._look)
        if name in ICONS:
            key.setIcon(qtawesome.icon(ICONS[name], color=self._look.palette.ink))
        room = self.width() - SIDES
        px = next((px for px in range(self._look.px(SMALL_PX), LEAST_PX, -1) if _width(self._look, name, px) <= room),
                  LEAST_PX)
        key.setStyleSheet("" if px == self._look.px(SMALL_PX) and _width(self._look, name, px) <= room - SPARE
                          else f"font-size: {px}px; padding: 2px 0;")


def _width(look: Look, name: str, px: int) -> int:
    """How wide a page's name is when it is marked [px]. px: of its letters."""
    font = look.font(1, bold=True)
    font.setPixelSize(px)
    return QFontMetrics(font).horizontalAdvance(name)
