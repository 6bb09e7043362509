"""Acknowledges or closes one warning with a name and a note; both go into the log with it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QWidget

from dipbook.findings import Finding
from dipbook_app.current import crew_of
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.forms.form import Form

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

ACKNOWLEDGE, CLOSE = "acknowledge", "close"
TITLES = {ACKNOWLEDGE: "Acknowledge {}", CLOSE: "Close {}"}
HELP = {ACKNOWLEDGE: "The sound stops, the warning stays open. F8 acknowledges at once, without a note.",
        CLOSE: "It is over. The note says what it was, and what was done; it stays in the log."}
KEYS = {ACKNOWLEDGE: "Acknowledge", CLOSE: "Close it"}
DONE = {ACKNOWLEDGE: "Acknowledged by {}.", CLOSE: "Closed by {}."}


class AnswerWarningForm(Form):
    """desk: does it. occurrence: the warning's; name: what it is called. how: ACKNOWLEDGE or CLOSE."""

    def __init__(self, desk: Desk, occurrence: str, name: str, how: str, parent: QWidget | None = None) -> None:
        super().__init__(TITLES[how].format(name), HELP[how], parent)
        self.desk, self.occurrence, self.how = desk, occurrence, how
        self.say_save(KEYS[how])
        self.add_field(FieldRow("by", "Who").offer(lambda: crew_of(desk))).set_text(desk.on_watch)
        self.add_field(FieldRow("note", "Note"))
        if how == ACKNOWLEDGE:
            self.field("note").set_hint("seen, done; may stay empty")
        self.finish()

    def save(self) -> None:
        """Hand it to the desk; what is wrong goes to its field."""
        self.clear_words()
        texts = self.texts()
        by, note = texts.get("by", ""), texts.get("note", "")
        wanted = {"by": "Who? A name is needed."}
        if self.how == CLOSE:
            wanted["note"] = "What was it, and what was done? A note is needed."
        errors = [_error(name, words) for name, words in wanted.items() if not texts.get(name)]
        if errors:
            self.show_findings(errors)
            return
        refused = self.desk.acknowledge(self.occurrence, by, note) if self.how == ACKNOWLEDGE else \
            self.desk.close_warning(self.occurrence, note, by)
        if refused:
            self.show_findings((_error("", refused),))
            return
        self.saved.emit(DONE[self.how].format(by))


def _error(column: str, words: str) -> Finding:
    return Finding(words, code="field", severity="error", column=column, kept=False)
