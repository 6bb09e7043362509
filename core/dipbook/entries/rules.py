"""What the fields of an entry have to do with each other: one rule a kind. Moves of mud are in ``rules_of_moves``."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import isfinite

from dipbook.entries.fields import Given, error
from dipbook.entries.kinds import (
    ACTIVE,
    CALLED_OFF,
    FLOAT_PROVED,
    FLOW_LINE,
    LIMITS_APPROVED,
    NOWHERE,
    OPENED,
    PIT_DRILL,
    PIT_DRILL_END,
)
from dipbook.entries.plausible import half_step
from dipbook.entries.rules_of_moves import boat, moved, notice, salt, slug, trap_dump
from dipbook.entries.rules_of_trips import trip
from dipbook.entries.sticks import outside, worked_out
from dipbook.findings import Finding
from dipbook.quantities import write, write_level

MINUTE_MS = 60_000

Rule = Callable[[Given], list[Finding]]
"""Findings on an entry, with the field's name as column; a rule may give values that follow from others."""


def line_up(given: Given) -> list[Finding]:
    """The flow line goes somewhere; a tank is in or out. given: the entry."""
    si = given.si
    if si.get("tank") == FLOW_LINE:
        if "to" not in si:
            return [error(f"say where the flow line goes: {ACTIVE}, a tank, or {NOWHERE}", "to", "missing")]
        if "state" in si:
            return [error("the flow line has no in or out: say where it goes", "state", "not_here")]
    elif "tank" in si:
        if "to" in si:
            return [error(f"where it goes is for the {FLOW_LINE} only: a tank is in or out", "to", "not_here")]
        if "state" not in si:
            return [error("say whether the tank is in or out", "state", "missing")]
    return []


def pumps(given: Given) -> list[Finding]:
    """Strokes belong to a pump, and a state to its rates. given: the entry; the rig's only pump is put in."""
    si = given.si
    findings = []
    if "spm" in si and "pump" not in si:
        if len(given.rig.pumps) == 1:
            given.values.put("pump", "pump", given.rig.pumps[0].name, "")
        else:
            findings.append(error("say which pump the strokes are of", "pump", "missing"))
    for key, name in (("spm", "spm"), ("flow_m3_s", "flow")):
        if key in si and (si[key] > 0) != (si.get("state") == "on"):
            findings.append(error(f"the state is {si.get('state')} but {name} is {given.said(name, key)}", name,
                                  "state_against_rate"))
    return findings


def stand(given: Given) -> list[Finding]:
    """A stand without a length is the rig's. given: the entry; the length is put in."""
    if "length_m" in given.si:
        return []
    if given.rig.pipe is None:
        return [error("say how long the stand is: the rig file doesn't", "length", "missing")]
    given.values.put("length", "length_m", given.rig.pipe.stand_m, "")
    return [Finding("no length given: the rig's stand is taken", code="stand_length", severity="note",
                    column="length")]


def rate_in_force(given: Given) -> list[Finding]:
    """What is on has a rate, between two places. given: the entry."""
    si = given.si
    findings = []
    if si.get("state") == "on" and "rate_m3_s" not in si:
        findings.append(error("say the rate: it is on", "rate", "missing"))
    if "from" in si and si.get("from") == si.get("to"):
        findings.append(error(f"from and to are both {si['from']}", "to", "same_tank"))
    return findings


def void(given: Given) -> list[Finding]:
    """One entry, or readings over a time. given: the entry."""
    if given.supersedes:
        return ([error("this strikes out one entry: it has no tank", "tank", "not_here")] if "tank" in given.si
                else [])
    if given.end_ms is None:
        return [error("say until when the readings are struck out. To strike out one entry, choose it in the log",
                      "end", "missing")]
    return []


def mud_check(given: Given) -> list[Finding]:
    """Mud that comes out lighter than it goes in. given: the entry."""
    into, out = given.si.get("density_in_kg_m3"), given.si.get("density_out_kg_m3")
    if into is None or out is None:
        return []
    if into - out <= sum(half_step(given.values, key) for key in ("density_in_kg_m3", "density_out_kg_m3")):
        return []
    return [Finding(f"the mud comes out lighter than it goes in ({given.said('density out', 'density_out_kg_m3')} "
                    f"against {given.said('density in', 'density_in_kg_m3')}): gas or water may be in it",
                    code="lighter_out", column="density out")]


def drilling_break(given: Given) -> list[Finding]:
    """A break is a change, and a rise. given: the entry."""
    before, now = given.si.get("speed_before_m_s"), given.si.get("speed_m_s")
    if before == now:
        return [Finding("it drills as fast as before: no change is logged by this", code="no_change",
                        column="speed")]
    if before is not None and now is not None and now < before:
        return [Finding("it drills slower than before: are the two the wrong way round?", code="slower",
                        column="speed")]
    return []


def flow_check(given: Given) -> list[Finding]:
    """How long it was watched, and readings that speak against the result. given: the entry."""
    si = given.si
    readings = si.get("readings_m3")
    if given.end_ms is None and readings is None:
        return [error("say how long the well was watched: an end, or the readings minute by minute", "readings",
                      "missing")]
    findings = []
    if given.end_ms is not None and readings is not None:
        minutes = (given.end_ms - given.t_ms) / MINUTE_MS
        if abs(len(readings) - minutes) > 1:
            one = "reading" if len(readings) == 1 else "readings"
            findings.append(Finding(f"{len(readings)} {one} over {minutes:.3g} min: one a minute is expected, with - "
                                    "where it wasn't read", code="minutes_disagree", column="readings"))
    if si.get("result") == "static":
        if rising(readings or (), given.values.steps.get("readings_m3")):
            findings.append(Finding("the result is static, but the readings rise: look again", code="rising_static",
                                    column="result"))
        elif si.get("trend") == "rising":
            findings.append(Finding("the result is static, but the trend is rising: look again", code="rising_static",
                                    column="result"))
    return findings


