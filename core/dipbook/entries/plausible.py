"""Amounts of an entry against each other, and against what a rig can hold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from dipbook.entries.fields import Values, error
from dipbook.entries.kinds import Kind
from dipbook.findings import Finding
from dipbook.quantities import write
from dipbook.records import Draft
from dipbook.rig.model import Rig

BEYOND = {
    "volume_m3": ("volume", 100_000.0), "rate_m3_s": ("rate", 1.0), "flow_m3_s": ("flow", 1.0),
    "mass_kg": ("mass", 10_000_000.0), "hole_depth_m": ("hole depth", 20_000.0),
    "bit_depth_m": ("bit depth", 20_000.0), "length_m": ("length", 1_000.0), "spm": ("spm", 1_000.0),
    "ticket_m3": ("ticket", 100_000.0), "hose_m3": ("hose", 1_000.0), "gain_m3": ("gain", 10_000.0),
    "into_m3": ("into", 100_000.0), "before_m": ("before", 100.0), "after_m": ("after", 100.0),
    "stick_m": ("stick", 100.0), "sensor_m": ("sensor", 100.0), "pipe_pressure_pa": ("pipe pressure", 2e8),
    "casing_pressure_pa": ("casing pressure", 2e8), "speed_m_s": ("speed", 1.0),
    "speed_before_m_s": ("speed before", 1.0), "return_s": ("return", 86_400.0),
}
"""key -> field name and the value [SI] beyond which it is taken for a wrong unit (our choice, no source)."""

MOST_IN_A_MINUTE = 100.0
"""Volume [m3] of one minute of a flow check beyond which its unit is taken to be wrong (our choice, no source)."""

TEMPERATURES = (230.0, 550.0)
"""Temperatures [K] beyond which the unit is taken to be wrong: -43 and 277 °C (our choice, no source)."""

DENSITIES = (300.0, 12_000.0)
"""Densities [kg/m3] beyond which the unit is taken to be wrong; muds and weighting solids lie well inside
(our choice, no source)."""

ROUNDING = 1e-5
"""Share of a tank's capacity by which rounding may put a volume above it [-], as for dips."""

CLOCK_STEP_S = 60.0
"""Times are written to the minute: a start and an end together are out by up to this [s]."""


@dataclass(frozen=True, slots=True)
class Held:
    """What a tank holds by its last dip and what was logged since; None where that isn't known.

    t_ms: of the dip [UTC ms]. volume_m3: now [m3]. room_m3: to the brim [m3].
    """

    t_ms: int | None = None
    volume_m3: float | None = None
    room_m3: float | None = None


def amounts(kind: Kind, values: Values, t_ms: int, end_ms: int | None, rig: Rig) -> tuple[int | None, list[Finding]]:
    """Work out what follows from what is given, and refuse amounts that contradict each other.

    values: changed in place (an addition's volume from mass / density). t_ms, end_ms [UTC ms].
    rig: in whose units the words are.
    Returns (end_ms, findings); the end follows from volume / rate where both are given without an end.
    """
    findings: list[Finding] = []
    si = values.si
    if kind.name == "addition" and "mass_kg" in si:
        if "density_kg_m3" not in si:
            return end_ms, [error("a mass needs the density of the solid: volume = mass / density", "density",
                                   "missing")]
        volume = si["mass_kg"] / si["density_kg_m3"]
        if "volume_m3" not in si:
            values.put("volume", "volume_m3", volume, "")
        else:
            room = (half_step(values, "volume_m3") + volume * (
                half_step(values, "mass_kg") / si["mass_kg"]
                + half_step(values, "density_kg_m3") / si["density_kg_m3"]))
            if abs(si["volume_m3"] - volume) > room:
                findings.append(error(f"the volume is {_volume(si['volume_m3'], rig)} but mass / density is "
                                       f"{_volume(volume, rig)}: leave one of them out", "volume", "disagree"))
    if "volume_m3" in si and "rate_m3_s" in si:
        volume, rate = si["volume_m3"], si["rate_m3_s"]
        if end_ms is None:
            end_ms = t_ms + round(volume / rate * 1000)
            findings.append(Finding("the end follows from the volume and the rate", code="end_from_rate",
                                    severity="note", column="end"))
        else:
            seconds = (end_ms - t_ms) / 1000.0
            room = (half_step(values, "volume_m3") + half_step(values, "rate_m3_s") * seconds
                    + rate * CLOCK_STEP_S)
            if abs(volume - rate * seconds) > room:
                findings.append(error(
                    f"the volume is {_volume(volume, rig)} but the rate over {seconds / 60:.3g} min is "
                    f"{_volume(rate * seconds, rig)}: leave one of them out", "rate", "disagree"))
    return end_ms, findings


