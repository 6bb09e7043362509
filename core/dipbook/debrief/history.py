"""A trainee's drills, one after the other, for coaching: each with how its procedure went, and the rates over all of
them where there are enough trials to say anything.

There is no ranking: trainees stand by name, drills by date, and nothing here compares one person with another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dipbook.debrief.told import Debrief
from dipbook.drill.score import Answer
from dipbook.drill.signal_detection import Rates, together

MET, NOT_MET, ANSWERED, MISSED, NOTHING = "met", "not met", "answered", "missed", "nothing to answer"
CUT = "cut off"
NOT_NAMED = ""
"""A drill that nobody put a name to."""


@dataclass(frozen=True, slots=True)
class DrillDone:
    """One drill. folder: its name. ident. t_ms: when it was done, by the computer's clock, or else the drill's [UTC
    ms]. scenario; mode; instructor: as written. procedure: MISSED where a sign got no procedure; NOT_MET or MET against
    what an operator set; ANSWERED where nobody set a target; NOTHING where no sign asked for one; CUT of a drill that
    was cut off, which is in no rate. after_ms, volume_m3: of each sign that asked for a procedure, None missed [ms],
    [m3]. missed: signs. flow_checks: how many, none of which counts against anybody. false_calls: calls while there was
    nothing. rates.
    """

    folder: str
    ident: str
    t_ms: int
    scenario: str
    mode: str
    instructor: str
    procedure: str
    after_ms: tuple[int | None, ...]
    volume_m3: tuple[float | None, ...]
    missed: tuple[str, ...]
    flow_checks: int
    false_calls: int
    rates: Rates


@dataclass(frozen=True, slots=True)
class Trainee:
    """One trainee. name: NOT_NAMED where nobody wrote one. drills: by date. rates: of all of them together; d′ only
    where there are enough of both sorts."""

    name: str
    drills: tuple[DrillDone, ...]
    rates: Rates


def history(drills: Sequence[tuple[str, Debrief]]) -> tuple[Trainee, ...]:
    """The trainees by name, each with their drills by date. drills: (name of its folder, the drill told over again).

    Spelling apart, names that read the same are one trainee's.
    """
    by_name: dict[str, list[DrillDone]] = {}
    shown: dict[str, str] = {}
    for folder, told in drills:
        name = " ".join(told.about.trainee.split())
        shown.setdefault(name.casefold(), name)
        by_name.setdefault(name.casefold(), []).append(done(folder, told))
    return tuple(Trainee(shown[key], tuple(sorted(found, key=lambda d: (d.t_ms, d.folder))),
                         together([d.rates for d in found if d.procedure != CUT]))
                 for key, found in sorted(by_name.items()))


def done(folder: str, told: Debrief) -> DrillDone:
    """One drill's line. folder: name of its folder. told: the drill told over again."""
    asked = [a for a in told.score.answers if a.sign.kind != "look"]
    about = told.about
    return DrillDone(
        folder, about.ident, about.began_ms if about.done_ms is None else about.done_ms, about.scenario, about.mode,
        about.instructor, CUT if about.cut else _procedure(asked), tuple(a.after_ms for a in asked),
        tuple(a.volume_m3 for a in asked), tuple(s.event for s in told.missed), told.score.flow_checks,
        len(told.score.false_calls_ms), told.score.rates)


def _procedure(asked: Sequence[Answer]) -> str:
    if not asked:
        return NOTHING
    if any(a.missed for a in asked):
        return MISSED
    held = [met for a in asked for met in (a.in_time, a.in_volume) if met is not None]
    return ANSWERED if not held else MET if all(held) else NOT_MET
