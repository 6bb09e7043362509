"""The trips of the log: from the entry that begins one to the one that ends it, with the rows of its sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from math import nan
from typing import Any

import numpy as np

from dipbook.books.curve import Ramp
from dipbook.books.movements import OUTSIDE, Movement
from dipbook.entries.kinds import OUT, TRIP, TRIP_END
from dipbook.entries.rules_of_trips import TRIP_TANK
from dipbook.findings import Finding
from dipbook.records import TRIP_ROW, Draft, Record
from dipbook.rig.model import Rig
from dipbook.tanks.tank import Tank
from dipbook.trips import Row, Step, Way, steps
from dipbook.trips.sheet import FILL, STAND
from dipbook.trips.ways import CLOSED, DRY
from dipbook.tubulars import TubularError, find
from dipbook.well import String, of

OVER = ("drilling", "connection")
"""Activities in which no trip goes on: an entry of one ends a trip that nobody ended."""
NOT_ENDED = "Drilling was logged while a trip was under way: the trip counts as ended there. End it on the Trip page."
NO_TRIP = "A row of a trip's sheet lies in no trip: it is kept, and what the hole should take isn't worked out for it."


@dataclass(frozen=True, slots=True)
class Trip:
    """One trip. head: the entry that began it. begun_ms; end_ms: None while it goes on [UTC ms]. end: the entry that
    ended it, if one did. rows: of its sheet, and bit depths logged meanwhile, by time."""

    head: Record
    begun_ms: int
    end_ms: int | None
    end: Record | None
    rows: tuple[Record, ...]

    @property
    def out(self) -> bool:
        """True out of the hole."""
        return self.head.payload.get("direction") == OUT

    @property
    def tank(self) -> str:
        """The trip tank that it began with, "" without one."""
        return str(self.head.payload.get("tank") or "")

    @property
    def way(self) -> Way:
        """How its pipe is moved."""
        p = self.head.payload
        return Way(str(p.get("pulled") or DRY), str(p.get("float") or CLOSED),
                   float(p.get("returned_percent") or 0.0) / 100.0)

    def string(self, rig: Rig) -> String | None:
        """What is pulled or run: the pipe it names, or the string of the ``rig``; None where neither is known."""
        named = self.head.payload.get("pipe")
        if not named:
            return rig.whole_string
        try:
            return String((of(find(str(named))),))
        except TubularError:
            return None

    def sheet_rows(self, rig: Rig) -> tuple[Row, ...]:
        """Its rows for the sheet, the first of them the bit depth it began at. rig: for the tanks' geometry."""
        first = Row(self.begun_ms, FILL, bit_m=float(self.head.payload.get("bit_depth_m", nan)))
        return (first, *(sheet_row(r, rig) for r in self.rows))


    def tanks(self, rig: Rig) -> tuple[str, ...]:
        """The trip tanks that its rows give levels of; the one it began with where none does. rig: as it was then."""
        given = {d.tank for r in self.rows for d in r.dips}
        found = tuple(t.name for t in rig.tanks if t.name in given and (t.role == TRIP_TANK or t.name == self.tank))
        return found or ((self.tank,) if self.tank in {t.name for t in rig.tanks} else ())

    def steps(self, rig: Rig) -> tuple[Step, ...]:
        """What each of its rows asks of the hole, the beginning first; () where its string isn't known. rig: as it was
        then."""
        string = self.string(rig)
        if string is None:
            return ()
        stand = rig.pipe.stand_m if rig.pipe is not None else nan
        return steps(self.sheet_rows(rig), string, self.way, self.tanks(rig), stand_m=stand)


def pipe_fills(found: Sequence[Trip], rigs: Sequence[tuple[int, Rig]]) -> tuple[Movement, ...]:
    """Mud that filled run pipe from tanks that are no trip tanks: moved out of them. found: the trips. rigs: (in force
    from [UTC ms], rig), by time."""
    moves: list[Movement] = []
    for trip in found:
        rig = next((r for start, r in reversed(rigs) if start <= trip.begun_ms), rigs[0][1])
        for record, step in zip(trip.rows, trip.steps(rig)[1:], strict=False):
            if step.filled_m3:
                moves.append(Movement("trip", step.row.source, OUTSIDE, Ramp(record.t_ms, record.t_ms, step.filled_m3),
                                      record.uid))
    return tuple(moves)


