"""The Trip page: stand by stand what the hole took against what it should, and the row that comes next, ready."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, Qt, QTimer, Signal
from PySide6.QtGui import QHideEvent, QKeyEvent, QKeySequence, QResizeEvent, QShortcut, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from dipbook.parts import Figure
from dipbook.situation import Situation, TripRowView
from dipbook_app import figures_of_pages, trip_words
from dipbook_app.current import current
from dipbook_app.display import DisplayUnits
from dipbook_app.drafts import Drafts
from dipbook_app.pages import trip_actions
from dipbook_app.pages.trip_row import TripRow
from dipbook_app.theme import Look
from dipbook_app.widgets.action_bar import BIG_MM, ActionBar
from dipbook_app.widgets.text_size import FONT_EVENTS, scaled
from dipbook_app.widgets.trip_beside import TripBeside
from dipbook_app.widgets.trip_entry import LETTERS
from dipbook_app.widgets.trip_head import TripHead
from dipbook_app.widgets.trip_plot import TripPlot
from dipbook_app.widgets.trip_sheet import TripSheet

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

BESIDE, MOST_BESIDE = 320, 0.28
"""Width of the plot's column [px], and the share of the page that it takes at most."""
LOW, LOWEST = 560, 440
"""Height for ordinary text below which the sheet's headings have one line, and below which the figure and the keys are
lower too, and one line is kept for the words of the row being typed [px]."""
LOW_KEYS_MM = 13.0
"""Flow check keeps its size: these aren't pressed under stress, and each has a key of the keyboard."""
EACH_KEY = 210
"""Width of a big key where there are few [px]."""
TRIP, TRIP_END, TRIP_DECISION = "trip", "trip end", "trip decision"
FLOW_CHECK = "flow check"


