"""The books: everything the balance needs, by when it happened. Built from records, never altered."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from math import isnan
from typing import Any

import numpy as np

from dipbook.books import state
from dipbook.books.actual import actual, first_known, readable
from dipbook.books.curve import Curve, from_ramps
from dipbook.books.effective import Effective, effective, with_readings
from dipbook.books.entered import Entered, entered
from dipbook.books.equalised import equalise, told_anew
from dipbook.books.lineup import LineUp, line_up
from dipbook.books.movements import Movement, tank_ramps
from dipbook.books.one_more_round import with_rounds
from dipbook.books.repeats import same_in_a_row
from dipbook.books.samples import Gathered, Readings, Samples, gather, tank_spans
from dipbook.books.trips import Trip, refills
from dipbook.books.valves import ValveStates
from dipbook.errors import RigFileError
from dipbook.findings import Finding
from dipbook.records import RIG, ROUND, SAMPLES, UNWATCHED, WARNING, Record
from dipbook.rig import document
from dipbook.rig.model import Rig

ZERO = "zero"
FEW = 64
"""Readings of which something is worked out for themselves, and not for all readings of the log."""
Whole = tuple[tuple[int, int], ...] | None
"""Spans [UTC ms], both ends included; None for all time."""


@dataclass(frozen=True, slots=True)
class Zero:
    """One zero. asked_ms: when it was logged for; t_ms: the first time from then on at which every active tank had
    been gauged, None if never; given: False for the one taken because nobody gave one. stand_m: full pipe above the
    rotary then [m], None if not given. base_ms: the end of the reading whose dips it takes, at or before t_ms: what was
    booked since then isn't in the dips, so the terms count from there."""

    asked_ms: int
    t_ms: int | None
    given: bool
    by: str
    reason: str
    stand_m: float | None
    base_ms: int | None = None


