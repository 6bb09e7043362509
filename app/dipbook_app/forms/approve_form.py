"""By which a person approves the limits in force: they are compared with that set at each handover from then on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QWidget

from dipbook.entries.kinds import LIMITS_APPROVED
from dipbook_app.current import crew_of, current
from dipbook_app.display import DisplayUnits
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.forms.form import Form
from dipbook_app.limit_words import approved_lines

if TYPE_CHECKING:
    from dipbook_app.desk import Desk


class ApproveForm(Form):
    """Asks who approves and why, and says what differs from the last set. desk: takes the entry."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        situation = current(desk)
        count = len(situation.rig.limits)
        super().__init__("Approve the limits", f"{'The limit' if count == 1 else f'All {count} limits'} in force, as "
                         "the table shows. The limits are compared with this set from then on, and what differs is "
                         "said at each handover.", parent)
        self.desk = desk
        self.say_save("Approve")
        self.differing = QLabel("\n".join(approved_lines(situation, DisplayUnits(situation.rig))))
        self.differing.setWordWrap(True)
        self.differing.setTextFormat(Qt.TextFormat.PlainText)
        self.add_field(FieldRow("approved by", "Who approves").offer(lambda: crew_of(desk)))
        self.add_field(FieldRow("remark", "Note, or why"))
        self.column.addWidget(self.differing)
        self.finish()

    def save(self) -> None:
        """Hand the entry to the desk."""
        self.clear_words()
        texts = self.texts()
        now_ms = self.desk.now_ms()
        found = self.desk.log_entry(LIMITS_APPROVED, texts, t_ms=now_ms, end_ms=None,
                                    author=self.desk.on_watch or texts.get("approved by", ""))
        if any(finding.severity == "error" for finding in found):
            self.show_findings(found)
            return
        self.saved.emit(f"The limits are approved by {texts['approved by']}.")
