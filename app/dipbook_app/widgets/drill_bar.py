"""The foot of the window in a drill: the word DRILL, its clock and speed, and what a trainee may do, always in sight."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from dipbook.drill.kinds import EVENTS
from dipbook_app.theme import Look
from dipbook_app.widgets.action_bar import Action, ActionBar
from dipbook_app.widgets.drop_list import DropList

NOTHING = "nothing"
CALLS = (
    Action("tell", "Tell the driller", "Shift+F1", "Recorded with its time"),
    Action("check", "Flow check", "Shift+F2", "Work stops, pumps off, and the well is watched: what flows goes on"),
    Action("space", "Space out", "Shift+F3", "Recorded with its time"),
    Action("pumps", "Pumps off", "Shift+F4", "The work and the pumps stop"),
    Action("shut", "Shut in", "Shift+F6", "The well stays shut in to the end of the drill"),
    Action("on", "Go on", "Shift+F7", "The crew go on with their work"),
)
ASIDE = (
    Action("look", "Look at the flow line", "Shift+F10", "What is seen there, as an eye tells it"),
    Action("name", "I think it is …", "Shift+F11", "Any time: it isn't timed"),
    Action("note", "Note", "Shift+F12", "Written into the log"),
)
MORE = (
    Action("speed", "Speed", "Ctrl+Shift+F7", "How fast it may run at most; what counts runs at 1×"),
    Action("end", "End drill", "Ctrl+Shift+F12", "It is written beside its log"),
)
NAME, NOTE, END = "name", "note", "end"
BEYOND_MM = 62.0
"""Width of the two lower rows at the right [mm]."""


class _Line(QLineEdit):
    """A line that Escape leaves."""

    left = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape leaves it."""
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)


class _List(DropList):
    """A list whose choice Enter says and Escape leaves."""

    said = Signal(str)
    left = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter says it, Escape leaves it."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if self.settle():
                self.said.emit(self.currentText())
        elif event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)


class DrillBar(QWidget):
    """asked(name): one of CALLS, ASIDE or MORE was pressed; named(str), noted(str): what was said with it."""

    asked = Signal(str)
    named = Signal(str)
    noted = Signal(str)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._asks = ""
        self._ending = False
        self.word = QLabel("DRILL")
        self.word.setProperty("part", "title")
        self.clock, self.state = QLabel(), QLabel()
        for label in (self.clock, self.state):
            label.setProperty("part", "note")
            label.setTextFormat(Qt.TextFormat.PlainText)
        self.calls = ActionBar(look)
        self.calls.show_actions(CALLS)
        self.aside, self.more = ActionBar(look, low=True), ActionBar(look, low=True)
        self.aside.show_actions(ASIDE)
        self.more.show_actions(MORE)
        for bar in (self.calls, self.aside, self.more):
            bar.asked.connect(self.press)
        self.prompt = QLabel()
        self.line, self.kinds = _Line(), _List()
        self.kinds.addItems([*EVENTS, NOTHING])
        self.line.returnPressed.connect(self._say)
        self.kinds.said.connect(lambda _: self._say())
        self.say_it, self.leave_it = QPushButton("Say it (Enter)"), QPushButton("Leave it (Esc)")
        self.say_it.clicked.connect(self._say)
        for left in (self.line.left, self.kinds.left):
            left.connect(self.leave)
        self.leave_it.clicked.connect(self.leave)
        self._build()
        self.leave()
        self.set_look(look)

    def _build(self) -> None:
        asking = QHBoxLayout()
        asking.setContentsMargins(8, 0, 8, 0)
        asking.addWidget(self.prompt)
        asking.addWidget(self.line, 1)
        asking.addWidget(self.kinds, 1)
        asking.addWidget(self.say_it)
        asking.addWidget(self.leave_it)
        said = QVBoxLayout()
        said.setSpacing(0)
        said.addWidget(self.word)
        said.addWidget(self.clock)
        said.addWidget(self.state)
        low = QVBoxLayout()
        low.setSpacing(2)
        low.addWidget(self.aside)
        low.addWidget(self.more)
        row = QHBoxLayout()
        row.setContentsMargins(8, 0, 8, 0)
        row.setSpacing(12)
        row.addLayout(said)
        row.addWidget(self.calls, 1)
        row.addLayout(low, 1)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 4, 0, 4)
        whole.setSpacing(4)
        whole.addLayout(asking)
        whole.addLayout(row)

    def set_look(self, look: Look) -> None:
        """Take on new sizes."""
        self._look = look
        font = look.font(26, bold=True)
        self.word.setFont(font)
        self.word.setStyleSheet(f"font-size: {look.px(26)}px; font-weight: bold;")
        for bar in (self.calls, self.aside, self.more):
            bar.set_look(look)

    def show_state(self, clock: str, state: str, *, running: bool, walks: bool) -> None:
        """clock: of the drill, in words. state: its speed, or what holds it. running: False once it is over. walks:
        tanks are dipped by hand."""
        self.clock.setText(clock)
        self.state.setText(state)
        for bar in (self.calls, self.aside, self.more):
            bar.setEnabled(running)
        if not running:
            self.leave()

    def press(self, name: str) -> None:
        """As if this button was pressed. name: of the action."""
        if not self.calls.isEnabled():
            return
        if name in (NAME, NOTE) or (name == END and not self._ending):
            self._ask(name)
        else:
            self.asked.emit(name)

    def _ask(self, name: str) -> None:
        self._asks = name
        self.prompt.setText({NAME: "I think it is", NOTE: "Note", END: "End this drill now?"}[name])
        self.line.setVisible(name == NOTE)
        self.kinds.setVisible(name == NAME)
        self.say_it.setText("End it (Enter)" if name == END else "Say it (Enter)")
        for part in (self.prompt, self.say_it, self.leave_it):
            part.show()
        (self.line if name == NOTE else self.kinds if name == NAME else self.say_it).setFocus()

    def _say(self) -> None:
        asks = self._asks
        words = self.line.text().strip() if asks == NOTE else self.kinds.currentText()
        if asks == NOTE and not words:
            return
        self.leave()
        if asks == END:
            self.asked.emit(END)
        elif asks == NOTE:
            self.noted.emit(words)
        elif asks == NAME:
            self.named.emit(words)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter on the button says it, Escape leaves what is asked."""
        if event.key() == Qt.Key.Key_Escape and self._asks:
            self.leave()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self._asks == END:
            self._say()
        else:
            super().keyPressEvent(event)

    def leave(self) -> None:
        """Ask nothing more."""
        self._asks = ""
        self.line.clear()
        for part in (self.prompt, self.line, self.kinds, self.say_it, self.leave_it):
            part.hide()