@dataclass(frozen=True)
class Books:
    """What the records say, by when it happened. Ask ``dipbook.balance`` for volumes.

    records: all, by seq. eff: the ones that count. entered: what follows from the entries alone; gathered: from the
    gauging alone. rigs: (in force from [UTC ms], rig). samples: by tank, with the values put in at line-up changes;
    dips: without them. Both hold the levels of tanks behind open gates. readings, line, valves, moves, pumps, depths,
    activities, unwatched, zeros, trips: see their classes. taken: the zero that counts while nobody has given one, None
    if there is no such time. findings: on the data. worked_out: what has been worked out of these books already, so
    that it is done once. whole: the spans of which the books have all samples [UTC ms], both ends included, by time and
    apart, None for all; the balance at other times isn't known to them. kept: what the books after these may go on
    from, by name: each has ``before(t_ms)``, which gives what nothing from then on has touched.
    """

    records: tuple[Record, ...]
    eff: Effective
    entered: Entered
    gathered: Gathered
    rigs: tuple[tuple[int, Rig], ...]
    rig_seq: int
    samples: Mapping[str, Samples]
    dips: Mapping[str, Samples]
    readings: Readings
    line: LineUp
    valves: ValveStates
    moves: tuple[Movement, ...]
    pumps: state.Pumps
    depths: state.Depths
    activities: state.Activities
    unwatched: tuple[tuple[int, int | None, str], ...]
    zeros: tuple[Zero, ...]
    taken: Zero | None
    findings: tuple[Finding, ...]
    trips: tuple[Trip, ...] = ()
    whole: Whole = None
    worked_out: dict[tuple[str, str], Any] = field(default_factory=dict, init=False, repr=False, compare=False)
    kept: dict[str, Any] = field(default_factory=dict, init=False, repr=False, compare=False)

    @property
    def rig_findings(self) -> tuple[Finding, ...]:
        """What the description of the rig now in force leaves open and makes a number worth less."""
        text = next(str(r.payload["text"]) for r in reversed(self.eff.records) if r.kind == RIG)
        return tuple(f for f in _document_of(text).findings if f.severity == "warning")

    @property
    def rig(self) -> Rig:
        """The rig as it is described now."""
        return self.rigs[-1][1]

    def rig_at(self, t_ms: int) -> Rig:
        """The rig in force at ``t_ms`` [UTC ms]."""
        found = self.rigs[0][1]
        for start, rig in self.rigs:
            if start <= t_ms:
                found = rig
        return found

    def apart(self) -> Books:
        """The same books with a worked-out and a kept of their own, for a thread beside the one that these serve: what
        that thread works out is put into none that another one is reading."""
        made = replace(self)
        made.worked_out.update(self.worked_out)
        made.kept.update(self.kept)
        return made

    def has_all(self, t_ms: Any) -> Any:
        """True at the times at which the books have all samples there are. t_ms: array [UTC ms]."""
        t = np.asarray(t_ms, dtype=np.int64)
        if self.whole is None:
            return np.ones(t.shape, dtype=bool)
        begin, end = np.array(self.whole, dtype=np.int64).T
        place = np.searchsorted(begin, t, side="right") - 1
        return (place >= 0) & (t <= end[np.maximum(place, 0)])

    def has_all_since(self, t_ms: int) -> bool:
        """True if the books have all samples from a time on. t_ms: the time [UTC ms]."""
        return self.whole is None or self.whole[-1][0] <= t_ms

    def known_at(self, seq: int) -> Books:
        """The books as they stood when record ``seq`` had just been learned."""
        return build([r for r in self.records if r.seq <= seq], self.whole)

    def gauged_in(self, tank: str, index: Any) -> Any:
        """True where ``tank`` was gauged in the reading of that ``index`` (array)."""
        def gauged(rows: Any) -> Any:
            times = self.dips[tank].t_ms if tank in self.dips else np.array([], dtype=np.int64)
            lo = np.searchsorted(times, self.readings.start_ms[rows], side="left")
            return np.searchsorted(times, self.readings.end_ms[rows], side="right") > lo
        return self._of_readings(("gauged", tank), gauged, index)

    def unread_in(self, tank: str, index: Any) -> Any:
        """True where the last dip of ``tank`` by the reading of that ``index`` (array) couldn't be read: it is over the
        brim, below the stick or past the end of the tank's table."""
        def unread(rows: Any) -> Any:
            dips = self.dips.get(tank)
            if dips is None or not len(dips):
                return np.zeros(np.shape(rows), dtype=bool)
            at = dips.index_at(self.readings.end_ms[rows])
            return dips.unread(np.maximum(at, 0)) & (at >= 0)
        return self._of_readings(("unread", tank), unread, index)

    def stale_in(self, tank: str, index: Any) -> Any:
        """True where the dip of ``tank`` was older than its ``fresh_for`` at the end of the reading of that ``index``
        (array): a round that was left and taken up again."""
        def stale(rows: Any) -> Any:
            dips = self.dips.get(tank)
            found = np.zeros(np.shape(rows), dtype=bool)
            if dips is not None and len(dips):
                end = self.readings.end_ms[rows]
                at = dips.index_at(end)
                old = end - dips.t_ms[np.maximum(at, 0)]
                for a, b, described in tank_spans(tank, self.rigs):
                    if described.fresh_for_ms is not None:
                        found |= (end >= a) & (end < b) & (at >= 0) & (old > described.fresh_for_ms)
            return found
        return self._of_readings(("stale", tank), stale, index)

    def _of_readings(self, key: tuple[str, str], ask: Callable[[Any], Any], index: Any) -> Any:
        """What ``ask`` says of the readings of that ``index`` (array); worked out once for all where it is of many."""
        if key not in self.worked_out and np.size(index) > FEW:
            self.worked_out[key] = ask(np.arange(len(self.readings)))
        return self.worked_out[key][index] if key in self.worked_out else ask(np.asarray(index))

    def same_counts(self, tank: str, t_ms: int) -> int:
        """How many of the last dips of ``tank`` in rounds, up to ``t_ms`` [UTC ms], were in a row "gauged, no change".
        0 if the last one was read."""
        key = ("same", tank)
        if key not in self.worked_out:
            self.worked_out[key] = same_in_a_row(self.eff.records, self.eff.strikes, tank)
        times, counts = self.worked_out[key]
        i = int(np.searchsorted(times, t_ms, side="right")) - 1
        return 0 if i < 0 else int(counts[i])

    def logged(self, tank: str) -> Curve:
        """Everything logged into (+) and out of (−) ``tank`` [m3], cumulative."""
        key = ("logged", tank)
        if key not in self.worked_out:
            self.worked_out[key] = from_ramps(tank_ramps(self.moves, tank))
        curve: Curve = self.worked_out[key]
        return curve


