"""The line at the foot of the window: the rig's clock, who is on watch, the log's health, the last round's age."""

from __future__ import annotations

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QPushButton, QSizePolicy, QWidget
from shiboken6 import isValid

from dipbook.rig.model import Person
from dipbook.situation import Situation
from dipbook_app import sentences
from dipbook_app.display import DisplayUnits
from dipbook_app.theme import Look
from dipbook_app.widgets.line_label import LineLabel
from dipbook_app.widgets.name_offer import NameOffer
from dipbook_app.widgets.said_label import SaidLabel

WRONG = "Log altered or damaged: run dipbook verify"
"""In brief; the Watch page says what was found."""
GAP = 14
FIRST_TO_STAY = ("theme", "units", "sound")
"""Which of the buttons stay longest where words take their room."""
SAID_MS = 20_000
"""For how long good news is shown [ms]; what failed stays until something else is said, or a click."""


class StatusLine(QWidget):
    """Shows the state of the watch itself. asked(name): "units", "sound" or "theme"; "unsaved" or "pit drill": the
    words on what isn't saved, or on a pit drill, were clicked.

    watch_taken(name): who is on watch from now on. back(): the cursor wants to go back to the page."""

    asked = Signal(str)
    watch_taken = Signal(str)
    back = Signal()

    def __init__(self, look: Look, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self._clock, self._watch, self._store, self._last = QLabel(), QPushButton(), LineLabel(), QLabel()
        self._watch.setToolTip("Say who is on watch  Ctrl+W. Hand over  Ctrl+Shift+W")
        self._watch.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self._watch.clicked.connect(self.ask_who)
        self._who = QLineEdit()
        self._who.setPlaceholderText("Your name")
        self._who.setAccessibleName("Who is on watch")
        self._who.setMaximumWidth(200)
        self._who.returnPressed.connect(self._take_watch)
        self._who.editingFinished.connect(self._leave_who)
        self._who.hide()
        self._crew: tuple[Person, ...] = ()
        self.offered = NameOffer(self._who, lambda: self._crew)
        self._unsaved = QPushButton()
        self._unsaved.setProperty("part", "outlined")
        self._unsaved.setToolTip("Go on with what is typed and not saved: save it, or discard it")
        self._unsaved.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self._unsaved.clicked.connect(lambda: self.asked.emit("unsaved"))
        self._unsaved.hide()
        self._pit_drill = QPushButton()
        self._pit_drill.setProperty("part", "outlined")
        self._pit_drill.setToolTip("What is logged of it. No warning is changed by it")
        self._pit_drill.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self._pit_drill.clicked.connect(lambda: self.asked.emit("pit drill"))
        self._pit_drill.hide()
        self._said = SaidLabel()
        self._before: QWidget | None = None
        self._wrong = ""
        self._nothing = True
        self._said.hide()
        self._said.read.connect(lambda: self.say(""))
        self._over = QTimer(self)
        self._over.setSingleShot(True)
        self._over.setInterval(SAID_MS)
        self._over.timeout.connect(lambda: self.say(""))
        self._store_ok = True
        self._clock.setProperty("part", "strong")
        self.setProperty("part", "status")
        row = QHBoxLayout(self)
        row.setContentsMargins(10, 1, 10, 1)
        row.setSpacing(GAP)
        for part in (self._clock, self._watch, self._pit_drill, self._last, self._unsaved):
            part.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
            row.addWidget(part)
        row.insertWidget(2, self._who)
        row.addWidget(self._store, 2)
        row.addWidget(self._said, 3)
        self._keys: dict[str, QPushButton] = {}
        for name, words, tip in (("units", "Units Ctrl+U", "Change the units on the screen"),
                                 ("sound", "Sound test F12", "Play the warning's sound once"),
                                 ("theme", "Night F11", "Day or night colours")):
            button = QPushButton(words)
            button.setToolTip(tip)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.clicked.connect(lambda _=False, chosen=name: self.asked.emit(chosen))
            self._keys[name] = button
            row.addWidget(button)
        self.set_look(look)

    def set_look(self, look: Look) -> None:
        """Take on new colours and sizes."""
        self._look = look
        self.setFixedHeight(max(look.px(24), 24) + 14)
        self._keys["theme"].setText("Day F11" if look.palette.name == "night" else "Night F11")

    def show_situation(self, s: Situation, units: DisplayUnits) -> None:
        """s: now; units: the crew's, with the rig's clock."""
        self._nothing = False
        self._crew = s.rig.crew
        if self._who.isHidden():
            self._watch.show()
        self._clock.setText(f"{units.clock(s.now_ms)}  {units.offset(s.now_ms)}  {units.date(s.now_ms)}")
        who = f"On watch: {s.on_watch}" if s.on_watch else "Nobody on watch"
        self._watch.setText(who if s.watch_on else "Watch off")
        self._last.setText(sentences.last_round(s, units))
        self._pit_drill.setText(sentences.pit_drill(s))
        self._pit_drill.setVisible(bool(self._pit_drill.text()))
        self._share_room()
        self._store_ok = s.store_ok
        self._show_store()
        words = WRONG if self._wrong and s.store_ok else s.store_text
        words = words or ("Log is being kept" if s.store_ok else "The log is NOT being kept")
        self._store.setText(words)
        _mark(self._store, "soft" if s.store_ok and not self._wrong else "bad")
        _mark(self._watch, "" if s.watch_on and s.on_watch else "bad")
        self._keys["units"].setText(f"Units: {units.unit_set or 'rig'} Ctrl+U")

    def show_unsaved(self, words: str) -> None:
        """words: on what is typed in forms and not saved, for as long as it isn't; "" for nothing."""
        if words != self._unsaved.text():
            self._unsaved.setText(words)
            self._unsaved.setVisible(bool(words))
            self._show_store()
            self._share_room()

    @property
    def unsaved(self) -> QPushButton:
        """The words on what isn't saved; hidden while there is nothing."""
        return self._unsaved

    @property
    def pit_drill(self) -> QPushButton:
        """The mark of a pit drill that is under way, or whose float isn't proved back; hidden while there is none."""
        return self._pit_drill

    def _show_store(self) -> None:
        """That the log is being kept gives way to other words; that it isn't never does."""
        wrong = not self._store_ok or bool(self._wrong)
        self._store.setVisible(wrong or not (self._said.text() or self._unsaved.text()))

    @property
    def who(self) -> QLineEdit:
        """Where the name of who is on watch is typed."""
        return self._who

    def ask_who(self) -> None:
        """Ask who is on watch, here on the line; the cursor goes back to where it was."""
        here = self.window().focusWidget()
        if here is not self._who:
            self._before = None if here is None or self.isAncestorOf(here) else here
        self._watch.hide()
        self._who.show()
        self._who.setFocus()
        self._who.selectAll()

    def _take_watch(self) -> None:
        name = self._who.text().strip()
        if name:
            self.watch_taken.emit(name)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc leaves the name as it was."""
        if event.key() == Qt.Key.Key_Escape and self._who.isVisible():
            self._leave_who()
        else:
            super().keyPressEvent(event)

    def _leave_who(self) -> None:
        if self._who.hasFocus():  # and not where it was left by going elsewhere
            if self._before is not None and isValid(self._before) and self._before.isVisible():
                self._before.setFocus()
            else:
                self.back.emit()
        self._before = None
        self._who.hide()
        self._who.clear()
        self._watch.show()

    def show_nothing(self) -> None:
        """No log is open."""
        self._nothing, self._wrong, self._crew = True, "", ()
        self.show_unsaved("")
        self._pit_drill.setText("")
        self._pit_drill.hide()
        for part in (self._clock, self._last, self._store):
            part.setText("")
        self._watch.hide()
        self._share_room()

    def say(self, words: str, *, bad: bool = False) -> None:
        """Show what was just done ("Round saved 02:15. …") or what failed."""
        self._over.stop()
        if words and not bad:
            self._over.start()
        self._said.show_words(words, bad=bad)
        self._show_store()
        self._share_room()

    def show_log_wrong(self, words: str) -> None:
        """words: what was found wrong in the log, for as long as it is open, or ""."""
        self._wrong = words
        if words:
            self._store.setText(WRONG)
            _mark(self._store, "bad")
            self._store.show()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Other room to share."""
        super().resizeEvent(event)
        self._share_room()

    def _share_room(self) -> None:
        """Long words take the room of the last round, then of the buttons, whose keys go on working and stand in the
        tool tip then: good news for a while, bad news until something else is said or they are clicked on."""
        lasting = sum(part.sizeHint().width() + GAP for part in (self._pit_drill, self._unsaved) if part.text())
        needed = lasting + (self._said.needed if self._said.text() else 0)
        keys = {name: key for name, key in self._keys.items() if not (name == "units" and self._nothing)}
        room = self.width() - 20 - sum(part.sizeHint().width() + GAP for part in (self._clock, self._watch))
        shown = set()
        for name in (*FIRST_TO_STAY, "last"):
            part = self._last if name == "last" else keys.get(name)
            if part is None or (needed and needed > room - part.sizeHint().width() - GAP):
                continue
            room -= part.sizeHint().width() + GAP
            shown.add(name)
        self._last.setVisible("last" in shown)
        for name, key in self._keys.items():
            key.setVisible(name in shown)
        self.setToolTip("  ".join(key.text() for name, key in keys.items() if name not in shown))

    def readings(self) -> tuple[str, ...]:
        """Clock, watch, last round, log, last words."""
        return tuple(p.text() for p in (self._clock, self._watch, self._last, self._store, self._said))


def _mark(label: QWidget, part: str) -> None:
    """Give a label its part in the style sheet."""
    if label.property("part") != part:
        label.setProperty("part", part)
        label.style().unpolish(label)
        label.style().polish(label)
