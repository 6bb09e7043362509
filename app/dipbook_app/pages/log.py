"""The Log page: every record in time order, newest at the bottom; add, correct, strike out, filter."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QEvent, QModelIndex, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QSizePolicy,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from dipbook import records
from dipbook.entries.kinds import ENTRY_KINDS
from dipbook.entries.words import LABELS
from dipbook.records import Record
from dipbook.situation import Situation
from dipbook_app.current import current
from dipbook_app.drafts import Drafts
from dipbook_app.log_model import KIND, LATE, RECORD, TIME, WHAT, WHO, LogFilter, LogModel, correctable, strikeable
from dipbook_app.unsaved import Unsaved
from dipbook_app.widgets.drop_list import DropList
from dipbook_app.widgets.entry_panel import EntryPanel
from dipbook_app.widgets.files_view import FilesView
from dipbook_app.widgets.line_label import LineLabel
from dipbook_app.widgets.plain_table import make_plain
from dipbook_app.widgets.running_strip import RunningStrip
from dipbook_app.widgets.text_size import FONT_EVENTS, scaled
from dipbook_app.widgets.words_label import WordsLabel

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

HOUR_MS = 3_600_000
MINUTE_MS = 60_000
SPANS: tuple[tuple[str, int | None], ...] = (
    ("All times", None), ("Last hour", HOUR_MS), ("Last 4 hours", 4 * HOUR_MS), ("Last 12 hours", 12 * HOUR_MS),
    ("Last 24 hours", 24 * HOUR_MS), ("Last 7 days", 168 * HOUR_MS))
WIDTHS = {TIME: 124, KIND: 190, WHO: 182, LATE: 140}
ROW = 36
BOX_WIDTH, BOX_MOST = 110, 300
"""The least and the largest width of a filter's list [px]."""
KIND_BESIDE_A_FORM = 150
LEAST_WHAT = 400
"""Room for a row's words before the other columns give way [px]."""
BUTTON_WIDTH = 132
INSTEAD = {
    records.RIG: "The rig is changed on the Rig page, and its limits on the Limits page.",
    records.TRIP_ROW: "A row of a trip is corrected on the Trip page: Up, choose it, Enter. It can be struck out here.",
    records.WARNING: "What a warning did stays as it was. Acknowledge and close it in the strip at the top.",
    records.SAMPLES: "Readings are struck out by tank and time: Add entry, Void.",
    records.UNWATCHED: "That nobody watched stays as it was. A remark may say why: Add entry, Remark.",
    "void": "What was struck out stays so. Enter it again: Add entry."}
"""Kind of record that no form corrects -> what to do instead."""
MOVES = (Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_PageUp, Qt.Key.Key_PageDown, Qt.Key.Key_Home, Qt.Key.Key_End)


