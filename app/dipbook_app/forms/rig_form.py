"""The form of one table of the rig's description: its fields from the table of keys, with words as they are typed."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QComboBox, QLabel, QWidget

from dipbook.findings import Finding
from dipbook.rig.keys import ROWS, TABLES, TANKS, Key, applies, keys_of_parts
from dipbook.rig.proposal import Proposal
from dipbook_app.display import shown_unit
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.forms.form import Form
from dipbook_app.rig_words import at_field

LINES = 7
"""Lines of a table of rows in sight."""
LEAST_LETTERS = 8
"""A list is at least as wide as so many."""
WITH_PARTS = ("stack", "compartments")
"""Shapes whose parts the file alone can add or take out."""
IN_THE_FILE = "Its parts are added and taken out in the file; what they measure is typed here."
KIND = "shape.kind"


class RigForm(Form):
    """One table: kind, sign: of its row. proposal: what is typed so far; title: in words; units: of the file.

    tanks: names for lists of tanks. Enter on the last field leads back to the table of rows, as Esc does.
    Signals: typed(str, str): a key's name and what is typed now. review_wanted(): Ctrl+Enter.
    """

    typed = Signal(str, str)
    review_wanted = Signal()

    def __init__(self, title: str, kind: str, sign: str, proposal: Proposal, units: Mapping[str, str],
                 tanks: Sequence[str], parent: QWidget | None = None) -> None:
        super().__init__(title, "", parent)
        self.kind, self.sign = kind, sign
        self.save_button.hide()
        self.close_button.hide()
        self.words.hide()
        parts = keys_of_parts(proposal.raw(kind, sign).get("shape", {})) if kind == "tank" else ()
        self.keys: tuple[tuple[Key, FieldRow], ...] = tuple(
            (key, self._field(key, units, tanks, proposal)) for key in _in_order(TABLES[kind], parts))
        self.notes = QLabel()
        self.notes.setWordWrap(True)
        self.notes.setTextFormat(Qt.TextFormat.PlainText)
        self.notes.setProperty("part", "soft")
        self.column.addWidget(self.notes)
        self.finish()
        self.fit(proposal)

    def value(self, proposal: Proposal) -> Callable[[str], str]:
        """What a key of this table says. proposal: what is typed so far."""
        return lambda name: proposal.value((self.kind, self.sign, *name.split(".")))

    def fit(self, proposal: Proposal) -> None:
        """Show the fields that have a meaning beside the others. proposal: what is typed so far."""
        value = self.value(proposal)
        whole = value(KIND) in WITH_PARTS and value(KIND) == str(
            proposal.raw(self.kind, self.sign).get("shape", {}).get("kind", ""))
        for key, row in self.keys:
            row.setVisible(whole if ".parts." in key.name else applies(key, value))

    def show_words(self, problems: Mapping[str, str], findings: Mapping[str, Finding], notes: Sequence[str]) -> None:
        """Say what is wrong (problems) and noteworthy (findings) at its field, by the key's name; notes: below all."""
        for key, row in self.keys:
            wrong, finding = problems.get(key.name, ""), findings.get(key.name)
            if wrong:
                row.say(*at_field(wrong, chosen=isinstance(row.editor, QComboBox)))
            elif finding is not None:
                row.say(finding.what, "quiet" if finding.severity == "note" else "doubt")
            else:
                row.say("")
        self.notes.setText("\n".join(notes))
        self.notes.setVisible(bool(notes))

    def names(self) -> tuple[str, ...]:
        """The names of the keys that have a field in sight."""
        return tuple(key.name for key, row in self.keys if not row.isHidden())

    def start(self) -> None:
        """Put the cursor in the first field."""
        self.fields[0].focus()

    def save(self) -> None:
        """Ctrl+Enter: look at what differs."""
        self.review_wanted.emit()

    def _enter(self, row: FieldRow) -> None:
        shown = self._shown()
        if row is shown[-1]:
            self.closed.emit()
        else:
            super()._enter(row)

    def _field(self, key: Key, units: Mapping[str, str], tanks: Sequence[str], proposal: Proposal) -> FieldRow:
        place = (self.kind, self.sign, *key.name.split("."))
        choices = tuple(tanks) if key.choices == TANKS else tuple(key.choices)
        text = proposal.value(place)
        if key.name == KIND:
            choices = tuple(c for c in choices if c not in WITH_PARTS)
        if choices and text and text not in choices:
            choices = (*choices, text)
        row = FieldRow(key.name, key.label, choices, lines=LINES if key.how == ROWS else 0)
        if key.name == KIND and text in WITH_PARTS:
            row.set_note(IN_THE_FILE)
        bare = units.get(key.bare, "") if key.bare else ""
        alone = f"a number alone is in {shown_unit(bare)}" if bare and bare != "ft in" else ""
        row.set_hint("; ".join(words for words in (key.hint, alone) if words))
        row.set_text(text)
        if isinstance(row.editor, QComboBox):  # the longest choice doesn't widen the form beyond its place
            row.editor.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
            row.editor.setMinimumContentsLength(LEAST_LETTERS)
        row.changed.connect(lambda: self.typed.emit(key.name, row.text()))
        return self.add_field(row)

    def _answered(self, row: FieldRow) -> None:
        """What is wrong is said anew at each change."""


def _in_order(keys: Sequence[Key], parts: Sequence[Key]) -> list[Key]:
    """The keys of a table, those of its shape's parts after the shape's own."""
    last = max((n for n, key in enumerate(keys) if key.name.startswith("shape.")), default=-1)
    return [*keys[:last + 1], *parts, *keys[last + 1:]]