def rising(readings: list[float | None] | tuple[float | None, ...], step: float | None) -> bool:
    """True if the later half of a flow check's readings is clearly above the earlier one.

    readings: [m3], None where not read. step: of the last digit written [m3], None where it isn't known: a rise by more
    than it is clear.
    """
    known = [r for r in readings if r is not None]
    half = len(known) // 2
    if not half:
        return False
    rise = sum(known[-half:]) / half - sum(known[:half]) / half
    return rise > (step or 0.0) * (1 + 1e-9)


def shut_in(given: Given) -> list[Finding]:
    """The gain is of the moment of closing. given: the entry."""
    if given.si.get("state") == OPENED and "gain_m3" in given.si:
        return [error("the gain is the one when it was shut in: leave it out when the well is opened", "gain",
                      "not_here")]
    return []


def flow_back_band(given: Given) -> list[Finding]:
    """A band is of a flow with the pumps on. given: the entry."""
    if given.si.get("flow_m3_s") == 0:
        return [error("a band is of the flow before the pumps stop: give that", "flow", "zero")]
    return []


def stick_check(given: Given) -> list[Finding]:
    """The sensor against the stick.

    given: the entry. How much more the sensor shows is put in: ``difference_m``, of the level [m], and
    ``difference_m3``, of the volume [m3], None where it isn't known.
    """
    si, rig = given.si, given.rig
    tank = given.tank("tank")
    if tank is None or "stick_m" not in si or "sensor_m" not in si:
        return []
    if words := outside(tank, si["stick_m"], rig):
        return [error(words, "stick", "outside_tank")]
    stick, sensor = worked_out(tank, si["stick_m"]), worked_out(tank, si["sensor_m"])
    apart, volume = sensor.level_m - stick.level_m, sensor.volume_m3 - stick.volume_m3
    si["difference_m"] = apart
    si["difference_m3"] = volume if isfinite(volume) else None
    findings = []
    if words := outside(tank, si["sensor_m"], rig):
        findings.append(Finding(f"the sensor: {words}", code="sensor_outside", column="sensor", tank=tank.name))
    level = write_level(abs(apart), rig.units.get("level") or "m", rig.decimal)
    in_volume = write(abs(volume), rig.units.get("volume", "m3"), decimal=rig.decimal)
    much = level + (f", {in_volume}," if isfinite(volume) else "")
    way = "more" if apart > 0 else "less"
    if tank.dip_error_m is None:
        if apart:
            findings.append(Finding(f"the sensor shows {much} {way} than the stick. Whether that is much isn't known: "
                                    f"no dip error is set for {tank.name}", code="sensor_apart", column="sensor",
                                    tank=tank.name))
    elif abs(apart) > tank.dip_error_m * (1 + 1e-9):
        error_of_dip = write_level(tank.dip_error_m, rig.units.get("level") or "m", rig.decimal)
        findings.append(Finding(f"the sensor shows {much} {way} than the stick, beyond the dip error of {error_of_dip}",
                                code="sensor_apart", column="sensor", tank=tank.name))
    return findings


def pit_drill(given: Given) -> list[Finding]:
    """A float is raised by something, and a target has somebody who set it. given: the entry."""
    si = given.si
    found = []
    if "raised_m" in si and not si["raised_m"] > 0:
        found.append(error("say by how much it is raised: nothing would be seen", "raised", "zero"))
    if "within_s" in si and "set_by" not in si:
        found.append(error("say who set the target", "set by", "missing"))
    if "set_by" in si and "within_s" not in si:
        found.append(error("say the target's time: somebody set one", "within", "missing"))
    return found


def pit_drill_end(given: Given) -> list[Finding]:
    """A drill is called off for something. given: the entry."""
    if given.si.get("state") == CALLED_OFF and not str(given.si.get("remark", "")).strip():
        return [error("say why it is called off", "remark", "missing")]
    return []


def handover(given: Given) -> list[Finding]:
    """Two people. given: the entry."""
    leaving, arriving = (" ".join(str(given.si.get(key, "")).split()).casefold() for key in ("leaving", "arriving"))
    if leaving and leaving == arriving:
        return [error(f"who leaves and who takes over are both {given.si['leaving']}", "arriving", "same_person")]
    return []


def limits_approved(given: Given) -> list[Finding]:
    """All limits in force at that time are approved, as they are: which those were, the log's rig texts say."""
    if not given.rig.limits:
        return [error("no limit is set: there is nothing to approve", "approved by", "no_limits")]
    return []


RULES: Mapping[str, Rule] = {
    "transfer": moved, "discard": moved, "slug": slug, "salt": salt, "trap dump": trap_dump, "boat": boat,
    "about to move mud": notice, "line-up": line_up, "pumps": pumps, "stand filled": stand,
    "rate in force": rate_in_force, "void": void, "mud check": mud_check, "drilling break": drilling_break,
    "flow-back band": flow_back_band,
    "flow check": flow_check, "trip": trip, "shut-in": shut_in, "stick check": stick_check, "handover": handover,
    PIT_DRILL: pit_drill, PIT_DRILL_END: pit_drill_end, FLOAT_PROVED: stick_check,
    LIMITS_APPROVED: limits_approved}
"""Kind -> its rule; the other kinds have none."""
