"""What is said of a readings file of another form: the lists in which it is said, and what was said the last time."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from dipbook.errors import DipbookError
from dipbook.exchange.foreign import NOTHING_SAID, Foreign
from dipbook.exchange.mapping import Mapping
from dipbook_app import mapping_memory
from dipbook_app.current import current
from dipbook_app.widgets.mapping_table import MappingTable
from dipbook_app.widgets.read_as import ReadAs

if TYPE_CHECKING:
    from dipbook_app.desk import Desk


class OtherForm(QObject):
    """Keeps ``said``, which a person's choices alone change; what the file shows by itself is not in it.

    desk: gives the rig and the log beside which it is kept. Attributes: read_as, mapping: the widgets. remembered: True
    if what is filled in was said of an earlier file.
    Signal: changed(): something else is said; the file has to be looked at again.
    """

    changed = Signal()

    def __init__(self, desk: Desk, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self.said: Mapping = NOTHING_SAID
        self.remembered = False
        self.read_as = ReadAs()
        self.mapping = MappingTable()
        self.read_as.changed.connect(self._part_said)
        self.mapping.changed.connect(self._columns_said)

    def forget(self) -> None:
        """Another file: nothing is said of it."""
        self.said, self.remembered = NOTHING_SAID, False
        self.show_file(None)

    def show_file(self, other: Foreign | None) -> None:
        """What is asked of a file of another form; nothing of a file of our own (None)."""
        self.read_as.setVisible(other is not None)
        columns = other is not None and bool(other.headings) and not other.own
        self.mapping.setVisible(columns)
        if other is not None:
            rig = current(self.desk).rig
            self.read_as.show_file(other, rig)
            if columns:
                self.mapping.show_columns(other, rig)

    def go_to_problem(self, other: Foreign | None) -> bool:
        """Put the cursor on the first thing that is asked, as Tab goes; False if nothing is."""
        asked = other.problems if other is not None else ()
        return any(focus(problem) for focus in (self.read_as.focus_on, self.mapping.focus_on) for problem in asked)

    def recall(self, other: Foreign | None) -> bool:
        """Take what was said of such headings before, unless somebody has said something of them now.

        True if there was something: the file has to be looked at again.
        """
        if other is None or self.remembered or self.said.columns or other.own or not other.headings:
            return False
        found = mapping_memory.remembered(self._memory, other.key)
        if found is None:
            return False
        now = other.mapping
        self.remembered = True
        self.said = replace(found, encoding=now.encoding, separator=now.separator, sheet=now.sheet,
                            decimal=now.decimal or found.decimal, heading_row=0)
        return True

    def remember(self, other: Foreign | None) -> list[str]:
        """Keep what was said of the columns for the next file like it. Returns words if that failed."""
        if other is None or other.own:
            return []
        try:
            mapping_memory.remember(self._memory, other.key, other.mapping)
        except DipbookError as error:
            return [f"What the columns are could not be kept for the next time: {error}"]
        return []

    @property
    def _memory(self) -> Path:
        return mapping_memory.path_for(self.desk.store.path)

    def _part_said(self, part: str) -> None:
        """How the file is read: the columns stay as they were said."""
        self.said = self.read_as.chosen(self.said, part)
        self.changed.emit()

    def _columns_said(self) -> None:
        self.said = replace(self.said, columns=self.mapping.columns(), tanks=self.mapping.tanks())
        self.changed.emit()
