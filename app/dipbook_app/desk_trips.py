"""What becomes of a row of a trip's sheet at the desk: worked out while it is typed, and made a record."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf, nan

import numpy as np

from dipbook import composing
from dipbook.books import Books
from dipbook.books.trips import Trip, sheet_row, trip_at
from dipbook.entries import trip_rows
from dipbook.entries.dipping import Before
from dipbook.entries.kinds import IN, TRIP
from dipbook.entries.rules_of_trips import TRIP_TANK
from dipbook.exchange.times import offset_min
from dipbook.findings import Finding
from dipbook.records import Draft
from dipbook.situation import TripRowView
from dipbook_app import door

ON_BOTTOM_M = 1.0
"""A bit this near the bottom is on it (our choice)."""
NO_TRIP = "No trip is under way: begin one first."


@dataclass(frozen=True, slots=True)
class Typed:
    """A row as typed. what: of trips.sheet.KINDS. fields, levels: texts. t_ms: when [UTC ms]. supersedes: uid of the
    row that it corrects, then with a reason."""

    what: str
    fields: Mapping[str, str]
    levels: Mapping[str, str]
    t_ms: int
    supersedes: str | None = None
    reason: str = ""


def draft(books: Books, typed: Typed, *, author: str, now_ms: int, units: Mapping[str, str],
          ) -> tuple[Draft | None, tuple[Finding, ...]]:
    """The record that a row would be, or what is wrong. books: of the log. author: who enters it. now_ms: the desk's
    clock [UTC ms]. units: dimension -> symbol of bare numbers."""
    corrected = next((r for r in books.records if r.uid == typed.supersedes), None)
    trip = trip_at(books.trips, typed.t_ms) if corrected is None else next(
        (t for t in books.trips if any(r.uid == corrected.uid for r in t.rows)), None)
    findings = (*door.ahead(typed.t_ms, "time", now_ms), *door.gone(books, typed.supersedes))
    if trip is None and not findings:
        findings = (Finding(NO_TRIP, code="no_trip", severity="error", kept=False),)
    rig = books.rig_at(typed.t_ms)
    made, more = trip_rows.make(
        typed.what, typed.fields, typed.levels, t_ms=typed.t_ms, rig=rig, author=author, learned_ms=now_ms,
        tanks=_tanks(books, trip), deepest_m=_deepest(books, trip),
        before={name: before(books, name, typed.t_ms) for name in typed.levels}, units=units,
        supersedes=typed.supersedes, reason=typed.reason, offset_min=offset_min(typed.t_ms, rig.zone))
    found = (*findings, *more)
    return (None if any(f.severity == "error" for f in found) else made), found


def doubts(books: Books, made: Draft | None) -> tuple[Finding, ...]:
    """What a trip that begins has against it by the log: with the bit on bottom nothing runs in any deeper.

    books: of the log. made: its entry, None where it is refused already.
    """
    if made is None or made.kind != TRIP or made.payload.get("direction") != IN:
        return ()
    i = int(np.searchsorted(books.depths.t_ms, made.t_ms, side="right")) - 1
    hole = float(books.depths.hole_m[i]) if i >= 0 else nan
    if not float(made.payload["bit_depth_m"]) >= hole - ON_BOTTOM_M:
        return ()
    return (Finding("by the log the bit is on bottom there: nothing runs in any deeper. Is it a trip out?",
                    code="on_bottom", severity="error", column="direction", kept=False),)


def _tanks(books: Books, trip: Trip | None) -> tuple[str, ...]:
    """Trip tanks of the rig, and the one that the trip began with."""
    names = [t.name for t in books.rig.tanks if t.role == TRIP_TANK]
    return tuple(dict.fromkeys([*names, *([trip.tank] if trip is not None and trip.tank else [])]))


def _deepest(books: Books, trip: Trip | None) -> float:
    string = None if trip is None else trip.string(books.rig_at(trip.begun_ms))
    return inf if string is None else string.length_m


def before(books: Books, tank: str, t_ms: int) -> Before:
    """What the log knows of a tank before a time: its last dip, and what was logged on it since. books: of the log.
    tank: its name. t_ms [UTC ms]."""
    s = books.dips.get(tank)
    i = int(s.index_at(t_ms - 1)) if s is not None else -1
    if s is None or i < 0:
        return Before()
    level, volume, u = (float(column[i]) for column in (s.level_m, s.volume_m3, s.u_m3))
    logged = books.logged(tank)
    booked = float(logged.at(t_ms)) - float(logged.at(s.t_ms[i]))
    return Before(level if level == level else None, volume if volume == volume else None, u if u == u else None,
                  int(s.t_ms[i]), booked)


def preview(books: Books, made: Draft, supersedes: str | None) -> TripRowView | None:
    """What a row comes to, nothing stored. books: of the log. made: its draft. supersedes: uid of the row corrected."""
    rig = books.rig_at(made.t_ms)
    levels = tuple((d.tank, d.as_typed) for d in made.dips)
    return composing.preview(books, sheet_row(made, rig), levels, supersedes)
