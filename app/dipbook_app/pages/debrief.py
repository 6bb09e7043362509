"""What is looked at of drills that are over: the list of those that were done, and the debrief of one."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QStackedWidget, QVBoxLayout, QWidget

from dipbook import debriefing
from dipbook.debrief.signed_record import of_debrief
from dipbook.debrief.told import Debrief
from dipbook.errors import DipbookError
from dipbook.rig.model import Rig
from dipbook_app.printing.drill_pages import write_csv, write_record
from dipbook_app.theme import Look
from dipbook_app.widgets.debrief_view import DebriefView
from dipbook_app.widgets.drill_history import DrillHistory

PDF, CSV = "record.pdf", "record.csv"


class DebriefPage(QWidget):
    """The history of a folder of drills, and the debrief of one of them: Enter opens it, Esc closes it, Esc again
    closes this.

    Signals: closed(): nothing more is to be looked at. said(str, bool): words for the status line, and whether they are
    of something that went wrong.
    """

    closed = Signal()
    said = Signal(str, bool)

    def __init__(self, look: Look | None = None, unit_set: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._folder: Path | None = None
        self._drills: Path | None = None
        self._unit_set = unit_set
        self.view = DebriefView(look, unit_set)
        self.history = DrillHistory(look, unit_set)
        self._both = QStackedWidget()
        self._both.addWidget(self.history)
        self._both.addWidget(self.view)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 4, 12, 4)
        layout.addWidget(self._both)
        self.view.closed.connect(self._back)
        self.view.record_wanted.connect(self._record)
        self.history.wanted.connect(self.open_debrief)
        self.history.closed.connect(self.closed)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self.view.set_look(look)
        self.history.set_look(look)

    def show_units(self, unit_set: str) -> None:
        """Write in another set of units. unit_set: its name, "" for the rig's own."""
        self._unit_set = unit_set
        self.view.show_units(unit_set)
        self.history.show_units(unit_set)

    def show_history(self, drills: Path) -> bool:
        """Show the drills that were done. drills: the folder in which theirs are. Returns False where it can't be
        read, and says why."""
        try:
            found = debriefing.past(drills)
        except DipbookError as error:
            self.said.emit(str(error), True)
            return False
        self._drills = drills
        self.history.show_past(found)
        self._both.setCurrentWidget(self.history)
        self.history.setFocus()
        return True

    def open_debrief(self, folder: Path) -> bool:
        """Show the debrief of a drill, from its beginning. folder: of the drill. Returns False where it can't be read,
        and says why."""
        try:
            told, rig = debriefing.of_folder(folder)
        except DipbookError as error:
            self.said.emit(str(error), True)
            return False
        self._folder = folder
        self.view.show_debrief(told, rig)
        self._both.setCurrentWidget(self.view)
        self.view.setFocus()
        return True

    @property
    def debrief_shown(self) -> bool:
        """The debrief of one drill is shown, and not the list of all."""
        return self._both.currentWidget() is self.view

    def _back(self) -> None:
        """Back to the list, if it came from there."""
        self.view.pause()
        if self._drills is not None:
            self._both.setCurrentWidget(self.history)
            self.history.setFocus()
        else:
            self.closed.emit()

    def _record(self, told: Debrief, rig: Rig) -> None:
        """Write the record beside the drill."""
        if self._folder is None:
            return
        made = of_debrief(told)
        try:
            write_record(made, rig, self._folder / PDF, unit_set=self._unit_set)
            write_csv([made], self._folder / CSV)
        except DipbookError as error:
            self.view.say(str(error))
            self.said.emit(str(error), True)
            return
        words = f"The record to be signed is in {self._folder / PDF}, and as a row in {CSV} beside it."
        self.view.say(words)
        self.said.emit(words, False)
