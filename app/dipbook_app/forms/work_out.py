"""The panel in which a number is worked out beside an entry's fields; it fills nothing in until it is taken over."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QGridLayout, QHBoxLayout, QLabel, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from dipbook.errors import QuantityError
from dipbook.situation import Situation
from dipbook_app.calculators import Answer, Calculator, Input, answer, as_read, hint, value_of
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.forms.form import sentence
from dipbook_app.widgets.words_label import WordsLabel

KEY, TAKE_KEY = "F3", "Shift+F3"
LINES = 3
"""Lines of an answer whose room is kept."""
ACROSS = 3
"""Keys of calculators side by side."""


class WorkOut(QFrame):
    """The calculators of a form, one at a time: fields gone through by keyboard as the form's are.

    Enter goes to the next field and on the last one takes the answer over. What is typed stays while the form is open,
    and is no part of its draft. calculators: one or more. situation: what is known now. entry: the entry's field ->
    text, with which fields begin when they are first shown.
    Signals: taken(object): the entry's field -> text. came(object): the row that the focus came to. closed().
    """

    taken = Signal(object)
    came = Signal(object)
    closed = Signal()

    def __init__(self, calculators: tuple[Calculator, ...], situation: Callable[[], Situation],
                 entry: Callable[[], Mapping[str, str]], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", "panel")
        self._calculators, self._situation, self._entry = calculators, situation, entry
        self.calculator = calculators[0]
        self.answer = Answer()
        self.rows: list[FieldRow] = []
        self._asked: dict[str, Input] = {}
        self._texts: dict[str, str] = {}
        self._begun: set[str] = set()
        self.keys: dict[str, QPushButton] = {}
        self.help = QLabel()
        self.help.setProperty("part", "small")
        self.help.setWordWrap(True)
        self._column = QVBoxLayout(self)
        self._column.setSpacing(2)
        if len(calculators) > 1:
            self._column.addLayout(self._choice())
        self._column.addWidget(self.help)
        self.foot = self._foot()
        self.hide()

    def row(self, name: str) -> FieldRow:
        """The field of an input. Raises KeyError if there is none."""
        for row in self.rows:
            if row.name == name:
                return row
        raise KeyError(name)

    def open(self) -> None:
        """Show it, with the cursor in the first blank field."""
        self._show(self.calculator)
        self.show()
        self.foot.show()
        self._start()

    def next(self) -> None:
        """The next calculator; with one alone, back into it."""
        place = self._calculators.index(self.calculator) + 1
        self._show(self._calculators[place % len(self._calculators)])
        self._start()

    def close_panel(self) -> None:
        """Hide it; what is typed in it stays."""
        self._keep()
        self.hide()
        self.foot.hide()
        self.closed.emit()

    def take(self) -> None:
        """Hand the answer over; without one say at the fields what is missing or wrong."""
        self._work()
        for name in self.answer.missing:
            self.row(name).say("Wanted for this.", "error")
        self._blame()
        bad = next((row for row in self.rows if row.words.tone == "error" and row.words.said), None)
        if bad is not None:
            bad.focus()
        elif self.answer.takes:
            takes = dict(self.answer.takes)
            self.close_panel()
            self.taken.emit(takes)

    # --- parts --------------------------------------------------------------------------------------------------

    def _choice(self) -> QGridLayout:
        keys = QGridLayout()
        keys.setSpacing(8)
        for n, each in enumerate(self._calculators):
            key = self.keys[each.name] = QPushButton(each.name)
            key.setCheckable(True)
            key.setAutoDefault(False)
            key.setProperty("tall", True)
            key.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            key.clicked.connect(lambda _=False, each=each: self._choose(each))
            keys.addWidget(key, n // ACROSS, n % ACROSS)
            keys.setColumnStretch(n % ACROSS, 1)
        return keys

    def _foot(self) -> QWidget:
        """The answer and its key: outside the fields that scroll, so that it is always in sight."""
        foot = QFrame()
        foot.setProperty("part", "panel")
        self.first = QLabel()
        self.first.setProperty("part", "strong")
        self.rest = WordsLabel(lines=LINES)
        self.take_button = QPushButton(f"Take over\n{TAKE_KEY}")
        self.take_button.setProperty("part", "form")
        self.take_button.setAutoDefault(False)
        self.take_button.clicked.connect(self.take)
        for label in (self.first, self.rest):
            label.setTextFormat(Qt.TextFormat.PlainText)
            label.setWordWrap(True)
            label.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        self.take_button.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        words = QVBoxLayout()
        words.setSpacing(0)
        words.addWidget(self.first)
        words.addWidget(self.rest)
        line = QHBoxLayout(foot)
        line.setContentsMargins(8, 4, 4, 4)
        line.addLayout(words, 1)
        line.addWidget(self.take_button, 0, Qt.AlignmentFlag.AlignTop)
        foot.hide()
        return foot

    def _choose(self, calculator: Calculator) -> None:
        self._show(calculator)
        self._start()

    def _show(self, calculator: Calculator) -> None:
        """The fields of a calculator, with what was typed in those of the same name."""
        self._keep()
        for row in self.rows:
            self._column.removeWidget(row)
            row.hide()
            row.deleteLater()
        self.calculator = calculator
        for name, key in self.keys.items():
            key.setChecked(name == calculator.name)
        self.help.setText(calculator.help + (f" {KEY}: the next sum." if self.keys else ""))
        rig, entry = self._situation().rig, self._entry()
        self._asked = {each.name: each for each in calculator.inputs(rig)}
        self.rows = [self._row(each, hint(each, rig)) for each in self._asked.values()]
        for each, row in zip(self._asked.values(), self.rows, strict=True):
            self._column.addWidget(row)
            text = self._texts.get(each.name, "")
            if calculator.name not in self._begun and not text and each.entry and not entry.get(each.unless):
                text = entry.get(each.entry, "")
            row.set_text(text)
            row.changed.connect(lambda row=row: self._changed(row))
        self._begun.add(calculator.name)
        for row in self.rows:
            self._read_back(row, final=True)
        self._work()

    def _row(self, asked: Input, grey: str) -> FieldRow:
        row = FieldRow(f"work out {asked.name}", asked.label)
        row.name = asked.name
        row.set_hint(grey)
        row.entered.connect(lambda: self._enter(row))
        row.moved.connect(lambda step: self._move(row, step))
        row.came.connect(lambda: self.came.emit(row))
        row.left.connect(lambda: self._left(row))
        return row

    def _start(self) -> None:
        next((row for row in self.rows if not row.text()), self.rows[0]).focus()

    def _enter(self, row: FieldRow) -> None:
        if row is self.rows[-1]:
            self.take()
        else:
            self._move(row, 1)

    def _move(self, row: FieldRow, step: int) -> None:
        place = self.rows.index(row) + step
        if 0 <= place < len(self.rows):
            self.rows[place].focus()

    # --- the answer ---------------------------------------------------------------------------------------------

    def _keep(self) -> None:
        self._texts |= {row.name: row.text() for row in self.rows}

    def _changed(self, row: FieldRow) -> None:
        self._read_back(row, final=False)
        for other in self.rows:
            if other is not row and other.words.tone == "error":
                self._read_back(other, final=True)
        self._work()

    def _left(self, row: FieldRow) -> None:
        if row in self.rows:
            self._read_back(row, final=True)
            self._blame()

    def _read_back(self, row: FieldRow, *, final: bool) -> None:
        """What a text is read as. final: on leaving it, why it can't be read too."""
        if not row.text():
            row.say("")
            return
        asked, rig = self._asked[row.name], self._situation().rig
        try:
            shown = as_read(asked, value_of(asked, row.text(), rig), rig)
        except QuantityError as refusal:
            row.say(sentence(str(refusal)) if final else "", "error" if final else "quiet")
        else:
            row.say(f"= {shown}" if shown else "")

    def _work(self) -> None:
        """The answer to what is typed now."""
        texts = {row.name: row.text() for row in self.rows}
        self.answer = answer(self.calculator, self._situation(), texts, self._entry())
        if self.answer.lines:
            first, *rest = self.answer.lines
        elif self.answer.wrong:
            first, rest = "No answer", [sentence(words) for words in self.answer.wrong.values()]
        else:
            labels = [self._asked[name].label for name in self.answer.missing]
            first, rest = "No answer yet", [f"Still wanted: {'; '.join(labels)}."]
        self.first.setText(first)
        self.rest.say(" ".join(rest))

    def _blame(self) -> None:
        """Say at its field what can't be, but not at the one that is being typed in."""
        for row in self.rows:
            if words := self.answer.wrong.get(row.name, ""):
                row.say(sentence(words), "error")
