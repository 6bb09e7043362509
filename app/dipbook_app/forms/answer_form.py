"""What became of mud that was announced: the answer to it, or that it is called off."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QWidget

from dipbook.findings import Finding
from dipbook.situation import NoticeView
from dipbook_app.current import crew_of, current
from dipbook_app.display import DisplayUnits
from dipbook_app.drafts import Drafts
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.forms.form import sentence
from dipbook_app.forms.kept_form import KeptForm
from dipbook_app.sentences_of_calls import announced
from dipbook_app.unsaved import ANSWER, CALL_OFF, draft_name

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

HELP = "The words of the answer. No valve moves before it."
HELP_CALLED_OFF = "Nothing was moved. It stays in the log, with who called it off."


class AnswerForm(KeptForm):
    """Asks for the words and who logs them. desk: takes them; notice: what was announced; calls_off: it isn't moved
    after all, and the words are why, which may stay blank. drafts: keeps what is typed, or None."""

    def __init__(self, desk: Desk, notice: NoticeView, *, calls_off: bool = False, drafts: Drafts | None = None,
                 parent: QWidget | None = None) -> None:
        super().__init__("Call off" if calls_off else "Answer", HELP_CALLED_OFF if calls_off else HELP, drafts, parent)
        self.desk = desk
        self.notice = notice
        self._calls_off = calls_off
        situation = current(desk)
        units = DisplayUnits(situation.rig)
        words = self.add_field(FieldRow("words", "Why" if calls_off else "The answer"))
        told = f"Told {notice.told}" if notice.told else "Said"
        words.set_note(f"About to move {announced(notice, units)}. {told} "
                       f"{units.time_near(notice.t_ms, situation.now_ms)}.")
        words.set_text("" if calls_off else notice.answer)
        self.add_field(FieldRow("by", "Logged by").offer(lambda: crew_of(self.desk))).set_text(desk.on_watch)
        self.remember(situation.rig.zone, situation.now_ms)
        self.finish()

    @property
    def draft_name(self) -> str:
        """One for each call, and for its end."""
        return draft_name(CALL_OFF if self._calls_off else ANSWER, self.notice.uid)

    @property
    def draft_label(self) -> str:
        """The answer, or the calling off, and of what."""
        units = DisplayUnits(current(self.desk).rig)
        return f"{'Calling off' if self._calls_off else 'The answer on'} {announced(self.notice, units)}"

    def _clock_ms(self) -> int:
        return self.desk.now_ms()

    def save(self) -> None:
        """Hand the words to the desk; errors go to the fields."""
        self.clear_words()
        words, author = self.field("words").text(), self.field("by").text()
        errors = []
        if not words and not self._calls_off:
            errors.append(Finding("What was the answer?", code="field", severity="error", column="words", kept=False))
        if not author:
            errors.append(Finding("Who logs this? A name is needed.", code="field", severity="error", column="by",
                                  kept=False))
        if errors:
            self.show_findings(errors)
            return
        act = self.desk.call_off if self._calls_off else self.desk.answer
        found = act(self.notice.uid, words, author)
        if any(finding.severity == "error" for finding in found):
            self.show_findings(found)
            return
        self.drop_draft()
        said = "Called off." if self._calls_off else "Answer saved."
        self.saved.emit(" ".join([said, *(sentence(finding.what) for finding in found)]))
