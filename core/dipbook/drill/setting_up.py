"""From a scenario, a seed and a rig to a session at its start."""

from __future__ import annotations

from math import isfinite

from dipbook.drill.bore import Bore
from dipbook.drill.column import Column
from dipbook.drill.crew import program
from dipbook.drill.cuttings import Cuttings
from dipbook.drill.gauges import Gauges
from dipbook.drill.happenings import plan
from dipbook.drill.pits import Pits, held_at
from dipbook.drill.profile import IN_THE_HOLE_M, profile
from dipbook.drill.scenario import Item, Scenario, drawn
from dipbook.drill.session import STEP_MS, Session
from dipbook.drill.well import Manner, Well
from dipbook.errors import DrillError
from dipbook.mud.mixing import ImpossibleError
from dipbook.rig.model import Rig
from dipbook.well import String

BEGIN_MS = 1_767_614_400_000
"""When every drill begins: 5 January 2026, 12:00 UTC [UTC ms]. Invented, like all of it."""
BEFORE_MS = 60_000
"""So long before the start the crew have logged what goes on [ms]."""
SHARE_FULL = 0.65
"""Of a tank that the scenario says nothing of (no source)."""


def set_up(scenario: Scenario, seed: int, rig: Rig, *, step_ms: int = STEP_MS) -> Session:
    """A session at its start, with the start logged.

    scenario: as read. seed: draws its ranges and the noise. rig: that it is run on. step_ms: longest step [ms]. Raises
    DrillError where the rig doesn't describe what a drill needs.
    """
    it = drawn(scenario, seed)
    well = _well(it, rig)
    every = round(it.gauges.number_or("every", 60.0) * 1000.0)
    session = Session(rig, well, Gauges(it.gauges, seed), BEGIN_MS, every,
                      walk_ms=round(it.gauges.number_or("walk", 0.0) * 1000.0), step_ms=step_ms)
    flow = it.start.number("flow")
    if flow > 0.0:
        session.log("pumps", back_ms=BEFORE_MS, state="on", flow=flow)
    else:
        session.log("pumps", back_ms=BEFORE_MS, state="off")
    session.log("depth", back_ms=BEFORE_MS, hole_depth=well.hole_m, bit_depth=well.bore.bit_m)
    session.log("zero", length=well.bore.above_m, reason="start of the drill")
    session.program = program(session, it.work)
    plan(session, it.events)
    session.tell("start")
    return session


def _well(it: Scenario, rig: Rig) -> Well:
    string = rig.whole_string
    if string is None or rig.pipe is None or rig.hole is None or rig.hole.capacity is None:
        raise DrillError("A drill needs a rig file with [pipe], and [hole] with its capacity; this one hasn't got "
                         "them. Nothing was written.")
    hole_m = it.start.number("hole_depth")
    bit_m = it.start.number_or("bit_depth", hole_m)
    flow = it.start.number("flow")
    try:
        scale, annulus = _scale(rig, string, hole_m)
        hole_m3 = profile(rig, string, 0.0, hole_m).volume() if rig.sections else rig.hole.capacity * hole_m
    except ImpossibleError as error:
        raise DrillError(f"The rig file's hole and string don't go with the depths of the scenario: {error}. Nothing "
                         "was written.") from None
    if bit_m > hole_m:
        raise DrillError("The scenario begins with the bit below the bottom of the hole. Nothing was written.")
    bore = Bore(string, bit_m, it.start.number_or("above", 0.0), rig.survey)
    bore.add(bore.capacity_m3, it.start.number("mud"))
    manner = _manner(it.well, flow)
    return Well(rig, manner, bore, _pits(it, rig, flow, manner), Column(it.start.number("mud"), rig.survey),
                Cuttings(rig.hole, annulus), hole_m, hole_m3, scale, flow_m3_s=flow, asked_m3_s=flow)


def _scale(rig: Rig, string: String, hole_m: float) -> tuple[float, float]:
    """(by what the room around the pipe is larger than drawn, so that it is what the crew measured [-]; that room
    [m3])."""
    drawn_m3 = profile(rig, string, hole_m, hole_m).volume() if hole_m > IN_THE_HOLE_M else 0.0
    measured = rig.hole.annulus_m3 if rig.hole is not None else None
    if measured is None or not (isfinite(drawn_m3) and drawn_m3 > 0.0):
        return 1.0, drawn_m3
    return measured / drawn_m3, measured


def _manner(well: Item, flow: float) -> Manner:
    return Manner(
        friction_pa=well.number_or("friction", 0.0), reference_m3_s=well.number_or("friction_at", flow) or 1.0,
        spin_up_s=well.number_or("spin_up", 0.0), return_lag_s=well.number_or("return_lag", 0.0),
        falls_s=well.number_or("falls_in", 40.0), gas_slip_m_s=well.number_or("gas_slip", 0.0),
        swab_pa=well.number_or("swab", 0.0), swab_m_s=well.number_or("swab_at", 0.5),
        wider=well.number_or("washout", 0.0))


def _pits(it: Scenario, rig: Rig, flow: float, manner: Manner) -> Pits:
    active = [t.name for t in rig.tanks if t.active]
    if not active:
        raise DrillError("The rig file has no active tank: there is nothing to pump from. Nothing was written.")
    suction = next((t.name for t in rig.tanks if t.active and t.role == "suction"), active[-1])
    tanks = Item("", it.tanks)
    volumes = {t.name: tanks.number_or(t.name, SHARE_FULL * t.capacity_m3) for t in rig.tanks}
    return Pits(rig, volumes, suction, lines_m3=held_at(rig.drain_back, flow) if rig.drain_back else 0.0,
                transit_m3=flow * manner.return_lag_s,
                equipment_m3=sum(e.holds_m3 for e in rig.equipment if e.on))
