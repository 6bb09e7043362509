"""What the columns of a file of another form mean: chosen by a person, checked against the rig before it is used."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace

from dipbook import quantities
from dipbook.errors import QuantityError
from dipbook.exchange.dates import FORMS, YEAR_FIRST
from dipbook.rig.model import Rig

TIME, DATE, CLOCK = "time", "date", "time of day"
LEVEL, VOLUME, PERCENT, GAUGED_AT = "level", "volume", "percent", "gauged at"
BIT_DEPTH, HOLE_DEPTH, FLOW_IN, PUMP, ACTIVITY = "bit depth", "hole depth", "flow in", "pump", "activity"
TANK, VALUE, UNIT = "tank", "value", "unit"
IGNORE = "ignore"

MEANINGS = (TIME, DATE, CLOCK, LEVEL, VOLUME, PERCENT, GAUGED_AT, BIT_DEPTH, HOLE_DEPTH, FLOW_IN, PUMP, ACTIVITY,
            TANK, VALUE, UNIT, IGNORE)
"""What a column may be; "" while nobody has said it. TANK, VALUE and UNIT are those of a file with one dip a row."""

OF_A_TANK = (LEVEL, VOLUME, PERCENT, GAUGED_AT)
DIMENSIONS = {LEVEL: ("length",), VOLUME: ("volume",), VALUE: ("length", "volume"), BIT_DEPTH: ("length",),
              HOLE_DEPTH: ("length",), FLOW_IN: ("rate",), PUMP: ("frequency",)}
"""A meaning that needs a unit -> the dimensions that it may have."""

RIGS_ZONE = "rig"
"""Times without an offset are in the rig's zone."""


@dataclass(frozen=True, slots=True)
class ColumnMeaning:
    """One column. heading: as in the file; meaning: one of MEANINGS, "" not yet said; name: the tank or pump;
    unit: of its bare numbers, "" where it has none or nobody has said it."""

    heading: str
    meaning: str = ""
    name: str = ""
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Mapping:
    """What all columns of a file mean.

    columns: in the file's order. dates: which way round a date is, one of dates.FORMS, "" not yet said.
    zone: RIGS_ZONE or an offset such as ``+01:00`` for times that don't say theirs, "" not yet said.
    tanks: (word in a TANK column, name of a tank of the rig or "" for one whose rows are passed over).
    encoding, separator, decimal, sheet, heading_row: how the file was read, "" or 0 for as it shows itself.
    """

    columns: tuple[ColumnMeaning, ...]
    dates: str = ""
    zone: str = ""
    tanks: tuple[tuple[str, str], ...] = ()
    encoding: str = ""
    separator: str = ""
    decimal: str = ""
    sheet: str = ""
    heading_row: int = 0

    @property
    def long(self) -> bool:
        """True for a file with one dip a row."""
        return any(c.meaning in (TANK, VALUE) for c in self.columns)

    def places(self, meaning: str) -> list[int]:
        """Where columns of this meaning stand, from 0. meaning: one of MEANINGS."""
        return [i for i, c in enumerate(self.columns) if c.meaning == meaning]

    def digest(self) -> str:
        """SHA-256 of what it says, hex: two that say the same have the same."""
        said = [[c.heading, c.meaning, c.name, c.unit] for c in self.columns]
        text = json.dumps([said, self.dates, self.zone, sorted(self.tanks)], ensure_ascii=False)
        return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


@dataclass(frozen=True, slots=True)
class Problem:
    """What is still to be said. what: words; place: the column, from 0, or None; part: "column", "dates", "zone",
    "tanks" or "file"; word: of a TANK column, where it is about one."""

    what: str
    place: int | None = None
    part: str = "file"
    word: str = ""


def key_of(headings: Sequence[str]) -> str:
    """Under what a mapping is remembered: a digest of the headings, in order. headings: as in the file."""
    text = "\x1f".join(" ".join(h.split()).casefold() for h in headings)
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def fitted(mapping: Mapping, headings: Sequence[str]) -> tuple[Mapping, tuple[Problem, ...]]:
    """A mapping with its columns in a file's order: each heading takes its own, a repeated one in turn.

    mapping: chosen for these or like headings. headings: of the file. A heading that the mapping doesn't tell stays
    unsaid; one that it tells and the file lacks is a problem.
    """
    waiting = list(mapping.columns)
    columns: list[ColumnMeaning] = []
    for heading in headings:
        folded = " ".join(heading.split()).casefold()
        same = next((c for c in waiting if " ".join(c.heading.split()).casefold() == folded), None)
        if same is not None:
            waiting.remove(same)
        columns.append(ColumnMeaning(heading) if same is None else replace(same, heading=heading))
    missing = [c.heading for c in waiting if c.meaning not in ("", IGNORE)]
    found = tuple(Problem(f"the mapping tells of a column {heading!r}, and the file has none") for heading in missing)
    return replace(mapping, columns=tuple(columns)), found


def problems(mapping: Mapping, rig: Rig, *, date_forms: Sequence[str], offsets: bool,
             words: Sequence[str] = ()) -> tuple[Problem, ...]:
    """What has still to be said, or can't be, before a file is read by a mapping; () if it can be.

    mapping: with its columns in the file's order; rig: its tanks and pumps; date_forms: those in which all dates of
    the file can be read; offsets: True if each time says its own; words: those of the TANK column.
    """
    found = [Problem(what, i, "column") for i, c in enumerate(mapping.columns) if (what := _wrong(c, mapping, rig))]
    found += _twice(mapping)
    found += _missing(mapping)
    has_time = bool(mapping.places(TIME) or (mapping.places(DATE) and mapping.places(CLOCK)))
    if has_time:
        found += _times(mapping, date_forms, offsets)
    told = dict(mapping.tanks)
    for word in words if mapping.places(TANK) else ():
        if word not in told:
            found.append(Problem(f"which tank is {word!r}? Choose it, or pass its rows over", None, "tanks", word))
        elif told[word] and told[word] not in [t.name for t in rig.tanks]:
            found.append(Problem(f"the rig has no tank {told[word]!r}", None, "tanks", word))
    return tuple(found)


