"""The trips of the log: from the entry that begins one to the one that ends it, with the rows of its sheet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import nan

import numpy as np

from dipbook.books.curve import Ramp, from_ramps
from dipbook.books.hung import Hung, slug_at
from dipbook.books.movements import OUTSIDE, Movement, tank_ramps
from dipbook.books.samples import Samples
from dipbook.entries.kinds import ACTIVE, FLOW_LINE, OUT, TRIP, TRIP_END
from dipbook.entries.rules_of_trips import TRIP_TANK
from dipbook.findings import Finding
from dipbook.mud.hanging import Hanging
from dipbook.records import TRIP_ROW, Draft, Record
from dipbook.rig.model import Rig
from dipbook.tanks.tank import Tank
from dipbook.trips import Row, Step, Way, steps
from dipbook.trips.rows import FILL, REFILL, STAND
from dipbook.trips.ways import CLOSED, DRY, OPEN, SELF_FILLING, WET
from dipbook.tubulars import TubularError, find
from dipbook.well import String, of

OVER = ("drilling", "connection")
"""Activities in which no trip goes on: an entry of one ends a trip that nobody ended."""
NOT_ENDED = ("Drilling was logged while a trip was under way: the trip counts as ended there, unless another row of it "
             "comes. End it on the Trip page.")
GOES_ON = ("A trip was begun while one of the same direction was under way: that one goes on, and so do its "
           "sums.")
BY_ANOTHER = ("A trip was begun before the one under way was ended: its sums start anew there. What the other one "
              "stood at is still in the well.")
UNKNOWN_MOVE = ("What the hole should take for a move of this trip isn't known, and the books count nothing for it: "
                "the difference misses it. Check the bit depth against the string's length.")
CIRCULATED = ("The pumps came on while a trip was under way, and by the log the returns go to its trip tank: what the "
              "lines and the well give back is looked for there. If they go to the active tanks, log where the flow "
              "line goes.")
NO_TRIP = ("A row of a trip's sheet lies in no trip: it is kept, and what the hole should take isn't worked out for "
           "it.")


@dataclass(frozen=True, slots=True)
class Trip:
    """One trip. head: the entry that began it. begun_ms; end_ms: None while it goes on [UTC ms]. end: the entry that
    ended it, if one did. rows: of its sheet, and what else moves its pipe, by time: bit depths logged meanwhile, and
    entries that say that it goes on another way (wet from here). slugs: of the log, that hang in its pipe."""

    head: Record
    begun_ms: int
    end_ms: int | None
    end: Record | None
    rows: tuple[Record, ...]
    slugs: tuple[Hung, ...] = ()
    _asked: dict[int, tuple[Rig, tuple[Step, ...]]] = field(default_factory=dict, init=False, compare=False, repr=False)
    """What ``steps`` was asked before, by the rig; a trip of other rows begins with none of it."""

    @property
    def out(self) -> bool:
        """True out of the hole."""
        return self.head.payload.get("direction") == OUT

    @property
    def tank(self) -> str:
        """The trip tank that it began with, "" without one."""
        return str(self.head.payload.get("tank") or "")

    def way(self, rig: Rig) -> Way:
        """How its pipe is moved when it begins. rig: for its float, where the trip doesn't say."""
        return _way(self.head, rig)

    def way_now(self, rig: Rig) -> Way:
        """How its pipe is moved by now. rig: as of ``way``."""
        return _way(next((r for r in reversed(self.rows) if r.kind == TRIP), self.head), rig)

    def string(self, rig: Rig) -> String | None:
        """What is pulled or run: the pipe it names, or the string of the ``rig``; None where neither is known."""
        named = self.head.payload.get("pipe")
        if not named:
            return rig.whole_string
        try:
            return String((of(find(str(named))),))
        except TubularError:
            return None

    def stroke_m3(self, rig: Rig) -> float:
        """Output of the pump that fills by strokes [m3]: the one it names, or the rig's only one; NaN else."""
        named = [p.output_m3 for p in rig.pumps if len(rig.pumps) == 1 or p.name == self.head.payload.get("pump")]
        return named[0] if named else nan

    def sheet_rows(self, rig: Rig) -> tuple[Row, ...]:
        """Its rows for the sheet, the first of them the bit depth it began at. rig: for the tanks' geometry."""
        return tuple(replace(sheet_row(r, rig), slug=self.slug_at(r.t_ms)) for r in (self.head, *self.rows))

    def slug_at(self, t_ms: int) -> Hanging | None:
        """The slug that hangs in its pipe, the rig's own; None without one, or in other pipe. t_ms: when [UTC ms]."""
        return None if self.head.payload.get("pipe") else slug_at(self.slugs, t_ms)

    def tanks(self, rig: Rig) -> tuple[str, ...]:
        """The trip tanks that its rows give levels of; the one it began with where none does. rig: as it was then."""
        given = {d.tank for r in self.rows for d in r.dips}
        found = tuple(t.name for t in rig.tanks if t.name in given and (t.role == TRIP_TANK or t.name == self.tank))
        return found or ((self.tank,) if self.tank in {t.name for t in rig.tanks} else ())

    def steps(self, rig: Rig, *more: Row) -> tuple[Step, ...]:
        """What each of its rows asks of the hole, the beginning first; () where its string isn't known. rig: as it was
        then. more: rows that might follow."""
        if more:
            return self._steps(rig, more)
        if id(rig) not in self._asked:      # with the rig, so that its id is nobody else's
            self._asked[id(rig)] = (rig, self._steps(rig))
        return self._asked[id(rig)][1]

    def _steps(self, rig: Rig, more: tuple[Row, ...] = ()) -> tuple[Step, ...]:
        string = self.string(rig)
        if string is None:
            return ()
        stand = rig.pipe.stand_m if rig.pipe is not None else nan
        return steps((*self.sheet_rows(rig), *more), string, self.way(rig), self.tanks(rig), stand_m=stand,
                     stroke_m3=self.stroke_m3(rig), upward=self.out)


