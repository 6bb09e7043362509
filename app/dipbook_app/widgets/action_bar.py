"""The bar of big actions, for gloves: 20 mm or more, with the key that does the same."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSizePolicy, QWidget

from dipbook_app.theme import Look

GAP_MM = 6.0


@dataclass(frozen=True, slots=True)
class Action:
    """name: what is asked for; words and key: on the button; tip: one sentence."""

    name: str
    words: str
    key: str
    tip: str = ""


class ActionBar(QWidget):
    """Shows the actions there are; asked(name) when one is pressed."""

    asked = Signal(str)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._actions: tuple[Action, ...] = ()
        self._buttons: list[QPushButton] = []
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self.set_look(look)

    def set_look(self, look: Look) -> None:
        """Take on new sizes."""
        self._look = look
        self._row.setSpacing(look.mm(GAP_MM))
        self.setFixedHeight(look.mm(20) + 2)

    def show_actions(self, actions: tuple[Action, ...]) -> None:
        """actions: from the left, the most used first."""
        if actions == self._actions:
            return
        self._actions = actions
        while len(self._buttons) < len(actions):
            button = QPushButton()
            button.setProperty("part", "big")
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            index = len(self._buttons)
            button.clicked.connect(lambda _=False, k=index: self.asked.emit(self._actions[k].name))
            self._row.addWidget(button)
            self._buttons.append(button)
        for k, button in enumerate(self._buttons):
            button.setVisible(k < len(actions))
            if k < len(actions):
                action = actions[k]
                button.setText(f"{action.words}\n{action.key}" if action.key else action.words)
                button.setToolTip(action.tip)

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
