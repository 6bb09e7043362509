"""A scenario file (TOML) to a Scenario: every problem at once, with its line, its key and what was expected.

Nothing in it is code: docs/drills.md describes the keys, by the tables of ``dipbook.drill.kinds``.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from dipbook.drill import kinds
from dipbook.drill.kinds import FLAG, PLACE, PLAIN, SHARE, TEXT, WORD, Key, Kind
from dipbook.drill.scenario import Item, Range, Scenario, Value
from dipbook.errors import ScenarioFileError
from dipbook.findings import Finding
from dipbook.rig.locating import Path as KeyPath
from dipbook.rig.locating import Places, locate
from dipbook.rig.model import ROLES, Rig
from dipbook.rig.reading import Report, TableReader, Ways, one_of, plain_number, shown

LARGEST = 200_000
"""A file of more bytes is refused: it is something else."""
TOP = ("name", "trains", "invented", "rig", "decimal", "start", "well", "gauges", "target", "tanks", "work", "event")
DECIMALS = (".", ",")
ROLE = "role:"
BY_ROLE = re.compile(r"role:\s*([a-z ]+?)(?:\s+([1-9]))?\s*")
"""A tank by its role, for scenarios that run on any rig: ``role: suction``, ``role: reserve 2``."""
FOLDER = Path(__file__).parent / "scenarios"
"""The scenarios that come with Dipbook."""


@dataclass(frozen=True, slots=True)
class ScenarioFile:
    """scenario: what it says, None with errors. findings: those, in the order of their lines: file, line, and in the
    words the key and what was expected."""

    scenario: Scenario | None
    findings: tuple[Finding, ...]


def read(path: Path, rig: Rig) -> Scenario:
    """Read a scenario file. path: where it is. rig: for its tanks and units. Raises ScenarioFileError with all that is
    wrong."""
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST + 1)
    except OSError as error:
        raise ScenarioFileError(f"{path.name}: can't be opened ({error.strerror or error}): {path}") from None
    if len(raw) > LARGEST:
        raise ScenarioFileError(f"{path.name}: is larger than 200 kB; expected a scenario of a page or two.")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise ScenarioFileError(f"{path.name}, line {line}: isn't UTF-8; save it as UTF-8.") from None
    found = parse(text, path.name, rig)
    if found.scenario is None:
        raise ScenarioFileError("\n".join((f"{path.name} was not used:", *(f"{f.where}: {f.what}" for f in
                                                                           found.findings))))
    return found.scenario


def rig_named(path: Path) -> str:
    """The rig file that a scenario file names, "" where it names none or can't be read yet. path: of the scenario."""
    try:
        named = tomllib.loads(path.read_text(encoding="utf-8-sig")).get("rig", "")
    except (OSError, ValueError):
        return ""
    return named if isinstance(named, str) else ""


def parse(text: str, name: str, rig: Rig) -> ScenarioFile:
    """Read a scenario's text. name: the file's, for messages. rig: for its tanks, units and decimal sign."""
    try:
        data, places = tomllib.loads(text), locate(text)
    except (ValueError, RecursionError) as error:
        at = re.search(r"line (\d+)", str(error))
        what = f"this isn't TOML: {error}. A text needs quotes, a table [brackets], each key its own line"
        return ScenarioFile(None, (Finding(what, code="scenario", severity="error", file=name,
                                           line=int(at[1]) if at else 1, kept=False),))
    reader = _Reader(data, places, name, rig)
    scenario = reader.scenario()
    findings = tuple(sorted(reader.findings(), key=lambda f: f.line or 0))
    return ScenarioFile(None if findings else scenario, findings)


