"""The keys of a rig file's tables, for forms: what each is called, how it is written, and when it has a meaning.

What a value may be is said by the readers of the sections alone. Tables of limits are not here: they have forms of
their own.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from dipbook.rig.model import ROLES, VALVE_KINDS
from dipbook.rig.shape_section import KINDS as SHAPES
from dipbook.rig.well_section import TYPES
from dipbook.tanks.heads import FORMS
from dipbook.tubulars import CATALOGUE
from dipbook.tubulars import KINDS as PIPES
from dipbook.well.hole import KINDS as SECTIONS

TEXT, NUMBER, FLAG, ROWS = "text", "number", "flag", "rows"
YES, NO = "yes", "no"
TANKS = "tanks"
"""In place of choices: the names of the file's tanks."""
UNIT_NEEDED = "with its unit"

When = tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a table.

    name: in the file, "shape.height" for one of a sub-table. label: what the crew reads. how: of the words above, how
    it is written: a text (quantities too), a plain number, yes or no, rows of two quantities. choices: what it may be,
    () anything, or TANKS. bare: key of [units] whose unit a number alone takes, "" for none. hint: what to write.
    when: keys and what they must be for this one to have a meaning.
    """

    name: str
    label: str
    how: str = TEXT
    choices: tuple[str, ...] | str = ()
    bare: str = ""
    hint: str = ""
    when: When = ()


def _flag(name: str, label: str, when: When = ()) -> Key:
    return Key(name, label, FLAG, (YES, NO), when=when)


def _shape(name: str, label: str, *kinds: str, bare: str = "length", hint: str = "") -> Key:
    return Key(f"shape.{name}", label, TEXT if bare else NUMBER, bare=bare, hint=hint, when=(("shape.kind", kinds),))


def _head(name: str, label: str, key: str, kind: str, form: str, bare: str = "") -> Key:
    return Key(f"shape.{name}", label, TEXT if bare else NUMBER, bare=bare, hint="blank: the usual one",
               when=(("shape.kind", (kind,)), (f"shape.{key}", (form,))))


_HEADS = tuple(_head(name, label, key, kind, form, bare)
               for kind, key in (("horizontal cylinder", "heads"), ("dish", "head"))
               for name, label, form, bare in (("head_depth", "Depth of head", "ellipsoidal", "length"),
                                               ("crown", "Crown radius / diameter", "torispherical", ""),
                                               ("knuckle", "Knuckle radius / diameter", "torispherical", "")))

SHAPE = (
    Key("shape.kind", "Shape", choices=SHAPES),
    _shape("length", "Length", "box", "v bottom", "hopper", hint="inside"),
    _shape("length", "Length without heads", "horizontal cylinder", hint="inside"),
    _shape("width", "Width", "box", "v bottom", "hopper", hint="inside"),
    _shape("bottom_length", "Length of floor", "hopper", hint="0 for an edge"),
    _shape("bottom_width", "Width of floor", "hopper", hint="0 for an edge"),
    _shape("floor_width", "Width of floor", "v bottom", hint="0 for a sharp V"),
    _shape("slope_height", "Height of slope", "v bottom"),
    _shape("diameter", "Diameter", "vertical cylinder", "horizontal cylinder", "dish", hint="inside"),
    _shape("bottom_diameter", "Diameter at bottom", "frustum", hint="0 for a point"),
    _shape("top_diameter", "Diameter at top", "frustum"),
    _shape("height", "Height", "box", "vertical cylinder", "v bottom", "hopper", "frustum", hint="inside"),
    Key("shape.heads", "Heads", choices=FORMS, when=(("shape.kind", ("horizontal cylinder",)),)),
    Key("shape.head", "Head", choices=FORMS[1:], when=(("shape.kind", ("dish",)),)),
    *_HEADS,
    Key("shape.table", "Level = volume", ROWS, hint="a row each: 12 in = 42.7 bbl",
        when=(("shape.kind", ("strapping",)),)),
)

TANK = (
    Key("name", "Name"),
    Key("role", "Role", choices=ROLES),
    *SHAPE,
    Key("brim", "Brim", bare="level", hint="blank: top of the shape"),
    Key("heel", "Heel", bare="level", hint="below it no mud can be drawn"),
    Key("gauge", "Gauged", choices=("up", "down"), hint="from the bottom up, or from a mark down"),
    Key("mark", "Mark", bare="level", hint="height above the bottom", when=(("gauge", ("down",)),)),
    Key("offset", "Gauge point", bare="level", hint="height above the bottom", when=(("gauge", ("up",)),)),
    Key("dip_error", "Dip error, ±", bare="level", hint="half a stick's step at least"),
    Key("percent_of", "A dip in % is of", choices=("level", "volume")),
    Key("fresh_for", "Dip fresh for", hint=f"{UNIT_NEEDED}, like 40 min"),
    Key("internals", "Internals", bare="volume", hint="agitators, coils"),
    Key("order", "Gauging order", NUMBER, hint="1, 2, …"),
    _flag("active", "Lined up at start"),
)

PUMP = (
    Key("name", "Name"),
    Key("output", "Output, calibrated", bare="volume", hint="of a stroke; it goes first"),
    Key("type", "Type", choices=TYPES),
    Key("liner", "Liner", hint=f"{UNIT_NEEDED}, like 6 in"),
    Key("stroke", "Stroke", hint=f"{UNIT_NEEDED}, like 12 in"),
    Key("rod", "Rod", hint=f"{UNIT_NEEDED}, like 2 1/2 in", when=(("type", ("duplex",)),)),
    Key("efficiency", "Efficiency", NUMBER, hint="like 0.95, or 95 %"),
)

SECTION = (
    Key("name", "Name"),
    Key("kind", "Kind", choices=SECTIONS),
    Key("bottom", "Bottom, measured", bare="length", hint="begins where the one above ends"),
    Key("diameter", "Inside, or bit", hint=f"{UNIT_NEEDED}, like 8.835 in"),
    Key("washout", "Washout", NUMBER, hint="of the diameter, like 0.05, or 5 %", when=(("kind", ("open hole",)),)),
)

STRING = (
    Key("name", "Name"),
    Key("pipe", "Of the catalogue", choices=tuple(CATALOGUE)),
    Key("steel", "Steel, data sheet", hint=f"{UNIT_NEEDED}; goes first"),
    Key("bore", "Bore, data sheet", hint=f"{UNIT_NEEDED}; goes first"),
    Key("length", "Length", bare="length", hint="blank at the top: all the rest"),
    Key("kind", "Kind", choices=PIPES, hint="blank: the catalogue's"),
)

HOLE = (
    Key("capacity", "Hole holds", hint=f"{UNIT_NEEDED}, like 0.1458 bbl/ft"),
    Key("annulus", "Annulus", bare="volume", hint="for the lag of the cuttings"),
    Key("lag", "Lag", hint=f"{UNIT_NEEDED}; where no flow is known"),
    Key("volume", "Mud in the hole", bare="volume", hint="with the string in it"),
    Key("carried_off", "Cuttings carried off", NUMBER, hint="like 0.9, or 90 %"),
    Key("porosity", "Porosity", NUMBER, hint="like 0.2, or 20 %"),
    Key("mud_on_cuttings", "Mud on cuttings", NUMBER, hint="per volume of cuttings"),
)

PIPE = (
    Key("steel", "Steel", hint=f"{UNIT_NEEDED}, like 0.00759 bbl/ft"),
    Key("bore", "Bore", hint=f"{UNIT_NEEDED}, like 0.01776 bbl/ft"),
    Key("stand", "Stand", bare="length"),
    Key("float", "Float", choices=("closed", "open")),
)

DRAIN_BACK = (
    Key("at", "Flow = volume", ROWS, hint="a row each: 300 gal/min = 8 bbl"),
    Key("rising", "Filling, time const.", hint=f"{UNIT_NEEDED}, like 40 s"),
    Key("falling", "Draining, time const.", hint=f"{UNIT_NEEDED}; or the curve"),
    Key("curve", "Time = volume back", ROWS, hint="a row each: 1 min = 4 bbl"),
)

FILL_RULE = (
    Key("stands", "Stands", NUMBER, hint="most between two fills, like 5"),
    Key("pressure", "Pressure", hint=f"{UNIT_NEEDED}; the smaller counts"),
    Key("set_by", "Set by"),
    Key("reason", "Why"),
    Key("since", "Since", hint="a date, like 2026-01-05 06:00"),
)

SURVEY = (Key("stations", "Measured = vertical", ROWS, hint="a row each: 3000 ft = 2990 ft"),)

EQUIPMENT = (
    Key("name", "Name"),
    Key("holds", "Holds", bare="volume"),
    Key("filling", "Filling takes", hint="blank: at once"),
    Key("draining", "Draining takes", hint="blank: at once"),
    _flag("on", "Running at start"),
)

CREW = (
    Key("name", "Name", hint="as it is signed with"),
    Key("role", "Role", hint="like driller; may stay blank"),
)

TOUR = (
    Key("code", "Code", hint="like D: a report is asked for by it"),
    Key("start", "Begins at", hint="the rig's clock, like 06:00"),
)

_GATE: When = (("kind", ("gate",)),)

VALVE = (
    Key("name", "Name"),
    Key("kind", "Kind", choices=VALVE_KINDS),
    Key("tank", "Tank", choices=TANKS),
    Key("to", "Tank beyond", choices=TANKS, when=_GATE),
    _flag("open", "Open at start"),
    _flag("equalises", "Equalises", _GATE),
    Key("step", "Step", bare="level", hint="how much higher the tank's bottom is",
        when=(*_GATE, ("equalises", (YES,)))),
    Key("isolates", "Isolates", choices=TANKS, when=_GATE),
)

TABLES: Mapping[str, tuple[Key, ...]] = MappingProxyType({
    "tank": TANK, "pump": PUMP, "section": SECTION, "string": STRING, "hole": HOLE, "pipe": PIPE,
    "drain_back": DRAIN_BACK, "fill_rule": FILL_RULE, "survey": SURVEY, "valve": VALVE, "equipment": EQUIPMENT,
    "crew": CREW, "tour": TOUR})
SINGLE = ("hole", "pipe", "drain_back", "fill_rule", "survey")
"""Tables that a file has once."""


def applies(key: Key, value: Callable[[str], str]) -> bool:
    """True if a key has a meaning beside the others. key; value: gives what another key of the table says."""
    return all(value(other) in wanted for other, wanted in key.when)


def how_written(kind: str, name: str) -> str:
    """How a key is written, TEXT for one that isn't here. kind: of its table; name: "shape.parts.0.crown" for one of a
    part."""
    inner = f"shape.{name.rpartition('.')[2]}" if ".parts." in name else name
    return next((key.how for key in TABLES.get(kind, ()) if key.name == inner), TEXT)


def keys_of_parts(shape: Mapping[str, Any], under: str = "shape", what: str = "") -> tuple[Key, ...]:
    """The keys of the parts of a stack or of compartments, whose kinds and number the file alone can change.

    shape: the table as it stands, () for a shape without parts. under: its name; what: words before the label.
    """
    parts = shape.get("parts")
    found: list[Key] = []
    for n, part in enumerate(parts if isinstance(parts, list) else ()):
        if not isinstance(part, Mapping):
            continue
        name, label = f"{under}.parts.{n}", f"{what}{n + 1}"
        if "floor" in part:
            found.append(Key(f"{name}.floor", f"{label}: floor", bare="length"))
        for key in SHAPE[1:]:
            if key.how != ROWS and applies(key, lambda other, part=part: str(  # type: ignore[misc]
                    part.get(other.removeprefix("shape."), ""))):
                found.append(replace(key, name=f"{name}.{key.name.removeprefix('shape.')}",
                                     label=f"{label} {part.get('kind', '')}: {key.label.lower()}", when=()))
        found += keys_of_parts(part, name, f"{label}.")
    return tuple(found)
