"""Words of checks and calls, of what the well shows, of valves and equipment. None of them says that a well is safe."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from dipbook.entries.kinds import ACCEPTED, ADOPTED, BYPASSED, LIMITS_APPROVED, OPEN, SHUT_IN
from dipbook.entries.pen import Pen
from dipbook.quantities import write, write_level

MINUTE_MS = 60_000
_WITH_ITS_WORD = ("at ", "in ", "on ", "off ", "above ", "below ", "inside ", "out ")


def _valve(pen: Pen) -> str:
    return f"{pen.text('valve')} {'opened' if pen.text('state') == OPEN else 'closed'}"


def _equipment(pen: Pen) -> str:
    volume = f", holds {pen.volume()}" if pen.volume() else ""
    return f"{pen.text('equipment')} {pen.text('state')}{volume}"


def _shakers(pen: Pen) -> str:
    return "Returns bypass the screens" if pen.text("state") == BYPASSED else "Returns over the screens"


def _mud_check(pen: Pen) -> str:
    parts = []
    for way in ("in", "out"):
        density = pen.quantity(f"density_{way}_kg_m3", f"density {way}", "density")
        temperature = pen.quantity(f"temperature_{way}_k", f"temperature {way}", "temperature")
        if said := ", ".join(each for each in (density, temperature) if each):
            parts.append(f"{way} {said}")
    return f"Mud {'; '.join(parts)}" if parts else ""


def _gas(pen: Pen) -> str:
    what = pen.text("what")
    name = f"{what[:1].upper()}{what[1:]} gas" if what else "Gas"
    return f"{name} {pen.percent('gas_percent')}"


def _drilling_break(pen: Pen) -> str:
    before, now = pen.quantity("speed_before_m_s", "speed before", "speed"), pen.quantity("speed_m_s", "speed", "speed")
    said = f"Drills at {now}" + (f", before at {before}" if before else "")
    depth = pen.length("hole_depth_m", "hole depth")
    return said + (f", hole {depth}" if depth else "") + pen.told()


def _return_flow(pen: Pen) -> str:
    flow, paddle, trend = pen.quantity("flow_m3_s", "flow", "flow"), pen.percent("paddle_percent"), pen.text("trend")
    parts = [f"flow out {flow}" if flow else "", f"paddle {paddle}" if paddle else "", _trend(trend)]
    said = ", ".join(part for part in parts if part)
    return said[:1].upper() + said[1:]


def _trend(trend: str) -> str:
    return "no flow" if trend == "none" else trend


def _flow_check(pen: Pen) -> str:
    place, end = pen.text("place"), pen.record.payload.get("end_ms")
    said = "Flow check"
    if place:
        said += f" {place}" if place.casefold().startswith(_WITH_ITS_WORD) else f" at {place}"
    if isinstance(end, int | float):
        minutes = f"{(end - pen.record.t_ms) / MINUTE_MS:.3g}".replace(".", pen.decimal)
        said += f", {minutes} min"
    parts = [pen.text("result"), pen.readings("readings_m3", "readings"), _trend(pen.text("trend")),
             f"seen by {pen.text('seen_by')}" if pen.text("seen_by") else ""]
    return f"{said}: {', '.join(part for part in parts if part)}"


def _shut_in(pen: Pen) -> str:
    said = "Well shut in" if pen.text("state") == SHUT_IN else "Well opened"
    for key, name, dimension, words in (
            ("gain_m3", "gain", "volume", "gain"), ("pipe_pressure_pa", "pipe pressure", "pressure", "drill pipe"),
            ("casing_pressure_pa", "casing pressure", "pressure", "casing")):
        if value := pen.quantity(key, name, dimension):
            said += f", {words} {value}"
    return said + pen.told()


def _connection(pen: Pen) -> str:
    state = pen.text("state")
    return "Connection accepted as normal" if state == ACCEPTED else f"Connection {state}: not to be learned from"


def _flow_back_band(pen: Pen) -> str:
    flow = pen.quantity("flow_m3_s", "flow", "flow")
    at = f" at {flow}" if flow else ""
    if pen.text("state") == ADOPTED:
        return f"Flow-back band adopted{at}, from the connections accepted by then"
    return f"Flow-back band {pen.text('state')}{at}: nothing is compared with it from then on"


def _told_driller(pen: Pen) -> str:
    told, answer = pen.text("told"), pen.text("answer")
    said = f"To {told}: {pen.text('what')}" if told else pen.text("what")
    return f"{said.rstrip('.')}. Answer: {answer}" if answer else said


def _stick_check(pen: Pen) -> str:
    said = f"{pen.text('tank')}: stick {pen.level('stick_m', 'stick')}, sensor {pen.level('sensor_m', 'sensor')}"
    apart, volume = (pen.record.payload.get(key) for key in ("difference_m", "difference_m3"))
    if apart is None:
        return said
    if not apart:
        return f"{said}, the same"
    much = write_level(abs(float(apart)), pen.units.get("level") or "m", pen.decimal)
    if volume is not None:
        much += f", {write(abs(float(volume)), pen.units.get('volume', 'm3'), decimal=pen.decimal)},"
    return f"{said}: the sensor shows {much} {'more' if apart > 0 else 'less'}"


def _handover(pen: Pen) -> str:
    return f"{pen.text('leaving')} to {pen.text('arriving')}"


def _handover_confirmed(pen: Pen) -> str:
    return f"{pen.text('leaving')} has gone through {pen.text('confirmed').lower()}"


def _limits_approved(pen: Pen) -> str:
    return f"Limits, as they were set, approved by {pen.text('approved_by')}"


SAY: Mapping[str, Callable[[Pen], str]] = {
    "valve": _valve, "equipment": _equipment, "shakers": _shakers, "mud check": _mud_check, "gas": _gas,
    "drilling break": _drilling_break, "return flow": _return_flow, "flow check": _flow_check, "shut-in": _shut_in,
    "connection": _connection, "flow-back band": _flow_back_band,
    "told driller": _told_driller, "stick check": _stick_check, "handover": _handover,
    "handover confirmed": _handover_confirmed,
    LIMITS_APPROVED: _limits_approved}
"""Kind -> its words."""
