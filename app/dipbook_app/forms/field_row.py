"""One field of a form: its label, where it is typed, and room for the words about it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QComboBox, QGridLayout, QLabel, QLineEdit, QPlainTextEdit, QSizePolicy, QWidget

from dipbook_app.widgets.drop_list import DropList
from dipbook_app.widgets.name_offer import Crew, NameOffer
from dipbook_app.widgets.text_size import FONT_EVENTS, restyle, scaled
from dipbook_app.widgets.words_label import WordsLabel

LABEL_WIDTH = 128
EDITOR_ROOM, WORDS_ROOM = 50, 30
"""Height kept for an editor and for one line of words below it, with the edges of an error [px at the ordinary text].
"""


class FieldRow(QWidget):
    """A label, an editor (a line, or a list when there are choices) and a line of words below, whose room is kept.

    name: the field's name, by which findings find it. label: what the crew reads.
    choices: what may be chosen, or empty for a line to type in; "" is added as the first, for "not given".
    lines: of a text of several lines, in which Enter begins another; 0 for one line or a list.
    cut: words that take more than their line are cut with dots, so that no field moves; who sets it shows them whole.
    Signals: changed(): the text differs. entered(): Enter. moved(int): Up (-1) or Down (1).
    came(), left(): the focus came, or went elsewhere.
    """

    changed = Signal()
    entered = Signal()
    moved = Signal(int)
    came = Signal()
    left = Signal()

    def __init__(self, name: str, label: str, choices: Sequence[str] = (), parent: QWidget | None = None, *,
                 lines: int = 0, cut: bool = False) -> None:
        super().__init__(parent)
        self.name = name
        self.label = QLabel(label)
        self.editor: QLineEdit | QComboBox | QPlainTextEdit = _several(lines) if lines else (
            _list(choices) if choices else QLineEdit())
        self.editor.setObjectName(f"field {name}")
        self.editor.setAccessibleName(label)
        self.editor.setProperty("tall", True)
        self.label.setBuddy(self.editor)
        self.words = WordsLabel(whole=not cut)
        self.note = ""
        self.offered: NameOffer | None = None
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(0)
        self.label.setWordWrap(True)
        grid.addWidget(self.label, 0, 0)
        grid.addWidget(self.editor, 0, 1)
        grid.addWidget(self.words, 1, 1)
        grid.setColumnStretch(1, 1)
        self._kept = grid if cut else None
        self._fit()
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        self.editor.installEventFilter(self)
        if not isinstance(self.editor, QComboBox):
            self.editor.textChanged.connect(lambda *_text: self.changed.emit())
        else:
            self.editor.currentTextChanged.connect(lambda _text: self.changed.emit())
            if isinstance(self.editor, DropList):
                self.editor.missed.connect(lambda words: self.say(words, "error"))

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the text."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "_kept"):
            self._fit()

    def _fit(self) -> None:
        self.label.setFixedWidth(scaled(self, LABEL_WIDTH))
        if self._kept is not None:
            self._kept.setRowMinimumHeight(0, scaled(self, EDITOR_ROOM))
            self._kept.setRowMinimumHeight(1, scaled(self, WORDS_ROOM))

    def text(self) -> str:
        """What is typed or chosen, without blanks around it."""
        if isinstance(self.editor, QLineEdit):
            return self.editor.text().strip()
        if isinstance(self.editor, QPlainTextEdit):
            return "\n".join(line.strip() for line in self.editor.toPlainText().splitlines() if line.strip())
        return self.editor.currentText()

    def set_text(self, text: str) -> None:
        """Put ``text`` in; a list without that choice stays at "not given"."""
        if isinstance(self.editor, QLineEdit):
            self.editor.setText(text)
        elif isinstance(self.editor, QPlainTextEdit):
            self.editor.setPlainText(text)
        else:
            self.editor.setCurrentIndex(max(0, self.editor.findText(text)))

    def set_hint(self, text: str) -> None:
        """Grey words in an empty line: the unit, or the last value."""
        if not isinstance(self.editor, QComboBox):
            self.editor.setPlaceholderText(text)

    def offer(self, crew: Crew) -> FieldRow:
        """Offer the crew's names while one types who it is; any other can be typed. crew: gives them. Returns itself.
        """
        if isinstance(self.editor, QLineEdit):
            self.offered = NameOffer(self.editor, crew)
        return self

    def set_note(self, words: str) -> None:
        """Words that stand below the field when there is nothing else to say of it."""
        self.note = words
        self.say("")

    def say(self, words: str, tone: str = "quiet") -> None:
        """Words below the field, ``note`` for none. tone: "quiet", "doubt" or "error"; an error marks the editor too.
        """
        self.words.say(words or self.note, tone if words else "quiet")
        part = "bad" if words and tone == "error" else ""
        if part != (self.editor.property("part") or ""):
            self.editor.setProperty("part", part)
            restyle(self.editor)

    def focus(self) -> None:
        """Put the cursor here, with the text selected."""
        self.editor.setFocus(Qt.FocusReason.TabFocusReason)
        if isinstance(self.editor, QLineEdit):
            self.editor.selectAll()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Enter and the arrows go from field to field; in an open list they keep their own meaning."""
        if watched is self.editor:
            if event.type() == QEvent.Type.FocusOut:
                self.left.emit()
            elif event.type() == QEvent.Type.FocusIn:
                self.came.emit()
            elif event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
                return self._key(event)
        return super().eventFilter(watched, event)

    def _key(self, event: QKeyEvent) -> bool:
        plain = event.modifiers() in (Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.KeypadModifier)
        if isinstance(self.editor, QPlainTextEdit):
            return False
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and plain:
            if not isinstance(self.editor, DropList) or self.editor.settle():
                self.entered.emit()
            return True
        if plain and isinstance(self.editor, QLineEdit) and event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.moved.emit(-1 if event.key() == Qt.Key.Key_Up else 1)
            return True
        return False


def _several(lines: int) -> QPlainTextEdit:
    box = QPlainTextEdit()
    box.setTabChangesFocus(True)
    box.setLineWrapMode(QPlainTextEdit.LineWrapMode.NoWrap)
    box.setMinimumHeight(lines * box.fontMetrics().lineSpacing() + 16)
    return box


def _list(choices: Sequence[str]) -> QComboBox:
    box = DropList()
    box.addItem("")
    box.addItems([choice for choice in choices if choice])
    box.setMaxVisibleItems(16)
    return box