def sheet_row(r: Record | Draft, rig: Rig) -> Row:
    """A row of the sheet, of its record. r: a trip row, or a bit depth logged meanwhile. rig: for the geometry."""
    p = r.payload
    tanks: dict[str, Tank] = {t.name: t for t in rig.tanks}
    levels: dict[str, float] = {}
    for d in r.dips:
        tank = tanks.get(d.tank)
        if tank is not None and d.level_m is not None:
            levels[d.tank] = float(tank.level_of_dip(d.level_m))
        elif tank is not None and d.volume_m3 is not None:
            levels[d.tank] = float(tank.level(d.volume_m3))
    stand, bit, strokes = p.get("stand"), p.get("bit_depth_m"), p.get("strokes")
    what = FILL if r.kind == "depth" else str(p.get("what") or STAND)
    return Row(r.t_ms, what, None if stand is None else int(stand),
               nan if bit is None else float(bit), levels, None if strokes is None else float(strokes),
               str(p.get("from") or ""), str(p.get("remark") or ""))


@dataclass
class _Open:
    head: Record
    rows: list[Record] = field(default_factory=list)

    def closed(self, t_ms: int | None, end: Record | None) -> Trip:
        if t_ms is not None and self.rows:
            t_ms = max(t_ms, self.rows[-1].t_ms + 1)
        return Trip(self.head, self.head.t_ms, t_ms, end, tuple(self.rows))


def trips(records: Sequence[Record]) -> tuple[tuple[Trip, ...], tuple[Finding, ...]]:
    """The trips and findings. records: effective, by time. One that begins ends the one before."""
    found: list[Trip] = []
    findings: list[Finding] = []
    now: _Open | None = None
    for r in records:
        if r.kind == TRIP:
            if now is not None:
                found.append(now.closed(r.t_ms, None))
            now = _Open(r)
        elif r.kind == "depth" and now is not None and r.payload.get("bit_depth_m") is not None:
            now.rows.append(r)
        elif r.kind == TRIP_ROW:
            if now is None and found and _of_the_last_minute(r, found[-1]):
                last = found.pop()
                found.append(replace(last, rows=(*last.rows, r), end_ms=r.t_ms + 1))
            elif now is None:
                findings.append(Finding(NO_TRIP, code="row_without_trip", t_ms=r.t_ms))
            else:
                now.rows.append(r)
        elif now is not None and (r.kind == TRIP_END or (r.kind == "activity" and r.payload.get("activity") in OVER)):
            found.append(now.closed(r.t_ms, r if r.kind == TRIP_END else None))
            if r.kind != TRIP_END:
                findings.append(Finding(NOT_ENDED, code="trip_not_ended", severity="note", t_ms=r.t_ms))
            now = None
    if now is not None:
        found.append(now.closed(None, None))
    return tuple(found), tuple(findings)


def _of_the_last_minute(row: Record, trip: Trip) -> bool:
    """True for a row that was logged before its trip was ended, in the minute that the end was given as."""
    return (trip.end is not None and trip.end_ms is not None and row.t_ms - trip.end.t_ms < 60_000
            and row.seq < trip.end.seq)


def trip_at(found: Sequence[Trip], t_ms: int) -> Trip | None:
    """The trip under way at a time, None without one. found: of the log, by time. t_ms [UTC ms]."""
    return next((t for t in reversed(found) if t.begun_ms <= t_ms and (t.end_ms is None or t_ms < t.end_ms)), None)


def within(found: Sequence[Trip], t_ms: Any, stated: Any) -> Any:
    """True at each depth that a trip moved the bit to, or that one began at far from where the log had it. found: of
    the log. t_ms, stated: of the depths [UTC ms], see ``state.Depths``."""
    inside = np.array(stated, dtype=bool)
    for trip in found:
        inside |= (t_ms > trip.begun_ms) & (t_ms <= (2**62 if trip.end_ms is None else trip.end_ms))
    return inside
