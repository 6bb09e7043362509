"""The bars of actions, for gloves: the big ones 20 mm or more, with the key that does the same; what comes and goes
stands on a lower row of its own, so that the big ones keep their places."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QFontMetrics, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSizePolicy, QWidget

from dipbook_app.theme import Look
from dipbook_app.widgets.text_size import FONT_EVENTS, restyle

GAP_MM = 6.0
BIG_MM, LOW_MM = 20.0, 10.0
TEXT_PX, LEAST_PX = 15, 11
"""Size of the letters at text size 1, and the least where the words need more lines than there is room for [px]."""
DRILL_MM, ROOMY_PX = 10.5, 700
"""Height of the keys while a drill is under way [mm], on a page that is lower than this [px]."""
EDGES = 4
"""What a button's edges take of its height [px]."""
PADDING, TIGHT_PADDING = 20, 8
"""What a button's edges take of its width [px]."""
FAIR_MM, FAIR_LOW_MM, LEAST_GAP_MM = 26.0, 36.0, 2.0
"""The width of a key up to which gaps give way to it, on a tight bar and on one that is lower than usual; the least gap
[mm]."""


@dataclass(frozen=True, slots=True)
class Action:
    """name: what is asked for; words and key: on the button; tip: one sentence."""

    name: str
    words: str
    key: str
    tip: str = ""


class ActionBar(QWidget):
    """Shows the actions there are; asked(name) when one is pressed. low: the lower row, with words and key on one
    line. tight: closer to each other where there is little width, and with letters that let the longest key in."""

    asked = Signal(str)

    def __init__(self, look: Look, parent: QWidget | None = None, *, low: bool = False, tight: bool = False) -> None:
        super().__init__(parent)
        self._look = look
        self._low, self._tight = low, tight
        self._mm = LOW_MM if low else BIG_MM
        self._px = 0
        self._drill = False
        self._actions: tuple[Action, ...] = ()
        self._buttons: list[QPushButton] = []
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self.set_look(look)

    def set_look(self, look: Look) -> None:
        """Take on new sizes."""
        self._look = look
        self._part_them()
        self.setFixedHeight(look.mm(self._mm) + 2)
        self._write()

    def set_height(self, mm: float) -> None:
        """Another height, where a low window has no room for the usual one. mm: of the buttons [mm]."""
        if mm != self._mm:
            self._mm = mm
            for button in self._buttons:
                button.setProperty("part", self._part)
                restyle(button)
            self.set_look(self._look)

    def make_room(self, page_px: int, *, drill: bool | None = None) -> None:
        """Lower keys on a low page while a drill is under way, whose own bar has the large ones. page_px: the page's
        height [px]. drill: one is under way; None for as before."""
        self._drill = self._drill if drill is None else drill
        self.set_height(DRILL_MM if self._drill and page_px < ROOMY_PX else BIG_MM)

    @property
    def _close(self) -> bool:
        """True where gaps give way to the keys: on a tight bar, and on one that is lower than usual."""
        return self._tight or (not self._low and self._mm < BIG_MM)

    @property
    def _part(self) -> str:
        return "big" if self._mm >= BIG_MM else "low"

    def show_actions(self, actions: tuple[Action, ...]) -> None:
        """actions: from the left, the most used first."""
        if actions == self._actions:
            return
        self._actions = actions
        self._part_them()
        while len(self._buttons) < len(actions):
            button = QPushButton()
            button.setProperty("part", self._part)
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
        self._part_them()
        self._write()

    def _part_them(self) -> None:
        """The gaps: the usual one; where it is tight what the width leaves beside keys of a fair width."""
        gap, count = self._look.mm(GAP_MM), len(self._actions)
        if self._close and count > 1:
            fair = self._look.mm(FAIR_MM if self._tight else FAIR_LOW_MM)
            left = (self.width() - count * fair) // (count - 1)
            gap = min(gap, max(self._look.mm(LEAST_GAP_MM), left))
        self._row.setSpacing(gap)

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
        wide = (self.width() - self._row.spacing() * (len(shown) - 1)) // len(shown)
        each = wide - (TIGHT_PADDING if self._tight else PADDING)
        for size in range(self._look.px(TEXT_PX), LEAST_PX - 1, -1):
            metrics = QFontMetrics(self._look.font(size / self._look.text, bold=not self._low))
            texts = [self._text(action, each, metrics) for action in self._actions]
            low = max(text.count("\n") + 1 for text in texts) * metrics.lineSpacing() <= self.height() - EDGES
            if low and not (self._tight and any(metrics.horizontalAdvance(line) > each for text in texts
                                                for line in text.split("\n"))):
                break
        for text, button in zip(texts, shown, strict=True):
            button.setText(text)
        if size != self._px:
            self._px = size
            self.setStyleSheet(f"QPushButton {{ font-size: {size}px; }}")

    def _text(self, action: Action, width: int, metrics: QFontMetrics) -> str:
        """A button's text. width: for its letters [px]; metrics: of them."""
        if self._low:
            key = f"  {action.key}" if action.key else ""
            room = width - metrics.horizontalAdvance(key)
            return metrics.elidedText(action.words, Qt.TextElideMode.ElideRight, room) + key
        return "\n".join([*wrapped(action.words, width, metrics), *([action.key] if action.key else [])])

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
