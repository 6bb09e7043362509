"""What headings say by themselves: Dipbook's own, or very nearly. Whatever is less than that is left to a person."""

from __future__ import annotations

import re
from collections.abc import Sequence

from dipbook import quantities
from dipbook.entries.fields import match
from dipbook.errors import QuantityError
from dipbook.exchange import mapping as m
from dipbook.exchange.headings import Column, read_headings
from dipbook.exchange.mapping import ColumnMeaning
from dipbook.rig.model import Rig

OWN = {"time": m.TIME, "level": m.LEVEL, "volume": m.VOLUME, "percent": m.PERCENT, "tank time": m.GAUGED_AT,
       "pump": m.PUMP, "bit depth": m.BIT_DEPTH, "hole depth": m.HOLE_DEPTH, "flow in": m.FLOW_IN,
       "flow out": m.IGNORE, "activity": m.ACTIVITY}
"""What a column of a readings file is -> its meaning here; flow out is not used."""

_PLAIN = {"time": m.TIME, "date": m.DATE, "date time": m.TIME, "date/time": m.TIME, "date and time": m.TIME,
          "datetime": m.TIME, "timestamp": m.TIME, "time of day": m.CLOCK, "bit depth": m.BIT_DEPTH,
          "hole depth": m.HOLE_DEPTH, "flow in": m.FLOW_IN, "activity": m.ACTIVITY, "tank": m.TANK,
          "value": m.VALUE, "reading": m.VALUE, "unit": m.UNIT}
_UNIT = re.compile(r"(.*?)\s*(?:\[([^\[\]]+(?:\[[^\[\]]*\][^\[\]]*)?)\]|\(([^()]+)\)|,\s*([^,]+))", re.DOTALL)


def own(headings: Sequence[str], rig: Rig) -> tuple[ColumnMeaning, ...] | None:
    """The meanings of the headings of a readings file in Dipbook's own form, None if they aren't all of that form.

    headings: as in the file; rig: its tanks, pumps and units.
    """
    columns, found = read_headings(headings, rig, "", 1)
    if found or not any(c.what == "time" for c in columns):
        return None
    by_place = {c.index: c for c in columns}
    return tuple(_of_own(heading, by_place.get(i)) for i, heading in enumerate(headings))


def proposed(headings: Sequence[str], blank: Sequence[bool], rig: Rig) -> tuple[ColumnMeaning, ...]:
    """What each column may be as far as its heading says it exactly; "" for the rest.

    headings: as in the file; blank: True for a column without any value, which is passed over if it has no heading
    either; rig: its tanks and pumps. A tank's column without a unit has its tank only, because level or volume isn't
    known.
    """
    found = [ColumnMeaning(h, m.IGNORE) if not h and empty else _proposal(h, rig)
             for h, empty in zip(headings, blank, strict=True)]
    if any(c.meaning == m.DATE for c in found):
        found = [ColumnMeaning(c.heading, m.CLOCK) if c.heading.casefold().strip() == "time" else c for c in found]
    return tuple(found)


def unit_in(heading: str, meaning: str) -> str:
    """The unit that stands in a heading, for a column of this meaning; "" for none.

    heading: as in the file, with the unit in brackets, behind a comma, or as its last word; meaning: one of
    mapping.MEANINGS. "in" as a last word is more often no inch than one, and is passed over. For a person to confirm.
    """
    dimensions = m.DIMENSIONS.get(meaning, ())
    name, unit = _parts(heading)
    if unit or not dimensions:
        return _known(unit, dimensions)
    words = name.replace("_", " ").split()
    return _known(words[-1], dimensions) if len(words) > 1 and words[-1].casefold() != "in" else ""


def _of_own(heading: str, column: Column | None) -> ColumnMeaning:
    if column is None:
        return ColumnMeaning(heading, m.IGNORE)
    unit = column.unit if OWN[column.what] in m.DIMENSIONS else ""
    return ColumnMeaning(heading, OWN[column.what], column.name, unit)


def _proposal(heading: str, rig: Rig) -> ColumnMeaning:
    name, unit = _parts(heading)
    folded = " ".join(name.replace("_", " ").casefold().split())
    tanks = [tank.name for tank in rig.tanks]
    plain = _PLAIN.get(folded)
    if plain is not None and match(name, tanks) is None:
        if plain in m.DIMENSIONS:
            return ColumnMeaning(heading, plain, "", _known(unit, m.DIMENSIONS[plain]))
        return ColumnMeaning(heading, plain) if not unit else ColumnMeaning(heading)
    for ending, meaning in (("", ""), (" level", m.LEVEL), (" volume", m.VOLUME), (" time", m.GAUGED_AT)):
        tank = match(name[:len(name) - len(ending)].strip(), tanks) if folded.endswith(ending) else None
        if tank is not None:
            return _of_tank(heading, tank, meaning, unit)
    if folded.startswith("pump "):
        pump = match(name.strip()[len("pump "):].strip(), [p.name for p in rig.pumps])
        if pump is not None:
            return ColumnMeaning(heading, m.PUMP, pump, _known(unit, m.DIMENSIONS[m.PUMP]))
    return ColumnMeaning(heading)


def _of_tank(heading: str, tank: str, meaning: str, unit: str) -> ColumnMeaning:
    if meaning == m.GAUGED_AT:
        return ColumnMeaning(heading, meaning, tank)
    if unit.strip() == "%" and not meaning:
        return ColumnMeaning(heading, m.PERCENT, tank)
    level, volume = _known(unit, m.DIMENSIONS[m.LEVEL]), _known(unit, m.DIMENSIONS[m.VOLUME])
    if level and meaning in ("", m.LEVEL):
        return ColumnMeaning(heading, m.LEVEL, tank, level)
    if volume and meaning in ("", m.VOLUME):
        return ColumnMeaning(heading, m.VOLUME, tank, volume)
    return ColumnMeaning(heading, meaning if not unit else "", tank)


def _parts(heading: str) -> tuple[str, str]:
    """A heading's name and unit: ``Suction [in]``, ``Suction (in)`` or ``Suction, in``; "" without one."""
    found = _UNIT.fullmatch(heading.strip())
    if found is None or not found[1]:
        return heading.strip(), ""
    return found[1], (found[2] or found[3] or found[4]).strip()


def _known(unit: str, dimensions: Sequence[str]) -> str:
    """The unit's symbol if it is known and measures one of these, else ""."""
    if not unit:
        return ""
    try:
        symbol = quantities.canonical(unit)
        return symbol if quantities.dimension_of(symbol) in dimensions else ""
    except QuantityError:
        return ""
