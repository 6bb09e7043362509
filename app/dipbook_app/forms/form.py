"""What every form is: fields in a column, gone through by keyboard, with a word line, Save and Leave."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QScrollArea, QVBoxLayout, QWidget

from dipbook.findings import Finding
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.widgets.text_size import scaled
from dipbook_app.widgets.words_label import WordsLabel

SAVE_KEY = "Ctrl+Enter"
LEAVE = "Leave\nEsc"
"""On the key that puts a form, or what stands in its place, away; only a warning is closed."""
LOW = 480
"""Below this height the words under the fields keep room for one line only [px at the ordinary text]."""
NAMED = 3
"""So many refused fields are named below the others."""
ROOM_AROUND = 8
"""Kept above and below the field that one is in [px]."""


class Form(QFrame):
    """A column of fields that never blocks the rest of the window.

    Enter goes to the next field, Enter on the last one saves; Up and Down move; Ctrl+Enter saves from anywhere;
    Esc leaves it.
    Signals: saved(str): what was saved, in words. closed(): the form wants to go away.
    """

    saved = Signal(str)
    closed = Signal()

    def __init__(self, title: str, help_text: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", "panel")
        self.fields: list[FieldRow] = []
        self._told = ""
        self.title = QLabel(title)
        self.title.setProperty("part", "title")
        self.help = QLabel(help_text)
        self.help.setProperty("part", "soft")
        self.help.setWordWrap(True)
        if not help_text:  # shown here it would be a window of its own for a moment, and take the keyboard away
            self.help.hide()
        body = QWidget()
        self.column = QVBoxLayout(body)
        self.column.setContentsMargins(0, 0, 4, 0)
        self.column.setSpacing(2)
        self.area = QScrollArea()
        self.area.setStyleSheet("QScrollArea, QScrollArea > QWidget, QScrollArea > QWidget > QWidget#body "
                                  "{ background: transparent; }")
        body.setObjectName("body")
        self.area.setWidget(body)
        self.area.setWidgetResizable(True)
        self.area.setFrameShape(QFrame.Shape.NoFrame)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.words = WordsLabel(lines=2)
        self.save_button = QPushButton()
        self.say_save("Save")
        self.save_button.setObjectName("save")
        self.save_button.clicked.connect(self.save)
        self.close_button = QPushButton(LEAVE)
        self.close_button.clicked.connect(self.closed)
        self.buttons = QHBoxLayout()
        self.buttons.setSpacing(16)
        for button in (self.save_button, self.close_button):
            self._dress(button)
            self.buttons.addWidget(button)
        self.buttons.addStretch(1)
        self._buttons = [self.save_button, self.close_button]
        layout = QVBoxLayout(self)
        layout.addWidget(self.title)
        layout.addWidget(self.help)
        layout.addWidget(self.area, 1)
        layout.addWidget(self.words)
        layout.addLayout(self.buttons)

    @staticmethod
    def _dress(button: QPushButton) -> None:
        button.setProperty("part", "form")
        button.setAutoDefault(False)

    def say_save(self, words: str) -> None:
        """What the key that saves says. words: one line; its key stands below."""
        self.save_button.setText(f"{words}\n{SAVE_KEY}")

    def add_button(self, words: str, act: Callable[[], object]) -> QPushButton:
        """A further key beside Save and Leave. words: on it; act: what it does."""
        button = QPushButton(words)
        button.clicked.connect(act)
        self.buttons.insertWidget(len(self._buttons), button)
        self._dress(button)
        self._buttons.append(button)
        return button

    def add_field(self, row: FieldRow) -> FieldRow:
        """Put a field below the last one."""
        row.entered.connect(lambda: self._enter(row))
        row.moved.connect(lambda step: self._move(row, step))
        row.came.connect(lambda: self._bring(row))
        row.changed.connect(lambda: self._answered(row))
        row.words.installEventFilter(self)
        self.fields.append(row)
        self.column.addWidget(row)
        return row

    def field(self, name: str) -> FieldRow:
        """The field called ``name``. Raises KeyError if there is none."""
        for row in self.fields:
            if row.name == name:
                return row
        raise KeyError(name)

    def texts(self) -> dict[str, str]:
        """Field name -> text, of the fields that have one."""
        return {row.name: row.text() for row in self.fields if row.text()}

    def finish(self) -> None:
        """Close the column after the last field."""
        self.column.addStretch(1)

    def start(self) -> None:
        """Put the cursor in the first field that is empty."""
        shown = [row for row in self.fields if not row.isHidden()]
        next((row for row in shown if not row.text()), shown[0]).focus()

    def save(self) -> None:
        """Check and save; each form says how."""
        raise NotImplementedError

    def clear_words(self) -> None:
        """Forget what was said about the last attempt."""
        self.words.say("")
        for row in self.fields:
            row.say("")

    def show_findings(self, findings: Iterable[Finding], *, asking: str = "", refused: str = "Not saved.") -> None:
        """Say each finding on its field, by its column, and the others below; the first error gets the cursor.

        asking: what to say below instead, where nothing is refused and a person is asked whether it stands. refused:
        what begins the words below where something is; the fields that it is about are named behind it.
        """
        first: FieldRow | None = None
        elsewhere: list[Finding] = []
        said: dict[str, list[Finding]] = {}
        for finding in findings:
            if any(row.name == finding.column and not row.isHidden() for row in self.fields):
                said.setdefault(finding.column, []).append(finding)
            else:
                elsewhere.append(finding)
        for name, found in said.items():
            row = self.field(name)
            wrong = any(f.severity == "error" for f in found)
            row.say(" ".join(sentence(f.what) for f in found), "error" if wrong else "doubt")
            if wrong and (first is None or self.fields.index(row) < self.fields.index(first)):
                first = row
        wrong = any(f.severity == "error" for f in elsewhere)
        words = " ".join(sentence(f.what) for f in elsewhere)
        if first is not None or wrong:
            words = " ".join(text for text in (refused, self._see(), words) if text)
        self.words.say(asking or words, "error" if first is not None or wrong else "doubt")
        self._told = self.words.said
        if first is not None:
            first.focus()
            self._bring(first)

    def _answered(self, row: FieldRow) -> None:
        """A field changed: what was said of it doesn't hold any more; nor, with no refusal left, what was said of all.
        """
        row.say("")
        if self._told and self.words.said == self._told and not self._refused():
            self.words.say("")

    def _see(self) -> str:
        """Which fields are refused, by their labels: one of them may be out of sight."""
        names = [f"“{row.label.text().splitlines()[0]}”" for row in self._refused()]
        more = f" and {len(names) - NAMED} more" if len(names) > NAMED else ""
        return f"See {', '.join(names[:NAMED])}{more}." if names else ""

    def _refused(self) -> list[FieldRow]:
        """The fields that are refused now."""
        return [row for row in self.fields if row.words.said and row.words.tone == "error" and not row.isHidden()]

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc closes, Ctrl+Enter saves."""
        enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if event.key() == Qt.Key.Key_Escape:
            self.closed.emit()
        elif enter and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.save()
        elif enter and isinstance(pressed := self.focusWidget(), QPushButton):
            pressed.click()
        else:
            super().keyPressEvent(event)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Words below a field that take more room: the field that one is in stays in sight, once they have it."""
        if event.type() == QEvent.Type.Resize:
            QTimer.singleShot(0, self, self._bring_here)
        return super().eventFilter(watched, event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The field that one is in stays in sight."""
        super().resizeEvent(event)
        self.words.set_lines(1 if self.height() < scaled(self, LOW) else 2)
        self._bring_here()

    def _bring_here(self) -> None:
        """Scroll the field that one is in into sight, with its words."""
        here = next((row for row in self.fields if row.editor is self.focusWidget()), None)
        if here is not None:
            self._bring(here)

    def _bring(self, row: FieldRow) -> None:
        """Scroll a field into sight."""
        self.column.activate()
        self.area.ensureWidgetVisible(row, 0, ROOM_AROUND)

    def _shown(self) -> Sequence[FieldRow]:
        return [row for row in self.fields if not row.isHidden()]

    def _enter(self, row: FieldRow) -> None:
        shown = self._shown()
        place = shown.index(row) + 1
        if place < len(shown):
            shown[place].focus()
        else:
            self.save()

    def _move(self, row: FieldRow, step: int) -> None:
        shown = self._shown()
        place = shown.index(row) + step
        if 0 <= place < len(shown):
            shown[place].focus()


def sentence(words: str) -> str:
    """A finding's words as a sentence of their own."""
    words = words.strip()
    words = (words[:1].upper() + words[1:]).rstrip(".")
    return words if words.endswith(("?", "!")) or not words else f"{words}."
