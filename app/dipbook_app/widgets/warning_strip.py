"""The strip kept for warnings across the top of every page: always of one height, empty when nothing is open.

Never modal. It shows one warning, says what else is open, and carries the caution. Closing asks for its note here.
"""

from __future__ import annotations

from PySide6.QtCore import QElapsedTimer, QEvent, QObject, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import (
    QApplication,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)
from shiboken6 import isValid

from dipbook.cautions import CAUTION
from dipbook.situation import AsideView, WarningView
from dipbook_app import aside_words, strip_words
from dipbook_app import urgency as urgencies
from dipbook_app.display import DisplayUnits
from dipbook_app.theme import Look
from dipbook_app.widgets.line_label import LineLabel
from dipbook_app.widgets.symbol import Symbol
from dipbook_app.widgets.text_size import restyle

GAP_MM, LEAST_GAP_MM = 6.0, 2.5
FILL_PX = 16
"""How far the colour of what waits for a person reaches beyond its sign [px]."""
LOOK_MS = 700
"""When another warning has come to the front by itself, an acknowledgement within this time was meant for the one
before it: nobody reads a line sooner."""
NARROW = 1100
"""Width below which the strip is higher, at text size 1 [px]."""
CAUTION_PX = 11
"""Size of the caution at text size 1, as in the style sheet [px]."""


class _Note(QLineEdit):
    """The note that closes a warning; Escape leaves the warning as it is."""

    left = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)


