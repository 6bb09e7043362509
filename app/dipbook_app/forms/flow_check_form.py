"""A flow check by the clock: started now, a volume each minute, what was seen at the end."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QTimer
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from dipbook.entries.checks import make
from dipbook.entries.fields import read_fields
from dipbook.entries.kinds import BY_NAME
from dipbook.findings import Finding
from dipbook_app.current import current
from dipbook_app.display import shown_unit
from dipbook_app.drafts import Drafts
from dipbook_app.forms.contents import asked_words
from dipbook_app.forms.entry_form import END, TIME, EntryForm
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.forms.form import sentence
from dipbook_app.typed_times import clock
from dipbook_app.widgets.check_clock import CheckClock

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

KIND = BY_NAME["flow check"]
MINUTE_MS, TICK_MS = 60_000, 500
NOT_READ = "-"
DRAIN_BACK = ("After the pumps stop the lines drain back: that dies away. A flow that doesn't is a sign. If in doubt, "
              "act as the rig's own procedures say.")
PUMPS_ON = "The log says that the pumps are on. Log them off: F7."


class FlowCheckForm(EntryForm):
    """The entry of a flow check, with a clock that runs from its start.

    Enter in the minute's field keeps that minute's volume; a minute that passes without one stays "-", and can be
    filled in afterwards in the readings. Trend and result are the person's; the form never says that a well is static.
    The end is when it is saved, unless one is typed.
    """

    def __init__(self, desk: Desk, *, drafts: Drafts | None = None, values: Mapping[str, Any] | None = None,
                 parent: QWidget | None = None) -> None:
        super().__init__(desk, KIND, drafts=drafts, values=values, parent=parent)
        self._asked_flow = ""
        self._left_out = ""
        self.clock = CheckClock()
        self.minute = FieldRow("minute", "")
        self.minute.editor.setAccessibleName("Volume of the minute")
        self.minute.entered.connect(self.keep_minute)
        self.minute.changed.connect(lambda: self.minute.say(""))
        self.minute.moved.connect(lambda step: self.fields[0].focus() if step > 0 else None)
        self.said = QLabel(DRAIN_BACK)
        self.said.setWordWrap(True)
        self.said.setProperty("part", "small")
        self.pumps = QLabel(PUMPS_ON)
        self.pumps.setWordWrap(True)
        self.pumps.setProperty("part", "outlined")
        self.pumps.hide()
        layout = self.layout()
        if isinstance(layout, QVBoxLayout):
            for place, part in enumerate((self.clock, self.minute, self.pumps)):
                layout.insertWidget(2 + place, part)
        self.column.insertWidget(0, self.said)  # in a low window it is scrolled with the fields, and cuts no figure
        self.help.hide()
        self.say_save("Finish")
        self.field(END).set_hint("now, when it is finished")
        self.field("readings").changed.connect(self._show_minutes)
        self._ticking = QTimer(self)
        self._ticking.setInterval(TICK_MS)
        self._ticking.timeout.connect(self.tick)
        desk.situation_changed.connect(self._show_pumps)
        self._show_minutes()
        self._show_pumps()
        self.tick()

    def start(self) -> None:
        """Put the cursor where the minute's volume is typed; the start is kept from now on."""
        self._keep()
        self.minute.focus()

    def _worth_keeping(self) -> bool:
        """Once begun, its start is worth keeping by itself."""
        return True

    def showEvent(self, event: QShowEvent) -> None:
        """The clock is looked at."""
        super().showEvent(event)
        self._ticking.start()

    def hideEvent(self, event: QHideEvent) -> None:
        """Nobody looks: the time goes on by itself."""
        super().hideEvent(event)
        self._ticking.stop()

    def tick(self) -> None:
        """Show how long it has run, and which minute is asked for."""
        since = self._since_ms()
        self.clock.show_time(since or 0)
        unit = shown_unit(self._rig.units.get("volume", "m3"))
        self.minute.label.setText(f"Minute {self._asked_minute()}, {unit}")

    def keep_minute(self) -> None:
        """Take the volume that is typed as the asked minute's."""
        text = self.minute.text()
        if not text:
            return
        values, findings = read_fields(KIND, {"readings": text}, self._rig, {})
        read = values.si.get("readings_m3")
        if findings:
            self.minute.say(sentence(findings[0].what), "error")
        elif read is None or len(read) != 1 or any(c.isalpha() for c in text):
            self.minute.say(f"One number, in {shown_unit(self._rig.units.get('volume', 'm3'))}.", "error")
        elif self._asked_minute() > self._minutes_over() + 1:
            self.minute.say(f"Minute {self._asked_minute()} isn't over yet.", "error")
        else:
            pieces = self._pieces()
            pieces += [NOT_READ] * (self._asked_minute() - 1 - len(pieces))
            self.field("readings").set_text("; ".join([*pieces, text]))
            self.minute.set_text("")
            self.minute.say("")
            self.tick()

    def save(self) -> None:
        """Finish now, unless an end is typed. Minutes that weren't read since the last reading are marked as such."""
        if self._minute_waits():
            return
        ended_now = not self.field(END).text()
        if ended_now:
            now_ms = self.desk.now_ms()
            self._set_exact(END, clock(now_ms, self._rig.zone, now_ms=now_ms), now_ms)
            pieces = self._pieces()
            if pieces and len(pieces) < self._minutes_over():
                pieces += [NOT_READ] * (self._minutes_over() - len(pieces))
                self.field("readings").set_text("; ".join(pieces))
        finished: list[str] = []
        self.saved.connect(finished.append)
        super().save()
        self.saved.disconnect(finished.append)
        if ended_now and not finished:     # it runs on, and what was said of saving it stands
            said, told = (self.words.said, self.words.tone), self._told
            self.field(END).set_text("")
            self.words.say(*said)
            self._told = told

    def _minute_waits(self) -> bool:
        """Take a volume that is still in the minute's field, or ask once about one that can't be taken."""
        if not self.minute.text() or self.minute.text() == self._left_out:
            return False
        self.keep_minute()
        self._left_out = self.minute.text()
        if self._left_out:
            self.minute.focus()
            self.words.say(f"Not saved yet. {self._left_out} isn't kept: {self.minute.words.said} Finish again to "
                           "leave it out.", "doubt")
        return bool(self._left_out)

    def _ask(self, t_ms: int, end_ms: int | None, now_ms: int) -> bool:
        """Ask once about what is odd. The end moves on between two presses and isn't part of the question."""
        _, findings = make(KIND.name, self.typed(), t_ms=t_ms, end_ms=end_ms, rig=self._rig, learned_ms=now_ms)
        doubts = tuple(f for f in findings if f.severity == "warning")
        key = str(sorted((f.code, f.column) for f in doubts)) if doubts else ""
        if any(f.severity == "error" for f in findings) or not doubts or key == self._asked_flow:
            return False
        self._asked_flow = key
        self.show_findings(doubts, asking=asked_words(doubts))
        return True

    def _since_ms(self) -> int | None:
        errors: list[Finding] = []
        t_ms = self._time(TIME, self.desk.now_ms(), errors)
        return None if t_ms is None else self.desk.now_ms() - t_ms

    def _minutes_over(self) -> int:
        """How many whole minutes have passed."""
        return max(0, (self._since_ms() or 0) // MINUTE_MS)

    def _asked_minute(self) -> int:
        """The minute whose volume is asked for: the one that has just passed, or the next after the last that was read.
        """
        return max(1, self._minutes_over(), len(self._pieces()) + 1)

    def _pieces(self) -> list[str]:
        """The minutes as typed; a list that can't be read is left alone and counts as none."""
        text = self.field("readings").text()
        return [piece.strip() for piece in text.split(";")] if text else []

    def _show_minutes(self) -> None:
        values, _ = read_fields(KIND, {"readings": self.field("readings").text()}, self._rig, {})
        self.clock.show_minutes(values.si.get("readings_m3") or ())

    def _show_pumps(self, *_: Any) -> None:
        self.pumps.setVisible(current(self.desk).pumps_on is True)
