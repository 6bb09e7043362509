"""Start the program: the window, the log it shows, and what happens when something goes wrong."""

from __future__ import annotations

import sys
import traceback
from pathlib import Path
from types import TracebackType

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QApplication

from dipbook import store
from dipbook.errors import DipbookError, RigFileError
from dipbook.rig import document
from dipbook.rig.changes import difference_in_words
from dipbook.store.beside import atomic_write
from dipbook_app import demo
from dipbook_app.cli.opening import start_log
from dipbook_app.clock import Clock
from dipbook_app.desk import Desk
from dipbook_app.drafts import Drafts
from dipbook_app.drilling.beginning import in_window
from dipbook_app.drilling.debriefs import Debriefs
from dipbook_app.drilling.drill_desk import DrillDesk
from dipbook_app.drilling.drills import Drills
from dipbook_app.log_check import LogCheck
from dipbook_app.log_copies import LogCopies
from dipbook_app.pages_of_a_log import pages
from dipbook_app.preferences import PreferencesFile
from dipbook_app.watch_marks import WatchMarks
from dipbook_app.window import Window

LOG_SUFFIX, RIG_SUFFIX = ".dipbook", ".toml"
LOG_BEGINS = b"SQLite format 3\x00"
"""The first bytes of a log's file (sqlite.org, Database File Format, 1.3.1)."""


def is_log(path: Path) -> bool:
    """True if a file is meant as a log: by its name, or by how it begins. Opening it says whether it is one."""
    if path.suffix.lower() == LOG_SUFFIX:
        return True
    try:
        with path.open("rb") as file:
            return file.read(len(LOG_BEGINS)) == LOG_BEGINS
    except OSError:
        return False


class Program(QObject):
    """The window and the log it shows. clock: the desk's; preferences: what this computer's people chose."""

    def __init__(self, preferences: PreferencesFile, clock: Clock | None = None) -> None:
        super().__init__()
        self.clock = clock or Clock()
        self.preferences = preferences
        self.desk: Desk | None = None
        self.window = Window(None, preferences)
        self.window.demo_wanted.connect(self.open_demo)
        self.window.file_wanted.connect(lambda path: self.open_file(Path(path)))
        self.window.last_wanted.connect(self.open_last)
        self.marks = WatchMarks()
        self.drills = Drills(self)
        self.debriefs = Debriefs(self)
        self.log_check = LogCheck(self)
        self.log_check.checked.connect(self.window.show_log_wrong)
        self.log_copies = LogCopies(self.clock.now_ms, self)
        self.log_copies.failed.connect(lambda words: self.window.say(words, bad=True))

    def open_log(self, path: Path) -> bool:
        """Show the log at ``path``; in words on the status line if it can't be opened."""
        if self.desk is not None and path.resolve() == self.desk.store.path:
            self.window.show_page("Watch")
            self.window.say(f"{path.name} is open already.")
            return True
        try:
            opened = store.open(path, None, station="desk", create=False)
            try:
                desk = self.drills.looked_at(opened) if in_window(opened) else Desk(opened, self.clock)
            except BaseException:
                opened.close()
                raise
        except DipbookError as error:
            self.window.say(str(error), bad=True)
            return False
        self.show_desk(desk, path)
        return True

    def show_desk(self, desk: Desk, path: Path) -> None:
        """Show a desk's log. path: as it was given."""
        opened = desk.store
        self.close_log()
        self.desk = desk
        drafts = Drafts(desk.drafts_path, desk)
        drafts.failed.connect(desk.failed)
        drill = opened.role == store.DRILL
        self.window.show_drill(drill, over=isinstance(desk, DrillDesk) and desk.over)
        self.window.take(desk, pages(desk, drafts), opened.path, drafts)
        self.window.say(f"Opened {path.name}.")
        if not drill and desk.situation.records[0].station != demo.STATION:
            self.preferences.change(store=str(path.absolute()), rig=desk.situation.rig.name)
        self.log_check.start(opened.path)
        if opened.role == store.WATCH and desk.situation.records[0].station != demo.STATION:
            self.log_copies.start(opened.path)
            if trouble := self.marks.hold(opened.path):
                self.window.say(trouble, bad=True)
        for remark in opened.remarks:
            self.window.say(remark.what)
        if desk.unreadable:
            self.window.say(f"{desk.unreadable} lines of this log's journal of warnings can't be read by this version. "
                            "Check the log (dipbook verify); look at its Log page for what stood open.", bad=True)
        if drafts.problem:
            self.window.say(drafts.problem, bad=True)

    def open_last(self) -> None:
        """Go on with the log that was open last; a demo isn't one."""
        self.open_log(Path(self.preferences.now.store))

    def open_demo(self) -> None:
        """Make a fresh demo log and show it."""
        try:
            path = demo.make_log(self.clock.now_ms())
        except (DipbookError, OSError) as error:
            self.window.say(f"The demo's log could not be made. {error}", bad=True)
            return
        self.open_log(path)

    def open_file(self, path: Path) -> None:
        """Open what was chosen: a log as a log, a rig file with its log; anything else is refused.

        Where it is refused, the log that is open stays open and is watched.
        """
        if is_log(path):
            self.open_log(path)
            return
        try:
            document.read(path)
        except RigFileError as error:
            elsewhere = self.desk is not None and path.with_suffix(LOG_SUFFIX).resolve() != self.desk.store.path
            if path.suffix.lower() != RIG_SUFFIX:
                self.window.say(f"{path.name} is neither a rig file nor a log. Nothing was opened.", bad=True)
                return
            if elsewhere:
                self.window.show_problems(f"{path.name} can't be used yet. Nothing was opened. Correct it, then open "
                                          "it again.", error.problems or (str(error),))
                return
        self.open_rig(path)

    def open_rig(self, rig: Path, log: Path | None = None) -> None:
        """Show the log beside a rig file (or ``log``), made now if there is none yet.

        A file that can't be used makes nothing; one that differs from the rig that the log has adopted is said to.
        """
        log = rig.with_suffix(LOG_SUFFIX) if log is None else log
        doc, made = None, False
        try:
            doc = document.read(rig)
            if not log.exists():
                start_log(log, rig)
                made = True
        except RigFileError as error:
            if not log.exists():
                self.window.show_problems(f"{rig.name} can't be used yet. Nothing was made. Correct it, then open it "
                                          "again.", error.problems or (str(error),))
                return
        except DipbookError as error:
            self.window.say(str(error), bad=True)
            return
        if not self.open_log(log) or self.desk is None:
            return
        if made:
            self.window.say(f"A new log was made: {log.absolute()}")
        if doc is None:
            self.window.offer_rig(rig, f"{rig.name} can't be used: what is wrong stands here. The log keeps its rig.")
        elif differing := difference_in_words(self.desk.situation.rig, doc.rig):
            things = "1 thing" if len(differing) == 1 else f"{len(differing)} things"
            self.window.offer_rig(rig, f"{rig.name} differs from the rig that this log has, in {things}. The log's own "
                                       "stays until you adopt the file here (Limits, Ctrl+R).")

    def close_log(self) -> None:
        """Let the log go, what is written safely on the disk."""
        self.drills.let_go()
        desk, self.desk = self.desk, None
        if desk is not None:
            self.log_check.forget()
            self.log_copies.stop()
            self.window.show_drill(False)
            self.window.take(None, {})
            lost = desk.close()
            if lost:
                sys.stderr.write(f"{lost} records of the watch could not be stored in {desk.store.path}: "
                                 f"{desk.situation.store_text}\n")
            desk.deleteLater()
        self.marks.let_go()


