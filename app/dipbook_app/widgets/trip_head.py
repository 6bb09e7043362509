"""The head of the Trip page: which trip, the answer, how near the limits, the flow checks, and a hold point's strip."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from dipbook.situation import TripView
from dipbook_app import trip_words
from dipbook_app.display import DisplayUnits
from dipbook_app.theme import Look
from dipbook_app.widgets.line_label import LineLabel
from dipbook_app.widgets.notice_label import EDGE_X, EDGE_Y, NoticeLabel
from dipbook_app.widgets.pair_label import PairLabel
from dipbook_app.widgets.text_size import FONT_EVENTS, restyle
from dipbook_app.widgets.trip_answer import TripAnswer

HOLD_LINES = 2
CHECK_WORDS = "Flow check\nCtrl+F"


class TripHead(QWidget):
    """Signals: check_wanted(): the clock of a flow check."""

    check_wanted = Signal()

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title = LineLabel("", "title", smaller=("strong", "firm"))
        self.clock = LineLabel("", "small")
        self.clock.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.answer = TripAnswer(look)
        self.near = PairLabel("strong")
        self.checks = tuple(LineLabel("", "note") for _ in range(trip_words.PROMPTS_SHOWN))
        self.check_button = QPushButton(CHECK_WORDS)
        self.check_button.setProperty("part", "big")
        self.check_button.setAutoDefault(False)
        self.check_button.clicked.connect(self.check_wanted)
        self.unfilled = NoticeLabel("soft")
        self.hold = NoticeLabel("soft")
        self.place = QWidget()
        keeping = QVBoxLayout(self.place)
        keeping.setContentsMargins(0, 0, 0, 0)
        keeping.setSpacing(0)
        keeping.addWidget(self.near)
        keeping.addWidget(self.unfilled)
        keeping.addWidget(self.hold)
        keeping.addStretch(1)
        self._first = first = QHBoxLayout()
        first.setSpacing(12)
        first.addWidget(self.title)
        first.addWidget(self.clock)
        left = QVBoxLayout()
        left.setSpacing(0)
        left.addLayout(first)
        left.addWidget(self.answer)
        top = QHBoxLayout()
        top.setSpacing(16)
        top.addLayout(left, 1)
        top.addWidget(self.check_button)
        self._line = QHBoxLayout()
        self._line.setSpacing(12)
        named = QLabel("Flow checks:")
        named.setProperty("part", "note")
        for line in self.checks:
            self._line.addWidget(line)
        self._line.insertWidget(0, named)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(2)
        whole.addLayout(top)
        whole.addLayout(self._line)
        whole.addWidget(self.place)
        self.unfilled.turned.connect(self._keep_room)
        self.hold.turned.connect(self._keep_room)
        self._keep_room()

    def show_trip(self, trip: TripView, now_ms: int, units: DisplayUnits) -> None:
        """trip: under way, or the last one; now_ms: the desk's clock [UTC ms]."""
        self.title.setText(trip.title)
        words, strong = trip_words.clock(trip, now_ms, units)
        self.clock.setText(words)
        _dress(self.clock, "firm" if strong else "small")
        self._first.setStretch(0, self.title.needed)
        self._first.setStretch(1, self.clock.needed)
        self.answer.show_answer(trip_words.answer(trip, units))
        near = (trip_words.last_rows(trip, units), trip_words.near_limits(trip, units))
        self.near.set_texts(*(near if near[0] else (near[1], "")))
        shown = trip_words.prompts(trip)
        for k, line in enumerate(self.checks):
            one = shown[k] if k < len(shown) else None
            ended = trip.ended_ms is not None
            line.setText("" if one is None else trip_words.prompt(one, units, ended=ended))
            _dress(line, "outlined" if one is not None and one.state == "due" and not ended else "note")
            self._line.setStretch(k + 1, line.needed + EDGE_X)
        words, open_ = trip_words.hold(trip, now_ms, units)
        unfilled = trip_words.unfilled(trip)
        self.near.setVisible(not trip_words.in_its_place(trip))  # else the limits stand above, in few words
        self.unfilled.show_words(unfilled, "outlined" if trip.fill_due else "soft")
        self.hold.show_words(words if open_ or trip.holds or not unfilled else "", "bad" if open_ else "soft")

    def changeEvent(self, event: QEvent) -> None:
        """Keep room for the text's new size."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "place"):
            self._keep_room()

    def _keep_room(self) -> None:
        """A hold point has two lines kept for it, where else the limits stand; one that takes more takes it."""
        for line in self.checks:  # as high as one that is due, with its edge
            line.setMinimumHeight(self.fontMetrics().lineSpacing() + EDGE_Y)
        room = HOLD_LINES * self.hold.fontMetrics().lineSpacing() + EDGE_Y
        both = self.unfilled.minimumHeight() + self.hold.minimumHeight()
        self.place.setMinimumHeight(max(room, both) if self.unfilled.text() and self.hold.text() else room)

    def lines(self) -> tuple[LineLabel, ...]:
        """Its lines of words that are shown."""
        return tuple(line for line in (self.title, self.clock, self.near.first, self.near.second, *self.checks)
                     if line.isVisible())


def _dress(label: LineLabel, part: str) -> None:
    if label.property("part") != part:
        label.setProperty("part", part)
        restyle(label)