def _way(r: Record | Draft, rig: Rig) -> Way:
    """How pipe is moved by an entry that begins a trip. Back down on a trip out goes by the rig's float, and both
    bounds count where nobody says what that is. Back up on a trip in takes along what the float holds in the pipe."""
    p = r.payload
    described = rig.pipe.float_closed if rig.pipe is not None else None
    of_rig = {True: CLOSED, False: OPEN, None: SELF_FILLING}[described]
    if p.get("direction") == OUT:
        return Way(str(p.get("pulled") or DRY), of_rig, float(p.get("returned_percent") or 0.0) / 100.0)
    running = str(p.get("float") or of_rig)
    return Way(DRY if running == OPEN else WET, running)


def pipe_fills(found: Sequence[Trip], rigs: Sequence[tuple[int, Rig]]) -> tuple[Movement, ...]:
    """Mud that went into the well from tanks that are no trip tanks: it filled run pipe, or was pumped by strokes.

    found: the trips. rigs: (in force from [UTC ms], rig), by time.
    """
    moves: list[Movement] = []
    for trip in found:
        for record, step in zip(trip.rows, trip.steps(rig_of(rigs, trip.begun_ms))[1:], strict=False):
            for volume, source in ((step.filled_m3, step.row.source), (step.pumped_m3, ACTIVE if trip.tank else "")):
                if volume and source:
                    moves.append(Movement("trip", source, OUTSIDE, Ramp(record.t_ms, record.t_ms, volume), record.uid))
    return tuple(moves)


def refills(found: Sequence[Trip], dips: Mapping[str, Samples], moves: Sequence[Movement]) -> tuple[Movement, ...]:
    """What trip tanks were filled by, or emptied of: by how much they rose or fell between two dips, less what was
    logged between them. found: the trips. dips: by tank. moves: logged by entries.
    """
    made: list[Movement] = []
    for trip in found:
        for r in trip.rows:
            name = next((d.tank for d in r.dips), "")
            places = {str(r.payload.get("from") or ""), str(r.payload.get("to") or "")} - {"", name}
            if r.payload.get("what") != REFILL or name not in dips or len(places) != 1:
                continue
            s, other = dips[name], places.pop()
            i = int(np.searchsorted(s.t_ms, r.dips[0].t_ms))
            if not 0 < i < len(s) or s.t_ms[i] != r.dips[0].t_ms or s.seq[i] != r.seq:
                continue
            logged = from_ramps(tank_ramps(moves, name))
            rose = float(s.volume_m3[i] - s.volume_m3[i - 1]) - float(logged.at(s.t_ms[i]) - logged.at(s.t_ms[i - 1]))
            if rose and not np.isnan(rose):
                source, target = (other, name) if rose > 0.0 else (name, other)
                made.append(Movement("transfers", source, target, Ramp(r.t_ms, r.t_ms, abs(rose)), r.uid))
    return tuple(made)


def depths_reached(found: Sequence[Trip], rigs: Sequence[tuple[int, Rig]]) -> dict[str, float]:
    """uid of each record that a trip moved its pipe by -> bit depth after it [m], NaN unknown: also where stands were
    counted. found: the trips. rigs: (in force from [UTC ms], rig), by time."""
    reached: dict[str, float] = {}
    for trip in found:
        reached |= {r.uid: nan for r in trip.rows}
        reached |= {r.uid: step.bit_m for r, step in
                    zip(trip.rows, trip.steps(rig_of(rigs, trip.begun_ms))[1:], strict=False)}
    return reached


def unknown_moves(found: Sequence[Trip], rigs: Sequence[tuple[int, Rig]]) -> tuple[Finding, ...]:
    """Findings on moves of which the books count nothing. found: the trips. rigs: (in force from [UTC ms], rig)."""
    return tuple(Finding(UNKNOWN_MOVE, code="trip_move_unknown", t_ms=step.row.t_ms) for trip in found
                 for step in trip.steps(rig_of(rigs, trip.begun_ms)) if not step.known)


