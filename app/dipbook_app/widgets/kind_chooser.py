"""Chooses the kind of entry to add: a word of it typed, or the arrows, then Enter."""

from __future__ import annotations

import re
from collections.abc import Mapping

from PySide6.QtCore import QEvent, QObject, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLabel, QLineEdit, QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from dipbook.entries.kinds import GROUPS, KINDS, Kind
from dipbook_app.widgets.words_label import WordsLabel

ROW = 44
HEADING_ROW = 30

ALSO_CALLED: Mapping[str, str] = {
    "transfer": "move pump over", "addition": "add mixed built water barite chemicals premix", "discard": "dump lost",
    "line-up": "flow line isolate join", "pumps": "strokes spm rate", "depth": "bit hole", "stand filled": "connection",
    "rate in force": "rain wash-down water valve surface loss discharge evaporation shaker centrifuge underflow",
    "slug": "heavy", "pill": "sweep spacer cement", "salt": "brine chloride", "trap dump": "sand trap",
    "boat": "supply vessel load backload", "about to move mud": "announce", "valve": "gate dump suction water",
    "equipment": "degasser desander desilter centrifuge line", "shakers": "bypass screens",
    "mud check": "weight density temperature", "drilling break": "rate of penetration faster", "return flow": "paddle",
    "flow check": "static flowing", "shut-in": "closed kick pressure", "told driller": "call answer",
    "stick check": "gauge sensor", "connection": "pumps off flow-back normal accept",
    "flow-back band": "envelope learned curve connections adopt", "handover": "relief crew change",
    "handover confirmed": "go through leave",
    "pit drill": "kick drill float raise consent", "pit drill step": "response crew recognised ready close",
    "pit drill end": "call off stop", "float proved": "dip gauge sensor back",
    "limits approved": "approve baseline sign",
    "zero": "start books write off", "watch": "off on", "void": "strike out",
    "activity": "drilling tripping circulating",
}
"""Words of the trade by which a kind is found, beside its label and help."""


class KindList(QListWidget):
    """All kinds under the headings of their groups; Enter or a tap chooses.

    named: kind -> what it may be of on this rig, by whose words it is found too. Signals: chosen(str): the kind's name.
    """

    chosen = Signal(str)

    def __init__(self, named: Mapping[str, str] | None = None, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._named = named or {}
        self.setAccessibleName("Kind of entry")
        self._headings: dict[str, QListWidgetItem] = {}
        for group, words in GROUPS.items():
            heading = QListWidgetItem(words)
            heading.setFlags(Qt.ItemFlag.NoItemFlags)
            heading.setSizeHint(QSize(0, HEADING_ROW))
            heading.setTextAlignment(Qt.AlignmentFlag.AlignBottom | Qt.AlignmentFlag.AlignLeft)
            self.addItem(heading)
            self._headings[group] = heading
            for kind in KINDS:
                if kind.group == group:
                    self.addItem(_item(kind))
        self.show_matching("")
        self.itemClicked.connect(self._choose)

    def show_matching(self, text: str) -> int:
        """Leave the kinds that ``text`` may mean, the likeliest current. Returns how many there are."""
        asked = _words(text)
        found: list[tuple[int, int]] = []
        for row in range(self.count()):
            item = self.item(row)
            kind = item.data(Qt.ItemDataRole.UserRole)
            if kind is None:
                continue
            rank = _rank(kind, asked, self._named.get(kind.name, ""))
            item.setHidden(rank is None)
            if rank is not None:
                found.append((rank, row))
        shown = {self.item(row).data(Qt.ItemDataRole.UserRole).group for _, row in found}
        for group, heading in self._headings.items():
            heading.setHidden(group not in shown)
        if found:
            self.setCurrentRow(min(found)[1])
            if min(found)[1] <= 1:
                self.scrollToTop()
        else:
            self.setCurrentRow(-1)
        return len(found)

    def step(self, by: int) -> None:
        """Go to the next kind that is shown, down (1) or up (-1)."""
        row = self.currentRow() + by
        while 0 <= row < self.count():
            item = self.item(row)
            if not item.isHidden() and item.data(Qt.ItemDataRole.UserRole) is not None:
                self.setCurrentRow(row)
                return
            row += by

    def take_current(self) -> None:
        """Choose the current kind."""
        item = self.currentItem()
        if item is not None and not item.isHidden():
            self._choose(item)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter chooses."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.take_current()
        else:
            super().keyPressEvent(event)

    def _choose(self, item: QListWidgetItem) -> None:
        kind = item.data(Qt.ItemDataRole.UserRole)
        if kind is not None:
            self.chosen.emit(kind.name)


class KindChooser(QWidget):
    """The list under a line in which a word finds a kind.

    named: as of the list. Signals: chosen(str): the kind's name; closed(): Esc.
    """

    chosen = Signal(str)
    closed = Signal()

    def __init__(self, named: Mapping[str, str] | None = None, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        title = QLabel("What is to be logged?")
        title.setProperty("part", "title")
        self.word = QLineEdit()
        self.word.setPlaceholderText("a word of it, like dump, gas, rain")
        self.word.setAccessibleName("Find a kind of entry")
        self.word.setProperty("tall", True)
        self.word.setMaxLength(40)
        self.word.installEventFilter(self)
        self.word.textChanged.connect(self._search)
        self.list = KindList(named)
        self.list.chosen.connect(self.chosen)
        self.list.currentItemChanged.connect(lambda *_: self._explain())
        self.words = WordsLabel(lines=2)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        for part in (title, self.word):
            layout.addWidget(part)
        layout.addWidget(self.list, 1)
        layout.addWidget(self.words)
        self._explain()

    def start(self) -> None:
        """Put the cursor where a word is typed."""
        self.word.setFocus()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """From the line the arrows go through the list and Enter chooses."""
        if watched is self.word and event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            if event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down):
                self.list.step(-1 if event.key() == Qt.Key.Key_Up else 1)
                return True
            if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
                self.list.take_current()
                return True
        return super().eventFilter(watched, event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc closes."""
        if event.key() == Qt.Key.Key_Escape:
            self.closed.emit()
        else:
            super().keyPressEvent(event)

    def _search(self, text: str) -> None:
        if not self.list.show_matching(text):
            self.words.say("No kind of entry is called that. Anything else goes in as a remark.", "doubt")

    def _explain(self) -> None:
        """What the current kind is for."""
        item = self.list.currentItem()
        kind = None if item is None else item.data(Qt.ItemDataRole.UserRole)
        if kind is not None:
            self.words.say(kind.help)


def _item(kind: Kind) -> QListWidgetItem:
    item = QListWidgetItem(kind.label)
    item.setData(Qt.ItemDataRole.UserRole, kind)
    item.setToolTip(kind.help)
    item.setSizeHint(QSize(0, ROW))
    return item


def _words(text: str) -> list[str]:
    return re.findall(r"\w+", text.casefold())


def _rank(kind: Kind, asked: list[str], named: str) -> int | None:
    """How well what is typed fits: 0 the label's beginning, 1 words of the label, other names or what it is of on this
    rig, 2 of the help too; None not at all."""
    label = kind.label.casefold()
    if label.startswith(" ".join(asked)):
        return 0
    names = f"{kind.label} {ALSO_CALLED.get(kind.name, '')} {named}"
    for rank, said in ((1, names), (2, f"{names} {kind.help}")):
        known = _words(said)
        if all(any(word.startswith(each) for word in known) for each in asked):
            return rank
    return None
