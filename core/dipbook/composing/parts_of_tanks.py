"""What a tank's volume rests on: the stick, the datum, the tank's geometry; and what was logged on it since."""

from __future__ import annotations

import numpy as np

from dipbook.books.samples import Samples
from dipbook.books.samples import tank_spans as spans
from dipbook.composing.parts_of_balance import SMALL_M3
from dipbook.composing.parts_words import Asked, few, known
from dipbook.entries.words import dip_words
from dipbook.parts import GIVEN, LEVEL, READING, SIGNED, VOLUME, WORDS, WORKED_OUT, Figure, Part, Parts, U
from dipbook.quantities import write_level
from dipbook.rig.shape_words import shape_in_words
from dipbook.tanks.tank import Tank
from dipbook.terms.pieces import logged_on

INCHES = ("in", "ft in", "ft")
INCH_M, CENTIMETRE_M = 0.0254, 0.01


def tank(asked: Asked, figure: Figure) -> Parts | None:
    """One tank's volume at its last dip. asked: the books and the moment. figure: of the tank."""
    books, name = asked.books, figure.of
    t = asked.now_ms if figure.t_ms is None else figure.t_ms
    s = books.dips.get(name)
    i = int(s.index_at(t)) if s is not None else -1
    if s is None or i < 0:
        return Parts(figure, name, "it was never gauged", None, VOLUME, (), t_ms=t)
    dipped = int(s.t_ms[i])
    described = next(tank for a, b, tank in spans(name, books.rigs) if a <= dipped < b)
    volume = known(float(s.volume_m3[i]))
    since = [asked.entry(p.uid, p.volume_m3, p.words, p.t_ms, counts=False)
             for p in logged_on(books, name, dipped, asked.now_ms) if abs(p.volume_m3) > SMALL_M3]
    parts = [*_by_the_stick(asked, described, s, i, dipped),
             Part("Volume at that level", volume, SIGNED, dipped, asked.uid_of(s.seq[i]), READING),
             Part("How sure", known(float(s.u_m3[i])), U, dipped, counts=False, note=_sure(asked, described))]
    if figure.t_ms is None:
        total = float(sum(p.value or 0.0 for p in since))
        parts += few(since)
        parts.append(Part("With what was logged since" if since else "Nothing was logged on it since",
                          None if volume is None else volume + total, VOLUME, asked.now_ms, kind=WORKED_OUT,
                          counts=False))
    return Parts(figure, f"{name}: volume at its last dip", "stick → level above the bottom → volume, by the tank's "
                 "description in the rig file", volume, VOLUME, tuple(parts), t_ms=dipped, note=_flag(s, i))


def _by_the_stick(asked: Asked, tank: Tank, s: Samples, i: int, dipped: int) -> list[Part]:
    """The stick as it was written, its datum, the level, and the geometry."""
    books, uid = asked.books, asked.uid_of(s.seq[i])
    rig_uid = asked.rig_record(dipped)
    record = asked.record(uid)
    typed = "" if record is None else dip_words(record, tank.name, asked.units, books.rig.zone, books.rig.decimal)
    level = known(float(s.level_m[i]))
    datum = f"read down from a mark {_long(asked, tank.mark_m)} above the bottom" if tank.gauge == "down" else \
        f"read up from a point {_long(asked, tank.offset_m)} above the bottom" if tank.offset_m else \
        "read up from the bottom"
    step, unit = (INCH_M, "in") if asked.units.get("level", "m") in INCHES else (CENTIMETRE_M, "cm")
    slope = float("nan") if level is None else float(tank.slope(level)) * step
    by_gate = s.by_gate is not None and bool(s.by_gate[i])
    stick = Part("By the level of the tank behind the open gate" if by_gate else "Stick",
                 None if level is None else float(tank.dip_of_level(level)), LEVEL, dipped, uid, READING, False,
                 "" if by_gate else typed)
    return [stick, Part("Datum", None, WORDS, None, rig_uid, GIVEN, False, datum),
            Part("Level above the bottom", level, LEVEL, dipped, "", WORKED_OUT, False),
            Part("Geometry", None, WORDS, None, rig_uid, GIVEN, False,
                 shape_in_words(tank.shape, lambda x: _long(asked, x))),
            *([Part(f"1 {unit} there holds", slope, VOLUME, None, rig_uid, GIVEN, False)]
              if np.isfinite(slope) else [])]


def _sure(asked: Asked, tank: Tank) -> str:
    if tank.dip_error_m is None:
        return "nobody set how far a dip can be off"
    return f"a dip can be off by {_long(asked, tank.dip_error_m)}; two standard uncertainties"


def _long(asked: Asked, value_m: float) -> str:
    return write_level(value_m, asked.units.get("level", "m"), asked.books.rig.decimal)


def _flag(s: Samples, i: int) -> str:
    flag = "" if s.flag is None else s.flag[i]
    return f"This dip is marked: {flag}." if flag else ""
