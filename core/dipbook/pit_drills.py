"""Pit drills on the rig, in the real log: a float is raised to see what the crew does, with the consent of who is in
charge, for a marked time, and is proved back by a dip.

Nothing is suppressed by a drill: the raised float shows as a gain, the books and the warnings take it as one, and a
real gain breaks in as always. What is here only says that a drill is under way, and what was done in it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from dipbook.entries.kinds import (
    CALLED_OFF,
    FLOAT_PROVED,
    PIT_DRILL,
    PIT_DRILL_END,
    PIT_DRILL_KINDS,
    PIT_DRILL_STEP,
)
from dipbook.findings import Finding
from dipbook.records import Draft, Record


@dataclass(frozen=True, slots=True)
class Step:
    """What the crew did. step: of PIT_DRILL_STEPS. t_ms: when [UTC ms]. who: did it."""

    step: str
    t_ms: int
    who: str


@dataclass(frozen=True, slots=True)
class PitDrill:
    """One pit drill. uid: of the entry that began it. begun_ms; ended_ms: None while it is under way [UTC ms].
    called_off: why, "" for not. ended_by. consent: who, in charge, consented. tank: whose float was raised, by raised_m
    [m]. run_by. announced: to the crew, None for not said. within_ms: the target [ms], None where nobody set one;
    set_by: who did. remark. steps: by time. proved: the dip that proved the float back, None for not yet. logged_by:
    who wrote it.
    """

    uid: str
    begun_ms: int
    consent: str
    tank: str
    raised_m: float
    run_by: str
    announced: bool | None
    within_ms: int | None
    set_by: str
    remark: str
    logged_by: str
    ended_ms: int | None = None
    ended_by: str = ""
    called_off: str = ""
    steps: tuple[Step, ...] = ()
    proved: Record | None = None


def pit_drills(records: Iterable[Record]) -> tuple[PitDrill, ...]:
    """The pit drills of a log, by when they began. records: the ones that count, any order.

    A step belongs to the drill that was under way. One that was begun while another was under way ends none: the end
    ends them all. A float is proved back by the first dip of its tank after it was raised.
    """
    found: list[PitDrill] = []
    for r in sorted((r for r in records if r.kind in PIT_DRILL_KINDS),
                    key=lambda r: (r.t_ms, r.kind != PIT_DRILL, r.seq)):
        p = r.payload
        if r.kind == PIT_DRILL:
            within = p.get("within_s")
            found.append(PitDrill(
                r.uid, r.t_ms, str(p.get("consent", "")), str(p.get("tank", "")), float(p.get("raised_m", 0.0)),
                str(p.get("run_by", "")), {"yes": True, "no": False}.get(str(p.get("announced", ""))),
                None if within is None else round(float(within) * 1000.0), str(p.get("set_by", "")),
                str(p.get("remark", "")), r.author))
        for n, drill in enumerate(found):
            if r.kind == PIT_DRILL_STEP and drill.ended_ms is None:
                done = Step(str(p.get("step", "")), r.t_ms, str(p.get("who", "")))
                found[n] = replace(drill, steps=(*drill.steps, done))
            elif r.kind == PIT_DRILL_END and drill.ended_ms is None:
                why = str(p.get("remark", "")) if p.get("state") == CALLED_OFF else ""
                found[n] = replace(drill, ended_ms=r.t_ms, ended_by=str(p.get("ended_by", "")), called_off=why)
            elif r.kind == FLOAT_PROVED and drill.proved is None and p.get("tank") == drill.tank:
                found[n] = replace(drill, proved=r)
    return tuple(found)


def under_way(drills: Iterable[PitDrill], t_ms: int) -> tuple[PitDrill, ...]:
    """Those that are under way at a time, the newest last. drills: of the log. t_ms: the time [UTC ms]."""
    return tuple(d for d in drills if d.begun_ms <= t_ms and (d.ended_ms is None or t_ms < d.ended_ms))


def not_proved(drills: Iterable[PitDrill], t_ms: int) -> tuple[PitDrill, ...]:
    """Those that are over and whose float isn't proved back yet at a time: its tank may still read high. drills: of the
    log. t_ms: the time [UTC ms]."""
    return tuple(d for d in drills if d.ended_ms is not None and d.ended_ms <= t_ms
                 and (d.proved is None or d.proved.t_ms > t_ms))


def doubts(records: Iterable[Record], made: Draft | None) -> tuple[Finding, ...]:
    """What an entry of a pit drill has against it by the log. records: those that count. made: the entry, None where it
    is refused already.

    Nothing is refused that says that a drill is over, or that a float is back.
    """
    if made is None or made.kind not in PIT_DRILL_KINDS:
        return ()
    drills = pit_drills(r for r in records if r.uid != made.supersedes)
    now = under_way(drills, made.t_ms)
    if made.kind == PIT_DRILL and now:
        return (Finding(f"a pit drill of {now[-1].tank} is under way already: end it first", code="drill_under_way",
                        severity="error", kept=False),)
    if made.kind == PIT_DRILL and (open_ := not_proved(drills, made.t_ms)):
        return (Finding(f"the float of {open_[-1].tank} isn't proved back from the drill before: prove it back first",
                        code="float_not_proved", severity="error", kept=False),)
    if made.kind == PIT_DRILL_STEP and not now and not any(d.ended_ms == made.t_ms for d in drills):
        return (Finding("no pit drill was under way then: its beginning is logged first", code="no_drill",
                        severity="error", kept=False),)
    if made.kind == PIT_DRILL_END and not now:
        return (Finding("no pit drill was under way then", code="no_drill"),)
    if made.kind == FLOAT_PROVED and any(d.tank == made.payload.get("tank") for d in now):
        return (Finding("the pit drill isn't ended yet: is the float back already?", code="drill_under_way"),)
    return ()
