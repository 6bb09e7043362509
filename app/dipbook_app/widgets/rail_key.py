"""One key of the rail: a page's icon, its name and the key that opens it, in as much height as there is."""

from __future__ import annotations

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QIcon, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QStyle, QStyleOptionToolButton, QStylePainter, QToolButton

from dipbook_app.theme import Look

ICON_PX, LOW_ICON_PX = 30, 20
"""Side of the icon above the name, and beside the key [px]."""
NAME_PX = 13
"""Letters of a name that isn't too long for them, at text size 1 [px]."""
LEAST_PX = 10
"""The smallest letters that the key is written in [px]."""
EDGE, GAP = 6, 4
"""What the mark of the page takes at the left with its room, and between icon and key [px]."""


class RailKey(QToolButton):
    """Where there is room the icon stands above name and key; in less height icon and key share a line above the name.

    name: of the page; key: that opens it, as written. The name is always in the font of the style sheet.
    """

    def __init__(self, name: str, key: str) -> None:
        super().__init__()
        self._name, self._key = name, key
        self._look = Look()
        self.setProperty("part", "rail")
        self.setCheckable(True)
        self.setText(f"{name}\n{key}")
        self.setAccessibleName(name)
        self.setToolTip(f"{name}  {key}".strip())
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)

    def set_look(self, look: Look) -> None:
        """Take on new sizes."""
        self._look = look
        self.update()

    @property
    def stacked(self) -> bool:
        """True where icon, name and key stand one above the other: as there is room for names of the ordinary size, so
        that all keys of a rail look alike."""
        return self.height() >= ICON_PX + 2 * QFontMetrics(self._look.font(NAME_PX)).lineSpacing() + GAP

    def sizeHint(self) -> QSize:
        """What its words and icon take as they are laid out now."""
        line = QFontMetrics(self.font()).lineSpacing()
        return QSize(self.width(), ICON_PX + 2 * line if self.stacked else line + self._first_line())

    def places(self) -> tuple[QRect, QRect, QRect]:
        """Where icon, name and key are drawn."""
        name, key = QFontMetrics(self.font()).lineSpacing(), QFontMetrics(self._key_font())
        box = self.rect().adjusted(EDGE, 0, -2, 0)
        if self.stacked:
            top = (self.height() - ICON_PX - name - key.lineSpacing()) // 2
            return (QRect(box.center().x() - ICON_PX // 2, top, ICON_PX, ICON_PX),
                    QRect(box.left(), top + ICON_PX, box.width(), name),
                    QRect(box.left(), top + ICON_PX + name, box.width(), key.lineSpacing()))
        first, side = self._first_line(), self._icon_side()
        top = (self.height() - first - name) // 2
        wide = side + GAP + key.horizontalAdvance(self._key)
        left = box.left() + max(0, (box.width() - wide) // 2)
        return (QRect(left, top + (first - side) // 2, side, side), QRect(box.left(), top + first, box.width(), name),
                QRect(left + side + GAP, top, box.right() - left - side - GAP + 1, first))

    def _icon_side(self) -> int:
        room = self.height() - QFontMetrics(self.font()).lineSpacing()
        return max(12, min(LOW_ICON_PX, room))

    def _first_line(self) -> int:
        return max(self._icon_side(), QFontMetrics(self._key_font()).lineSpacing())

    def _key_font(self) -> QFont:
        """The name's letters, smaller where the key's line has no room for them."""
        font = QFont(self.font())
        high = self.height() - QFontMetrics(font).lineSpacing()
        wide = self.width() - EDGE - 2 - (0 if self.stacked else LOW_ICON_PX + GAP)
        for px in range(min(font.pixelSize(), self._look.px(NAME_PX)), LEAST_PX - 1, -1):
            font.setPixelSize(px)
            metrics = QFontMetrics(font)
            if metrics.horizontalAdvance(self._key) <= wide and (self.stacked or metrics.lineSpacing() <= high):
                break
        return font

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QStylePainter(self)
        option = QStyleOptionToolButton()
        self.initStyleOption(option)
        option.text, option.icon = "", QIcon()
        painter.drawComplexControl(QStyle.ComplexControl.CC_ToolButton, option)
        icon, name, key = self.places()
        self.icon().paint(painter, icon)
        font = QFont(self.font())
        font.setBold(self.isChecked())
        painter.setFont(font)
        painter.setPen(self._look.colour("ink"))
        painter.drawText(name, Qt.AlignmentFlag.AlignCenter, self._name)
        painter.setFont(self._key_font())
        painter.setPen(self._look.colour("soft"))
        aligned = Qt.AlignmentFlag.AlignHCenter if self.stacked else Qt.AlignmentFlag.AlignLeft
        painter.drawText(key, aligned | Qt.AlignmentFlag.AlignVCenter, self._key)
        painter.end()
