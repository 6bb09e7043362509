"""Mud that is about to be moved: a line for each, with what can be done about it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from dipbook_app.widgets.notice_label import NoticeLabel

ACTS = (("answer", "Answer", "Ctrl+Shift+A"), ("start", "Start", "Ctrl+Shift+S"),
        ("call off", "Call off", "Ctrl+Shift+O"))
"""What can be done: name, word, and the key, which acts on the first line."""
SHOWN = 2


class NoticeRow(QWidget):
    """One line. keys: its buttons show the keys. Signals: asked(name): a name of ACTS."""

    asked = Signal(str)

    def __init__(self, *, keys: bool, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.words = NoticeLabel("strong")
        self.buttons: dict[str, QPushButton] = {}
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(12)
        row.addWidget(self.words, 1)
        for name, word, key in ACTS:
            button = QPushButton(f"{word}  {key}" if keys else word)
            button.setProperty("tall", True)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.clicked.connect(lambda _=False, name=name: self.asked.emit(name))
            row.addWidget(button)
            self.buttons[name] = button


class NoticeRows(QWidget):
    """The lines there are, the oldest first, and how many more.

    Signals: asked(name, uid): something is to be done about a notice. turned(): it takes more room, or less.
    """

    asked = Signal(str, str)
    turned = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._uids: tuple[str, ...] = ()
        self._notices: tuple[tuple[str, str], ...] = ()
        self._first_only = False
        self.rows: list[NoticeRow] = []
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(4)
        self.hide()

    def show_first_only(self, only: bool) -> None:
        """only: where there is no room, the first line alone, and how many more there are."""
        if only != self._first_only:
            self._first_only = only
            self._fill()

    def show_notices(self, notices: Sequence[tuple[str, str]]) -> None:
        """notices: (uid, words) of all of them, the oldest first."""
        if tuple(notices) == self._notices:
            return
        self._notices = tuple(notices)
        self._fill()
        self.turned.emit()

    def _fill(self) -> None:
        shown = self._notices[:1 if self._first_only else SHOWN]
        more = len(self._notices) - len(shown)
        while len(self.rows) < len(shown):
            place = len(self.rows)
            row = NoticeRow(keys=place == 0)
            row.asked.connect(lambda name, place=place: self.asked.emit(name, self._uids[place]))
            row.words.turned.connect(self.turned)
            self._column.addWidget(row)
            self.rows.append(row)
        self._uids = tuple(uid for uid, _ in shown)
        for place, row in enumerate(self.rows):
            row.setVisible(place < len(shown))
            if place < len(shown):
                last = place == len(shown) - 1
                row.words.show_words(f"{shown[place][1]} And {more} more." if more and last else shown[place][1])
        self.setVisible(bool(shown))

    @property
    def uids(self) -> tuple[str, ...]:
        """Of the notices shown."""
        return self._uids

    def readings(self) -> tuple[str, ...]:
        """The words shown."""
        return tuple(row.words.text() for row in self.rows[:len(self._uids)])