def circulated(found: Sequence[Trip], records: Sequence[Record]) -> tuple[Finding, ...]:
    """Findings on pumps that ran while a trip's returns are booked to its trip tank. found: the trips. records:
    effective, by time."""
    turned = [r.t_ms for r in records if r.kind == "line-up" and r.payload.get("tank") == FLOW_LINE]
    made: list[Finding] = []
    for trip in found:
        ends = 2**62 if trip.end_ms is None else trip.end_ms
        on = next((r for r in records if r.kind == "pumps" and r.payload.get("state") == "on"
                   and trip.begun_ms <= r.t_ms < ends), None)
        if trip.tank and on is not None and not any(trip.begun_ms <= t <= on.t_ms for t in turned):
            made.append(Finding(CIRCULATED, code="trip_circulated", t_ms=on.t_ms))
    return tuple(made)


def rig_of(rigs: Sequence[tuple[int, Rig]], t_ms: int) -> Rig:
    """The rig in force at a time. rigs: (in force from [UTC ms], rig), by time. t_ms [UTC ms]."""
    return next((r for start, r in reversed(rigs) if start <= t_ms), rigs[0][1])


def sheet_row(r: Record | Draft, rig: Rig) -> Row:
    """A row of the sheet, of its record. r: a trip row, a bit depth logged meanwhile, or an entry that a trip begins
    or goes on by. rig: for the geometry."""
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
    what = str(p.get("what") or STAND) if r.kind == TRIP_ROW else FILL
    return Row(r.t_ms, what, None if stand is None else int(stand),
               nan if bit is None else float(bit), levels, None if strokes is None else float(strokes),
               str(p.get("from") or ""), str(p.get("remark") or ""), way=_way(r, rig) if r.kind == TRIP else None)


@dataclass
class _Open:
    """A trip that goes on. drilling: an entry after which none goes on, unless another row of it comes."""

    head: Record
    rows: list[Record] = field(default_factory=list)
    drilling: Record | None = None

    def closed(self, t_ms: int | None, end: Record | None, *, by_another: bool = False) -> Trip:
        if t_ms is not None and self.rows and not by_another:
            t_ms = max(t_ms, self.rows[-1].t_ms + 1)
        return Trip(self.head, self.head.t_ms, t_ms, end, tuple(self.rows))


def trips(records: Sequence[Record], slugs: tuple[Hung, ...] = ()) -> tuple[tuple[Trip, ...], tuple[Finding, ...]]:
    """The trips and findings. records: effective, by time. slugs: that hang in the pipe. One that begins the other
    way, or with other pipe, ends the one before; one that begins the same way goes on with it, and with its sums."""
    found: list[Trip] = []
    findings: list[Finding] = []
    now: _Open | None = None
    for r in records:
        if now is not None and now.drilling is not None and r.kind in (TRIP, TRIP_ROW, TRIP_END):
            if r.kind == TRIP:
                found.append(now.closed(now.drilling.t_ms, None))
                now = None
            else:
                now.drilling = None
        if r.kind == TRIP and now is not None and _goes_on(now.head, r):
            now.rows.append(r)
            findings.append(Finding(GOES_ON, code="trip_goes_on", severity="note", t_ms=r.t_ms))
        elif r.kind == TRIP:
            if now is not None:
                found.append(now.closed(r.t_ms, None, by_another=True))
                findings.append(Finding(BY_ANOTHER, code="trip_by_another", t_ms=r.t_ms))
            now = _Open(r)
        elif r.kind == "depth" and now is not None and now.drilling is None:
            now.rows += [r] if r.payload.get("bit_depth_m") is not None else []
        elif r.kind == TRIP_ROW:
            if now is None and found and _of_the_last_minute(r, found[-1]):
                last = found.pop()
                found.append(replace(last, rows=(*last.rows, r), end_ms=r.t_ms + 1))
            elif now is None:
                findings.append(Finding(NO_TRIP, code="row_without_trip", t_ms=r.t_ms))
            else:
                now.rows.append(r)
        elif now is not None and r.kind == TRIP_END:
            found.append(now.closed(r.t_ms, r))
            now = None
        elif now is not None and r.kind == "activity" and r.payload.get("activity") in OVER:
            now.drilling = now.drilling or r
            findings.append(Finding(NOT_ENDED, code="trip_not_ended", severity="note", t_ms=r.t_ms))
    if now is not None:
        found.append(now.closed(None if now.drilling is None else now.drilling.t_ms, None))
    return tuple(replace(trip, slugs=slugs) for trip in found), tuple(findings)


def _goes_on(head: Record, r: Record) -> bool:
    """True for an entry of the same direction and pipe."""
    return all(head.payload.get(key) == r.payload.get(key) for key in ("direction", "pipe"))


def _of_the_last_minute(row: Record, trip: Trip) -> bool:
    """True for a row that was logged before its trip was ended, in the minute that the end was given as."""
    return (trip.end is not None and trip.end_ms is not None and row.t_ms - trip.end.t_ms < 60_000
            and row.seq < trip.end.seq)


def trip_at(found: Sequence[Trip], t_ms: int) -> Trip | None:
    """The trip under way at a time, None without one. found: of the log, by time. t_ms [UTC ms]."""
    return next((t for t in reversed(found) if t.begun_ms <= t_ms and (t.end_ms is None or t_ms < t.end_ms)), None)
