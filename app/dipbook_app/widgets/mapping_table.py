"""The columns of a file of another form, a row each: heading, first cells, what it is, its unit, what is wrong."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QScrollArea, QWidget

from dipbook.exchange import mapping as m
from dipbook.exchange import proposals
from dipbook.exchange.foreign import Foreign
from dipbook.exchange.mapping import ColumnMeaning, Problem
from dipbook.rig.model import Rig
from dipbook_app.display import shown_unit
from dipbook_app.forms.form import sentence
from dipbook_app.widgets.drop_list import DropList
from dipbook_app.widgets.text_size import scaled
from dipbook_app.widgets.words_label import WordsLabel

HEADS = ("Column", "First cells", "It is", "Unit", "")
CELLS_WIDTH, HEADING_WIDTH, UNIT_WIDTH, MEANING_WIDTH = 130, 130, 110, 220
WORDS_WIDTH, OFFER_WIDTH = 300, 104
FROM_HEADING = "By heading"
"""Said of a unit that nobody chose."""
PASSED_OVER = "pass its rows over"
WORDS = {m.TIME: "Date and time", m.DATE: "Date", m.CLOCK: "Time of day", m.BIT_DEPTH: "Bit depth",
         m.HOLE_DEPTH: "Hole depth", m.FLOW_IN: "Flow in", m.ACTIVITY: "Activity",
         m.TANK: "Name of the tank (one dip a row)", m.VALUE: "Dip (one dip a row)", m.UNIT: "Unit of the dip",
         m.IGNORE: "Ignore it"}


class MappingTable(QScrollArea):
    """Tab, Enter and the letters of a choice are enough to fill it in.

    A unit that stands in a heading is filled in once the kind is chosen, and its row asks whether it is that.

    Signals: changed(): a choice is another. missed(str): what was typed in a list finds nothing; "" once that is over.
    """

    changed = Signal()
    missed = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setAccessibleName("Columns of the file")
        self.meanings: list[DropList] = []
        self.units: list[DropList] = []
        self.words: list[WordsLabel] = []
        self.tank_lists: dict[str, DropList] = {}
        self.tank_words: dict[str, WordsLabel] = {}
        self._made_for: tuple[object, ...] = ()
        self._columns: tuple[ColumnMeaning, ...] = ()
        self._offered: dict[int, str] = {}
        self.asks = False

    @property
    def wide(self) -> int:
        """The width that it needs [px]."""
        body = self.widget()
        bar = self.verticalScrollBar().sizeHint().width() + 2 * self.frameWidth()
        return bar + (body.minimumSizeHint().width() if body is not None else 0)

    @property
    def stops(self) -> list[DropList]:
        """Its lists in the order in which they are gone through."""
        rows = [box for pair in zip(self.meanings, self.units, strict=True) for box in pair]
        return [*rows, *self.tank_lists.values()]

    def show_columns(self, other: Foreign, rig: Rig) -> None:
        """Show what is said of the columns. other: the file; rig: its tanks and pumps."""
        key = (other.headings, other.samples, other.words, tuple(t.name for t in rig.tanks),
               tuple(p.name for p in rig.pumps))
        if key != self._made_for:
            self._made_for = key
            self._offered = {}
            self._make(other, rig)
        self._columns = other.mapping.columns
        for i, c in enumerate(self._columns):
            _choose(self.meanings[i], (c.meaning, c.name) if c.meaning else ("", ""))
            self._offer_units(i, c)
        told = dict(other.mapping.tanks)
        for word, box in self.tank_lists.items():
            _choose(box, told.get(word))
        self.say(other.problems)

    def say(self, problems: Sequence[Problem]) -> None:
        """Say on its row what is wrong with a column or a word."""
        by_place = {p.place: p.what for p in reversed(problems) if p.part == "column"}
        offered = {i: FROM_HEADING for i, unit in self._offered.items() if self.units[i].currentData() == unit}
        for i, words in enumerate(self.words):
            what = by_place.get(i, "")
            words.say(sentence(what) or (f"{offered[i]}?" if i in offered else ""), "doubt" if what else "quiet")
        by_word = {p.word: p.what for p in problems if p.part == "tanks"}
        self.asks = bool(by_place or by_word)
        for word, words in self.tank_words.items():
            _say(words, by_word.get(word, ""))
        for words in (*self.words, *self.tank_words.values()):  # without any words their room goes to the lists
            words.setVisible(self.asks or bool(offered))
            words.setMinimumWidth(scaled(words, WORDS_WIDTH if self.asks else OFFER_WIDTH))

    def columns(self) -> tuple[ColumnMeaning, ...]:
        """What is chosen for each column."""
        made = []
        for c, meaning, unit in zip(self._columns, self.meanings, self.units, strict=True):
            what, name = meaning.currentData()
            symbol = str(unit.currentData() or "") if what in m.DIMENSIONS else ""
            made.append(replace(c, meaning=what, name=name if what else c.name, unit=symbol))
        return tuple(made)

    def tanks(self) -> tuple[tuple[str, str], ...]:
        """(word, tank) of those that are chosen; "" for rows that are passed over."""
        return tuple((word, str(box.currentData())) for word, box in self.tank_lists.items()
                     if box.currentData() is not None)

    def focus_on(self, problem: Problem | None) -> bool:
        """Put the cursor where a problem is; False if it isn't of a row here."""
        box = None
        if problem is not None and problem.part == "tanks":
            box = self.tank_lists.get(problem.word)
        elif problem is not None and problem.part == "column" and problem.place is not None:
            box = self.meanings[problem.place]
            if box.currentData()[0] and self.units[problem.place].isEnabled() and "unit" in problem.what:
                box = self.units[problem.place]
        elif problem is not None and problem.part == "file" and self.meanings:
            box = next((b for b in self.meanings if b.currentData()[0] in ("", m.IGNORE)), self.meanings[0])
        if box is None:
            return False
        box.setFocus(Qt.FocusReason.TabFocusReason)
        self.ensureWidgetVisible(box)
        return True

    # --- making -------------------------------------------------------------------------------------------------

    def _make(self, other: Foreign, rig: Rig) -> None:
        body = QWidget()
        grid = QGridLayout(body)
        grid.setContentsMargins(0, 0, 8, 0)
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(4)
        self.meanings, self.units, self.words, self.tank_lists, self.tank_words = [], [], [], {}, {}
        for place, head in enumerate(HEADS):
            label = QLabel(head)
            label.setProperty("part", "firm")
            grid.addWidget(label, 0, place)
        choices = _meanings(rig)
        for i, heading in enumerate(other.headings):
            meaning = _list(f"What column {heading or i + 1} is", choices)
            unit = _list(f"Unit of column {heading or i + 1}", ())
            meaning.setMinimumWidth(scaled(self, MEANING_WIDTH))
            unit.setFixedWidth(scaled(self, UNIT_WIDTH))
            meaning.activated.connect(lambda _=0, i=i: self._turned(i))
            unit.activated.connect(lambda _=0, i=i: self._unit_said(i))
            words = _words()
            self.meanings.append(meaning)
            self.units.append(unit)
            self.words.append(words)
            title = _label(heading or f"(column {i + 1})", HEADING_WIDTH, "strong", self)
            cells = _label("  ·  ".join(other.samples[i]) or "(blank)", CELLS_WIDTH, "small", self)
            row: tuple[QWidget, ...] = (title, cells, meaning, unit, words)
            for place, widget in enumerate(row):
                grid.addWidget(widget, i + 1, place)
        self._make_words(grid, len(other.headings) + 1, other, rig)
        for box in self.stops:
            box.missed.connect(self.missed)
        grid.setColumnStretch(2, 2)
        grid.setColumnStretch(4, 3)
        grid.setRowStretch(grid.rowCount(), 1)
        self.setWidget(body)

    def _make_words(self, grid: QGridLayout, first: int, other: Foreign, rig: Rig) -> None:
        """A row for each word in the column of tanks."""
        choices: list[tuple[str, object]] = [*((t.name, t.name) for t in rig.tanks), (PASSED_OVER, "")]
        for n, word in enumerate(other.words):
            box = _list(f"Which tank {word} is", choices, none=None)
            box.activated.connect(lambda _=0: self.changed.emit())
            words = _words()
            self.tank_lists[word], self.tank_words[word] = box, words
            grid.addWidget(_label(word, HEADING_WIDTH, "strong", self), first + n, 0)
            grid.addWidget(_label("names a tank", CELLS_WIDTH, "small", self), first + n, 1)
            grid.addWidget(box, first + n, 2)
            grid.addWidget(words, first + n, 4)

    def _turned(self, i: int) -> None:
        what, name = self.meanings[i].currentData()
        c = replace(self._columns[i], meaning=what, name=name)
        self._offered.pop(i, None)
        if c.unit not in m.units_for(what) and (unit := proposals.unit_in(c.heading, what)):
            c = replace(c, unit=unit)
            self._offered[i] = unit
        self._offer_units(i, c)
        self.changed.emit()

    def _unit_said(self, i: int) -> None:
        self._offered.pop(i, None)
        self.changed.emit()

    def _offer_units(self, i: int, c: ColumnMeaning) -> None:
        box = self.units[i]
        symbols = m.units_for(c.meaning)
        here = tuple(box.itemData(n) for n in range(1, box.count()))
        if here != symbols:
            box.clear()
            box.addItem("", "")
            for symbol in symbols:
                box.addItem(shown_unit(symbol), symbol)
        box.setEnabled(bool(symbols))
        _choose(box, c.unit if c.unit in symbols else "")


