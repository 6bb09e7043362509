"""What a form is filled with when it opens: only what the log knows, so that nothing guessed is saved unseen."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dipbook.entries.fields import MEASURES
from dipbook.entries.kinds import ACTIVE, ACTIVITIES, FLOW_LINE, NOWHERE, Field, Kind
from dipbook.entries.words import SI
from dipbook.quantities import write
from dipbook.records import Record
from dipbook.rig.model import Rig
from dipbook.situation import Situation

SAME_TANKS_AS_LAST = ("transfer", "addition", "discard")


def bare_unit(field: Field, rig: Rig) -> str | None:
    """The unit that a bare number in ``field`` takes; None where it has to be typed, or the field holds words."""
    if field.dimension not in MEASURES:
        return None
    dimension, unit_of = MEASURES[field.dimension]
    return rig.units.get(unit_of) if unit_of else ("1/min" if dimension == "frequency" else None)


def choices(kind: Kind, field: Field, rig: Rig) -> tuple[str, ...]:
    """What may be chosen in ``field``, or () for a line to type in."""
    tanks = tuple(tank.name for tank in rig.tanks)
    match field.dimension:
        case "tank" if kind.name == "line-up":
            return (FLOW_LINE, *tanks) if field.name == "tank" else (ACTIVE, *tanks, NOWHERE)
        case "tank":
            return tanks
        case "tank or active":
            return (ACTIVE, *tanks)
        case "state":
            return field.choices
        case "activity":
            return ACTIVITIES
        case "pump":
            return tuple(pump.name for pump in rig.pumps)
        case "equipment":
            return tuple(each.name for each in rig.equipment)
        case "valve":
            return tuple(valve.name for valve in rig.valves)
    return ()


def prefilled(kind: Kind, situation: Situation) -> dict[str, str]:
    """Field name -> text for a fresh form of ``kind``: the last tanks, the stand of the rig, the other state of
    the pumps and the flow that they had."""
    texts: dict[str, str] = {}
    rig = situation.rig
    if kind.name in SAME_TANKS_AS_LAST:
        last = _last(kind.name, situation)
        if last is not None:
            texts |= {name: str(last.payload[name]) for name in ("from", "to") if last.payload.get(name)}
    elif kind.name == "stand filled" and rig.pipe is not None and "length" in rig.units:
        texts["length"] = write(rig.pipe.stand_m, rig.units["length"], decimal=rig.decimal)
    elif kind.name == "pumps" and situation.pumps_on is not None:
        texts["state"] = "off" if situation.pumps_on else "on"
        if not situation.pumps_on and (flow := last_flow(situation)) is not None:
            texts["flow"] = write(flow, rig.units.get("flow", SI["flow"]), decimal=rig.decimal)
    elif kind.name == "watch":
        texts["state"] = "off" if situation.watch_on else "on"
    return texts


def hints(kind: Kind, situation: Situation) -> dict[str, str]:
    """Field name -> grey words for an empty field: the unit of a bare number, and the last depth."""
    rig = situation.rig
    words: dict[str, str] = {}
    for field in kind.fields:
        unit = bare_unit(field, rig)
        if unit and field.dimension != "frequency":
            words[field.name] = unit
        elif field.dimension == "mass":
            words[field.name] = "with its unit, like 5000 lbm"
    depths = {"hole depth": situation.hole_depth_m, "bit depth": situation.bit_depth_m}
    if kind.name == "depth" and "length" in rig.units:
        for name, value in depths.items():
            if value is not None:
                words[name] = f"last {write(value, rig.units['length'], decimal=rig.decimal)}"
    return words


def texts_of(kind: Kind, fields: Mapping[str, Any], rig: Rig) -> dict[str, str]:
    """Field name -> text for values given by a record or a hint.

    fields: by field name (text as typed) or by payload key (SI values); ``typed`` texts, where kept, win.
    A volume that followed from a mass or a rate is left out, so that it follows from the corrected one.
    """
    typed = fields.get("typed")
    typed = typed if isinstance(typed, Mapping) else {}
    texts: dict[str, str] = {}
    for field in kind.fields:
        value = typed.get(field.name, fields.get(field.key, fields.get(field.name)))
        worked_out = field.name == "volume" and bool(typed) and "volume" not in typed
        if value is None or value == "" or worked_out:
            continue
        unit = bare_unit(field, rig)
        if isinstance(value, int | float) and field.dimension in MEASURES:
            texts[field.name] = f"{value:g}" if field.dimension == "frequency" else write(
                float(value), unit or SI[field.dimension], decimal=rig.decimal)
        else:
            texts[field.name] = str(value)
    return texts


def last_flow(situation: Situation) -> float | None:
    """The flow of all pumps that was logged last [m3/s], None if none was. situation: with the log's records."""
    for record in reversed(situation.records):
        stands = record.kind == "pumps" and record.uid not in situation.superseded
        if stands and not record.payload.get("pump") and record.payload.get("flow_m3_s"):
            return float(record.payload["flow_m3_s"])
    return None


def _last(kind: str, situation: Situation) -> Record | None:
    for record in reversed(situation.records):
        if record.kind == kind and record.uid not in situation.superseded:
            return record
    return None
