"""What the figures of the balance rest on: difference, actual, expected, where it is counted from, and each term."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from dipbook import balance
from dipbook.balance import Balance, Start
from dipbook.composing.labels import LABELS
from dipbook.composing.parts_words import Asked, few, known
from dipbook.parts import READING, SIGNED, VOLUME, WORKED_OUT, Figure, Part, Parts, U
from dipbook.terms import rounds
from dipbook.terms.pieces import logged_on, pieces
from dipbook.terms.system import ACTIVE_SYSTEM, ALL_SURFACE, System, system

KINDS: Mapping[str, tuple[str, ...]] = {
    "transfers": ("transfer",), "pills": ("slug", "pill"), "additions": ("addition", "salt", "boat"),
    "discards": ("discard", "trap dump", "boat"), "lineup": ("line-up", "valve"),
    "steel": ("depth",), "bore": ("stand filled", "depth", "slug"), "lines": ("pumps",),
    "trip": ("trip", "trip row", "trip end", "depth"),
    "cuttings": ("depth", "pumps", "shakers"),
    "equipment": ("equipment",), "rates": ("rate in force",),
}
"""Which entries a term comes from."""
SMALL_M3 = 1e-9
"""Below this a part is rounding and isn't told [m3]."""


def difference(asked: Asked, figure: Figure) -> Parts | None:
    """Actual less expected. asked: the books and the moment. figure: of a system."""
    found = _at(asked, figure)
    if found is None:
        return None
    b, t = found
    u = known(float(b.u_m3[0]))
    parts = (Part("Actual: what the tanks held", known(float(b.actual_m3[0])), SIGNED, t, follow=_as(figure, "actual")),
             Part("Less expected", known(-float(b.expected_m3[0])), SIGNED, t, follow=_as(figure, "expected")),
             Part("How sure", u, U, t, counts=False, follow=_as(figure, "uncertainty")))
    return Parts(figure, f"Difference, {_name(figure.of)}", "actual − expected; + is more mud on surface than expected",
                 known(float(b.difference_m3[0])), SIGNED, parts, note=_partial(asked, b, figure), t_ms=t)


def expected(asked: Asked, figure: Figure) -> Parts | None:
    """Where it is counted from, and the terms since. asked, figure: as of ``difference``."""
    found = _at(asked, figure)
    if found is None:
        return None
    b, t = found
    start_of = _start(asked, figure)
    base = None if start_of is None else start_of.base_ms
    parts = [Part("Held at the zero", None if start_of is None else known(start_of.volume_m3), SIGNED, base,
                  follow=_as(figure, "start"))]
    parts += [Part(LABELS[name], known(float(v[0])), SIGNED, t, follow=_as(figure, "term", name))
              for name, v in b.terms.items() if not abs(float(v[0])) <= SMALL_M3]
    return Parts(figure, f"Expected, {_name(figure.of)}", "held at the zero + what is booked since",
                 known(float(b.expected_m3[0])), VOLUME, tuple(parts), t_ms=t,
                 note="" if start_of is not None else "There is no zero yet: it takes dips of every active tank.")


def actual(asked: Asked, figure: Figure) -> Parts | None:
    """Each tank's last dip, and what was logged on it from there to the round's end. asked, figure: as of
    ``difference``."""
    found = _at(asked, figure)
    if found is None:
        return None
    b, t = found
    of = system(asked.books, figure.of or ACTIVE_SYSTEM)
    reading = int(asked.books.readings.index_at(t))
    end = int(asked.books.readings.end_ms[reading]) if reading >= 0 else t
    parts = _tanks(asked, of, t, end)
    parts += _between_dips(asked, of, reading, t)
    return Parts(figure, f"Actual, {_name(figure.of)}", "each tank at its last dip + what was logged on it from the "
                 "dip to the end of the round", known(float(b.actual_m3[0])), VOLUME, tuple(parts),
                 note=_partial(asked, b, figure), t_ms=t)


def start(asked: Asked, figure: Figure) -> Parts | None:
    """What the tanks held at the reading that the zero rests on. asked, figure: as of ``difference``."""
    start_of = _start(asked, figure)
    if start_of is None:
        return None
    t, of = start_of.base_ms, system(asked.books, figure.of or ACTIVE_SYSTEM)
    reading = int(asked.books.readings.index_at(t)) if len(asked.books.readings) else -1
    parts = _tanks(asked, of, t, t if reading >= 0 else None)
    parts += _between_dips(asked, of, reading, None)
    zero = next((r for r in reversed(asked.books.eff.records) if r.kind == "zero" and r.t_ms <= start_of.zero_ms), None)
    if zero is not None:
        parts.append(asked.entry(zero.uid, None, counts=False))
    return Parts(figure, f"Held at the zero, {_name(figure.of)}", "each tank at its last dip then + what was logged on "
                 "it since", known(start_of.volume_m3), VOLUME, tuple(parts), t_ms=t)


def term(asked: Asked, figure: Figure) -> Parts | None:
    """The entries that a term follows from. asked: the books and the moment. figure: of a system, what: the term."""
    found, start_of = _at(asked, figure), _start(asked, figure)
    if found is None or start_of is None or figure.what not in balance.TERMS:
        return None
    b, t = found
    of = system(asked.books, figure.of or ACTIVE_SYSTEM)
    value = known(float(b.terms[figure.what][0]))
    told = [p for p in pieces(asked.books, of, figure.what, start_of.base_ms, t) if abs(p.volume_m3) > SMALL_M3]
    parts = [asked.entry(p.uid, p.volume_m3, p.words if p.length_m is None else
                         f"{p.words}: {asked.write(abs(p.length_m), 'length', 'm')}", p.t_ms) for p in told]
    return Parts(figure, f"{LABELS[figure.what]}, {_name(figure.of)}", _formula(asked, figure.what, t), value, SIGNED,
                 few(parts), t_ms=t, kinds=KINDS[figure.what],
                 note="" if parts else "Nothing of it is booked since the zero.")


