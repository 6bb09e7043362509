"""A pit drill on the rig as the record that people sign, from the real log: what was logged, and nothing made up."""

from __future__ import annotations

from itertools import pairwise
from math import isfinite

import numpy as np

from dipbook import watch
from dipbook.books import Books
from dipbook.debrief.signed_record import (
    PIT_DRILL,
    T0,
    T1,
    T2,
    T3,
    T4,
    T5,
    DrillRecord,
    Moment,
    Signal,
    depths_at,
    moments,
)
from dipbook.limits import LOUD_KINDS
from dipbook.pit_drills import PitDrill, pit_drills
from dipbook.quantities import write_level
from dipbook.records import WARNING
from dipbook.rig.model import Rig

MOMENT_OF = {"recognised": T1, "driller told": T2, "flow check": T3, "pumps off": T3, "ready to close": T4,
             "complete": T5}
"""Step of the crew → which moment it is. First recognised is the first of any, where nobody noted it by itself."""
LOGGED = {"flow check": T3, "told driller": T2}
"""Entries of the log that are such a step too."""
PROCEDURE = ("flow check", "complete")
"""What a target of time is held against."""


def of_log(books: Books) -> tuple[DrillRecord, ...]:
    """The records of a log's pit drills, by when they began. books: of the log."""
    return tuple(of_pit_drill(books, drill) for drill in pit_drills(books.eff.records))


def of_pit_drill(books: Books, drill: PitDrill) -> DrillRecord:
    """The record of one. books: of the log. drill: one of its pit drills."""
    rig = books.rig_at(drill.begun_ms)
    hole, bit = depths_at(books, drill.begun_ms)
    at = [(MOMENT_OF[s.step], s.t_ms, s.who) for s in drill.steps if s.step in MOMENT_OF]
    at += [(LOGGED[r.kind], r.t_ms, str(r.payload.get("seen_by") or r.author)) for r in books.eff.records
           if r.kind in LOGGED and _within(drill, r.t_ms)]
    if at and not any(key == T1 for key, _, _ in at):
        _, t, who = min(at, key=lambda x: x[1])
        at.append((T1, t, who))
    answered = [s.t_ms for s in drill.steps if s.step in PROCEDURE]
    answered += [r.t_ms for r in books.eff.records if r.kind == "flow check" and _within(drill, r.t_ms)]
    first = min(answered, default=None)
    in_time = None if drill.within_ms is None else first is not None and first - drill.begun_ms <= drill.within_ms
    if drill.ended_ms is None and first is None:
        in_time = None
    made = moments(drill.begun_ms, at)
    signal = Signal("a raised float", drill.tank, _volume(books, drill), None, drill.raised_m, made,
                    _warned(books, drill), in_time, None, _outcome(drill, first))
    crew = ", ".join(dict.fromkeys(w for w in (m.who for m in made) if w))
    return DrillRecord(
        drill.uid[:12], PIT_DRILL, drill.remark, rig.invented, rig.name, drill.begun_ms, drill.begun_ms, drill.ended_ms,
        books.activities.at(drill.begun_ms)[0], hole, bit, drill.announced, drill.run_by, drill.consent, crew, None,
        drill.within_ms, None, drill.set_by, (signal,), None,
        sum(r.kind == "flow check" and _within(drill, r.t_ms) for r in books.eff.records)
        + sum(s.step == "flow check" for s in drill.steps), _deviations(made), _proved(drill, rig), drill.called_off)


def _within(drill: PitDrill, t_ms: int) -> bool:
    return drill.begun_ms <= t_ms and (drill.ended_ms is None or t_ms <= drill.ended_ms)


def _volume(books: Books, drill: PitDrill) -> float | None:
    """What the raise makes of the tank's volume, from its last reading before; None where that isn't known."""
    samples = books.samples.get(drill.tank)
    tank = next((t for t in books.rig_at(drill.begun_ms).tanks if t.name == drill.tank), None)
    if samples is None or tank is None or not len(samples):
        return None
    i = int(np.searchsorted(samples.t_ms, drill.begun_ms, side="right")) - 1
    level = float(samples.level_m[i]) if i >= 0 else float("nan")
    more = float(tank.volume(level + drill.raised_m) - tank.volume(level))
    return more if isfinite(more) else None


def _warned(books: Books, drill: PitDrill) -> int | None:
    """When the first warning of a gain sounded in it [UTC ms]."""
    found: list[int] = []
    for r in books.records:
        if r.kind != WARNING or not _within(drill, r.learned_ms):
            continue
        try:
            w = watch.from_payload(r.payload)
        except ValueError:
            continue
        if w.event == "ACT" and ((w.kind in LOUD_KINDS and w.kind != "loss") or w.tank == drill.tank):
            found.append(w.learned)
    return min(found, default=None)


def _outcome(drill: PitDrill, first: int | None) -> str:
    if drill.called_off:
        return f"called off: {drill.called_off}"
    if drill.ended_ms is None:
        return "under way"
    if first is not None:
        return "answered"
    return "no flow check and no shut-in was noted"


def _deviations(made: tuple[Moment, ...]) -> tuple[str, ...]:
    """What came out of its order, by the times that were noted; what wasn't noted is said as that in its place."""
    noted = [m for m in made if m.t_ms is not None and m.key != T0]
    return tuple(f"{b.words} came before {a.words}." for a, b in pairwise(noted)
                 if a.t_ms is not None and b.t_ms is not None and b.t_ms < a.t_ms)


def _proved(drill: PitDrill, rig: Rig) -> str:
    if drill.proved is None:
        return ""
    p = drill.proved.payload
    apart = p.get("difference_m")
    level = rig.units.get("level") or "m"
    stick, sensor = (write_level(p.get(key), level, rig.decimal) for key in ("stick_m", "sensor_m"))
    said = f"stick {stick}, sensor {sensor}"
    return f"by {p.get('proved_by')}: {said}" + (", the same" if apart == 0.0 else "")
