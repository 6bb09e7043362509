"""What the log gives twice, or knows of and doesn't book: each side alone is right, both together are not.

Mud kept on cuttings is in r or in the rates of shaker and underflow; cuttings leave over the shaker (ε) or settle and
are dumped; a water valve that stands open runs, and no rate says so, or a rate says so and it is shut; a dump valve
that stands open dumps.
"""

from __future__ import annotations

from dipbook.books.books import Books
from dipbook.books.lineup import ALWAYS, NEVER_ENDS
from dipbook.books.valves import ValveStates
from dipbook.entries.kinds import ACTIVE, KEPT_ON_CUTTINGS, SETTLED, WATER_VALVE
from dipbook.findings import Finding
from dipbook.rig.model import Rig


def count_once(books: Books) -> tuple[Finding, ...]:
    """Findings on ``books``, by time. Nothing is left out of the books for them: a person says which side is true."""
    key = ("count", "once")
    if key not in books.worked_out:
        found = (*_mud_on_cuttings(books), *_settled(books), *_water(books), *_shut_water(books), *_dumps(books))
        books.worked_out[key] = tuple(sorted(found, key=lambda f: f.t_ms or 0))
    made: tuple[Finding, ...] = books.worked_out[key]
    return made


def _rig_spans(books: Books) -> list[tuple[int, int, Rig]]:
    """(from, to [UTC ms], rig in force); the first holds from ever."""
    starts = [ALWAYS, *(start for start, _ in books.rigs[1:])]
    return [(start, end, rig) for start, end, (_, rig) in zip(starts, [*starts[1:], NEVER_ENDS], books.rigs,
                                                              strict=True)]


def _mud_on_cuttings(books: Books) -> list[Finding]:
    """Rates of what the cuttings take along, while the rig file has r above 0 too: one finding a rate."""
    what = {r.uid: str(r.payload.get("what") or "") for r in books.eff.records if r.kind == "rate in force"}
    found: list[Finding] = []
    for m in books.moves:
        if m.term != "rates" or what.get(m.uid) not in KEPT_ON_CUTTINGS:
            continue
        for start, end, rig in _rig_spans(books):
            t = max(start, m.ramp.t0)
            if t < min(end, m.ramp.t1) and rig.hole is not None and (rig.hole.mud_on_cuttings or 0.0) > 0.0:
                found.append(Finding(
                    f"A rate in force of the {what[m.uid]} is on, and the rig file books mud kept on cuttings "
                    "(mud_on_cuttings) as well: the same mud leaves the books twice, the expected volume reads low and "
                    "the difference high, a false gain that hides an equal loss. Keep one of them.",
                    code="counted_twice_on_cuttings", t_ms=t))
                break
    return found


def _settled(books: Books) -> list[Finding]:
    """Dumps of settled solids, while cuttings are booked as carried off."""
    found: list[Finding] = []
    for r in books.eff.records:
        if r.kind != "trap dump" or r.payload.get("what") != SETTLED:
            continue
        hole = books.rig_at(r.t_ms).hole
        if hole is None or not hole.carried_off:
            continue
        share = "all of them" if hole.carried_off == 1.0 else f"{hole.carried_off:g} of them"
        found.append(Finding(
            f"Settled solids were dumped, and the rig file books cuttings as carried off over the shaker (carried_off: "
            f"{share}): what was dumped may leave the books twice, and the difference read high, a false gain that "
            "hides an equal loss. Keep one of them.", code="counted_twice_settled",
            tank=str(r.payload.get("from") or ""), t_ms=r.t_ms))
    return found


NOT_THE_VALVE = ("rain",)
"""Inflows in force that are none of an open water valve's."""


