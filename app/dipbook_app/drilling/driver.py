"""Drives a drill: its clock goes on as fast as it may, what becomes known goes to its desk, and acts to the drill."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal

from dipbook.drill_folder import keep, write_drill
from dipbook.drill_run import SECOND_MS, DrillRun
from dipbook.entries.kinds import SHUT_IN
from dipbook.errors import DipbookError
from dipbook_app.drilling.drill_clock import DrillClock
from dipbook_app.drilling.drill_desk import DrillDesk

FRAME_MS = 200
LONGEST_S = 0.4
"""A frame that took longer counts as this: a computer that slept, or was busy, holds the drill up [s]."""
TICK_S = 10
"""The desk is told of the time at least this often [s of the drill]."""
KEEP_S = 5.0
"""What is needed to go through the drill after a power cut is written at each act, and at least this often [s]."""
NOT_KEPT = "Were this drill cut off now, it could not be gone through:"
SPEEDS = (1, 2, 5, 10, 30, 60)
BY_TRAINEE = "the trainee ended it"
CHECKED_LATE = ("The crew have stopped for the flow check only now: Shift+F2 or Ctrl+F stops the work when the check "
                "begins.")


class Driver(QObject):
    """One drill under way. changed(): speed, stop or shut-in. said(str): what came of an act. over(str): it can't go
    on, or the crew's work is done; it still wants to be ended. ended(Path): it was written into this folder.

    asked: how fast it may run, of SPEEDS. folder: of the drill.
    """

    changed = Signal()
    said = Signal(str)
    over = Signal(str)
    ended = Signal(object)

    def __init__(self, run: DrillRun, desk: DrillDesk, clock: DrillClock, parent: QObject | None = None, *,
                 steady: Callable[[], float] = time.monotonic, ticking: bool = True) -> None:
        """run; desk: of its log; clock: that desk's. steady: the computer's [s]. ticking: False for a test that gives
        the frames."""
        super().__init__(parent)
        self.run, self.desk, self.clock = run, desk, clock
        self.folder: Path = desk.store.path.parent
        self.asked = SPEEDS[0]
        self.done = False
        self._steady = steady
        self._at = steady()
        self._carry_ms = 0.0
        self._told_over = False
        self._kept_at = self._at
        self._not_kept = ""
        desk.entered.connect(self._on_entered)
        self._timer = QTimer(self)
        self._timer.setInterval(FRAME_MS)
        self._timer.timeout.connect(self.frame)
        if ticking:
            self._timer.start()

    @property
    def speed(self) -> int:
        """How fast it runs now: what counts runs at 1."""
        slow = not self.run.may_run or self.run.watched or self.run.shut_in or self.desk.sounding
        return 1 if slow else self.asked

    def ask_speed(self, speed: int) -> None:
        """How fast it may run at most. speed: of SPEEDS."""
        self.asked = speed
        self.changed.emit()

    def frame(self) -> None:
        """Go on by the time since the last frame."""
        now = self._steady()
        self.go_on_by(min(now - self._at, LONGEST_S))
        self._at = now

    def go_on_by(self, seconds: float) -> None:
        """Go on. seconds: by the computer's clock [s]."""
        if self.done:
            return
        before = self.speed
        self._carry_ms += seconds * 1000.0
        while self._carry_ms * self.speed >= SECOND_MS and not self.run.session.ended:
            self._carry_ms -= SECOND_MS / self.speed
            self.second()
        self.desk.tick()
        if self.run.session.ended:
            self._carry_ms = 0.0
        if self.run.over and not self._told_over:
            self._told_over = True
            self.over.emit(self.run.over)
        if self._steady() - self._kept_at >= KEEP_S:
            self.keep()
        if self.speed != before:
            self.changed.emit()

    def keep(self) -> None:
        """Write what is needed to go through the drill as it is now. Where that fails it is said, and the drill goes
        on."""
        self._kept_at = self._steady()
        if self.done:
            return
        try:
            keep(self.folder, self.run.finished("", round(time.time() * 1000)))
        except DipbookError as error:
            if not self._not_kept:
                self.said.emit(f"{NOT_KEPT} {error}")
            self._not_kept = str(error)
        else:
            self._not_kept = ""

    def second(self) -> None:
        """One second of the drill."""
        try:
            learned = self.run.step()
        except DipbookError as error:
            self.run.session.ended = str(error)
            return
        self.clock.set(learned.t_ms)
        if not learned.nothing:
            self.desk.feed(learned)
        elif self.run.session.now_ms // SECOND_MS % TICK_S == 0:
            self.desk.tick()

    # --- what the trainee does --------------------------------------------------------------------------------------

    def tell_driller(self) -> None:
        """The driller is told what the log shows."""
        open_now = [w.text for w in self.desk.situation.warnings]
        what = open_now[0] if open_now else "what the log shows"
        self._act(lambda: self.run.tell_driller(what), "Told the driller.")

    def flow_check(self) -> None:
        """The work stops and the well is watched."""
        self._act(self.run.flow_check, "Work stopped, pumps off: the well is watched. Finish the flow check when you "
                                       "know.")

    def look(self) -> None:
        """Somebody looks at the flow line."""
        self.said.emit(f"At the flow line: {self.run.at_the_flow_line()}.")

    def space_out(self) -> None:
        """The pipe is spaced out."""
        self._act(self.run.space_out, "Spaced out.")

    def pumps_off(self) -> None:
        """The pumps are stopped."""
        self._act(self.run.pumps_off, "Pumps off.")

    def shut_in(self) -> None:
        """The well is shut in."""
        self._act(self.run.shut_the_well_in, "The well is shut in. The drill goes no further below; end it when you "
                                             "have logged what you want.")

    def go_on(self) -> None:
        """The crew go on with their work."""
        if not self.run.stopped or self.run.shut_in:
            self.said.emit("The well stays shut in." if self.run.shut_in else "The crew are at work.")
            return
        self._act(self.run.go_on, "The crew go on with their work.")

    def note(self, what: str) -> None:
        """Something is written down. what: in words."""
        self._act(lambda: self.run.note(what), "Noted.")

    def name(self, what: str) -> None:
        """What the trainee takes it to be. what: in words."""
        self._act(lambda: self.run.name(what), f"You think it is: {what}.")

    def walk(self, *, short: bool = False) -> None:
        """Somebody goes to dip the tanks. short: the suction and the trip tank alone."""
        why = self.run.walk(short=short)
        self.said.emit(why or "Somebody goes to dip the tanks.")
        self.changed.emit()

    def _act(self, do: Callable[[], object], words: str) -> None:
        if self.done:
            return
        if self.run.session.ended:
            self.said.emit(f"The drill goes no further: {self.run.session.ended}. End it.")
            return
        do()
        self.said.emit(words)
        self.keep()
        self.changed.emit()

    def _on_entered(self, kind: str, typed: Mapping[str, str]) -> None:
        """What the trainee entered by a form is an act too, where the call asks for it. What it says was done is done:
        a log that said that the pumps are off while they run would show what isn't so."""
        state = str(typed.get("state", ""))
        if kind == "flow check":
            if not self.run.checking:
                self._act(self.run.flow_check, CHECKED_LATE)
            self.run.seen(str(typed.get("result", "")))
        if kind == "pumps" and state == "off" and not self.run.stopped:
            self.pumps_off()
        if kind == "pumps" and state == "on" and self.run.stopped and not self.run.shut_in:
            self.go_on()
        if kind == "shut-in" and state == SHUT_IN and not self.run.shut_in:
            self.shut_in()
        if kind in ("flow check", "shut-in", "remark"):
            self.run.logged_by_form(kind)
        if kind == "told driller":
            self.run.told_by_form(str(typed.get("what", "")))
        self.keep()

    def finish(self, ended_by: str = BY_TRAINEE, *, cut: bool = False) -> str:
        """End it and write it. ended_by: why, in words. cut: it is cut off in the middle, by nobody in it. Returns what
        couldn't be written, "" if all was."""
        if self.done:
            return ""
        self.done = True
        self._timer.stop()
        self.desk.tick()
        self.desk.over = True
        why = f"{ended_by}; {self.run.over}" if self.run.over else ended_by
        try:
            write_drill(self.folder, self.run.finished(why, round(time.time() * 1000), cut=cut))
        except DipbookError as error:
            return f"The drill's log is kept, and the rest of it could not be written. {error}"
        self.changed.emit()
        self.ended.emit(self.folder)
        return ""
