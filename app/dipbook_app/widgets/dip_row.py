"""One tank's row on the Round page: what it was, what the stick says, what that makes, and any doubt about it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from dipbook_app.widgets.drop_list import DropList
from dipbook_app.widgets.line_label import LineLabel
from dipbook_app.widgets.text_size import FONT_EVENTS, restyle, scaled
from dipbook_app.widgets.words_label import WordsLabel

HEIGHT, CLOSER, CLOSEST = 50, 46, 42
"""Of a row [px]: the usual, where all rows fit only if they stand closer, and where not even so."""
BUTTON_WIDTH = 80
GAP = 8
WORDS_BESIDE_FROM = 220
"""The words on a row stand beside its numbers if they have so much room there [px], else below them."""
SAME = "same"
NOT_GAUGED = "not gauged"

WIDTHS = {"name": 136, "last": 94, "should": 80, "stick": 126, "second": 104, "time": 66, "flag": 122, "volume": 134,
          "change": 130}
"""Widths of the columns [px], the same in every row and in the heading."""


@dataclass(frozen=True, slots=True)
class RowWords:
    """What a row shows for what is typed. doubt asks to be kept; error stands in the way of saving."""

    volume: str = ""
    change: str = ""
    words: str = ""
    tone: str = "quiet"


class DipRow(QFrame):
    """One tank's row.

    tank: its name. flags: the words that may flag a dip.
    Signals: changed(): something typed or chosen differs. entered(): Enter in it. moved(int): Up (-1), Down (1).
    focused(): the cursor came here.
    """

    changed = Signal()
    entered = Signal()
    moved = Signal(int)
    focused = Signal()

    def __init__(self, tank: str, flags: Sequence[str] = (), parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.tank = tank
        self._beside = True
        self._height = HEIGHT
        self.setObjectName(f"row {tank}")
        self.name = LineLabel(tank, "strong")
        self.gauge = LineLabel("", "small")
        self.last = label_of("", "small")
        self.should = label_of("", "small")
        self.should.hide()
        self.stick = _line(f"{tank}: what the stick says")
        self.second = _line(f"{tank}: second reading")
        self.time = _line(f"{tank}: time of the dip")
        self.flag = DropList()
        self.flag.setAccessibleName(f"{tank}: flag")
        self.flag.setProperty("tall", True)
        self.flag.addItem("")
        self.flag.addItems([flag for flag in flags if flag])
        self.volume = label_of("", "strong")
        self.change = label_of("")
        self.words = WordsLabel(whole=False)
        self.words.setAlignment(Qt.AlignmentFlag.AlignVCenter)
        self.same_button = self._button("Same\n=", SAME)
        self.not_gauged_button = self._button("Not\ngauged", NOT_GAUGED)
        head = QVBoxLayout()
        head.setSpacing(0)
        head.addStretch(1)
        head.addWidget(self.name)
        head.addWidget(self.gauge)
        head.addStretch(1)
        numbers = QHBoxLayout()
        numbers.setSpacing(GAP)
        numbers.addWidget(self.volume)
        numbers.addWidget(self.change)
        numbers.addStretch(0)
        self._result = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._result.setSpacing(0)
        self._result.addLayout(numbers)
        self._result.addWidget(self.words, 1)
        layout = QHBoxLayout(self)
        layout.setSpacing(GAP)
        layout.addLayout(head)
        for widget in (self.last, self.should, self.stick, self.second, self.time, self.flag):
            layout.addWidget(widget)
        self.keys = QWidget()
        keys = QHBoxLayout(self.keys)
        keys.setContentsMargins(0, 0, GAP, 0)
        keys.setSpacing(GAP)
        keys.addWidget(self.same_button)
        keys.addWidget(self.not_gauged_button)
        layout.addWidget(self.keys)
        layout.addLayout(self._result, 1)
        for line in self.lines:
            line.textChanged.connect(lambda _text: self.changed.emit())
            line.installEventFilter(self)
        self.flag.currentIndexChanged.connect(lambda _index: self.changed.emit())
        self.flag.installEventFilter(self)
        self.show_columns()
        self._fit()

    @property
    def lines(self) -> tuple[QLineEdit, ...]:
        """The fields that are typed in, from the left."""
        return self.stick, self.second, self.time

    def show_columns(self, *, second: bool = False, time: bool = False, flag: bool = False,
                     should: bool = False) -> None:
        """Show or hide the columns that are optional."""
        self.should.setVisible(should)
        self.second.setVisible(second)
        self.time.setVisible(time)
        self.flag.setVisible(flag)
        self._place_words()

    def show_gauge(self, how: str, reach: str) -> None:
        """How this tank is gauged, and between what the stick can read, in words."""
        self.gauge.setText(how)
        for widget in (self.name, self.gauge, self.stick):
            widget.setToolTip(reach)

    def spare(self, *, keys: bool, change: bool) -> None:
        """Leave out the row's keys, or the change, where there is no room; both can be typed or worked out."""
        self.keys.setVisible(keys)
        self.change.setVisible(change)
        self._place_words()

    def set_wide(self, wide: bool) -> None:
        """wide: there is room for larger fields and text."""
        if bool(self.property("wide")) != wide:
            self.setProperty("wide", wide)
            for widget in (self, *self.findChildren(QWidget)):
                restyle(widget)
            self._fit()

    def set_height(self, height: int) -> None:
        """height: HEIGHT, CLOSER or CLOSEST [px]."""
        if self._height != height:
            self._height = height
            self._fit()

    def show_last(self, level: str, when: str) -> None:
        """What was gauged last, and when, in words."""
        self.last.setText(f"{level}\n{when}" if when else level)

    def show_should(self, level: str) -> None:
        """What the stick should read by all that is booked, in words, or "" where nobody knows."""
        self.should.setText(level)
        self.should.setToolTip(f"{self.tank} should read {level} by all that is booked since its last dip" if level
                               else "")

    def show_words(self, shown: RowWords) -> None:
        """What the typed text makes."""
        self.volume.setText(shown.volume)
        self.change.setText(shown.change)
        self.words.say(shown.words, shown.tone)
        self.words.setVisible(self._beside or bool(shown.words))
        part = "bad" if shown.tone == "error" else ""
        if self.stick.property("part") != part:
            self.stick.setProperty("part", part)
            restyle(self.stick)

    def focus(self) -> None:
        """Put the cursor into the stick's field, with its text selected."""
        self.stick.setFocus(Qt.FocusReason.TabFocusReason)
        self.stick.selectAll()

    def content(self) -> dict[str, str]:
        """What is typed, by field, blanks left out: the row's part of the draft."""
        texts = {"stick": self.stick.text(), "second": self.second.text(), "time": self.time.text(),
                 "flag": self.flag.currentText()}
        return {name: text for name, text in texts.items() if text}

    def restore(self, content: dict[str, str]) -> None:
        """Put a draft's part back, or clear the row with an empty one."""
        self.stick.setText(content.get("stick", ""))
        self.second.setText(content.get("second", ""))
        self.time.setText(content.get("time", ""))
        self.flag.setCurrentIndex(max(0, self.flag.findText(content.get("flag", ""))))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The keys of the row, and the news that the cursor came."""
        if event.type() == QEvent.Type.FocusIn:
            self.focused.emit()
        elif event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            return self._key(watched, event)
        return super().eventFilter(watched, event)

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the text."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "not_gauged_button"):
            self._fit()

    def _fit(self) -> None:
        for name, widget in (("name", self.name), ("name", self.gauge), ("last", self.last), ("should", self.should),
                             ("stick", self.stick),
                             ("second", self.second), ("time", self.time), ("flag", self.flag),
                             ("volume", self.volume), ("change", self.change)):
            widget.setFixedWidth(scaled(self, WIDTHS[name]))
        height, edge = self._height, 2 if self._height == HEIGHT else 1
        for button in (self.same_button, self.not_gauged_button):
            button.setFixedSize(scaled(self, BUTTON_WIDTH), scaled(self, height) - 2 * edge)
        frame = self.layout()
        if frame is not None:
            frame.setContentsMargins(8, edge, 8, edge)
        self.setFixedHeight(scaled(self, height))
        self._place_words()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Words beside the numbers or below them."""
        super().resizeEvent(event)
        self._place_words()

    def _place_words(self) -> None:
        fixed = (self.name, self.last, self.should, self.stick, self.volume, self.change, self.second, self.time,
                 self.flag)
        room = self.width() - sum(w.minimumWidth() + GAP for w in fixed if not w.isHidden()) - 2 * GAP
        room -= 0 if self.keys.isHidden() else 2 * (self.same_button.width() + GAP)
        beside = room >= scaled(self, WORDS_BESIDE_FROM)
        self._result.setDirection(QBoxLayout.Direction.LeftToRight if beside else QBoxLayout.Direction.TopToBottom)
        self._result.setStretch(0, 0)
        self._result.setStretch(1, 1 if beside else 0)
        self.words.set_lines(2 if beside else 1)
        self._beside = beside
        self.words.setVisible(beside or bool(self.words.said))

    def _key(self, watched: QObject, event: QKeyEvent) -> bool:
        modifiers = event.modifiers() & ~(Qt.KeyboardModifier.KeypadModifier | Qt.KeyboardModifier.ShiftModifier)
        if modifiers != Qt.KeyboardModifier.NoModifier:
            return False
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if watched is not self.flag or self.flag.settle():
                self.entered.emit()
            return True
        if watched is self.flag:
            return False
        if event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.moved.emit(-1 if event.key() == Qt.Key.Key_Up else 1)
            return True
        if watched is self.stick and event.text() == "=":
            self.stick.setText(SAME)
            return True
        return False

    def _button(self, label: str, text: str) -> QPushButton:
        button = QPushButton(label)
        button.setStyleSheet("padding: 0px 2px;")  # or its second line would be cut
        button.setAccessibleName(f"{self.tank}: {text}")
        button.setAutoDefault(False)
        button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        button.clicked.connect(lambda: self._press(text))
        return button

    def _press(self, text: str) -> None:
        """A key of the row pressed: it says so in the field, and the cursor goes on as with Enter."""
        self.stick.setText(text)
        self.stick.setFocus(Qt.FocusReason.OtherFocusReason)
        self.entered.emit()


def width_needed(row: QWidget, *, columns: Sequence[str], keys: bool, change: bool) -> int:
    """The width that a row takes [px]. row: for the size of its text; columns: the optional ones that are shown."""
    names = ["name", "last", "stick", "volume", *columns, *(["change"] if change else [])]
    wide = sum(scaled(row, WIDTHS[name]) + GAP for name in names)
    return wide + (2 * (scaled(row, BUTTON_WIDTH) + GAP) if keys else 0) + 3 * GAP


def label_of(text: str, part: str = "") -> QLabel:
    """A label of plain text. text: of it; part: as the theme draws it."""
    label = QLabel(text)
    label.setTextFormat(Qt.TextFormat.PlainText)
    if part:
        label.setProperty("part", part)
    return label


def _line(accessible: str) -> QLineEdit:
    line = QLineEdit()
    line.setStyleSheet("padding: 1px 6px;")  # or the thick edge of an error would be cut
    line.setAccessibleName(accessible)
    line.setProperty("tall", True)
    line.setMaxLength(80)
    return line
