"""The Start page: no rig yet. It says what there is to do, and does not ask for more than it needs."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from PySide6.QtCore import Qt, QUrl, Signal
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QFileDialog, QLabel, QPushButton, QVBoxLayout, QWidget

from dipbook.cautions import CAUTION
from dipbook_app.theme import Look
from dipbook_app.widgets.line_label import LineLabel

TEMPLATE = "new_rig.toml"


class StartPage(QWidget):
    """Offers the last rig, the demo rig, a new rig file, or one there is.

    demo_wanted(); rig_wanted(path): open this rig file; last_wanted(): open the last rig and its log.
    """

    demo_wanted = Signal()
    rig_wanted = Signal(str)
    last_wanted = Signal()

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._last = _choice("", "Ctrl+Return", self.last_wanted.emit)
        self._demo = _choice("Open the demo rig\nAn invented rig and tour, to try things on", "Ctrl+D",
                             self.demo_wanted.emit)
        self._describe = _choice("Describe your rig\nSaves a rig file with every key explained, to fill in and open",
                                 "Ctrl+N", self.describe, bound=False)
        self._open = _choice("Open a rig file\nA .toml file that describes tanks, gauges, crew and limits", "Ctrl+O",
                             self.open_file)
        self._said = LineLabel("", "strong")
        title = QLabel("Dipbook, a watch log for the mud tanks")
        title.setProperty("part", "title")
        caution = QLabel(CAUTION)
        caution.setProperty("part", "soft")
        caution.setWordWrap(True)
        column = QVBoxLayout(self)
        column.setContentsMargins(40, 30, 40, 30)
        column.setSpacing(look.mm(6))
        column.addWidget(title)
        for choice in self.choices:
            column.addWidget(choice)
        column.addWidget(self._said)
        column.addStretch(1)
        column.addWidget(caution)
        self.show_last("", "")
        self.set_look(look)

    def set_look(self, look: Look) -> None:
        """Take on new sizes."""
        self._look = look
        for choice in self.choices:
            choice.setFixedHeight(look.mm(20))

    def show_last(self, rig: str, store: str) -> None:
        """rig: name of the rig opened last; store: its log's path; "" when there is none."""
        self._last.setVisible(bool(rig or store))
        names = Path(rig or store).name
        self._last.setText(f"Go on with {rig or names}\n{Path(store).name or names}   (Ctrl+Return)")
        self._last.setShortcut("Ctrl+Return")  # a new text takes the old shortcut away

    def say(self, words: str) -> None:
        """Say what went wrong, or what to do next."""
        self._said.setText(words)

    @property
    def choices(self) -> tuple[QPushButton, ...]:
        """The last rig, the demo, describe, open."""
        return (self._last, self._demo, self._describe, self._open)

    @property
    def said(self) -> str:
        """The last words."""
        return self._said.text()

    def ask_where_to_save(self) -> str:
        """Ask for the new rig file's path; "" when the person thinks better of it."""
        return QFileDialog.getSaveFileName(self, "Save a new rig file", "rig.toml", "Rig files (*.toml)")[0]

    def ask_what_to_open(self) -> str:
        """Ask for a rig file; "" when the person thinks better of it."""
        return QFileDialog.getOpenFileName(self, "Open a rig file", "", "Rig files (*.toml)")[0]

    def describe(self) -> None:
        """Save the explained rig file and open it in the system's editor."""
        path = self.ask_where_to_save()
        if not path:
            return
        try:
            explained = (files("dipbook_app") / "data" / TEMPLATE).read_text(encoding="utf-8")
            Path(path).write_text(explained, encoding="utf-8")
        except OSError as error:
            self.say(f"{path} can't be written ({error.strerror}). Choose another folder.")
            return
        self.say(f"Saved {Path(path).name}. Fill it in with any text editor, then open it here.")
        QDesktopServices.openUrl(QUrl.fromLocalFile(path))

    def open_file(self) -> None:
        """Ask for a rig file and open it."""
        path = self.ask_what_to_open()
        if path:
            self.rig_wanted.emit(path)


def _choice(text: str, key: str, pressed: object, *, bound: bool = True) -> QPushButton:
    """bound: False when the window binds the key itself."""
    button = QPushButton(f"{text}   ({key})")
    if bound:
        button.setShortcut(key)
    button.setStyleSheet("text-align: left;")
    button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    button.setMaximumWidth(760)
    button.clicked.connect(lambda: pressed())  # type: ignore[operator]
    return button