def doubtful(kind: Kind, values: Values, rig: Rig) -> list[Finding]:
    """Refuse values that no rig has (a wrong unit), or that its tank can't hold."""
    findings: list[Finding] = []
    si = values.si
    for key, (name, most) in BEYOND.items():
        if key in si and abs(si[key]) > most:
            findings.append(error(f"{values.typed.get(name) or si[key]} can't be right: check the unit", name,
                                   "absurd"))
    for field in kind.fields:
        within = {"density": DENSITIES, "temperature": TEMPERATURES}.get(field.dimension)
        if within is not None and field.key in si and not within[0] <= si[field.key] <= within[1]:
            findings.append(error(f"{values.typed.get(field.name) or si[field.key]} can't be right: check the unit",
                                  field.name, "absurd"))
    if any(abs(each) > MOST_IN_A_MINUTE for each in si.get("readings_m3", ()) if each is not None):
        findings.append(error("so much in a minute can't be right: check the readings and the unit", "readings",
                              "absurd"))
    if not findings:
        findings.extend(_more_than_tank(values, rig))
    if "hole_depth_m" in si and "bit_depth_m" in si and si["bit_depth_m"] > si["hole_depth_m"]:
        findings.append(Finding("the bit is deeper than the hole", code="bit_below_hole", column="bit depth"))
    return findings


def _more_than_tank(values: Values, rig: Rig) -> list[Finding]:
    """An error on a volume that its tank can't hold."""
    si = values.si
    for key, name in (("volume_m3", "volume"), ("into_m3", "into")):
        for where in ("from", "to"):
            tank = next((t for t in rig.tanks if t.name == si.get(where)), None)
            if tank is not None and si.get(key, 0.0) > tank.capacity_m3 * (1 + ROUNDING):
                return [replace(error(
                    f"more than {tank.name} holds ({_against(si[key], tank.capacity_m3, rig)}): "
                    "check the volume and the unit, or log it in parts", name, "more_than_tank"), tank=tank.name)]
    return []


MEASURED_AGAIN_M = 1.0
"""A hole depth that is less than the last one by no more than this is the same hole, measured again (no source)."""
FAR_M = 100.0
"""New hole of more than this since the last depth is asked about: some three stands (no source)."""


def far_depth(values: Mapping[str, object], last_m: float | None, rig: Rig) -> tuple[Finding, ...]:
    """Doubts about a hole depth that is far from the last one.

    values: of the entry, SI by key. last_m: the hole's depth by the log [m], None where it isn't known. rig: its units.
    """
    hole = values.get("hole_depth_m")
    if not isinstance(hole, float) or last_m is None:
        return ()
    unit = rig.units.get("length", "m")
    last, now = (write(x, unit, decimal=rig.decimal) for x in (last_m, hole))
    if hole < last_m - MEASURED_AGAIN_M:
        return (Finding(f"{now} is less than the hole had ({last})", code="hole_less", column="hole depth"),)
    if hole > last_m + FAR_M:
        more = write(hole - last_m, unit, decimal=rig.decimal)
        return (Finding(f"{now} is {more} more than the hole had ({last})", code="hole_far_more", column="hole depth"),)
    return ()


def beyond_dips(draft: Draft, held: Mapping[str, Held], rig: Rig) -> tuple[Finding, ...]:
    """Doubts about a move of more than its source holds, or than its target has room for, by their last dips.

    draft: an entry that stands (see ``checks``). held: tank -> what it holds. rig: its units.
    What came before a tank's dip isn't judged by it. A tank whose contents aren't known raises no doubt.
    """
    volume, end_ms = draft.payload.get("volume_m3"), draft.payload.get("end_ms")
    rate = draft.payload.get("rate_m3_s")
    if volume is None and rate is not None and end_ms is not None:
        volume = rate * (end_ms - draft.t_ms) / 1000.0
    if volume is None:
        return ()
    findings = []
    for key, words in (("from", "more than {} holds"), ("to", "more than {} has room for")):
        name = str(draft.payload.get(key) or "")
        known = held.get(name, Held())
        most = known.volume_m3 if key == "from" else known.room_m3
        if most is None or known.t_ms is None or (draft.t_ms if end_ms is None else int(end_ms)) <= known.t_ms:
            continue
        if volume > most and _volume(volume, rig) != _volume(most, rig):
            findings.append(Finding(f"{words.format(name)} ({_against(volume, max(most, 0.0), rig)} by its last dip)",
                                    code="more_than_dip", column="volume", tank=name))
    return tuple(findings)


def _volume(volume_m3: float, rig: Rig) -> str:
    return write(volume_m3, rig.units.get("volume", "m3"), decimal=rig.decimal)


def _against(volume_m3: float, most_m3: float, rig: Rig) -> str:
    return f"{_volume(volume_m3, rig)} against {_volume(most_m3, rig)}"


def half_step(values: Values, key: str) -> float:
    """Half the last digit written [SI]; 1 % of the value where that isn't known.

    values: of an entry. key: of the field.
    """
    step = values.steps.get(key)
    return step / 2 if step is not None else 0.01 * abs(float(values.si[key]))

