"""The form of any kind of entry, made from the table of kinds; new, or a correction of one in the log."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QComboBox, QLabel, QWidget

from dipbook.entries.checks import make
from dipbook.entries.fields import MEASURES, read_fields
from dipbook.entries.kinds import FLOAT_PROVED, PIT_DRILL_END, RUNNING, Field, Kind
from dipbook.entries.plausible import beyond_dips, far_depth
from dipbook.errors import DipbookError
from dipbook.findings import Finding
from dipbook.quantities import write
from dipbook.records import Record
from dipbook_app.calculators import by_table
from dipbook_app.current import crew_of, current
from dipbook_app.display import shown_words
from dipbook_app.drafts import Drafts
from dipbook_app.forms.contents import asked_words, contents
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.forms.form import sentence
from dipbook_app.forms.prefill import SAME_TANKS_AS_LAST, choices, hints, prefilled, texts_of, written
from dipbook_app.forms.working_form import WorkingForm
from dipbook_app.typed_times import clock, far_words, read_time, span_words
from dipbook_app.unsaved import CORRECT, ENTRY, draft_name

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

TIME, END, BY, WHY = "time", "end", "by", "why"
"""Names of the fields that every form has beside the kind's own."""
PEOPLE = ("told", "seen by", "leaving", "arriving", "approved by", "decided by", "signed")
"""Fields of entries that name one of the crew."""

STARTS = "starts"
"""In the values of a transfer: the uid of the announcement that is over once it is saved."""

AS_LAST = "as last time"
"""Said of a tank that is filled in from the last entry of the kind."""

RAMP_MS = 1000
TO_BE_SIGNED = "Its record, to be signed, is made on the Drill page (Shift+F9, Ctrl+Shift+P)."
NEXT = {PIT_DRILL_END: TO_BE_SIGNED, FLOAT_PROVED: TO_BE_SIGNED}
"""What is said of the next step once an entry of a kind is saved."""


