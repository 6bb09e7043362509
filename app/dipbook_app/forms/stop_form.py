"""The end of something that is running: when it stopped, and how much went; or that how much isn't known yet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import QWidget

from dipbook.entries.checks import with_end
from dipbook.entries.plausible import beyond_dips
from dipbook.errors import DipbookError
from dipbook.findings import Finding
from dipbook.quantities import read
from dipbook.situation import RunningEntry
from dipbook_app.closed_unmeasured import closed_ms, closed_words
from dipbook_app.current import crew_of, current
from dipbook_app.display import shown_unit, shown_words
from dipbook_app.drafts import Drafts
from dipbook_app.forms.contents import asked_words, contents
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.forms.form import sentence
from dipbook_app.forms.kept_form import KeptForm
from dipbook_app.typed_times import clock, far_words, read_time
from dipbook_app.unsaved import STOP, draft_name

if TYPE_CHECKING:
    from dipbook_app.desk import Desk


HELP_RATE = "The volume may stay blank: it follows from the rate that was logged. One that is given counts instead."
HELP_NO_RATE = ("How much went isn't known by a rate. Give the volume: by the sticks, what one tank lost or the other "
                "gained. Until it is known leave it blank: that it stopped is kept as a remark, and nothing is booked.")
NOT_KNOWN = ("Not known yet? Enter again logs that it stopped {when}. It stays open and isn't booked: "
             "give its volume here once the tanks are gauged.")


class StopForm(KeptForm):
    """Stops one running entry; one without a rate whose volume isn't known stays open, with a remark of its end.

    desk: takes it; running: the entry. drafts: keeps what is typed, or None."""

    def __init__(self, desk: Desk, running: RunningEntry, *, drafts: Drafts | None = None,
                 parent: QWidget | None = None) -> None:
        super().__init__(f"Stop: {running.label}", HELP_NO_RATE if running.rate_m3_s is None else HELP_RATE, drafts,
                         parent)
        self.desk = desk
        self.running = running
        self._rig = current(desk).rig
        self._now_ms = desk.now_ms()
        self._now = clock(self._now_ms, self._rig.zone)
        self._asked = ""
        closed = closed_ms(running, current(desk))
        self._exact = {self._now: self._now_ms}
        if closed is not None:
            self._exact = {clock(closed, self._rig.zone, now_ms=self._now_ms): closed}
        self.add_field(FieldRow("end", "Stopped")).set_text(next(iter(self._exact)))
        self.add_field(FieldRow("volume", "Volume moved")).set_hint(shown_unit(self._rig.units.get("volume", "")))
        self.add_field(FieldRow("by", "Logged by").offer(lambda: crew_of(self.desk))).set_text(desk.on_watch)
        self.field("end").left.connect(self._judge_end)
        self.field("end").changed.connect(self._judge_end)
        self.remember(self._rig.zone, self._now_ms)
        self.finish()

    @property
    def draft_name(self) -> str:
        """One for each running entry."""
        return draft_name(STOP, self.running.uid)

    def _bring_back(self, kept: Mapping[str, Any]) -> None:
        super()._bring_back(kept)
        self._exact = {text: int(t) for text, t in dict(kept.get("exact", {})).items()}

    def _content(self) -> dict[str, Any]:
        return {**super()._content(), "exact": dict(self._exact)}

    def _clock_ms(self) -> int:
        return self.desk.now_ms()

    def _judge_end(self) -> None:
        """The day and the age of an end that is of another day or long ago."""
        row = self.field("end")
        try:
            end_ms = read_time(row.text(), self._rig.zone, self.desk.now_ms())
        except DipbookError:
            row.say("")
        else:
            row.say(far_words(end_ms, self._rig.zone, self.desk.now_ms()))

    def save(self) -> None:
        """Hand the end to the desk; errors go to the fields."""
        self.clear_words()
        errors: list[Finding] = []
        text, volume, author = (self.field(name).text() for name in ("end", "volume", "by"))
        end_ms = 0
        try:
            end_ms = self._exact[text] if text in self._exact else \
                read_time(text, self._rig.zone, self.desk.now_ms())
            if end_ms < self.running.since_ms:
                since = clock(self.running.since_ms, self._rig.zone, now_ms=self._now_ms)
                errors.append(_error("end", f"It was started {since}; it can't end before."))
        except DipbookError as error:
            errors.append(_error("end", str(error)))
        if volume:
            try:
                read(volume, "volume", decimal=self._rig.decimal, bare=self._rig.units.get("volume"))
            except DipbookError as error:
                errors.append(_error("volume", str(error)))
        if not author:
            errors.append(_error("by", "Who logs this? A name is needed."))
        if errors:
            self.show_findings(errors)
            return
        typed = {"volume": volume} if volume else {}
        if self._ask(end_ms, typed):
            return
        found = self.desk.stop_running(self.running.uid, end_ms=end_ms, typed=typed, author=author) or ()
        wrong = [finding for finding in found if finding.severity == "error"]
        if wrong and not volume and all(f.code == "missing" and f.column == "volume" for f in wrong):
            self._keep_open(end_ms, author)
            return
        if wrong:
            self.show_findings(found)
            return
        self.drop_draft()
        when = clock(end_ms, self._rig.zone, now_ms=self.desk.now_ms())
        self.saved.emit(" ".join([f"Stopped {when}.", *(shown_words(sentence(f.what)) for f in found)]))

    def _keep_open(self, end_ms: int, author: str) -> None:
        """It has stopped, and nobody knows how much went: asked once, then a remark says so and the entry stays open.
        """
        when = clock(end_ms, self._rig.zone, now_ms=self.desk.now_ms())
        key = f"open {end_ms}"
        if key != self._asked:
            self._asked = key
            self.words.say(NOT_KNOWN.format(when=when), "doubt")
            return
        found = self.desk.log_entry("remark", {"remark": closed_words(self.running)}, t_ms=end_ms, end_ms=None,
                                    author=author)
        if any(finding.severity == "error" for finding in found):
            self.show_findings(found)
            return
        self.drop_draft()
        self.saved.emit(f"Logged: stopped {when}, volume not known yet. Nothing is booked until it is given: stop it "
                        "again.")

    def _ask(self, end_ms: int, typed: dict[str, str]) -> bool:
        """Ask once about more than the tanks can give or take. True if that is to be seen first."""
        situation = current(self.desk)
        record = next((r for r in situation.records if r.uid == self.running.uid), None)
        draft = None if record is None else with_end(record, end_ms, typed, rig=self._rig, author="",
                                                     learned_ms=self._now_ms)[0]
        doubts = () if draft is None else beyond_dips(draft, contents(situation, record), self._rig)
        key = f"{end_ms} {typed}"
        if not doubts or key == self._asked:
            return False
        self._asked = key
        self.show_findings(doubts, asking=asked_words(doubts))
        return True


def _error(field: str, words: str) -> Finding:
    return Finding(words, code="field", severity="error", column=field, kept=False)