def _formula(asked: Asked, name: str, t: int) -> str:
    """How the term follows, with what the rig file gives for it."""
    rig = asked.books.rig_at(t)
    unit = asked.units.get("length", "m")

    def each(capacity: float) -> str:
        per = 0.3048 if unit == "ft" else 1.0
        return f"{asked.write(capacity * per, 'volume', 'm3', 5)} a {'foot' if unit == 'ft' else 'metre'}"

    if name == "steel" and rig.pipe is not None:
        return f"length lowered × steel, {each(rig.pipe.steel)} by the rig file"
    if name == "bore" and rig.pipe is not None:
        return f"length filled, lowered full or emptied × bore, {each(rig.pipe.bore)} by the rig file"
    if name == "cuttings" and rig.hole is not None and rig.hole.capacity is not None:
        return f"− hole made × {each(rig.hole.capacity)} × the share carried off, when it comes out, by the rig file"
    if name == "lines":
        return "what the lines held before − what they hold now, by the rig file's drain-back"
    if name == "equipment":
        return "what came back from equipment − what filled it"
    if name == "lineup":
        return "what joined − what left, each tank at what it held then"
    if name == "trip":
        return "− what the hole should have taken, row by row of the trip's sheet"
    return "what came in − what went out, as logged"


def _at(asked: Asked, figure: Figure) -> tuple[Balance, int] | None:
    """(the balance, when [UTC ms])."""
    moment = asked.moment(figure)
    if moment is None:
        return None
    t, zeroed_by = moment
    return balance.at(asked.books, t, figure.of or ACTIVE_SYSTEM, zeroed_by=zeroed_by), t


def _start(asked: Asked, figure: Figure) -> Start | None:
    moment = asked.moment(figure)
    return None if moment is None else balance.start(asked.books, moment[0], figure.of or ACTIVE_SYSTEM,
                                                     zeroed_by=moment[1])


def _tanks(asked: Asked, of: System, t: int, end: int | None) -> list[Part]:
    """Each tank of a system at a time, and each entry on it from its dip to the end of the round [UTC ms], None: none.
    """
    books, parts = asked.books, list[Part]()
    samples = balance.readings_of(books, of)
    order = {tank.name: tank.order for tank in books.rig.tanks}
    for name in sorted(of.members_at(t), key=lambda n: (order.get(n, 0), n)):
        s = samples.get(name)
        i = int(s.index_at(t)) if s is not None else -1
        if s is None or i < 0 or not np.isfinite(s.volume_m3[i]):
            unknown = {name: np.array([True])}
            worth = known(float(rounds.not_gauged_yet(books, of, np.array([t], dtype=np.int64), unknown)[0]))
            parts.append(Part(f"{name}: never gauged", worth, SIGNED, None,
                              note="" if worth is None else "its worth when it joined, and what was logged since"))
            continue
        dipped = int(s.t_ms[i])
        follow = Figure("tank", name, t_ms=dipped) if s.real[i] else None
        parts.append(Part(name, float(s.volume_m3[i]), SIGNED, dipped, asked.uid_of(s.seq[i]) if s.real[i] else "",
                          READING, follow=follow, note="" if s.real[i] else "what it was worth at the line-up change"))
        if end is not None and dipped < end:
            parts += _logged(asked, name, dipped, end)
    return parts


def _logged(asked: Asked, tank: str, from_ms: int, to_ms: int) -> list[Part]:
    """What was logged on one tank between two times [UTC ms], an entry each."""
    return [asked.entry(p.uid, p.volume_m3, f"{tank}: {asked.said(p.uid)}", p.t_ms)
            for p in logged_on(asked.books, tank, from_ms, to_ms) if abs(p.volume_m3) > SMALL_M3]


def _between_dips(asked: Asked, of: System, reading: int, t: int | None) -> list[Part]:
    """What tanks at one level lack that were dipped one after another."""
    readings = asked.books.readings
    if reading < 0 or (t is not None and readings.start_ms[reading] >= readings.end_ms[reading]):
        return []
    spread = rounds.spread_by_gates(asked.books, of, reading)
    return [] if abs(spread) <= SMALL_M3 else [
        Part("Tanks at one level, dipped one after another", spread, SIGNED, t, kind=WORKED_OUT)]


def _partial(asked: Asked, b: Balance, figure: Figure) -> str:
    """What the balance is carried at."""
    if not bool(b.partial[0]):
        return ""
    held = balance.held(asked.books, int(b.t_ms[0]), figure.of or ACTIVE_SYSTEM)
    names = ", ".join(name for name, _ in held)
    return f"Partial: {names} carried at the last dip." if names else "Partial: a dip is missing, old or unread."


def _as(figure: Figure, name: str, what: str = "") -> Figure:
    return Figure(name, figure.of, what, t_ms=figure.t_ms)


def _name(of: str) -> str:
    return {"": "active system", ACTIVE_SYSTEM: "active system", ALL_SURFACE: "all surface tanks"}.get(of, of)
