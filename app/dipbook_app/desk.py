"""The desk: owns the log, the books, the watch and the clock; the one that writes. Pages get its situations.

Entries are stored, then said to be saved. Warnings are shown and sounded first, then stored: a failing disk is a
warning of its own and silences none.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal

from dipbook import composing, importing, long_log, pit_drills, watch
from dipbook.books import Books, learn
from dipbook.checking import units_of
from dipbook.entries import checks
from dipbook.entries.kinds import HANDOVER
from dipbook.errors import DipbookError, ImportFileError, StoreError
from dipbook.exchange.times import clock as clock_time
from dipbook.exchange.times import offset_min
from dipbook.findings import Finding
from dipbook.limits import Limit
from dipbook.parts import Figure, Parts
from dipbook.records import RIG, ROUND, UNWATCHED, WARNING, Dip, Draft, Record
from dipbook.reports import HandoverView, Stretch, handover_view, stretches
from dipbook.rig import adopting, document
from dipbook.rig.changes import difference_in_words
from dipbook.rig.stepwise import one_by_one
from dipbook.situation import AsideView, Situation, TripRowView, WarningView
from dipbook.situation_of_warnings import WarningStory, WatchedMap
from dipbook.store import Store
from dipbook.weighing import Weighed, weigh
from dipbook_app import alive, clock_behind, desk_calls, desk_trips, door, learning, log_books
from dipbook_app.clock import Clock
from dipbook_app.file_words import added_words
from dipbook_app.journal import gap_draft, rig_payload, warning_draft
from dipbook_app.log_books import LogBooks
from dipbook_app.unsaved_rounds import UnsavedRounds
from dipbook_app.writer import Writer

PAINT_MS = 250
"""A new situation is shown at most this often, except that a change of a warning is shown at once."""
TICK_MS = 1_000
ALIVE_MS = 15_000
"""How often the desk notes beside the log that it is running: after a crash, nobody watched since then."""
GAP_MS = 30_000
"""A shorter absence isn't recorded as not watched."""
TOO_LONG_AGO = ("Saved, and the figures of now count with it. What it changes is more than two days ago: hours so "
                "long ago are not judged anew by the watch. Look at them on the Review page.")
LOG, BESIDE = "log", "beside"
"""What can't be written: the log, or the note beside it."""

NOBODY = "nobody named"
"""Who acknowledged, where nobody has taken the watch: an acknowledgement is never held up by a form."""


