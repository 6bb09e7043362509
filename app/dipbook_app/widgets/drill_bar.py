"""The foot of the window in a drill: the word DRILL, its clock and speed, and what a trainee may do."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QApplication,
    QBoxLayout,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QWidget,
)
from shiboken6 import isValid

from dipbook.drill.kinds import EVENTS
from dipbook_app.theme import Look
from dipbook_app.widgets.action_bar import Action, ActionBar
from dipbook_app.widgets.drop_list import DropList
from dipbook_app.widgets.line_label import LineLabel

NOTHING = "nothing"
CALLS = (
    Action("tell", "Tell the driller", "Shift+F1", "Recorded with its time"),
    Action("check", "Flow check", "Shift+F2", "Work stops, pumps off, and the well is watched: what flows goes on"),
    Action("space", "Space out", "Shift+F3", "Recorded with its time"),
    Action("pumps", "Pumps off", "Shift+F6", "The work and the pumps stop"),
    Action("shut", "Shut in", "Shift+F7", "The well stays shut in to the end of the drill"),
    Action("on", "Go on", "Ctrl+Shift+F6", "The crew go on with their work"),
)
ASIDE = (
    Action("look", "Flow line", "Shift+F10", "Look at the flow line: what is seen there, as an eye tells it"),
    Action("name", "I think it is …", "Shift+F11", "Any time: it isn't timed"),
    Action("note", "Note", "Shift+F12", "Written into the log"),
)
MORE = (
    Action("speed", "Speed", "Ctrl+Shift+F7", "How fast it may run at most; what counts runs at 1×"),
    Action("end", "End drill", "Ctrl+Shift+F12", "It is written beside its log"),
)
NAME, NOTE, END = "name", "note", "end"
OVER = "This drill is over: its log is looked at, and takes nothing more."
CALL_MM = 19.95
"""Height of a call [mm]: 20, and as narrow as 20 where the window is."""
LOW_MM, LOW_PX, LOW_WIDE_PX, MOST_LOW_PX = 9.6, 12, 98, 13
"""Height of a lower key [mm], size of its letters and its width at text size 1, and its largest letters, of which two
lines stand in it [px]: none is pressed under stress."""


SAID_PX, OVER_PX = 152, 34
"""Width of the word and of what is said below it, at any text size, so that the keys keep their places; height of the
line that is left once the drill is over, at text size 1 [px]."""
QWIDGETSIZE_MAX = 16_777_215
"""Qt's own bound of a width that isn't bound, which its binding doesn't name [px]."""


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


def _low(action: Action) -> QPushButton:
    key = QPushButton(f"{action.words}\n{action.key}")
    key.setFocusPolicy(Qt.FocusPolicy.TabFocus)
    key.setAccessibleName(action.words)
    key.setToolTip(action.tip)
    return key