def _water(books: Books) -> list[Finding]:
    """Water valves that stand open while no rate in force runs into their tank, and nothing was added to it meanwhile:
    one finding for each stretch."""
    states = books.valves
    rain = {r.uid for r in books.eff.records if r.kind == "rate in force" and r.payload.get("what") in NOT_THE_VALVE}
    rates = [(m.target, m.ramp.t0, NEVER_ENDS if m.open else m.ramp.t1) for m in books.moves
             if m.term == "rates" and m.uid not in rain]
    added = [(m.target, m.ramp.t0, m.ramp.t1) for m in books.moves if m.term == "additions"]
    ends = {t for _, a, b in rates for t in (a, b) if t != NEVER_ENDS}
    marks = sorted({*states.marks(), *ends, *(a for a, _, _ in _rig_spans(books))})
    found: list[Finding] = []
    runs: set[str] = set()
    for t in marks:
        open_now = {v.name: v.tank for v in books.rig_at(t).valves if v.kind == "water" and states.at(v.name, t)[0]}
        unbooked = {name: tank for name, tank in open_now.items()
                    if not any(to in (tank, ACTIVE) and a <= t < b for to, a, b in rates)
                    and not any(to == tank and a <= _closed(states, name, t) and b >= t for to, a, b in added)}
        for name in sorted(set(unbooked) - runs):
            found.append(Finding(
                f"{name} stands open at {unbooked[name]} and no rate in force runs into it: what runs in isn't booked "
                "and reads as a gain, which hides an equal loss. Log its rate, or close it.",
                code="water_not_booked", tank=unbooked[name], t_ms=books.rigs[0][0] if t == ALWAYS else t))
        runs = set(unbooked)
    return found


def _closed(states: ValveStates, name: str, t_ms: int) -> int:
    """When a valve that is open at a time was closed [UTC ms]."""
    return next((t for t, is_open, _ in states.runs.get(name, ()) if t > t_ms and not is_open), NEVER_ENDS)


def _shut_water(books: Books) -> list[Finding]:
    """Rates of a water valve into a tank all of whose water valves stand closed: one finding for each rate."""
    what = {r.uid: str(r.payload.get("what") or "") for r in books.eff.records if r.kind == "rate in force"}
    states = books.valves
    found: list[Finding] = []
    for m in books.moves:
        if m.term != "rates" or what.get(m.uid) != WATER_VALVE:
            continue
        end = NEVER_ENDS if m.open else m.ramp.t1
        for t in sorted({m.ramp.t0, *(x for x in states.marks() if m.ramp.t0 < x < end)}):
            at_tank = [v.name for v in books.rig_at(t).valves if v.kind == "water" and m.target in (v.tank, ACTIVE)]
            if at_tank and not any(states.at(name, t)[0] for name in at_tank):
                stand = "stands" if len(at_tank) == 1 else "stand"
                found.append(Finding(
                    f"A water valve's rate into {m.target} is in force and {' and '.join(at_tank)} {stand} closed: "
                    "water that is booked and doesn't run reads as a loss, and hides an equal kick. Put the rate off, "
                    "or log the valve.", code="water_booked_shut",
                    tank=m.target if m.target != ACTIVE else "", t_ms=t))
                break
    return found


def _dumps(books: Books) -> list[Finding]:
    """Dump valves that stand open while nothing is booked out of their tank: one finding for each stretch."""
    states = books.valves
    out = [(m.source, m.ramp.t0, NEVER_ENDS if m.open else m.ramp.t1) for m in books.moves]
    found: list[Finding] = []
    for name, runs in states.runs.items():
        for k, (a, is_open, _) in enumerate(runs):
            b = runs[k + 1][0] if k + 1 < len(runs) else NEVER_ENDS
            valve = next((v for v in books.rig_at(a).valves if v.name == name), None)
            if not is_open or valve is None or valve.kind != "dump":
                continue
            if not any(source == valve.tank and t0 <= b and t1 >= a for source, t0, t1 in out):
                found.append(Finding(
                    f"{name} stands open at {valve.tank} and nothing is booked out of it: what is dumped reads as a "
                    "loss, and hides an equal kick. Log the dump, or close it." if b == NEVER_ENDS else
                    f"{name} stood open at {valve.tank} and nothing is booked out of it: what was dumped reads as a "
                    "loss, and hides an equal kick. Log the dump.", code="dump_not_booked", tank=valve.tank,
                    t_ms=books.rigs[0][0] if a == ALWAYS else a))
    return found