def units_for(meaning: str) -> tuple[str, ...]:
    """Symbols of the units that a column of this meaning may have, () if it has none. meaning: one of MEANINGS."""
    dimensions = DIMENSIONS.get(meaning, ())
    symbols = [symbol for symbol, unit in quantities.UNITS.items() if unit.dimension in dimensions]
    return (*symbols, *([quantities.FEET_INCHES] if "length" in dimensions else []))


def unit_of(text: str) -> str:
    """The symbol of a unit of level or volume, "" for anything else. text: as in a column of units."""
    try:
        symbol = quantities.canonical(text) if text else ""
    except QuantityError:
        return ""
    return symbol if symbol and dimension_of(symbol) in DIMENSIONS[VALUE] else ""


def dimension_of(symbol: str) -> str:
    """What a unit measures. symbol: of a known unit."""
    return quantities.dimension_of(symbol)


def _wrong(c: ColumnMeaning, mapping: Mapping, rig: Rig) -> str:
    if not c.meaning:
        return "choose what this column is, or ignore it"
    if c.meaning not in MEANINGS:
        return f"a column can't be {c.meaning!r}; it can be {', '.join(MEANINGS)}"
    if c.meaning in OF_A_TANK:
        tank = next((t for t in rig.tanks if t.name == c.name), None)
        if tank is None:
            return f"the rig has no tank {c.name!r}" if c.name else "choose the tank"
        if c.meaning == PERCENT and not tank.percent_of:
            return (f"a percentage could be of the level or of the volume: set percent_of for {c.name} in the rig "
                    "file, or ignore the column")
    if c.meaning == PUMP and c.name not in [p.name for p in rig.pumps]:
        return f"the rig has no pump {c.name!r}" if c.name else "choose the pump"
    if c.meaning in DIMENSIONS and not (c.meaning == VALUE and mapping.places(UNIT)):
        if not c.unit:
            return "choose the unit"
        try:
            dimension = quantities.dimension_of(c.unit)
        except QuantityError as error:
            return str(error)
        if dimension not in DIMENSIONS[c.meaning]:
            return f"{c.unit} is no unit of {' or '.join(DIMENSIONS[c.meaning])}"
    return ""


def _twice(mapping: Mapping) -> list[Problem]:
    seen: dict[tuple[str, str], int] = {}
    found = []
    for i, c in enumerate(mapping.columns):
        if c.meaning in ("", IGNORE):
            continue
        key = ("dip" if c.meaning in (LEVEL, VOLUME, PERCENT) else c.meaning, c.name)
        if key in seen:
            found.append(Problem(f"this is the same thing as {mapping.columns[seen[key]].heading!r}: ignore one", i,
                                 "column"))
        seen.setdefault(key, i)
    return found


def _missing(mapping: Mapping) -> list[Problem]:
    found = []
    at = mapping.places
    if at(TIME) and (at(DATE) or at(CLOCK)):
        found.append(Problem("there is a column with the time, and one with the date or the time of day: ignore "
                             "one or the other"))
    elif not at(TIME) and not (at(DATE) and at(CLOCK)):
        found.append(Problem("say which column is the time, or which two are the date and the time of day"))
    dips = [c for c in mapping.columns if c.meaning in (LEVEL, VOLUME, PERCENT)]
    if mapping.long:
        if not at(TANK) or not at(VALUE):
            found.append(Problem("with one dip a row, one column is the tank and one the value"))
        if dips or at(GAUGED_AT):
            found.append(Problem("a tank has a column of its own, or each row names its tank, not both"))
    elif not dips:
        found.append(Problem("no column is the level or the volume of a tank"))
    if at(UNIT) and not at(VALUE):
        found.append(Problem("there is a column of units, and none of values"))
    given = {c.name for c in dips}
    found += [Problem(f"there are times for {mapping.columns[i].name} but no column with its dips", i, "column")
              for i in at(GAUGED_AT) if mapping.columns[i].name and mapping.columns[i].name not in given]
    return found


def _times(mapping: Mapping, date_forms: Sequence[str], offsets: bool) -> list[Problem]:
    found = []
    if mapping.dates and mapping.dates not in FORMS:
        found.append(Problem(f"dates can be {', '.join(FORMS)}, not {mapping.dates!r}", None, "dates"))
    elif not mapping.dates and tuple(date_forms) != (YEAR_FIRST,):
        ways = " or ".join(date_forms)
        found.append(Problem(f"say which way round the dates are{f' ({ways})' if ways else ''}", None, "dates"))
    if not mapping.zone and not offsets:
        found.append(Problem("say the zone of the times: the rig's, or an offset", None, "zone"))
    elif mapping.zone and mapping.zone != RIGS_ZONE and not _is_offset(mapping.zone):
        found.append(Problem(f"{mapping.zone!r} is no zone here: write {RIGS_ZONE}, or an offset like +01:00", None,
                             "zone"))
    return found


def _is_offset(text: str) -> bool:
    if text == "Z":
        return True
    if len(text) != 6 or text[0] not in "+-" or text[3] != ":" or not (text[1:3] + text[4:]).isdecimal():
        return False
    return int(text[1:3]) <= 23 and int(text[4:]) <= 59
