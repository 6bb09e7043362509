"""The desk: owns the log, the books, the watch and the clock; the one that writes. Pages get its situations.

Entries are stored, then said to be saved. Warnings are shown and sounded first, then stored: a failing disk is a
warning of its own and silences none.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal

from dipbook import quantities, watch
from dipbook.books import Books, build, learn
from dipbook.checking import units_of
from dipbook.composing import Seen, next_round_due, picture, seen, warning_views
from dipbook.entries import checks
from dipbook.errors import DipbookError, StoreError
from dipbook.exchange import entries as entries_file
from dipbook.exchange import readings as readings_file
from dipbook.exchange.times import clock as clock_time
from dipbook.exchange.times import offset_min
from dipbook.findings import Finding
from dipbook.limits import Limit
from dipbook.observations import observe
from dipbook.records import RIG, ROUND, UNWATCHED, WARNING, Dip, Draft, Record
from dipbook.rig import document
from dipbook.situation import Situation
from dipbook.store import Store
from dipbook.store.beside import read_json, write_json
from dipbook_app.clock import Clock
from dipbook_app.writer import Writer

PAINT_MS = 250
"""A new situation is shown at most this often, except that a change of a warning is shown at once."""
TICK_MS = 1_000
ALIVE_MS = 15_000
"""How often the desk notes beside the log that it is running: after a crash, nobody watched since then."""
GAP_MS = 30_000
"""A shorter absence isn't recorded as not watched."""
TAIL = 400
"""Readings given to the watch again at a start."""
FUTURE_MS = 90_000
"""How far ahead of the desk's clock a time may lie: clocks differ by a little."""