class WarningStrip(QWidget):
    """Shows what is open.

    acknowledge_wanted(occurrence), close_wanted(occurrence, note), silence_wanted(): what a person asks for.
    asked(occurrence): its words were clicked; "" where no warning is open. turned(occurrence): another is shown, by a
    person's wish.
    """

    acknowledge_wanted = Signal(str)
    close_wanted = Signal(str, str)
    silence_wanted = Signal()
    asked = Signal(str)
    turned = Signal(str)

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._warnings: tuple[WarningView, ...] = ()
        self._aside: tuple[AsideView, ...] = ()
        self._shown = ""
        self._noting = ""
        self._came_from: QWidget | None = None
        self._caution_px = 0
        self._fitting = False
        self._units: DisplayUnits | None = None
        self._now_ms = 0
        self._came_up = QElapsedTimer()
        self._hurried = ""
        self._symbol = Symbol(look)
        self._rank = QLabel()
        self._rank.setProperty("part", "caution")
        self._headline = LineLabel("", "title", smaller=("strong",), lines=2)  # never below the page's own
        self._others = LineLabel("", "soft", smaller=("small", "caution"))
        self._note = _Note()
        self._note.setPlaceholderText("What was it, and what was done? Enter closes the warning, Esc leaves it open")
        self._note.setAccessibleName("Note that closes the warning")
        self._note.returnPressed.connect(self.close_shown)
        self._note.left.connect(self._done_noting)
        self._noting_row = QWidget()
        self._note_for = QLabel()
        self._caution = QLabel(CAUTION)
        self._caution.setProperty("part", "caution")
        self._caution.setWordWrap(True)
        self._caution.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self._caution.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Ignored)
        self._next = _big("Next\nCtrl+N", "Show the next open warning", self.show_next)
        self._acknowledge = _big("Acknowledge\nF8", "Acknowledge the warning shown", self.acknowledge_shown)
        self._silence = _big("Silence 30 s\nF9", "Silence the sound for 30 seconds", self.silence_wanted.emit)
        self._close = _big("Close\nF10", "Close the warning shown, with a note", self.close_shown)
        self._buttons = (self._next, self._acknowledge, self._silence, self._close)
        words = QVBoxLayout()
        words.setSpacing(0)
        words.addWidget(self._headline)
        words.addWidget(self._others)
        noting = QHBoxLayout(self._noting_row)
        noting.setContentsMargins(0, 0, 0, 0)
        noting.addWidget(self._note_for)
        noting.addWidget(self._note, 1)
        words.addWidget(self._noting_row)
        words.addWidget(self._caution, 1)
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(10, 6, 10, 6)
        sign = self._sign = QVBoxLayout()
        sign.setSpacing(0)
        sign.addWidget(self._symbol, 0, Qt.AlignmentFlag.AlignHCenter)
        sign.addWidget(self._rank, 0, Qt.AlignmentFlag.AlignHCenter)
        self._row.addLayout(sign)
        self._row.addLayout(words, 1)
        for button in self._buttons:
            self._row.addWidget(button)
        self._noting_row.hide()
        self._caution.installEventFilter(self)
        for part in (self._symbol, self._rank, self._headline, self._others):
            part.installEventFilter(self)
            part.setCursor(Qt.CursorShape.PointingHandCursor)
        self.set_look(look)
        self._refresh(None)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes; the height follows the text size, never the warnings."""
        self._look = look
        self._fit_height()
        self._fit_caution()
        self.update()

    def _fit_height(self) -> None:
        """By the text's size and the width alone: in a narrow window the caution takes a line more."""
        narrow = self.width() < self._look.px(NARROW)
        self.setFixedHeight(max(self._look.mm(20) + 16, self._look.px(118 if narrow else 104)))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The caution has to be read whole at any width."""
        super().resizeEvent(event)
        self._fit_height()
        self._fit_caution()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Other room for the caution, also where the headline has taken a second line."""
        if watched is self._caution and event.type() == QEvent.Type.Resize:
            self._fit_caution()
        elif event.type() == QEvent.Type.MouseButtonRelease and watched is not self._caution:
            self.asked.emit(self.occurrence_shown)
        return super().eventFilter(watched, event)

    def _fit_caution(self) -> None:
        """The caution's letters as large as its room allows, never smaller than at the ordinary text size: before it
        is cut, the gaps give way to it."""
        if self._fitting:
            return
        self._fitting = True
        tight = self.width() < self._look.px(NARROW) or self._headline.wordWrap()  # the caution needs the height
        self._row.setContentsMargins(10, 2 if tight else 6, 10, 2)
        for gap in (GAP_MM, LEAST_GAP_MM):
            self._row.setSpacing(self._look.mm(gap))
            self._row.activate()
            room = self._caution.contentsRect()
            sizes = range(max(self._look.px(CAUTION_PX), CAUTION_PX), CAUTION_PX - 1, -1)
            size = next((size for size in sizes if self._needed(size, room.width()) <= room.height()), 0)
            if size:
                break
        if self._caution_px != (size or CAUTION_PX):
            self._caution_px = size or CAUTION_PX
            self._caution.setStyleSheet(f"font-size: {self._caution_px}px;")
        self._fitting = False

    def _needed(self, size: int, width: int) -> float:
        """Height of the caution [px]. size: of its letters; width: of its room [px]."""
        font = self._look.font(size / self._look.text)
        return QFontMetricsF(font).boundingRect(QRectF(0, 0, max(1, width), 10_000), Qt.TextFlag.TextWordWrap,
                                                CAUTION).height()

    def sizeHint(self) -> QSize:
        return QSize(600, self.height())

    # --- what it shows ------------------------------------------------------------------------------------------

    def show_warnings(self, warnings: tuple[WarningView, ...], units: DisplayUnits, now_ms: int,
                      aside: tuple[AsideView, ...] = ()) -> None:
        """warnings: all that are open; units: the crew's; now_ms [UTC ms]; aside: limits that are set aside."""
        self._aside = aside
        before = {w.occurrence: w for w in self._warnings}
        self._warnings = urgencies.in_order(warnings)
        fresh = any(_fresh(w, before.get(w.occurrence)) for w in self._warnings)
        open_now = {w.occurrence for w in self._warnings}
        seen = self._seen_now(before)
        if self._noting and "close" not in next((w.actions for w in warnings if w.occurrence == self._noting), ()):
            self._leave_note()
        if self._warnings and (self._shown not in open_now or fresh or seen):
            if self._shown in before and self._shown != self._warnings[0].occurrence:
                self._came_up.start()
            self._shown = self._warnings[0].occurrence
        self._units, self._now_ms = units, now_ms
        self._refresh(self.shown)

    def _seen_now(self, before: dict[str, WarningView]) -> bool:
        """True if the warning shown has just been acknowledged while another still waits for that."""
        was, shown = before.get(self._shown), self.shown
        return (was is not None and shown is not None and was.state in urgencies.UNACKNOWLEDGED
                and shown.state not in urgencies.UNACKNOWLEDGED
                and self._warnings[0].state in urgencies.UNACKNOWLEDGED)

    def clear(self) -> None:
        """Nothing is open."""
        self._warnings, self._aside = (), ()
        self._leave_note()

    @property
    def shown(self) -> WarningView | None:
        """The warning shown, or None."""
        return next((w for w in self._warnings if w.occurrence == self._shown), None)

    @property
    def open_now(self) -> tuple[WarningView, ...]:
        """All that are open, in the strip's order."""
        return self._warnings

    @property
    def occurrence_shown(self) -> str:
        """The warning that is shown, "" for none."""
        return self._shown if self.shown is not None else ""

    @property
    def limit_shown(self) -> str:
        """Name of the limit whose warning is shown, else of the first that is set aside; "" for neither."""
        return self.shown.name if self.shown is not None else self._aside[0].name if self._aside else ""

    @property
    def filled(self) -> bool:
        """True while the sign stands on the colour of its urgency: nobody has acknowledged the warning shown."""
        return self.shown is not None and self.shown.state in urgencies.UNACKNOWLEDGED

    def readings(self) -> tuple[str, ...]:
        """The words on the strip, from the top; () when it is empty."""
        if self.shown is None and not self._aside:
            return ()
        return (self._headline.text(), self._others.text(), self._caution.text())

    @property
    def buttons(self) -> tuple[QPushButton, ...]:
        """Next, Acknowledge, Silence, Close."""
        return self._buttons

    @property
    def noting(self) -> bool:
        """True while it asks for the note that closes a warning."""
        return bool(self._noting)

    @property
    def note(self) -> QLineEdit:
        """Where the note is typed."""
        return self._note

    def _refresh(self, shown: WarningView | None) -> None:
        empty = shown is None
        for part in (self._rank, *self._buttons):
            part.setVisible(not empty)
        for part in (self._headline, self._caution):
            part.setVisible(not empty or bool(self._aside))
        self._others.setVisible((not empty or bool(self._aside)) and not self._noting)
        self._noting_row.setVisible(not empty and bool(self._noting))
        units = self._units
        if shown is None or units is None:
            beyond = next((x for x in self._aside if x.active), None)
            self._symbol.show_urgency(None if beyond is None else urgencies.of_kind(beyond.kind), flashing=False)
            if self._aside and units is not None:
                self._headline.setText(aside_words.headline(self._aside))
                self._others.setText(" ".join(aside_words.one(x, units, self._now_ms) for x in self._aside))
                self._fit_caution()
            self.update()
            return
        urgency = urgencies.of(shown)
        self._symbol.show_urgency(urgency, flashing=self.filled)
        stands_on = f"on_{urgency.colour}" if self.filled else "caution"
        if self._rank.property("part") != stands_on:
            self._rank.setProperty("part", stands_on)
            restyle(self._rank)
        self._rank.setText(f"priority {urgency.rank}")
        self._headline.setText(strip_words.headline(shown, units, self._now_ms))
        self._others.setText(strip_words.below(
            shown, self._warnings, self._aside, units, hurried=self._hurried == shown.occurrence))
        self._next.setVisible(len(self._warnings) > 1)
        self._acknowledge.setEnabled("acknowledge" in shown.actions)
        self._close.setEnabled("close" in shown.actions)
        self._silence.setEnabled(any(w.sounding for w in self._warnings))
        self._fit_caution()
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        shown = self.shown
        kind = shown.kind if shown is not None else next((x.kind for x in self._aside if x.active), None)
        if kind is None:
            return
        painter = QPainter(self)
        colour = urgencies.of_kind(kind).colour
        if self.filled:
            sign = self._sign.geometry()
            painter.fillRect(0, 0, sign.right() + FILL_PX, self.height(), self._look.colour(colour))
        painter.setPen(QPen(self._look.colour(f"{colour}_edge"), 4))
        painter.drawRect(self.rect().adjusted(2, 2, -2, -2))
        painter.end()

    # --- what a person does -------------------------------------------------------------------------------------

    def show_next(self) -> None:
        """Show the next open warning."""
        if self._noting or len(self._warnings) < 2:
            return
        names = [w.occurrence for w in self._warnings]
        self.show_one(names[(names.index(self._shown) + 1) % len(names)])
        self.turned.emit(self._shown)

    def show_one(self, occurrence: str) -> None:
        """Show this open warning, as a person has chosen it elsewhere: the keys act on it. occurrence: the warning's.
        """
        if occurrence == self._shown or all(w.occurrence != occurrence for w in self._warnings):
            return
        self._shown = occurrence
        self._refresh(self.shown)

    def acknowledge_shown(self) -> None:
        """Acknowledge the warning shown, if that can be done now. Of one that came up in this very moment it says that
        the key is to be pressed again."""
        shown = self.shown
        if self._came_up.isValid() and not self._came_up.hasExpired(LOOK_MS):
            self._hurried = self.occurrence_shown
            self._refresh(shown)
            return
        self._hurried = ""
        if shown is not None and "acknowledge" in shown.actions:
            self.acknowledge_wanted.emit(shown.occurrence)

    def close_shown(self) -> None:
        """First ask for the note; with a note, close the warning that it is for, whichever is shown by then."""
        shown = self.shown
        if shown is None or (not self._noting and "close" not in shown.actions):
            return
        if not self._noting:
            self._noting, self._came_from = shown.occurrence, QApplication.focusWidget()
            self._note_for.setText(f"Note for {strip_words.named(shown)}:")
            self._refresh(shown)
            self._note.setFocus()
        elif self._note.text().strip():
            occurrence, note = self._noting, self._note.text().strip()
            self._done_noting()
            self.close_wanted.emit(occurrence, note)

    def _done_noting(self) -> None:
        """A person is done with the note: the cursor goes back to where it was before."""
        before, self._came_from = self._came_from, None
        self._leave_note()
        if before is not None and isValid(before) and before.isVisible() and before.isEnabled():
            before.setFocus()

    def _leave_note(self) -> None:
        self._noting = ""
        self._note.clear()
        self._refresh(self.shown)


def _fresh(warning: WarningView, before: WarningView | None) -> bool:
    """True if a warning has begun to wait for a person, or is raised again. before: as it was shown last."""
    if warning.state not in urgencies.UNACKNOWLEDGED:
        return False
    return before is None or before.state not in urgencies.UNACKNOWLEDGED or (
        warning.state == "raised" and before.state == "over")


def _big(text: str, tip: str, pressed: object) -> QPushButton:
    button = QPushButton(text)
    button.setProperty("part", "big")
    button.setToolTip(tip)
    button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
    button.clicked.connect(lambda: pressed())  # type: ignore[operator]
    return button
