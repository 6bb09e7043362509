"""The debrief of a drill: gone through as it was shown, noise and all; the truth is laid over it when somebody asks."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np
from PySide6.QtCore import QEvent, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QHideEvent, QKeyEvent, QKeySequence, QResizeEvent, QShortcut
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QSlider,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from dipbook.debrief.shown import Then, then
from dipbook.debrief.told import Debrief
from dipbook.rig.model import Rig
from dipbook_app import debrief_words as words
from dipbook_app.debrief_words import LOGGED, WAS_SO, LineOf
from dipbook_app.display import DisplayUnits
from dipbook_app.theme import Look
from dipbook_app.widgets.debrief_plot import LANE_WORDS, DebriefPlot
from dipbook_app.widgets.line_label import LineLabel
from dipbook_app.widgets.plain_table import WholeCells, make_plain
from dipbook_app.widgets.text_size import FONT_EVENTS, scaled

TICK_MS = 100
SPEEDS = (30, 60, 120, 300)
"""Times faster than the drill was, when it is played."""
STEP_MS = 1000
"""What the slider moves by [ms]."""
TABLE_SHARE, WORDS_SHARE = 4, 5
DRILL = "DRILL: not the well"
FIRST = ("A training drill: everything in it is invented. Go through it first as it was shown. Space plays it, → goes "
         "to the next reading, N to the next thing that was done or warned of. T then lays what was so over it and "
         "tells what was done.")
HEADINGS = ("At", "", "What")


class DebriefView(QWidget):
    """Replays a drill. Keys: Space plays and pauses, + and − its speed; → and ← the next reading and the one before;
    N and P the next thing that was done, warned of or, with the truth, was so, and the one before; Home and End; Page
    up and Page down read the words; T the truth; R makes the record; Esc closes.

    Signals: closed(); record_wanted(Debrief, Rig): make its signed record.
    """

    closed = Signal()
    record_wanted = Signal(object, object)

    def __init__(self, look: Look | None = None, unit_set: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._unit_set = unit_set
        self._told: Debrief | None = None
        self._rig: Rig | None = None
        self._units: DisplayUnits | None = None
        self._lines: tuple[LineOf, ...] = ()
        self._trend: Callable[[int], Then] | None = None
        self._t_ms, self._truth, self._speed = 0, False, SPEEDS[1]
        self._sections: tuple[tuple[str, str], ...] = ()
        self._setting = False
        self.drill = QLabel(DRILL)
        self.drill.setProperty("part", "outlined")
        self.title = LineLabel("", "title", smaller=("strong", "firm"))
        self.plot = DebriefPlot(look or Look())
        self.plot.at.connect(self.go_to)
        self.now = LineLabel("", "strong", smaller=("firm",))
        self.slider = QSlider(Qt.Orientation.Horizontal)
        self.slider.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.slider.setAccessibleName("Time of the drill")
        self.slider.valueChanged.connect(self._slid)
        self.table = self._table()
        self._body = QWidget()
        self._stack = QVBoxLayout(self._body)
        self._stack.setContentsMargins(0, 0, 6, 0)
        self._stack.setSpacing(4)
        self.area = QScrollArea()
        self.area.setWidget(self._body)
        self.area.setWidgetResizable(True)
        self.area.setFrameShape(QFrame.Shape.NoFrame)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.said = LineLabel("", "strong", smaller=("firm", "note"), lines=2)
        self.play_button = self._button("Play\nSpace", self.play)
        self.buttons = (
            self.play_button, self._button("Reading\n← →", self.next_reading), self._button("Next\nN", self.next_mark),
            self._button("Before\nP", self.last_mark), self._button("Truth\nT", self.show_truth),
            self._button("Record\nR", self.ask_record), self._button("Close\nEsc", self.closed.emit))
        self.truth_button = self.buttons[4]
        self.truth_button.setCheckable(True)
        foot = QHBoxLayout()
        foot.setSpacing(scaled(self, 8))
        for button in self.buttons:
            foot.addWidget(button)
        foot.addStretch(1)
        self._timer = QTimer(self)
        self._timer.setInterval(TICK_MS)
        self._timer.timeout.connect(self.tick)
        left = QVBoxLayout()
        left.addWidget(self.plot, 1)
        left.addWidget(self.slider)
        left.addWidget(self.now)
        left.addLayout(foot)
        right = QVBoxLayout()
        right.addWidget(self.table, TABLE_SHARE)
        right.addWidget(self.area, WORDS_SHARE)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        top = QHBoxLayout()
        top.addWidget(self.title, 1)
        top.addWidget(self.drill)
        grid.addLayout(top, 0, 0, 1, 2)
        grid.addLayout(left, 1, 0)
        grid.addLayout(right, 1, 1)
        grid.addWidget(self.said, 2, 0, 1, 2)
        self.said.hide()
        grid.setColumnStretch(0, 3)
        grid.setColumnStretch(1, 2)
        grid.setRowStretch(1, 1)
        self._keys()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setFocusProxy(self.table)

    def sizeHint(self) -> QSize:
        return QSize(1000, 600)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self.plot.set_look(look)

    def say(self, words: str) -> None:
        """Say what was done, on a line that takes no room while there is nothing. words: "" for nothing."""
        self.said.setText(words)
        self.said.setVisible(bool(words))

    def show_units(self, unit_set: str) -> None:
        """Write in another set of units. unit_set: its name, "" for the rig's own."""
        self._unit_set = unit_set
        if self._told is not None and self._rig is not None:
            at, truth = self._t_ms, self._truth
            self.show_debrief(self._told, self._rig)
            self._truth = truth
            self.truth_button.setChecked(truth)
            self.go_to(at)

    # --- showing ------------------------------------------------------------------------------------------------

    def show_debrief(self, told: Debrief, rig: Rig) -> None:
        """Show a drill from its beginning, without the truth. told: the drill; rig: that it ran on."""
        self.pause()
        self._told, self._rig, self._truth = told, rig, False
        units = self._units = DisplayUnits(rig, self._unit_set)
        self._lines = words.lines(told, units)
        self._trend = lru_cache(maxsize=512)(lambda t_ms: then(told.records, told.shown, t_ms))
        self.title.setText(words.title(told, units))
        self.say("")
        self.truth_button.setChecked(False)
        self.plot.show_drill(told, self._lines, units)
        self._setting = True
        self.slider.setRange(0, max(1, (told.about.ended_ms - told.about.began_ms) // STEP_MS))
        self._setting = False
        self.go_to(told.about.began_ms)

    @property
    def t_ms(self) -> int:
        """The moment that is shown [UTC ms]."""
        return self._t_ms

    @property
    def truth_shown(self) -> bool:
        """What was so lies over it."""
        return self._truth

    @property
    def playing(self) -> bool:
        """It is being played."""
        return self._timer.isActive()

    def readings(self) -> tuple[tuple[str, str], ...]:
        """The sections in words, heading first."""
        return self._sections

    def rows(self) -> tuple[tuple[str, ...], ...]:
        """The rows of the table, as they read."""
        cells = [[self.table.item(r, c) for c in range(len(HEADINGS))] for r in range(self.table.rowCount())]
        return tuple(tuple("" if cell is None else cell.text() for cell in row) for row in cells)

    def go_to(self, t_ms: int) -> None:
        """Show the drill as it stood at a moment [UTC ms]."""
        told, units, trend = self._told, self._units, self._trend
        if told is None or units is None or trend is None:
            return
        self._t_ms = min(max(int(t_ms), told.about.began_ms), told.about.ended_ms)
        as_then = trend(self._known(self._t_ms))
        self.plot.show_then(as_then, self._t_ms, self._truth)
        self._setting = True
        self.slider.setValue((self._t_ms - told.about.began_ms) // STEP_MS)
        self._setting = False
        last = np.flatnonzero(np.isfinite(as_then.difference_m3))
        value, u = (None, None) if not len(last) else (float(as_then.difference_m3[last[-1]]),
                                                       float(as_then.u_m3[last[-1]]))
        self.now.setText(f"{units.clock(self._t_ms)}  " + words.at_moment(told, value, u, self._t_ms, units))
        self._fill()
        self._tell()

    def _known(self, t_ms: int) -> int:
        """The last moment at which something was learned by then: what was shown didn't change since."""
        assert self._told is not None
        at = int(np.searchsorted(self._learned(), t_ms, side="right")) - 1
        return int(self._learned()[at]) if at >= 0 else t_ms

    def _learned(self) -> np.ndarray:
        assert self._told is not None
        return np.unique(np.array([*(r.learned_ms for r in self._told.records), *self._told.shown.learned_ms.tolist()],
                                  dtype=np.int64))

    def _slid(self, value: int) -> None:
        if not self._setting and self._told is not None:
            self.go_to(self._told.about.began_ms + value * STEP_MS)

    # --- what the keys do ---------------------------------------------------------------------------------------

    def play(self) -> None:
        """Play on, or pause; from the beginning where it is over."""
        if self.playing:
            self.pause()
        elif self._told is not None:
            if self._t_ms >= self._told.about.ended_ms:
                self.go_to(self._told.about.began_ms)
            self._timer.start()
            self.play_button.setText("Pause\nSpace")

    def pause(self) -> None:
        """Stand still."""
        self._timer.stop()
        self.play_button.setText("Play\nSpace")

    def tick(self) -> None:
        """A step of what is played."""
        if self._told is None:
            return
        self.go_to(self._t_ms + self._speed * TICK_MS)
        if self._t_ms >= self._told.about.ended_ms:
            self.pause()

    def faster(self, by: int) -> None:
        """by: 1 for a faster speed, −1 for a slower one."""
        at = min(max(SPEEDS.index(self._speed) + by, 0), len(SPEEDS) - 1)
        self._speed = SPEEDS[at]
        self.say(f"Plays {self._speed} times as fast as it was.")

    def next_reading(self) -> None:
        """On to the next reading."""
        self._step(self._readings(), 1)

    def last_reading(self) -> None:
        """Back to the reading before."""
        self._step(self._readings(), -1)

    def next_mark(self) -> None:
        """On to the next thing that was done or warned of; with the truth, or was so."""
        self._step(self._marks(), 1)

    def last_mark(self) -> None:
        """Back to the one before."""
        self._step(self._marks(), -1)

    def _readings(self) -> list[int]:
        return [] if self._told is None else sorted(set(self._told.shown.learned_ms.tolist()))

    def _marks(self) -> list[int]:
        return sorted({x.t_ms for x in self._lines if x.kind != LOGGED and (self._truth or x.kind != WAS_SO)})

    def _step(self, times: list[int], by: int) -> None:
        self.pause()
        ahead = [t for t in times if t > self._t_ms] if by > 0 else [t for t in reversed(times) if t < self._t_ms]
        if ahead:
            self.go_to(ahead[0])
        elif self._told is not None:
            self.go_to(self._told.about.ended_ms if by > 0 else self._told.about.began_ms)

    def show_truth(self) -> None:
        """Lay what was so over it, or take it away."""
        self._truth = not self._truth
        self.truth_button.setChecked(self._truth)
        self.go_to(self._t_ms)
        self.area.verticalScrollBar().setValue(0)

    def ask_record(self) -> None:
        """Ask for the drill's record."""
        if self._told is not None:
            self.record_wanted.emit(self._told, self._rig)

    def _keys(self) -> None:
        for keys, act in (("Space", self.play), ("Right", self.next_reading), ("Left", self.last_reading),
                          ("N", self.next_mark), ("P", self.last_mark), ("T", self.show_truth),
                          ("R", self.ask_record), ("+", lambda: self.faster(1)), ("-", lambda: self.faster(-1)),
                          ("PgDown", lambda: self.read_on(1)), ("PgUp", lambda: self.read_on(-1)),
                          ("Home", lambda: self._end(first=True)), ("End", lambda: self._end(first=False)),
                          ("Esc", self.closed.emit)):
            shortcut = QShortcut(QKeySequence(keys), self)
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            shortcut.activated.connect(act)

    def read_on(self, pages: int) -> None:
        """Read on in the words. pages: +1 or −1."""
        bar = self.area.verticalScrollBar()
        bar.setValue(bar.value() + pages * max(20, self.area.viewport().height() - 30))

    def _end(self, *, first: bool) -> None:
        self.pause()
        if self._told is not None:
            self.go_to(self._told.about.began_ms if first else self._told.about.ended_ms)

    # --- the words ----------------------------------------------------------------------------------------------

    def _fill(self) -> None:
        """The table of what had happened, the newest in sight."""
        units, marks = self._units, self.plot.marks()
        assert units is not None
        self.table.setRowCount(len(marks))
        for row, mark in enumerate(marks):
            for column, text in enumerate((units.time(mark.t_ms), LANE_WORDS[mark.kind], mark.words)):
                item = self.table.item(row, column)
                if item is None:
                    item = QTableWidgetItem()
                    item.setTextAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
                    self.table.setItem(row, column, item)
                if item.text() != text:
                    item.setText(text)
        past = [n for n, mark in enumerate(marks) if mark.t_ms <= self._t_ms]
        self._setting = True
        self.table.setCurrentCell(past[-1] if past else -1, 0)
        self._setting = False
        self._reach()
        QTimer.singleShot(0, self, self._reach)     # the rows have their heights after this

    def _reach(self) -> None:
        """Rows as high as their words, the chosen one in sight."""
        self.table.resizeRowsToContents()
        item = self.table.currentItem()
        if item is not None:
            self.table.scrollToItem(item, QTableWidget.ScrollHint.PositionAtBottom)

    def _tell(self) -> None:
        told, units = self._told, self._units
        assert told is not None
        assert units is not None
        made: tuple[tuple[str, str], ...] = (("", FIRST),)
        if self._truth:
            made = (("What was done", "\n".join(words.procedure(told, units))),
                    ("What could have been seen", "\n".join(words.seeable(told, units))),
                    ("What it was called", words.naming(told)),
                    ("Counts", words.rates_words(told.score.rates, told.window_ms, units)))
        made = tuple(x for x in made if x[1])
        if made == self._sections:
            return
        self._sections = made
        while (item := self._stack.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        for heading, text in made:
            for said, part in ((heading, "firm"), (text, "note")):
                if said:
                    label = QLabel(said)
                    label.setProperty("part", part)
                    label.setWordWrap(True)
                    label.setTextFormat(Qt.TextFormat.PlainText)
                    self._stack.addWidget(label)
        self._stack.addStretch(1)

    def _chosen(self) -> None:
        """A row was chosen: go there."""
        marks, row = self.plot.marks(), self.table.currentRow()
        if not self._setting and 0 <= row < len(marks):
            self.pause()
            self.go_to(marks[row].t_ms)

    def _table(self) -> QTableWidget:
        table = QTableWidget(0, len(HEADINGS))
        table.setHorizontalHeaderLabels(list(HEADINGS))
        table.setSelectionMode(QTableWidget.SelectionMode.SingleSelection)
        table.setVerticalScrollMode(QTableWidget.ScrollMode.ScrollPerPixel)
        make_plain(table, "What happened in the drill")
        table.setItemDelegateForColumn(len(HEADINGS) - 1, WholeCells(table))
        table.setWordWrap(True)
        header = table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(len(HEADINGS) - 1, QHeaderView.ResizeMode.Stretch)
        table.cellClicked.connect(lambda *_: self._chosen())
        table.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Expanding)
        return table

    def _button(self, text: str, act: Callable[[], None]) -> QPushButton:
        button = QPushButton(text)
        button.setProperty("part", "form")
        button.setAutoDefault(False)
        button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        button.clicked.connect(lambda _=False: act())
        return button

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Nothing of its own: the keys are shortcuts of the view."""
        event.ignore()

    def hideEvent(self, event: QHideEvent) -> None:
        """Nothing plays that nobody sees."""
        self.pause()
        super().hideEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Words wrap anew."""
        super().resizeEvent(event)
        QTimer.singleShot(0, self, self._reach)     # the table has its new size after this

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the text."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "buttons"):
            self._reach()
