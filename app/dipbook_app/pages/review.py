"""The Review page: what happened in a tour, a day or any span, where every barrel went, and how the warnings were met.

It shows what ``dipbook.reports`` works out, in the words and figures of its paper; the work is done on another thread.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QShortcut, QShowEvent
from PySide6.QtWidgets import QWidget

from dipbook import reports, store
from dipbook.errors import DipbookError
from dipbook.reports import SECTION as SPAN_OF_SECTION
from dipbook.reports import TRIP as SPAN_OF_TRIP
from dipbook.reports import Overview
from dipbook.situation import Situation
from dipbook_app import review_spans
from dipbook_app.display import DisplayUnits
from dipbook_app.page_names import CONNECTIONS, TRIP, WARNINGS
from dipbook_app.pages.review_face import ReviewFace
from dipbook_app.printing.pdf import PAPERS
from dipbook_app.printing.report_beside import name_for, paths, there_already, write_beside
from dipbook_app.printing.report_pages import known_words, mark_of, statement
from dipbook_app.printing.write_report import units_of
from dipbook_app.review_sections import BOOKS, SECTIONS, TREND, shown
from dipbook_app.review_spans import TOUR, Chosen
from dipbook_app.review_words import AtReading
from dipbook_app.reviewer import Reviewed, Reviewer, review
from dipbook_app.theme import Look
from dipbook_app.widgets.text_size import restyle

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

SOON_MS = 350
"""While keys move the span, the work waits for the last of them."""
AGAIN_MS = 20_000
"""What is logged meanwhile is taken in at most this often."""
PAPER_NAMES = {paper: paper.capitalize() for paper in PAPERS}
"""As the key says it."""
STRETCHES = (SPAN_OF_TRIP, SPAN_OF_SECTION)
"""Kinds of span that the log says the ends of."""
NOW, THEN = "As known now", "As shown then"


class ReviewPage(ReviewFace):
    """1 to 6 choose a section. Alt+Left and Alt+Right go to the tour before and after, Alt+Home to the one under way, D
    turns to days, trips, sections of the hole and back, G to the fields for any span. K turns from what is known now to
    what was known then. R makes the report. Esc stops the work.

    Signals: said(str): what was done, in words. page_wanted(str, str): a page by its name, and what to choose there.
    paper_turned(str): another paper was chosen.
    """

    no_figure = ("What the figures of a span rest on stands here: 1 has the dips and entries behind the cursor, 2 "
                 "every term, 6 the entries and readings.")
    said = Signal(str)
    page_wanted = Signal(str, str)
    paper_turned = Signal(str)

    def __init__(self, desk: Desk, look: Look | None = None, unit_set: str = "", parent: QWidget | None = None) -> None:
        super().__init__(look, parent)
        self.desk = desk
        self.reviewed: Reviewed | None = None
        self.chosen: Chosen | None = None
        self.then = False
        self._kind = TOUR
        self.take_paper("")
        self._unit_set = unit_set
        self._situation: Situation | None = None
        self._records = -1
        self._begun_ms = 0
        self._working_in = self._shown_in = unit_set
        self._filled: set[str] = set()
        self._warning: int | None = None
        self._reviewer = Reviewer("dipbook-review", self)
        self._reviewer.step.connect(lambda words: self.state.say(f"Working out {words} … Esc stops it."))
        self._reviewer.done.connect(self._take)
        self._reviewer.failed.connect(lambda words: self.state.say(words, "error"))
        self._whole = Reviewer("dipbook-overview", self)
        self._whole.done.connect(self._take_whole)
        self._whole_of = -1
        self._at: AtReading | None = None
        self._writer = Reviewer("dipbook-report", self)
        self._writer.step.connect(lambda words: self.state.say(f"Writing {words} …"))
        self._writer.done.connect(self._written)
        self._writer.failed.connect(lambda words: self.state.say(words, "error"))
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(SOON_MS)
        self._soon.timeout.connect(self.work)
        for key, act in ((self.earlier, lambda: self.go(-1)), (self.later, lambda: self.go(1)),
                         (self.kind_key, self.turn_kind), (self.show_key, self.take_typed),
                         (self.view_key, self.turn_view), (self.report_key, self.ask_report),
                         (self.write_key, self.write_report), (self.leave_key, self.stop),
                         (self.paper_key, self.turn_paper)):
            key.clicked.connect(lambda _=False, act=act: act())
        for name, button in self.section_keys.items():
            button.clicked.connect(partial(self.show_section, name))
        for field in (self.from_field, self.to_field, self.name_field):
            field.installEventFilter(self)
        self.name_field.textChanged.connect(self._look_at_name)
        for view in self.tables.values():
            view.opened.connect(self._open)
        keys: dict[str, Callable[[], object]] = {
            "[": lambda: self.brush(-0.5), "]": lambda: self.brush(0.5), "-": lambda: self.brush_size(0.5),
            "+": lambda: self.brush_size(2.0), "=": lambda: self.brush_size(2.0), "N": lambda: self.jump(1),
            "Shift+N": lambda: self.jump(-1)}
        keys |= {"Alt+Left": lambda: self.go(-1), "Alt+Right": lambda: self.go(1), "Alt+Home": self.come_home,
                 "D": self.turn_kind, "G": self.from_field.setFocus, "K": self.turn_view, "R": self.ask_report,
                 "Esc": self.stop, "Alt+P": self.turn_paper,
                 **{str(n): partial(self.show_section, name) for n, name in enumerate(SECTIONS, 1)}}
        for text, do in keys.items():
            QShortcut(QKeySequence(text), self, context=Qt.ShortcutContext.WidgetWithChildrenShortcut
                      ).activated.connect(do)
        self.plot.turned.connect(self._show_behind)
        self.strip.moved.connect(self._middle)
        self.show_section(next(iter(self.places)))

    # --- which span ---------------------------------------------------------------------------------------------

    def show_situation(self, situation: Situation) -> None:
        """The log has gone on: choose a span if there is none yet, and take in what was logged."""
        first = self._situation is None
        self._situation = situation
        if not self.isVisible():
            return
        if first or self.chosen is None:
            self.come_home()
        elif len(situation.records) != self._records and not self._reviewer.busy and not self._soon.isActive() \
                and not 0 <= situation.now_ms - self._begun_ms < AGAIN_MS:
            self.work()

    def show_units(self, unit_set: str) -> None:
        """Write in another set of units. unit_set: its name, "" for the rig's own."""
        self._unit_set = unit_set
        if self.chosen is not None and self.isVisible():
            self.work()
        else:
            self._records = -1

    def choose(self, chosen: Chosen, *, at_once: bool = True) -> None:
        """Review another span. chosen: it. at_once: False waits whether it is moved further."""
        self.chosen = chosen
        self._name_span()
        if at_once:
            self.work()
        else:
            self._reviewer.cancel()
            self._soon.start()

    def go(self, way: int) -> None:
        """The tour, the day or as long a span before (−1) or after (1) it."""
        if self.chosen is None or self._situation is None:
            return
        if self.chosen.kind not in STRETCHES:
            self.choose(review_spans.beside(self._situation.rig, self.chosen, way), at_once=False)
        elif (found := review_spans.next_to(self.desk.stretches(self.chosen.kind), self.chosen, way)) is not None:
            self.choose(found, at_once=False)
        else:
            self.state.say(f"There is no {self.chosen.kind} {'before' if way < 0 else 'after'} this one.", "doubt")

    def brush(self, share: float) -> None:
        """Move the span along the log. share: of its length, + later [-]."""
        if self.chosen is not None:
            self.choose(review_spans.moved(self.chosen, round((self.chosen.to_ms - self.chosen.from_ms) * share)),
                        at_once=False)

    def brush_size(self, share: float) -> None:
        """Make the span so many times as long, about its middle. share: [-]."""
        if self.chosen is not None:
            self.choose(review_spans.resized(self.chosen, share), at_once=False)

    def _middle(self, t_ms: int) -> None:
        if self.chosen is not None:
            self.choose(review_spans.moved(self.chosen, t_ms - (self.chosen.from_ms + self.chosen.to_ms) // 2),
                        at_once=False)

    def come_home(self) -> None:
        """The tour or day under way."""
        if self._situation is not None:
            self._choose_at(self.desk.now_ms())

    def turn_kind(self) -> None:
        """From tours to days, trips, sections of the hole and back, about where the span ends."""
        if self.chosen is None or self._situation is None:
            return
        self._kind = self._next_kind()
        self._choose_at(min(self.chosen.to_ms, self.desk.now_ms()) - 1)

    def _next_kind(self) -> str:
        """The kind of span that D turns to: trips and sections where the log has any."""
        kinds = [k for k in review_spans.KINDS if k not in STRETCHES or self.desk.stretches(k)]
        return kinds[(kinds.index(self._kind) + 1) % len(kinds)] if self._kind in kinds else TOUR

    def _choose_at(self, t_ms: int) -> None:
        """The span of the kind that is turned to, at a time [UTC ms]."""
        if self._situation is None:
            return
        found = self.desk.stretches(self._kind) if self._kind in STRETCHES else ()
        self.choose(review_spans.near(found, t_ms) if found else review_spans.at(self._situation.rig, t_ms, self._kind))

    def take_typed(self) -> None:
        """The span that is typed."""
        if self._situation is None:
            return
        try:
            chosen = review_spans.typed(self.from_field.text(), self.to_field.text(), self._situation.rig.zone,
                                        self.desk.now_ms())
        except DipbookError as error:
            self.state.say(str(error), "error")
            return
        self.choose(chosen)
        self.focused(self.section).setFocus()

    def turn_view(self) -> None:
        """From what is known now to what was known when the span ended, and back."""
        self.then = not self.then
        self._name_span()
        if self.chosen is not None:
            self.work()

    # --- the work -----------------------------------------------------------------------------------------------

    def work(self) -> None:
        """Work the span out."""
        self._soon.stop()
        if self.chosen is None or self._situation is None:
            return
        self._records, self._begun_ms = len(self._situation.records), self.desk.now_ms()
        span = self.chosen.until(self._begun_ms)
        self._name_span()
        self._working_in = self._unit_set
        books, units, then = self.desk.books_apart(), units_of(self._unit_set), self.then
        self.state.say("Working it out … Esc stops it.")
        drill = self.desk.store.role == store.DRILL
        self._reviewer.start(lambda step: review(books, span, units, then, step, drill=drill))

    @property
    def working(self) -> bool:
        """True while anything is worked out or written, or is about to be."""
        return self._soon.isActive() or any(each.busy for each in (self._reviewer, self._whole, self._writer))

    def stop(self) -> None:
        """Give up what is being worked out; from a field, back to the section."""
        if not self.form.isHidden():
            self.form.hide()
            self.state.say("No report was written.")
        elif self._reviewer.busy or self._soon.isActive():
            self._reviewer.cancel()
            self._soon.stop()
            left = "What is shown is of the span before." if self.reviewed is not None else "Nothing is shown."
            self.state.say(f"Stopped. {left} Alt+Home works out the tour under way.", "doubt")
        self.focused(self.section).setFocus()

    def _take(self, reviewed: Reviewed) -> None:
        self.reviewed, self._shown_in = reviewed, self._working_in
        self._filled, self._warning = set(), None
        units = DisplayUnits(reviewed.report.rig, self._shown_in)
        self.answer.setText(statement(reviewed.report, units))
        mark = mark_of(reviewed.report)
        self.state.say(known_words(reviewed.report, self._begun_ms, units) + (f" {mark}." if mark else ""))
        self._at = AtReading(reviewed.report)
        self._fill(self.section)
        self._work_whole()

    def _work_whole(self) -> None:
        """The strip of the whole log, once the span itself is shown, and where the log has grown since."""
        if self._whole.busy or self._whole_of == self._records:
            return
        self._whole_of = self._records
        books = self.desk.books_apart()
        self._whole.start(books.overview)

    def _take_whole(self, of: Overview | None) -> None:
        if self._situation is not None:
            self.strip.show_log(of, DisplayUnits(self._situation.rig, self._unit_set))

    def _show_behind(self, index: int) -> None:
        self.behind.clear()
        if self._at is not None:
            self.behind.addItems(list(self._at.lines(index)))

    def jump(self, way: int) -> None:
        """The cursor to the next warning of the span, or the one before. way: 1 or −1."""
        if self.reviewed is None:
            return
        report = self.reviewed.report
        raised = sorted((w.raised_ms, n) for n, w in enumerate(report.warnings.raised)
                        if report.span.holds(w.raised_ms))
        if not raised:
            self.state.say("No warning was raised in this span.")
            return
        here = -1 if self._warning is None else next(
            (k for k, (_, n) in enumerate(raised) if n == self._warning), -1)
        place = (here + way) % len(raised) if here >= 0 else 0 if way > 0 else len(raised) - 1
        t_ms, self._warning = raised[place]
        self.show_section(TREND)
        self.plot.read_at(t_ms)
        text = report.warnings.raised[self._warning].text
        self.state.say(f"Warning {place + 1} of {len(raised)}, {reports.writing(report).clock(t_ms)}: {text}. N is the "
                       "next, Shift+N the one before.")

    def _fill(self, section: str) -> None:
        """Only the section that is shown is laid out."""
        if self.reviewed is None or section in self._filled:
            return
        self._filled.add(section)
        units = DisplayUnits(self.reviewed.report.rig, self._shown_in)
        if section == TREND:
            self.plot.show_span(self.reviewed, units)
            self._show_behind(self.plot.index)
        elif section == BOOKS:
            self.bridge.show_books(self.reviewed.report.active, units)
        if section in self.tables:
            self.tables[section].show_tables(shown(self.reviewed.report, self.reviewed.alarm_figures, section))

    # --- the report, and other pages ----------------------------------------------------------------------------

    def ask_report(self) -> None:
        """Offer a name for the report of what is shown."""
        if self.reviewed is None or self._reviewer.busy or self._soon.isActive():
            self.state.say("The span is still being worked out: make the report when it is shown.", "doubt")
            return
        self.form.show()
        self.name_field.setText(name_for(self.desk.store.path, self.reviewed.report))
        self.name_field.setFocus()
        self.name_field.selectAll()
        self._look_at_name()

    def take_paper(self, paper: str) -> None:
        """The paper that reports are laid out for. paper: of PAPER_NAMES."""
        self.paper = paper if paper in PAPER_NAMES else next(iter(PAPER_NAMES))
        self.paper_key.setText(f"{PAPER_NAMES[self.paper]}  Alt+P")

    def turn_paper(self) -> None:
        """The other paper, which is then kept."""
        names = list(PAPER_NAMES)
        self.take_paper(names[(names.index(self.paper) + 1) % len(names)])
        self.paper_turned.emit(self.paper)

    def _look_at_name(self) -> None:
        if self.form.isHidden():
            return
        there = there_already(self.desk.store.path, self.name_field.text())
        if there:
            self.state.say(f"Already there: {' and '.join(there)}. Enter writes over what is there.", "doubt")
        else:
            self.state.say(f"A PDF, and its tables as CSV files, go into {self.desk.store.path.parent}.")

    def write_report(self) -> None:
        """Write the report of what is shown beside the log."""
        reviewed, log, name = self.reviewed, self.desk.store.path, self.name_field.text()
        if reviewed is None or self._writer.busy:
            return
        try:
            paths(log, name)
        except DipbookError as error:
            self.state.say(str(error), "error")
            return
        now, units, paper = self.desk.now_ms(), self._shown_in, self.paper
        self._writer.start(lambda step: write_beside(log, name, reviewed.report, now, paper=paper, unit_set=units,
                                                     alarm_figures=reviewed.alarm_figures, step=step))

    def _written(self, words: str) -> None:
        self.form.hide()
        self.state.say(words, "done")
        self.said.emit(words)
        self.focused(self.section).setFocus()

    def _open(self, table: str, row: int) -> None:
        """A line of the warnings, connections or trips was asked for: its page, or its place in the trend."""
        if self.reviewed is None or self._situation is None:
            return
        report = self.reviewed.report
        if table == "connections":
            self.page_wanted.emit(CONNECTIONS, str(report.connections[row].off_ms))
        elif table == "trips":
            self._open_trip(report.trips[row].begun_ms)
        else:
            w = report.warnings.raised[row]
            if w.occurrence in {x.occurrence for x in self._situation.warnings}:
                self.page_wanted.emit(WARNINGS, w.occurrence)
            else:
                self.show_section(TREND)
                self.plot.read_at(w.raised_ms)

    def _open_trip(self, begun_ms: int) -> None:
        """The Trip page has the trip under way, or else the last one; of another its own span is reviewed."""
        found = self.desk.stretches(SPAN_OF_TRIP)
        if not found or found[-1].span.from_ms < begun_ms <= found[-1].span.to_ms:
            self.page_wanted.emit(TRIP, "")
            return
        self._kind = SPAN_OF_TRIP
        self.choose(review_spans.near(found, begun_ms))

    def _name_span(self) -> None:
        chosen, situation = self.chosen, self._situation
        self.view_label.setText(THEN if self.then else NOW)
        self.view_label.setProperty("part", "outlined" if self.then else "strong")
        restyle(self.view_label)
        self.view_key.setText(f"{NOW if self.then else THEN}  K")
        self.kind_key.setText(f"{review_spans.KINDS[self._next_kind()]}  D")
        if chosen is None or situation is None:
            return
        now, zone = self.desk.now_ms(), situation.rig.zone
        self.chosen_words.setText(chosen.words(now, zone))
        span = chosen.until(now)
        self.strip.show_brush(span.from_ms, span.to_ms)
        for field, t_ms in ((self.from_field, span.from_ms), (self.to_field, span.to_ms)):
            if not field.hasFocus():
                field.setText(review_spans.as_typed(t_ms, zone))

    # --- keys ---------------------------------------------------------------------------------------------------

    def show_section(self, section: str, _checked: bool = False) -> None:
        """Show a section. section: a key of SECTIONS."""
        if section not in self.places:
            return
        self.show_place(section)
        self._fill(section)
        self.focused(section).setFocus()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Enter in a field shows what is typed."""
        if event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent) \
                and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if watched is self.name_field:
                self.write_report()
            else:
                self.take_typed()
            return True
        return super().eventFilter(watched, event)

    def showEvent(self, event: QShowEvent) -> None:
        """Come up with the cursor in the section."""
        super().showEvent(event)
        self.focused(self.section).setFocus()
