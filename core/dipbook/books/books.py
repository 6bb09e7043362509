"""The books: everything the balance needs, by when it happened. Built from records, never altered."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np

from dipbook.books import state
from dipbook.books.effective import Effective, effective
from dipbook.books.lineup import LineUp, line_up
from dipbook.books.movements import Movement, movements
from dipbook.books.samples import Readings, Samples, gather
from dipbook.errors import RigFileError
from dipbook.findings import Finding
from dipbook.records import RIG, Record
from dipbook.rig import document
from dipbook.rig.model import Rig


@dataclass(frozen=True, slots=True)
class Zero:
    """One zero. asked_ms: when it was logged for; t_ms: the first time from then on at which every active tank had
    been gauged, None if never; given: False for the one taken because nobody gave one. stand_m: full pipe above the
    rotary then [m], None if not given."""

    asked_ms: int
    t_ms: int | None
    given: bool
    by: str
    reason: str
    stand_m: float | None


@dataclass(frozen=True)
class Books:
    """What the records say, by when it happened. Ask ``dipbook.balance`` for volumes.

    records: all, by seq. eff: the ones that count. rigs: (in force from [UTC ms], rig, seq). samples: by tank.
    readings, line, moves, pumps, depths, activities, unwatched, zeros: see their classes. findings: on the data.
    """

    records: tuple[Record, ...]
    eff: Effective
    rigs: tuple[tuple[int, Rig], ...]
    rig_seq: int
    samples: Mapping[str, Samples]
    readings: Readings
    line: LineUp
    moves: tuple[Movement, ...]
    pumps: state.Pumps
    depths: state.Depths
    activities: state.Activities
    unwatched: tuple[tuple[int, int | None, str], ...]
    zeros: tuple[Zero, ...]
    findings: tuple[Finding, ...]

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

    def known_at(self, seq: int) -> Books:
        """The books as they stood when record ``seq`` had just been learned."""
        return build([r for r in self.records if r.seq <= seq])

    def gauged_in(self, tank: str, index: Any) -> Any:
        """True where ``tank`` was gauged in the reading of that ``index`` (array)."""
        samples = self.samples.get(tank)
        if samples is None:
            return np.zeros(np.shape(index), dtype=bool)
        real = samples.t_ms[samples.real]
        lo = np.searchsorted(real, self.readings.start_ms[index], side="left")
        hi = np.searchsorted(real, self.readings.end_ms[index], side="right")
        return hi > lo


@lru_cache(maxsize=64)
def _rig_of(text: str) -> Rig:
    return document.parse(text, "rig").rig


def build(records: Sequence[Record]) -> Books:
    """Books of ``records`` (any order). The first rig record must be among them: RigFileError without one."""
    ordered = tuple(sorted(records, key=lambda r: r.seq))
    eff = effective(ordered)
    rig_records = [r for r in eff.records if r.kind == RIG]
    if not rig_records:
        raise RigFileError("The log holds no rig. Adopt a rig file first.")
    rigs = tuple((r.t_ms, _rig_of(str(r.payload["text"]))) for r in rig_records)
    moves, move_findings = movements(eff.records)
    dips, readings, dip_findings = gather(eff.records, rigs, eff.strikes)
    line, samples, line_findings = line_up(eff.records, rigs, dips, moves)
    pumps, pump_findings = state.pumps(eff.records, rigs)
    depths, depth_findings = state.depths(eff.records)
    books = Books(ordered, eff, rigs, max(r.seq for r in rig_records), samples, readings, line, moves, pumps, depths,
                  state.activities(eff.records), state.unwatched(eff.records), (),
                  (*move_findings, *dip_findings, *line_findings, *pump_findings, *depth_findings))
    zeros, zero_findings = _zeros(books)
    return replace(books, zeros=zeros, findings=(*books.findings, *zero_findings))


def learn(books: Books, records: Sequence[Record]) -> tuple[Books, int | None]:
    """Books with ``records`` added, and the earliest time they touch [UTC ms] (None if none were given)."""
    if not records:
        return books, None
    touched = min(r.t_ms for r in records)
    by_uid = {r.uid: r for r in books.records}
    for r in records:
        if r.supersedes and r.supersedes in by_uid:
            touched = min(touched, by_uid[r.supersedes].t_ms)
    return build((*books.records, *records)), touched


def _zeros(books: Books) -> tuple[tuple[Zero, ...], tuple[Finding, ...]]:
    given = [r for r in books.eff.records if r.kind == "zero"]
    findings: list[Finding] = []
    zeros: list[Zero] = []
    for r in given:
        t = all_gauged_from(books, r.t_ms, lambda at: books.line.active_at(at))
        if t is None:
            findings.append(Finding("The difference was zeroed before every active tank was gauged: it starts when "
                                    "they all are.", code="zero_waits", t_ms=r.t_ms))
        elif t > r.t_ms:
            findings.append(Finding("The zero took effect late, when every active tank had been gauged.",
                                    code="zero_late", severity="note", t_ms=t))
        zeros.append(Zero(r.t_ms, t, True, r.author, str(r.payload.get("reason") or r.reason),
                          r.payload.get("length_m")))
    if not given and len(books.readings):
        t = all_gauged_from(books, int(books.readings.end_ms[0]), lambda at: books.line.active_at(at))
        if t is not None:
            zeros.append(Zero(t, t, False, "", "", None))
            findings.append(Finding("Nobody zeroed the difference: it starts at the first time when every active tank "
                                    "was gauged.", code="no_zero", severity="note", t_ms=t))
    if zeros and zeros[-1].stand_m is None and books.rig.pipe is not None:
        findings.append(Finding("The full pipe above the rotary at the zero wasn't given: a whole stand is assumed.",
                                code="zero_length", severity="note", t_ms=zeros[-1].t_ms))
    return tuple(zeros), tuple(findings)


def all_gauged_from(books: Books, t_ms: int, members: Callable[[int], frozenset[str]]) -> int | None:
    """The first time at or after ``t_ms`` [UTC ms] by which every tank of ``members(time)`` had been gauged."""
    def missing(at: int) -> bool:
        names = members(at)
        return not names or any(n not in books.samples or int(books.samples[n].index_at(at)) < 0 for n in names)

    if not missing(t_ms):
        return t_ms
    ends = books.readings.end_ms
    for end in ends[np.searchsorted(ends, t_ms, side="left"):]:
        if not missing(int(end)):
            return int(end)
    return None
