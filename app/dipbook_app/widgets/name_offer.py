"""Offers the crew's names below a line while somebody types who it is: taken only by choosing one, never filled in."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from PySide6.QtCore import QEvent, QObject, QPoint, QSize, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit, QListWidget, QListWidgetItem, QWidget
from shiboken6 import isValid

from dipbook.rig.model import Person
from dipbook_app.widgets.text_size import scaled

MOST = 6
"""Names in sight at once."""
ROW = 36
"""How high a name is [px at the ordinary text]."""
EDGE = 2
"""How thick the list's edge is [px], as the style sheet has it."""
BESIDE = 14
"""Room left and right of a name [px]."""
NAME = Qt.ItemDataRole.UserRole
GONE = (QEvent.Type.FocusOut, QEvent.Type.Hide, QEvent.Type.Move, QEvent.Type.Resize)

Crew = Callable[[], Iterable[Person]]


class NameOffer(QObject):
    """line: where a name is typed. crew: whose names are offered, asked for anew at each letter.

    The list lies over the window and takes neither keyboard nor mouse from it: Up and Down choose in it, Enter or a
    click takes the chosen name, Esc puts it away. With none chosen, Enter means what it means without a list.
    """

    def __init__(self, line: QLineEdit, crew: Crew) -> None:
        super().__init__(line)
        self._line, self._crew = line, crew
        self._list: QListWidget | None = None
        self._around: list[QWidget] = []
        line.textEdited.connect(self._typed)
        line.installEventFilter(self)

    def shown(self) -> tuple[str, ...]:
        """The names that are offered now, () while no list is in sight."""
        box = self._list
        if box is None or not isValid(box) or box.isHidden():
            return ()
        return tuple(str(box.item(row).data(NAME)) for row in range(box.count()))

    @property
    def box(self) -> QListWidget | None:
        """The list, None before it was first shown."""
        return self._list

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The keys of the list while it is in sight; it goes with the line."""
        if watched is not self._line:
            if event.type() == QEvent.Type.Move:  # what holds the line was scrolled
                self._away()
        elif event.type() in GONE:
            self._away()
        elif event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent) and self.shown():
            return self._key(event)
        return super().eventFilter(watched, event)

    def _key(self, event: QKeyEvent) -> bool:
        """True for a key that the list takes."""
        box = self._list
        held = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        if box is None or held:
            return False
        if event.key() in (Qt.Key.Key_Down, Qt.Key.Key_Up):
            step = 1 if event.key() == Qt.Key.Key_Down else -1
            box.setCurrentRow(max(-1, min(box.currentRow() + step, box.count() - 1)))
            return True
        if event.key() == Qt.Key.Key_Escape:
            self._away()
            return True
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            item = box.currentItem()
            if item is not None and box.currentRow() >= 0:
                self._take(item)
                return True
            self._away()
        return False

    def _typed(self, text: str) -> None:
        """Offer who has what is typed in the name or the role; a name that stands whole needs no offer."""
        looked_for = text.strip().casefold()
        found = [p for p in self._crew() if looked_for in p.name.casefold() or looked_for in p.role.casefold()]
        if not found or [p.name for p in found] == [text.strip()]:
            self._away()
            return
        box = self._made()
        box.clear()
        for person in found:
            item = QListWidgetItem(f"{person.name}, {person.role}" if person.role else person.name)
            item.setData(NAME, person.name)
            item.setSizeHint(QSize(0, scaled(self._line, ROW)))
            box.addItem(item)
        box.setCurrentRow(-1)
        self._place(box)
        box.show()
        box.raise_()

    def _made(self) -> QListWidget:
        if self._list is None or not isValid(self._list) or self._list.parent() is not self._line.window():
            self._list = box = QListWidget(self._line.window())
            box.hide()
            box.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            box.setAccessibleName(f"Names for: {self._line.accessibleName()}")
            box.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
            box.itemClicked.connect(self._take)
            self._line.destroyed.connect(box.deleteLater)
        return self._list

    def _place(self, box: QListWidget) -> None:
        """Below the line, or above it where there is no room, inside the window."""
        window, line = self._line.window(), self._line
        box.ensurePolished()
        edge = 2 * max(box.frameWidth(), EDGE)
        high = min(MOST, box.count()) * box.sizeHintForRow(0) + edge
        letters = max(box.fontMetrics().horizontalAdvance(box.item(row).text()) for row in range(box.count()))
        bar = box.verticalScrollBar().sizeHint().width() if box.count() > MOST else 0
        wide = max(line.width(), letters + 2 * BESIDE + edge + bar)
        box.setFixedSize(min(wide, window.width()), high)
        at = line.mapTo(window, QPoint(0, line.height()))
        below = at.y() + high <= window.height()
        fits = at.x() + box.width() <= window.width()
        box.move(at.x() if fits else max(0, at.x() + line.width() - box.width()),
                 at.y() if below else at.y() - line.height() - high)
        self._leave_around()
        holds = line.parentWidget()
        while holds is not None and holds is not window:
            holds.installEventFilter(self)
            self._around.append(holds)
            holds = holds.parentWidget()

    def _take(self, item: QListWidgetItem) -> None:
        name = str(item.data(NAME))
        self._away()
        self._line.setText(name)

    def _leave_around(self) -> None:
        for holds in self._around:
            if isValid(holds):
                holds.removeEventFilter(self)
        self._around = []

    def _away(self) -> None:
        self._leave_around()
        if self._list is not None and isValid(self._list):
            self._list.hide()
