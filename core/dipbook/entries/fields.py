"""The typed fields of an entry to SI values and words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from dipbook import mud, quantities
from dipbook.entries.kinds import ACTIVE, ACTIVITIES, FLOW_LINE, NOWHERE, Field, Kind
from dipbook.errors import QuantityError
from dipbook.findings import Finding
from dipbook.rig.model import Rig
from dipbook.tanks.tank import Tank

MEASURES: Mapping[str, tuple[str, str]] = {
    "volume": ("volume", "volume"), "rate": ("rate", "flow"), "flow": ("rate", "flow"), "mass": ("mass", ""),
    "density": ("density", "density"), "length": ("length", "length"), "frequency": ("frequency", ""),
    "level": ("length", "level"), "duration": ("duration", ""), "temperature": ("temperature", "temperature"),
    "pressure": ("pressure", "pressure"), "speed": ("speed", "speed"), "minutes": ("volume", "volume")}
"""A field's dimension -> the dimension to read and the rig's unit of a bare number ("" where the rig has none)."""

MAY_BE_ZERO = ("length", "frequency", "flow", "level", "pressure", "temperature")
"""Dimensions of which nothing is something to log."""
NONE_OF_IT = ("hose_m3", "gain_m3", "speed_before_m_s")
"""Keys that may be zero though others of their dimension may not."""

NOT_DESCRIBED = {"equipment": "equipment", "valve": "valve", "pump": "pump"}
"""What a rig file may lack -> the table that describes it there."""


class Values:
    """The fields of one entry as they are read.

    si: ``Field.key`` -> SI value or word. typed: field name -> as typed. steps: key -> size of the last digit
    written [SI], or None.
    """

    def __init__(self) -> None:
        self.si: dict[str, Any] = {}
        self.typed: dict[str, str] = {}
        self.steps: dict[str, float | None] = {}
        self._names: dict[str, str] = {}

    @classmethod
    def of_payload(cls, kind: Kind, payload: Mapping[str, Any]) -> Values:
        """The fields that a record's payload holds."""
        values = cls()
        typed = payload.get("typed") or {}
        for field in kind.fields:
            if payload.get(field.key) is not None:
                values.put(field.name, field.key, payload[field.key], str(typed.get(field.name, "")))
        return values

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the fields that are given."""
        return tuple(self._names)

    def put(self, name: str, key: str, value: Any, typed: str, step: float | None = None) -> None:
        """Give a field its value. typed: as the person wrote it, "" where nobody did."""
        self.drop(name, key)
        self.si[key] = value
        self.steps[key] = step
        self._names[name] = key
        if typed:
            self.typed[name] = typed

    def drop(self, name: str, key: str) -> None:
        """Take a field's value away."""
        for kept in (self.si, self.steps):
            kept.pop(key, None)
        self._names.pop(name, None)
        self.typed.pop(name, None)

    def update(self, changes: Values) -> None:
        """Take the fields of ``changes`` in place of one's own."""
        for name, key in changes._names.items():
            self.put(name, key, changes.si[key], changes.typed.get(name, ""), changes.steps[key])


@dataclass(frozen=True, slots=True)
class Given:
    """One entry as a rule sees it.

    values: its fields; a rule may put in what follows from them. t_ms, end_ms [UTC ms], supersedes: as in
    ``checks.make``. rig: the tanks and units.
    """

    values: Values
    t_ms: int
    end_ms: int | None
    supersedes: str | None
    rig: Rig

    @property
    def si(self) -> dict[str, Any]:
        """``Field.key`` -> SI value or word."""
        return self.values.si

    def said(self, name: str, key: str) -> str:
        """A field as typed, else its SI value. name, key: of the field."""
        return str(self.values.typed.get(name) or self.si.get(key, ""))

    def tank(self, key: str) -> Tank | None:
        """The tank that the field ``key`` names, None where it names none."""
        return next((tank for tank in self.rig.tanks if tank.name == self.si.get(key)), None)