class LogPage(QWidget):
    """The table, its filter, and the panel in which entries are written.

    desk: takes the entries. drafts: keeps what is typed in a form, or None.
    In the table: Insert adds, Enter corrects, Delete strikes out; Ctrl+I adds files.
    Signals: saved(str): what was saved, in words. round_wanted(Record): a round to be corrected on its own page.
    unsaved_turned(): what is typed and not saved may be another.
    """

    saved = Signal(str)
    unsaved_turned = Signal()
    round_wanted = Signal(object)

    def __init__(self, desk: Desk, drafts: Drafts | None = None, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self._now_ms = 0
        self._at_bottom = True
        self.model = LogModel(self)
        self.filter = LogFilter(self)
        self.filter.setSourceModel(self.model)
        self.table = self._table()
        self.detail = QLabel()
        self.detail.setWordWrap(True)
        self.detail.setMinimumHeight(3 * self.detail.fontMetrics().lineSpacing())
        self.detail.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.detail.setProperty("part", "soft")
        self.words = WordsLabel()
        self.panel = EntryPanel(desk, drafts)
        self.panel.saved.connect(self._saved_here)
        self.panel.turned.connect(self._panel_turned)
        self.panel.closed.connect(self.table.setFocus)
        self.panel.turned.connect(self.unsaved_turned)
        if drafts is not None:
            drafts.turned.connect(self.unsaved_turned)
        self.running = RunningStrip(desk)
        self.running.stop_wanted.connect(self.panel.stop)
        self.files = FilesView(desk)
        self.files.saved.connect(self._files_added)
        self.files.closed.connect(self.close_files)
        self.files.hide()
        self.body = QWidget()
        left = QVBoxLayout(self.body)
        left.setContentsMargins(0, 0, 0, 0)
        left.addLayout(self._filters())
        left.addWidget(self.running)
        left.addWidget(self.table, 1)
        left.addWidget(self.detail)
        left.addLayout(self._actions())
        layout = QHBoxLayout(self)
        layout.addWidget(self.body, 1)
        layout.addWidget(self.files, 1)
        layout.addWidget(self.panel)
        self._choose_row()
        self.setFocusProxy(self.table)

    def show_situation(self, situation: Situation) -> None:
        """Take in new records; stay at the bottom if the table was there."""
        self._now_ms = situation.now_ms
        at_bottom, before = self._at_bottom, self.filter.rowCount()
        self.model.show_situation(situation)
        self._name_tanks(tuple(tank.name for tank in situation.rig.tanks))
        self.running.show_situation(situation)
        self._filter()
        if at_bottom and self.filter.rowCount() != before:
            self.table.scrollToBottom()

    def show_units(self, unit_set: str) -> None:
        """Write quantities in a set of units instead of the rig's own. unit_set: a name of UNIT_SETS or ""."""
        self.model.unit_set = unit_set
        self.model.show_situation(current(self.desk))

    def show_kinds(self, kinds: Sequence[str]) -> None:
        """Show the records of these kinds only; all of them for none."""
        wanted = frozenset(kinds)
        self.tanks.setCurrentIndex(0)
        for place in range(self.kinds.count()):
            if self.kinds.itemData(place) == wanted:
                self.kinds.setCurrentIndex(place)
                return
        self.kinds.addItem(", ".join(LABELS.get(kind, kind) for kind in kinds), wanted)
        self.kinds.setCurrentIndex(self.kinds.count() - 1)

    def show_tank(self, tank: str) -> None:
        """Show the dips and entries of a tank only; "" for all."""
        if self.tanks.findData(tank) < 0:
            self.tanks.addItem(tank, tank)
        self.kinds.setCurrentIndex(0)
        self.tanks.setCurrentIndex(self.tanks.findData(tank))

    def add(self, kind: str | None = None, values: Mapping[str, Any] | None = None) -> None:
        """Open the form of a new entry, or ask for its kind. values: prefilled (a hint's fields, its times too)."""
        if self.files.isVisibleTo(self):
            self.close_files()
        if kind is None:
            self.panel.choose()
        else:
            self.panel.add(kind, values)

    def offer(self, kind: str, values: Mapping[str, Any]) -> None:
        """Open the form of a new entry, all filled in, with the cursor on Save: Enter saves it as it stands."""
        self.add(kind, values)
        if self.panel.form is not None:
            self.panel.form.save_button.setFocus()

    def unsaved(self) -> tuple[Unsaved, ...]:
        """What is typed in forms and not saved, the oldest first; not of the form that is before one's eyes."""
        return self.panel.unsaved()

    def resume(self, what: Unsaved) -> None:
        """Go on with a form that isn't saved."""
        if self.files.isVisibleTo(self):
            self.close_files()
        self.panel.resume(what)

    def add_files(self) -> None:
        """Show the view in which files are looked at and added."""
        if self.panel.isVisible():
            self.panel.close_form()
        self.words.say("")
        self.body.hide()
        self.files.show()
        self.files.start()

    def close_files(self) -> None:
        """Back to the table; nothing was added."""
        self.files.hide()
        self.body.show()
        self.table.setFocus()

    def _panel_turned(self) -> None:
        """What was said of the last entry goes when the next form opens."""
        if not self.panel.isHidden():
            self.words.say("")
        self._fit_columns()

    def _files_added(self, words: str) -> None:
        self.close_files()
        self._say_saved(words)

    def correct(self) -> None:
        """Correct the chosen entry."""
        record = self.chosen()
        if record is None or self.model.struck_by(record) is not None:
            self.words.say("Choose an entry that still stands, then correct it.", "doubt")
        elif record.kind == records.ROUND:
            self.words.say("")
            self.round_wanted.emit(record)
        elif not correctable(record):
            self.words.say(INSTEAD.get(record.kind, "This can't be corrected."), "doubt")
        else:
            self.words.say("")
            self.panel.correct(record)

    def strike(self) -> None:
        """Strike out the chosen record."""
        record = self.chosen()
        if record is None or self.model.struck_by(record) is not None or not strikeable(record):
            self.words.say("Choose an entry or a round that still stands, then strike it out.", "doubt")
        else:
            self.words.say("")
            self.panel.strike(record)

    def chosen(self) -> Record | None:
        """The record of the chosen row, or None."""
        index = self.table.currentIndex()
        record = index.data(RECORD) if index.isValid() else None
        return record if isinstance(record, Record) else None

    def choose(self, uid: str) -> bool:
        """Put the cursor on a record; False if it isn't shown."""
        for row in range(self.filter.rowCount()):
            index = self.filter.index(row, TIME)
            if index.data(RECORD).uid == uid:
                self.table.setCurrentIndex(index)
                return True
        return False

    def showEvent(self, event: QShowEvent) -> None:
        """Come up at the newest, with the cursor in the table."""
        super().showEvent(event)
        if not self.table.currentIndex().isValid():
            self._choose_newest()
        self.table.scrollToBottom()
        if self.panel.isHidden() and self.files.isHidden():
            self.table.setFocus()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Columns as wide as their text, where there is room."""
        super().resizeEvent(event)
        self._fit_columns()

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the text."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "panel"):
            self._fit_columns()

    def _fit_columns(self) -> None:
        """Where there is no room the row's words come first; what is left out stands below the table."""
        for column, width in WIDTHS.items():
            self.table.setColumnWidth(column, scaled(self, width))
        self.table.verticalHeader().setDefaultSectionSize(scaled(self, ROW))
        room = self.width() - scaled(self, sum(WIDTHS.values()))
        beside_a_form = self.panel.isVisibleTo(self)
        beside = room + scaled(self, WIDTHS[WHO] + WIDTHS[LATE]) - self.panel.width()
        if beside_a_form and beside < scaled(self, LEAST_WHAT):
            self.table.setColumnWidth(KIND, scaled(self, KIND_BESIDE_A_FORM))
        self.table.setColumnHidden(LATE, beside_a_form or room < scaled(self, LEAST_WHAT))
        self.table.setColumnHidden(WHO, beside_a_form)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The table's keys."""
        if watched is self.table and event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            act = {Qt.Key.Key_Insert: self.add, Qt.Key.Key_Return: self.correct, Qt.Key.Key_Enter: self.correct,
                   Qt.Key.Key_Delete: self.strike}.get(Qt.Key(event.key()))
            if act is not None:
                act()
                return True
            if event.key() in MOVES and not self.table.currentIndex().isValid():
                self._choose_newest()
                return True
        return super().eventFilter(watched, event)

    def _saved_here(self, words: str) -> None:
        """No row is chosen after saving, so that one Enter too many corrects nothing."""
        self.table.setCurrentIndex(QModelIndex())
        self.table.clearSelection()
        self._choose_row()
        self._say_saved(words)

    def _choose_newest(self) -> None:
        if self.filter.rowCount():
            self.table.setCurrentIndex(self.filter.index(self.filter.rowCount() - 1, TIME))

    def _say_saved(self, words: str) -> None:
        self.words.say(words, "done")
        self.saved.emit(words)

    def _table(self) -> QTableView:
        table = QTableView()
        table.setModel(self.filter)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        table.setWordWrap(False)
        make_plain(table, "Log")
        header = table.horizontalHeader()
        header.setSectionResizeMode(WHAT, QHeaderView.ResizeMode.Stretch)
        bar = table.verticalScrollBar()
        bar.valueChanged.connect(lambda value: self._note_place(value >= bar.maximum() - 2))
        bar.rangeChanged.connect(lambda _least, most: bar.setValue(most) if self._at_bottom else None)
        table.installEventFilter(self)
        table.selectionModel().currentRowChanged.connect(self._choose_row)
        return table

    def _note_place(self, at_bottom: bool) -> None:
        """While the newest is in sight it stays so when rows are added or the window changes."""
        self._at_bottom = at_bottom

    def _filters(self) -> QHBoxLayout:
        self.kinds = DropList()
        self.kinds.setAccessibleName("Kinds shown")
        self.kinds.addItem("All kinds", frozenset())
        self.kinds.addItem("Entries", frozenset(ENTRY_KINDS))
        for kind in (records.ROUND, records.TRIP_ROW, *sorted(ENTRY_KINDS), records.WARNING, records.SAMPLES,
                     records.RIG, records.UNWATCHED):
            self.kinds.addItem(LABELS[kind], frozenset({kind}))
        self.tanks = DropList()
        self.tanks.setAccessibleName("Tank shown")
        self.tanks.addItem("All tanks", "")
        self.spans = DropList()
        self.spans.setAccessibleName("Time shown")
        for label, span in SPANS:
            self.spans.addItem(label, span)
        row = QHBoxLayout()
        row.setSpacing(16)
        for box in (self.kinds, self.tanks, self.spans):
            box.setProperty("tall", True)
            box.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
            box.setMinimumWidth(BOX_WIDTH)
            box.setMaximumWidth(BOX_MOST)
            box.setMaxVisibleItems(24)
            box.currentIndexChanged.connect(self._filter)
            row.addWidget(box, 3)
        self.shown = LineLabel("", "soft", smaller=("small",))
        row.addWidget(self.shown, 2)
        return row

    def _actions(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(24)
        self.add_button = QPushButton("Add entry\nIns")
        self.correct_button = QPushButton("Correct\nEnter")
        self.strike_button = QPushButton("Strike out\nDel")
        self.files_button = QPushButton("Add files\nCtrl+I")
        for button, act in ((self.add_button, lambda: self.add()), (self.correct_button, self.correct),
                            (self.strike_button, self.strike), (self.files_button, self.add_files)):
            button.setProperty("part", "big")
            button.setMinimumWidth(BUTTON_WIDTH)
            button.setAutoDefault(False)
            button.clicked.connect(act)
            row.addWidget(button)
        self.files_button.setShortcut("Ctrl+I")
        row.addWidget(self.words, 1)
        return row

    def _filter(self) -> None:
        span = self.spans.currentData()
        from_ms = (self._now_ms // MINUTE_MS) * MINUTE_MS - span if span else None
        tank = self.tanks.currentData()
        self.model.tell_of(tank)
        self.filter.show_only(self.kinds.currentData(), from_ms, None, tank)
        count, total = self.filter.rowCount(), self.model.rowCount()
        self.shown.setText(f"{count} shown" if count == total else f"{count} of {total} shown")

    def _name_tanks(self, names: tuple[str, ...]) -> None:
        for name in names:
            if self.tanks.findData(name) < 0:
                self.tanks.addItem(name, name)

    def _choose_row(self, current: QModelIndex | None = None, previous: QModelIndex | None = None) -> None:
        record = self.chosen()
        stands = record is not None and self.model.struck_by(record) is None
        self.correct_button.setEnabled(stands and record is not None
                                       and (correctable(record) or record.kind == records.ROUND))
        self.strike_button.setEnabled(stands and record is not None and strikeable(record))
        if record is None:
            self.detail.setText("Choose a row to read it whole.")
            return
        index = self.table.currentIndex()
        late = index.siblingAtColumn(LATE).data()
        text = str(index.siblingAtColumn(WHAT).data())
        self.detail.setText(f"{text} (logged {late})" if late else text)
