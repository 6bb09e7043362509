"""The Watch page: the difference first and biggest, everything else explains it."""

from __future__ import annotations

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QGridLayout,
    QHBoxLayout,
    QLayout,
    QPushButton,
    QSizePolicy,
    QSpacerItem,
    QVBoxLayout,
    QWidget,
)

from dipbook.cautions import RETURN_FLOW
from dipbook.parts import Figure
from dipbook.situation import HintView, Situation
from dipbook_app import sentences, sentences_of_calls
from dipbook_app.answer import answer, limit_places, urgency
from dipbook_app.display import DisplayUnits
from dipbook_app.limit_words import handed_over_words
from dipbook_app.pages import watch_actions
from dipbook_app.pages.watch_figures import FiguresOfWatch
from dipbook_app.theme import Look
from dipbook_app.widgets.action_bar import GAP_MM, ActionBar
from dipbook_app.widgets.asking_line import AskingLine
from dipbook_app.widgets.difference_figure import DifferenceFigure
from dipbook_app.widgets.difference_scale import DifferenceScale
from dipbook_app.widgets.figure_line import FigureLine
from dipbook_app.widgets.line_label import LineLabel
from dipbook_app.widgets.notice_flow import NoticeFlow
from dipbook_app.widgets.notice_label import NoticeLabel
from dipbook_app.widgets.notice_rows import NoticeRows
from dipbook_app.widgets.pair_label import PairLabel
from dipbook_app.widgets.tank_field import TankField
from dipbook_app.widgets.term_list import TermList
from dipbook_app.widgets.trend_plot import TrendPlot

THREE_COLUMNS_FROM = 1500
"""Width from which the page has three columns [px]."""
ARRANGEMENTS = ((False, True, True), (True, True, True), (False, False, True), (True, False, False))
"""What a lower window is left with, in order: the words beside the figure?, the trend?, the tanks?"""
RATES = ("rate in force",)
"""The entries behind the rates in force."""


