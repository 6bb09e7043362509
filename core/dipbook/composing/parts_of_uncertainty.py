"""What the ± of a difference rests on: the dips that count at both ends, what moves in a round, a self-filling float.

A dip that serves both ends counts nothing; dips of which one error tells several tanks add before they are squared.
"""

from __future__ import annotations

from math import isfinite, isnan

from dipbook import balance
from dipbook.books.samples import Samples
from dipbook.composing.parts_words import Asked, known
from dipbook.parts import READING, SQUARES, WORKED_OUT, Figure, Part, Parts, U
from dipbook.terms.system import ACTIVE_SYSTEM, System, system

SMALL_M3 = 1e-9


def uncertainty(asked: Asked, figure: Figure) -> Parts | None:
    """The standard uncertainty of a system's difference. asked: the books and the moment. figure: of the system."""
    moment = asked.moment(figure)
    if moment is None:
        return None
    t, zeroed_by = moment
    name = figure.of or ACTIVE_SYSTEM
    begun = balance.start(asked.books, t, name, zeroed_by=zeroed_by)
    if begun is None:
        return Parts(figure, "How sure", "there is no zero yet", None, U, (), how=SQUARES, t_ms=t)
    b = balance.at(asked.books, t, name, zeroed_by=zeroed_by)
    parts = _of_dips(asked, system(asked.books, name), t, begun.base_ms)
    round_, float_ = balance.spreads(asked.books, t, begun.base_ms, name)
    parts += [Part(words, known(u), U, t, kind=WORKED_OUT) for words, u in (
        ("What the well moved while the rounds were gauged", round_), ("What a self-filling float let in", float_))
        if isnan(u) or u > SMALL_M3]
    unset = [p.label for p in parts if p.value is None]
    return Parts(figure, "How sure: ± two standard uncertainties", "± = root of the sum of the squares of these",
                 known(float(b.u_m3[0])), U, tuple(parts), how=SQUARES, t_ms=t,
                 note="A dip that serves both ends counts nothing."
                 + (" Unknown: the dip's error isn't set, or it couldn't be read." if unset else ""))


def _of_dips(asked: Asked, of: System, t: int, base_ms: int) -> list[Part]:
    samples = balance.readings_of(asked.books, of)
    alone, together = list[Part](), dict[int, list[tuple[str, float, int, int]]]()
    order = {tank.name: tank.order for tank in asked.books.rig.tanks}
    for name in sorted(of.spans, key=lambda n: (order.get(n, 0), n)):
        s = samples.get(name)
        for dip, sign in _counted(s, of.spans[name], t, base_ms) if s is not None else ():
            if dip < 0 or s is None:
                alone.append(Part(f"{name}: not gauged", None, U))
            elif s.source is not None and isfinite(s.u_m3[dip]):
                entry = (name, sign * float(s.u_m3[dip]), int(s.t_ms[dip]), int(s.seq[dip]))
                together.setdefault(int(s.source[dip]), []).append(entry)
            else:
                alone.append(Part(name, known(float(s.u_m3[dip])), U, int(s.t_ms[dip]), asked.uid_of(s.seq[dip]),
                                  READING))
    for each in together.values():
        names = " and ".join(dict.fromkeys(name for name, *_ in each))
        alone.append(Part(f"{names}, of one dip" if len(each) > 1 else names, abs(sum(u for _, u, _, _ in each)), U,
                          each[0][2], asked.uid_of(each[0][3]), READING))
    return alone


def _counted(s: Samples, spans: tuple[tuple[int, int], ...], t: int, base_ms: int) -> list[tuple[int, float]]:
    """(index of the dip, −1 for none; sign) of those dips of a tank that don't cancel: counted from at the zero or its
    joining, to now or its leaving."""
    runs: list[list[float]] = []
    for a, b in spans:
        if b <= base_ms:
            continue
        if t < a:
            break
        for sign, at in ((-1.0, max(base_ms, a)), (1.0, t if t < b else b)):
            i = int(s.index_at(at))
            dip = int(s.base[i]) if i >= 0 else -1
            if runs and runs[-1][0] == dip:
                runs[-1][2] += 1
            else:
                runs.append([dip, sign, 1])
    return [(int(dip), sign) for dip, sign, count in runs if dip < 0 or count % 2]