class _Reader:
    """One pass over a file's tables."""

    def __init__(self, data: dict[str, Any], places: Places, name: str, rig: Rig) -> None:
        self.data, self.rig, self.name = data, rig, name
        self.report = Report(name, places, kind="scenario file")
        own = data.get("decimal")
        self.ways = Ways(own if own in DECIMALS else rig.decimal, rig.units)
        self.tanks = {t.name for t in rig.tanks}

    def findings(self) -> list[Finding]:
        """What is wrong, each at its line."""
        label, line = self.report.label, self.report.places.line
        return [Finding(f"{label(path)}: {what}" if path else what, code="scenario", severity="error", file=self.name,
                        line=line(path), kept=False) for path, what in self.report.wrong]

    def scenario(self) -> Scenario:
        """The scenario as far as it reads."""
        top = TableReader(self.data, (), self.report, self.ways)
        name = top.text("name", needed="what the scenario is called, in quotes", longest=80) or ""
        trains = top.text("trains", needed="what it trains, in quotes", longest=400) or ""
        top.flag("invented")
        rig = top.text("rig", longest=120) or ""
        top.choice("decimal", DECIMALS, "the sign before the decimals in this file")
        top.known.extend(TOP)
        top.end()
        if "start" not in self.data:
            self.report.problem(("start",), "is missing; expected [start] with hole_depth, mud and flow")
        work = self._items("work", "does", kinds.WORK)
        if not work and not self.report.wrong:
            self.report.problem(("work",), "is missing; expected a [[work]] table for each thing that the crew do")
        return Scenario(name, trains, rig, self._table("start", kinds.START), self._table("well", kinds.WELL),
                        self._table("gauges", kinds.GAUGES), self._target(), self._volumes(), work,
                        self._items("event", "kind", kinds.EVENTS), self.name)

    def _table(self, key: str, keys: tuple[Key, ...]) -> Item:
        value = self.data.get(key, {} if key != "start" else None)
        if value is None:
            return Item("", {})
        if not isinstance(value, dict):
            self.report.problem((key,), f"isn't one table; expected [{key}] once, in single brackets")
            return Item("", {})
        reader = TableReader(value, (key,), self.report, self.ways)
        found = Item("", self._values(reader, keys))
        reader.end()
        return found

    def _target(self) -> Item:
        """[target]: nobody's value is in it, and one that is set says by whom and why."""
        found = self._table("target", kinds.SET_BY)
        if {"within", "volume"} & set(found.values):
            for key in ("set_by", "reason"):
                if key not in found.values:
                    self.report.problem(("target", key), "is missing; a target says who set it and why")
        return found

    def _volumes(self) -> Mapping[str, Value]:
        value = self.data.get("tanks", {})
        if not isinstance(value, dict):
            self.report.problem(("tanks",), "isn't one table; expected [tanks] with a volume for each tank's name")
            return {}
        reader = TableReader(value, ("tanks",), self.report, self.ways)
        keys = tuple(Key(name, "volume", "", bare="volume", zero=True, high=10_000.0) for name in sorted(self.tanks))
        found = self._values(reader, keys)
        reader.end()
        for name, volume in found.items():
            high = volume.high if isinstance(volume, Range) else volume
            if isinstance(high, float) and high > self.rig.tank(name).capacity_m3:
                reader.problem(name, f"is more than the tank holds; expected at most "
                                     f"{self.rig.tank(name).capacity_m3:.4g} m3")
        return found

    def _items(self, key: str, which: str, known: Mapping[str, Kind]) -> tuple[Item, ...]:
        rows = self.data.get(key, [])
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            self.report.problem((key,), f"isn't a row of tables; expected [[{key}]] in double brackets before each")
            return ()
        found: list[Item] = []
        for n, row in enumerate(rows):
            reader = TableReader(row, (key, n), self.report, self.ways)
            name = reader.choice(which, known, "something the crew can do" if key == "work" else "a kind of event",
                                 needed=True)
            if name is None:
                continue
            kind = known[name]
            values = self._values(reader, kind.keys if key == "work" else kinds.keys_of(kind))
            reader.end()
            self._either(kind, reader)
            if key == "event" and not {"at", "drilled"} & set(row):
                reader.problem("at", 'is missing; expected when it begins, like "40 min", or a range')
            if name == "addition" and "mass" in row and "density" not in row:
                reader.problem("density", 'is missing; expected that of the solid\'s grains, like "35 lbm/gal[US]"')
            if name == "kick" and values.get("fluid") in ("oil", "water") and "weight" not in row:
                reader.problem("weight", 'is missing; expected that of the oil or water, like "8.6 lbm/gal[US]"')
            if name == "equipment" and values.get("name") not in {e.name for e in self.rig.equipment}:
                known_ones = [e.name for e in self.rig.equipment]
                reader.problem("name", f"isn't equipment of the rig; expected {self._names(known_ones)}")
            found.append(Item(name, values))
        return tuple(found)

    def _either(self, kind: Kind, reader: TableReader) -> None:
        for group in kind.either:
            there = [key for key in group if reader.has(key)]
            if len(there) > 1:
                reader.problem(there[1], f"stands beside {there[0]}; expected one of the two")
            elif not there and "at" not in group:
                reader.problem(group[0], f"is missing; expected {one_of(group)}")

    def _values(self, reader: TableReader, keys: tuple[Key, ...]) -> dict[str, Value]:
        """The keys of one table that are there and read well, and the defaults of those that aren't there."""
        found: dict[str, Value] = {}
        for key in keys:
            if not reader.has(key.name):
                if key.needed:
                    reader.take(key.name, needed=key.help)
                reader.known.append(key.name)
                if key.default is not None:
                    found[key.name] = key.default
                continue
            value = self._value(reader, key)
            if value is not None:
                found[key.name] = value
        return found

    def _value(self, reader: TableReader, key: Key) -> Value | None:
        if key.dimension == FLAG:
            return reader.flag(key.name)
        if key.dimension == TEXT:
            return reader.text(key.name)
        if key.dimension == WORD:
            return reader.choice(key.name, key.choices, "one of the words for it")
        if key.dimension == PLACE and str(reader.table.get(key.name, "")).startswith(ROLE):
            return self._by_role(reader, key.name)
        if key.dimension == PLACE:
            names = sorted(self.tanks)
            return reader.choice(key.name, (*names, "active") if "active" in key.help else names, "a tank of the rig")
        return self._range(reader, key)

    def _by_role(self, reader: TableReader, name: str) -> str | None:
        """The tank that a scenario names by its role: the first of the rig's, or the one of that number."""
        said = str(reader.take(name))
        match = BY_ROLE.fullmatch(said)
        role, number = match.groups() if match else ("", "")
        if role not in ROLES:
            reader.problem(name, f"{shown(said)} names no role of a tank; expected one like \"role: suction\" or "
                                 "\"role: reserve 2\"")
            return None
        found = [t.name for t in self.rig.tanks if t.role == role]
        if len(found) < int(number or 1):
            many = "no tank" if not found else "1 tank" if len(found) == 1 else f"{len(found)} tanks"
            reader.problem(name, f"{shown(said)} isn't there: the rig has {many} with the role {role}")
            return None
        return found[int(number or 1) - 1]

    def _range(self, reader: TableReader, key: Key) -> Value | None:
        raw = reader.take(key.name)
        path: KeyPath = (*reader.path, key.name)
        if not isinstance(raw, list):
            return self._number(reader, raw, path, key)
        if len(raw) != 2:
            self.report.problem(path, "isn't a range; expected two values, the lower and the higher")
            return None
        low, high = (self._number(reader, each, (*path, n), key) for n, each in enumerate(raw))
        if low is None or high is None:
            return None
        if low > high:
            self.report.problem(path, f"goes from {shown(raw[0])} down to {shown(raw[1])}; expected the lower first")
            return None
        return Range(low, high)

    def _number(self, reader: TableReader, raw: Any, path: KeyPath, key: Key) -> float | None:
        if key.dimension in (SHARE, PLAIN):
            number = plain_number(raw)
            low, high = (0.0, 1.0) if key.dimension == SHARE else (key.low, key.high)
            if number is None or not low <= number <= high:
                self.report.problem(path, f"{shown(raw)} isn't a number from {low:g} to {high:g}; expected one, "
                                          "without quotes")
                return None
            return number
        return reader.measure(raw, path, key.dimension, key.low, key.high, key.bare, key.zero)

    def _names(self, names: list[str]) -> str:
        return one_of(names) if names else "a rig file that describes some"
