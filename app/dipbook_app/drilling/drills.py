"""The drills of the program: one is begun where it may be, driven, and written when it ends."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer

from dipbook import drill_run, practising
from dipbook.drill_folder import DIPS
from dipbook.errors import DipbookError
from dipbook.exchange.times import clock as clock_time
from dipbook.store import Store
from dipbook_app import alive
from dipbook_app.drilling import beginning, cut_drills
from dipbook_app.drilling.drill_clock import DrillClock
from dipbook_app.drilling.drill_desk import DrillDesk
from dipbook_app.drilling.driver import BY_TRAINEE, SPEEDS, Driver
from dipbook_app.page_names import DRILL, WATCH

if TYPE_CHECKING:
    from dipbook_app.running import Program

WENT_AWAY = "another log was opened, or the program was closed"
LOOK_MS = 2000
"""So often a drill under way looks whether a watch was opened on this computer [ms]."""


class Drills(QObject):
    """See the module. into: where drills are kept, None for the person's own folder. ticking: False for a test that
    gives the frames. driver: of the drill under way, None while none is."""

    def __init__(self, program: Program, into: Path | None = None, *, ticking: bool = True) -> None:
        super().__init__(program)
        self.program, self.into, self.ticking = program, into, ticking
        self.driver: Driver | None = None
        window = program.window
        page, bar = window.drill, window.drill_bar
        window.walks, window.checks = self.walks, self.checks
        page.begin_wanted.connect(self.begin)
        bar.asked.connect(self.press)
        bar.named.connect(self._name)
        bar.noted.connect(self._note)
        page.show_scenarios(practising.listed())
        self._looks = QTimer(self)
        self._looks.setInterval(LOOK_MS)
        self._looks.timeout.connect(self.look_around)

    def looked_at(self, opened: Store) -> DrillDesk:
        """The desk of a drill's log that is opened to be looked at: it stands at its last moment, and takes nothing.

        opened: of role drill. Raises DipbookError where it holds no rig.
        """
        noted = alive.read(opened.path)
        last = max((r.learned_ms for r in opened.records(leave_out_damaged=True)), default=0)
        self.program.window.drill_bar.show_over()
        return DrillDesk(opened, DrillClock(last if noted is None else max(last, noted.at_ms)), over=True)

    def look_for_cut(self) -> None:
        """Offer what there is of a drill that a power cut or a crash broke off, once."""
        cut = cut_drills.find(self.into or beginning.drills_folder())
        if cut.words:
            self.program.window.drill.show_finished(cut.folder, cut.words)
            self.program.window.say(cut.words, bad=cut.folder is None)

    def begin(self, choice: drill_run.Choice) -> bool:
        """Begin a drill; False where that was refused, and why is said. choice: which."""
        window = self.program.window
        why = "A drill is under way: end it first." if self.driver is not None else \
            beginning.refused(self.program.desk)
        if not why:
            try:
                why = beginning.beside(self.program.marks.elsewhere())
            except DipbookError as error:
                why = str(error)
        if not why:
            try:
                run, opened = beginning.begin(choice, self.into)
                try:
                    clock = DrillClock(run.t_ms)
                    desk = DrillDesk(opened, clock)
                except BaseException:
                    opened.close()
                    raise
            except DipbookError as error:
                why = str(error)
        if why:
            window.drill.say(why)
            window.say(why, bad=True)
            return False
        self.program.show_desk(desk, opened.path)
        desk.set_on_watch(choice.trainee or drill_run.TRAINEE)
        driver = self.driver = Driver(run, desk, clock, self, ticking=self.ticking)
        if self.ticking:
            self._looks.start()
        driver.changed.connect(self._show_state)
        driver.said.connect(window.say)
        driver.over.connect(lambda words: window.say(f"{words[0].upper()}{words[1:]}. End the drill when you are done "
                                                     "(Ctrl+Shift+F12)."))
        desk.situation_changed.connect(lambda _: self._show_state())
        known = bool(choice.scenario) and not choice.sealed
        which = f" {run.scenario.name}, seed {choice.seed}." if known else ""
        if choice.sealed:
            window.drill.seal()
        window.drill.show_finished(None, "")
        window.drill.show_under_way(f"A drill is under way.{which} It is ended with Ctrl+Shift+F12.")
        window.show_page(WATCH)
        self._show_state()
        window.say("The drill has begun.")
        return True

    def press(self, name: str) -> None:
        """Do what a button of the bar asks. name: of the action."""
        driver, window = self.driver, self.program.window
        if driver is None:
            return
        if name == "end":
            self.end()
        elif name == "speed":
            driver.ask_speed(SPEEDS[(SPEEDS.index(driver.asked) + 1) % len(SPEEDS)])
        elif name == "check":
            window.act("flow check")
        else:
            {"tell": driver.tell_driller, "space": driver.space_out, "pumps": driver.pumps_off, "shut": driver.shut_in,
             "on": driver.go_on, "look": driver.look}[name]()

    def _name(self, words: str) -> None:
        if self.driver is not None:
            self.driver.name(words)

    def _note(self, words: str) -> None:
        if self.driver is not None:
            self.driver.note(words)

    def walks(self, short: bool) -> bool:
        """Send somebody to dip the tanks, in a drill that is dipped by hand. short: the suction and the trip tank
        alone. False in any other, where the Round page is for it."""
        if self.driver is None or self.driver.run.choice.mode != DIPS:
            return False
        self.driver.walk(short=short)
        return True

    def look_around(self) -> None:
        """A watch that was opened in another program on this computer goes before: the drill ends for it."""
        if self.driver is None:
            return
        try:
            logs = self.program.marks.elsewhere()
        except DipbookError as error:
            self.end(f"it could not be told whether a watch is open: {error}", f"{error} The drill was ended.")
            return
        if logs:
            names = ", ".join(logs)
            self.end(f"a watch was opened on this computer: {names}",
                     f"A watch was opened in another Dipbook on this computer, {names}: the drill was ended for it.")

    def checks(self) -> None:
        """A flow check begins, by whichever key: in a drill the crew stop for it."""
        if self.driver is not None and not self.driver.run.shut_in:
            self.driver.flow_check()

    def end(self, ended_by: str = BY_TRAINEE, first: str = "The drill is over.") -> None:
        """End it: it is written, and its log stays open to be looked at. ended_by: why. first: what is said first."""
        driver, window = self.driver, self.program.window
        if driver is None:
            return
        trouble = driver.finish(ended_by, cut=ended_by != BY_TRAINEE)
        run = driver.run
        self._forget()
        words = f"{first} " + (trouble or f"It was {run.scenario.name}, seed {run.choice.seed}, and is kept in "
                                          f"{driver.folder}.")
        window.drill.show_under_way("")
        window.drill.show_finished(None if trouble else driver.folder, words)
        window.drill_bar.show_over()
        window.show_drill(True, over=True)
        window.show_page(DRILL)
        (window.drill.table if trouble else window.drill.debrief).setFocus()     # what comes next, and begins nothing
        window.say(words, bad=bool(trouble) or ended_by != BY_TRAINEE)

    def let_go(self) -> None:
        """The log is about to be closed: a drill under way is written as it is."""
        if self.driver is not None:
            trouble = self.driver.finish(WENT_AWAY)
            folder = self.driver.folder
            self._forget()
            self.program.window.drill.show_under_way("")
            self.program.window.drill.show_finished(
                None if trouble else folder, trouble or f"The drill was broken off and is kept in {folder}.")

    def _forget(self) -> None:
        self._looks.stop()
        if self.driver is not None:
            self.driver.deleteLater()
        self.driver = None

    def _show_state(self) -> None:
        driver = self.driver
        if driver is None:
            return
        run = driver.run
        now = clock_time(run.t_ms, run.doc.rig.zone)
        if run.walking is not None:
            state = f"round back at {clock_time(run.back_ms(), run.doc.rig.zone)}"
        elif run.shut_in:
            state = "shut in"
        elif run.stopped:
            state = "work stopped"
        else:
            state = "the crew work" if not run.over else "the work is done"
        speed = f"{driver.speed}×" if driver.asked == 1 else f"{driver.speed}×, up to {driver.asked}×"
        if driver.asked > 1 and driver.desk.sounding:
            speed = "1×, a warning sounds"
        self.program.window.drill_bar.show_state(f"{now}  {speed}", state)
