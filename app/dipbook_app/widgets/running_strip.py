"""What is being moved right now: each running transfer or discard with how much so far and a Stop button."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import QFrame, QGridLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from dipbook.quantities import write
from dipbook.situation import RunningEntry, Situation
from dipbook_app.closed_unmeasured import NOT_KNOWN, closed_ms
from dipbook_app.display import shown_words
from dipbook_app.typed_times import clock, span_words

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

TICK_MS = 1000


class RunningLine(QFrame):
    """One running entry. Signals: stop(): the Stop button."""

    stop = Signal()

    def __init__(self, running: RunningEntry, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", "panel")
        self.running = running
        self.label = QLabel()
        self.label.setWordWrap(True)
        self.amount = QLabel()
        self.amount.setProperty("part", "strong")
        self.button = QPushButton("Stop")
        self.button.setProperty("part", "big")
        self.button.setAutoDefault(False)
        self.button.clicked.connect(self.stop)
        grid = QGridLayout(self)
        grid.addWidget(self.label, 0, 0)
        grid.addWidget(self.amount, 1, 0)
        grid.addWidget(self.button, 0, 1, 2, 1)
        grid.setColumnStretch(0, 1)

    def show_at(self, now_ms: int, situation: Situation) -> None:
        """Bring the words to ``now_ms``."""
        rig, running = situation.rig, self.running
        since = clock(running.since_ms, rig.zone, now_ms=now_ms)
        self.label.setText(f"{running.label}, since {since}")
        closed = closed_ms(running, situation) if running.rate_m3_s is None else None
        self.button.setText("Stop" if closed is None else "Give\nvolume")
        minutes = max(0.0, (now_ms - running.since_ms) / 60_000)
        lasts = span_words(now_ms - running.since_ms)
        if closed is not None:
            self.amount.setText(f"Stopped {clock(closed, rig.zone, now_ms=now_ms)}, {NOT_KNOWN}: not booked")
        elif running.rate_m3_s is None:
            self.amount.setText(f"{lasts}, amount not known")
        else:
            moved = running.rate_m3_s * minutes * 60
            volume = shown_words(write(moved, rig.units.get("volume", "m3"), decimal=rig.decimal))
            self.amount.setText(f"{volume} so far, {lasts}")


class RunningStrip(QWidget):
    """All running entries, nothing when there are none.

    desk: for the clock. Signals: stop_wanted(object): the RunningEntry whose Stop was pressed.
    """

    stop_wanted = Signal(object)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self.lines: list[RunningLine] = []
        self._situation: Situation | None = None
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._timer = QTimer(self)
        self._timer.setInterval(TICK_MS)
        self._timer.timeout.connect(self.tick)
        self.hide()

    def show_situation(self, situation: Situation) -> None:
        """Show ``situation.running``; a line stays the same widget as long as its entry runs."""
        self._situation = situation
        running = situation.running
        if [line.running.uid for line in self.lines] != [entry.uid for entry in running]:
            for line in self.lines:
                self._layout.removeWidget(line)
                line.hide()
                line.deleteLater()
            self.lines = [self._line(entry) for entry in running]
        for line, entry in zip(self.lines, running, strict=True):
            line.running = entry
        self.setVisible(bool(self.lines))
        if self.lines:
            self._timer.start()
        else:
            self._timer.stop()
        self.tick()

    def tick(self) -> None:
        """Bring every line to the desk's clock."""
        if self._situation is not None:
            now_ms = self.desk.now_ms()
            for line in self.lines:
                line.show_at(now_ms, self._situation)

    def _line(self, entry: RunningEntry) -> RunningLine:
        line = RunningLine(entry)
        line.stop.connect(lambda: self.stop_wanted.emit(line.running))
        self._layout.addWidget(line)
        return line