class Desk(QObject):
    """See the module. ``close`` it.

    Signals: warned(Situation): warnings have changed, and the rest of it is as it was before, for who shows and sounds
    them first; situation_changed(Situation), after it, with all that is new; said(str): what was done, for the status
    line; failed(str): what wasn't and why; handed_over(str): who has the watch by the last handover. Properties:
    situation, store, on_watch, drafts_path, sounding. unreadable: how many of the log's warnings this version can't
    read.
    """

    warned = Signal(object)
    situation_changed = Signal(object)
    said = Signal(str)
    failed = Signal(str)
    handed_over = Signal(str)

    def __init__(self, store: Store, clock: Clock, parent: QObject | None = None, *, ticking: bool = True) -> None:
        """store: open for writing, holding a rig. clock: the desk's. ticking: False for a test that ticks by hand.

        Raises DipbookError (no rig in the log, or it can't be read); the store is then still open.
        """
        super().__init__(parent)
        self._store = store
        self._clock = clock
        self._failures: dict[str, str] = {}
        self._units: Mapping[str, tuple[str, int]] | None = None
        self._unsaved = UnsavedRounds()
        self._alive_written = 0
        self._closed = False
        self._books: Books = log_books.opened(store)
        self._begin_clock()
        self._told_ms = clock.now_ms()
        self._seen: composing.Seen = composing.seen(self._books)
        self._situation: Situation
        self._on_watch = ""
        self._writer = Writer(store.append, self)
        self._writer.stored.connect(self._on_stored)
        self._writer.failed.connect(self._on_store_failed)
        self._paint = QTimer(self)
        self._paint.setSingleShot(True)
        self._paint.setInterval(PAINT_MS)
        self._paint.timeout.connect(self._show)
        self._look = QTimer(self)
        self._look.setSingleShot(True)
        self._look.setInterval(PAINT_MS)
        self._look.timeout.connect(self._look_at_gauges)
        self.unreadable = composing.journal(self._books.records)[1]
        self._watch = watch.start()
        self._resume(self._books.records)
        self._tick = QTimer(self)
        self._tick.setInterval(TICK_MS)
        self._tick.timeout.connect(self.tick)
        if ticking:
            self._tick.start()

    # --- what others read ---------------------------------------------------------------------------------------

    @property
    def situation(self) -> Situation:
        """The newest situation."""
        return self._situation

    @property
    def store(self) -> Store:
        """The log."""
        return self._store

    @property
    def on_watch(self) -> str:
        """Who is on watch: who took it, "" until somebody does. Who made an entry took no watch by it."""
        return self._on_watch

    @property
    def drafts_path(self) -> Path:
        """Where drafts are kept, beside the log."""
        return self._store.path.with_name(self._store.path.name + ".drafts.json")

    @property
    def sounding(self) -> bool:
        """True while a warning wants to be heard."""
        now = self.now_ms()
        return watch.sounding(self._watch, now) or any(w.sounding for w in self._unsaved.views(now))

    def now_ms(self) -> int:
        """The desk's clock [UTC ms]."""
        return self._clock.now_ms()

    def parts_of(self, figure: Figure) -> Parts | None:
        """What a figure rests on, worked out now; None where the log has no such figure. figure: of a page."""
        return composing.parts_of(self._books, figure, self.now_ms(), self._symbols())

    def warning_story(self, occurrence: str) -> WarningStory | None:
        """What is known of an open warning, worked out now; None where there is none. occurrence: the warning's."""
        return composing.warning_story(self._books, self._watch, self._situation, occurrence)

    def standing(self) -> HandoverView:
        """What is handed over now, worked out now."""
        return handover_view(self._books, self.now_ms(), self._books.rig.units,
                             open_now={w.occurrence: w.text for w in self._situation.warnings})

    def watched_map(self) -> WatchedMap:
        """What is watched now, and what isn't, worked out now."""
        return composing.watched_map(self._books, self._watch, self._situation)

    def weighing(self, limit: Limit, rates_m3_s: tuple[float, ...]) -> Callable[[], Weighed]:
        """The work of weighing a limit on the quiet hours of the log as it stands now, for any thread: see
        ``dipbook.weighing.weigh``. limit: in force or not; rates_m3_s: to try [m3/s]."""
        return partial(weigh, self._books, limit, rates_m3_s)

    def held(self) -> importing.Held | None:
        """What gives a span's samples where the situation's records lack some; None where they have all."""
        return LogBooks(self._books, self._store).held()

    def stretches(self, kind: str) -> tuple[Stretch, ...]:
        """The trips or the hole sections of the log, by time. kind: see ``dipbook.reports.stretches``."""
        return stretches(self._books, kind, self.now_ms())

    def books_apart(self) -> LogBooks:
        """The books as they stand now, for work on another thread."""
        return LogBooks(self._books.apart(), self._store)

    def set_on_watch(self, name: str) -> None:
        """Who is on watch from now on; it goes with the next record."""
        self._on_watch = name.strip()
        self._show()

    def set_units(self, units: Mapping[str, tuple[str, int]] | None) -> None:
        """Units for texts: quantity -> (symbol, digits); None for the rig's own."""
        self._units = units
        self._show()

    # --- what the crew does -------------------------------------------------------------------------------------

    def save_round(self, dips: Sequence[Dip], *, start_ms: int, end_ms: int, observer: str, author: str,
                   remark: str = "", supersedes: str | None = None, reason: str = "") -> bool:
        """Store one round. dips: at least one. start_ms, end_ms: of the gauging [UTC ms]. True if it was stored."""
        problem = door.round_problem(self._books, dips, start_ms=start_ms, end_ms=end_ms, supersedes=supersedes,
                                     reason=reason, now_ms=self.now_ms())
        if problem:
            self.failed.emit(problem)
            return False
        whole = self._books.line.active_at(end_ms) <= {d.tank for d in dips}
        payload = {"observer": observer, "start_ms": start_ms, "end_ms": end_ms, "remark": remark, "complete": whole}
        records = self._append([self._draft(ROUND, max(d.t_ms for d in dips), payload, author, dips=tuple(dips),
                                            supersedes=supersedes, reason=reason)])
        if records is None:
            return False
        self._learned(records, cause="" if not supersedes else "a round was corrected")
        unit = self._units["volume"][0] if self._units else self._books.rig.units.get("volume", "m3")
        self.said.emit(door.round_words(self._situation, end_ms, unit))
        return True

    def trip_preview(self, what: str, typed: Mapping[str, str], levels: Mapping[str, str], *, t_ms: int | None = None,
                     supersedes: str | None = None) -> tuple[TripRowView | None, tuple[Finding, ...]]:
        """What a row of the trip's sheet comes to, as it is typed; nothing is stored. what: of trips.sheet.KINDS.
        typed, levels: texts, see ``save_trip_row``. t_ms: None for now [UTC ms]. supersedes: uid of the row corrected.
        """
        row = desk_trips.Typed(what, typed, levels, self.now_ms() if t_ms is None else t_ms, supersedes, "typing")
        draft, findings = desk_trips.draft(self._books, row, author="", now_ms=self.now_ms(), units=self._symbols())
        return (None if draft is None else desk_trips.preview(self._books, draft, supersedes)), findings

    def save_trip_row(self, what: str, typed: Mapping[str, str], levels: Mapping[str, str], *,
                      t_ms: int | None = None, author: str = "", supersedes: str | None = None, reason: str = "",
                      ) -> tuple[Finding, ...]:
        """Store a row of the trip's sheet. what: of trips.sheet.KINDS. typed: "stand", "bit depth", "strokes", "from",
        "remark" -> text. levels: tank -> what its stick says. t_ms: None for now [UTC ms]. author: "" for who is on
        watch. supersedes: uid of the row that it corrects, then with a reason. No error among the findings: stored.
        """
        row = desk_trips.Typed(what, typed, levels, self.now_ms() if t_ms is None else t_ms, supersedes, reason)
        draft, findings = desk_trips.draft(self._books, row, author=self._by(author), now_ms=self.now_ms(),
                                           units=self._symbols())
        return self._store_entry(draft, findings, f"Saved: {what} at {clock_time(row.t_ms, self._books.rig.zone)}.")

    def _symbols(self) -> dict[str, str]:
        """Dimension -> symbol that the screen shows."""
        return {k: symbol for k, (symbol, _) in (self._units or {}).items()}

    def log_entry(self, kind: str, typed: Mapping[str, str], *, t_ms: int | None = None, end_ms: int | None = None,
                  author: str = "", supersedes: str | None = None, reason: str = "") -> tuple[Finding, ...]:
        """Store one entry. typed: field name -> as typed; t_ms: None for now [UTC ms]; author: "" for who is on watch.

        No error among the findings means that it was stored.
        """
        t_ms = self.now_ms() if t_ms is None else t_ms
        zone = self._books.rig.zone
        draft, findings = checks.make(kind, typed, t_ms=t_ms, end_ms=end_ms, rig=self._books.rig_at(t_ms),
                                      author=self._by(author), learned_ms=self.now_ms(), supersedes=supersedes,
                                      reason=reason, offset_min=offset_min(t_ms, zone))
        findings = (*findings, *door.ahead(t_ms, "time", self.now_ms()), *door.ahead(end_ms, "end", self.now_ms()),
                    *door.gone(self._books, supersedes), *desk_trips.doubts(self._books, draft),
                    *pit_drills.doubts(self._books.eff.records, draft))
        found = self._store_entry(draft, findings, f"Saved: {kind} at {clock_time(t_ms, zone)}.")
        if draft is not None and kind == HANDOVER and not any(f.severity == "error" for f in found):
            last = max((r for r in self._books.eff.records if r.kind == HANDOVER), key=lambda r: (r.t_ms, r.seq))
            self.handed_over.emit(str(last.payload.get("arriving") or ""))
        return found

    def stop_running(self, uid: str, *, end_ms: int, typed: Mapping[str, str], author: str) -> tuple[Finding, ...]:
        """Stop a running transfer or discard. uid: of its record. end_ms: when [UTC ms]. typed: volume or rate."""
        record = next((r for r in self._books.records if r.uid == uid), None)
        gone = door.gone(self._books, uid)
        if record is None or gone:
            return gone or (Finding("There is no such entry.", code="gone", severity="error", kept=False),)
        draft, findings = checks.with_end(record, end_ms, typed, rig=self._books.rig, author=self._by(author),
                                          learned_ms=self.now_ms())
        return self._store_entry(draft, (*findings, *door.ahead(end_ms, "end", self.now_ms())),
                                 f"Stopped: {record.kind} at {clock_time(end_ms, self._books.rig.zone)}.")

    def void(self, uid: str, *, author: str, reason: str) -> tuple[Finding, ...]:
        """Strike out a record; it stays visible. uid: of the record. reason: why, needed."""
        record = next((r for r in self._books.records if r.uid == uid), None)
        if record is None or record.kind in (WARNING, RIG, UNWATCHED):
            return (Finding("This record can't be struck out.", code="not_strikable", severity="error", kept=False),)
        draft, findings = checks.strike(record, author=self._by(author), learned_ms=self.now_ms(), reason=reason)
        findings = (*findings, *door.gone(self._books, uid))
        return self._store_entry(draft, findings, "Struck out. It stays visible in the log.")

    def answer(self, uid: str, answer: str, author: str) -> tuple[Finding, ...]:
        """Log the answer to a call. uid: of its record; answer: in words, needed; author: "" for who is on watch."""
        return self._replace_call(uid, lambda r, at: desk_calls.answered(r, at, answer), author, "Saved: the answer.")

    def call_off(self, uid: str, why: str, author: str) -> tuple[Finding, ...]:
        """Mud that was announced isn't moved. why: in words, "" for none. uid, author: as in ``answer``."""
        return self._replace_call(uid, lambda r, at: desk_calls.called_off(r, at, why), author, "Called off.")

    def moved(self, uid: str, author: str) -> tuple[Finding, ...]:
        """Mud that was announced is being moved: its transfer is logged. uid, author: as in ``answer``."""
        return self._replace_call(uid, desk_calls.moved, author, "Started: no longer announced.")

    def _replace_call(self, uid: str, make: Callable[[Record, desk_calls.At], checks.Outcome], author: str,
                      words: str) -> tuple[Finding, ...]:
        record, gone = desk_calls.find(self._books.records, uid), door.gone(self._books, uid)
        if record is None or gone:
            return gone or (Finding("There is no such entry.", code="gone", severity="error", kept=False),)
        at = desk_calls.At(self._books.rig_at(record.t_ms), self._by(author), self.now_ms())
        return self._store_entry(*make(record, at), words)

    def _store_entry(self, draft: Draft | None, findings: tuple[Finding, ...], words: str) -> tuple[Finding, ...]:
        if draft is None or any(f.severity == "error" for f in findings):
            return findings
        records = self._append([draft])
        if records is None:
            return (*findings, self._not_stored())
        what, did = ("a record", "struck out") if draft.kind == "void" else \
            (draft.kind, "corrected" if draft.supersedes else "logged")
        self._learned(records, cause=f"{what} {did}")
        self.said.emit(words)
        return findings

    def set_limits(self, limits: Sequence[Limit], *, author: str, reason: str, each: bool = False,
                   ) -> tuple[Finding, ...]:
        """Put a new set of limits in force: a change of the rig, from now on. author, reason: needed. each: a record
        for every limit that changes, all of them or none; else one for the whole."""
        return self._change_rig(lambda text: one_by_one(text, tuple(limits)) if each else
                                (document.with_limits(text, tuple(limits)),), author, reason)

    def adopt_rig(self, text: str, *, author: str, reason: str, effective: str = "change") -> tuple[Finding, ...]:
        """Adopt a rig file's text. author, reason: needed. effective: "change": so from now on; "correction": it was
        always so, as far back as the description that is in force (its limits aside): the past is worked out anew.
        """
        return self._change_rig(lambda _: (text,), author, reason, correction=effective == "correction")

    def _change_rig(self, change: Callable[[str], tuple[str, ...]], author: str, reason: str, *,
                    correction: bool = False) -> tuple[Finding, ...]:
        """change: of the text in force, to the texts to adopt, one after the other."""
        missing = tuple(Finding("Say who and why.", severity="error", column=name, kept=False)
                        for name, value in (("author", author), ("reason", reason)) if not value.strip())
        if missing:
            return missing
        in_force = [r for r in self._books.eff.records if r.kind == RIG]
        before = str(in_force[-1].payload["text"])
        texts: Sequence[tuple[Record | None, str, str]] = ()
        try:
            changed = change(before) or (before,)
            doc = document.parse(changed[-1], "rig")
            texts = [(old, str(old.payload["text"]), text) for old, text in adopting.corrected(in_force, changed[-1])] \
                if correction else [(None, *pair) for pair in zip((before, *changed), changed, strict=False)]
        except DipbookError as error:
            return (Finding(str(error), code="rig", severity="error", kept=False),)
        if not correction and not difference_in_words(self._books.rig, doc.rig):
            return (Finding("Nothing changed.", code="same", severity="error", kept=False),)
        effective, now = ("correction" if correction else "change"), self.now_ms()
        records = self._append([
            self._draft(RIG, now if old is None else old.t_ms, rig_payload(was, text, effective), author,
                        reason=reason.strip(), supersedes=None if old is None else old.uid)
            for old, was, text in texts])
        if records is None:
            return (self._not_stored(),)
        self._learned(records, cause=f"the rig or its limits {'were corrected' if correction else 'changed'}")
        self.said.emit("Saved: the rig's description was corrected; the past was worked out anew." if correction
                       else "Saved: limits and rig as of now.")
        return doc.findings

    def acknowledge(self, occurrence: str, by: str = "", note: str = "") -> str:
        """Acknowledge a warning: it stops sounding and stays open. by: "" for who is on watch. note: in words, or "".
        Returns why that was refused, or ""."""
        if self._unsaved.has(occurrence):
            self._unsaved.acknowledge(occurrence, self._by(by) or NOBODY)
            self._show()
            return ""
        return self._act(watch.Act("acknowledge", occurrence, by=self._by(by) or NOBODY, note=note,
                                   at_ms=self.now_ms()))

    def close_warning(self, occurrence: str, note: str, by: str = "") -> str:
        """Close a warning that is over and acknowledged. note: what it was. by: "" for who is on watch; refused where
        there is neither. Returns why that was refused, or ""."""
        if not self._by(by):
            words = "Not closed: say who is on watch first (Ctrl+W), then close it again."
            self.failed.emit(words)
            return words
        if self._unsaved.has(occurrence):
            self._unsaved.give_up(occurrence)
            self._show()
            self.said.emit("Given up: nothing of that round is in the log.")
            return ""
        return self._act(watch.Act("close", occurrence, by=self._by(by), note=note, at_ms=self.now_ms()))

    def silence(self) -> None:
        """Silence the sound alone for 30 s."""
        self._unsaved.silence(self.now_ms())
        self._act(watch.Act("silence", by=self._on_watch, at_ms=self.now_ms()))

    def set_aside(self, act: watch.Act) -> str:
        """Set a limit aside, or take it up again. act: without its time. Returns why that was refused, or ""."""
        try:
            self._step(replace(act, at_ms=self.now_ms()))
        except DipbookError as error:
            return str(error)
        return ""

    def _act(self, act: watch.Act) -> str:
        try:
            self._step(act)
        except DipbookError as error:
            self.failed.emit(str(error))
            return str(error)
        return ""

    def import_files(self, readings: Path | None, entries: Path | None, *, author: str = "") -> tuple[Finding, ...]:
        """Add a readings file and an entries file, all or nothing. The same file twice adds nothing."""
        try:
            file, log = (None if path is None else importing.load(path) for path in (readings, entries))
        except ImportFileError as error:
            return self._refuse((Finding(str(error), code="unreadable", severity="error", kept=False),))
        return self.add(importing.read(file, log, self._books.rig, self._books.records, now_ms=self.now_ms(),
                                       author=self._by(author), held=self.held()))

    def add(self, files: importing.Importable) -> tuple[Finding, ...]:
        """Add what was read from files, all or nothing. No error among the findings means that it is in the log."""
        drafts, changed = importing.still_stands(files, self._books.records)
        findings = (*files.findings, *changed)
        if any(f.severity == "error" for f in findings):
            return self._refuse(findings)
        if not drafts:
            self.said.emit(importing.NOTHING_NEW)
            return findings
        records = self._append(drafts)
        if records is None:
            return (*findings, self._not_stored())
        self._learned(records, cause="import", batch=True)
        self.said.emit(added_words(files, records))
        return findings

    def _refuse(self, findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
        wrong = next(f for f in findings if f.severity == "error")
        self.failed.emit("Nothing was added. " + (f"{wrong.where}: {wrong.what}" if wrong.where else wrong.what))
        return findings

    # --- inside -------------------------------------------------------------------------------------------------

    def _by(self, author: str) -> str:
        return author.strip() or self._on_watch

    def _draft(self, kind: str, t_ms: int, payload: Mapping[str, object], author: str, *, dips: tuple[Dip, ...] = (),
               supersedes: str | None = None, reason: str = "") -> Draft:
        return Draft(kind, t_ms, self.now_ms(), author=self._by(author), payload=payload, dips=dips,
                     supersedes=supersedes, reason=reason, offset_min=offset_min(t_ms, self._books.rig.zone))

    def _append(self, drafts: Sequence[Draft]) -> tuple[Record, ...] | None:
        try:
            records = self._store.append(drafts)
        except StoreError as error:
            self._on_store_failed(str(error))
            if len(drafts) == 1 and drafts[0].dips:
                self._unsaved.judge(drafts[0], self._books, self._watch, self.now_ms(), self._for_texts())
                self._show()
            self.failed.emit(str(error))
            return None
        self._failures.pop(LOG, None)
        return records

    def _not_stored(self) -> Finding:
        return Finding(self._failures.get(LOG, "It was not stored."), code="store", severity="error", kept=False)

    def _learned(self, records: Sequence[Record], *, cause: str = "", batch: bool = False) -> None:
        """New records: the books learn them, and the watch looks again at what they touch."""
        now = self.now_ms()
        learnt = learning.of(self._books, self._watch, records, now, cause=cause, batch=batch, whole=self._whole)
        self._books, self._watch, transitions = learnt.books, learnt.memory, learnt.transitions
        seen = self._unsaved.stored(records, self._of_the_log(now))
        if transitions:
            self.warned.emit(replace(self._situation, now_ms=now, warnings=self._warning_views(now),
                                     aside=self._aside_views(now)))
        self._seen_anew()
        self._show()
        self._keep(transitions)
        for act in seen:
            self._act(replace(act, at_ms=now))
        self._follow_if_corrected(records)

    def _whole(self, books: Books, touched_ms: int) -> Books:
        """The books with the readings since a time, read from the log where they lack them."""
        if books.has_all_since(touched_ms):
            return books
        made = log_books.opened(self._store, touched_ms)
        if not made.has_all_since(touched_ms):
            QTimer.singleShot(0, self, lambda: self.failed.emit(TOO_LONG_AGO))
        return made

    def _seen_anew(self) -> None:
        """What the books show; the gauges are looked at once warnings are shown, so that none waits for it."""
        self._seen = composing.seen(self._books, self._seen.doubts)
        if not self._closed and not self._look.isActive():      # not put off by what arrives meanwhile
            self._look.start()

    def _look_at_gauges(self) -> None:
        if long_log.outgrown(self._books):
            self._books = log_books.opened(self._store)
            self._seen = composing.seen(self._books, self._seen.doubts)
        before, self._seen = self._seen.doubts, composing.with_doubts(self._seen)
        if self._seen.doubts != before:
            self._show()

    def _step(self, *events: watch.Event) -> None:
        """Step the watch; show and sound what came of it, then store it."""
        transitions = self._stepped(*events)
        self._show()
        self._keep(transitions)

    def _stepped(self, *events: watch.Event) -> list[watch.Transition]:
        transitions: list[watch.Transition] = []
        for event in events:
            self._watch, out = watch.step(self._watch, event)
            transitions += out
        return transitions

    def _keep(self, transitions: Sequence[watch.Transition]) -> None:
        if transitions:
            self._writer.put([warning_draft(t, self._books.rig) for t in transitions])

    def _on_stored(self, records: tuple[Record, ...]) -> None:
        self._failures.pop(LOG, None)
        known = {r.seq for r in self._books.records}       # a log that was read again had them already
        self._books, touched = learn(self._books, [r for r in records if r.seq not in known])
        if touched is None:
            self._seen = composing.with_journal(self._seen, self._books)
        else:
            self._seen_anew()
        self._later()

    def _on_store_failed(self, words: str) -> None:
        self._failures[LOG] = words
        self._later()

    def _later(self) -> None:
        if not self._paint.isActive() and not self._closed:
            self._paint.start()

    def _show(self) -> None:
        """Make the situation of now and hand it out."""
        self._paint.stop()
        now = self.now_ms()
        seq = self._books.records[-1].seq
        text = " ".join(self._failures.values()) or f"Log {self._store.path.name}: {seq} records"
        waiting = self._writer.waiting
        if waiting and self._failures:
            text += f" {waiting} {'record waits' if waiting == 1 else 'records wait'} to be stored; it is tried again."
        warnings, aside = self._warning_views(now), self._aside_views(now)
        due = composing.next_round_due(self._watch)
        self._situation = composing.picture(
            self._seen, now, warnings=warnings, aside=aside, next_due_ms=due, on_watch=self._on_watch,
            store_ok=not self._failures, store_text=text, failing=tuple(sorted(self._failures)),
            clock_ahead_ms=self._clock.ahead_ms, units=self._units)
        self.situation_changed.emit(self._situation)

    def _warning_views(self, now: int) -> tuple[WarningView, ...]:
        return (*self._of_the_log(now), *self._unsaved.views(now))

    def _of_the_log(self, now: int) -> tuple[WarningView, ...]:
        return composing.warning_views(self._watch, self._books.rig, now, self._for_texts())

    def _aside_views(self, now: int) -> tuple[AsideView, ...]:
        return composing.aside_views(self._watch, self._books.rig, now, self._for_texts())

    def _for_texts(self) -> Mapping[str, tuple[str, int]]:
        return self._units or units_of(self._books.rig)

    # --- time ---------------------------------------------------------------------------------------------------

    def tick(self) -> None:
        """A second has passed: deadlines fire, the clock is checked, what waits for the disk is tried again."""
        step = self._clock.step(clock_behind.held_ms(self._books))
        now = self.now_ms()
        told, self._told_ms = self._told_ms, now
        if step is not None:
            own = "; the log goes on by its own count" if self._clock.ahead_ms else ""
            self._not_watched(step.before_ms, step.after_ms,
                              f"the computer's clock stepped by {step.by_ms / 1000:+.0f} s, or the computer slept{own}")
        elif now - told > GAP_MS:
            self._not_watched(told, now, "the computer slept, or the program stood still")
        self._step(watch.Advance(now))
        self._writer.go_on()
        if abs(now - self._alive_written) >= ALIVE_MS:
            self._note_alive(now)

    def _not_watched(self, before: int, after: int, cause: str) -> None:
        """Nobody watched from ``before`` to ``after`` [UTC ms]. A clock set back leaves a record and no gap."""
        if after > before:
            self._step(watch.Advance(before), watch.Unwatched(before, after))
        else:
            before = after
        self._writer.put([gap_draft(before, after, cause, learned_ms=after, rig=self._books.rig)])

    def _begin_clock(self) -> None:
        """The clock begins no earlier than the log ends, or, where that is ahead of the computer's, than somebody was
        last known to watch: time that was watched counts."""
        held, noted = clock_behind.held_ms(self._books), alive.read(self._store.path)
        self._clock.begin(held)
        if self._clock.ahead_ms and noted is not None:
            self._clock.begin(max(held, noted.at_ms))

    def _follow_if_corrected(self, records: Sequence[Record]) -> None:
        """What was logged too late was corrected or struck out: nothing holds the clock ahead any more."""
        ahead = self._clock.ahead_ms
        if ahead and any(r.supersedes for r in records) and clock_behind.held_ms(self._books) <= self.now_ms() - ahead:
            before = self.now_ms()
            self._clock.follow()
            self._told_ms = self.now_ms()
            self._not_watched(before, self._told_ms, "the log goes by the computer's clock again, "
                                                     f"{ahead / 1000:.0f} s back")

    def _note_alive(self, now: int, *, closed: bool = False) -> None:
        self._alive_written = now
        try:
            alive.note(self._store.path, now, closed=closed)
        except StoreError as error:
            self._failures[BESIDE] = str(error)
            self._later()
        else:
            self._failures.pop(BESIDE, None)

    def _resume(self, records: Sequence[Record]) -> None:
        """Take the watch up where the log left it; the time since then was not watched."""
        now = self.now_ms()
        noted = alive.read(self._store.path)
        since = noted.at_ms if noted is not None else max(r.learned_ms for r in records)
        spans: list[tuple[int, int | None]] = [(a, b) for a, b, _ in self._books.unwatched]
        drafts: list[Draft] = []
        if self._clock.ahead_ms:
            drafts.append(gap_draft(now, now, "the log is ahead of the computer's clock: how long the program was "
                                              "closed isn't known", learned_ms=now, rig=self._books.rig))
        elif now - since > GAP_MS:
            cause = "nothing says that the program was running" if noted is None else \
                "the program was closed" if noted.closed else "the program had stopped without being closed"
            drafts.append(gap_draft(since, now, cause, learned_ms=now, rig=self._books.rig))
            spans = sorted([*spans, (since, now)], key=lambda span: (span[1] is None, span[0]))
        elif since - now > GAP_MS:
            drafts.append(gap_draft(now, now, "the computer's clock had been set back while the program was closed",
                                    learned_ms=now, rig=self._books.rig))
        self._note_alive(now)
        self._watch, transitions = composing.resumed(self._books, unwatched=spans, now_ms=now)
        self._show()
        self._writer.put([*drafts, *(warning_draft(t, self._books.rig) for t in transitions)])

    def close(self) -> int:
        """Stop, store what waits, and close the log. Returns how many records could not be stored."""
        self._closed = True
        self._tick.stop()
        self._paint.stop()
        self._look.stop()
        lost = self._writer.close()
        self._note_alive(self.now_ms(), closed=True)
        self._clock.follow()
        self._store.close()
        return lost
