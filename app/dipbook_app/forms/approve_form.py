"""By which a person approves the limits as they are set; from then on they are compared with that at each handover."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QWidget

from dipbook.entries.kinds import LIMITS_APPROVED
from dipbook_app.current import crew_of, current
from dipbook_app.display import DisplayUnits
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.forms.form import Form
from dipbook_app.limit_standing import in_force_line, not_in_force_words, other_lines, standing
from dipbook_app.limit_words import approved_lines

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

HELD = "What is approved is each limit as it is set, in service"
"""What an approval holds, whatever keeps a limit from being in force now."""


class ApproveForm(Form):
    """Asks who approves and why, and says which limits are in force, which aren't, and what differs from the last set.

    desk: takes the entry.
    """

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        situation = current(desk)
        count = len(situation.rig.limits)
        super().__init__("Approve the limits", f"{HELD}: {'one limit' if count == 1 else f'{count} limits'}. What "
                         "differs from that is said from then on, and at each handover.", parent)
        self.desk = desk
        self.say_save("Approve")
        now = standing(situation)
        held = []
        if now.waits:
            held.append("What waits is approved, not the stricter that acts.")
        if now.out or now.shelved:
            held.append("One set aside isn't as approved until it is back.")
        self.in_force = self._label(in_force_line(now))
        self.not_in_force = self._label("\n".join((*other_lines(now, situation), *held)))
        self.not_in_force.setProperty("part", "strong")
        self.not_in_force.setVisible(bool(self.not_in_force.text()))
        self.add_field(FieldRow("approved by", "Who approves").offer(lambda: crew_of(desk)))
        self.add_field(FieldRow("remark", "Note, or why"))
        self.differing = self._label("\n".join(approved_lines(situation, DisplayUnits(situation.rig))))
        self.finish()

    def _label(self, words: str) -> QLabel:
        """Words below what the form has so far."""
        label = QLabel(words)
        label.setWordWrap(True)
        label.setTextFormat(Qt.TextFormat.PlainText)
        self.column.addWidget(label)
        return label

    def start(self) -> None:
        """Put the cursor into the first field; what is approved stands above it, from its first line on."""
        super().start()
        self.area.verticalScrollBar().setValue(0)

    def save(self) -> None:
        """Hand the entry to the desk."""
        self.clear_words()
        texts = self.texts()
        now_ms = self.desk.now_ms()
        found = self.desk.log_entry(LIMITS_APPROVED, texts, t_ms=now_ms, end_ms=None,
                                    author=self.desk.on_watch or texts.get("approved by", ""))
        if any(finding.severity == "error" for finding in found):
            self.show_findings(found, refused="Not approved.")
            return
        self.saved.emit(" ".join(text for text in (
            f"The limits are approved by {texts['approved by']}, as they are set.",
            not_in_force_words(standing(current(self.desk)))) if text))
