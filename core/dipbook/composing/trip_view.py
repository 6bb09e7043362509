"""The trip under way, or the last one, as its page is given it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from math import isfinite, nan

from dipbook import posting
from dipbook.books import Books
from dipbook.books.hung import FOR_GOOD
from dipbook.books.trips import Trip, trip_at
from dipbook.composing.parts_of_posted import posted_figures
from dipbook.composing.trip_head import head, title
from dipbook.composing.trip_holds import TOTAL, passed, said
from dipbook.composing.trip_prompts import prompts, shoe
from dipbook.composing.trip_unfilled import unfilled
from dipbook.entries.kinds import TRIP_DECISION
from dipbook.entries.rules_of_trips import TRIP_TANK
from dipbook.entries.words import describe
from dipbook.exchange.times import clock, dated
from dipbook.limits import TRIP_KINDS
from dipbook.records import TRIP_ROW, Record
from dipbook.rig.model import Rig
from dipbook.situation import TripHold, TripRowView, TripView
from dipbook.terms.trip import logged_by, rows_of, sheet_of, sheet_with
from dipbook.trips import LAST_N, Expected, Line, Row
from dipbook.trips.rows import FILL, STAND


def trip_view(books: Books, now_ms: int, units: Mapping[str, str]) -> TripView | None:
    """The trip at ``now_ms`` [UTC ms]: the one under way, or else the last that ended; None before any.

    books: of the log. units: dimension -> symbol, for its words.
    """
    trip = next((t for t in reversed(books.trips) if t.begun_ms <= now_ms), None)
    if trip is None:
        return None
    key = ("trip view", f"{trip.head.uid} {sorted(units.items())}")
    if key not in books.worked_out:
        books.worked_out[key] = _view(books, trip, units)
    made: TripView = books.worked_out[key]
    return made


def preview(books: Books, row: Row, levels: tuple[tuple[str, str], ...], replaces: str | None = None,
            ) -> TripRowView | None:
    """What a row that is being typed would come to; None where no trip is under way.

    books: of the log. row: as it would be logged. levels: tank -> its dip as typed. replaces: uid of the row that it
    corrects, or None.
    """
    trip = next((t for t in books.trips if any(r.uid == replaces for r in t.rows)), trip_at(books.trips, row.t_ms))
    if trip is None:
        return None
    row = replace(row, logged=logged_by(books, row))
    rows = list(rows_of(books, trip))
    place = next((n for n, r in enumerate(trip.rows, 1) if r.uid == replaces), None)
    if place is not None:
        rows[place] = row
    else:
        rows = sorted([*rows, row], key=lambda r: r.t_ms)
    lines, _ = sheet_with(books, trip, rows)
    return _row_view("", row, next((x for x in lines if x.row is row), None), levels)


def _view(books: Books, trip: Trip, units: Mapping[str, str]) -> TripView:
    rig = books.rig_at(trip.begun_ms)
    words = _with_units(rig, units)
    lines, findings = sheet_of(books, trip)
    rows = trip.sheet_rows(rig)
    views = _rows(books, trip, rows, lines)
    told = [x for x in lines if isfinite(x.difference_m3)]
    last = lines[-1] if lines else None
    stand, bit, ahead = _next(trip, rows, rig)
    due = None if ahead is None else ahead.mean_m3
    told_once = any(r.levels_m or r.strokes is not None for r in rows)
    tank = _in_use(trip, rows)
    before = _previous(books, trip)
    density = trip.head.payload.get("density_in_kg_m3")
    fills = posting.posted(rig, trip.way_now(rig), float(density)) if trip.out and density is not None else ()
    since_fill, fill_due = unfilled(trip, rows, words, fills) if trip.end_ms is None else ("", False)
    return TripView(
        uid=trip.head.uid, begun_ms=trip.begun_ms, ended_ms=trip.end_ms, direction="out" if trip.out else "in",
        title=title(trip, rig), head=head(books, trip, words), tanks=_tanks(rig, tank), rows=views, last_n=LAST_N,
        total_m3=last.cumulative_m3 if last is not None and told else None,
        total_u_m3=_known(last.cumulative_u_m3) if last is not None and told else None,
        next_stand=stand, next_bit_m=bit, next_due_m3=due,
        next_least_m3=None if ahead is None else min(ahead.least_m3, ahead.most_m3),
        next_most_m3=None if ahead is None else max(ahead.least_m3, ahead.most_m3),
        next_dip=_next_dip(books, tank, due) if told_once else None,
        prompts=prompts(books, trip, rig), holds=_holds(books, trip, lines, _with_units(books.rig, units)),
        posted=tuple(posting.said(fills, words)), posted_figures=posted_figures(trip, fills),
        posted_findings=_posted_findings(trip, words, fills, density),
        previous="" if before is None else f"{title(before, rig)}, {dated(before.begun_ms, rig.zone)}",
        previous_bit_m=() if before is None else _column(books, before, "bit_m"),
        previous_m3=() if before is None else _column(books, before, "cumulative_m3"),
        limit_last_m3=_strictest(books.rig, TRIP_KINDS[0]), limit_total_m3=_strictest(books.rig, TOTAL),
        out_of_hole_ms=_out_of_hole(rows), findings=findings, shoe_m=shoe(rig),
        unfilled=since_fill, fill_due=fill_due,
        next_what=STAND if told_once else FILL)


def _with_units(rig: Rig, units: Mapping[str, str]) -> Rig:
    """The rig with the units that words are written in."""
    return replace(rig, units={**rig.units, **units})


def _rows(books: Books, trip: Trip, rows: Sequence[Row], lines: Sequence[Line]) -> tuple[TripRowView, ...]:
    of_row = {(x.row.t_ms, x.row.kind, x.row.stand, x.row.strokes): x for x in lines}
    found: list[TripRowView] = []
    before: int | None = None
    for record, row in zip(trip.rows, rows[1:], strict=True):
        if record.kind != TRIP_ROW:
            continue
        line = of_row.get((row.t_ms, row.kind, row.stand, row.strokes))
        levels = tuple((d.tank, d.as_typed) for d in record.dips)
        view = _row_view(record.uid, row, line, levels, by=record.author, corrects=record.supersedes is not None,
                         pace_ms=None if before is None else row.t_ms - before)
        found.append(view)
        before = row.t_ms
    return tuple(found)


def _row_view(uid: str, row: Row, line: Line | None, levels: tuple[tuple[str, str], ...], *, by: str = "",
              corrects: bool = False, pace_ms: int | None = None) -> TripRowView:
    bit = line.bit_m if line is not None else row.bit_m
    plain = TripRowView(uid, row.t_ms, row.kind, row.stand, _known(bit), levels, row.strokes, remark=row.remark, by=by,
                        corrects=corrects, pace_ms=pace_ms)
    if line is None:
        return plain
    return replace(
        plain, expected_m3=_known(line.expected_m3),
        least_m3=_known(line.least_m3), most_m3=_known(line.most_m3), actual_m3=_known(line.actual_m3),
        difference_m3=_known(line.difference_m3), u_m3=_known(line.u_m3), last_n_m3=_known(line.last_n_m3),
        cumulative_m3=_known(line.cumulative_m3), cumulative_u_m3=_known(line.cumulative_u_m3), state=line.state)


def _next(trip: Trip, rows: Sequence[Row], rig: Rig) -> tuple[int | None, float | None, Expected | None]:
    """(number, bit depth after it [m], what the hole should take by it, since the last level) of the next stand."""
    numbers = [r.stand for r in rows if r.kind == STAND and r.stand is not None]
    step = next((b - a for a, b in reversed(tuple(pairwise(numbers))) if b != a), 1)
    stand = 1 if not any(r.kind == STAND for r in rows) else numbers[-1] + step if numbers else None
    known = [r.bit_m for r in rows if isfinite(r.bit_m)]
    if not known or rig.pipe is None or trip.string(rig) is None or _adrift(rows):
        return stand, None, None
    bit = max(known[-1] + rig.pipe.stand_m * (-1.0 if trip.out else 1.0), 0.0)
    return stand, bit, _due(trip, rows, rig, Row(rows[-1].t_ms, STAND, None, bit, slug=trip.slug_at(FOR_GOOD - 1)))


def _due(trip: Trip, rows: Sequence[Row], rig: Rig, ahead: Row) -> Expected | None:
    """What the hole should take by a row to come, with the stands before it that nobody read a level after."""
    last = max((n for n, r in enumerate(rows) if r.levels_m or r.strokes is not None), default=len(rows) - 1)
    waiting = trip.steps(rig, ahead)[last + 1:]
    return sum((step.expected for step in waiting), Expected(0.0, 0.0)) if all(s.known for s in waiting) else None


def _adrift(rows: Sequence[Row]) -> bool:
    """True if a stand without a depth came after the last depth."""
    last = max(n for n, r in enumerate(rows) if isfinite(r.bit_m))
    return any(r.kind == STAND for r in rows[last + 1:])


def _in_use(trip: Trip, rows: Sequence[Row]) -> str:
    """The trip tank that the last row gave a level of, or that the trip began with."""
    return next((name for r in reversed(rows) for name in r.levels_m), trip.tank)


def _tanks(rig: Rig, first: str) -> tuple[str, ...]:
    names = [t.name for t in rig.tanks if t.role == TRIP_TANK or t.name == first]
    return tuple(sorted(names, key=lambda n: n != first))


def _next_dip(books: Books, tank: str, due: float | None) -> tuple[str, float] | None:
    """What the trip tank's stick should read after the next stand: by its last dip, what was logged on it since, and
    what the hole should take by then."""
    s = books.dips.get(tank)
    if s is None or not len(s) or due is None or bool(s.unread()[-1]):
        return None
    described, logged = books.rig.tank(tank), books.logged(tank)
    volume = float(s.volume_m3[-1]) + float(logged.at(2**60)) - float(logged.at(s.t_ms[-1]))
    level = float(described.level(volume - due))
    return (tank, float(described.dip_of_level(level))) if isfinite(level) else None


def _holds(books: Books, trip: Trip, lines: Sequence[Line], rig: Rig) -> tuple[TripHold, ...]:
    until = trip.end_ms
    decisions = [r for r in books.eff.records if r.kind == TRIP_DECISION and r.t_ms >= trip.begun_ms
                 and (until is None or r.t_ms <= until)]
    return tuple(TripHold(x.line.row.t_ms, said(x, LAST_N, rig), _decided(decisions, x.line.row.t_ms, rig))
                 for x in passed(rig, lines))


def _decided(decisions: Sequence[Record], since_ms: int, rig: Rig) -> str:
    first = next((r for r in decisions if r.t_ms >= since_ms // 60_000 * 60_000), None)   # typed to the minute
    if first is None:
        return ""
    return f"{clock(first.t_ms, rig.zone)} {describe(first, rig.units, rig.zone, rig.decimal)}"


def _posted_findings(trip: Trip, rig: Rig, fills: tuple[posting.Posted, ...], density: object) -> tuple[str, ...]:
    if not trip.out:
        return ()
    if density is None:
        return ("What may be pulled between two fills isn't told: the mud weight in wasn't given when the trip began.",)
    return tuple(f.what for f in posting.findings(rig, fills))


def _previous(books: Books, trip: Trip) -> Trip | None:
    """The last trip before this one that can be compared: the same direction, way and string."""
    def alike(other: Trip) -> bool:
        strings = (t.string(books.rig_at(t.begun_ms)) for t in (trip, other))
        a, b = strings
        ways = (t.way(books.rig_at(t.begun_ms)) for t in (trip, other))
        return other.out == trip.out and len(set(ways)) == 1 and a == b and len(sheet_of(books, other)[0]) > 0

    return next((t for t in reversed(books.trips) if t.begun_ms < trip.begun_ms and alike(t)), None)


def _column(books: Books, trip: Trip, name: str) -> tuple[float, ...]:
    lines = [x for x in sheet_of(books, trip)[0] if isfinite(x.cumulative_m3) and isfinite(x.bit_m)]
    return tuple(getattr(x, name) for x in lines)


def _strictest(rig: Rig, kind: str) -> float | None:
    return min((x.value for x in rig.limits if x.kind == kind and x.watched), default=None)


def _out_of_hole(rows: Sequence[Row]) -> int | None:
    """Since when the bit is at surface [UTC ms]; None while pipe is in the hole."""
    bit, since = nan, None
    for r in rows:
        if isfinite(r.bit_m):
            since = (since if bit <= 0.0 else r.t_ms) if r.bit_m <= 0.0 else None
            bit = r.bit_m
    return since


def _known(value: float) -> float | None:
    return value if isfinite(value) else None
