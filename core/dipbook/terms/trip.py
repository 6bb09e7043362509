"""Trips: what the hole takes for pipe that is pulled or run, by each trip's own string and way; Δ(Σ d·b) and Δ(c·Ldry).

While a trip goes on it follows the pipe in place of the terms steel and bore, which know one pipe and no bucket.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from dipbook.books.books import Books
from dipbook.books.curve import Curve, Ramp, from_ramps
from dipbook.books.trips import Trip
from dipbook.entries.kinds import ACTIVE
from dipbook.entries.rules_of_trips import TRIP_TANK
from dipbook.findings import Finding
from dipbook.records import Record
from dipbook.terms.system import ACTIVE_SYSTEM, ALL_SURFACE, System
from dipbook.trips import Line, Row, sheet

NO_STRING = ("What is pulled or run isn't described: the sheet of this trip tells nothing of what the hole should "
             "take, and the difference isn't watched while it goes on.")


def trip(books: Books, system: System) -> tuple[Curve, Curve]:
    """What trips gave a system (+) or took from it (−) [m3], and how far apart the bounds of that are [m3].

    books: of the log. system: which tanks; the hole's part counts while the returns reach them, and pipe filled from a
    tank while that is one of them.
    """
    widths: list[Ramp] = []
    for each in books.trips:
        for step in each.steps(books.rig_at(each.begun_ms)):
            t = step.row.t_ms
            widths += system.parts(Ramp(t, t, step.expected.width_m3)) if step.expected.width_m3 else []
    return from_ramps(ramp for _, ramp in tripped_by(books, system)), from_ramps(widths)


def tripped_by(books: Books, system: System) -> list[tuple[str, Ramp]]:
    """(uid of the row, what it gave the system or took from it): the hole's part, then pipe filled from a tank.

    books: of the log. system: as of ``trip``.
    """
    found: list[tuple[str, Ramp]] = []
    for each in books.trips:
        steps = each.steps(books.rig_at(each.begun_ms))
        for record, step in zip((each.head, *each.rows), steps, strict=False):
            t = step.row.t_ms
            took = step.expected.mean_m3 - (step.pumped_m3 if each.tank else 0.0)     # the rest came from the active
            found += [(record.uid, ramp) for ramp in system.parts(Ramp(t, t, -took))] if took else []
    found += [(m.uid, Ramp(m.ramp.t0, m.ramp.t1, -m.ramp.volume)) for m in books.moves
              if m.term == "trip" and (m.source in system.members_at(m.ramp.t0) or
                                       (m.source == ACTIVE and system.name in (ACTIVE_SYSTEM, ALL_SURFACE)))]
    return found


def sheet_of(books: Books, of: Trip) -> tuple[tuple[Line, ...], tuple[Finding, ...]]:
    """The sheet of a trip, and findings on it. books: of the log. of: the trip. The tanks hold what the books say they
    held, by the dips that stand, and what was logged into or out of them the hole didn't take.
    """
    key = ("sheet", of.head.uid)
    if key not in books.worked_out:
        books.worked_out[key] = sheet_with(books, of, rows_of(books, of))
    made: tuple[tuple[Line, ...], tuple[Finding, ...]] = books.worked_out[key]
    return made


def rows_of(books: Books, of: Trip) -> tuple[Row, ...]:
    """The rows of a trip by what the books hold, its beginning first. books: of the log. of: the trip."""
    rows = of.sheet_rows(books.rig_at(of.begun_ms))
    return tuple(_by_the_books(books, row, r) for row, r in zip(rows, (of.head, *of.rows), strict=True))


def _by_the_books(books: Books, row: Row, r: Record) -> Row:
    """A row with the volumes that the books have for its dips; those struck out, or that couldn't be read, are left
    out."""
    volumes: dict[str, tuple[float, float]] = {}
    for d in r.dips:
        s = books.dips.get(d.tank)
        i = int(np.searchsorted(s.t_ms, d.t_ms)) if s is not None else 0
        if s is None or i >= len(s) or s.t_ms[i] != d.t_ms or s.seq[i] != r.seq or bool(s.unread()[i]):
            continue
        volumes[d.tank] = float(s.volume_m3[i]), float(s.u_m3[i]) ** 2
    levels = {name: level for name, level in row.levels_m.items() if name in volumes}
    return replace(row, volumes=volumes if r.dips else None, levels_m=levels, logged=logged_by(books, row))


def logged_by(books: Books, row: Row) -> dict[str, float]:
    """Tank -> all that was logged into it by a row, cumulative [m3]. books: of the log. row: of a sheet."""
    return {name: float(books.logged(name).at(row.t_ms)) for name in row.levels_m}


def sheet_with(books: Books, of: Trip, rows: Sequence[Row]) -> tuple[tuple[Line, ...], tuple[Finding, ...]]:
    """The sheet of a trip if its rows were these. books: of the log. of: the trip. rows: by time."""
    rig = books.rig_at(of.begun_ms)
    string = of.string(rig)
    if string is None:
        return (), (Finding(NO_STRING, code="trip_no_string", t_ms=of.begun_ms),)
    names = [t.name for t in rig.tanks if t.role == TRIP_TANK or t.name == of.tank]
    names = [n for n in names if any(n in r.levels_m for r in rows)]
    stand = rig.pipe.stand_m if rig.pipe is not None else float("nan")
    return sheet([_of_tanks(r, names) for r in rows], string, of.way(rig), {n: rig.tank(n) for n in names},
                 stand_m=stand, stroke_m3=of.stroke_m3(rig), upward=of.out)


def _of_tanks(row: Row, names: Sequence[str]) -> Row:
    """A row without what it says of tanks that are no trip tanks."""
    if row.volumes is None or set(row.volumes) <= set(names):
        return row
    return replace(row, volumes={n: v for n, v in row.volumes.items() if n in names})
