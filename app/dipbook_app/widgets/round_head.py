"""The head of the Round page: when it was gauged, by whom, who keys it, and the columns that are optional."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from dipbook_app.widgets.text_size import FONT_EVENTS, restyle, scaled

FIELDS = (("from", "Gauged from", 108), ("to", "to", 108), ("observer", "Gauged by", 230), ("keyer", "Keyed by", 230))
COLUMNS = (("time", "Time per dip"), ("second", "Second reading"), ("flag", "Foam, agitator"))


class RoundHead(QWidget):
    """Signals: changed(): something typed or switched differs. entered(): Enter in a field. down(): Down in one."""

    changed = Signal()
    entered = Signal()
    down = Signal()

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
        for name, label in COLUMNS:
            button = QPushButton(label)
            button.setCheckable(True)
            button.setProperty("tall", True)
            button.setMinimumWidth(100)
            button.setAutoDefault(False)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.toggled.connect(lambda _on: self.changed.emit())
            self.switches[name] = button
            row.addWidget(button)
        self._fit()

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the text."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "switches"):
            self._fit()

    def _fit(self) -> None:
        for name, _, width in FIELDS:
            self.fields[name].setMaximumWidth(scaled(self, width))

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
            if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
                self.entered.emit()
                return True
            if event.key() == Qt.Key.Key_Down:
                self.down.emit()
                return True
        return super().eventFilter(watched, event)