class EntryForm(WorkingForm):
    """One entry being typed.

    desk: takes the entry and says what is wrong with it. kind: from dipbook.entries.kinds.
    drafts: keeps what is typed until it is saved, or None. values: texts by field name, or payload values, that
    replace the prefilled ones (a hint's), STARTS and, for its times [UTC ms], "t_ms" and "end_ms" among them.
    corrects: the record that this entry replaces, or None for a new one. draft: the name of the draft to go on with,
    "" for the oldest.
    """

    def __init__(self, desk: Desk, kind: Kind, *, drafts: Drafts | None = None,
                 values: Mapping[str, Any] | None = None, corrects: Record | None = None, draft: str = "",
                 parent: QWidget | None = None) -> None:
        title = f"Correct: {kind.label}" if corrects else kind.label
        super().__init__(title, kind.help, drafts, parent)
        self.desk = desk
        self.kind = kind
        self.corrects = corrects
        self._rig = current(desk).rig
        self._opened_ms = desk.now_ms()
        self._asked = ""
        self._exact: dict[str, tuple[str, int]] = {}
        self._as_stored: dict[str, tuple[str, str]] = {}
        self._as_last: tuple[str, ...] = ()
        self._starts = str((values or {}).get(STARTS) or "")
        self._build()
        self._fill(values or {})
        # What is offered for a moment, or asked for by name, comes before an older draft of another, which stays.
        offered = (values or {}).get("t_ms") is not None or (not draft and self._of_another(values or {}))
        self._draft_name = draft or self._name_draft(fresh=offered)
        asked_for = {name: self.field(name).text() for name in values or {} if self._has(name)}
        self.remember(self._rig.zone, self._opened_ms, restore=not offered)
        for name, text in asked_for.items():
            if text and not self.field(name).text():  # a draft's blank says nothing against it
                self.field(name).set_text(text)
        self._show_announced()
        self.finish()
        self._ramp_timer = QTimer(self)
        self._ramp_timer.setInterval(RAMP_MS)
        self._ramp_timer.timeout.connect(self._show_ramp)
        if self._moves:
            self._ramp_timer.start()
            self._show_ramp()

    @property
    def draft_name(self) -> str:
        """The name under which this form's draft is kept."""
        return self._draft_name

    def _name_draft(self, *, fresh: bool) -> str:
        """fresh: a name without a draft; else that of the oldest draft of this kind, if there is one."""
        if self.corrects:
            return draft_name(CORRECT, self.corrects.uid)
        taken = () if self._drafts is None else self._drafts.names()
        names = [draft_name(ENTRY, self.kind.name, number) for number in range(1, len(taken) + 2)]
        return next((name for name in names if (name in taken) != fresh), names[0])

    def _of_another(self, values: Mapping[str, Any]) -> bool:
        """True if the oldest draft of this kind has another choice in a list than what was asked for."""
        kept = self._drafts.get(self._name_draft(fresh=False)) if self._drafts is not None else None
        texts = dict((kept or {}).get("texts", {}))
        return any(texts.get(row.name) not in (None, "", row.text()) for row in self.fields
                   if row.name in values and isinstance(row.editor, QComboBox))

    def save(self) -> None:
        """Hand the entry to the desk; on errors keep everything typed and say what to change, field by field."""
        self.put_away()
        self.clear_words()
        now_ms = self.desk.now_ms()
        errors: list[Finding] = []
        t_ms = self._time(TIME, now_ms, errors)
        end_ms = self._time(END, now_ms, errors) if self._has(END) and self.field(END).text() else None
        if t_ms is not None and end_ms is not None and end_ms < t_ms:
            errors.append(_error(END, "The end is before the start. Check both times."))
        author = self.field(BY).text()
        if not author:
            errors.append(_error(BY, "Who logs this? A name is needed."))
        reason = self.field(WHY).text() if self.corrects else ""
        if self.corrects and not reason:
            errors.append(_error(WHY, "Why is it corrected? A reason is needed; both stay visible."))
        if errors or t_ms is None:
            self.show_findings([*errors, *read_fields(self.kind, self.typed(), self._rig, {})[1]])
            return
        if self._ask(t_ms, end_ms, now_ms):
            return
        found = self.desk.log_entry(
            self.kind.name, self.typed(), t_ms=t_ms, end_ms=end_ms, author=author,
            supersedes=self.corrects.uid if self.corrects else None, reason=reason)
        if any(finding.severity == "error" for finding in found):
            self.show_findings(found)
            return
        self.drop_draft()
        said = f"{self.kind.label} saved {clock(t_ms, self._rig.zone, now_ms=now_ms)}."
        notes = shown_words(" ".join(sentence(finding.what) for finding in found))
        self._ramp_timer.stop()
        self.saved.emit(" ".join(words for words in (said, notes, self._over(author), NEXT.get(self.kind.name, ""))
                                 if words))

    def _over(self, author: str) -> str:
        """The announcement of what is moved now is over; words where it isn't. author: who logs it."""
        found = self.desk.moved(self._starts, author) if self._starts else ()
        return " ".join(f"Still announced: {f.what.rstrip('.')}." for f in found if f.severity == "error")

    def _show_announced(self) -> None:
        """The volume that was announced, beside the one that is known only when it is stopped."""
        notice = next((n for n in current(self.desk).notices if n.uid == self._starts), None)
        said = None if notice is None else texts_of(self.kind, notice.fields, self._rig).get("volume")
        if said:
            self.field("volume").set_hint(f"announced {shown_words(said)}")

    def _ask(self, t_ms: int, end_ms: int | None, now_ms: int) -> bool:
        """Ask once about a move that the tanks can't give or take. True if that is to be seen first."""
        draft, _ = make(self.kind.name, self.typed(), t_ms=t_ms, end_ms=end_ms, rig=self._rig, learned_ms=now_ms,
                        supersedes=self.corrects.uid if self.corrects else None, reason="corrected")
        situation = current(self.desk)
        doubts = () if draft is None else beyond_dips(draft, contents(situation, self.corrects), self._rig)
        if draft is not None and self.corrects is None and t_ms >= (situation.depth_t_ms or t_ms):
            doubts = (*doubts, *far_depth(draft.payload, situation.hole_depth_m, self._rig))
        key = "" if draft is None or not doubts else f"{t_ms} {end_ms} {sorted(self.typed().items())}"
        if not doubts or key == self._asked:
            return False
        self._asked = key
        self.show_findings(doubts, asking=asked_words(doubts))
        return True

    def start(self) -> None:
        """Put the cursor in the first field that is empty or as last time: a tank that nobody chose is looked at."""
        last = next((self.field(name) for name in self._as_last if self.field(name).note == AS_LAST), None)
        if last is None:
            super().start()
        else:
            last.focus()

    def typed(self) -> dict[str, str]:
        """Field name -> text of the kind's own fields, blanks left out. One that wasn't touched is as it was stored,
        not as it is shown."""
        own = {field.name for field in self.kind.fields}
        typed = {name: text for name, text in self.texts().items() if name in own}
        return typed | {name: stored for name, (shown, stored) in self._as_stored.items() if typed.get(name) == shown}

    def _build(self) -> None:
        self.add_calculators(self.kind.name, lambda: current(self.desk))
        now = clock(self._opened_ms, self._rig.zone)
        self.add_field(FieldRow(TIME, "Start" if self.kind.lasts else "Time"))
        self._set_exact(TIME, now, self._opened_ms)
        for field in self.kind.fields:
            label = "Flow line to" if (self.kind.name, field.name) == ("line-up", "to") else field.label
            row = self.add_field(FieldRow(field.name, label, choices(self.kind, field, self._rig)))
            if field.name in PEOPLE:
                row.offer(lambda: crew_of(self.desk))
            if field is RUNNING:
                row.set_note("done: all of it was moved. running: it goes on until you stop it.")
            if field.dimension in (*MEASURES, "percent", "minutes"):
                row.left.connect(lambda row=row, field=field: self._judge(row, field, final=True))
                row.changed.connect(lambda row=row, field=field: self._judge(row, field, final=False))
            if self.kind.name == "salt":
                row.left.connect(self._show_salt)
                row.changed.connect(self._show_salt)
        if self.kind.lasts:
            end = FieldRow(END, "End")
            end.set_hint("" if self.kind.name == "void" else "blank: an instant, or running"
                         if self._has("state") else "blank: all at once")
            self.add_field(end)
        for name in (TIME, END):
            if self._has(name):
                row = self.field(name)
                row.left.connect(lambda row=row: self._judge_time(row))
                row.changed.connect(lambda row=row: self._judge_time(row, final=False))
        if self.corrects:
            self.add_field(FieldRow(WHY, "Why corrected"))
        self.add_field(FieldRow(BY, "Logged by").offer(lambda: crew_of(self.desk)))
        if self._moves:
            self.ramp_words = QLabel()
            self.ramp_words.setProperty("part", "soft")
            self.column.addWidget(self.ramp_words)

    def _answered(self, row: FieldRow) -> None:
        """What was missing may have come in another field than the one that asked for it."""
        own = {field.name for field in self.kind.fields} - {row.name}
        if any(each.name in own for each in self._refused()):
            t_ms = self._opened_ms if (typed := self._time(TIME, self._opened_ms, [])) is None else typed
            end_ms = self._time(END, t_ms, []) if self._has(END) and self.field(END).text() else None
            _, found = make(self.kind.name, self.typed(), t_ms=t_ms, end_ms=end_ms, rig=self._rig, learned_ms=t_ms)
            wrong = {finding.column for finding in found if finding.severity == "error"}
            for each in self._refused():
                if each.name in own - wrong:
                    each.say("")
        super()._answered(row)

    def _has(self, name: str) -> bool:
        return any(row.name == name for row in self.fields)

    def _fill(self, values: Mapping[str, Any]) -> None:
        situation = current(self.desk)
        texts = {} if self.corrects else prefilled(self.kind, situation)
        if values.get("state") == "running":  # of what begins now nobody knows the tanks but who opens the valve
            texts = {name: text for name, text in texts.items() if name not in ("from", "to")}
        given = texts_of(self.kind, values, self._rig)
        if self.corrects:
            texts |= texts_of(self.kind, self.corrects.payload, self._rig)
        elif self.kind.name in SAME_TANKS_AS_LAST:
            self._as_last = tuple(name for name in ("from", "to") if texts.get(name) and name not in given)
        texts |= given
        measured = {field.name for field in self.kind.fields if field.dimension in (*MEASURES, "minutes")}
        for name, text in texts.items():
            shown = shown_words(text) if name in measured else text
            self._as_stored[name] = (shown, text)
            self.field(name).set_text(shown)
        for name in self._as_last:
            row = self.field(name)
            row.set_note(AS_LAST)
            row.changed.connect(lambda row=row: row.set_note(""))
        for name, words in hints(self.kind, situation).items():
            self.field(name).set_hint(words)
        self.field(BY).set_text(self.desk.on_watch)
        t_ms, end_ms = (self.corrects.t_ms, self.corrects.payload.get("end_ms")) if self.corrects else (
            values.get("t_ms"), values.get("end_ms"))
        for name, at_ms in ((TIME, t_ms), (END, end_ms)):
            if at_ms is not None and self._has(name):
                self._set_exact(name, clock(at_ms, self._rig.zone, now_ms=self._opened_ms), int(at_ms))

    def _set_exact(self, name: str, text: str, t_ms: int) -> None:
        """Fill a time in; as long as the text stays as it is, the exact time counts, not the whole minute."""
        self._exact[name] = (text, t_ms)
        self.field(name).set_text(text)

    def _bring_back(self, kept: Mapping[str, Any]) -> None:
        super()._bring_back(kept)
        self._exact = {name: (text, int(t)) for name, (text, t) in dict(kept.get("exact", {})).items()}
        self._starts = str(kept.get(STARTS) or "")

    def _content(self) -> dict[str, Any]:
        return {**super()._content(), "exact": {name: list(pair) for name, pair in self._exact.items()},
                STARTS: self._starts}

    def _clock_ms(self) -> int:
        return self.desk.now_ms()

    def _time(self, name: str, now_ms: int, errors: list[Finding]) -> int | None:
        text = self.field(name).text()
        exact = self._exact.get(name)
        if exact is not None and exact[0] == text:
            return exact[1]
        try:
            return read_time(text, self._rig.zone, now_ms)
        except DipbookError as error:
            errors.append(_error(name, str(error)))
            return None

    def _judge_time(self, row: FieldRow, *, final: bool = True) -> None:
        """As a time is typed: its day and age where it is of another day or long ago. final: on leaving it, what is
        wrong with it too.
        """
        row.say("")
        if not row.text():
            return
        errors: list[Finding] = []
        now_ms = self.desk.now_ms()
        t_ms = self._time(row.name, now_ms, errors)
        if t_ms is None:
            if final:
                row.say(errors[0].what, "error")
            return
        row.say(far_words(t_ms, self._rig.zone, now_ms))
        self._show_ramp()

    def _judge(self, row: FieldRow, field: Field, *, final: bool) -> None:
        """As it is typed: what the text is read as. On leaving: why it can't be read."""
        text = row.text()
        if not text:
            row.say("")
            return
        values, findings = read_fields(self.kind, {field.name: text}, self._rig, {})
        if findings:
            row.say(sentence(findings[0].what) if final else "", "error" if final else "quiet")
        elif field.dimension != "frequency":
            row.say(f"= {written(field, values.si[field.key], self._rig)}")
        self._show_ramp()

    def _value(self, name: str) -> float | None:
        typed = {name: self.field(name).text()} if self._has(name) else {}
        key = next((field.key for field in self.kind.fields if field.name == name), "")
        value = read_fields(self.kind, typed, self._rig, {})[0].si.get(key)
        return None if value is None else float(value)

    @property
    def _moves(self) -> bool:
        """True if the entry moves an amount of mud, evenly from its start to its end."""
        return self.kind.lasts and self.kind.group == "moves"

    def _worked_out(self, t_ms: int, end_ms: int | None) -> float | None:
        """The volume that follows from what is typed, by dips or by a table [m3]; None where it doesn't yet."""
        draft, _ = make(self.kind.name, self.typed(), t_ms=t_ms, end_ms=end_ms, rig=self._rig, learned_ms=t_ms)
        return None if draft is None else draft.payload.get("volume_m3")

    def _show_ramp(self) -> None:
        """How the move stands now: from the start, the end if typed, and the volume or the rate."""
        if not self._moves:
            return
        now_ms = self.desk.now_ms()
        t_ms = self._time(TIME, now_ms, [])
        end_ms = self._time(END, now_ms, []) if self.field(END).text() else None
        volume, rate = self._value("volume"), self._value("rate")
        if t_ms is None:
            self.ramp_words.setText("")
            return
        span = max(0, (end_ms or now_ms) - t_ms)
        minutes, lasts = span / 60_000, span_words(span)
        if volume is None and rate is not None:
            volume = rate * minutes * 60
        if volume is None:
            volume = self._worked_out(t_ms, end_ms)
        unit = self._rig.units.get("volume", "m3")
        until = "over" if end_ms is not None else "so far"
        if volume is None:
            self.ramp_words.setText(f"{lasts[:1].upper()}{lasts[1:]} {until}. Amount not known yet.")
        else:
            shown = shown_words(write(volume, unit, decimal=self._rig.decimal))
            self.ramp_words.setText(f"{shown} in {lasts}" if end_ms is not None or rate is not None
                                    else f"{shown} at once. With an end it is spread evenly.")

    def _show_salt(self) -> None:
        """What the salt adds, below the water that it goes into."""
        said = by_table(read_fields(self.kind, self.typed(), self._rig, {})[0].si, self._rig)
        if said:
            self.field("into").say(*said)


def _error(field: str, words: str) -> Finding:
    return Finding(words, code="field", severity="error", column=field, kept=False)