OF_ENTRIES = frozenset(("stops", "said of connections"))
"""What is worked out of the entries alone."""
OF_TERMS = frozenset(("curves", "logged", "lines", "bore", "cut", "moves of unknown volume"))
"""What is worked out of the entries, the zeros, the line-up and the moves."""


@lru_cache(maxsize=64)
def _document_of(text: str) -> document.RigDocument:
    return document.parse(text, "rig")


def build(records: Sequence[Record], whole: Whole = None) -> Books:
    """Books of ``records`` (any order). The first rig record must be among them: RigFileError without one.

    whole: the spans of which the records have all samples, see ``Books``.
    """
    ordered = tuple(sorted(records, key=lambda r: r.seq))
    eff = effective(ordered)
    rigs = tuple((r.t_ms, _document_of(str(r.payload["text"])).rig) for r in eff.records if r.kind == RIG)
    if not rigs:
        raise RigFileError("The log holds no rig. Adopt a rig file first.")
    return _books(ordered, eff, entered(eff.records, rigs), whole)


def _books(ordered: tuple[Record, ...], eff: Effective, of: Entered, whole: Whole,
           before: tuple[Books, Sequence[Record]] | None = None) -> Books:
    """Books of what the entries say and what was gauged. before: the books that these go on from, and the readings that
    were learned since, the only records that they don't have."""
    got = None if before is None else with_rounds(before[0].gathered, before[1], of.rigs)
    got = gather(eff.records, of.rigs, eff.strikes) if got is None else got
    dips, gate_findings = equalise(got.samples, of.rigs, of.valves)
    moves = (*of.moves, *refills(of.trips, dips, of.moves))
    line, samples, line_findings = line_up(eff.records, of.rigs, dips, moves, of.valves.isolations, of.trips)
    books = Books(ordered, eff, of, got, of.rigs, max(r.seq for r in eff.records if r.kind == RIG), samples, dips,
                  got.readings, line, of.valves, moves, of.pumps, of.depths, of.activities, of.unwatched, (), None,
                  (*of.of_moves, *got.findings, *of.of_valves, *gate_findings, *line_findings, *of.of_pumps,
                   *of.of_depths, *of.of_trips), trips=of.trips, whole=whole)
    known = {} if before is None or before[0].line != line else _known_zeros(*before)
    zeros, taken, zero_findings = _zeros(books, known)
    return replace(books, zeros=zeros, taken=taken, findings=(*books.findings, *zero_findings))


def _known_zeros(books: Books, records: Sequence[Record]) -> dict[str, Zero]:
    """uid -> zero, of those that later readings change nothing of. records: the later ones."""
    later = min((int(t) for r in records for t in (*(d.t_ms for d in r.dips), *(b.t_ms[0] for b in r.blocks), r.t_ms)),
                default=2**62)
    given = [r for r in books.eff.records if r.kind == ZERO]
    return {r.uid: z for r, z in zip(given, books.zeros, strict=False) if z.given and z.t_ms is not None and
            z.t_ms < later}


def learn(books: Books, records: Sequence[Record]) -> tuple[Books, int | None]:
    """``books`` with ``records`` added, and the earliest time they touch [UTC ms] (None if they touch no volume)."""
    if not records:
        return books, None
    if all(r.kind == WARNING and not r.supersedes for r in records):
        return _journalled(books, records), None
    times = [t for r in records for t in (r.t_ms, *(d.t_ms for d in r.dips))]
    by_uid = {r.uid: r for r in books.records}
    for r in records:
        if r.supersedes and r.supersedes in by_uid:
            old = by_uid[r.supersedes]
            times += [old.t_ms, *(d.t_ms for d in old.dips)]
    learned = _with_readings(books, records) if all(_moves_nothing(r) for r in records) else build(
        (*books.records, *records), books.whole)
    # A dip can tell what a tank was worth when it joined or left, before the dip.
    times += [c.t_ms for c in set(learned.line.changes) ^ set(books.line.changes) if not isnan(c.volume_m3)]
    times += told_anew(books.dips, learned.dips)
    touched = min(times)
    if _zeros_before(books, touched) == _zeros_before(learned, touched):
        learned.kept.update({name: one.before(touched) for name, one in books.kept.items()})
    return learned, touched


def _moves_nothing(r: Record) -> bool:
    """True for a record that says what tanks held, what became of a warning, or that nobody watched."""
    return r.kind in (ROUND, SAMPLES, WARNING, UNWATCHED) and not r.supersedes


