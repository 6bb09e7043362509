"""What a row of a trip's sheet rests on: what the hole should take, what it took, the difference, the sums."""

from __future__ import annotations

from math import isfinite

from dipbook.books.trips import Trip
from dipbook.composing.parts_words import Asked, few, known
from dipbook.parts import (
    GIVEN,
    LENGTH,
    LEVEL,
    READING,
    SHARE,
    SIGNED,
    WORDS,
    WORKED_OUT,
    Figure,
    Part,
    Parts,
    U,
)
from dipbook.records import Record
from dipbook.rig.model import Rig
from dipbook.terms.trip import sheet_of
from dipbook.trips import Line, Way, expected
from dipbook.trips.pipe import Move
from dipbook.trips.ways import BUCKET, CLOSED, DRY, OPEN, SELF_FILLING, WET
from dipbook.tubulars import TubularError, find
from dipbook.well import String

SMALL_M3 = 1e-12


def trip_row(asked: Asked, figure: Figure) -> Parts | None:
    """A figure of a row. asked: the books and the moment. figure: of a row's uid; what: expected, took, difference,
    last or total."""
    trip = next((t for t in asked.books.trips if any(r.uid == figure.of for r in t.rows)), None)
    if trip is None:
        return None
    lines, _ = sheet_of(asked.books, trip)
    record = next(r for r in trip.rows if r.uid == figure.of)
    place = _places(asked, trip, lines).get(figure.of)
    if place is None:
        return None
    line, uids = lines[place], {v: k for k, v in _places(asked, trip, lines).items()}
    make = {"expected": _expected, "took": _took, "difference": _difference}.get(figure.what)
    if make is not None:
        return make(asked, figure, trip, line, record)
    if figure.what not in ("last", "total"):
        return None
    told = [n for n in range(place + 1) if isfinite(lines[n].difference_m3)]
    chosen = told[max(0, len(told) - line.last_lines):] if figure.what == "last" else told
    parts = [_line(lines[n], uids.get(n, ""), asked) for n in chosen]
    value = line.last_n_m3 if figure.what == "last" else line.cumulative_m3
    u = known(line.cumulative_u_m3)
    more = [Part("How sure", u, U, line.row.t_ms, counts=False)] if figure.what == "total" else []
    title = "The last rows together" if figure.what == "last" else "The trip's sum"
    return Parts(figure, title, "the differences of the rows added; + is more mud on surface than expected",
                 known(value), SIGNED, (*few(parts), *more), t_ms=line.row.t_ms, fine=True, note="" if figure.what ==
                 "total" else "Five stands; a reading without a move counts with the stand before it.")


def _line(line: Line, uid: str, asked: Asked) -> Part:
    stand = "" if line.stand is None else f" {line.stand}"
    bit = "" if not isfinite(line.bit_m) else f", bit {asked.write(line.bit_m, 'length', 'm')}"
    return Part(f"{line.row.kind.capitalize()}{stand}{bit}", known(line.difference_m3), SIGNED, line.row.t_ms, uid,
                READING, follow=Figure("trip", uid, "difference") if uid else None)


def _difference(asked: Asked, figure: Figure, trip: Trip, line: Line, record: Record) -> Parts:
    sign = "what it should take − what it took"
    parts = (Part("What the hole should take", known(line.expected_m3), SIGNED, line.row.t_ms,
                  follow=Figure("trip", figure.of, "expected")),
             Part("Less what it took", known(-line.actual_m3), SIGNED, line.row.t_ms,
                  follow=Figure("trip", figure.of, "took")),
             Part("How sure", known(line.u_m3), U, line.row.t_ms, counts=False))
    return Parts(figure, _title("Difference", line), f"{sign}; + is more mud on surface than expected",
                 known(line.difference_m3), SIGNED, parts, t_ms=line.row.t_ms, fine=True)


def _expected(asked: Asked, figure: Figure, trip: Trip, line: Line, record: Record) -> Parts:
    rig = asked.books.rig_at(trip.begun_ms)
    string = trip.string(rig)
    parts: list[Part] = []
    for move in line.moves:
        parts += _of_a_move(asked, trip, move, string)
    sources = list(dict.fromkeys(p for m in line.moves for p in _named(string, m)))
    parts += [Part(name, None, WORDS, None, asked.rig_record(trip.begun_ms), GIVEN, False,
                   _source(name, steel, bore, rig)) for name, steel, bore in sources]
    note = "" if line.moves else "No pipe moved since the level before: the hole should take nothing."
    return Parts(figure, _title("What the hole should take", line),
                 "steel that left the hole + what of its bore's mud went with it; − where pipe was run",
                 known(line.expected_m3), SIGNED, tuple(parts), t_ms=line.row.t_ms, fine=True, note=note)


