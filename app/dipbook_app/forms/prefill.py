"""What a form is filled with when it opens: only what the log knows, so that nothing guessed is saved unseen."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from dipbook import mud
from dipbook.entries.fields import MEASURES
from dipbook.entries.kinds import (
    ACTIVE,
    ACTIVITIES,
    BYPASSED,
    FLOW_LINE,
    NOWHERE,
    ON_SCREENS,
    OPENED,
    SHUT_IN,
    TRIP,
    Field,
    Kind,
)
from dipbook.entries.words import SI
from dipbook.quantities import DIMENSIONS, write, write_level
from dipbook.records import Record
from dipbook.rig.model import Rig
from dipbook.situation import Situation
from dipbook_app.display import shown_unit, shown_words

SAME_TANKS_AS_LAST = ("transfer", "addition", "discard")

LIKE: Mapping[str, str] = {
    "mass": "with its unit, like 5000 lb", "duration": "with its unit, like 10 min", "percent": "%",
    "minutes": "like 0.4; 0.2; -; 0.1"}
"""Dimension -> grey words for an empty field whose bare number has no unit."""

LIKE_LAST = ("mud check", "gas", "return flow")
"""Kinds whose empty fields show in grey what the last one of them said."""


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
        case "salt":
            return mud.NAMES
        case "valve":
            return tuple(valve.name for valve in rig.valves)
    return ()


def meant(kind: Kind, words: str, rig: Rig) -> dict[str, str]:
    """Field name -> the choice that the words by which a kind was found mean as well, where they mean just one: a piece
    of equipment, a valve, or what it is ("sweep", "rain"). rig: has the names."""
    asked = re.findall(r"\w+", words.casefold())
    found = {}
    for field in kind.fields:
        if asked and (field.dimension in ("equipment", "valve") or (field.name, field.dimension) == ("what", "state")):
            fitting = [each for each in choices(kind, field, rig) if _begins_words_of(asked, each)]
            same = [each for each in fitting if re.findall(r"\w+", each.casefold()) == asked]
            if len(same or fitting) == 1:
                found[field.name] = (same or fitting)[0]
    return found


def _begins_words_of(asked: list[str], text: str) -> bool:
    words = re.findall(r"\w+", text.casefold())
    return all(any(word.startswith(each) for word in words) for each in asked)


def prefilled(kind: Kind, situation: Situation) -> dict[str, str]:
    """Field name -> text for a fresh form of ``kind``: the last tanks, the stand of the rig, the other state of
    the pumps and the flow that they had."""
    texts: dict[str, str] = {}
    rig = situation.rig
    if kind.name in SAME_TANKS_AS_LAST:
        last = _last(kind.name, situation)
        if last is not None:
            texts |= {name: str(last.payload[name]) for name in ("from", "to") if last.payload.get(name)}
    elif kind.name == "trap dump":
        traps = [tank.name for tank in rig.tanks if tank.role == "sand trap"]
        if len(traps) == 1:
            texts["from"] = traps[0]
    elif kind.name == "stand filled" and rig.pipe is not None and "length" in rig.units:
        texts["length"] = write(rig.pipe.stand_m, rig.units["length"], decimal=rig.decimal)
    elif kind.name == "pumps" and situation.pumps_on is not None:
        texts["state"] = "off" if situation.pumps_on else "on"
        if not situation.pumps_on and (flow := last_flow(situation)) is not None:
            texts["flow"] = write(flow, rig.units.get("flow", SI["flow"]), decimal=rig.decimal)
    elif kind.name == "watch":
        texts["state"] = "off" if situation.watch_on else "on"
    elif kind.name == "shakers" and (last := _last(kind.name, situation)) is not None:
        texts["state"] = BYPASSED if last.payload.get("state") == ON_SCREENS else ON_SCREENS
    elif kind.name == TRIP:
        texts |= _trip(situation)
    elif kind.name == "handover":
        texts["leaving"] = situation.on_watch
    elif kind.name == "about to move mud":
        texts["state"] = "announced"
    elif kind.name == "shut-in":
        texts |= _shut_in(situation)
    return texts


def _trip(situation: Situation) -> dict[str, str]:
    """The bit where the log has it, and the rig's only trip tank."""
    rig, bit = situation.rig, situation.bit_depth_m
    tanks = [tank.name for tank in rig.tanks if tank.role == "trip"]
    texts = {"trip tank": tanks[0]} if len(tanks) == 1 else {}
    if bit is not None and "length" in rig.units:
        texts["bit depth"] = write(bit, rig.units["length"], decimal=rig.decimal)
    return texts


def _shut_in(situation: Situation) -> dict[str, str]:
    """The other state of the well, and on shutting in the gain by the books at the last round, as the screen shows it,
    where there is one."""
    if situation.shut_in is not None:
        return {"state": OPENED}
    gain, rig = situation.difference_m3, situation.rig
    if gain is None or gain <= 0:
        return {"state": SHUT_IN}
    return {"state": SHUT_IN, "gain": write(gain, rig.units.get("volume", SI["volume"]), decimal=rig.decimal)}


def hints(kind: Kind, situation: Situation) -> dict[str, str]:
    """Field name -> grey words for an empty field: the unit of a bare number, and the last depth."""
    rig = situation.rig
    words: dict[str, str] = {}
    for field in kind.fields:
        unit = bare_unit(field, rig)
        if field.dimension in LIKE:
            words[field.name] = LIKE[field.dimension].replace(".", rig.decimal)
        elif unit and field.dimension != "frequency":
            shown = shown_unit(unit)
            words[field.name] = f"as the stick says, {shown}" if field.dimension == "level" else shown
    depths = {"hole depth": situation.hole_depth_m, "bit depth": situation.bit_depth_m}
    if kind.name == "depth" and "length" in rig.units:
        for name, value in depths.items():
            if value is not None:
                words[name] = f"last {write(value, rig.units['length'], decimal=rig.decimal)}"
    elif kind.name in LIKE_LAST and (last := _last(kind.name, situation)) is not None:
        values = {field: last.payload.get(field.key) for field in kind.fields}
        words |= {field.name: f"last {shown_words(written(field, value, rig))}" for field, value in values.items()
                  if isinstance(value, int | float)}
    return words


def written(field: Field, value: Any, rig: Rig) -> str:
    """A payload's ``value`` [SI] of ``field`` as the crew writes it. rig: in whose units."""
    unit = bare_unit(field, rig)
    if isinstance(value, list | tuple):
        volume = rig.units.get("volume", SI["volume"])
        return "; ".join("-" if each is None else write(float(each), volume, decimal=rig.decimal) for each in value)
    if not isinstance(value, int | float):
        return str(value)
    if field.dimension == "level":
        return write_level(float(value), unit or SI["length"], rig.decimal)
    if field.dimension == "percent":
        return f"{value:g} %".replace(".", rig.decimal)
    if field.dimension == "frequency":
        return f"{value:g}"
    if field.dimension in MEASURES:
        symbol = unit or SI.get(field.dimension) or DIMENSIONS[MEASURES[field.dimension][0]]
        return write(float(value), symbol, decimal=rig.decimal)
    return str(value)


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
        texts[field.name] = written(field, value, rig)
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
