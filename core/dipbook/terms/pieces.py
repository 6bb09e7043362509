"""A term taken to pieces: what each entry that it follows from brought between two times. Their sum is the term's own
change, for the curve is made of the same ramps."""

from __future__ import annotations

from dataclasses import dataclass
from math import isnan

import numpy as np

from dipbook.books.books import Books
from dipbook.books.curve import Ramp
from dipbook.terms.bore import FILL, OFF, PUMPS, RAN, SLUG, TRIPPED, bore_by
from dipbook.terms.cuttings import cut_by
from dipbook.terms.equipment import filled_by
from dipbook.terms.lines import lines
from dipbook.terms.moved import moved_by
from dipbook.terms.steel import lowered_by
from dipbook.terms.system import ACTIVE_SYSTEM, ALL_SURFACE, System
from dipbook.terms.trip import tripped_by

MOVED = ("transfers", "pills", "additions", "discards", "rates")
OF_THE_BORE = {RAN: "The bore filled by the pumps, or emptied by a slug", PUMPS: "Pumps on", OFF: "Pumps off",
               SLUG: "Slug", FILL: "Stand filled", TRIPPED: "Pipe of a trip"}
GIVES_DEPTH = ("depth", "trip row", "trip")
"""Kinds of record that tell a bit depth."""


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece. words: what it is, "" where the entry says it. t_ms: of the entry [UTC ms]; uid: of its record, "" for
    none. volume_m3: what it brought, + raises the expected [m3]. length_m: pipe lowered or hole made by it [m], None
    where there is none."""

    words: str
    t_ms: int
    uid: str
    volume_m3: float
    length_m: float | None = None


def pieces(books: Books, system: System, term: str, from_ms: int, to_ms: int) -> tuple[Piece, ...]:
    """The pieces of a term between two times, those that brought something.

    books: of the log. system: which tanks. term: of ``balance.TERMS``. from_ms, to_ms: [UTC ms].
    """
    found = _found(books, system, term, from_ms, to_ms)
    return tuple(p for p in sorted(found, key=lambda p: p.t_ms) if p.volume_m3)


def logged_on(books: Books, tank: str, from_ms: int, to_ms: int) -> tuple[Piece, ...]:
    """What was logged into a tank (+) or out of it (−) between two times, as ``books.logged`` sums it.

    books: of the log. tank: its name. from_ms, to_ms: [UTC ms].
    """
    found = [Piece("", m.ramp.t0, m.uid, ((m.target == tank) - (m.source == tank)) * _between(m.ramp, from_ms, to_ms))
             for m in books.moves if tank in (m.source, m.target)]
    return tuple(p for p in sorted(found, key=lambda p: p.t_ms) if p.volume_m3)


def _found(books: Books, system: System, term: str, a: int, b: int) -> list[Piece]:
    if term in MOVED:
        return [Piece("", r.t0, m.uid, _between(r, a, b)) for m, r in moved_by(books, system, term)]
    if term == "steel":
        return [Piece("Pipe lowered" if far > 0.0 else "Pipe raised", r.t0, _record(books, GIVES_DEPTH, r.t0),
                      _between(r, a, b), far) for far, r in lowered_by(books, system)]
    if term == "trip":
        return [Piece("", r.t0, uid, _between(r, a, b)) for uid, r in tripped_by(books, system)]
    if term == "bore":
        return [_of_the_bore(books, t, what, _between(r, a, b)) for t, what, r in bore_by(books, system)]
    if term == "cuttings":
        return [Piece("Hole made", t, _record(books, GIVES_DEPTH, t), sum(_between(r, a, b) for r in ramps), made)
                for t, made, ramps in cut_by(books, system)[0]]
    if term == "equipment":
        return [Piece(name, r.t0, _record(books, ("equipment",), r.t0, name), _between(r, a, b))
                for name, r in filled_by(books, system)]
    return _of_the_line_up(books, system, a, b) if term == "lineup" else _of_the_lines(books, system, a, b)


def _of_the_bore(books: Books, t: int, what: int, volume: float) -> Piece:
    kinds = {PUMPS: ("pumps",), OFF: ("pumps",), SLUG: ("slug",), FILL: ("stand filled",), TRIPPED: GIVES_DEPTH,
             RAN: ("pumps", "slug")}.get(what, GIVES_DEPTH)
    return Piece(OF_THE_BORE.get(what, "Pipe lowered or raised"), t, _record(books, kinds, t), volume)


def _of_the_line_up(books: Books, system: System, a: int, b: int) -> list[Piece]:
    if system.name == ALL_SURFACE:
        return [Piece(f"{tank}: its first dip", t, "", volume) for tank, t, volume in system.joins if a < t <= b]
    if system.name != ACTIVE_SYSTEM:
        return []
    return [Piece(f"{c.tank} {'joined' if c.joins else 'left'}", c.t_ms, _record(books, ("line-up", "valve"), c.t_ms),
                  c.volume_m3 if c.joins else -c.volume_m3)
            for c in books.line.changes if a < c.t_ms <= b and not isnan(c.volume_m3)]


def _of_the_lines(books: Books, system: System, a: int, b: int) -> list[Piece]:
    stretches = lines(books, system)[0].stretches
    found: list[Piece] = []
    for k, stretch in enumerate(stretches):
        begin = max(a, stretch.t0)
        end = b if k + 1 == len(stretches) else min(b, stretches[k + 1].t0)
        if end <= begin:
            continue
        volume = float(stretch.value(np.float64(end))) - float(stretch.value(np.float64(begin)))
        words = "Lines draining back" if volume > 0.0 else "Lines filling"
        found.append(Piece(words, stretch.t0, _record(books, ("pumps", "line-up"), stretch.t0), volume))
    return found


def _between(ramp: Ramp, a: int, b: int) -> float:
    """What of a ramp came between two times [m3]; an instant at the first is before it."""
    return _by(ramp, b) - _by(ramp, a)


def _by(ramp: Ramp, t: int) -> float:
    if ramp.t0 == ramp.t1:
        return ramp.volume if t >= ramp.t0 else 0.0
    return ramp.volume * min(max((t - ramp.t0) / (ramp.t1 - ramp.t0), 0.0), 1.0)


def _record(books: Books, kinds: tuple[str, ...], t: int, equipment: str = "") -> str:
    """uid of the record of one of some kinds at a time, the last learned; "" for none."""
    key = ("records by time", "")
    if key not in books.worked_out:
        by_time: dict[int, list[tuple[str, str, str]]] = {}
        for r in books.eff.records:
            by_time.setdefault(r.t_ms, []).append((r.kind, str(r.payload.get("equipment") or ""), r.uid))
        books.worked_out[key] = by_time
    found: list[tuple[str, str, str]] = books.worked_out[key].get(t, [])
    return next((uid for kind, name, uid in reversed(found) if kind in kinds and equipment in ("", name)), "")