def _with_readings(books: Books, records: Sequence[Record]) -> Books:
    """Books with such records added: the entries are as they were, and so are the terms, where what was gauged changes
    nothing that they are counted by."""
    ordered = tuple(sorted((*books.records, *records), key=lambda r: r.seq))
    counting = [r for r in records if r.uid not in books.eff.superseded]
    eff = with_readings(books.eff, counting)
    of = replace(books.entered, unwatched=state.unwatched(eff.records)) if any(
        r.kind == UNWATCHED for r in counting) else books.entered
    gauged = [r for r in counting if r.kind in (ROUND, SAMPLES)]
    learned = _books(ordered, eff, of, books.whole, (books, gauged))
    learned.worked_out.update({key: of for key, of in books.worked_out.items() if key[0] in OF_ENTRIES})
    if (learned.zeros, learned.line, learned.moves) == (books.zeros, books.line, books.moves):
        learned.worked_out.update({key: of for key, of in books.worked_out.items() if key[0] in OF_TERMS})
    return learned


def _zeros_before(books: Books, t_ms: int) -> list[tuple[int, int | None]]:
    """The zeros in force before a time: while nobody has given one, one that was taken counts, and no longer after."""
    return [(z.t_ms, z.base_ms) for z in books.zeros if z.t_ms is not None and z.t_ms < t_ms]


def _journalled(books: Books, records: Sequence[Record]) -> Books:
    """Books with warnings' transitions added: they move no mud, so nothing is worked out anew."""
    ordered = tuple(sorted((*books.records, *records), key=lambda r: r.seq))
    counting = tuple(sorted((*books.eff.records, *records), key=lambda r: (r.t_ms, r.seq)))
    journalled = replace(books, records=ordered, eff=replace(books.eff, records=counting))
    journalled.worked_out.update(books.worked_out)
    journalled.kept.update(books.kept)
    return journalled


def _zeros(books: Books, known: Mapping[str, Zero]) -> tuple[tuple[Zero, ...], Zero | None, tuple[Finding, ...]]:
    """(the zeros that count, the one that counts while nobody has given one, findings). known: uid -> zero, of those
    that are worked out already."""
    given = [r for r in books.eff.records if r.kind == ZERO]
    findings: list[Finding] = []
    zeros: list[Zero] = []
    samples = readable(books.samples)
    for r in given:
        before = known.get(r.uid)
        t = before.t_ms if before is not None else first_known(samples, books.line.spans, books.readings, r.t_ms)
        if t is None:
            findings.append(Finding("The difference was zeroed before every active tank was gauged: it starts when "
                                    "they all are.", code="zero_waits", t_ms=r.t_ms))
        elif t > r.t_ms:
            findings.append(Finding("The zero took effect late, when every active tank had been gauged.",
                                    code="zero_late", severity="note", t_ms=t))
        zeros.append(Zero(r.t_ms, t, True, r.author, str(r.payload.get("reason") or r.reason),
                          r.payload.get("length_m"), _base(books, t) if before is None else before.base_ms))
    taken: Zero | None = None
    if len(books.readings):
        t = first_known(samples, books.line.spans, books.readings, int(books.readings.end_ms[0]))
        taken = None if t is None else Zero(t, t, False, "", "", None, t)
    if not given and taken is not None:
        zeros.append(taken)
        findings.append(Finding("Nobody zeroed the difference: it starts at the first time when every active tank "
                                "was gauged.", code="no_zero", severity="note", t_ms=taken.t_ms))
    if zeros and zeros[-1].stand_m is None and books.rig.pipe is not None:
        findings.append(Finding("The full pipe above the rotary at the zero wasn't given: a whole stand is assumed.",
                                code="zero_length", severity="note", t_ms=zeros[-1].t_ms))
    return tuple(zeros), taken, tuple(findings)


def _base(books: Books, t_ms: int | None) -> int | None:
    """The end of the reading that a zero at ``t_ms`` rests on [UTC ms]; the zero itself where there is none."""
    if t_ms is None or not len(books.readings):
        return t_ms
    r = int(books.readings.index_at(t_ms))
    if r < 0:
        return t_ms
    end = int(books.readings.end_ms[r])
    return end if np.isfinite(actual(books.samples, books.line.spans, np.array([end]))[0]) else t_ms
