"""The foot of the Round page: the words on the row one is in, depths and a remark, Start afresh and Save."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QPushButton, QWidget

from dipbook_app.widgets.text_size import FONT_EVENTS
from dipbook_app.widgets.words_label import WordsLabel

DEPTHS = ("hole depth", "bit depth")
"""Names of the fields of a depth entry that is logged with the round."""
DEPTH_WIDTH, BESIDE_TEXT = 140, 26
"""The least width of a depth's field, and what its edge and room beside the text take [px]."""
APART = 23
"""Between the large keys: 6 mm at 96 dots an inch, so that a glove presses one of them [px]."""
AFRESH, LEAVE = "Start\nafresh", "Leave the\ncorrection"


class RoundFoot(QWidget):
    """Signals: changed(): a depth or the remark differs. save(), discard(): the keys. entered(str): Enter in a depth,
    with its name. back(): Up in the first of them. swap(): the two rows that were swapped are to be put right.
    """

    changed = Signal()
    save = Signal()
    discard = Signal()
    entered = Signal(str)
    back = Signal()
    swap = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.words = WordsLabel(lines=2)
        self.remark = QLineEdit()
        self.remark.setPlaceholderText("Remark")
        self.remark.setAccessibleName("Remark on the round")
        self.remark.setMaxLength(500)
        self.remark.setProperty("tall", True)
        self.remark.setFixedWidth(170)
        self.remark.textChanged.connect(lambda _text: self.changed.emit())
        self.depths = {name: self._depth(name) for name in DEPTHS}
        self.reason = QLineEdit()
        self.reason.setPlaceholderText("Why is it corrected?")
        self.reason.setAccessibleName("Why the round is corrected")
        self.reason.setMaxLength(500)
        self.reason.setProperty("tall", True)
        self.reason.setFixedWidth(220)
        self.reason.textChanged.connect(lambda _text: self.changed.emit())
        self.reason.hide()
        self.swap_button = QPushButton("Swap rows\nCtrl+G")
        self.swap_button.clicked.connect(self.swap)
        self.swap_button.hide()
        self.discard_button = QPushButton(AFRESH)
        self.discard_button.clicked.connect(self.discard)
        self.save_button = QPushButton()
        self.save_as("Save round")
        self.save_button.setMinimumWidth(160)
        self.save_button.clicked.connect(self.save)
        foot = QHBoxLayout(self)
        foot.setContentsMargins(0, 0, 0, 0)
        foot.setSpacing(16)
        foot.addWidget(self.words, 1)
        self.depth_box = QWidget()
        beside = QHBoxLayout(self.depth_box)
        beside.setContentsMargins(0, 0, 0, 0)
        beside.setSpacing(8)
        for line in self.depths.values():
            beside.addWidget(line)
        foot.addWidget(self.depth_box)
        foot.addWidget(self.reason)
        foot.addWidget(self.remark)
        keys = QHBoxLayout()
        keys.setSpacing(APART)
        foot.addLayout(keys)
        for button in (self.swap_button, self.discard_button, self.save_button):
            button.setProperty("part", "big")
            button.setAutoDefault(False)
            keys.addWidget(button)

    @property
    def stops(self) -> tuple[QWidget, ...]:
        """Where Tab stops, from the left."""
        return (*self.depths.values(), self.reason, self.remark, self.swap_button, self.discard_button,
                self.save_button)

    def show_unit(self, symbol: str, last: Mapping[str, str]) -> None:
        """Say the unit of a bare depth. last: name -> the depth that holds now, in words, or ""."""
        for name, line in self.depths.items():
            line.setPlaceholderText(f"{name.capitalize()}, {symbol}")
            line.setToolTip(f"{name.capitalize()} last {last[name]}. Blank: no change is logged." if last.get(name)
                            else f"{name.capitalize()}: optional. Blank: none is logged.")
        self._fit()

    def save_as(self, words: str) -> None:
        """What the key that saves says. words: one line; its key stands below."""
        self.save_button.setText(f"{words}\nCtrl+Enter")

    def show_swap(self, pair: tuple[str, str] | None) -> None:
        """Offer to swap two rows, or not. pair: their tanks."""
        self.swap_button.setVisible(pair is not None)
        self.swap_button.setToolTip(f"Swap what is typed for {pair[0]} and {pair[1]}" if pair else "")

    def depth_texts(self) -> dict[str, str]:
        """Name -> what is typed as a depth, blanks left out."""
        return {name: line.text().strip() for name, line in self.depths.items() if line.text().strip()}

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the text."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "save_button"):
            self._fit()

    def _fit(self) -> None:
        """Depths wide enough for what they ask."""
        for line in self.depths.values():
            asked = line.fontMetrics().horizontalAdvance(line.placeholderText()) + BESIDE_TEXT
            line.setFixedWidth(max(DEPTH_WIDTH, asked))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Enter and the arrows in the depths."""
        name = next((name for name, line in self.depths.items() if line is watched), "")
        if name and event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            plain = not event.modifiers() & Qt.KeyboardModifier.ControlModifier
            if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and plain:
                self.entered.emit(name)
                return True
            if event.key() == Qt.Key.Key_Down and name == DEPTHS[0]:
                self.depths[DEPTHS[1]].setFocus()
                return True
            if event.key() == Qt.Key.Key_Up:
                if name == DEPTHS[0]:
                    self.back.emit()
                else:
                    self.depths[DEPTHS[0]].setFocus()
                return True
        return super().eventFilter(watched, event)

    def _depth(self, name: str) -> QLineEdit:
        line = QLineEdit()
        line.setObjectName(f"round {name}")
        line.setAccessibleName(f"{name.capitalize()}, optional")
        line.setMaxLength(40)
        line.setProperty("tall", True)
        line.setFixedWidth(DEPTH_WIDTH)
        line.textChanged.connect(lambda _text: self.changed.emit())
        line.installEventFilter(self)
        return line

    def set_correcting(self, correcting: bool) -> None:
        """correcting: a saved round is corrected, which wants a reason; else a new one is typed."""
        self.reason.setVisible(correcting)
        self.depth_box.setVisible(not correcting)
        self.discard_button.setText(LEAVE if correcting else AFRESH)
