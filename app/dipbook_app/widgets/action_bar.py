"""The bars of actions, for gloves: the big ones 20 mm or more, with the key that does the same; what comes and goes
stands on a lower row of its own, so that the big ones keep their places."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QFontMetrics, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSizePolicy, QWidget

from dipbook_app.theme import Look
from dipbook_app.widgets.text_size import FONT_EVENTS

GAP_MM = 6.0
BIG_MM, LOW_MM = 20.0, 10.0
PADDING = 20
"""What a button's edges take of its width [px]."""


@dataclass(frozen=True, slots=True)
class Action:
    """name: what is asked for; words and key: on the button; tip: one sentence."""

    name: str
    words: str
    key: str
    tip: str = ""


class ActionBar(QWidget):
    """Shows the actions there are; asked(name) when one is pressed. low: the lower row, with words and key on one
    line."""

    asked = Signal(str)

    def __init__(self, look: Look, parent: QWidget | None = None, *, low: bool = False) -> None:
        super().__init__(parent)
        self._look = look
        self._low = low
        self._actions: tuple[Action, ...] = ()
        self._buttons: list[QPushButton] = []
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self.set_look(look)

    def set_look(self, look: Look) -> None:
        """Take on new sizes."""
        self._look = look
        self._row.setSpacing(look.mm(GAP_MM))
        self.setFixedHeight(look.mm(LOW_MM if self._low else BIG_MM) + 2)
        self._write()

    def show_actions(self, actions: tuple[Action, ...]) -> None:
        """actions: from the left, the most used first."""
        if actions == self._actions:
            return
        self._actions = actions
        while len(self._buttons) < len(actions):
            button = QPushButton()
            button.setProperty("part", "low" if self._low else "big")
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Ignored)
            index = len(self._buttons)
            button.clicked.connect(lambda _=False, k=index: self.asked.emit(self._actions[k].name))
            self._row.addWidget(button, 1)
            self._buttons.append(button)
        for k, button in enumerate(self._buttons):
            button.setVisible(k < len(actions))
            if k < len(actions):
                button.setAccessibleName(actions[k].words)
                button.setToolTip(actions[k].tip)
        self._write()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Other lines for another width."""
        super().resizeEvent(event)
        self._write()

    def changeEvent(self, event: QEvent) -> None:
        """The text's size has changed."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "_row"):
            self._write()

    def _write(self) -> None:
        """The words over as many lines as the buttons' width wants, and the key below (beside, on the lower row)."""
        shown = self.buttons
        if not shown:
            return
        each = (self.width() - self._row.spacing() * (len(shown) - 1)) // len(shown) - PADDING
        metrics = QFontMetrics(self._look.font(15, bold=not self._low))
        for action, button in zip(self._actions, shown, strict=True):
            if self._low:
                words, key = action.words, f"  {action.key}" if action.key else ""
                room = each - metrics.horizontalAdvance(key)
                button.setText(metrics.elidedText(words, Qt.TextElideMode.ElideRight, room) + key)
            else:
                lines = wrapped(action.words, each, metrics)
                button.setText("\n".join([*lines, action.key] if action.key else lines))

    @property
    def buttons(self) -> tuple[QPushButton, ...]:
        """The buttons in use."""
        return tuple(self._buttons[:len(self._actions)])

    @property
    def shown(self) -> tuple[Action, ...]:
        """The actions in use."""
        return self._actions

    def readings(self) -> tuple[str, ...]:
        """The words on the buttons."""
        return tuple(action.words for action in self._actions)


def wrapped(words: str, width: int, metrics: QFontMetrics) -> list[str]:
    """The words in lines no wider than ``width`` [px], where no single word is wider. metrics: of the letters."""
    lines: list[str] = []
    for word in words.split():
        if lines and metrics.horizontalAdvance(f"{lines[-1]} {word}") <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines
