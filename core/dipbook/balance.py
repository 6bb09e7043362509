"""The balance: actual, expected and what is left, at any times, with the uncertainty of the gauging.

    difference(t) = actual(t) − start − Σ_terms (term(t) − term(b)),  b the reading that the last zero rests on

Actual takes each tank's last dip at or before t, never interpolated, with what was logged on the tank between that dip
and the end of its round. A tank that joined and wasn't gauged yet is left out on both sides, so that the others are
still compared. Start is the actual at b, with what was logged since its dip on a tank that was held there.
Sign: + is more mud on surface than expected.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from dipbook import terms as term
from dipbook.books.actual import actual, first_known, inside, known_part, readable, some_tank
from dipbook.books.books import Books, Zero
from dipbook.books.count_once import count_once
from dipbook.books.equalised import variance
from dipbook.books.lineup import ALWAYS
from dipbook.books.trips import trip_at
from dipbook.entries.kinds import ACTIVE, NOWHERE
from dipbook.findings import Finding
from dipbook.terms import rounds
from dipbook.terms.system import ACTIVE_SYSTEM, ALL_SURFACE, System, system

TERMS = ("transfers", "pills", "additions", "discards", "lineup", "steel", "bore", "trip", "lines", "cuttings",
         "equipment", "rates")
"""Names of the terms, in the order in which they are listed."""

NOT_WATCHED = "not watched"
STARTS_OF = "starts of "
"""Before a system's name: what the books hand on of its zeros."""
NOT_BOOKED = ("tripping", "casing")
"""Activities that move pipe: without a trip in the log, or with one whose string isn't known, the books can't follow it
and it is shown as not watched."""


@dataclass(frozen=True)
class Balance:
    """The balance of one system, one row a time. Volumes [m3], float64, NaN where unknown.

    t_ms: int64. u_m3: one standard uncertainty (k=1). terms: change of each since the zero, + raises the expected.
    partial: a tank of it wasn't gauged in the reading in force, or couldn't be read, or no tank is in it.
    zero_ms: the zero each row rests on, −1 before any.
    """

    system: str
    t_ms: Any
    actual_m3: Any
    expected_m3: Any
    difference_m3: Any
    u_m3: Any
    terms: Mapping[str, Any]
    partial: Any
    zero_ms: Any


def curves(books: Books, of: System) -> tuple[dict[str, Any], tuple[Finding, ...]]:
    """Every term of a system as a curve, and the findings made on the way. books: of the log. of: the system."""
    key = ("curves", of.name)
    if key not in books.worked_out or books.worked_out[key][0] != of:      # all surface may have a tank more by now
        books.worked_out[key] = (of, _curves(books, of))
    made: tuple[dict[str, Any], tuple[Finding, ...]] = books.worked_out[key][1]
    return made


def _curves(books: Books, of: System) -> tuple[dict[str, Any], tuple[Finding, ...]]:
    found: list[Finding] = []
    bore, f = term.bore(books, of)
    found.extend(f)
    lines, f = term.lines(books, of)
    found.extend(f)
    cuttings, f = term.cuttings(books, of)
    found.extend(f)
    equipment, f = term.equipment(books, of)
    found.extend(f)
    made: dict[str, Any] = {
        **{name: term.moved(books, of, name) for name in ("transfers", "pills", "additions", "discards")},
        "lineup": term.lineup(books, of), "steel": term.steel(books, of), "bore": bore,
        "trip": term.trip(books, of)[0], "lines": lines,
        "cuttings": cuttings, "equipment": equipment, "rates": term.moved(books, of, "rates"),
    }
    return made, tuple(found)


def at(books: Books, t_ms: Any, name: str = ACTIVE_SYSTEM, *, zeroed_by: int | None = None) -> Balance:
    """The balance of a system.

    books: of the log. t_ms: times, any order [UTC ms]. name: "active", "all surface" or a tank. zeroed_by: the zeros up
    to then count [UTC ms], one that was given after its reading too; None: those up to each time.
    """
    t = np.atleast_1d(np.asarray(t_ms, dtype=np.int64))
    of = system(books, name)
    made, _ = curves(books, of)
    begun = starts(books, name)
    in_force = t if zeroed_by is None else np.maximum(t, zeroed_by)
    index = np.searchsorted(np.array([x.zero_ms for x in begun], dtype=np.int64), in_force, side="right") - 1
    has_zero = index >= 0
    base = np.zeros(t.shape, dtype=np.int64)
    zero = np.full(t.shape, -1, dtype=np.int64)
    start = np.full(t.shape, np.nan)
    if begun:
        at_least = np.maximum(index, 0)
        base = np.where(has_zero, np.array([x.base_ms for x in begun])[at_least], 0)
        zero = np.where(has_zero, np.array([x.zero_ms for x in begun])[at_least], -1)
        start = np.where(has_zero, np.array([x.volume_m3 for x in begun])[at_least], np.nan)
    samples = readings_of(books, of)
    reading = {tank: samples[tank].index_at(t) for tank in of.spans if tank in samples}
    volume, unknown = known_part(samples, of.spans, t, reading)
    volume = volume + rounds.carried(books, of, samples, t, reading)
    if unknown:
        since_joining = rounds.not_gauged_yet(books, of, t, unknown)
        everywhere = ~np.logical_or.reduce(list(unknown.values()))      # what joins later is nothing to an earlier time
        volume = volume + np.where(has_zero | everywhere, since_joining, np.nan)
    values: dict[str, Any] = {}
    total = np.zeros(t.shape)
    for key, curve in made.items():
        change = np.where(has_zero, curve.at(t) - curve.at(base), np.nan)
        values[key] = change
        total = total + change
    volume = np.where(books.has_all(t), volume, np.nan)
    expected = start + total
    difference = volume - expected
    u = np.full(t.shape, np.nan)
    for k in np.unique(index[has_zero & np.isfinite(difference)]).tolist():
        rows = np.flatnonzero((index == k) & np.isfinite(difference))
        u[rows] = _uncertainty(books, of, t[rows], begun[k].base_ms, {n: i[rows] for n, i in reading.items()})
        u[rows] = np.hypot(u[rows], _round_spread(books, of, t[rows], begun[k].base_ms))
        u[rows] = np.hypot(u[rows], _float_spread(books, of, t[rows], begun[k].base_ms))
    return Balance(name, t, volume, expected, difference, u, {k: values[k] for k in TERMS}, _partial(books, of, t),
                   zero)


@dataclass(frozen=True, slots=True)
class Start:
    """What a zero starts a system's difference from. zero_ms: in force from then on; base_ms: the reading that it rests
    on [UTC ms]; volume_m3: in the system then [m3]."""

    zero_ms: int
    base_ms: int
    volume_m3: float


def readings_of(books: Books, of: System) -> Mapping[str, Any]:
    """Readings that a system counts. Only the active one has a line-up, and the values put in at its changes.

    books: of the log. of: the system.
    """
    return books.samples if of.name == ACTIVE_SYSTEM else books.dips


def start(books: Books, t_ms: int, name: str = ACTIVE_SYSTEM, *, zeroed_by: int | None = None) -> Start | None:
    """What a system's difference is counted from; None before any zero. books, name, zeroed_by: as of ``at``. t_ms:
    when [UTC ms]."""
    in_force = t_ms if zeroed_by is None else max(t_ms, zeroed_by)
    return next((x for x in reversed(starts(books, name)) if x.zero_ms <= in_force), None)


def spreads(books: Books, t_ms: int, base_ms: int, name: str = ACTIVE_SYSTEM) -> tuple[float, float]:
    """One standard uncertainty (k=1) of a system's difference from rounds that take minutes, and from a self-filling
    float [m3]. books: of the log. t_ms: when; base_ms: of the reading that it is counted from [UTC ms]. name: as of
    ``at``."""
    of, t = system(books, name), np.array([t_ms], dtype=np.int64)
    return float(np.broadcast_to(_round_spread(books, of, t, base_ms), (1,))[0]), \
        float(np.broadcast_to(_float_spread(books, of, t, base_ms), (1,))[0])


def starts(books: Books, name: str = ACTIVE_SYSTEM) -> list[Start]:
    """The zeros of a system, by time. All surface starts when every tank had been gauged; a single tank, also when the
    flow line was turned to it. books, name: as of ``at``."""
    key = ("starts", name)
    if key not in books.worked_out:
        books.worked_out[key] = _found_starts(books, system(books, name))
    found: list[Start] = books.worked_out[key]
    return found


@dataclass(frozen=True)
class _Starts:
    """What books hand on of a system's zeros. found: (zero, its reading) as asked [UTC ms] -> start."""

    of: System
    found: Mapping[tuple[int, int | None], Start]

    def before(self, t_ms: int) -> _Starts:
        """Those that nothing from ``t_ms`` on has touched [UTC ms]."""
        return _Starts(self.of, {asked: x for asked, x in self.found.items() if max(x.zero_ms, x.base_ms) < t_ms})