def application() -> QApplication:
    """The program's QApplication, made if need be."""
    app = QApplication.instance()
    if isinstance(app, QApplication):
        return app
    app = QApplication(["dipbook"])
    app.setApplicationName("dipbook")
    app.setApplicationDisplayName("Dipbook")
    return app


def run(log: Path | None, rig: Path | None = None) -> int:
    """Show the window until it is closed.

    log: the log to open; None for the one beside ``rig``, else the last one, else the Start page. rig: a rig file.
    """
    app = application()
    preferences = PreferencesFile()
    program = Program(preferences)
    _catch_bugs(program)
    if rig is not None:
        program.open_rig(rig, log)
    elif log is not None:
        program.open_log(log)
    elif preferences.now.store and Path(preferences.now.store).exists():
        program.open_log(Path(preferences.now.store))
    program.drills.look_for_cut()
    program.window.show()
    code = app.exec()
    program.close_log()
    return int(code)


def _catch_bugs(program: Program) -> None:
    """A bug is written beside the log and said on the status line; the log itself is safe, and the watch goes on."""
    def caught(kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        if issubclass(kind, KeyboardInterrupt):
            sys.__excepthook__(kind, error, trace)
            return
        text = "".join(traceback.format_exception(kind, error, trace))
        place = program.desk.store.path.with_name(program.desk.store.path.name + ".fault.txt") if program.desk else None
        words = "Something went wrong in the program. What was saved is safe."
        try:
            if place is None:
                sys.stderr.write(text)
            else:
                atomic_write(place, text)
                words = f"Something went wrong in the program; it is written in {place.name}. What was saved is safe."
        except DipbookError:  # the disk is full, perhaps for the same reason
            sys.stderr.write(text)
        program.window.say(words, bad=True)

    sys.excepthook = caught
