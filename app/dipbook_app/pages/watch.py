"""The Watch page: the difference first and biggest, everything else explains it."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from dipbook.cautions import RETURN_FLOW
from dipbook.situation import HintView, Situation
from dipbook_app import sentences
from dipbook_app import urgency as urgencies
from dipbook_app.display import DisplayUnits
from dipbook_app.theme import Look
from dipbook_app.urgency import Urgency
from dipbook_app.widgets.action_bar import Action, ActionBar
from dipbook_app.widgets.difference_figure import DifferenceFigure
from dipbook_app.widgets.difference_scale import DifferenceScale
from dipbook_app.widgets.line_label import LineLabel
from dipbook_app.widgets.notice_label import NoticeLabel
from dipbook_app.widgets.pair_label import PairLabel
from dipbook_app.widgets.tank_field import TankField
from dipbook_app.widgets.term_list import TermList
from dipbook_app.widgets.trend_plot import TrendPlot

THREE_COLUMNS_FROM = 1500
"""Width from which the page has three columns [px]."""
KINDS_OF_TERM = {
    "transfers": ("transfer",), "additions": ("addition",), "discards": ("discard",), "lineup": ("line-up",),
    "steel": ("depth",), "bore": ("stand filled", "depth"), "lines": ("pumps",), "cuttings": ("depth", "pumps"),
    "equipment": ("pumps",), "rates": ("rate in force",),
}
"""Which entries a term comes from."""
STOPS_SHOWN = 2


class WatchPage(QWidget):
    """Shows a Situation.

    action_wanted(name): "round", "entry", "pumps on", "pumps off", "transfer", "zero" or "stop:UID".
    hint_wanted(HintView): a person wants to log what was offered. asked(kinds): show these kinds of entry.
    tank_asked(name): show this tank's readings.
    """

    action_wanted = Signal(str)
    hint_wanted = Signal(object)
    asked = Signal(object)
    tank_asked = Signal(str)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._hint: HintView | None = None
        self._columns = 0
        self._squeezed: tuple[object, ...] = ()
        self._activity = LineLabel("", "strong")
        self._notice, self._unwatched, self._log_wrong = (
            NoticeLabel("outlined"), NoticeLabel("strong"), NoticeLabel("bad"))
        self._doubts = NoticeLabel("strong")
        self._figure = DifferenceFigure(look)
        self._since, self._near = PairLabel("soft"), PairLabel("strong")
        self._scale = DifferenceScale(look)
        self._actual, self._expected = (LineLabel("", "title", smaller=("strong", "firm")) for _ in range(2))
        self._terms = TermList(look)
        self._trend_words, self._other = PairLabel("strong"), LineLabel("", "soft")
        self._plot = TrendPlot(look)
        self._tanks = TankField(look)
        self._foot = PairLabel("note")
        self._sound = LineLabel("", "outlined")
        self._offer = LineLabel("", "", smaller=("note",))
        self._log_it = QPushButton("Log it  Ctrl+H")
        self._log_it.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self._log_it.clicked.connect(self.take_hint)
        self._bar = ActionBar(look)
        self._left = self._left_column()
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(18)
        self._grid.setVerticalSpacing(6)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 6, 12, 6)
        layout.setSpacing(3)
        for notice in self._notices:
            layout.addWidget(notice)
            notice.turned.connect(self._squeeze)
        layout.addLayout(self._grid, 1)
        offer = QHBoxLayout()
        offer.addWidget(self._offer, 1)
        offer.addWidget(self._log_it)
        layout.addLayout(offer)
        layout.addWidget(self._foot)
        layout.addWidget(self._sound)
        layout.addSpacing(4)
        layout.addWidget(self._bar)
        for part in (self._offer, self._log_it, self._sound):
            part.hide()
        self._bar.asked.connect(self.action_wanted)
        self._terms.asked.connect(lambda name: self.asked.emit(KINDS_OF_TERM.get(name, ())))
        self._figure.asked.connect(lambda: self.asked.emit(()))
        self._tanks.asked.connect(self.tank_asked)
        for pair in self.findChildren(PairLabel):
            pair.turned.connect(self._squeeze)
        self._left.setMinimumWidth(0)
        self._place(2)
        self.setFocusProxy(self._plot)

    def _left_column(self) -> QWidget:
        left = QWidget()
        column = QVBoxLayout(left)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(3)
        figures = QHBoxLayout()
        figures.addWidget(self._actual, 1)
        figures.addWidget(self._expected, 1)
        for part in (self._activity, self._figure, self._since, self._near):
            column.addWidget(part)
        column.addSpacing(4)
        column.addWidget(self._scale)
        column.addSpacing(4)
        column.addLayout(figures)
        column.addWidget(self._terms, 1)
        column.addStretch(0)
        column.addWidget(self._trend_words)
        column.addWidget(self._other)
        return left

    def _place(self, columns: int) -> None:
        """Three columns where there is room, else the trend above the tanks."""
        if columns == self._columns:
            return
        self._columns = columns
        self._figure.set_generous(columns == 3)
        self._squeezed = ()
        while self._grid.takeAt(0) is not None:
            pass
        self._grid.addWidget(self._left, 0, 0, 2, 1)
        if columns == 3:
            self._grid.addWidget(self._plot, 0, 1, 2, 1)
            self._grid.addWidget(self._tanks, 0, 2, 2, 1)
            stretches, rows = (11, 14, 12), (1, 1)
        else:
            self._grid.addWidget(self._plot, 0, 1)
            self._grid.addWidget(self._tanks, 1, 1)
            stretches, rows = (11, 15, 0), (8, 11)
        for k, stretch in enumerate(stretches):
            self._grid.setColumnStretch(k, stretch)
        for k, stretch in enumerate(rows):
            self._grid.setRowStretch(k, stretch)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._place(3 if self.width() >= THREE_COLUMNS_FROM else 2)
        self._squeeze()

    def _squeeze(self) -> None:
        """In a very low window leave out what the rest repeats, never the figure, the limit or the cautions."""
        spare = (self._terms, self._scale, self._other, self._activity)
        optional = (*self._notices, self._offer, self._sound)
        now = (self.height(), self.fontMetrics().height(), *(notice.minimumHeight() for notice in self._notices),
               *(not part.isHidden() for part in optional),
               *(pair.two_lines for pair in self.findChildren(PairLabel)))
        if now == self._squeezed:
            return
        self._squeezed = now
        for part in spare:
            part.show()
        for part in spare:
            if self._least_height() > self.height():
                part.hide()
        for part in spare:
            if part.isHidden():
                part.show()
                if self._least_height() > self.height():
                    part.hide()

    def _least_height(self) -> int:
        """The least height that holds what is shown now [px]."""
        for layout in (self._left.layout(), self.layout()):
            if layout is not None:
                layout.invalidate()
                layout.activate()
        return self.minimumSizeHint().height()

    # --- showing ------------------------------------------------------------------------------------------------

    def show_situation(self, s: Situation, units: DisplayUnits) -> None:
        """s: now; units: the crew's."""
        urgency = _of_difference(s)
        if s.difference_m3 is None:
            self._figure.show_figure("No zero yet" if s.zero_ms is None else "Unknown", "", "",
                                     sentences.figure_words(s, units), urgency)
        else:
            self._figure.show_figure(units.volume_number(s.difference_m3, sign=True), units.volume_word,
                                     units.plus_minus(s.u_m3), sentences.figure_words(s, units), urgency)
        limits = _limit_places(s, units)
        self._scale.show_difference(s.difference_m3, s.u_m3, limits, units)
        self._activity.setText(sentences.activity(s, units))
        self._notice.show_words(sentences.notice(s, units))
        self._doubts.show_words(sentences.doubts(s, units))
        missing = s.limit_gain is None or s.limit_loss is None
        self._unwatched.show_words(sentences.unwatched(s), "outlined" if missing else "strong")
        self._since.set_texts(sentences.reading(s, units), sentences.zero(s, units))
        near = [f"{text.rstrip('.')}." for text in (sentences.near_limit(s, units), sentences.coarse(s, units)) if text]
        self._near.set_texts(near[0] if near else "", near[1] if len(near) > 1 else "")
        self._actual.setText(f"Actual {units.volume(s.actual_m3)}")
        self._expected.setText(f"Expected {units.volume(s.expected_m3)}")
        self._terms.show_terms(s.terms, units)
        self._trend_words.set_texts(f"{sentences.trend(s, units)}.", f"{sentences.next_round(s, units)}.")
        self._other.setText(sentences.all_surface(s, units))
        self._plot.set_title(sentences.rig_name(s.rig))
        self._plot.show_trend(s.trend, limits, s.now_ms, units)
        self._tanks.show_tanks(s.tanks, s.rig, units)
        self._foot.set_texts(sentences.between_rounds(s, units), RETURN_FLOW)
        self._hint = s.hints[0] if s.hints else None
        _show_if(self._offer, sentences.guess(self._hint, s, units) if self._hint else "")
        self._log_it.setVisible(self._hint is not None)
        self._bar.show_actions(_actions(s, units))
        self._squeeze()

    def show_sound(self, message: str) -> None:
        """message: why there is no sound, or ""."""
        _show_if(self._sound, message)
        self._squeeze()

    def show_log_wrong(self, words: str) -> None:
        """words: what was found wrong in the log, for as long as it is open, or ""."""
        self._log_wrong.show_words(words)
        self._squeeze()

    @property
    def _notices(self) -> tuple[NoticeLabel, ...]:
        """What stands above everything else: the log, the numbers, what nothing watches."""
        return (self._log_wrong, self._notice, self._unwatched, self._doubts)

    def take_hint(self) -> None:
        """Ask to log the hint that is offered."""
        if self._hint is not None:
            self.hint_wanted.emit(self._hint)

    # --- read-outs ----------------------------------------------------------------------------------------------

    @property
    def figure(self) -> DifferenceFigure:
        """The big figure."""
        return self._figure

    @property
    def plot(self) -> TrendPlot:
        """The trend."""
        return self._plot

    @property
    def tanks(self) -> TankField:
        """The tanks."""
        return self._tanks

    @property
    def terms(self) -> TermList:
        """The terms."""
        return self._terms

    @property
    def bar(self) -> ActionBar:
        """The actions."""
        return self._bar

    @property
    def columns(self) -> int:
        """2 or 3."""
        return self._columns

    def lines(self) -> tuple[LineLabel, ...]:
        """Every line of words that is shown now."""
        return tuple(label for label in self.findChildren(LineLabel) if not label.isHidden() and label.text())

    def readings(self) -> tuple[str, ...]:
        """The words of the page, from the top."""
        notices = (label.text() for label in self._notices if not label.isHidden())
        return (*notices, *self._figure.readings(), *(label.text() for label in self.lines()))


