"""The form of one table of the rig's description: its fields from the table of keys, with words as they are typed."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QComboBox, QLabel, QLineEdit, QWidget

from dipbook.errors import QuantityError
from dipbook.findings import Finding
from dipbook.quantities import FEET_INCHES, read
from dipbook.rig.keys import ROWS, TABLES, TANKS, Key, applies, keys_of_parts
from dipbook.rig.model import Rig
from dipbook.rig.proposal import Proposal
from dipbook_app.display import shown_unit
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.forms.form import Form, sentence
from dipbook_app.rig_words import at_field

LINES = 7
"""Lines of a table of rows in sight."""
LEAST_LETTERS = 8
"""A list is at least as wide as so many."""
WITH_PARTS = ("stack", "compartments")
"""Shapes whose parts the file alone can add or take out."""
IN_THE_FILE = "Its parts are added and taken out in the file; what they measure is typed here."
KIND = "shape.kind"
DIMENSIONS = {"level": "length", "length": "length", "volume": "volume"}
"""Key of [units] whose unit a number alone takes -> what it measures."""
LONG = 26
"""Quiet words and hints longer than this [letters] are said whole below the fields, for the field that one is in."""


class RigForm(Form):
    """One table: kind, sign: of its row. proposal: what is typed so far; title: in words; rig: its units count.

    tanks: names for lists of tanks. Enter on the last field leads back to the table of rows, as Esc does. What is wrong
    with a field is said once it is left; words have one line each, and stand whole below all fields.
    Signals: typed(str, str): a key's name and what is typed now. settled(): a field that was typed in is left.
    review_wanted(): Ctrl+Enter.
    """

    typed = Signal(str, str)
    settled = Signal()
    review_wanted = Signal()

    def __init__(self, title: str, kind: str, sign: str, proposal: Proposal, rig: Rig,
                 tanks: Sequence[str], parent: QWidget | None = None) -> None:
        super().__init__(title, "", parent)
        self.kind, self.sign = kind, sign
        self._crew = rig.crew
        self._units, self._decimal = rig.units, rig.decimal
        self._typing = ""
        self.words.installEventFilter(self)
        self.save_button.hide()
        self.close_button.hide()
        parts = keys_of_parts(proposal.raw(kind, sign).get("shape", {})) if kind == "tank" else ()
        self.keys: tuple[tuple[Key, FieldRow], ...] = tuple(
            (key, self._field(key, tanks, proposal)) for key in _in_order(TABLES[kind], parts))
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

    def show_words(self, problems: Mapping[str, str], findings: Mapping[str, Finding], notes: Sequence[str],
                   follows: Mapping[str, str] = MappingProxyType({})) -> None:
        """Say what is wrong (problems), noteworthy (findings) or follows elsewhere at its field, by the key's name;
        notes: below all."""
        for key, row in self.keys:
            wrong, finding = problems.get(key.name, ""), findings.get(key.name)
            echo = self._read_as(key, row) or follows.get(key.name, "")
            words, tone = at_field(wrong, chosen=isinstance(row.editor, QComboBox)) if wrong else (echo, "quiet")
            if tone == "error" and key.name == self._typing:
                words, tone = "", "quiet"
            elif not wrong and finding is not None:
                words = f"{echo}. {finding.what}" if echo else finding.what
                tone = "quiet" if finding.severity == "note" else "doubt"
            row.say(words, tone)
        self._say_whole()
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

    def _read_as(self, key: Key, row: FieldRow) -> str:
        """What a number without a unit is read as: ``= 3 ft``; "" for anything else."""
        text, unit = row.text(), self._units.get(key.bare, "")
        if not unit or not text or any(c.isalpha() or c in "'\"′″" for c in text):
            return ""
        try:
            read(text, DIMENSIONS[key.bare], decimal=self._decimal, bare=unit)
        except QuantityError:
            return ""
        return f"= {text} {shown_unit(unit)}"

    def _say_whole(self) -> None:
        """The words of the field that one is in, else of the first that is wrong, whole: on their line they may be cut.
        """
        shown = self._shown()
        here = next((row for row in shown if row.editor is self.focusWidget()), None)
        said = "" if here is None else self._whole(here)
        if here is None or not said:
            here = next((row for row in shown if row.words.said and row.words.tone == "error"), None)
            said = "" if here is None else here.words.said
        self.words.say(f"{here.label.text()}: {said}" if here is not None else "",
                       here.words.tone if here is not None else "quiet")

    def _whole(self, row: FieldRow) -> str:
        """What may be cut at a field: its hint while it is blank, and its words."""
        hint = next(key.hint for key, each in self.keys if each is row) if not row.text() else ""
        told = row.words.said if row.words.tone != "quiet" or len(row.words.said) > LONG else ""
        return " ".join(sentence(words) for words in (hint if len(hint) > LONG else "", told) if words)

    def _began(self, row: FieldRow) -> None:
        """A letter was typed in a field."""
        self._typing = row.name if not isinstance(row.editor, QComboBox) and row.editor.hasFocus() else ""
        self.typed.emit(row.name, row.text())

    def _left(self, row: FieldRow) -> None:
        """A field was left: what is wrong with it is said now."""
        if self._typing == row.name:
            self._typing = ""
            self.settled.emit()

    def _field(self, key: Key, tanks: Sequence[str], proposal: Proposal) -> FieldRow:
        place = (self.kind, self.sign, *key.name.split("."))
        choices = tuple(tanks) if key.choices == TANKS else tuple(key.choices)
        text = proposal.value(place)
        if key.name == KIND:
            choices = tuple(c for c in choices if c not in WITH_PARTS)
        if choices and text and text not in choices:
            choices = (*choices, text)
        row = FieldRow(key.name, key.label, choices, lines=LINES if key.how == ROWS else 0, cut=True)
        if key.name == KIND and text in WITH_PARTS:
            row.set_note(IN_THE_FILE)
        bare = self._units.get(key.bare, "") if key.bare else ""
        if bare and bare != FEET_INCHES:
            row.set_note(f"A number alone is in {shown_unit(bare)}.")
        row.set_hint(key.hint)
        if key.name == "set_by":
            row.offer(lambda: self._crew)
        row.set_text(text)
        if isinstance(row.editor, QLineEdit):
            row.editor.setToolTip(key.hint)
        if isinstance(row.editor, QComboBox):  # the longest choice doesn't widen the form beyond its place
            row.editor.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
            row.editor.setMinimumContentsLength(LEAST_LETTERS)
        row.changed.connect(lambda: self._began(row))
        row.left.connect(lambda: self._left(row))
        row.came.connect(self._say_whole)
        return self.add_field(row)

    def _answered(self, row: FieldRow) -> None:
        """What is wrong is said anew at each change."""


def _in_order(keys: Sequence[Key], parts: Sequence[Key]) -> list[Key]:
    """The keys of a table, those of its shape's parts after the shape's own."""
    last = max((n for n, key in enumerate(keys) if key.name.startswith("shape.")), default=-1)
    return [*keys[:last + 1], *parts, *keys[last + 1:]]
