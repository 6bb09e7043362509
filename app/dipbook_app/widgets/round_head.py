"""The head of the Round page: when it was gauged, by whom, who keys it, and the columns that are optional."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from dipbook_app.widgets.text_size import FONT_EVENTS, restyle, scaled

FIELDS = (("from", "Gauged from", 108), ("to", "to", 108), ("observer", "Gauged by", 180), ("keyer", "Keyed by", 180))
COLUMNS = (("time", "Times\nAlt+T"), ("second", "Second\nAlt+R"), ("flag", "Flags\nAlt+F"))
COLUMN_KEYS = {"time": "Alt+T", "second": "Alt+R", "flag": "Alt+F"}
TIPS = {"time": "A time for each dip, instead of one from … to for all",
        "second": "A second reading of each stick: their mean counts",
        "flag": "Flags: foam, agitator, below stick, over brim",
        "short": "The suction and trip tanks only; the others stay at their last dips",
        "past": "Rounds from paper, one after another, with their true times",
        "print": "A blank dip sheet to fill in by hand, as a PDF"}
MODES = (("short", "Short\nCtrl+B"), ("past", "Catch up\nCtrl+L"))
BACK = {"short": "All tanks\nCtrl+B", "past": "Back\nCtrl+L"}
BUTTON_WIDTH = 68


class RoundHead(QWidget):
    """Signals: changed(): something typed or switched differs. entered(): Enter in a field. down(): Down in one.
    mode_wanted(str): a key of another way to key rounds: short, past. print_wanted(): a blank dip sheet.
    """

    changed = Signal()
    entered = Signal()
    down = Signal()
    mode_wanted = Signal(str)
    print_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.fields: dict[str, QLineEdit] = {}
        self.switches: dict[str, QPushButton] = {}
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(0)
        row = QHBoxLayout()
        whole.addLayout(row)
        self.taken = QLabel()
        self.taken.setTextFormat(Qt.TextFormat.PlainText)
        self.taken.setProperty("part", "strong")
        self.taken.hide()
        whole.addWidget(self.taken)
        row.setSpacing(10)
        for name, label, width in FIELDS:
            line = QLineEdit()
            line.setObjectName(f"round {name}")
            line.setAccessibleName(label)
            line.setProperty("tall", True)
            line.setMaxLength(60)
            line.textChanged.connect(lambda _text: self.changed.emit())
            line.installEventFilter(self)
            self.fields[name] = line
            column = QVBoxLayout()
            column.setSpacing(0)
            words = QLabel(label)
            words.setProperty("part", "small")
            column.addWidget(words)
            column.addWidget(line)
            row.addLayout(column, width)
        row.addStretch(1)
        buttons = QHBoxLayout()
        buttons.setSpacing(4)
        row.addLayout(buttons)
        self.modes: dict[str, QPushButton] = {}
        for name, label in MODES:
            button = self._button(name, label)
            button.clicked.connect(lambda _=False, name=name: self.mode_wanted.emit(name))
            self.modes[name] = button
            buttons.addWidget(button)
        for name, label in COLUMNS:
            button = self._button(name, label)
            button.setCheckable(True)
            button.toggled.connect(lambda _on: self.changed.emit())
            self.switches[name] = button
            buttons.addWidget(button)
        self.print_button = self._button("print", "Dip sheet\nCtrl+P")
        self.print_button.clicked.connect(self.print_wanted)
        buttons.addWidget(self.print_button)
        self._fit()

    def _button(self, name: str, label: str) -> QPushButton:
        button = QPushButton(label)
        button.setStyleSheet("padding: 0px 3px;")
        button.setProperty("tall", True)
        button.setAutoDefault(False)
        button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        button.setToolTip(TIPS.get(name, ""))
        return button

    def show_mode(self, mode: str, *, correcting: bool) -> None:
        """Say on the keys what they lead to. mode: full, short or past. correcting: a saved round, which has no mode.
        """
        for name, label in MODES:
            button = self.modes[name]
            text = BACK[name] if name == mode else label
            button.setText(text)
            button.setVisible(not correcting)
        self.print_button.setVisible(not correcting)

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the text."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "switches"):
            self._fit()

    def _fit(self) -> None:
        for name, _, width in FIELDS:
            self.fields[name].setMaximumWidth(scaled(self, width))
        for button in (*self.modes.values(), *self.switches.values(), self.print_button):
            button.setFixedHeight(scaled(self, 46))
            button.setMinimumWidth(scaled(self, BUTTON_WIDTH))

    def text(self, name: str) -> str:
        """What is typed in a field: from, to, observer, keyer."""
        return self.fields[name].text().strip()

    def set_text(self, name: str, text: str) -> None:
        """Fill a field in; a long name shows its beginning."""
        self.fields[name].setText(text)
        self.fields[name].home(False)

    def mark(self, wrong: Mapping[str, str]) -> None:
        """Mark the fields that are wrong. wrong: field -> words, shown as its tool tip."""
        for name, line in self.fields.items():
            part = "bad" if name in wrong else ""
            line.setToolTip(wrong.get(name, ""))
            if line.property("part") != part:
                line.setProperty("part", part)
                restyle(line)

    def show_taken(self, far: Mapping[str, str], wrong: Sequence[str] = ()) -> None:
        """Say what the times were taken as. far: "from" or "to" -> day and age; wrong: words on what can't be so."""
        said = [f"{label} {far[name]}." for name, label in (("from", "Gauged from"), ("to", "Gauged to"))
                if name in far]
        self.taken.setText(" ".join([*said, *wrong]))
        self.taken.setVisible(bool(self.taken.text()))

    def columns(self) -> dict[str, bool]:
        """Which optional columns are on."""
        return {name: button.isChecked() for name, button in self.switches.items()}

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Enter and Down in a field."""
        if event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            plain = not event.modifiers() & Qt.KeyboardModifier.ControlModifier  # with it, it saves
            if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and plain:
                self.entered.emit()
                return True
            if event.key() == Qt.Key.Key_Down:
                self.down.emit()
                return True
        return super().eventFilter(watched, event)
