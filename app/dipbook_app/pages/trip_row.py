"""The row of the Trip page that is being typed: worked out as it is, asked about, saved; kept until it is."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Signal

from dipbook.errors import EntryError
from dipbook.findings import Finding
from dipbook.situation import Situation, TripRowView, TripView
from dipbook_app import trip_words
from dipbook_app.current import current
from dipbook_app.display import DisplayUnits
from dipbook_app.drafts import Drafts
from dipbook_app.forms.form import sentence
from dipbook_app.pages.trip_doubts import on_the_row
from dipbook_app.trip_words import FILL, PIPE_FILLED, REFILL, STAND
from dipbook_app.typed_times import clock, read_time
from dipbook_app.unsaved import TRIP_ROW
from dipbook_app.widgets.trip_entry import BIT, FROM, REASON, REMARK, STROKES, TIME, TripEntry
from dipbook_app.widgets.trip_entry import STAND as STAND_FIELD

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

SOURCED = (REFILL, PIPE_FILLED)
"""Rows for which mud comes from a tank."""
AGAIN = "Enter again keeps it."
NO_LEVEL = "No level: Enter again logs {} unread."
WHY = "Say why the row is corrected."
WORKED_OUT = "What it makes is worked out when it is saved. The old row stays in the log, struck through."


class TripRow(QObject):
    """desk: works the row out and stores it. drafts: keep what is typed.

    Signals: turned(): it is another kind of row now, a correction or none. up(): the sheet is wanted.
    Attributes: entry: its fields. what: of trip_words.LABELS. correcting: a saved row is being corrected.
    """

    turned = Signal()
    up = Signal()

    def __init__(self, desk: Desk, drafts: Drafts, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.desk, self.drafts = desk, drafts
        self.entry = TripEntry()
        self.what = STAND
        self._situation: Situation = current(desk)
        self._units = DisplayUnits(self._situation.rig)
        self._corrects: TripRowView | None = None
        self._held: dict[str, Any] = {}
        self._filled: dict[str, str] = {}
        self._chose_what = self._filling = False
        self._asked, self._source = "", ""
        self._began_ms: int | None = None
        self._trip_uid = ""
        self.entry.changed.connect(self._changed)
        self.entry.entered.connect(self.save)
        self.entry.up.connect(self.up)
        self.entry.left.connect(self._esc)
        self.entry.what_wanted.connect(self.take_what)

    @property
    def trip(self) -> TripView | None:
        """The trip under way, or the last one."""
        return self._situation.trip

    @property
    def correcting(self) -> bool:
        """True while a saved row is corrected."""
        return self._corrects is not None

    @property
    def taking(self) -> bool:
        """True while a row can be typed: a trip is under way, or a row is corrected."""
        return self.trip is not None and (self.trip.ended_ms is None or self.correcting)

    # --- what is shown --------------------------------------------------------------------------------------------

    def show_situation(self, situation: Situation, units: DisplayUnits) -> None:
        """What comes next is filled in where a person hasn't typed over it."""
        self._situation, self._units = situation, units
        trip = situation.trip
        if trip is None:
            return
        with self._fill_in():
            self.entry.set_tanks(trip.tanks)
            self._offer_sources()
            self.entry.show_units(units)
            if trip.uid != self._trip_uid:
                self._trip_uid = trip.uid
                self._begin(trip)
            elif not self.correcting:
                self._fill_next(trip)
        self._show()

    def take_units(self, units: DisplayUnits) -> None:
        """The screen has other units from now on."""
        filled = {name: self.entry.text(name) == text for name, text in self._filled.items()}
        with self._fill_in():
            self.entry.keep_units(self._units)
            self._units = units
            for name, untouched in filled.items():
                if untouched:
                    self._filled[name] = self.entry.text(name)
        self._keep()

    def take_what(self, what: str) -> None:
        """Make it another kind of row; what is typed stays. what: of trip_words.LABELS."""
        turned, self.what, self._chose_what = what != self.what, what, True
        with self._fill_in():
            if self.trip is not None and not self.correcting:
                self._fill_next(self.trip)
            self._offer_sources()
            if turned:
                self.entry.choose_source(self._source if what == REFILL else "")
        self._changed()
        self.turned.emit()
        self.entry.focus()

    def correct(self, row: TripRowView) -> None:
        """Put a saved row into the fields, to be corrected. What was being typed waits."""
        if not self.correcting:
            self._held = self._content() if self.in_progress else {}
        record = next((r for r in self._situation.records if r.uid == row.uid), None)
        now_ms = self._situation.now_ms
        texts = {STAND_FIELD: "" if row.stand is None else str(row.stand), BIT: self._units.depth_text(row.bit_m),
                 STROKES: "" if row.strokes is None else f"{row.strokes:g}", REMARK: row.remark,
                 TIME: clock(row.t_ms, self._situation.rig.zone, now_ms=now_ms)}
        self._corrects, self.what, self._asked = row, row.what, ""
        with self._fill_in():
            self._offer_sources()
            self.entry.fill({"texts": texts, "levels": dict(row.levels),
                             "from": "" if record is None else str(record.payload.get(FROM) or "")})
        self._filled = texts
        self._show()
        self.turned.emit()
        self.entry.focus()

    def leave(self, words: str = "") -> None:
        """Leave the correction: back to the row that was being typed. words: on what came of it."""
        self._corrects = None
        trip, held = self.trip, self._held
        self._held = {}
        if trip is not None:
            with self._fill_in():
                self._clear(trip)
                self._put(held)
        self._keep()
        self._show()
        self.turned.emit()
        if words:
            self.entry.words.say(words, "done")
        if self.taking:
            self.entry.focus()

    @property
    def in_progress(self) -> bool:
        """True if a person typed anything."""
        texts = {name: self.entry.text(name) for name in (TIME, STAND_FIELD, BIT, STROKES, REMARK, REASON)}
        return bool(self.entry.level_texts()) or any(text != self._filled.get(name, "") for name, text in texts.items())

    # --- saving ---------------------------------------------------------------------------------------------------

    def save(self) -> None:
        """Enter: save the row, or ask once about what looks odd."""
        trip = self.trip
        if trip is None or not self.taking:
            return
        typed, levels = self.entry.typed(self._units), self.entry.level_texts(self._units)
        try:
            t_ms = self._time()
        except EntryError as error:
            self._refuse(Finding(str(error), column=TIME, severity="error"))
            return
        if self._corrects is not None:
            self._save_correction(self._corrects, typed, levels, t_ms)
            return
        _, findings = self._preview(typed, levels, t_ms)
        doubts = [f.what for f in findings if f.severity == "warning"]
        unread = not levels and not typed[STROKES]
        if unread:
            doubts.append(NO_LEVEL.format("the stand" if self.what == STAND else "it"))
        wrong = any(f.severity == "error" for f in findings)
        key = "|".join([self.what, *doubts])
        if doubts and not wrong and key != self._asked:
            self._asked = key
            self.entry.words.say(" ".join(doubts if unread else [*doubts, AGAIN]), "doubt")
            return
        before = {row.uid for row in trip.rows}
        found = self.desk.save_trip_row(self.what, typed, levels, t_ms=t_ms, author="", supersedes=None, reason="")
        if self._refused(found):
            return
        self._source = typed[FROM] if self.what == REFILL else self._source
        self._situation = current(self.desk)
        with self._fill_in():
            self._clear(self.trip or trip)
        self._keep()
        self._show()
        self.entry.words.say(self._saved_words(before), "done")
        self.turned.emit()
        self.entry.focus()

    def _save_correction(self, row: TripRowView, typed: Mapping[str, str], levels: Mapping[str, str],
                         t_ms: int | None) -> None:
        reason = self.entry.text(REASON)
        if not reason:
            self._refuse(Finding(WHY, column=REASON, severity="error"))
            return
        found = self.desk.save_trip_row(self.what, typed, levels, t_ms=row.t_ms if t_ms is None else t_ms, author="",
                                        supersedes=row.uid, reason=reason)
        if not self._refused(found):
            self._situation = current(self.desk)
            self.leave("Corrected. The old row stays in the log, struck through.")

    def _refused(self, findings: tuple[Finding, ...]) -> bool:
        error = next((f for f in findings if f.severity == "error"), None)
        if error is not None:
            self._refuse(error)
        return error is not None

    def _refuse(self, error: Finding) -> None:
        """Say why it isn't saved, with the cursor where it can be put right."""
        self.entry.words.say(f"Not saved. {sentence(error.what)}", "error")
        self.entry.mark(error.column)
        if error.column:
            self.entry.focus(error.column)

    def _saved_words(self, before: Collection[str]) -> str:
        """What was saved: the row that the sheet hadn't before, and not the latest by its time. before: uids."""
        trip = self.trip
        row = next((r for r in trip.rows if r.uid not in before), None) if trip is not None else None
        return "Saved." if trip is None or row is None else trip_words.saved(row, trip, self._units)

    def _time(self) -> int | None:
        """When it was [UTC ms]; None for now. Raises EntryError."""
        text = self.entry.text(TIME)
        if not text or (self._corrects is not None and text == self._filled.get(TIME)):
            return None
        return read_time(text, self._situation.rig.zone, self.desk.now_ms())

    # --- inside ---------------------------------------------------------------------------------------------------

    def _esc(self) -> None:
        if self.correcting:
            self.leave()
        elif self.what != STAND:
            self.take_what(STAND)

    def _changed(self) -> None:
        if not self._filling:
            self._asked = ""  # what was asked was of another row
            self.entry.mark("")
            self._keep()
            self._show()

    def _show(self) -> None:
        """The kind of row, and what is known of it."""
        trip = self.trip
        if trip is None:
            return
        first = not trip.rows and self.what == FILL
        words = trip_words.FIRST if first else trip_words.LABELS[self.what]
        self.entry.show_kind(f"Correcting: {words.lower()}" if self.correcting else words, stand=self.what == STAND,
                             source=self.what in SOURCED, correcting=self.correcting)
        row, findings = self._worked_out()
        untouched = all(self.entry.text(name) == self._filled.get(name, "") for name in (STAND_FIELD, BIT))
        self.entry.show_live(trip_words.live(row, trip, self.what, self._units,
                                             untouched=untouched and not self.correcting))
        if self.correcting:
            self.entry.words.say(WORKED_OUT)
            return
        if self._asked:  # the question stays until it is answered or the row differs
            return
        wrong = [f for f in findings if f.severity == "error"]
        said = sorted(findings, key=lambda f: ("error", "warning", "note").index(f.severity))
        if said and row is None and not wrong:
            self.entry.words.say(said[0].what)
        elif said:
            tone = "error" if wrong else "doubt" if said[0].severity == "warning" else "quiet"
            self.entry.words.say(" ".join(f.what for f in (wrong or said)), tone)
        elif row is not None and row.difference_m3 is not None:
            meant = trip_words.meaning(row.difference_m3, trip.direction, self._units, row.u_m3, fine=True)
            self.entry.words.say(f"The hole {meant}. Enter saves it.")
        elif self.entry.words.tone != "done" or self.in_progress:
            self.entry.words.say(trip_words.FIRST_MEANT if first else trip_words.MEANT[self.what])

    def _worked_out(self) -> tuple[TripRowView | None, tuple[Finding, ...]]:
        """The row by the desk, from the first figure on; a correction's is worked out when it is saved."""
        typed, levels = self.entry.typed(self._units), self.entry.level_texts(self._units)
        if self.correcting or not self.taking or not (levels or typed[STROKES]):
            return None, ()
        try:
            t_ms = self._time()
        except EntryError as error:
            return None, (Finding(str(error), column=TIME, severity="error"),)
        return self._preview(typed, levels, t_ms)

    def _preview(self, typed: Mapping[str, str], levels: Mapping[str, str], t_ms: int | None
                 ) -> tuple[TripRowView | None, tuple[Finding, ...]]:
        """The row by the desk, and what is said of it."""
        row, found = self.desk.trip_preview(self.what, typed, levels, t_ms=t_ms)
        return row, on_the_row(found, row, self.what, self._units)

    def _offer_sources(self) -> None:
        """The tanks that mud may come from; into the pipe it may come from the trip tank itself, and does unless said.
        """
        trip = self.trip
        if trip is not None:
            self.entry.set_sources([t.name for t in self._situation.rig.tanks if t.name not in trip.tanks],
                                   own=self.what == PIPE_FILLED)

    def _fill_next(self, trip: TripView) -> None:
        """The next stand and depth, where nobody typed over the last ones."""
        if not self._chose_what and not self.entry.level_texts():
            self.what = trip.next_what
        bit = trip.next_bit_m if self.what == STAND else next(
            (r.bit_m for r in reversed(trip.rows) if r.bit_m is not None), None)
        fresh = {STAND_FIELD: "" if trip.next_stand is None or self.what != STAND else str(trip.next_stand),
                 BIT: self._units.depth_text(bit)}
        for name, text in fresh.items():
            if self.entry.text(name) == self._filled.get(name, ""):
                self.entry.lines[name].setText(text)
                self._filled[name] = text

    def _clear(self, trip: TripView) -> None:
        self._asked, self._chose_what, self._filled, self._began_ms = "", False, {}, None
        self._offer_sources()
        self.entry.fill({})
        self.entry.mark("")
        self._fill_next(trip)

    # --- the draft ------------------------------------------------------------------------------------------------

    def _begin(self, trip: TripView) -> None:
        """A trip is shown for the first time: bring back what was typed in it."""
        self._corrects, self._held = None, {}
        kept = self.drafts.get(TRIP_ROW) or {}
        self._clear(trip)
        if kept.get("trip") != trip.uid:
            return
        row = next((r for r in trip.rows if r.uid == kept.get("corrects")), None)
        self._began_ms = int(kept.get("began_ms", 0)) or None
        if row is not None:
            self.correct(row)
            self._held = dict(kept.get("held", {}))
        self._put(dict(kept.get("row", {})))

    def _put(self, content: Mapping[str, Any]) -> None:
        """Put what was typed over what was filled in."""
        if not content:
            return
        what = str(content.get("what", STAND))
        self.what, self._chose_what = what if what in trip_words.LABELS else STAND, True
        if self.trip is not None and not self.correcting:
            self._fill_next(self.trip)
        self._offer_sources()
        self.entry.fill(content)

    def _content(self) -> dict[str, Any]:
        return {"what": self.what, **self.entry.content()}

    def _keep(self) -> None:
        """Keep what is typed, while anything is."""
        if not self.in_progress and not self._held:
            self._began_ms = None
            self.drafts.drop(TRIP_ROW)
            return
        self._began_ms = self._began_ms or self.desk.now_ms()
        self.drafts.put(TRIP_ROW, {
            "trip": self._trip_uid, "began_ms": self._began_ms, "row": self._content(), "held": self._held,
            "corrects": self._corrects.uid if self._corrects is not None else "",
            "label": "The correction of a trip's row" if self.correcting else "A row of the trip"})

    @contextmanager
    def _fill_in(self) -> Iterator[None]:
        """While the program fills fields in: that is not the person's typing."""
        outer, self._filling = self._filling, True
        try:
            yield
        finally:
            self._filling = outer
