"""Trips: what the hole takes for pipe that is pulled or run, by each trip's own string and way; Δ(Σ d·b) and Δ(c·Ldry).

While a trip goes on it follows the pipe in place of the terms steel and bore, which know one pipe and no bucket.
"""

from __future__ import annotations

from collections.abc import Sequence

from dipbook.books.books import Books
from dipbook.books.curve import Curve, Ramp, from_ramps
from dipbook.books.trips import Trip
from dipbook.entries.rules_of_trips import TRIP_TANK
from dipbook.findings import Finding
from dipbook.terms.system import System
from dipbook.trips import Line, Row, sheet

NO_STRING = ("What is pulled or run isn't described: the sheet of this trip tells nothing of what the hole should "
             "take, and the difference isn't watched while it goes on.")


def trip(books: Books, system: System) -> tuple[Curve, Curve]:
    """What trips gave a system (+) or took from it (−) [m3], and how far apart the bounds of that are [m3].

    books: of the log. system: which tanks; the hole's part counts while the returns reach them, and pipe filled from a
    tank while that is one of them.
    """
    ramps: list[Ramp] = []
    widths: list[Ramp] = []
    for each in books.trips:
        for step in each.steps(books.rig_at(each.begun_ms)):
            t = step.row.t_ms
            ramps += system.parts(Ramp(t, t, -step.expected.mean_m3)) if step.expected.mean_m3 else []
            widths += system.parts(Ramp(t, t, step.expected.width_m3)) if step.expected.width_m3 else []
    ramps += [Ramp(m.ramp.t0, m.ramp.t1, -m.ramp.volume) for m in books.moves
              if m.term == "trip" and m.source in system.members_at(m.ramp.t0)]
    return from_ramps(ramps), from_ramps(widths)


def sheet_of(books: Books, of: Trip) -> tuple[tuple[Line, ...], tuple[Finding, ...]]:
    """The sheet of a trip, and findings on it. books: of the log. of: the trip. Its lines' rows are those of
    ``of.sheet_rows``, equal to them."""
    key = ("sheet", of.head.uid)
    if key not in books.worked_out:
        books.worked_out[key] = _sheet(books, of)
    made: tuple[tuple[Line, ...], tuple[Finding, ...]] = books.worked_out[key]
    return made


def _sheet(books: Books, of: Trip) -> tuple[tuple[Line, ...], tuple[Finding, ...]]:
    return sheet_with(books, of, of.sheet_rows(books.rig_at(of.begun_ms)))


def sheet_with(books: Books, of: Trip, rows: Sequence[Row]) -> tuple[tuple[Line, ...], tuple[Finding, ...]]:
    """The sheet of a trip if its rows were these. books: of the log. of: the trip. rows: by time."""
    rig = books.rig_at(of.begun_ms)
    string = of.string(rig)
    if string is None:
        return (), (Finding(NO_STRING, code="trip_no_string", t_ms=of.begun_ms),)
    named = [p.output_m3 for p in rig.pumps if len(rig.pumps) == 1 or p.name == of.head.payload.get("pump")]
    pump = named[0] if named else float("nan")
    names = [t.name for t in rig.tanks if t.role == TRIP_TANK or t.name == of.tank]
    names = [n for n in names if any(n in r.levels_m for r in rows)]
    return sheet(rows, string, of.way, {n: rig.tank(n) for n in names}, stand_m=_stand(books, of),
                 stroke_m3=pump)


def _stand(books: Books, of: Trip) -> float:
    pipe = books.rig_at(of.begun_ms).pipe
    return pipe.stand_m if pipe is not None else float("nan")