class DrillBar(QWidget):
    """asked(name): one of CALLS, ASIDE or MORE was pressed; named(str), noted(str): what was said with it."""

    asked = Signal(str)
    named = Signal(str)
    noted = Signal(str)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._asks = ""
        self._running = True
        self._before: QWidget | None = None
        self.word = QLabel("DRILL")
        self.word.setProperty("part", "title")
        self.clock, self.state = (LineLabel("", "note", smaller=("caution",)) for _ in range(2))
        self.calls = ActionBar(look, tight=True)
        self.calls.setObjectName("calls")
        self.setStyleSheet("#calls QPushButton { font-weight: bold; padding: 0px 2px; }")
        self.calls.show_actions(CALLS)
        self.calls.asked.connect(self.press)
        self.low = {action.name: _low(action) for action in (*ASIDE, *MORE)}
        for name, key in self.low.items():
            key.clicked.connect(lambda _=False, chosen=name: self.press(chosen))
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
        self.asking, self.keys = QWidget(), QWidget()
        asking = QHBoxLayout(self.asking)
        asking.setContentsMargins(0, 0, 0, 0)
        asking.addWidget(self.prompt)
        asking.addWidget(self.line, 1)
        asking.addWidget(self.kinds, 1)
        asking.addWidget(self.say_it)
        asking.addWidget(self.leave_it)
        self.said = QWidget()
        said = self._lines = QBoxLayout(QBoxLayout.Direction.TopToBottom, self.said)
        said.setContentsMargins(0, 0, 0, 0)
        said.setSpacing(0)
        said.addWidget(self.word)
        said.addWidget(self.clock)
        said.addWidget(self.state)
        low = QGridLayout()
        low.setVerticalSpacing(2)
        low.setHorizontalSpacing(6)
        for line, actions in enumerate((ASIDE, MORE)):
            for column, action in enumerate(actions):
                low.addWidget(self.low[action.name], line, column)
        keys = QHBoxLayout(self.keys)
        keys.setContentsMargins(0, 0, 0, 0)
        keys.setSpacing(12)
        keys.addWidget(self.calls, 1)
        keys.addLayout(low)
        row = QHBoxLayout(self)
        row.setContentsMargins(8, 1, 8, 1)
        row.setSpacing(12)
        row.addWidget(self.said)
        row.addWidget(self.keys, 1)
        row.addWidget(self.asking, 1)

    def set_look(self, look: Look) -> None:
        """Take on new sizes."""
        self._look = look
        font = look.font(26, bold=True)
        self.word.setFont(font)
        self.word.setStyleSheet(f"font-size: {look.px(26)}px; font-weight: bold;")
        self.calls.set_height(CALL_MM)
        self.calls.set_look(look)
        px = min(look.px(LOW_PX), MOST_LOW_PX)
        for key in self.low.values():
            key.setStyleSheet(f"font-size: {px}px; padding: 0px; min-height: 0px;")
            key.setFixedSize(LOW_WIDE_PX * px // LOW_PX, look.mm(LOW_MM))
        self._fit()

    def _fit(self) -> None:
        """One row, as high as the calls; once the drill is over it is one line of words."""
        over = not self._running
        self._lines.setDirection(QBoxLayout.Direction.LeftToRight if over else QBoxLayout.Direction.TopToBottom)
        self._lines.setSpacing(16 if over else 0)
        self._lines.setStretch(1, 1 if over else 0)
        self.state.setVisible(not over)
        if over:
            self.said.setMinimumWidth(0)
            self.said.setMaximumWidth(QWIDGETSIZE_MAX)
        else:
            self.said.setFixedWidth(SAID_PX)
        self.setFixedHeight(self._look.px(OVER_PX) if over else self.calls.height() + 2)

    def show_state(self, clock: str, state: str, *, running: bool = True) -> None:
        """clock: of the drill and its speed, in words. state: what goes on, or what holds it. running: False once it is
        over."""
        self._running = running
        self.clock.setText(clock)
        self.state.setText(state)
        for part in (self.calls, *self.low.values()):
            part.setEnabled(running)
        if not running:
            self.leave()
        self.keys.setVisible(running and not self._asks)
        self._fit()

    def show_over(self) -> None:
        """The drill is over: its log is only looked at."""
        self.show_state(OVER, "", running=False)

    def press(self, name: str) -> None:
        """As if this button was pressed. name: of the action."""
        if not self.calls.isEnabled():
            return
        if name in (NAME, NOTE, END):
            self._ask(name)
        else:
            self.asked.emit(name)

    def _ask(self, name: str) -> None:
        here = QApplication.focusWidget()
        if here is None or not self.isAncestorOf(here):
            self._before = here
        self._asks = name
        self.prompt.setText({NAME: "I think it is", NOTE: "Note", END: "End this drill now?"}[name])
        self.line.setVisible(name == NOTE)
        self.kinds.setVisible(name == NAME)
        self.say_it.setText("End it (Enter)" if name == END else "Say it (Enter)")
        self.keys.hide()
        self.asking.show()
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
        """Ask nothing more: the cursor goes back to where it was, so that the next key presses nothing here."""
        asked, before = self._asks, self._before
        self._asks, self._before = "", None
        if asked and before is not None and isValid(before) and before.isVisible():
            before.setFocus()
        self.line.clear()
        self.asking.hide()
        self.keys.setVisible(self._running)
