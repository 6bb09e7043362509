"""A list to choose from: typing finds a choice by its whole text, blanks and digits too, and an arrow always shows."""

from __future__ import annotations

import time

from PySide6.QtCore import QEvent, QObject, QPointF, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPalette, QPolygonF, QWheelEvent
from PySide6.QtWidgets import QComboBox, QStyle, QStyleOptionComboBox, QStylePainter, QWidget

ROOM = 28
"""Width kept for the arrow [px], as in the style sheet."""
PAUSE_S = 3.0
"""After so long a first letter that doesn't go on with what was typed begins a new word."""
COMMANDS = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier | Qt.KeyboardModifier.MetaModifier
"""With one of these held a key is a command and types nothing."""
MODIFIER_KEYS = (Qt.Key.Key_Shift, Qt.Key.Key_Control, Qt.Key.Key_Alt, Qt.Key.Key_AltGr, Qt.Key.Key_Meta,
                 Qt.Key.Key_CapsLock, Qt.Key.Key_NumLock)
"""Held or turned, these end no word."""


class DropList(QComboBox):
    """As QComboBox, but what is typed is one word until the focus or an arrow moves: "Reserve 2" finds Reserve 2.

    A choice's whole text wins over a beginning, and that over the beginning of a later word. A text that finds nothing
    is shown in the list's place, changes nothing, and Enter doesn't pass it (``settle``). Blank opens the list only
    while nothing is typed; Backspace takes back a letter.

    Signal: missed(str): what was typed finds nothing, in words; "" once that is over.
    """

    missed = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.typed = ""
        self._before = -1
        self._lost = False
        self._told = False
        self._last = 0.0
        self._opened = False

    @property
    def lost(self) -> bool:
        """True while what is typed finds nothing."""
        return self._lost

    def settle(self) -> bool:
        """Enter: what was found stays. False if nothing was: the choice is as before, and that was said."""
        lost, words = self._lost, self._lost_words()
        self._end()
        if lost:
            self._tell(words)
        return not lost

    def showPopup(self) -> None:
        """Open the list."""
        if not self._opened:
            self._opened = True
            self.view().installEventFilter(self)
        super().showPopup()

    # --- events -------------------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Letters, digits and blanks search; Enter goes on unless they found nothing; the rest as ever."""
        if self.isEditable() or not self._search_key(event):
            if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self._lost:
                self.settle()
                event.accept()
                return
            if event.key() not in MODIFIER_KEYS:
                self._end()
            super().keyPressEvent(event)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """In the open list typing marks what it finds, and Enter takes the mark."""
        here = self._opened and watched is self.view()
        if here and event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            if not self.isEditable() and self._search_key(event):
                return True
            if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self._lost:
                self.hidePopup()
                self.settle()
                return True
            if event.key() not in MODIFIER_KEYS:
                self._end()
        return super().eventFilter(watched, event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Elsewhere a new word begins, unless it is only the list that opens."""
        if event.reason() != Qt.FocusReason.PopupFocusReason:
            self._end()
        super().focusOutEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """A tap begins anew."""
        self._end()
        super().mousePressEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """The wheel changes nothing that isn't open: it scrolls what the list stands in."""
        event.ignore()

    def paintEvent(self, event: QPaintEvent) -> None:
        if self._lost:
            self._paint_lost()
        else:
            super().paintEvent(event)
        half = max(5.0, self.fontMetrics().xHeight() * 0.75)
        x, y = self.width() - ROOM / 2 - 2, self.height() / 2
        group = QPalette.ColorGroup.Normal if self.isEnabled() else QPalette.ColorGroup.Disabled
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        colour = self.palette().color(group, QPalette.ColorRole.Text)
        painter.setPen(colour)
        painter.setBrush(colour)
        painter.drawPolygon(QPolygonF([QPointF(x - half, y - half * 0.5), QPointF(x + half, y - half * 0.5),
                                       QPointF(x, y + half * 0.7)]))
        painter.end()

    # --- searching ----------------------------------------------------------------------------------------------

    def _search_key(self, event: QKeyEvent) -> bool:
        """Take a key of a search; False if it isn't one."""
        if event.modifiers() & COMMANDS:
            return False
        if event.key() == Qt.Key.Key_Backspace and self.typed:
            self._search(self.typed[:-1])
            return True
        text = event.text()
        if not text.isprintable() or not text or (not self.typed and text.isspace()):
            return False
        paused = time.monotonic() - self._last > PAUSE_S
        if paused and self.typed and self._find(self.typed + text) < 0 and self._rank_of(self._find(text), text) <= 1:
            self._end()
        self._search(self.typed + text)
        return True

    def _search(self, typed: str) -> None:
        """Mark, or in the closed list choose, what ``typed`` finds; nothing found, or nothing typed: as before."""
        if not self.typed:
            self._before = self.currentIndex()
        self.typed = typed
        self._last = time.monotonic()
        place = self._find(typed) if typed else self._before
        self._lose(place < 0)
        self._go(place if place >= 0 else self._before)
        if self._lost:
            self._tell(self._lost_words())

    def _find(self, typed: str) -> int:
        """The choice that ``typed`` means, -1 for none. One letter again and again goes through those it begins."""
        ranked = [(rank, n) for n in range(self.count()) if (rank := self._rank_of(n, typed)) <= 2]
        if ranked:
            return min(ranked)[1]
        letter = typed[:1]
        if len(typed) > 1 and typed == letter * len(typed):
            here = self._here()
            begin = [n for n in range(self.count()) if self._rank_of(n, letter) <= 1]
            return next((n for n in begin if n > here), begin[0] if begin else -1)
        return -1

    def _rank_of(self, n: int, typed: str) -> int:
        """0 all of a choice's text, 1 its beginning, 2 the beginning of a later word, 3 none of these."""
        asked, text = typed.casefold(), " ".join(self.itemText(n).casefold().split()) if n >= 0 else ""
        if not text or not asked.strip():
            return 3
        if text == asked.strip():
            return 0
        if text.startswith(asked):
            return 1
        later = (text[i:] for i in range(1, len(text)) if text[i].isalnum() and not text[i - 1].isalnum())
        return 2 if any(word.startswith(asked) for word in later) else 3

    def _here(self) -> int:
        """The marked row of the open list, or what is chosen."""
        return self.view().currentIndex().row() if self._is_open else self.currentIndex()

    @property
    def _is_open(self) -> bool:
        return self._opened and self.view().isVisible()

    def _go(self, place: int) -> None:
        if self._is_open:
            self.view().setCurrentIndex(self.model().index(place, self.modelColumn(), self.rootModelIndex()))
        elif place != self.currentIndex():
            self.setCurrentIndex(place)
            self.activated.emit(place)
            self.textActivated.emit(self.currentText())

    def _end(self) -> None:
        """The next letter begins a new word."""
        self.typed = ""
        self._lose(False)

    def _lose(self, lost: bool) -> None:
        if lost != self._lost:
            self._lost = lost
            self.update()
        if not lost:
            self._tell("")

    def _tell(self, words: str) -> None:
        """Say why what was typed wasn't taken; "" once, when that is over."""
        if words or self._told:
            self._told = bool(words)
            self.missed.emit(words)

    def _lost_words(self) -> str:
        stays = self.itemText(self._before) if self._before >= 0 else ""
        return f"No “{self.typed}” in this list: " + (f"it stays at {stays}." if stays else "nothing is chosen.")

    def _paint_lost(self) -> None:
        option = QStyleOptionComboBox()
        self.initStyleOption(option)
        option.currentText = f"✕ {self.typed}"
        painter = QStylePainter(self)
        painter.drawComplexControl(QStyle.ComplexControl.CC_ComboBox, option)
        painter.drawControl(QStyle.ControlElement.CE_ComboBoxLabel, option)
        painter.end()
