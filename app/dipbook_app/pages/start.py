"""The Start page: which rig and log to open, while there is none yet and at any time after.

It says what there is to do, and does not ask for more than it needs.
"""

from __future__ import annotations

from collections.abc import Sequence
from importlib.resources import files
from pathlib import Path

from PySide6.QtCore import Qt, QUrl, Signal
from PySide6.QtGui import QDesktopServices, QResizeEvent
from PySide6.QtWidgets import QFileDialog, QLabel, QPlainTextEdit, QPushButton, QVBoxLayout, QWidget

from dipbook.cautions import CAUTION
from dipbook_app.choosing import RIG_FILES, RIGS_AND_LOGS, choose_file
from dipbook_app.page_names import DRILL, OWN_KEYS
from dipbook_app.theme import Look

TEMPLATE = "new_rig.toml"
LARGE_MM, SMALL_MM, GAP_MM = 20.0, 11.0, (2.0, 6.0)
"""Height of a choice where there is room, and on one line; least and most of the gaps between them [mm]."""
REST_PX, TWO_LINES_PX, LOW_PX = 190, 46, 26
"""What the title, the words and the caution take of the height, and what a choice needs on two lines and on one, at
text size 1 [px]."""


class StartPage(QWidget):
    """Offers the last rig, the demo rig, a new rig file, or a rig file or log there is.

    demo_wanted(); file_wanted(path): open this rig file or log; last_wanted(): open the last rig and its log;
    drill_wanted(): set up a training drill.
    """

    demo_wanted = Signal()
    file_wanted = Signal(str)
    last_wanted = Signal()
    drill_wanted = Signal()

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._last, self._demo = _choice(self.last_wanted.emit), _choice(self.demo_wanted.emit)
        self._describe, self._open = _choice(self.describe), _choice(self.open_file)
        self._drill = _choice(self.drill_wanted.emit)
        self._texts = [("", "Ctrl+Return"),
                       ("Open the demo rig\nAn invented rig and tour, to try things on", "Ctrl+D"),
                       ("Describe your rig\nSaves a rig file with every key explained, to fill in and open",
                        "Ctrl+Shift+N"),
                       ("Open a rig file or a log\nA .toml file that describes tanks and limits, or a .dipbook log",
                        "Ctrl+O"),
                       ("Run a training drill\nAn invented well, in a log of its own", OWN_KEYS[DRILL])]
        """Words and key of each choice. The last one's key is the window's."""
        self._said = QLabel()
        self._said.setProperty("part", "strong")
        self._said.setWordWrap(True)
        self._said.setTextFormat(Qt.TextFormat.PlainText)
        self._problems = QPlainTextEdit()
        self._problems.setReadOnly(True)
        self._problems.setTabChangesFocus(True)
        self._problems.setAccessibleName("What is wrong in the rig file")
        self._problems.hide()
        self._made = ""
        title = QLabel("Dipbook, a watch log for the mud tanks")
        title.setProperty("part", "title")
        caution = QLabel(CAUTION)
        caution.setProperty("part", "soft")
        caution.setWordWrap(True)
        column = self._column = QVBoxLayout(self)
        column.addWidget(title)
        for choice in self.choices:
            column.addWidget(choice)
        column.addWidget(self._said)
        column.addWidget(self._problems, 100)
        column.addStretch(1)
        column.addWidget(caution)
        self.show_last("", "")
        self.set_look(look)

    def set_look(self, look: Look) -> None:
        """Take on new sizes."""
        self._look = look
        self._fit()

    def _fit(self) -> None:
        """Large choices where there is room; on one line while a file's problems need it, or the window is low."""
        shown = sum(not choice.isHidden() for choice in self.choices)
        room = (self.height() - self._look.px(REST_PX)) // max(1, shown)
        least, most = (self._look.mm(mm) for mm in GAP_MM)
        large = self._look.mm(LARGE_MM)
        small = max(self._look.px(LOW_PX), min(self._look.mm(SMALL_MM), room - least))
        gap = min(max(room - large, least), most)
        high = min(large, room - gap)
        crowded = not self._problems.isHidden() or high < self._look.px(TWO_LINES_PX)
        self._column.setSpacing(least if crowded else gap)
        edge = 8 if crowded or gap < most else 30
        self._column.setContentsMargins(40, edge, 40, edge)
        for choice, (text, key) in zip(self.choices, self._texts, strict=True):
            choice.setFixedHeight(small if crowded else high)
            first, _, rest = text.partition("\n")
            choice.setText(f"{first}   ({key})" if crowded or not rest else f"{first}\n{rest}   ({key})")
            choice.setShortcut("" if choice is self._drill else key)  # a new text takes the old shortcut away

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Other sizes for another height."""
        super().resizeEvent(event)
        self._fit()

    def show_last(self, rig: str, store: str) -> None:
        """rig: name of the rig opened last; store: its log's path; "" when there is none."""
        self._last.setVisible(bool(rig or store))
        names = Path(rig or store).name
        self._texts[0] = (f"Go on with {rig or names}\n{Path(store).name or names}", "Ctrl+Return")
        self._fit()

    def say(self, words: str) -> None:
        """Say what went wrong, or what to do next."""
        self._said.setText(words)
        if not self._problems.isHidden():
            self._problems.hide()
            self._fit()

    def show_problems(self, words: str, problems: Sequence[str]) -> None:
        """Say that a file can't be used, and every problem in it, each with its line. words: what happened."""
        self.say(words)
        self._problems.setPlainText("\n".join(problems))
        self._problems.show()
        self._fit()
        self._problems.setFocus()

    @property
    def choices(self) -> tuple[QPushButton, ...]:
        """The last rig, the demo, describe, open, a drill."""
        return (self._last, self._demo, self._describe, self._open, self._drill)

    @property
    def said(self) -> str:
        """The last words."""
        return self._said.text()

    @property
    def problems(self) -> str:
        """The problems of a file as shown now, a line each."""
        return "" if self._problems.isHidden() else self._problems.toPlainText()

    def ask_where_to_save(self) -> str:
        """Ask for the new rig file's path; "" when the person thinks better of it."""
        return QFileDialog.getSaveFileName(self, "Save a new rig file", "rig.toml", RIG_FILES)[0]

    def ask_what_to_open(self) -> str:
        """Ask for a rig file or a log; "" when the person thinks better of it."""
        return choose_file(self, "Open a rig file or a log", RIGS_AND_LOGS, self._made)

    def describe(self) -> None:
        """Save the explained rig file and open it in the system's editor."""
        path = self.ask_where_to_save()
        if not path:
            return
        if not Path(path).suffix:
            path += ".toml"
        try:
            explained = (files("dipbook_app") / "data" / TEMPLATE).read_text(encoding="utf-8")
            Path(path).write_text(explained, encoding="utf-8")
        except OSError as error:
            self.say(f"{path} can't be written ({error.strerror}). Choose another folder.")
            return
        self._made = path
        self.say(f"Saved {path}. Fill it in with any text editor, then open it here with Ctrl+O.")
        QDesktopServices.openUrl(QUrl.fromLocalFile(path))

    def open_file(self) -> None:
        """Ask for a rig file or a log and open it."""
        path = self.ask_what_to_open()
        if path:
            self.file_wanted.emit(path)


def _choice(pressed: object) -> QPushButton:
    button = QPushButton()
    button.setStyleSheet("text-align: left;")
    button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    button.setMaximumWidth(760)
    button.clicked.connect(lambda: pressed())  # type: ignore[operator]
    return button