class Desk(QObject):
    """See the module. Made by ``Desk.open``; ``close`` it.

    Signals: situation_changed(Situation); said(str): what was done, for the status line; failed(str): what wasn't and
    why. Properties: situation, on_watch, drafts_path.
    """

    situation_changed = Signal(object)
    said = Signal(str)
    failed = Signal(str)

    def __init__(self, store: Store, clock: Clock, parent: QObject | None = None, *, ticking: bool = True) -> None:
        """store: open for writing, holding a rig. clock: the desk's. ticking: False for a test that ticks by hand."""
        super().__init__(parent)
        self._store = store
        self._clock = clock
        self._store_failure = ""
        self._units: Mapping[str, tuple[str, int]] | None = None
        self._on_watch = ""
        self._alive_written = 0
        records = store.records(leave_out_damaged=True)
        self._books: Books = build(records)
        self._seen: Seen = seen(self._books)
        self._situation: Situation
        self._writer = Writer(store.append, self)
        self._writer.stored.connect(self._on_stored)
        self._writer.failed.connect(self._on_store_failed)
        self._paint = QTimer(self)
        self._paint.setSingleShot(True)
        self._paint.setInterval(PAINT_MS)
        self._paint.timeout.connect(self._show)
        self._on_watch = next((r.author for r in reversed(records) if r.author and r.kind != WARNING), "")
        self._watch = self._resumed(records)
        self._tick = QTimer(self)
        self._tick.setInterval(TICK_MS)
        self._tick.timeout.connect(self.tick)
        if ticking:
            self._tick.start()
        self._show()

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
        """Who is on watch."""
        return self._on_watch

    @property
    def drafts_path(self) -> Path:
        """Where drafts are kept, beside the log."""
        return self._store.path.with_name(self._store.path.name + ".drafts.json")

    @property
    def sounding(self) -> bool:
        """True while a warning wants to be heard, or the log can't be written."""
        return watch.sounding(self._watch, self.now_ms())

    def now_ms(self) -> int:
        """The desk's clock [UTC ms]."""
        return self._clock.now_ms()

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
        problem = self._round_problem(dips)
        if problem:
            self.failed.emit(problem)
            return False
        payload = {"observer": observer, "start_ms": start_ms, "end_ms": end_ms, "remark": remark}
        records = self._append([self._draft(ROUND, max(d.t_ms for d in dips), payload, author, dips=tuple(dips),
                                            supersedes=supersedes, reason=reason)])
        if records is None:
            return False
        self._learned(records, cause="" if not supersedes else "a round was corrected")
        self.said.emit(self._round_words(end_ms))
        return True

    def _round_problem(self, dips: Sequence[Dip]) -> str:
        if not dips:
            return "Nothing was gauged: there is nothing to save."
        if max(d.t_ms for d in dips) > self.now_ms() + FUTURE_MS:
            return "Not saved: the round lies in the future. Check the time."
        known = {t.name for t in self._books.rig.tanks}
        unknown = sorted({d.tank for d in dips} - known)
        if unknown:
            return f"Not saved: the rig has no tank called {', '.join(unknown)}."
        return ""

    def _round_words(self, end_ms: int) -> str:
        s, rig = self._situation, self._books.rig
        words = f"Round saved {clock_time(end_ms, rig.zone)}."
        if s.actual_m3 is None:
            return f"{words} The active volume isn't known until every active tank is gauged."
        symbol = self._volume_unit()
        words += f" Active {quantities.write(s.actual_m3, symbol, decimal=rig.decimal)}."
        if s.difference_m3 is not None:
            d = quantities.write_number(s.difference_m3, symbol, decimal=rig.decimal, sign=True)
            u = "" if s.u_m3 is None else f" ± {quantities.write_number(2 * s.u_m3, symbol, decimal=rig.decimal)}"
            words += f" Difference {d}{u} {symbol}."
        return words + (" Partial: not every active tank was gauged." if s.partial else "")

    def _volume_unit(self) -> str:
        return self._units["volume"][0] if self._units else self._books.rig.units.get("volume", "m3")

    def log_entry(self, kind: str, typed: Mapping[str, str], *, t_ms: int | None = None, end_ms: int | None = None,
                  author: str = "", supersedes: str | None = None, reason: str = "") -> tuple[Finding, ...]:
        """Store one entry. typed: field name -> as typed; t_ms: None for now [UTC ms]; author: "" for who is on watch.

        No error among the findings means that it was stored.
        """
        t_ms = self.now_ms() if t_ms is None else t_ms
        author = author or self._on_watch
        draft, findings = checks.make(kind, typed, t_ms=t_ms, end_ms=end_ms, rig=self._books.rig_at(t_ms),
                                      author=author, learned_ms=self.now_ms(), supersedes=supersedes, reason=reason)
        if t_ms > self.now_ms() + FUTURE_MS:
            findings = (*findings, Finding("This time lies in the future.", code="future", severity="error",
                                           column="time", kept=False))
        if draft is None or any(f.severity == "error" for f in findings):
            return findings
        return self._store_entry(draft, findings, f"Saved: {kind} at {clock_time(t_ms, self._books.rig.zone)}.")

    def stop_running(self, uid: str, *, end_ms: int, typed: Mapping[str, str], author: str) -> tuple[Finding, ...]:
        """Stop a running transfer or discard. uid: of its record. end_ms: when [UTC ms]. typed: volume or rate."""
        record = next((r for r in self._books.eff.records if r.uid == uid), None)
        if record is None:
            return (Finding("This entry was changed meanwhile: look at the log.", severity="error", kept=False),)
        draft, findings = checks.with_end(record, end_ms, typed, rig=self._books.rig, author=author,
                                          learned_ms=self.now_ms())
        if draft is None or any(f.severity == "error" for f in findings):
            return findings
        return self._store_entry(draft, findings, f"Stopped: {record.kind} at "
                                                  f"{clock_time(end_ms, self._books.rig.zone)}.")

    def void(self, uid: str, *, author: str, reason: str) -> tuple[Finding, ...]:
        """Strike out a record; it stays visible. uid: of the record. reason: why, needed."""
        if not reason.strip():
            return (Finding("Say why.", severity="error", column="reason", kept=False),)
        record = next((r for r in self._books.records if r.uid == uid), None)
        if record is None or record.kind in (WARNING, RIG):
            return (Finding("This record can't be struck out.", severity="error", kept=False),)
        draft = self._draft("void", record.t_ms, {"reason": reason}, author, supersedes=uid, reason=reason)
        return self._store_entry(draft, (), "Struck out. It stays visible in the log.")

    def _store_entry(self, draft: Draft, findings: tuple[Finding, ...], words: str) -> tuple[Finding, ...]:
        records = self._append([draft])
        if records is None:
            return (*findings, Finding(self._store_failure, code="store", severity="error", kept=False))
        self._learned(records, cause=f"{draft.kind} logged")
        self.said.emit(words)
        return findings

    def set_limits(self, limits: Sequence[Limit], *, author: str, reason: str) -> tuple[Finding, ...]:
        """Put a new set of limits in force: a change of the rig, from now on. author, reason: needed."""
        return self._change_rig(lambda text: document.with_limits(text, tuple(limits)), author, reason)

    def adopt_rig(self, text: str, *, author: str, reason: str) -> tuple[Finding, ...]:
        """Adopt a rig file's text as a change of the rig from now on."""
        return self._change_rig(lambda _: text, author, reason)

    def _change_rig(self, change: object, author: str, reason: str) -> tuple[Finding, ...]:
        missing = [Finding("Say who and why.", severity="error", column=name, kept=False)
                   for name, value in (("author", author), ("reason", reason)) if not value.strip()]
        if missing:
            return tuple(missing)
        now_text = next(r for r in self._books.eff.records[::-1] if r.kind == RIG).payload["text"]
        try:
            text = change(str(now_text))  # type: ignore[operator]
            doc = document.parse(text, "rig")
        except DipbookError as error:
            return (Finding(str(error), severity="error", kept=False),)
        now = self.now_ms()
        records = self._append([self._draft(RIG, now, {"text": text, "digest": doc.digest, "effective": "change"},
                                            author, reason=reason)])
        if records is None:
            return (Finding(self._store_failure, code="store", severity="error", kept=False),)
        self._learned(records, cause="the rig or its limits changed")
        self.said.emit("Saved: limits and rig as of now.")
        return doc.findings

    def acknowledge(self, occurrence: str) -> None:
        """Acknowledge a warning: it stops sounding and stays open."""
        self._act(watch.Act("acknowledge", occurrence, by=self._on_watch, at_ms=self.now_ms()))

    def close_warning(self, occurrence: str, note: str) -> None:
        """Close a warning that is over and acknowledged. note: what it was."""
        self._act(watch.Act("close", occurrence, by=self._on_watch, note=note, at_ms=self.now_ms()))

    def silence(self) -> None:
        """Silence the sound alone for 30 s."""
        self._act(watch.Act("silence", by=self._on_watch, at_ms=self.now_ms()))

    def _act(self, act: watch.Act) -> None:
        try:
            self._step(act)
        except DipbookError as error:
            self.failed.emit(str(error))

    # --- files --------------------------------------------------------------------------------------------------

    def import_files(self, readings: Path | None, entries: Path | None, *, author: str = "") -> tuple[Finding, ...]:
        """Add a readings file and an entries file, all or nothing. The same file twice adds nothing."""
        rig, now = self._books.rig, self.now_ms()
        findings: list[Finding] = []
        drafts: list[Draft] = []
        known = {r.uid: r for r in self._books.records}
        try:
            if readings is not None:
                read = readings_file.parse(readings.read_bytes(), readings.name, rig)
                findings += read.findings
                if read.ok:
                    samples, logged = readings_file.to_draft(read, now, author)
                    drafts += [d for d in (samples, *logged) if d.uid not in known]
            if entries is not None:
                logged_file = entries_file.parse(entries.read_bytes(), entries.name, rig, learned_ms=now, known=known)
                findings += logged_file.findings
                if logged_file.ok:
                    new, odd = entries_file.sift(logged_file, known)
                    drafts += new
                    findings += odd
        except OSError as error:
            findings.append(Finding(f"The file can't be opened: {error.strerror or error}. Nothing was added.",
                                    severity="error", kept=False))
        findings += [Finding("A time in this file lies in the future: check the file and this computer's clock.",
                             code="future", severity="error", t_ms=d.t_ms, kept=False)
                     for d in drafts if _latest(d) > now + FUTURE_MS][:1]
        if any(f.severity == "error" for f in findings):
            self.failed.emit("Nothing was added. " + next(f"{f.where}: {f.what}" for f in findings
                                                          if f.severity == "error"))
            return tuple(findings)
        if not drafts:
            self.said.emit("Nothing new: these files are in the log already.")
            return tuple(findings)
        records = self._append(drafts)
        if records is not None:
            self._learned(records, cause="import", batch=True)
            self.said.emit(f"Added: {len(records)} records.")
        return tuple(findings)

    # --- inside -------------------------------------------------------------------------------------------------

    def _draft(self, kind: str, t_ms: int, payload: Mapping[str, object], author: str, *, dips: tuple[Dip, ...] = (),
               supersedes: str | None = None, reason: str = "") -> Draft:
        return Draft(kind, t_ms, self.now_ms(), author=author.strip() or self._on_watch, payload=payload, dips=dips,
                     supersedes=supersedes, reason=reason, offset_min=offset_min(t_ms, self._books.rig.zone))

    def _append(self, drafts: Sequence[Draft]) -> tuple[Record, ...] | None:
        try:
            records = self._store.append(drafts)
        except StoreError as error:
            self._on_store_failed(str(error))
            self.failed.emit(str(error))
            return None
        self._store_failure = ""
        return records

    def _learned(self, records: Sequence[Record], *, cause: str = "", batch: bool = False) -> None:
        """New records: the books learn them, the watch looks again at what they touch, and it is shown."""
        before_limits, struck = self._books.rig.limits, _struck_from(records, self._books)
        self._books, touched = learn(self._books, records)
        self._seen = seen(self._books)
        now, seq = self.now_ms(), max(r.seq for r in records)
        changed = False
        if self._books.rig.limits != before_limits:
            changed |= self._step(watch.LimitsChanged(seq, now, self._books.rig.limits, self._books.rig_seq,
                                                      by=records[-1].author), show=False)
        for record in records:
            if record.kind == "watch":
                off = record.payload.get("state") == "off"
                event = watch.Unwatched(record.t_ms) if off else watch.WatchedAgain(record.t_ms)
                changed |= self._step(event, show=False)
        if touched is not None:
            first = int(self._books.readings.index_at(touched - 1)) + 1
            evidence = observe(self._books, first)
            if len(evidence) or struck is not None:
                changed |= self._step(watch.Learned(seq, now, evidence, batch=batch, cause=cause,
                                                    struck_from_ms=struck), show=False)
        del changed
        self._show()

    def _step(self, event: watch.Event, *, show: bool = True) -> bool:
        """Step the watch; show and sound what came of it, then store it."""
        self._watch, transitions = watch.step(self._watch, event)
        if show:
            self._show()
        if transitions:
            if not show:
                self._show()
            self._writer.put([self._warning_draft(t) for t in transitions])
        return bool(transitions)

    def _warning_draft(self, t: watch.Transition) -> Draft:
        rig = self._books.rig
        payload = {**t.payload(), "text": watch.words(t, units_of(rig), rig.decimal)}
        return Draft(WARNING, t.time, t.learned, author=t.by, payload=payload,
                     offset_min=offset_min(t.time, rig.zone))

    def _on_stored(self, records: tuple[Record, ...]) -> None:
        self._store_failure = ""
        self._books, _ = learn(self._books, records)
        self._seen = seen(self._books)
        self._later()

    def _on_store_failed(self, words: str) -> None:
        self._store_failure = words
        self._later()

    def _later(self) -> None:
        if not self._paint.isActive():
            self._paint.start()

    def _show(self) -> None:
        """Make the situation of now and hand it out."""
        self._paint.stop()
        now = self.now_ms()
        ok = not self._store_failure
        text = self._store_failure or f"Log {self._store.path.name}: {self._books.records[-1].seq} records"
        if self._writer.waiting and not ok:
            text += f" {self._writer.waiting} warnings wait to be stored and are tried again."
        warnings = warning_views(self._watch, self._books.rig, now, self._units or units_of(self._books.rig))
        self._situation = picture(self._seen, now, warnings=warnings, next_due_ms=next_round_due(self._watch),
                                  on_watch=self._on_watch, store_ok=ok, store_text=text, units=self._units)
        self.situation_changed.emit(self._situation)

    # --- time ---------------------------------------------------------------------------------------------------

    def tick(self) -> None:
        """A second has passed: deadlines fire, the clock is checked, what waits for the disk is tried again."""
        step = self._clock.step()
        now = self.now_ms()
        if step is not None:
            self._clock_stepped(*step)
        self._step(watch.Advance(now))
        self._writer.go_on()
        if abs(now - self._alive_written) >= ALIVE_MS:
            self._note_alive(now)

    def _clock_stepped(self, before: int, after: int) -> None:
        """The computer's clock stepped, or it slept: a record, and a gap in the watch if it went forward."""
        span = {"from_ms": min(before, after), "to_ms": max(before, after)} if after > before else \
            {"from_ms": after, "to_ms": after}
        payload = {**span, "cause": f"the computer's clock stepped by {(after - before) / 1000:+.0f} s or it slept"}
        records = self._append([self._draft(UNWATCHED, after, payload, "")])
        if after > before:
            self._step(watch.Unwatched(before, after))
        if records is not None:
            self._learned(records)

    @property
    def _alive_path(self) -> Path:
        return self._store.path.with_name(self._store.path.name + ".running.json")

    def _note_alive(self, now: int, *, closed: bool = False) -> None:
        self._alive_written = now
        try:
            write_json(self._alive_path, {"at_ms": now, "closed": closed})
        except StoreError as error:
            self._on_store_failed(str(error))

    def _resumed(self, records: Sequence[Record]) -> watch.Watch:
        """The watch as it was when the log was last open, with the time since recorded as not watched."""
        now = self.now_ms()
        try:
            alive = read_json(self._alive_path)
        except StoreError:
            alive = None
        noted = alive if isinstance(alive, dict) else {}
        since = int(noted["at_ms"]) if "at_ms" in noted else None
        if since is not None and now - since > GAP_MS:
            cause = "the program was closed" if noted.get("closed") else "the program had stopped without being closed"
            new = self._append([self._draft(UNWATCHED, since, {"from_ms": since, "to_ms": now, "cause": cause}, "")])
            if new is not None:
                self._books, _ = learn(self._books, new)
                self._seen = seen(self._books)
        self._note_alive(now)
        rig = self._books.rig
        first = max(0, len(self._books.readings) - TAIL)
        tail = observe(self._books, first)
        payloads = [r.payload for r in records if r.kind == WARNING]
        self._watch = watch.resume(rig.limits, self._books.rig_seq, payloads, tail if payloads else None,
                                   began_ms=self._began(records),
                                   unwatched=[(a, b) for a, b, _ in self._books.unwatched])
        if len(tail):
            seq = max(r.seq for r in records)
            self._watch, transitions = watch.step(self._watch, watch.Learned(seq, now, tail, batch=True,
                                                                             cause="found when the log was opened"))
            if transitions:
                self._writer.put([self._warning_draft(t) for t in transitions])
        return self._watch

    @staticmethod
    def _began(records: Sequence[Record]) -> int | None:
        return min((r.learned_ms for r in records), default=None)

    def close(self) -> int:
        """Stop, store what waits, and close the log. Returns how many warnings could not be stored."""
        self._tick.stop()
        self._paint.stop()
        lost = self._writer.close()
        self._note_alive(self.now_ms(), closed=True)
        self._store.close()
        return lost


def _latest(draft: Draft) -> int:
    return max([draft.t_ms, *(int(b.t_ms[-1]) for b in draft.blocks if len(b.t_ms))])


def _struck_from(records: Sequence[Record], books: Books) -> int | None:
    """The earliest time of a round that these records strike or replace [UTC ms], or None."""
    by_uid = {r.uid: r for r in books.records}
    times = [min([d.t_ms for d in old.dips] or [old.t_ms]) for r in records
             if r.supersedes and (old := by_uid.get(r.supersedes)) is not None and old.kind in (ROUND, "samples")]
    times += [r.t_ms for r in records if r.kind == "void" and not r.supersedes]
    return min(times, default=None)
