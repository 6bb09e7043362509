"""What people said of connections: which are accepted, and which band was adopted from them, in force from when.

A band is learned from connections that a person accepted, by an entry of its own, and then stays as it is: what is
accepted afterwards doesn't widen it until somebody adopts one anew. What is taken back leaves it at once. So the band
that a connection is held against follows from entries with a time and a name, and from nothing else.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isnan

from dipbook.books import Books
from dipbook.entries.kinds import ACCEPTED, ADOPTED
from dipbook.findings import Finding
from dipbook.flowback.curves import Connection, find, hole_at, stops
from dipbook.flowback.envelope import FEWEST, alike
from dipbook.records import Record

NEAR_MS = 60_000
"""An entry names the connection whose pumps stopped within this of its time: clocks are read to the minute."""
UNKNOWN_SECTION = "unknown"


@dataclass(frozen=True, slots=True)
class Said:
    """What a person said of one connection. accepted; by: who; t_ms: when the pumps stopped by the entry; learned_ms:
    when it was entered [UTC ms]; remark; uid, seq: of the entry."""

    accepted: bool
    by: str
    t_ms: int
    learned_ms: int
    remark: str
    uid: str
    seq: int


@dataclass(frozen=True)
class Band:
    """One adoption: a band in force.

    t_ms: in force from; learned_ms: when it was entered [UTC ms]. flow_m3_s: for which flow [m3/s]. section: of the
    hole then, "" where the rig file describes none. by; remark; uid. members: the accepted connections that it is
    learned from, oldest first; without those taken back since.
    """

    t_ms: int
    learned_ms: int
    flow_m3_s: float
    section: str
    by: str
    remark: str
    uid: str
    members: tuple[Connection, ...]


def section_at(books: Books, t_ms: int, hole_m: float) -> str:
    """The section of the hole that its bottom is in: its name; "" where the rig file describes none, "unknown" where
    the depth isn't known. Below the deepest that is described it is that one.

    books: of the log. t_ms: by the rig file of then [UTC ms]. hole_m: depth of the hole [m], NaN unknown.
    """
    hole = books.rig_at(t_ms).sections
    if hole is None:
        return ""
    if isnan(hole_m):
        return UNKNOWN_SECTION
    return next((s.name for s in hole.sections if hole_m <= s.bottom_m), hole.sections[-1].name)


def said_of(books: Books) -> Mapping[int, Said]:
    """What was said last of each connection that somebody spoke of: when its pumps stopped [UTC ms] -> that.

    books: of the log. Entries that name no stop of the pumps are left out: see ``findings``.
    """
    key = ("said of connections", "")
    if key not in books.worked_out:
        found: dict[int, Said] = {}
        for off_ms, said in _entries(books):
            if off_ms is not None:
                found[off_ms] = said
        books.worked_out[key] = found
    made: Mapping[int, Said] = books.worked_out[key]
    return made


def _entries(books: Books) -> list[tuple[int | None, Said]]:
    """(when the pumps stopped, what was said) by order of learning."""
    offs = [s.off_ms for s in stops(books)]
    found: list[tuple[int | None, Said]] = []
    for r in sorted((r for r in books.eff.records if r.kind == "connection"), key=lambda r: r.seq):
        nearest = min(offs, key=lambda off: abs(off - r.t_ms), default=None)
        near = nearest is not None and abs(nearest - r.t_ms) <= NEAR_MS
        found.append((nearest if near else None, Said(
            r.payload.get("state") == ACCEPTED, r.author, r.t_ms, r.learned_ms, str(r.payload.get("remark") or ""),
            r.uid, r.seq)))
    return found


def bands(books: Books) -> tuple[tuple[Record, Band | None], ...]:
    """Every adoption and withdrawal, by when it is in force from: (entry, its band, None for a withdrawal).

    books: of the log.
    """
    key = ("bands", "")
    if key not in books.worked_out:
        books.worked_out[key] = tuple((r, _band(books, r) if r.payload.get("state") == ADOPTED else None)
                                      for r in books.eff.records if r.kind == "flow-back band")
    made: tuple[tuple[Record, Band | None], ...] = books.worked_out[key]
    return made


def _band(books: Books, r: Record) -> Band:
    """A connection counts that ended before the band is in force, was accepted by the time it was adopted, and hasn't
    been taken back."""
    flow = float(r.payload["flow_m3_s"])
    section = section_at(books, r.t_ms, hole_at(books, r.t_ms))
    then: dict[int, bool] = {}
    for off_ms, said in _entries(books):
        if off_ms is not None and said.learned_ms <= r.learned_ms:
            then[off_ms] = said.accepted
    now = said_of(books)
    members = tuple(
        c for c in find(books)
        if then.get(c.off_ms) and now[c.off_ms].accepted and c.on_ms is not None and c.on_ms <= r.t_ms
        and alike(c.flow_m3_s, flow) and section_at(books, c.off_ms, c.hole_m) == section)
    return Band(r.t_ms, r.learned_ms, flow, section, r.author, str(r.payload.get("remark") or ""), r.uid, members)


def band_for(books: Books, off_ms: int, flow_m3_s: float) -> Band | None:
    """The band that a connection is held against: the last one adopted, for its section and about its flow, that was in
    force when the pumps stopped. None where there is none, it was withdrawn, or the flow isn't known.

    books: of the log. off_ms: when the pumps stopped [UTC ms]. flow_m3_s: before that [m3/s].
    """
    section = section_at(books, off_ms, hole_at(books, off_ms))
    for r, band in reversed(bands(books)):
        if r.t_ms > off_ms or not alike(flow_m3_s, float(r.payload["flow_m3_s"])):
            continue
        here = section_at(books, r.t_ms, hole_at(books, r.t_ms)) if band is None else band.section
        if here == section and here != UNKNOWN_SECTION:
            return band
    return None


def findings(books: Books) -> tuple[Finding, ...]:
    """Entries that say nothing: of no stop of the pumps, of one without a curve, or a band of too few.

    books: of the log.
    """
    curved = {c.off_ms for c in find(books)}
    found: list[Finding] = []
    for off_ms, said in _entries(books):
        if off_ms is None:
            found.append(Finding("A connection is spoken of, and no pumps stopped within a minute of that time: it is "
                                 "left aside. Give the time at which the pumps stopped.", code="no_such_connection",
                                 t_ms=said.t_ms))
        elif said.accepted and off_ms not in curved:
            found.append(Finding("A connection is accepted that has no curve: too few readings while the pumps were "
                                 "off. Nothing is learned from it.", code="accepted_no_curve", severity="note",
                                 t_ms=off_ms))
    for _, band in bands(books):
        if band is not None and len(band.members) < FEWEST:
            found.append(Finding("A flow-back band was adopted from accepted connections of its flow and section, "
                                 f"{len(band.members)} of the {FEWEST} that it needs: nothing is compared with it.",
                                 code="band_of_few", t_ms=band.t_ms))
    return tuple(found)
