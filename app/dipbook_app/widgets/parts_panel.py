"""What a figure rests on, beside the page: never over the strip, never over what is pressed under stress."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QRect, Qt, QTimer, Signal, SignalInstance
from PySide6.QtGui import QColor, QFont, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
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

from dipbook.parts import Part, Parts
from dipbook_app.display import DisplayUnits, shown_words
from dipbook_app.part_words import Row, figure_words, rows
from dipbook_app.widgets.plain_table import make_plain
from dipbook_app.widgets.text_size import FONT_EVENTS

HEADINGS = ("What", "Value", "Time, age", "")
WHAT, VALUE = 0, 1
LEAST_ROW, PADDING = 34, 16
LOW = 420
"""Below this height there is no room for the words about the keys [px]."""
RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
KEYS = {"back_button": "Back\nBackspace", "entries_button": "In the log\nCtrl+Enter", "close_button": "Leave\nEsc"}
LEGEND = "Bold adds up. Enter: › goes on, Log shows the entry or the round."


class PartsPanel(QFrame):
    """Signals: taken(Part): Enter, or a click, on a part that leads somewhere. entries_wanted(): all entries behind the
    figure. back_wanted(): to the figure before. next_wanted(): the next figure of the page. left(): to be closed.
    """

    taken = Signal(object)
    entries_wanted = Signal()
    back_wanted = Signal()
    next_wanted = Signal()
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.parts: Parts | None = None
        self.shown: tuple[Row, ...] = ()
        self.setProperty("part", "panel")
        self.setAccessibleName("What a figure rests on")
        self.title, self.figure = _words("strong"), _words("title")
        self.figure.setWordWrap(False)
        self.formula, self.note, self.legend = _words("note"), _words("note"), _words("small")
        self.legend.setText(LEGEND)
        self.table = self._table()
        self.back_button = self._button(KEYS["back_button"], self.back_wanted)
        self.entries_button = self._button(KEYS["entries_button"], self.entries_wanted)
        self.close_button = self._button(KEYS["close_button"], self.left)
        keys = QHBoxLayout()
        keys.setSpacing(16)
        for button in (self.back_button, self.entries_button, self.close_button):
            keys.addWidget(button, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(10, 8, 10, 8)
        layout.setSpacing(4)
        first = QHBoxLayout()
        first.addWidget(self.title, 1)
        first.addWidget(self.figure)
        layout.addLayout(first)
        layout.addWidget(self.formula)
        layout.addWidget(self.table, 1)
        layout.addWidget(self.note)
        layout.addWidget(self.legend)
        layout.addLayout(keys)
        self.setFocusProxy(self.table)
        self.hide()

    def show_parts(self, parts: Parts, units: DisplayUnits, now_ms: int, *, back: bool, place: str = "") -> None:
        """Show a figure's parts; the cursor stays where it was on the same figure. back: there is one before. place:
        which of the page's figures, in words."""
        same = self.parts is not None and self.parts.figure == parts.figure
        row = self.table.currentRow() if same else 0
        self.parts, self.shown = parts, rows(parts, units, now_ms)
        self.title.setText(shown_words(parts.title) + (f"  ({place})" if place else ""))
        self.figure.setText(figure_words(parts, units))
        self.formula.setText(shown_words(parts.formula))
        self.note.setText(shown_words(parts.note))
        self.note.setVisible(bool(parts.note))
        self.back_button.setEnabled(back)
        self._fill()
        self.table.setCurrentCell(min(max(row, 0), len(self.shown) - 1), 0)
        self._fit()
        QTimer.singleShot(0, self, self._fit)

    def chosen(self) -> Part | None:
        """The part that the cursor is on."""
        place = self.table.currentRow()
        return self.parts.parts[place] if self.parts is not None and 0 <= place < len(self.parts.parts) else None

    def readings(self) -> tuple[str, ...]:
        """What it says, from the top."""
        labels = (self.title, self.figure, self.formula)
        return (*(label.text() for label in labels), *(f"{r.what}: {r.value}" for r in self.shown), self.note.text())

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The table's keys."""
        if not hasattr(self, "table"):
            return False
        if watched is self.table and event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            return self._key(event)
        if watched is self.table.viewport() and event.type() == QEvent.Type.Resize:
            QTimer.singleShot(0, self, self._fit_rows)
        return super().eventFilter(watched, event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc from anywhere in it; nothing typed here goes to the page below."""
        if not self._key(event):
            event.accept()

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the text."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "close_button"):
            self._fit()
            QTimer.singleShot(0, self, self._fit)

    def _key(self, event: QKeyEvent) -> bool:
        key, control = event.key(), event.modifiers() & Qt.KeyboardModifier.ControlModifier
        if key == Qt.Key.Key_Escape:
            self.left.emit()
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and control:
            self.entries_wanted.emit()
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._take()
        elif key == Qt.Key.Key_Backspace:
            self.back_wanted.emit()
        elif key in (Qt.Key.Key_Home, Qt.Key.Key_End) and self.shown:
            self.table.setCurrentCell(0 if key == Qt.Key.Key_Home else len(self.shown) - 1, 0)
        else:
            return False
        return True

    def _take(self) -> None:
        part = self.chosen()
        if part is not None and (part.follow is not None or part.uid):
            self.taken.emit(part)

    def _fill(self) -> None:
        self.table.setRowCount(len(self.shown))
        soft = QColor(self.legend.palette().windowText().color())
        for place, row in enumerate(self.shown):
            for column, text in enumerate((row.what, row.value, row.when, row.leads)):
                item = QTableWidgetItem(text)
                item.setTextAlignment(RIGHT if column == VALUE else LEFT)
                font = QFont()
                font.setBold(row.counts and column == VALUE)
                item.setFont(font)
                if not row.counts and column <= VALUE:
                    item.setForeground(soft)
                item.setToolTip(text)
                self.table.setItem(place, column, item)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Where it is low the words about the keys give way: the table comes first."""
        super().resizeEvent(event)
        low = self.height() < LOW
        self.legend.setVisible(not low)
        for button, words in KEYS.items():
            getattr(self, button).setText(words.split("\n")[0] if low else words)
            getattr(self, button).setToolTip(words.split("\n")[1])

    def _fit(self) -> None:
        header = self.table.horizontalHeader()
        for column in range(1, len(HEADINGS)):
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(WHAT, QHeaderView.ResizeMode.Stretch)
        self._fit_rows()

    def _fit_rows(self) -> None:
        """Each row as high as its words take in the width that they have."""
        metrics, width = self.table.fontMetrics(), self.table.columnWidth(WHAT) - PADDING
        for place, row in enumerate(self.shown):
            wrapped = metrics.boundingRect(QRect(0, 0, max(width, 1), 10_000), Qt.TextFlag.TextWordWrap, row.what)
            lines = (row.when.count("\n") + 1) * metrics.lineSpacing()
            self.table.setRowHeight(place, max(LEAST_ROW, max(wrapped.height(), lines) + 8))

    def _table(self) -> QTableWidget:
        table = QTableWidget(0, len(HEADINGS))
        table.setHorizontalHeaderLabels(list(HEADINGS))
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setWordWrap(True)
        table.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        make_plain(table, "Parts of the figure")
        table.setStyleSheet("QTableView::item { padding: 2px 4px; } QHeaderView::section { padding: 2px 4px; }")
        table.installEventFilter(self)
        table.viewport().installEventFilter(self)
        table.cellDoubleClicked.connect(lambda *_: self._take())
        table.cellClicked.connect(lambda _row, column: self._take() if column == len(HEADINGS) - 1 else None)
        return table

    def _button(self, words: str, wanted: SignalInstance) -> QPushButton:
        button = QPushButton(words)
        button.setProperty("part", "form")
        button.setAutoDefault(False)
        button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        button.clicked.connect(lambda _=False: wanted.emit())
        return button


def _words(part: str) -> QLabel:
    label = QLabel()
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setProperty("part", part)
    return label
