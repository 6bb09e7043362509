"""What limits were: every change with who, when and why, and the value before and after."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from dipbook.limit_record import OUT_OF_SERVICE, SHELVED, AsideChange, Change, LimitsRecord
from dipbook_app.display import DisplayUnits, shown_words
from dipbook_app.widgets.plain_table import WholeCells, make_plain

HEADINGS = ("From", "Limit", "What changed", "Who", "Why")
WHAT, WHY = HEADINGS.index("What changed"), HEADINGS.index("Why")
ALL_KEY = "Ctrl+A"
BY_ITSELF = "by itself"
"""Who, where nobody did it: a shelf ends when its time is up."""


class LimitHistory(QFrame):
    """A table of the changes of one limit, or of all, the newest first; set aside and taken up again too.

    units: the crew's. name: of the limit, "" for all of them. Ctrl+A goes between the two; Esc closes.
    Signals: closed().
    """

    closed = Signal()

    def __init__(self, units: DisplayUnits, name: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", "panel")
        self._units, self._name, self._all = units, name, not name
        self._record: LimitsRecord | None = None
        self.title = QLabel()
        self.title.setProperty("part", "title")
        self.help = QLabel("As the log has it. A limit that was withdrawn stays here; out of service and shelved too.")
        self.help.setProperty("part", "soft")
        self.help.setWordWrap(True)
        self.table = QTableWidget(0, len(HEADINGS))
        self.table.setHorizontalHeaderLabels(list(HEADINGS))
        make_plain(self.table, "History of limits")
        self.table.setWordWrap(True)
        self.table.installEventFilter(self)
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        for column in (WHAT, WHY):
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.Stretch)
            self.table.setItemDelegateForColumn(column, WholeCells(self.table))
        header.sectionResized.connect(self.table.resizeRowsToContents)
        self.table.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.all_button, self.close_button = QPushButton(), QPushButton("Leave\nEsc")
        self.all_button.clicked.connect(self.turn)
        self.close_button.clicked.connect(self.closed)
        keys = QHBoxLayout()
        keys.setSpacing(16)
        for button in (self.all_button, self.close_button):
            button.setProperty("part", "form")
            button.setAutoDefault(False)
            keys.addWidget(button)
        keys.addStretch(1)
        layout = QVBoxLayout(self)
        layout.addWidget(self.title)
        layout.addWidget(self.help)
        layout.addWidget(self.table, 1)
        layout.addLayout(keys)
        if not name:  # without a parent it would be a window of its own, and take the keyboard away
            self.all_button.hide()
        self.setFocusProxy(self.table)

    def start(self) -> None:
        """Put the cursor into the table."""
        self.table.setFocus()

    def show_record(self, record: LimitsRecord) -> None:
        """record: what the log says of its limits."""
        if self._record is None or (record.changes, record.aside) != (self._record.changes, self._record.aside):
            self._record = record
            self._show()

    def turn(self) -> None:
        """All limits in place of the one, or the one again."""
        self._all = not self._all or not self._name
        self._show()
        self.table.setFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc closes."""
        if event.key() == Qt.Key.Key_Escape:
            self.closed.emit()
        else:
            super().keyPressEvent(event)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Ctrl+A, which else would choose all rows."""
        if watched is self.table and event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent) \
                and event.key() == Qt.Key.Key_A and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.turn()
            return True
        return super().eventFilter(watched, event)

    def readings(self) -> tuple[tuple[str, ...], ...]:
        """The words of the table, row by row."""
        return tuple(tuple(self._item(row, column) for column in range(len(HEADINGS)))
                     for row in range(self.table.rowCount()))

    def _item(self, row: int, column: int) -> str:
        item = self.table.item(row, column)
        return "" if item is None else item.text()

    def _show(self) -> None:
        told: list[Change | AsideChange] = []
        if self._record is not None:
            told = sorted([*self._record.changes, *self._record.aside], key=lambda x: x.at_ms)
        shown = [x for x in reversed(told) if self._all or x.name == self._name]
        self.title.setText("History of all limits" if self._all else f"History of the limit “{self._name}”")
        self.all_button.setText(f"{'Only ' + self._name if self._all else 'All limits'}\n{ALL_KEY}")
        self.table.setColumnHidden(HEADINGS.index("Limit"), not self._all)
        self.table.setRowCount(len(shown))
        for row, change in enumerate(shown):
            local = self._units.local(change.at_ms)
            what = _words(change) if isinstance(change, Change) else self._aside_words(change)
            for column, text in enumerate((f"{local:%Y-%m-%d %H:%M}", change.name, what, change.by or BY_ITSELF,
                                           change.reason)):
                item = QTableWidgetItem(text)
                item.setToolTip(text)
                self.table.setItem(row, column, item)


    def _aside_words(self, x: AsideChange) -> str:
        """That a limit was set aside, with what was watched instead, or taken up again."""
        if x.how == OUT_OF_SERVICE:
            return shown_words("Out of service" + (f"\nInstead: {x.instead}" if x.instead else ""))
        if x.how == SHELVED and x.until_ms is not None:
            until = self._units.time_near(x.until_ms, x.at_ms)
            return f"Shelved until {until}{', or until it has come and gone' if x.once else ''}"
        return x.how.capitalize()


def _words(change: Change) -> str:
    """What changed, without the limit's name before each of it."""
    lead = f"Limit {change.name}"
    said = [words.removeprefix(lead).lstrip(":, ") for words in change.words]
    if change.before is None:
        said = [words.removeprefix("added: ").removesuffix(f", set by {change.by}") for words in said]
        said[:1] = [f"set: {said[0]}"] if said else ["set"]
    elif change.after is None:
        said = [words.replace("removed", "withdrawn") for words in said]
    return shown_words("\n".join(f"{words[:1].upper()}{words[1:]}" for words in said)
                       or "Set anew, as it was: who, why or since when differ")