def _meanings(rig: Rig) -> list[tuple[str, object]]:
    """What a column may be: the times first, then each tank's, then the rest."""
    found: list[tuple[str, object]] = [(WORDS[what], (what, "")) for what in (m.TIME, m.DATE, m.CLOCK)]
    for tank in rig.tanks:
        found += [(f"{tank.name}: level", (m.LEVEL, tank.name)), (f"{tank.name}: volume", (m.VOLUME, tank.name))]
        if tank.percent_of:
            found.append((f"{tank.name}: % of its {tank.percent_of}", (m.PERCENT, tank.name)))
        found.append((f"{tank.name}: time gauged", (m.GAUGED_AT, tank.name)))
    found += [(f"Pump {pump.name}", (m.PUMP, pump.name)) for pump in rig.pumps]
    rest = (m.FLOW_IN, m.BIT_DEPTH, m.HOLE_DEPTH, m.ACTIVITY, m.TANK, m.VALUE, m.UNIT, m.IGNORE)
    return found + [(WORDS[what], (what, "")) for what in rest]


def _list(name: str, choices: Sequence[tuple[str, object]], none: object = ("", "")) -> DropList:
    box = DropList()
    box.setAccessibleName(name)
    box.addItem("", none)
    for text, value in choices:
        box.addItem(text, value)
    box.setMaxVisibleItems(16)
    box.setSizeAdjustPolicy(DropList.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
    box.setMinimumContentsLength(8)
    return box


def _choose(box: DropList, value: object) -> None:
    """Choose what has this value. Qt compares tuples by identity, so the search is our own."""
    place = next((n for n in range(box.count()) if box.itemData(n) == value), 0)
    if place != box.currentIndex():
        box.setCurrentIndex(place)


def _say(words: WordsLabel, what: str) -> None:
    words.say(sentence(what), "doubt" if what else "quiet")


def _label(text: str, width: int, part: str, beside: QWidget) -> QLabel:
    label = QLabel()
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setProperty("part", part)
    label.setFixedWidth(scaled(beside, width))
    label.setText(label.fontMetrics().elidedText(text, Qt.TextElideMode.ElideRight, scaled(beside, width)))
    label.setToolTip(text)
    return label


def _words() -> WordsLabel:
    words = WordsLabel(whole=False)
    words.setMinimumWidth(scaled(words, WORDS_WIDTH))
    return words