def read_fields(kind: Kind, typed: Mapping[str, str], rig: Rig, bare: Mapping[str, str],
                ) -> tuple[Values, list[Finding]]:
    """Read the fields of an entry.

    kind: of the entry; typed: field name -> text, blanks not given; rig: its tanks, pumps, units and decimal mark;
    bare: field name -> unit of a bare number, before the rig's. Returns what could be read, and errors with the
    field's name as column.
    """
    values = Values()
    findings: list[Finding] = []
    fields = {field.name: field for field in kind.fields}
    for name, text in typed.items():
        text = text.strip()
        if not text:
            continue
        field = fields.get(name)
        if field is None:
            findings.append(error(f"{kind.name}: there is no {name} here; its fields are {', '.join(fields)}", name,
                                   "not_here"))
            continue
        try:
            if field.dimension == "percent":
                percent, step = quantities.read_percent(text, decimal=rig.decimal)
                values.put(name, field.key, percent, text if "%" in text else f"{text} %", step)
            elif field.dimension == "minutes":
                _minutes(field, text, rig, bare.get(name), values)
            elif field.dimension in MEASURES:
                _measure(field, text, rig, bare.get(name), values)
            else:
                values.put(name, field.key, _word(kind, field, text, rig), text)
        except QuantityError as refusal:
            findings.append(error(str(refusal), name, "unreadable"))
        except _RefusedError as refusal:
            findings.append(error(refusal.what, name, refusal.code))
    return values, findings


def suggestion(word: str, known: Sequence[str]) -> str:
    """``: did you mean Suction?`` or the list of what there is, for the end of a message.

    word: as typed; known: the words that would do.
    """
    folded = {k.casefold(): k for k in known}
    close = get_close_matches(word.casefold(), list(folded), n=1, cutoff=0.6)
    if close:
        return f": did you mean {folded[close[0]]}?"
    return f"; known are {', '.join(known)}" if known else ""


def match(word: str, known: Sequence[str]) -> str | None:
    """The one of ``known`` that ``word`` names, in any case where that leaves one; else None.

    word: as typed; known: the words that would do.
    """
    if word in known:
        return word
    folded = [k for k in known if k.casefold() == word.casefold()]
    return folded[0] if len(folded) == 1 else None


class _RefusedError(Exception):
    def __init__(self, what: str, code: str) -> None:
        super().__init__(what)
        self.what = what
        self.code = code


def _measure(field: Field, text: str, rig: Rig, bare: str | None, values: Values) -> None:
    dimension, unit_of = MEASURES[field.dimension]
    unit = bare or (rig.units.get(unit_of) if unit_of else ("1/min" if dimension == "frequency" else None))
    read = quantities.read(text, dimension, decimal=rig.decimal, bare=unit, negative=field.dimension == "level")
    value = read.value
    if value == 0 and field.dimension not in MAY_BE_ZERO and field.key not in NONE_OF_IT:
        raise _RefusedError(f"{text!r} is nothing: leave it out", "zero")
    values.put(field.name, field.key, value, text if _has_unit(text) else f"{text} {read.unit}", read.step)


def _minutes(field: Field, text: str, rig: Rig, bare: str | None, values: Values) -> None:
    """Volumes read minute by minute: a list, below zero where mud was lost."""
    dimension, unit_of = MEASURES[field.dimension]
    found = quantities.read_list(text, dimension, decimal=rig.decimal, bare=bare or rig.units.get(unit_of))
    values.put(field.name, field.key, list(found.values), text if found.written else f"{text} {found.unit}", found.step)


def _has_unit(text: str) -> bool:
    return any(c.isalpha() or c in "'\"′″’”%" for c in text)


def _word(kind: Kind, field: Field, text: str, rig: Rig) -> str:
    if field.dimension == "text":
        return text
    tanks = [tank.name for tank in rig.tanks]
    what, known = {
        "state": ("state", list(field.choices)),
        "activity": ("activity", list(ACTIVITIES)),
        "pump": ("pump", [pump.name for pump in rig.pumps]),
        "tank": ("tank", tanks),
        "tank or active": ("tank", [*tanks, ACTIVE]),
        "equipment": ("equipment", [each.name for each in rig.equipment]),
        "valve": ("valve", [valve.name for valve in rig.valves]),
        "salt": ("salt", list(mud.NAMES)),
    }[field.dimension]
    if kind.name == "line-up" and what == "tank":
        known = [*tanks, FLOW_LINE] if field.name == "tank" else [*tanks, ACTIVE, NOWHERE]
    found = mud.find(text) if what == "salt" else match(text, known)
    if found is None:
        if not known and what in NOT_DESCRIBED:
            raise _RefusedError(f"the rig file describes no {what}: add {text!r} there under "
                                f"[[{NOT_DESCRIBED[what]}]], and adopt it", f"unknown_{what}")
        raise _RefusedError(f"there is no {what} {text!r}{suggestion(text, known)}", f"unknown_{what}")
    return found


def error(what: str, column: str, code: str) -> Finding:
    """A finding that refuses an entry.

    what: words: what is wrong and what to do. column: the field's name. code: a short fixed key.
    """
    return Finding(what, code=code, severity="error", column=column, kept=False)
