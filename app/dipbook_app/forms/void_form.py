"""Strikes one record out of the books; it stays in the log, struck through, with who and why."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QWidget

from dipbook.entries.words import LABELS, describe
from dipbook.findings import Finding
from dipbook.records import Record
from dipbook_app.current import crew_of, current
from dipbook_app.display import shown_words
from dipbook_app.drafts import Drafts
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.forms.kept_form import KeptForm
from dipbook_app.log_model import happened
from dipbook_app.typed_times import clock
from dipbook_app.unsaved import STRIKE, draft_name

if TYPE_CHECKING:
    from dipbook_app.desk import Desk


class VoidForm(KeptForm):
    """desk: strikes it; record: an entry or a round. drafts: keeps what is typed, or None."""

    def __init__(self, desk: Desk, record: Record, *, drafts: Drafts | None = None, parent: QWidget | None = None,
                 ) -> None:
        rig = current(desk).rig
        label = LABELS.get(record.kind, record.kind)
        when = clock(happened(record), rig.zone, now_ms=desk.now_ms())
        super().__init__(f"Strike out: {label} {when}", shown_words(
            describe(record, rig.units, rig.zone, rig.decimal)), drafts, parent)
        self.desk = desk
        self.record = record
        self._said = f"{label} {when} struck out."
        self.say_save("Strike out")
        self.add_field(FieldRow("reason", "Why"))
        self.add_field(FieldRow("by", "Who").offer(lambda: crew_of(self.desk)))
        self.field("by").set_text(desk.on_watch)
        self.remember(rig.zone, desk.now_ms())
        self.finish()

    @property
    def draft_name(self) -> str:
        """One for each record."""
        return draft_name(STRIKE, self.record.uid)

    def _clock_ms(self) -> int:
        return self.desk.now_ms()

    def save(self) -> None:
        """Hand it to the desk, with a reason and a name."""
        self.clear_words()
        reason, author = self.field("reason").text(), self.field("by").text()
        wanted = (("reason", reason, "Why is it struck out? A reason is needed; both stay visible."),
                  ("by", author, "Who strikes it out? A name is needed."))
        missing = [Finding(words, code="field", severity="error", column=name, kept=False)
                   for name, text, words in wanted if not text]
        if missing:
            self.show_findings(missing)
            return
        found = self.desk.void(self.record.uid, author=author, reason=reason) or ()
        if any(finding.severity == "error" for finding in found):
            self.show_findings(found)
            return
        self.drop_draft()
        self.saved.emit(self._said)
