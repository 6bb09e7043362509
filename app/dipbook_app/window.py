"""The frame: pages at the left, warnings across the top, the state of the watch at the foot."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol, runtime_checkable

from PySide6.QtCore import QByteArray, QEvent, QMargins, QSize, QTimer, Signal
from PySide6.QtGui import QCloseEvent
from PySide6.QtWidgets import QApplication, QHBoxLayout, QMainWindow, QStackedWidget, QVBoxLayout, QWidget

from dipbook.entries.kinds import PIT_DRILL_KINDS
from dipbook.quantities import UNIT_SETS
from dipbook.records import Record
from dipbook.situation import Situation
from dipbook_app import clock_behind, fonts, log_trouble, unsaved
from dipbook_app import urgency as urgencies
from dipbook_app.clock_behind import ClockBehind
from dipbook_app.display import DisplayUnits
from dipbook_app.following import Following
from dipbook_app.log_trouble import LogTrouble
from dipbook_app.page_names import DRILL, LIMITS, RIG, ROUND, START, TRIP, WARNINGS, WATCH
from dipbook_app.page_names import LINE_UP as LINE_UP
from dipbook_app.page_names import LOG as LOG
from dipbook_app.pages import watch_actions
from dipbook_app.pages.drill import DrillPage
from dipbook_app.pages.start import StartPage
from dipbook_app.pages.watch import WatchPage
from dipbook_app.pages_made_late import Pages
from dipbook_app.preferences import PreferencesFile
from dipbook_app.sentences import rig_name
from dipbook_app.sound import Sound
from dipbook_app.stylesheet import stylesheet
from dipbook_app.theme import PALETTES, TEXT_SIZES, Look
from dipbook_app.unsaved import Unsaved
from dipbook_app.widgets.drill_bar import DrillBar
from dipbook_app.widgets.drill_frame import DrillFrame
from dipbook_app.widgets.rail import Rail
from dipbook_app.widgets.status_line import StatusLine
from dipbook_app.widgets.warning_strip import WarningStrip
from dipbook_app.window_actions import Actions
from dipbook_app.window_keys import add_keys, drill_keys

if TYPE_CHECKING:
    from dipbook_app.desk import Desk
    from dipbook_app.drafts import Drafts

REPAINT_MS = 250
"""The pages are repainted at most four times a second; the warning strip at once."""
LEAST = (1100, 640)
WANTED = (1280, 800)
FRAME = QMargins(4, 40, 4, 4)
"""What a desktop puts around a window, until it is known [px]."""
STYLE = "fusion"
"""The same look on every system."""


@runtime_checkable
class Unit(Protocol):
    """A page that shows quantities in a chosen set of units."""

    def show_units(self, unit_set: str) -> None: ...


class Window(QMainWindow):
    """The program's one window.

    demo_wanted(), file_wanted(path), last_wanted(): from the Start page, for whoever opens logs.
    units_turned(unit set): another set of units is shown.
    """

    demo_wanted = Signal()
    file_wanted = Signal(str)
    last_wanted = Signal()
    units_turned = Signal(str)

    def __init__(self, desk: Desk | None, preferences: PreferencesFile, pages: Mapping[str, Any] | None = None, *,
                 sound: Sound | None = None) -> None:
        """desk: the log in use, None when there is no rig yet; preferences: what the person chose before;
        pages: name to page (Round, Log, Limits); sound: None for the system's."""
        super().__init__()
        app = QApplication.instance()
        if isinstance(app, QApplication):
            fonts.install(app)
            if app.style().objectName().lower() != STYLE:
                app.setStyle(STYLE)
        self._preferences = preferences
        self._look = self._chosen_look()
        self._desk: Any = None
        self._log: Path | None = None
        self._drafts: Drafts | None = None
        self._units: DisplayUnits | None = None
        self._newest: Situation | None = None
        self._painted: Situation | None = None
        self._trouble, self._clock = LogTrouble(), ClockBehind()
        self._quiet = self._going_through = False
        self._own_size: QSize | None = None
        self.sound = sound or Sound(self)
        self.strip = WarningStrip(self._look)
        self.rail = Rail(self._look)
        self.status = StatusLine(self._look)
        self.start = StartPage(self._look)
        self.watch = WatchPage(self._look)
        self.drill = DrillPage(self._look)
        self.frame = DrillFrame(self._look)
        self.drill_bar = DrillBar(self._look)
        self.drill_bar.hide()
        self.walks: Callable[[bool], bool] = lambda short: False
        """Sends somebody to dip the tanks in a drill; False where a person does it and enters it."""
        self.checks: Callable[[], None] = lambda: None
        """Stops the crew's work for a flow check in a drill."""
        self._stack = QStackedWidget()
        self._pages = Pages()
        self._throttle = QTimer(self)
        self._throttle.setSingleShot(True)
        self._throttle.timeout.connect(self._paint_newest)
        self.doing = Actions(self.open_page, lambda: self._newest, lambda: self._desk,
                               lambda words, bad: self.say(words, bad=bad))
        self._build()
        self.following = Following(self, self._stack)
        self._connect()
        add_keys(self)
        self._drill_keys = drill_keys(self)
        self._apply_look()
        self.take(desk, pages or {})
        if preferences.now.geometry:
            self.restoreGeometry(QByteArray.fromHex(preferences.now.geometry.encode("ascii")))
        else:
            self._fit_screen(FRAME)

    def _build(self) -> None:
        self.setWindowTitle("Dipbook")
        self.setMinimumSize(*LEAST)
        right = QVBoxLayout()
        right.setSpacing(0)
        right.addWidget(self.strip)
        right.addWidget(self._stack, 1)
        top = QHBoxLayout()
        top.setSpacing(0)
        top.addWidget(self.rail)
        top.addLayout(right, 1)
        whole = QVBoxLayout()
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(0)
        whole.addLayout(top, 1)
        whole.addWidget(self.drill_bar)
        whole.addWidget(self.status)
        self.frame.setLayout(whole)
        self.setCentralWidget(self.frame)

    def _connect(self) -> None:
        self.rail.asked.connect(self.show_page)
        self.strip.acknowledge_wanted.connect(self.acknowledge)
        self.strip.close_wanted.connect(lambda occurrence, note: self._tell("close_warning", occurrence, note))
        self.strip.silence_wanted.connect(self.silence)
        self.strip.asked.connect(self.show_warning)
        self.strip.turned.connect(self._follow_warning)
        self.status.watch_taken.connect(self._take_watch)
        self.status.back.connect(lambda: self._pages[self.page].setFocus())
        self.status.asked.connect(
            lambda name: {"units": self.next_units, "sound": self.sound.test, "theme": self.switch_theme,
                          "unsaved": self.go_on, "pit drill": lambda: self._show_entries(PIT_DRILL_KINDS)}[name]())
        self.watch.action_wanted.connect(self.act)
        self.watch.hint_wanted.connect(lambda hint: self.doing.write(hint.kind, hint.fields))
        self.watch.notice_wanted.connect(self.doing.notice)
        self.watch.asked.connect(self._show_entries)
        self.watch.figure_asked.connect(self.following.ask)
        self.start.demo_wanted.connect(self.demo_wanted)
        self.start.file_wanted.connect(self.file_wanted)
        self.start.last_wanted.connect(self.last_wanted)
        self.start.drill_wanted.connect(lambda: self.show_page(DRILL))
        self.sound.changed.connect(self.watch.show_sound)
        self.sound.tested.connect(self._on_tested)
        self.watch.show_sound(self.sound.message)

    # --- the log in use -----------------------------------------------------------------------------------------

    def take(self, desk: Desk | None, pages: Mapping[str, Any], log: Path | None = None,
             drafts: Drafts | None = None) -> None:
        """Show this desk's log from now on, with these pages; without a desk, the Start page. log: its file. drafts:
        beside it."""
        if self._desk is not None:
            self._desk.situation_changed.disconnect(self.show_situation)
            self._desk.warned.disconnect(self.warn)
            self._desk.said.disconnect(self._on_said)
            self._desk.failed.disconnect(self._on_failed)
        for page in self._pages.made.values():
            self._stack.removeWidget(page)
            if page not in (self.start, self.watch, self.drill):
                page.deleteLater()
        self._desk, self._log, self._drafts = desk, log, drafts
        if drafts is not None:
            drafts.turned.connect(self._show_unsaved)
        self._clock = ClockBehind()     # it sounds again at each opening
        self._units = self._newest = self._painted = None
        self._pages = Pages({START: self.start, DRILL: self.drill} if desk is None else {
            WATCH: self.watch, **pages, DRILL: self.drill, START: self.start}, self._settle)
        for page in self._pages.made.values():
            self._stack.addWidget(page)
        self.rail.show_pages(tuple(self._pages))
        self.start.say("")
        self.show_log_wrong("")
        self._dress()
        if desk is None:
            self.following.take(None)
            self.setWindowTitle("Dipbook")
            self.strip.clear()
            self.sound.sound(None)
            self.status.show_nothing()
            self.show_page(START)
            return
        self.status.say("")
        desk.situation_changed.connect(self.show_situation)
        desk.warned.connect(self.warn)
        desk.said.connect(self._on_said)
        desk.failed.connect(self._on_failed)
        desk.handed_over.connect(self._take_watch)
        self.following.take(desk)
        for name, page in self._pages.made.items():
            if name in pages:
                self._join(page)
        if self._preferences.now.unit_set:
            desk.set_units(UNIT_SETS.get(self._preferences.now.unit_set))
        now = self._preferences.now
        if log is not None and now.on_watch and now.on_watch_log == str(log):
            desk.set_on_watch(now.on_watch)
        kept = now.page
        self.show_page(kept if kept in self._pages else WATCH)
        self.show_situation(desk.situation)

    def _settle(self, page: Any) -> None:
        """A page that was made just now comes in."""
        self._stack.addWidget(page)
        for child in (page, *page.findChildren(QWidget)):
            if (set_look := getattr(child, "set_look", None)) is not None:
                set_look(self._look)
        self._join(page)

    def _join(self, page: Any) -> None:
        """Hear a page that comes with a log."""
        if hasattr(page, "left"):
            page.left.connect(lambda: self.show_page(WATCH))
        if hasattr(page, "figure_asked"):
            page.figure_asked.connect(self.following.ask)
        if hasattr(page, "round_wanted"):
            page.round_wanted.connect(self._correct_round)
        if hasattr(page, "file_wanted"):
            page.file_wanted.connect(self.adopt_file)
        if hasattr(page, "entry_wanted"):
            page.entry_wanted.connect(self.doing.write)
        if hasattr(page, "page_wanted"):
            page.page_wanted.connect(self._open_at)
        if hasattr(page, "action_wanted"):
            page.action_wanted.connect(self.act)
        if hasattr(page, "chosen_turned"):
            page.chosen_turned.connect(self.strip.show_one)
            page.acknowledge_wanted.connect(self.acknowledge)
            page.silence_wanted.connect(self.silence)
        if hasattr(page, "corrected"):
            page.corrected.connect(lambda: self.show_page(LOG))
        if hasattr(page, "paper_turned"):
            page.take_paper(self._preferences.now.paper)
            page.paper_turned.connect(lambda paper: self._preferences.change(paper=paper))
        if hasattr(page, "unsaved_turned"):
            page.unsaved_turned.connect(self._show_unsaved)
        for name in ("said", "saved"):
            if hasattr(page, name):
                getattr(page, name).connect(self._on_said)
        if isinstance(page, Unit):
            page.show_units(self._preferences.now.unit_set)

    @property
    def look(self) -> Look:
        """The look as it is chosen now."""
        return self._look

    def show_drill(self, drill: bool, *, over: bool = False) -> None:
        """drill: the log is a drill's: hatched all around, with the word DRILL on every page. Before ``take``. over: it
        is only looked at, and sounds no more."""
        self._quiet = over
        if over:
            self.sound.sound(None)
        self.frame.show_drill(drill)
        self.drill_bar.setVisible(drill)
        self.watch.bar.make_room(self.watch.height(), drill=drill and not over)
        for key in self._drill_keys:
            key.setEnabled(drill)

    def go_through(self, on: bool) -> None:
        """on: a drill is gone through: the last warnings of one that is over and still open aren't shown beside it,
        since they tell how it ends. Those of a watch always are."""
        self._going_through = on
        if self._newest is not None and self._units is not None:
            self._show_warnings(self._newest, self._units)

    def show_situation(self, situation: Situation) -> None:
        """Take the newest Situation: warnings are shown and sounded at once, the pages soon."""
        if self._units is None or self._units.rig is not situation.rig:
            self._units = DisplayUnits(situation.rig, self._preferences.now.unit_set)
            names = ("DRILL" if self.frame.drill else "", self._log.name if self._log else "",
                     rig_name(situation.rig), "Dipbook")
            self.setWindowTitle(" – ".join(name for name in names if name))
        self._newest = situation
        self._show_warnings(situation, self._units)
        if not self._throttle.isActive():
            self._paint_newest()
            self._throttle.start(REPAINT_MS)

    def warn(self, situation: Situation) -> None:
        """Show and sound the warnings of ``situation`` now, on the screen before this returns; what else is new in it
        follows with show_situation."""
        if self._units is not None:
            self._show_warnings(situation, self._units)
            if (frame := self.strip.parentWidget()) is not None and (laid := frame.layout()) is not None:
                laid.activate()
            self.strip.repaint()

    def _show_warnings(self, situation: Situation, units: DisplayUnits) -> None:
        told = () if self._quiet and self._going_through else situation.warnings
        warnings = (*told, *self._trouble.views(situation), *self._clock.views(situation))
        self.strip.show_warnings(warnings, units, situation.now_ms, situation.aside)
        self.sound.sound(None if self._quiet else urgencies.sounding(warnings))

    def _paint_newest(self) -> None:
        situation, units = self._newest, self._units
        if situation is None or units is None or situation is self._painted:
            return
        self._painted = situation
        self.status.show_situation(situation, units)
        self._show_unsaved()
        self.following.show_situation(situation, units)
        page = self._stack.currentWidget()
        if page is self.watch:
            self.watch.show_situation(situation, units)
        elif page is not None and page is not self.start:
            if hasattr(page, "show_open"):
                page.show_open(self.strip.open_now, self.strip.occurrence_shown)
            page.show_situation(situation)  # type: ignore[attr-defined]
        if not self._throttle.isActive():
            self._throttle.start(REPAINT_MS)

    # --- what a person does -------------------------------------------------------------------------------------

    def show_page(self, name: str) -> None:
        """Show a page."""
        page = self._pages.get(name)
        if page is None:
            return
        if name == START:
            self.start.show_last(self._preferences.now.rig, self._preferences.now.store)
        self._stack.setCurrentWidget(page)
        self.rail.mark(name)
        here = self.focusWidget()
        if here is None or not page.isAncestorOf(here):  # a page that put the cursor somewhere keeps it there
            page.setFocus()
        if name != START:
            self._preferences.change(page=name)
        self._show_unsaved()
        self._painted = None
        self._paint_newest()

    @property
    def page(self) -> str:
        """The page shown."""
        return next((name for name, page in self._pages.made.items() if page is self._stack.currentWidget()), "")

    def act(self, name: str) -> None:
        """Do one of the Watch page's actions."""
        if name in ("round", "short round") and self.walks(name == "short round"):
            return
        if name == "flow check":
            self.checks()
        self.doing.act(name)

    def open_page(self, name: str) -> Any:
        """Show a page and give it; None if there is none by this name."""
        self.show_page(name)
        return self._pages.get(name)

    def show_warning(self, occurrence: str) -> None:
        """Show the Warnings page at an open warning. occurrence: the warning's, "" for none in particular."""
        if (page := self.open_page(WARNINGS)) is not None:
            page.choose(occurrence)

    def _open_at(self, name: str, chosen: str) -> None:
        """Show a page, at what is chosen there; "" for nothing in particular."""
        if (page := self.open_page(name)) is not None and chosen:
            page.choose(chosen)

    def take_hint(self) -> None:
        """Log the guess that is offered: on the Warnings page its own, else the Watch page's."""
        (self._pages[WARNINGS] if self.page == WARNINGS else self.watch).take_hint()

    def _follow_warning(self, occurrence: str) -> None:
        """The strip shows another: so does the Warnings page while it is shown."""
        if self.page == WARNINGS:
            self._pages[WARNINGS].follow(occurrence)

    def silence(self) -> None:
        """Silence the sound for 30 s; the warning stays as it is."""
        if self._newest is not None:
            for notice in (self._trouble, self._clock):
                notice.silence(self._newest.now_ms)
        self._tell("silence")
        self._show_again()

    def acknowledge(self, occurrence: str) -> None:
        """Acknowledge a warning."""
        notice = {log_trouble.OCCURRENCE: self._trouble, clock_behind.OCCURRENCE: self._clock}.get(occurrence)
        if notice is not None:
            notice.acknowledge()
            self._show_again()
        else:
            self._tell("acknowledge", occurrence)

    def _show_again(self) -> None:
        if self._newest is not None:
            self.show_situation(self._newest)

    def switch_theme(self) -> None:
        """Day to night and back."""
        self._preferences.change(theme="day" if self._preferences.now.theme == "night" else "night")
        self._apply_look()

    def change_text(self, step: int) -> None:
        """Larger (1) or smaller (-1) text."""
        place = TEXT_SIZES.index(self._preferences.now.text) + step
        self._preferences.change(text=TEXT_SIZES[min(max(place, 0), len(TEXT_SIZES) - 1)])
        self._apply_look()

    def next_units(self) -> None:
        """The rig's own units, then each set in turn."""
        names = ("", *UNIT_SETS)
        chosen = names[(names.index(self._preferences.now.unit_set) + 1) % len(names)
                       if self._preferences.now.unit_set in names else 0]
        self._preferences.change(unit_set=chosen)
        self._units = None
        for page in self._pages.made.values():
            if isinstance(page, Unit):
                page.show_units(chosen)
        self.units_turned.emit(chosen)
        self._tell("set_units", UNIT_SETS.get(chosen))
        self._painted = None
        self._show_again()
        self._paint_newest()

    def _tell(self, order: str, *args: Any) -> None:
        """Tell the desk; it says what came of it by its signals."""
        if self._desk is not None:
            getattr(self._desk, order)(*args)

    def _take_watch(self, name: str) -> None:
        """Somebody takes the watch; it is theirs after a restart too."""
        if self._log is not None:
            self._preferences.change(on_watch=name, on_watch_log=str(self._log))
        self._tell("set_on_watch", name)

    def show_place(self, place: int) -> None:
        """Show the page at this place of those that Ctrl and a figure open; again, put the cursor in its table."""
        names = self.rail.counted()
        if place < len(names):
            again = self.page == names[place]
            self.show_page(names[place])
            table = self._pages[names[place]].focusProxy()
            if again and table is not None and table.isVisible():  # the page's key leads to its table from anywhere
                table.setFocus()

    def stop_place(self, place: int) -> None:
        """Stop what runs, the first (0) or the second (1) of those on the Watch page."""
        running = watch_actions.stops(self._newest) if self._newest is not None else ()
        if place < len(running):
            self.act(f"stop:{running[place].uid}")

    def go_on(self) -> None:
        """Go on with the oldest form that is typed and not saved."""
        waiting = self._waiting()
        if waiting and waiting[0].how == unsaved.TRIP:
            self.show_page(TRIP)
        elif waiting and waiting[0].how == unsaved.RIG:
            self.show_page(RIG)
        elif waiting and (page := self.open_page(LOG)) is not None:
            page.resume(waiting[0])

    def print_sheet(self) -> None:
        """Write a blank dip sheet, from any page; what came of it is said where a person looks."""
        page = self._pages.get(ROUND)
        if page is None:
            self.say("Open a log first: a dip sheet has the tanks of its rig.")
            return
        page.print_sheet()
        if self.page != ROUND:
            self.say(page.words.said, bad=page.words.tone == "error")

    def _waiting(self) -> tuple[Unsaved, ...]:
        page = self._pages.made.get(LOG)
        waiting: tuple[Unsaved, ...] = ()
        if page is not None and hasattr(page, "unsaved"):
            waiting = page.unsaved()
        elif self._drafts is not None and self._newest is not None:
            waiting = unsaved.unsaved(self._drafts, self._newest)
        return tuple(each for each in waiting if each.how != unsaved.TRIP or self.page != TRIP)

    def _show_unsaved(self) -> None:
        self.status.show_unsaved(unsaved.words(self._waiting()))

    def adopt_file(self) -> None:
        """Show where a whole rig file is adopted."""
        if LIMITS in self._pages:
            self.show_page(LIMITS)
            self._pages[LIMITS].adopt()

    def offer_rig(self, rig: Path, words: str) -> None:
        """Show where a rig file is adopted, with this file; the log's own rig stays. words: why it is shown."""
        if LIMITS in self._pages:
            self.show_page(LIMITS)
            self._pages[LIMITS].adopt(str(rig))
        self.say(words, bad=True)

    def _show_entries(self, kinds: tuple[str, ...]) -> None:
        """Where a number comes from: the Log, with these kinds only."""
        if LOG in self._pages:
            self.show_page(LOG)
            self._pages[LOG].show_kinds(kinds)

    def _correct_round(self, record: Record) -> None:
        """A round chosen in the Log, to be corrected on the Round page."""
        if ROUND in self._pages:
            self._pages[ROUND].correct(record)
            self.show_page(ROUND)

    # --- words, looks, closing ----------------------------------------------------------------------------------

    def say(self, words: str, *, bad: bool = False) -> None:
        """Say what was done, or what failed (bad): on the status line, and on the Start page while that is shown."""
        self.status.say(words, bad=bad)
        if self.page == START:
            self.start.say(words)

    def show_log_wrong(self, words: str) -> None:
        """Say for as long as the log is open what was found wrong in it. words: "" for nothing."""
        self.status.show_log_wrong(words)
        self.watch.show_log_wrong(words)

    def show_problems(self, words: str, problems: Sequence[str]) -> None:
        """Say that a file can't be used, and on the Start page all that is wrong in it. words: what happened."""
        self.say(words, bad=True)
        self.start.show_problems(words, problems)

    def _on_said(self, words: str) -> None:
        self.say(words)

    def _on_failed(self, words: str) -> None:
        self.say(words, bad=True)

    def _on_tested(self, words: str) -> None:
        self.say(words, bad=bool(self.sound.message))

    def _chosen_look(self) -> Look:
        screen = self.screen() or QApplication.primaryScreen()
        dpi = screen.physicalDotsPerInch() if screen is not None else 96.0
        now = self._preferences.now
        return Look(PALETTES[now.theme], now.text, dpi)

    def _apply_look(self) -> None:
        self._look = self._chosen_look()
        self.setStyleSheet(stylesheet(self._look))
        self._dress()
        self._painted = None
        self._paint_newest()

    def _dress(self) -> None:
        for child in self.findChildren(QWidget):
            if (set_look := getattr(child, "set_look", None)) is not None:
                set_look(self._look)

    def _fit_screen(self, frame: QMargins) -> None:
        """As large as wanted, and with its frame inside what the desktop leaves free of the screen. frame [px]."""
        free = self.screen().availableGeometry()
        room = free.marginsRemoved(frame).size()
        self._own_size = QSize(*WANTED).boundedTo(room).expandedTo(QSize(*LEAST))
        self.resize(self._own_size)
        if self.isVisible() and not free.contains(self.frameGeometry()):
            self.move(free.topLeft())

    def event(self, event: QEvent) -> bool:
        """Once the desktop has put its frame on, see that the window still fits, unless a person has sized it."""
        if event.type() == QEvent.Type.WindowActivate and self._own_size is not None:
            handle, own = self.windowHandle(), self._own_size
            if handle is not None and self.size() == own:
                self._fit_screen(handle.frameMargins())
            self._own_size = None
        return super().event(event)

    def closeEvent(self, event: QCloseEvent) -> None:
        self._throttle.stop()
        self.sound.close()
        self._preferences.change(geometry=bytes(self.saveGeometry().toHex().data()).decode("ascii"))
        super().closeEvent(event)
