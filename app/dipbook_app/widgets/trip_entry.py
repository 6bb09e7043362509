"""The row of a trip being typed: its fields, what the hole should take, and what it took as the level is typed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent
from PySide6.QtWidgets import QFrame, QGridLayout, QHBoxLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from dipbook.entries.dipping import bare_unit, labelled
from dipbook_app.display import DisplayUnits, shown_unit
from dipbook_app.trip_words import FILL, FLOW_CHECK, PIPE_FILLED, REFILL
from dipbook_app.widgets.drop_list import DropList
from dipbook_app.widgets.line_label import LineLabel
from dipbook_app.widgets.text_size import FONT_EVENTS, restyle, scaled
from dipbook_app.widgets.words_label import ROOM_ABOVE_AND_BELOW, WordsLabel

TIME, STAND, BIT, STROKES, FROM, REMARK, REASON = "time", "stand", "bit depth", "strokes", "from", "remark", "reason"
BEFORE, BETWEEN, AFTER = (TIME, STAND, BIT), (STROKES,), (REMARK, REASON)
WIDTHS = {TIME: 66, STAND: 58, BIT: 92, STROKES: 72, FROM: 130}
LEVEL_WIDTH = 112
LETTERS = {Qt.Key.Key_F: FILL, Qt.Key.Key_R: REFILL, Qt.Key.Key_P: PIPE_FILLED, Qt.Key.Key_C: FLOW_CHECK}
"""In a level that is still empty these choose what the row is: no level begins with one of them."""
LABELS = {TIME: "Time", STAND: "Stand", STROKES: "Strokes", FROM: "Filled from", REMARK: "Remark",
          REASON: "Why is it corrected?"}


class TripEntry(QFrame):
    """Signals: changed(): something typed differs. entered(): Enter. up(): to the sheet above. left(): Esc.
    what_wanted(str): another kind of row.
    """

    changed = Signal()
    entered = Signal()
    up = Signal()
    left = Signal()
    what_wanted = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", "panel")
        self.tanks: tuple[str, ...] = ()
        self.words = WordsLabel(lines=2)
        self.lines = {name: self._line(LABELS.get(name, "Bit depth")) for name in (*BEFORE, *BETWEEN, *AFTER)}
        self.lines[TIME].setPlaceholderText("now")
        self.levels: dict[str, QLineEdit] = {}
        self.source = DropList()
        self.source.setProperty("tall", True)
        self.source.setAccessibleName(LABELS[FROM])
        self.source.currentIndexChanged.connect(lambda _: self.changed.emit())
        self.source.missed.connect(self._missed)
        self._word = self._astray = ""
        self.source.installEventFilter(self)
        self.labels = {name: _small(LABELS.get(name, "")) for name in (*self.lines, FROM)}
        self._level_labels: list[QLabel] = []
        self._fields = QGridLayout()
        self._fields.setHorizontalSpacing(8)
        self._fields.setVerticalSpacing(1)
        self.kind = QLabel()
        self.kind.setProperty("part", "title")
        self.live = tuple((LineLabel("", "small"), LineLabel("", "strong", smaller=("firm", "note"))) for _ in range(6))
        cells = QHBoxLayout()
        cells.setSpacing(10)
        for place, (name, value) in enumerate(self.live):
            cell = QVBoxLayout()
            cell.setSpacing(0)
            cell.addWidget(name)
            cell.addWidget(value)
            cells.addLayout(cell, (15, 14, 14, 15, 8, 15)[place])
        self._lines = 2
        self._said = QWidget()
        self._said.setObjectName("said")
        self._said.setStyleSheet("#said { background: transparent; }")
        said = QHBoxLayout(self._said)
        said.setContentsMargins(0, 0, 0, 0)
        said.setSpacing(12)
        said.addWidget(self.kind)
        said.addWidget(self.words, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(8, 3, 8, 3)
        layout.setSpacing(2)
        layout.addLayout(self._fields)
        layout.addLayout(cells)
        layout.addWidget(self._said)
        self.set_tanks(())

    # --- what there is to type ------------------------------------------------------------------------------------

    def set_tanks(self, tanks: Sequence[str]) -> None:
        """A level for each trip tank, the one in use first."""
        if tuple(tanks) == self.tanks and self._fields.count():
            return
        kept = self.level_texts()
        for widget in (*self.levels.values(), *self._level_labels):
            self._fields.removeWidget(widget)
            widget.hide()
            widget.deleteLater()
        self.tanks = tuple(tanks)
        self.levels = {tank: self._line(f"Level of {tank}") for tank in self.tanks}
        self._level_labels = [_small(f"Level of {tank}") for tank in self.tanks]
        for tank, line in self.levels.items():
            line.setText(kept.get(tank, ""))
        named: list[tuple[QLabel, QWidget]] = [(self.labels[name], self.lines[name]) for name in BEFORE]
        named += list(zip(self._level_labels, self.levels.values(), strict=True))
        named += [(self.labels[name], self.lines[name]) for name in BETWEEN]
        named += [(self.labels[FROM], self.source)]
        named += [(self.labels[name], self.lines[name]) for name in AFTER]
        for column in range(self._fields.columnCount()):
            self._fields.setColumnStretch(column, 0)
        for column, (label, field) in enumerate(named):
            self._fields.addWidget(label, 0, column)
            self._fields.addWidget(field, 1, column)
            self._fields.setColumnStretch(column, 1 if field is self.lines[REMARK] else 0)
        for (_, one), (_, other) in pairwise(named):
            QWidget.setTabOrder(one, other)
        self._fit()

    def set_sources(self, names: Sequence[str], *, own: bool = False) -> None:
        """names: of the tanks that mud may come from; own: from a trip tank too, the first choice, else none is."""
        wanted = [*((self.tanks if own else ()) or ("",)), *names]
        if [self.source.itemText(n) for n in range(self.source.count())] != wanted:
            chosen = self.source_text()
            self.source.blockSignals(True)
            self.source.clear()
            self.source.addItems(wanted)
            self.source.blockSignals(False)
            self.choose_source(chosen)

    def choose_source(self, name: str) -> None:
        """name: of a tank, "" for the first choice. One that isn't in the list is shown as such, and stays as typed."""
        place = self.source.findText(name) if name else 0
        self._astray = name if place < 0 else ""
        self.source.setPlaceholderText(f"✕ {name}" if place < 0 else "")
        self.source.setCurrentIndex(place)

    def source_text(self) -> str:
        """The tank that is chosen, "" for a trip tank or none; or what was typed and is no choice."""
        text = self.source.currentText() if self.source.currentIndex() >= 0 else self._astray
        return "" if text in self.tanks else text

    def show_kind(self, words: str, *, stand: bool, source: bool, correcting: bool) -> None:
        """words: what the row is; stand: it moves pipe; source: mud comes from elsewhere; correcting: wants a reason.
        """
        self.kind.setText(words)
        for shown, widgets in ((stand, (self.labels[STAND], self.lines[STAND])),
                               (source, (self.labels[FROM], self.source)),
                               (correcting, (self.labels[REASON], self.lines[REASON]))):
            for widget in widgets:
                widget.setVisible(shown)
        self._fields.setColumnStretch(self._fields.columnCount() - 1, 1 if correcting else 0)

    def show_units(self, units: DisplayUnits) -> None:
        """Say the units of bare numbers."""
        unit = shown_unit(bare_unit(units.dip_units))
        self.labels[BIT].setText(f"Bit depth [{units.length_word}]")
        for label, tank in zip(self._level_labels, self.tanks, strict=True):
            label.setText(f"Level of {tank}{f' [{unit}]' if unit else ''}")
        self._fit()

    def keep_lines(self, lines: int) -> None:
        """Keep room for so many lines of words, whatever their tone, so that nothing jumps while one types."""
        self._lines = lines
        self.words.set_lines(lines)
        # Text is laid out in parts of a pixel, so a line is taken one larger.
        room = self._lines * (self.fontMetrics().lineSpacing() + 1) + ROOM_ABOVE_AND_BELOW
        self._said.setMinimumHeight(max(room, self.kind.sizeHint().height()))

    # --- what is typed --------------------------------------------------------------------------------------------

    def typed(self, units: DisplayUnits) -> dict[str, str]:
        """Name -> as typed, for the desk. Where the screen has other units than the rig, a bare depth carries its own.
        units: those shown."""
        return {STAND: "" if self.lines[STAND].isHidden() else self.text(STAND),
                BIT: labelled(self.text(BIT), units.length_unit if units.unit_set else ""), STROKES: self.text(STROKES),
                FROM: "" if self.source.isHidden() else self.source_text(), REMARK: self.text(REMARK)}

    def level_texts(self, units: DisplayUnits | None = None) -> dict[str, str]:
        """Tank -> as the stick says, blanks left out. units: those shown, where a bare number is to carry its own."""
        unit = "" if units is None or not units.unit_set else bare_unit(units.dip_units)
        return {tank: labelled(text, unit) for tank, line in self.levels.items() if (text := line.text().strip())}

    def text(self, name: str) -> str:
        """What is typed in a field."""
        return self.lines[name].text().strip()

    def content(self) -> dict[str, Any]:
        """All that is typed, as plain JSON values."""
        return {"texts": {name: line.text() for name, line in self.lines.items()}, "levels": self.level_texts(),
                "from": self.source_text()}

    def fill(self, content: Mapping[str, Any]) -> None:
        """Put such a content in the fields; what isn't in it is blank."""
        texts, levels = dict(content.get("texts", {})), dict(content.get("levels", {}))
        for name, line in self.lines.items():
            line.setText(str(texts.get(name, "")))
            line.setCursorPosition(0)
        for tank, line in self.levels.items():
            line.setText(str(levels.get(tank, "")))
        self.choose_source(str(content.get("from", "")))

    def keep_units(self, before: DisplayUnits) -> None:
        """The screen's units change: what was typed as a bare number keeps its unit, and shows it. before: the old."""
        for line in self.levels.values():
            line.setText(labelled(line.text(), bare_unit(before.dip_units)))
        self.lines[BIT].setText(labelled(self.lines[BIT].text(), before.length_unit))

    def first(self) -> QLineEdit:
        """Where the cursor belongs: the first level, or the strokes where there is no trip tank."""
        return next(iter(self.levels.values()), self.lines[STROKES])

    def focus(self, column: str = "") -> None:
        """Put the cursor in a field. column: as findings name it, "" for the first level."""
        field: QWidget = self.levels.get(column) or self.lines.get(column) or self.first()
        if column == FROM and not self.source.isHidden():
            field = self.source
        field.setFocus(Qt.FocusReason.OtherFocusReason)
        if isinstance(field, QLineEdit):
            field.selectAll()

    def mark(self, column: str) -> None:
        """Show that a field can't stand; "" for none."""
        for name, line in (*self.lines.items(), *self.levels.items()):
            part = "bad" if name == column else ""
            if (line.property("part") or "") != part:
                line.setProperty("part", part)
                restyle(line)

    def show_live(self, cells: Sequence[tuple[str, str]]) -> None:
        """(name, value) of what is known of the row so far, in the order of the page."""
        for (label, value), (name, text) in zip(self.live, cells, strict=True):
            label.setText(name)
            value.setText(text)

    def readings(self) -> dict[str, str]:
        """Name -> value, as shown."""
        return {label.text(): value.text() for label, value in self.live}

    # --- keys and sizes -------------------------------------------------------------------------------------------

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Enter, Up, Esc, and the letters that choose the kind of row."""
        if event.type() == QEvent.Type.FocusOut and watched is self.source and self.source.lost and \
                isinstance(event, QFocusEvent) and event.reason() != Qt.FocusReason.PopupFocusReason:
            self.choose_source(self.source.typed)
        if event.type() != QEvent.Type.KeyPress or not isinstance(event, QKeyEvent):
            return super().eventFilter(watched, event)
        key = Qt.Key(event.key())
        plain = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier & ~Qt.KeyboardModifier.ShiftModifier \
            == Qt.KeyboardModifier.NoModifier
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if not event.isAutoRepeat() and (watched is not self.source or self.source.settle()):
                self.entered.emit()
            return True
        if key == Qt.Key.Key_Escape and plain:
            self.left.emit()
            return True
        if key == Qt.Key.Key_Up and plain and watched is not self.source:
            self.up.emit()
            return True
        empty = isinstance(watched, QLineEdit) and watched in self.levels.values() and not watched.text()
        if plain and empty and key in LETTERS:
            self.what_wanted.emit(LETTERS[key])
            return True
        return super().eventFilter(watched, event)

    def _missed(self, words: str) -> None:
        """What is typed finds no tank; once it is settled by Enter it stands there, so that no other tank is saved."""
        self.words.say(words, "doubt")
        if words and self.source.typed:
            self._word = self.source.typed
        elif words:
            self.choose_source(self._word)
            self.words.say(f"No “{self._word}” in this list: choose a tank.", "doubt")

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the text."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "live"):
            self._fit()

    def _fit(self) -> None:
        for name, width in WIDTHS.items():
            field = self.source if name == FROM else self.lines[name]
            field.setFixedWidth(max(scaled(self, width), self.labels[name].sizeHint().width()))
        for label, line in zip(self._level_labels, self.levels.values(), strict=True):
            line.setFixedWidth(max(scaled(self, LEVEL_WIDTH), label.sizeHint().width()))
        self.keep_lines(self._lines)

    def _line(self, accessible: str) -> QLineEdit:
        line = QLineEdit()
        line.setStyleSheet("padding: 1px 6px;")
        line.setAccessibleName(accessible)
        line.setProperty("tall", True)
        line.setMaxLength(200)
        line.textChanged.connect(lambda _: self.changed.emit())
        line.installEventFilter(self)
        return line


def _small(text: str) -> QLabel:
    label = QLabel(text)
    label.setProperty("part", "small")
    label.setTextFormat(Qt.TextFormat.PlainText)
    return label