def _found_starts(books: Books, of: System) -> list[Start]:
    samples = readings_of(books, of)
    asked = [(z.t_ms, z.base_ms) for z in books.zeros if z.t_ms is not None]
    if of.name not in (ACTIVE_SYSTEM, ALL_SURFACE):
        asked += [(r.t_ms, None) for r in books.line.routes if r.to == of.name and asked and
                  r.t_ms > min(t for t, _ in asked)]
    before: _Starts | None = books.kept.get(STARTS_OF + of.name)
    kept = before.found if before is not None and before.of == of else {}
    found: dict[tuple[int, int | None], Start] = {}
    known = readable(samples)
    for zero_ms, base_ms in asked:
        one = kept.get((zero_ms, base_ms))
        if one is None:
            t = first_known(known, of.spans, books.readings, zero_ms)
            b = None if t is None else base_ms if of.name == ACTIVE_SYSTEM and base_ms is not None else \
                _base_of(books, of, t)
            one = None if t is None or b is None else Start(t, b, _start_volume(books, of, b))
        if one is not None:
            found[zero_ms, base_ms] = one
    books.kept[STARTS_OF + of.name] = _Starts(of, found)
    of_time = {x.zero_ms: x for x in found.values()}
    return [of_time[t] for t in sorted(of_time)]


def _base_of(books: Books, of: System, t: int) -> int:
    """The reading that a zero at ``t`` rests on: for a single tank its own last dip [UTC ms]."""
    if of.name != ALL_SURFACE:
        dips = books.dips[of.name]
        return int(dips.t_ms[int(dips.index_at(t))])
    r = int(books.readings.index_at(t)) if len(books.readings) else -1
    end = int(books.readings.end_ms[r]) if r >= 0 else t
    return end if np.isfinite(actual(books.dips, of.spans, np.array([end]))[0]) else t


def _start_volume(books: Books, of: System, base_ms: int) -> float:
    """Volume of a system at ``base_ms`` [m3]: each tank's last dip, with what was logged on it since, earlier in the
    same round or before it if the round left it out."""
    samples = readings_of(books, of)
    volume = float(actual(samples, of.spans, np.array([base_ms]))[0])
    if not len(books.readings) or int(books.readings.index_at(base_ms)) < 0:
        return volume
    for tank in of.members_at(base_ms):
        i = int(samples[tank].index_at(base_ms)) if tank in samples else -1
        if i >= 0 and int(samples[tank].t_ms[i]) < base_ms:
            logged = books.logged(tank)
            volume += float(logged.at(base_ms)) - float(logged.at(samples[tank].t_ms[i]))
    return volume + rounds.spread_by_gates(books, of, int(books.readings.index_at(base_ms)))


def written_off(books: Books) -> tuple[tuple[Zero, float], ...]:
    """What each zero wrote off: the difference of the active system that it ended [m3], NaN where it wasn't known.

    books: of the log. The first zero that was given ends what had been counted while nobody had given one.
    """
    of = system(books)
    made, _ = curves(books, of)
    counted = [z for z in books.zeros if z.t_ms is not None and z.base_ms is not None]
    first = books.taken
    if counted and first is not None and first.t_ms is not None and first.t_ms < min(z.t_ms or 0 for z in counted):
        counted.append(first)
    counted.sort(key=lambda z: (z.t_ms or 0, z.asked_ms))
    known = {x.base_ms: x.volume_m3 for x in starts(books)}
    at_base = [(int(z.base_ms or 0), z) for z in counted]
    held = [known[b] if b in known else _start_volume(books, of, b) for b, _ in at_base]
    booked = sum(c.at(np.array([b for b, _ in at_base], dtype=float)) for c in made.values())
    lost = np.diff(held) - np.diff(booked) if len(held) > 1 else ()
    return tuple((z, float(x)) for (_, z), x in zip(at_base[1:], lost, strict=True))


def followed(books: Books, t_ms: Any) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """(system that the returns go to, why these ``books`` can't follow it or "") at each of ``t_ms`` [UTC ms].

    "active", a tank, or "not watched" where the returns go nowhere or pipe moves in ways that aren't booked. Hours in
    which nobody watched don't count here: a reading found later speaks for them.
    """
    marks = _marks(books)
    return _stepwise(books, t_ms, marks, _followed_at)


def watched(books: Books, t_ms: Any) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """(name of the watched system by the ``books``, why it isn't watched or "") at each of ``t_ms`` [UTC ms].

    As ``followed``, and "not watched" in hours in which nobody watched.
    """
    marks = _marks(books)
    marks |= {int(x) for a, b, _ in books.unwatched for x in (a, b) if x is not None}
    return _stepwise(books, t_ms, marks, _watched_at)