class WatchPage(QWidget):
    """Shows a Situation.

    action_wanted(name): the name of an action of watch_actions. notice_wanted(name, uid): "answer", "start" or
    "call off" a notice.
    hint_wanted(HintView): a person wants to log what was offered. asked(kinds): show these kinds of entry.
    figure_asked(Figure): what a figure rests on.
    """

    action_wanted = Signal(str)
    notice_wanted = Signal(str, str)
    hint_wanted = Signal(object)
    asked = Signal(object)
    figure_asked = Signal(object)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._hint: HintView | None = None
        self._columns = 0
        self._squeezed: tuple[object, ...] = ()
        self._squeezing = False
        self._settle = QTimer(self)  # what was just shown or polished has its height only afterwards
        self._settle.setSingleShot(True)
        self._settle.setInterval(0)
        self._settle.timeout.connect(self._arrange)
        self._activity = LineLabel("", "strong", smaller=("firm",))
        self._notice, self._unwatched, self._log_wrong = (
            NoticeLabel("outlined"), NoticeLabel("strong"), NoticeLabel("bad"))
        self._doubts, self._shut_in = NoticeLabel("strong"), NoticeLabel("bad")
        self._gauges = NoticeLabel("outlined")
        self._signs, self._approved = NoticeLabel("outlined"), NoticeLabel("outlined")
        self._figure = DifferenceFigure(look)
        self._since, self._near = PairLabel("soft"), PairLabel("strong")
        self._scale = DifferenceScale(look)
        self._actual, self._expected = (FigureLine("title", smaller=("strong", "firm")) for _ in range(2))
        self._terms = TermList(look)
        self._trend_words, self._other = PairLabel("strong"), FigureLine("soft")
        self._drift = LineLabel("", "strong", smaller=("firm", "note"))
        self._plot = TrendPlot(look)
        self._tanks = TankField(look)
        self._stock, self._rates = PairLabel("note"), AskingLine("note")
        self._calls = NoticeRows()
        self._foot = PairLabel("note")
        self._sound = LineLabel("", "outlined")
        self._offer = LineLabel("", "", smaller=("note",))
        self._log_it = QPushButton("Log it  Ctrl+H")
        self._log_it.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self._log_it.clicked.connect(self.take_hint)
        self._bar, self._lower = ActionBar(look), ActionBar(look, low=True)
        self._left = self._left_column()
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(18)
        self._grid.setVerticalSpacing(6)
        layout = QVBoxLayout(self)
        layout.setSizeConstraint(QLayout.SizeConstraint.SetNoConstraint)  # the page decides what has room
        layout.setContentsMargins(12, 4, 12, 4)
        layout.setSpacing(3)
        self._flow = NoticeFlow(self._notices)
        self._flow.turned.connect(self._squeeze)
        layout.addWidget(self._flow)
        layout.addLayout(self._grid, 1)
        layout.addWidget(self._calls)
        offer = QHBoxLayout()
        offer.addWidget(self._offer, 1)
        offer.addWidget(self._log_it)
        layout.addLayout(offer)
        layout.addWidget(self._rates)
        layout.addWidget(self._foot)
        layout.addWidget(self._sound)
        layout.addSpacing(2)
        layout.addWidget(self._lower)
        layout.addSpacerItem(QSpacerItem(0, look.mm(GAP_MM) - 6, vData=QSizePolicy.Policy.Preferred))
        layout.addWidget(self._bar)
        for part in (self._offer, self._log_it, self._sound, self._rates, self._stock, self._lower):
            part.hide()
        for bar in (self._bar, self._lower):
            bar.asked.connect(self.action_wanted)
        self._calls.asked.connect(self.notice_wanted)
        self._calls.turned.connect(self._squeeze)
        self._rates.asked.connect(lambda: self.asked.emit(RATES))
        self._follow = FiguresOfWatch(self, self._figure, self._actual, self._expected, self._other, self._terms,
                                      self._tanks)
        self._follow.asked.connect(self.figure_asked)
        for pair in self.findChildren(PairLabel):
            pair.turned.connect(self._squeeze)
        self._left.setMinimumWidth(0)
        self._place(2)
        self.setFocusProxy(self._plot)

    def _left_column(self) -> QWidget:
        left = QWidget()
        self._sides = QBoxLayout(QBoxLayout.Direction.TopToBottom, left)
        self._sides.setContentsMargins(0, 0, 0, 0)
        self._sides.setSpacing(3)
        head, column = QVBoxLayout(), QVBoxLayout()
        for side in (head, column):
            side.setSpacing(3)
            self._sides.addLayout(side)
        self._sides.setStretch(1, 1)
        head.addWidget(self._activity)
        head.addWidget(self._figure)
        head.addStretch(0)
        figures = QHBoxLayout()
        figures.addWidget(self._actual, 1)
        figures.addWidget(self._expected, 1)
        for part in (self._since, self._near):
            column.addWidget(part)
        column.addSpacing(4)
        column.addWidget(self._scale)
        column.addSpacing(4)
        column.addLayout(figures)
        column.addWidget(self._terms, 1)
        column.addStretch(0)
        column.addWidget(self._drift)
        column.addWidget(self._trend_words)
        column.addWidget(self._other)
        column.addWidget(self._stock)
        return left

    def _place(self, columns: int) -> None:
        """Three columns where there is room, else the trend above the tanks."""
        if columns == self._columns:
            return
        self._columns = columns
        self._figure.set_generous(columns == 3)
        self._squeezed = ()
        self._crowd(False)

    def _crowd(self, crowded: bool) -> None:
        """crowded: the figure's words beside it, and the trend and the tanks below, beside each other."""
        while self._grid.takeAt(0) is not None:
            pass
        three = self._columns == 3
        self._grid.addWidget(self._left, 0, 0, 1 if crowded else 2, 2 if crowded else 1)
        self._grid.addWidget(self._plot, *((1, 0) if crowded else (0, 1, 2, 1) if three else (0, 1)))
        self._grid.addWidget(self._tanks, *((1, 1) if crowded else (0, 2, 2, 1) if three else (1, 1)))
        for k, stretch in enumerate((11, 14, 12) if three and not crowded else (11, 15, 0)):
            self._grid.setColumnStretch(k, stretch)
        for k, stretch in enumerate((0, 1) if crowded else (1, 1) if three else (8, 11)):
            self._grid.setRowStretch(k, stretch)
        self._sides.setDirection(QBoxLayout.Direction.LeftToRight if crowded else QBoxLayout.Direction.TopToBottom)
        self._sides.setSpacing(18 if crowded else 3)
        self._sides.setStretch(0, 1 if crowded else 0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._place(3 if self.width() >= THREE_COLUMNS_FROM else 2)
        self._bar.make_room(self.height())
        self._squeeze()

    def _squeeze(self) -> None:
        """In a low window leave out what the rest repeats, never the figure, the limit, what is abnormal or the
        cautions: short lists first, then the volumes of the trend, then the trend, then the tanks."""
        self._flow.pack()
        if self._squeezing or self._state() == self._squeezed:
            return
        self._arrange()
        self._settle.start()

    def _arrange(self) -> None:
        self._squeezing = True
        self._plot.hold(True)
        spare: list[QWidget] = [self._terms, self._scale, self._other, self._activity]
        for line, words in ((self._rates, self._rates.text()), (self._stock, self._stock.first.text())):
            line.setVisible(bool(words))
            spare[:0] = [line] if words else []
        self._calls.show_first_only(False)
        self._show_beside(*ARRANGEMENTS[0])
        for volumes in (True, False):
            self._plot.ask_for_volumes(volumes)
            for part in spare:
                part.show()
            for part in spare:
                if not self._fits() and not (volumes and part is self._activity):
                    part.hide()
            if self._fits():
                break
        if not self._fits():
            self._calls.show_first_only(True)
        for arrangement in ARRANGEMENTS[1:]:
            if not self._fits():
                self._show_beside(*arrangement)
        for part in spare:
            if part.isHidden():
                part.show()
                if not self._fits():
                    part.hide()
        self._fits()
        self._squeezed = self._state()
        self._squeezing = False
        self._plot.hold(False)

    def _show_beside(self, crowded: bool, plot: bool, tanks: bool) -> None:
        self._crowd(crowded)
        if not crowded and not plot:
            self._grid.setRowStretch(0, 0)
        self._plot.setVisible(plot)
        self._tanks.setVisible(tanks)

    def _state(self) -> tuple[object, ...]:
        """What decides how much room there is and is needed."""
        optional = (*self._notices, self._offer, self._sound, self._lower)
        return (self.width(), self.height(), self.fontMetrics().height(), bool(self._stock.first.text()),
                bool(self._rates.text()), self._calls.readings(),
                self._flow.height(), *(notice.minimumHeight() for notice in self.findChildren(NoticeLabel)),
                *(not part.isHidden() for part in optional),
                *(pair.two_lines for pair in self.findChildren(PairLabel)))

    def _fits(self) -> bool:
        """True if what is shown now has the height that it needs."""
        for _ in range(2):  # at another width some take another height
            for part in (*self._calls.rows, *self.findChildren(PairLabel), self._calls, self._left, self):
                if (layout := part.layout()) is not None:
                    layout.invalidate()
                    layout.activate()
        return self.minimumSizeHint().height() <= self.height()

    # --- showing ------------------------------------------------------------------------------------------------

    def show_situation(self, s: Situation, units: DisplayUnits) -> None:
        """s: now; units: the crew's."""
        now = answer(s, units)
        self._follow.show_situation(s)
        self._figure.show_figure(now.number, now.unit, now.plus_minus, now.words, urgency(s))
        self._scale.show_difference(now.value_m3, now.u_m3, now.limits, units)
        self._activity.setText(sentences.activity(s, units))
        self._notice.show_words(sentences.notice(s, units))
        self._gauges.show_words(sentences.gauges(s, units))
        self._doubts.show_words(sentences.doubts(s, units))
        missing = s.limit_gain is None or s.limit_loss is None
        self._unwatched.show_words(sentences.unwatched(s), "outlined" if missing else "strong")
        self._approved.show_words(handed_over_words(s.limits_record))
        self._since.set_texts(sentences.reading(s, units), sentences.zero(s, units))
        self._near.set_texts(*(*now.near, "", "")[:2])
        self._actual.setText(f"{'Active' if now.active else 'Actual'} {units.volume(s.actual_m3)}")
        self._expected.setText(f"Expected {units.volume(s.expected_m3)}")
        self._terms.show_terms(s.terms, units)
        self._trend_words.set_texts(f"{now.trend.rstrip('.') or sentences.trend(s, units)}.",
                                    f"{sentences.next_round(s, units)}.")
        _show_if(self._drift, sentences.drift(s, units))
        self._other.setText(f"{now.active}  {sentences.all_surface(s, units)}".strip())
        self._plot.set_title(sentences.rig_name(s.rig))
        self._plot.show_trend(s.trend, limit_places(s, units), s.now_ms, units)
        self._tanks.show_tanks(s.tanks, s.rig, units)
        self._foot.set_texts(sentences.between_rounds(s, units), RETURN_FLOW)
        self._hint = s.hints[0] if s.hints else None
        _show_if(self._offer, sentences.guess(self._hint, s, units) if self._hint else "")
        self._log_it.setVisible(self._hint is not None)
        self._calls.show_notices([(n.uid, sentences_of_calls.notice(n, s, units)) for n in s.notices])
        self._shut_in.show_words(sentences_of_calls.shut_in(s, units))
        self._signs.show_words(sentences_of_calls.signs(s, units))
        self._rates.setText(sentences_of_calls.rates(s, units))
        self._stock.set_texts(*sentences_of_calls.stock(s, units))
        self._bar.show_actions(watch_actions.actions(s))
        passing = watch_actions.passing(s, units)
        self._lower.show_actions(passing)
        self._lower.setVisible(bool(passing))
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
        return (self._shut_in, self._signs, self._log_wrong, self._notice, self._gauges, self._unwatched, self._doubts,
                self._approved)

    def figures(self) -> tuple[Figure, ...]:
        """Those that can be followed, the answer first."""
        return self._follow.figures()

    def shown_in(self, figure: Figure) -> QWidget:
        """Where a figure is shown. figure: one of the page's."""
        return self._tanks if figure.name == "tank" else self._left

    def kept_clear(self) -> tuple[QWidget, ...]:
        """What nothing is laid over: what is abnormal, what is pending, cautions, and the big keys."""
        return (self._flow, self._calls, self._foot, self._sound, self._lower, self._bar)

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
    def stop_bar(self) -> ActionBar:
        """What comes and goes: stops, and zeroing."""
        return self._lower

    @property
    def calls(self) -> NoticeRows:
        """Mud about to be moved."""
        return self._calls

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
        return (*notices, *self._figure.readings(), *self._calls.readings(), *(label.text() for label in self.lines()))


def _show_if(label: LineLabel, text: str) -> None:
    label.setText(text)
    label.setVisible(bool(text))