def _actions(s: Situation, units: DisplayUnits) -> tuple[Action, ...]:
    actions = [Action("round", "New round", "F5", "Gauge the tanks"),
               Action("entry", "Log entry", "F6", "Log what explains a change"),
               Action("pumps off", "Pumps off", "F7", "Log the pumps off: opens the entry") if s.pumps_on
               else Action("pumps on", "Pumps on", "F7", "Log the pumps on: opens the entry"),
               Action("transfer", "Start transfer", "Ctrl+T", "Log a transfer as it starts")]
    stops = [r for r in s.running if r.kind in ("transfer", "discard")]
    for k, running in enumerate(stops[:STOPS_SHOWN]):
        moved = "" if running.volume_m3 is None else f" {units.volume(running.volume_m3)}"
        actions.append(Action(f"stop:{running.uid}", f"Stop {running.label}{moved}", f"Ctrl+Shift+{k + 1}",
                              f"Running since {units.time(running.since_ms)}"))
    if s.zero_ms is None:
        actions.append(Action("zero", "Zero the difference", "Ctrl+0", "Start the books from the dips now"))
    return tuple(actions)


def _of_difference(s: Situation) -> Urgency | None:
    """The urgency of an open gain or loss warning."""
    open_now = [w for w in urgencies.in_order(s.warnings) if w.kind in ("gain", "loss")]
    return urgencies.of(open_now[0]) if open_now else None


def _limit_places(s: Situation, units: DisplayUnits) -> tuple[tuple[float, str], ...]:
    def place(kind: str, sign: float) -> tuple[tuple[float, str], ...]:
        limit, _ = sentences.standing(s, kind)
        return () if limit is None else ((sign * limit.value, sentences.limit_words(limit, units)),)

    return (*place("loss", -1.0), *place("gain", 1.0))


def _show_if(label: LineLabel, text: str) -> None:
    label.setText(text)
    label.setVisible(bool(text))