def _marks(books: Books) -> set[int]:
    """When what is watched may change [UTC ms]: the flow line, the activity, a trip."""
    trips = {t for trip in books.trips for t in (trip.begun_ms, trip.end_ms) if t is not None}
    return {int(a) for a, _, _ in books.line.route_spans() if a != ALWAYS} | {*books.activities.t_ms.tolist(), *trips}


def _stepwise(books: Books, t_ms: Any, marks: set[int], ask: Callable[[Books, int], tuple[str, str]],
              ) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """``ask`` at every time, once between two marks."""
    t = np.atleast_1d(np.asarray(t_ms, dtype=np.int64))
    index = np.searchsorted(np.array(sorted(marks), dtype=np.int64), t, side="right").tolist()
    known: dict[int, tuple[str, str]] = {}
    for i, at_ms in zip(index, t.tolist(), strict=True):
        if i not in known:
            known[i] = ask(books, at_ms)
    return tuple(known[i][0] for i in index), tuple(known[i][1] for i in index)


def _watched_at(books: Books, t: int) -> tuple[str, str]:
    for a, b, why in books.unwatched:
        if a <= t and (b is None or t < b):
            return NOT_WATCHED, why
    return _followed_at(books, t)


def _followed_at(books: Books, t: int) -> tuple[str, str]:
    activity, _ = books.activities.at(t)
    trip = trip_at(books.trips, t)
    if trip is not None and trip.string(books.rig_at(trip.begun_ms)) is None:
        return NOT_WATCHED, "the string of this trip isn't described"
    if activity in NOT_BOOKED and trip is None:
        return NOT_WATCHED, f"{activity} without a trip in the log: begin one on the Trip page"
    route = books.line.route_at(t)
    if route.to == NOWHERE:
        return NOT_WATCHED, "no returns to the tanks"
    return (ACTIVE if route.to == ACTIVE or route.to in books.line.active_at(t) else route.to), ""


def held(books: Books, t_ms: int, name: str = ACTIVE_SYSTEM) -> tuple[tuple[str, int], ...]:
    """Tanks carried at an older dip than the reading in force: (tank, gauged at [UTC ms]). One that was never gauged
    isn't carried at anything: it isn't among them, and the actual is unknown.

    books: of the log. t_ms: when [UTC ms]. name: "active", "all surface" or a tank.
    """
    return held_at(books, np.array([t_ms]), name)[0]


def held_at(books: Books, t_ms: Any, name: str = ACTIVE_SYSTEM) -> list[tuple[tuple[str, int], ...]]:
    """``held`` at many times. books: of the log. t_ms: [UTC ms]. name: "active", "all surface" or a tank."""
    of = system(books, name)
    t = np.asarray(t_ms, dtype=np.int64)
    r = books.readings.index_at(t)
    out: list[tuple[tuple[str, int], ...]] = [()] * len(t)
    for tank in sorted(set(of.spans) & set(books.dips)):
        i = books.dips[tank].index_at(t)
        rows = np.flatnonzero((r >= 0) & (i >= 0) & inside(of.spans[tank], t))
        rows = rows[~books.gauged_in(tank, r[rows])]
        for row, since in zip(rows.tolist(), books.dips[tank].t_ms[i[rows]].tolist(), strict=True):
            out[row] = (*out[row], (tank, since))
    return out


def u_of_change(books: Books, from_ms: int, to_ms: Any, name: str = ACTIVE_SYSTEM) -> Any:
    """One standard uncertainty (k=1) of how a system's difference changed between two readings [m3], of the dips and of
    rounds that take minutes; a tank that wasn't gauged in between counts 0, NaN where a dip's isn't known.

    books: of the log. from_ms, to_ms: ends of the readings [UTC ms]; to_ms one, or an array of them. name: "active",
    "all surface" or a tank.
    """
    of = system(books, name)
    t = np.atleast_1d(np.asarray(to_ms, dtype=np.int64))
    samples = readings_of(books, of)
    reading = {tank: samples[tank].index_at(t) for tank in of.spans if tank in samples}
    u = np.hypot(_uncertainty(books, of, t, from_ms, reading), _round_spread(books, of, t, from_ms))
    return u if np.ndim(to_ms) else float(u[0])


def findings(books: Books) -> tuple[Finding, ...]:
    """All findings on the ``books``: on the data, on what the terms lack, and on what may be counted twice."""
    _, made = curves(books, system(books))
    return (*books.findings, *made, *count_once(books), *_left_out(books))


