"""The story of one warning: its value against time above, below it in words what it rests on and what was done."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QRect, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QGridLayout, QLabel, QScrollArea, QSizePolicy, QVBoxLayout, QWidget

from dipbook.situation import Situation, WarningView
from dipbook.situation_of_warnings import WarningStory
from dipbook_app import urgency as urgencies
from dipbook_app import warning_words
from dipbook_app.display import DisplayUnits, shown_words
from dipbook_app.standing_notice import KINDS
from dipbook_app.strip_words import headline
from dipbook_app.theme import Look
from dipbook_app.widgets.line_label import LineLabel
from dipbook_app.widgets.text_size import FONT_EVENTS, scaled
from dipbook_app.widgets.warning_plot import WarningPlot

TWO_COLUMNS_PX = 620
"""From this width on the words stand in two columns [px at the ordinary text]."""
LEAST_PLOT = 0.3
"""Share of the height that the plot keeps."""
LEAST_WORDS_PX, SECTION_GAP = 150, 6
EDGE_PX, BAR_PX, COLUMN_GAP = 6, 24, 18
"""Around what stands beside; what a bar at the side of the words takes; between two columns of them [px]."""
DONE = "What was done"


class WarningStoryView(QWidget):
    """Shows a WarningStory; ``plot`` is read with its ``step``, the words with ``read_on``. ``beside``: what was done
    and the caution, for wherever the page has room for them.

    more(bool): there are words to scroll to, or there aren't any more.
    """

    more = Signal(bool)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._sections: tuple[tuple[str, str], ...] = ()
        self._labels: list[QLabel] = []
        self._stacks: list[QVBoxLayout] = []
        self._columns = self._width = self._height = 0
        self._drawn, self.squeezed, self._done_words = True, False, ""
        self._cautions: tuple[str, ...] = ()
        self._made: tuple[tuple[str, str], ...] = ()
        self.title = LineLabel("", "strong", smaller=("firm", "note"))
        self.plot = WarningPlot(look)
        self._body = QWidget()
        self._grid = QGridLayout(self._body)
        self._grid.setContentsMargins(0, 0, 6, 0)
        self._grid.setHorizontalSpacing(COLUMN_GAP)
        self.area = QScrollArea()
        self.area.setWidget(self._body)
        self.area.setWidgetResizable(True)
        self.area.setFrameShape(QFrame.Shape.NoFrame)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.area.verticalScrollBar().rangeChanged.connect(lambda *_: self.more.emit(self.has_more))
        self.beside = QWidget()
        self.done_heading, self.done, self.caution = _text(DONE, "firm"), _text("", "note"), _text("", "note")
        self.caution.setContentsMargins(0, SECTION_GAP, 0, 0)
        beside = QVBoxLayout(self.beside)
        beside.setContentsMargins(0, 4, 0, 0)
        beside.setSpacing(2)
        for label in (self.done_heading, self.done, self.caution):
            beside.addWidget(label)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addWidget(self.title)
        layout.addWidget(self.plot, 1)
        layout.addWidget(self.area)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self.plot.set_look(look)

    def show_story(self, w: WarningView, story: WarningStory | None, s: Situation, units: DisplayUnits) -> None:
        """w: the warning; story: None for one that the log's own limits don't keep; s: of now; units: the crew's."""
        self.title.setText(headline(w, units, s.now_ms))
        self._drawn = story is not None
        self.plot.setVisible(self._drawn and not self.squeezed)
        done = ""
        if story is None:
            words = w.text if w.kind in KINDS or not w.in_log else "Nothing more is known of it."
            made: tuple[tuple[str, str], ...] = (("What it says", words),)
        else:
            self.plot.show_series(story.series, w.value_is, warning_words.plot_title(w, units), units, s.now_ms,
                                  colour=urgencies.of(w).colour, signed=w.value_is == "volume" and not w.tank)
            made = warning_words.sections(w, story, s, units)
            done = warning_words.done_words(w, story, units, s.now_ms)
        self._made, self._done_words, self._cautions = made, shown_words(done), warning_words.cautions(w)
        self.give_beside(self._width, self._height)

    def give_beside(self, width: int, height: int) -> None:
        """How much room ``beside`` has. What was done stands there whole, else among the other words; the caution
        shorter, or left to the strip, where it doesn't fit. width, height [px]."""
        self._width, self._height = width, height
        room = height - EDGE_PX
        done = _tall(self.done, self._done_words, width) + _tall(self.done_heading, DONE, width) + EDGE_PX
        fits = bool(self._done_words) and done <= room
        room -= done if fits else 0
        said = next((words for words in self._cautions if _tall(self.caution, words, width) + SECTION_GAP <= room), "")
        for label, words in ((self.done_heading, DONE if fits else ""), (self.done, self._done_words if fits else ""),
                             (self.caution, said)):
            label.setText(words)
            label.setVisible(bool(words))
        self._show(self._made if fits or not self._done_words else (*self._made, (DONE, self._done_words)))

    def readings(self) -> tuple[tuple[str, str], ...]:
        """The sections in words, heading first, what was done the last."""
        beside = ((DONE, self.done.text()),) if self.done.text() else ()
        return (*self._sections, *beside)

    def read_on(self, pages: int) -> None:
        """Read on in the words. pages: +1 or −1."""
        bar = self.area.verticalScrollBar()
        bar.setValue(bar.value() + pages * max(20, self.area.viewport().height() - 30))

    @property
    def has_more(self) -> bool:
        """True where not all the words are in sight at once."""
        return self.area.isVisible() and self.area.verticalScrollBar().maximum() > 0

    def make_room(self, form: int, height: int) -> None:
        """form: height that a form below needs, 0 without one [px]; height: of both [px]. The words give way to it, the
        plot stays while there is room for it too."""
        self.area.setVisible(not form)
        least = self.plot.minimumHeight() + self.title.sizeHint().height() + EDGE_PX
        self.squeezed = form > 0 and height - form < least
        self.plot.setVisible(self._drawn and not self.squeezed)

    def _show(self, made: tuple[tuple[str, str], ...]) -> None:
        made = tuple((head, shown_words(text)) for head, text in made)
        columns = 2 if self.width() >= scaled(self, TWO_COLUMNS_PX) and len(made) > 1 else 1
        if (made, columns) == (self._sections, self._columns):
            return
        if [head for head, _ in made] != [head for head, _ in self._sections] or columns != self._columns:
            self._lay_out([head for head, _ in made], columns)
        self._sections = made
        for label, (_, text) in zip(self._labels, made, strict=True):
            label.setText(text)
        self._share()

    def _lay_out(self, heads: list[str], columns: int) -> None:
        """Sections down the first column, then the second."""
        while (item := self._grid.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        self._labels, self._columns = [], columns
        stacks = self._stacks = []
        for column in range(2):
            self._grid.setColumnStretch(column, 1 if column < columns else 0)
        for column in range(columns):
            holder = QWidget()
            stack = QVBoxLayout(holder)
            stack.setSpacing(2)
            stack.setContentsMargins(0, 0, 0, 0)
            stacks.append(stack)
            holder.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
            self._grid.addWidget(holder, 0, column, Qt.AlignmentFlag.AlignTop)
        for place, head in enumerate(heads):
            stack = stacks[0] if columns == 1 or 2 * place < len(heads) else stacks[1]
            label = _text("", "note")
            self._labels.append(label)
            stack.addWidget(_text(head, "firm"))
            stack.addWidget(label)
            stack.addSpacing(SECTION_GAP)
        self._grid.setRowStretch(1, 1)

    def _share(self) -> None:
        """The words have what they need, the plot the rest, and never less than its share where they need more."""
        if not self.height():
            return
        width = self.area.width() - scaled(self, BAR_PX)  # as if there were a bar: else it makes itself needed
        wide = max(1, (width - (len(self._stacks) - 1) * COLUMN_GAP) // max(1, len(self._stacks)))
        for stack in self._stacks:  # words that have changed tell the layouts around them only later
            stack.invalidate()
        needed = max((stack.heightForWidth(wide) for stack in self._stacks), default=0)
        room = self.height() - self.title.height()
        drawn = 0 if self.plot.isHidden() else max(self.plot.minimumHeight(), round(room * LEAST_PLOT))
        most = max(0, room - drawn)
        self.area.setFixedHeight(max(min(needed + 4, most), min(scaled(self, LEAST_WORDS_PX), most)))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Words wrap anew."""
        super().resizeEvent(event)
        self._show(self._sections)
        self._share()

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the text."""
        super().changeEvent(event)
        if event.type() in FONT_EVENTS and hasattr(self, "beside"):
            self._show(self._sections)
            self._share()


def _tall(label: QLabel, words: str, width: int) -> int:
    """How high words are in a label's letters [px]. width: that they may take [px]."""
    room = QRect(0, 0, max(1, width), 10_000)
    return label.fontMetrics().boundingRect(room, Qt.TextFlag.TextWordWrap, words).height() + 4 if words else 0


def _text(words: str, part: str) -> QLabel:
    label = QLabel(words)
    label.setProperty("part", part)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    return label
