"""The foot of the Round page: the words on the row one is in, a remark, Start afresh and Save."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QPushButton, QWidget

from dipbook_app.widgets.words_label import WordsLabel

AFRESH, LEAVE = "Start\nafresh", "Leave the\ncorrection"


class RoundFoot(QWidget):
    """Signals: changed(): the remark differs. save(), discard(): the keys."""

    changed = Signal()
    save = Signal()
    discard = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.words = WordsLabel(lines=2)
        self.remark = QLineEdit()
        self.remark.setPlaceholderText("Remark")
        self.remark.setAccessibleName("Remark on the round")
        self.remark.setMaxLength(500)
        self.remark.setProperty("tall", True)
        self.remark.setFixedWidth(260)
        self.remark.textChanged.connect(lambda _text: self.changed.emit())
        self.reason = QLineEdit()
        self.reason.setPlaceholderText("Why is it corrected?")
        self.reason.setAccessibleName("Why the round is corrected")
        self.reason.setMaxLength(500)
        self.reason.setProperty("tall", True)
        self.reason.setFixedWidth(260)
        self.reason.textChanged.connect(lambda _text: self.changed.emit())
        self.reason.hide()
        self.discard_button = QPushButton(AFRESH)
        self.discard_button.clicked.connect(self.discard)
        self.save_button = QPushButton("Save round")
        self.save_button.setMinimumWidth(160)
        self.save_button.clicked.connect(self.save)
        foot = QHBoxLayout(self)
        foot.setContentsMargins(0, 0, 0, 0)
        foot.setSpacing(24)
        foot.addWidget(self.words, 1)
        foot.addWidget(self.reason)
        foot.addWidget(self.remark)
        for button in (self.discard_button, self.save_button):
            button.setProperty("part", "big")
            button.setAutoDefault(False)
            foot.addWidget(button)

    def set_correcting(self, correcting: bool) -> None:
        """correcting: a saved round is corrected, which wants a reason; else a new one is typed."""
        self.reason.setVisible(correcting)
        self.discard_button.setText(LEAVE if correcting else AFRESH)
        self.save_button.setText("Save\ncorrection" if correcting else "Save round")