def _of_a_move(asked: Asked, trip: Trip, move: Move, string: String | None) -> list[Part]:
    """Steel and bore of each part of the string, with the depths before and after."""
    t, uid = move.row.t_ms, _uid_of(trip, move)
    parts = [Part("Bit before", known(move.from_m), LENGTH, None, "", READING, False),
             Part("Bit after", known(move.to_m), LENGTH, t, uid, READING, False)]
    if string is not None and move.from_m != move.to_m:
        sign = 1.0 if move.from_m > move.to_m else -1.0
        share, words = _share(move.way, out=sign > 0.0)
        for part, length in string.spans(min(move.from_m, move.to_m), max(move.from_m, move.to_m)):
            said = f"{part.name}, {asked.write(length, 'length', 'm')}"
            parts.append(Part(f"Steel of {said}", sign * part.steel_m2 * length, SIGNED, t, uid))
            parts.append(Part(f"Bore of {said}: {words}", sign * share * part.bore_m2 * length, SIGNED, t, uid))
        beside = move.expected.mean_m3 - expected(string, move.from_m, move.to_m, move.way).mean_m3
        if abs(beside) > SMALL_M3:
            words = "Bore that stood empty and doesn't now" if beside > 0.0 else "Bore that stands empty over the slug"
            parts.append(Part(words, beside, SIGNED, t, uid))
        if move.way.out == BUCKET and sign > 0.0:
            parts.append(Part("The bucket gives back", move.way.returned, SHARE, None, uid, GIVEN, False))
    if move.filled.mean_m3:
        parts.append(Part("The run pipe was filled", move.filled.mean_m3, SIGNED, t, uid))
    return parts


def _share(way: Way, *, out: bool) -> tuple[float, str]:
    """(share of the bore that counts [-], why)."""
    if out:
        return {DRY: (0.0, "pulled dry, its mud stays"), WET: (1.0, "pulled wet, its mud goes with it"),
                BUCKET: (1.0 - way.returned, "less what the bucket gives back")}[way.out]
    return {CLOSED: (1.0, "float closed, it stays empty"), OPEN: (0.0, "open ended, mud fills it"),
            SELF_FILLING: (0.5, "self-filling, between its bounds")}[way.running]


def _named(string: String | None, move: Move) -> list[tuple[str, float, float]]:
    if string is None:
        return []
    return [(p.name, p.steel_m2, p.bore_m2) for p, _ in
            string.spans(min(move.from_m, move.to_m), max(move.from_m, move.to_m))]


def _source(name: str, steel: float, bore: float, rig: Rig) -> str:
    """Where the pipe's steel and bore come from."""
    try:
        tubular = find(name)
    except TubularError:
        return "steel and bore by the rig file"
    same = abs(tubular.steel_m2 - steel) <= 1e-9 and abs(tubular.bore_m2 - bore) <= 1e-9
    return f"by the catalogue: {tubular.source}" if same else "by its data sheet in the rig file"


def _took(asked: Asked, figure: Figure, trip: Trip, line: Line, record: Record) -> Parts:
    parts: list[Part] = []
    for name, (t, volume, _, logged) in line.before.items():
        after_ms, after, _, logged_after = line.after[name]
        parts += [*_level(asked, name, t, "before"),
                  Part(f"{name} held before", volume, SIGNED, t, _dipped(asked, name, t), READING,
                       follow=Figure("tank", name, t_ms=t)),
                  *_level(asked, name, after_ms, "after"),
                  Part(f"Less {name} after", -after, SIGNED, after_ms, _dipped(asked, name, after_ms), READING,
                       follow=Figure("tank", name, t_ms=after_ms))]
        if abs(logged_after - logged) > SMALL_M3:
            parts.append(Part(f"Logged into {name} between", logged_after - logged, SIGNED, after_ms, kind=WORKED_OUT))
    if line.pumped_m3:
        parts.append(Part("Pumped into the hole by strokes", line.pumped_m3, SIGNED, line.row.t_ms, figure.of, READING))
    return Parts(figure, _title("What the hole took", line), "what the trip tank held before − after + what was logged "
                 "into it between", known(line.actual_m3), SIGNED, tuple(parts), t_ms=line.row.t_ms, fine=True)


def _level(asked: Asked, name: str, t: int, word: str) -> list[Part]:
    """The stick of a trip tank at a row."""
    s = asked.books.dips.get(name)
    i = int(s.index_at(t)) if s is not None else -1
    if s is None or i < 0 or int(s.t_ms[i]) != t:
        return []
    stick = float(asked.books.rig_at(t).tank(name).dip_of_level(s.level_m[i]))
    return [Part(f"Stick of {name} {word}", known(stick), LEVEL, t, asked.uid_of(s.seq[i]), READING, False)]


def _dipped(asked: Asked, name: str, t: int) -> str:
    s = asked.books.dips.get(name)
    i = int(s.index_at(t)) if s is not None else -1
    return asked.uid_of(s.seq[i]) if s is not None and i >= 0 and int(s.t_ms[i]) == t else ""


def _places(asked: Asked, trip: Trip, lines: tuple[Line, ...]) -> dict[str, int]:
    """uid of each row -> its line. A row is the one of its time, kind, stand and strokes."""
    rows = trip.sheet_rows(asked.books.rig_at(trip.begun_ms))[1:]
    of_line = {(x.row.t_ms, x.row.kind, x.row.stand, x.row.strokes): n for n, x in enumerate(lines)}
    keyed = ((r.uid, (row.t_ms, row.kind, row.stand, row.strokes)) for r, row in zip(trip.rows, rows, strict=True))
    return {uid: of_line[key] for uid, key in keyed if key in of_line}


def _uid_of(trip: Trip, move: Move) -> str:
    return next((r.uid for r in trip.rows if r.t_ms == move.row.t_ms), trip.head.uid)


def _title(words: str, line: Line) -> str:
    return words if line.stand is None else f"{words}, stand {line.stand}"
