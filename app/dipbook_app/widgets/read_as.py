"""How a file of another form is read: encoding, separator, decimal sign, sheet, way round of dates, zone of times."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from dipbook.exchange import dates, dialect, encodings
from dipbook.exchange.foreign import Foreign
from dipbook.exchange.mapping import RIGS_ZONE, Mapping, Problem
from dipbook.rig.model import Rig
from dipbook_app.forms.form import sentence
from dipbook_app.widgets.drop_list import DropList
from dipbook_app.widgets.words_label import WordsLabel

PARTS = {"sheet": "Sheet", "encoding": "Encoding", "separator": "Cells set apart by", "decimal": "Decimal sign",
         "dates": "Dates", "zone": "Times are in"}
_HALVES = ("-09:30", "-03:30", "+03:30", "+04:30", "+05:30", "+05:45", "+06:30", "+09:30")


class ReadAs(QWidget):
    """A row of lists: those that are certain by themselves aren't there.

    Signals: changed(str): a choice is another; the name of a part of PARTS. missed(str): what was typed in a list finds
    nothing; "" once that is over.
    """

    changed = Signal(str)
    missed = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.lists: dict[str, DropList] = {}
        self._boxes: dict[str, QWidget] = {}
        row = QHBoxLayout()
        row.setSpacing(16)
        for part, label in PARTS.items():
            box = QWidget()
            column = QVBoxLayout(box)
            column.setContentsMargins(0, 0, 0, 0)
            column.setSpacing(2)
            head = QLabel(label)
            head.setProperty("part", "firm")
            choice = self.lists[part] = DropList()
            choice.setAccessibleName(label)
            choice.setMaxVisibleItems(16)
            choice.activated.connect(lambda _=0, part=part: self.changed.emit(part))
            choice.missed.connect(self.missed)
            head.setBuddy(choice)
            column.addWidget(head)
            column.addWidget(choice)
            row.addWidget(box, 0, Qt.AlignmentFlag.AlignTop)
            self._boxes[part] = box
            box.hide()
        row.addStretch(1)
        self.lines = QLabel()
        self.lines.setTextFormat(Qt.TextFormat.PlainText)
        self.lines.setProperty("part", "note")
        self.lines.setWordWrap(True)
        self.words = WordsLabel()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addLayout(row)
        layout.addWidget(self.lines)
        layout.addWidget(self.words)

    def show_file(self, other: Foreign, rig: Rig) -> None:
        """Show how the file is read and what is asked of it. rig: its zone."""
        said = other.mapping
        timed = bool(other.headings)
        guess = other.encoding.guess if other.encoding is not None else ""
        known = [*([guess] if guess else []), *(e for e in encodings.OFFERED if e != guess)]
        self._offer("sheet", [(name, name) for name in other.sheets] if len(other.sheets) > 1 else [], said.sheet)
        self._offer("encoding", [(encodings.shown(e) + (" (a guess)" if e == guess else ""), e) for e in known]
                    if other.encoding is not None and not other.encoding.certain else [], said.encoding)
        self._offer("separator", [(dialect.SEPARATORS[s], s) for s in other.separators], said.separator)
        self._offer("decimal", [(name, sign) for sign, name in dialect.DECIMALS.items()]
                    if timed and not other.sheets else [], said.decimal)
        self._offer("dates", [(f"{form}: {dates.EXAMPLES[form]}", form) for form in dates.FORMS]
                    if timed and other.date_forms not in ((), (dates.YEAR_FIRST,)) else [], said.dates)
        offsets = ["Z", *sorted([*(f"{h:+03d}:00" for h in range(-12, 15) if h), *_HALVES], key=_minutes)]
        self._offer("zone", [(f"the rig's zone ({rig.zone})", RIGS_ZONE), *((f"UTC {o}" if o != "Z" else "UTC", o)
                                                                           for o in offsets)]
                    if timed and other.date_forms and not other.offsets else [], said.zone)
        odd = other.odd_lines if other.encoding is not None and not other.encoding.certain else ()
        read_as = said.encoding or guess
        self.lines.setText("\n".join([f"As {encodings.shown(read_as)}:", *(f"line {n}: {text}" for n, text in odd)])
                           if odd and read_as else "")
        self.lines.setVisible(bool(self.lines.text()))
        self.say(other.problems)

    def say(self, problems: tuple[Problem, ...]) -> None:
        """Say the first problem that isn't of a column."""
        first = next((p for p in problems if p.part in (*PARTS, "file")), None)
        self.words.say(sentence(first.what) if first else "", "doubt" if first else "quiet")
        self.words.setVisible(first is not None)

    def chosen(self, said: Mapping, part: str) -> Mapping:
        """What is said, with the choice of one part. part: of PARTS."""
        values = {name: getattr(said, name) for name in PARTS}
        values[part] = str(self.lists[part].currentData() or "")
        return replace(said, encoding=values["encoding"], separator=values["separator"], decimal=values["decimal"],
                       sheet=values["sheet"], dates=values["dates"], zone=values["zone"])

    def focus_on(self, problem: Problem | None) -> bool:
        """Put the cursor on the list that a problem is of; False if it is of none."""
        if problem is None or problem.part not in self.lists or self._boxes[problem.part].isHidden():
            return False
        self.lists[problem.part].setFocus(Qt.FocusReason.TabFocusReason)
        return True

    def _offer(self, part: str, choices: list[tuple[str, str]], value: str) -> None:
        box = self.lists[part]
        if [(box.itemText(n), box.itemData(n)) for n in range(1, box.count())] != choices:
            box.clear()
            box.addItem("", "")
            for text, data in choices:
                box.addItem(text, data)
        box.setCurrentIndex(max(0, box.findData(value)))
        self._boxes[part].setVisible(bool(choices))


def _minutes(offset: str) -> int:
    sign = -1 if offset[0] == "-" else 1
    return sign * (int(offset[1:3]) * 60 + int(offset[4:]))
