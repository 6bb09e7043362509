"""Adopts what was typed on the Rig page: what differs in words, what is wrong, when it counts, who and why."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QWidget

from dipbook.rig.changes import difference_in_words
from dipbook.rig.parsing import check
from dipbook_app.current import crew_of, current
from dipbook_app.display import shown_words
from dipbook_app.forms.adopting_words import EFFECTIVE, in_force, missing, reach_words, refusal
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.forms.form import Form, sentence

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

HELP = "Nothing counts until it is adopted here; then it is a record, with who and why."
NOTHING = "What is typed means the same as what is in force: there is nothing to adopt."


class AdoptDraftForm(Form):
    """desk: adopts it; text: the rig's text with all that is typed; wrong: what is wrong with it, in words.

    hindered: why it can't be adopted, "" if it can.
    """

    def __init__(self, desk: Desk, text: str, wrong: Sequence[str] = (), hindered: str = "",
                 parent: QWidget | None = None) -> None:
        super().__init__("Adopt what is typed", HELP, parent)
        self.desk, self._text = desk, text
        self.say_save("Adopt")
        found = check(text, "rig")
        self.hindered = hindered
        parts: list[str] = []
        if found.rig is None:
            self.hindered = self.hindered or "Put right what is wrong first."
            parts = ["What is wrong:", *(f"•  {words}" for words in wrong)]
        elif not hindered:
            rig = current(desk).rig
            words = difference_in_words(rig, found.rig)
            self.hindered = "" if words else NOTHING
            if words:
                before = {f.what for _, f in check(_text_in_force(desk), "rig").findings}
                left = [sentence(f.what) for _, f in found.findings if f.what not in before]
                parts = ["What differs:", *(f"•  {w}" for w in words), "", reach_words(desk, text)]
                parts += ["", "And now:", *(f"•  {w}" for w in left)] if left else []
        self.differences = QLabel(shown_words("\n".join(parts)))
        self.differences.setWordWrap(True)
        self.differences.setTextFormat(Qt.TextFormat.PlainText)
        self.differences.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.column.addWidget(self.differences)
        self.add_field(FieldRow("effective", "The difference", tuple(EFFECTIVE)))
        self.add_field(FieldRow("by", "Who adopts it").offer(lambda: crew_of(self.desk)))
        self.add_field(FieldRow("why", "Why"))
        self.field("by").set_text(desk.on_watch)
        self.finish()
        for row in self.fields:
            row.setVisible(not self.hindered)
        self.save_button.setEnabled(not self.hindered)
        if self.hindered:
            self.words.say(self.hindered, "doubt")

    def start(self) -> None:
        """Put the cursor in the first field, or on Close where it can't be adopted."""
        if self.hindered:
            self.close_button.setFocus()
        else:
            self.field("effective").focus()

    def save(self) -> None:
        """Adopt it."""
        if self.hindered:
            return
        self.clear_words()
        effective, by, why = (self.field(name).text() for name in ("effective", "by", "why"))
        if blank := missing((("effective", effective), ("by", by), ("why", why))):
            self.show_findings(blank)
            return
        found = self.desk.adopt_rig(self._text, author=by, reason=why, effective=EFFECTIVE[effective]) or ()
        wrong = [f for f in found if f.severity == "error"]
        if wrong:
            self.show_findings([refusal("", f.what) for f in wrong])
            return
        self.saved.emit(f"Adopted: it {effective}.")


def _text_in_force(desk: Desk) -> str:
    return str(in_force(current(desk))[-1].payload["text"])