def _left_out(books: Books) -> tuple[Finding, ...]:
    """Tanks that all surface lacks; a warning where a limit is on it."""
    never = system(books, ALL_SURFACE).never
    if not never or not len(books.readings):
        return ()
    limited = any(limit.on == ALL_SURFACE for limit in books.rig.limits)
    were = "was" if len(never) == 1 else "were"
    words = f"{', '.join(never)} {were} never gauged: all surface tanks are summed without."
    return (Finding(words, code="never_gauged", severity="warning" if limited else "note", tank=never[0]),)


def _partial(books: Books, of: System, t: Any) -> Any:
    partial = ~some_tank(of.spans, t)
    if of.never:
        partial[:] = True
    for _, since, _ in of.joins:
        partial |= t < since
    if not len(books.readings):
        return np.ones(t.shape, dtype=bool)
    r = books.readings.index_at(t)
    for tank, spans in of.spans.items():
        partial |= inside(spans, t) & ~((r >= 0) & books.gauged_in(tank, np.maximum(r, 0)))
        partial |= inside(spans, t) & (r >= 0) & books.unread_in(tank, np.maximum(r, 0))
        partial |= inside(spans, t) & (r >= 0) & books.stale_in(tank, np.maximum(r, 0))
    return partial


def _round_spread(books: Books, of: System, t: Any, base_ms: int) -> Any:
    """Uncertainty from rounds that take minutes [m3]: of what the well moved meanwhile some tanks' dips lack up to all,
    evenly likely (half-width over √3). The zero's own round counts nothing against itself."""
    if not len(books.readings):
        return np.zeros(t.shape)
    made, _ = curves(books, of)
    now, then = books.readings.index_at(t), int(books.readings.index_at(base_ms))
    spread = np.hypot(rounds.unplaced(books, of, made, now), rounds.unplaced(books, of, made, np.array([then]))[0])
    return np.where(now == then, 0.0, spread / np.sqrt(3.0))


def _float_spread(books: Books, of: System, t: Any, base_ms: int) -> Any:
    """Uncertainty from a self-filling float [m3], which lets in anything between nothing and the bore (half-width over
    √3)."""
    if not books.trips:
        return np.zeros(t.shape)
    _, width = term.trip(books, of)
    return np.abs(width.at(t) - width.at(np.float64(base_ms))) / 2.0 / np.sqrt(3.0)


def _uncertainty(books: Books, of: System, t: Any, base_ms: int, reading: Mapping[str, Any]) -> Any:
    """u² = Σ u_i(t)² + Σ u_i(zero)², likewise at joins and leaves; a dip that serves both ends counts 0.

    base_ms: of the zero [UTC ms]. reading: by tank the index of its reading at each of ``t``.
    A tank's dips follow each other with signs −, +, −, +: counted from, counted to, in each of its spans. Of a run of
    the same dip, an even number cancels and an odd number leaves one, with the sign of the first. Where one dip tells
    two tanks, behind an open gate, their errors add before they are squared.
    """
    total = np.zeros(t.shape)
    together: list[tuple[Any, Any]] = []
    samples = readings_of(books, of)
    for tank, spans in of.spans.items():
        s = samples.get(tank)
        if s is None:
            continue
        run = np.full(t.shape, -1, dtype=np.int64)
        odd = np.zeros(t.shape, dtype=bool)
        sign = np.zeros(t.shape)
        for a, b in spans:
            if b <= base_ms:
                continue
            touched = t >= a
            if not touched.any():
                break
            # Counted from the zero or its joining, and to now or its leaving.
            for way, i in ((-1.0, int(s.index_at(max(base_ms, a)))),
                           (1.0, np.where(t < b, reading[tank], int(s.index_at(b))))):
                dip = np.where(np.asarray(i) >= 0, s.base[np.maximum(i, 0)], -1)
                new = touched & (dip != run)
                total = total + _counted(s, run, np.where(new & odd, sign, 0.0), together)
                total[touched & (dip < 0)] = np.nan
                odd = np.where(new, True, np.where(touched, ~odd, odd))
                sign = np.where(new, way, sign)
                run = np.where(new, dip, run)
        total = total + _counted(s, run, np.where(odd, sign, 0.0), together)
    return np.sqrt(total + variance(together, t.shape))


def _counted(s: Any, dip: Any, sign: Any, together: list[tuple[Any, Any]]) -> Any:
    """Variance of dips of one tank where they count (sign isn't 0) [m6]. Those whose error may be another tank's too
    are put into ``together`` instead, with their sign."""
    at = np.maximum(dip, 0)
    u = np.where(sign != 0.0, s.u_m3[at], 0.0)
    if s.source is None:
        return u**2
    together.append((s.source[at], sign * u))
    return np.zeros(u.shape)