class TripPage(QWidget):
    """Shows the trip under way or the last one, and takes its rows.

    desk: takes the rows. drafts: keeps what is typed and not saved.
    Signals: entry_wanted(str, object): kind and fields of an entry. action_wanted(str): an action of the window's.
    figure_asked(Figure): what a figure rests on.
    """

    entry_wanted = Signal(str, object)
    action_wanted = Signal(str)
    figure_asked = Signal(object)

    def __init__(self, desk: Desk, drafts: Drafts, look: Look | None = None, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        look = look or Look()
        self._situation: Situation = current(desk)
        self._unit_set = ""
        self._low = self._taking = False
        self._reading: TripRowView | None = None
        self.head, self.sheet, self.plot, self.beside = TripHead(look), TripSheet(), TripPlot(look), TripBeside()
        self.row = TripRow(desk, drafts)
        self.entry = self.row.entry
        self.ended = QLabel("This trip is ended. A row can still be corrected: Up, then Enter on it.")
        self.ended.setWordWrap(True)
        self.ended.setProperty("part", "soft")
        self.bar = ActionBar(look)
        self._build()
        self.bar.asked.connect(self.act)
        self.head.check_wanted.connect(lambda: self.action_wanted.emit(FLOW_CHECK))
        for asking in (self.sheet, self.beside):
            asking.figure_asked.connect(self.figure_asked)
        self.head.answer.asked.connect(self._ask_total)
        self.sheet.taken.connect(self.row.correct)
        self.sheet.pointed.connect(self.plot.read)
        self.plot.reading.connect(self._read)
        self.sheet.left.connect(self._back)
        self.row.up.connect(self.to_sheet)
        self.row.turned.connect(self._show)
        for key, name in trip_actions.SHORTCUTS.items():
            shortcut = QShortcut(QKeySequence(key), self)
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            shortcut.activated.connect(lambda chosen=name: self.act(chosen))
        self.show_situation(self._situation)

    def show_situation(self, situation: Situation) -> None:
        """Bring the trip up to date; what is typed stays."""
        self._situation = situation
        self.row.show_situation(situation, DisplayUnits(situation.rig, self._unit_set))
        self._show()

    def show_units(self, unit_set: str) -> None:
        """Write in another set of units. unit_set: its name, "" for the rig's own."""
        if unit_set != self._unit_set:
            self._unit_set = unit_set
            self.row.take_units(DisplayUnits(self._situation.rig, unit_set))
            self.show_situation(self._situation)

    @property
    def under_way(self) -> bool:
        """True while a trip is."""
        return self._situation.trip is not None and self._situation.trip.ended_ms is None

    def act(self, name: str) -> None:
        """Do what one of the big keys says."""
        if name == trip_actions.BEGIN:
            if not self.under_way:
                self.entry_wanted.emit(TRIP, {})
        elif name == trip_actions.CORRECT:
            self.to_sheet()
        elif name == trip_actions.LEAVE:
            self.row.leave()
        elif name == trip_actions.SAVE:
            self.row.save()
        elif name in (trip_actions.DECIDE, trip_actions.END) and self.under_way:
            self.entry_wanted.emit(TRIP_DECISION if name == trip_actions.DECIDE else TRIP_END, {})
        elif name in trip_words.LABELS and self.row.taking:
            self.row.take_what(name)

    def to_sheet(self) -> None:
        """Put the cursor on the newest row of the sheet."""
        if self.sheet.rows:
            if self.sheet.chosen() is None:
                self.sheet.choose_newest()
            self.sheet.setFocus(Qt.FocusReason.OtherFocusReason)

    def to_level(self) -> None:
        """Put the cursor where the level is typed, if the page is before one's eyes and takes a row."""
        if self.isVisible() and self.row.taking:
            self.entry.focus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """A letter that the sheet left alone chooses the kind of row, as it does in an empty level."""
        what = LETTERS.get(Qt.Key(event.key()))
        if what is not None and event.modifiers() == Qt.KeyboardModifier.NoModifier and self.row.taking:
            self.row.take_what(what)
        else:
            super().keyPressEvent(event)

    def showEvent(self, event: QShowEvent) -> None:
        """Come up with the newest in sight, and the cursor where the level is typed."""
        super().showEvent(event)
        self.sheet.scrollToBottom()
        self.to_level()
        QTimer.singleShot(0, self, self.to_level)   # whatever the pages' change did with the cursor since

    def hideEvent(self, event: QHideEvent) -> None:
        """What is typed goes to the disk now."""
        super().hideEvent(event)
        self.row.drafts.flush()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The plot's column as there is room."""
        super().resizeEvent(event)
        self._fit()

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the text."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "empty"):
            self._fit()

    def _show(self) -> None:
        trip, units = self._situation.trip, DisplayUnits(self._situation.rig, self._unit_set)
        here = self.window().focusWidget()
        mine = here is None or self.isAncestorOf(here)
        self.empty.setVisible(trip is None)
        self.body.setVisible(trip is not None)
        self.teaching.setText("\n\n".join(trip_words.teaches(self._situation)))
        if trip is not None:
            now_ms = self._situation.now_ms
            self.head.show_trip(trip, now_ms, units)
            self.sheet.show_trip(trip, units)
            self.plot.show_trip(trip, units)
            if self._reading is None:
                self.beside.show_trip(trip, None)
            self.bar.show_actions(trip_actions.actions(ended=not self.under_way, correcting=self.row.correcting))
            self.entry.setVisible(self.row.taking)
            self.ended.setVisible(not self.row.taking)
        if self.row.taking and not self._taking and mine:
            self.to_level()
        self._taking = self.row.taking
        target = self.begin_button if trip is None else self.entry.first() if self.row.taking else self.sheet
        if self.focusProxy() is not target:
            self.setFocusProxy(target)
        self._fit()

    def _read(self, row: TripRowView | None) -> None:
        """A row is read, in the sheet or on the plot; None: no longer."""
        self._reading = row
        trip, units = self._situation.trip, DisplayUnits(self._situation.rig, self._unit_set)
        if trip is not None:
            self.beside.show_trip(trip, None if row is None else
                                  trip_words.read_out(row, trip, self._situation.now_ms, units))

    def figures(self) -> tuple[Figure, ...]:
        """Those that can be followed: of the chosen row, or of the newest, and what is posted."""
        return figures_of_pages.of_a_trip(self._situation.trip, self.sheet.chosen())

    def kept_clear(self) -> tuple[QWidget, ...]:
        """What nothing is laid over: the head with its hold point, and the keys."""
        return (self.head, self.bar)

    def shown_in(self, figure: Figure) -> QWidget:
        """Where a figure is shown. figure: one of the page's."""
        return self.beside if figure.name == "posted" else self.sheet

    def _ask_total(self) -> None:
        trip = self._situation.trip
        if trip is not None and (row := figures_of_pages.newest_told(trip)) is not None:
            self.figure_asked.emit(Figure("trip", row.uid, "total"))

    def _back(self) -> None:
        """From the sheet to the row being typed."""
        if self.row.taking:
            self.sheet.forget()
            self.entry.focus()

    def _fit(self) -> None:
        self.right.setFixedWidth(min(scaled(self, BESIDE), round(self.width() * MOST_BESIDE)))
        keys = len(self.bar.shown)
        lowest = self.height() < scaled(self, LOWEST)
        self.head.answer.set_low(lowest)
        low = self.height() < scaled(self, LOW)
        self.sheet.set_low(low)
        if low != self._low and self._situation.trip is not None:
            self._low = low
            self.sheet.show_trip(self._situation.trip, DisplayUnits(self._situation.rig, self._unit_set))
        self.bar.set_height(LOW_KEYS_MM if lowest else BIG_MM)
        self.entry.keep_lines(1 if lowest else 2)
        self.bar.setMaximumWidth(16_777_215 if keys > 4 else max(1, keys) * EACH_KEY)

    def _build(self) -> None:
        left = QVBoxLayout()
        left.setSpacing(4)
        left.addWidget(self.sheet, 1)
        left.addWidget(self.entry)
        left.addWidget(self.ended)
        self.right = QWidget()
        beside = QVBoxLayout(self.right)
        beside.setContentsMargins(0, 0, 0, 0)
        beside.setSpacing(4)
        beside.addWidget(self.plot, 3)
        beside.addWidget(self.beside, 2)
        middle = QHBoxLayout()
        middle.setSpacing(10)
        middle.addLayout(left, 1)
        middle.addWidget(self.right)
        keys = QHBoxLayout()
        keys.addWidget(self.bar, 1)
        keys.addStretch(0)
        self.body = QWidget()
        body = QVBoxLayout(self.body)
        body.setContentsMargins(0, 0, 0, 0)
        body.setSpacing(4)
        body.addWidget(self.head)
        body.addLayout(middle, 1)
        body.addLayout(keys)
        self.empty = QWidget()
        title = QLabel("No trip")
        title.setProperty("part", "title")
        self.teaching = QLabel()
        self.teaching.setWordWrap(True)
        self.begin_button = QPushButton("Begin a trip\nAlt+B")
        self.begin_button.setProperty("part", "big")
        self.begin_button.setAutoDefault(True)
        self.begin_button.setFixedWidth(EACH_KEY)
        self.begin_button.clicked.connect(lambda: self.act(trip_actions.BEGIN))
        column = QVBoxLayout(self.empty)
        column.setSpacing(12)
        for widget in (title, self.teaching, self.begin_button):
            column.addWidget(widget)
        column.addStretch(1)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(9, 4, 9, 4)
        whole.addWidget(self.empty)
        whole.addWidget(self.body)
