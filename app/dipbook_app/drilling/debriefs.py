"""Drills that are over, gone through on the Drill page: laid over it, and closed again with Esc."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject

from dipbook.errors import DipbookError
from dipbook_app.drilling import beginning, pit_drill_records
from dipbook_app.page_names import DRILL
from dipbook_app.pages.debrief import DebriefPage

if TYPE_CHECKING:
    from dipbook_app.running import Program

UNDER_WAY = "A drill is under way: end it first, and go through it then."
NONE_YET = "No drill has been finished on this computer yet."


class Debriefs(QObject):
    """See the module. page: what is laid over the Drill page; hidden while nothing is gone through."""

    def __init__(self, program: Program) -> None:
        super().__init__(program)
        self.program = program
        over = program.window.drill
        self.page = DebriefPage(program.window.look, program.preferences.now.unit_set, over)
        self.page.setAutoFillBackground(True)
        self.page.hide()
        self.page.closed.connect(self.close)
        self.page.said.connect(lambda words, bad: program.window.say(words, bad=bad))
        over.installEventFilter(self)
        self.page.installEventFilter(self)
        program.window.units_turned.connect(self.page.show_units)
        over.debrief_wanted.connect(self.open)
        over.past_wanted.connect(self.show_past)
        over.pit_record_wanted.connect(self.write_pit_record)

    def open(self, folder: Path) -> bool:
        """Go through a drill. folder: of it. Returns False where it can't be read; why is said."""
        self.page.show_units(self.program.preferences.now.unit_set)
        return self._show(self.page.open_debrief(folder))

    def show_past(self) -> bool:
        """Show the drills that were done on this computer. Returns False where there are none, or while one is under
        way; why is said."""
        if self.program.drills.driver is not None:
            self.program.window.say(UNDER_WAY, bad=True)
            return False
        folder = self.program.drills.into or beginning.drills_folder()
        if not folder.is_dir():
            self.program.window.say(NONE_YET)
            return False
        self.page.show_units(self.program.preferences.now.unit_set)
        return self._show(self.page.show_history(folder))

    def write_pit_record(self) -> None:
        """Write the record of the last pit drill on the rig, beside its log; what came of it is said."""
        if self.program.desk is None:
            return
        try:
            words, written = pit_drill_records.write_last(self.program.desk, self.program.preferences.now.unit_set)
        except DipbookError as error:
            words, written = str(error), False
        self.program.window.drill.say(words)
        self.program.window.say(words, bad=not written)

    def close(self) -> None:
        """Back to the Drill page."""
        self.page.hide()
        self.program.window.drill.setFocus()

    def _show(self, shown: bool) -> bool:
        if shown:
            self.program.window.show_page(DRILL)
            self._cover()
            self.page.show()
            self.page.raise_()
            (self.page.view if self.page.debrief_shown else self.page.history).setFocus()
        return shown

    def _cover(self) -> None:
        self.page.setGeometry(self.program.window.drill.rect())

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The page below has another size; or what is gone through comes into sight, or goes out of it."""
        if watched is self.page and event.type() in (QEvent.Type.Show, QEvent.Type.Hide):
            self.program.window.go_through(event.type() == QEvent.Type.Show)
        elif watched is not self.page and event.type() == QEvent.Type.Resize:
            self._cover()
        return False
