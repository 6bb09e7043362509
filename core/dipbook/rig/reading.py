"""Reads the keys of one table of a rig file and collects every problem with its place.

A value that can't be used is reported once and read as None; reading goes on, so that all problems show at once.
"""

from __future__ import annotations

import datetime
import difflib
import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from dipbook.errors import QuantityError
from dipbook.findings import Finding
from dipbook.quantities import FEET_INCHES, Quantity, read_percent, to_unit, write_level, written_with
from dipbook.quantities import read as read_quantity
from dipbook.rig.locating import Path, Places

EXAMPLES: Mapping[str, str] = {
    "length": '"9 ft"', "volume": '"5 bbl"', "rate": '"300 gal[US]/min"', "capacity": '"0.1458 bbl/ft"',
    "duration": '"20 min"', "pressure": '"75 psi"', "density": '"12 lbm/gal[US]"', "mass": '"5000 lbm"',
    "speed": '"60 ft/h"',
}
"""What a value of each dimension looks like, for messages."""
TIMES: Mapping[str, float] = {"h": 3600.0, "min": 60.0, "s": 0.0}
"""Unit of time -> from how long on [s] a bound is told in it."""


@dataclass(slots=True)
class Report:
    """What is wrong with (problems) and noteworthy in (findings) one file.

    name: the file's name. places: its lines. titles: path of a row -> its name, for messages. wrong: (path, what is
    wrong with it), as found; about: the path of each finding. kind: what such a file is called.
    """

    name: str
    places: Places
    titles: dict[Path, str] = field(default_factory=dict)
    found: list[tuple[int, str]] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    wrong: list[tuple[Path, str]] = field(default_factory=list)
    about: list[Path] = field(default_factory=list)
    kind: str = "rig file"

    def problem(self, path: Path, what: str) -> None:
        """Something that refuses the file, at a key. path: of it. what: is wrong."""
        line = self.places.line(path)
        where = self.label(path)
        text = f"{self.name}, line {line}{', ' if where else ''}{where}: {what}"
        self.found.append((line, "".join(c if c.isprintable() else "\ufffd" for c in text)))
        self.wrong.append((path, what))

    def finding(self, path: Path, code: str, what: str, *, severity: str = "warning", tank: str = "") -> None:
        """Something that a person should know, at a key. path: of it. code, what, severity, tank: as of a Finding."""
        self.about.append(path)
        self.findings.append(Finding(what=what, code=code, severity=severity, file=self.name,
                                     line=self.places.line(path), tank=tank))

    def problems(self) -> tuple[str, ...]:
        """All problems in the order of their lines."""
        return tuple(text for _, text in sorted(self.found, key=lambda one: one[0]))

    def label(self, path: Path) -> str:
        """A path in words: ``tank.Suction.shape.table row 3``."""
        words = ""
        for n, part in enumerate(path):
            if isinstance(part, str):
                words += f".{part}" if words else part
            elif path[:n + 1] in self.titles:
                words += f".{self.titles[path[:n + 1]]}"
            else:
                words += f" row {part + 1}"
        return words


@dataclass(frozen=True, slots=True)
class Ways:
    """How values are written in this file: the decimal sign and the units for bare numbers."""

    decimal: str
    units: Mapping[str, str]


class TableReader:
    """The keys of one table. Take what is known, then ``end`` reports the rest."""

    def __init__(self, table: Mapping[str, Any], path: Path, report: Report, ways: Ways) -> None:
        self.table = table
        self.path = path
        self.report = report
        self.ways = ways
        self.known: list[str] = []

    def problem(self, key: str, what: str) -> None:
        """Report a problem at a key. what: is wrong."""
        self.report.problem((*self.path, key), what)

    def has(self, key: str) -> bool:
        """True if the key is there. key: its name."""
        return key in self.table

    def take(self, key: str, *, needed: str = "") -> Any:
        """The raw value of a key or None. key: its name. needed: what to write when it's missing, or "" if it may
        be."""
        self.known.append(key)
        if key not in self.table:
            if needed:
                self.report.problem((*self.path, key), f"is missing; expected {needed}")
            return None
        return self.table[key]

    def end(self) -> None:
        """Report keys that nobody took."""
        for key in self.table:
            if key not in self.known:
                close = difflib.get_close_matches(key, self.known, n=1)
                hint = f'did you mean "{close[0]}"?' if close else f"expected {one_of(self.known)}"
                self.report.problem((*self.path, key), f"isn't a key of the {self.report.kind} here; {hint}")

    def text(self, key: str, *, needed: str = "", longest: int = 200) -> str | None:
        """A text that isn't blank. key, needed: as of ``take``. longest: that it may be [characters]."""
        value = self.take(key, needed=needed)
        if value is None:
            return None
        if not isinstance(value, str):
            self.problem(key, f"{shown(value)} isn't a text; expected it in quotes")
            return None
        if not value.strip():
            self.problem(key, f"is blank; expected {needed or 'some words'}")
            return None
        if not value.isprintable() or len(value) > longest:
            self.problem(key, f"isn't one line of at most {longest} characters; expected that")
            return None
        return value.strip()

    def choice(self, key: str, choices: Iterable[str], what: str, *, needed: bool = False) -> str | None:
        """One of a few words. key: its name. choices: the words. what: "a gauge", "a role". needed: it has to be
        there."""
        words = tuple(choices)
        value = self.take(key, needed=one_of(words) if needed else "")
        if value is None:
            return None
        if value in words:
            return str(value)
        close = difflib.get_close_matches(value, words, n=1) if isinstance(value, str) else []
        hint = f' (did you mean "{close[0]}"?)' if close else ""
        self.problem(key, f"{shown(value)} isn't {what}; expected {one_of(words)}{hint}")
        return None

    def flag(self, key: str, *, needed: bool = False) -> bool | None:
        """True or false. key: its name. needed: it has to be there."""
        value = self.take(key, needed="true or false" if needed else "")
        if value is None or isinstance(value, bool):
            return value
        self.problem(key, f"{shown(value)} isn't yes or no; expected true or false, without quotes")
        return None

    def number(self, key: str, low: float, high: float, what: str, *, needed: str = "",
               also: str = "") -> float | None:
        """A plain number from low to high, both allowed. key, needed: as of ``take``. what: it is, for the message;
        also: what else may be written."""
        value = self.take(key, needed=needed)
        if value is None:
            return None
        number = plain_number(value)
        if number is None:
            self.problem(key, f"{shown(value)} isn't a number; expected {what}, without quotes")
        elif not low <= number <= high:
            self.problem(key, f"{shown(value)} is out of range; expected {what} from {low:g} to {high:g}{also}")
        else:
            return number
        return None

    def share(self, key: str, low: float, high: float) -> float | None:
        """A share from low to high: a plain number, or a text with its percent sign, ``"95 %"``. key: its name."""
        value = self.table.get(key)
        if not (isinstance(value, str) and value.strip().endswith("%")):
            return self.number(key, low, high, "a share", also=f', or "{100 * low:g} %" to "{100 * high:g} %"')
        self.take(key)
        try:
            found = read_percent(value, decimal=self.ways.decimal)[0] / 100.0
        except QuantityError as error:
            self.problem(key, str(error))
            return None
        if low <= found <= high:
            return found
        self.problem(key, f"{shown(value)} is out of range; expected from {100 * low:g} to {100 * high:g} %")
        return None

    def since(self) -> str | None:
        """Since when something is in force: a text, or a TOML date. A text that tells no date is doubted."""
        value = self.table.get("since")
        if isinstance(value, (datetime.date, datetime.datetime)):
            self.take("since")
            return value.isoformat()
        text = self.text("since", needed='since when, like "2026-01-05 06:00"')
        try:
            datetime.datetime.fromisoformat(text or "2026-01-05")
        except ValueError:
            self.report.finding((*self.path, "since"), "since_no_date", f"“{text}” tells no date to who reads it "
                                "later: write it like 2026-01-05 06:00.")
        return text

    def quantity(self, key: str, dimension: str, low: float, high: float, *, bare: str = "",
                 needed: str = "", zero: bool = False) -> float | None:
        """A quantity [SI]: above 0 (or 0 too, with ``zero``), and from low to high, or it is absurd.

        key, needed: as of ``take``. dimension: of it. bare: key of [units] that a number without a unit takes, or "" if
        the unit must be written.
        """
        value = self.take(key, needed=needed)
        return None if value is None else self.measure(value, (*self.path, key), dimension, low, high, bare, zero)

    def measure(self, value: Any, path: Path, dimension: str, low: float, high: float, bare: str = "",
                zero: bool = False) -> float | None:
        """As ``quantity``, for a value that stands at ``path``. dimension, low, high, bare, zero: as there."""
        read = self._read(value, path, dimension, bare)
        if read is None or (zero and read.value == 0):
            return None if read is None else read.value
        si = read.value
        if si <= 0:
            self.report.problem(path, f"{shown(value)} isn't {'0 or more' if zero else 'above 0'}; "
                                      f"expected a size like {written_with(self.ways.decimal, EXAMPLES[dimension])}")
        elif not low <= si <= high:
            wrong = "small" if si < low else "large"
            self.report.problem(path, f"{shown(value)} is too {wrong} to be real; expected from "
                                      f"{self.bound(low, read.unit)} to {self.bound(high, read.unit)}")
        else:
            return si
        return None

    def bound(self, value: float, unit: str) -> str:
        """A bound of a sanity check in words. value: SI. unit: of what was typed; a time goes by its own length."""
        if unit in TIMES:
            unit = next((symbol for symbol, least_s in TIMES.items() if value >= least_s), "s")
        unit = "ft" if unit == FEET_INCHES else unit
        shown_value = to_unit(value, unit)
        number = f"{shown_value:.3g}"
        if "e" in number:
            number = f"{shown_value:.0f}" if shown_value >= 1 else f"{shown_value:.9f}".rstrip("0")
        return f"{number.replace('.', self.ways.decimal)} {unit}"

    def level(self, value_m: float) -> str:
        """A level in words, in the file's unit. value_m: [m]."""
        return write_level(value_m, self.ways.units.get("level", "m"), self.ways.decimal)

    def _meant(self, written: str, dimension: str) -> str:
        """What is written with the other decimal sign as this file writes it, in quotes; "" where that isn't it, or
        where it may be thousands."""
        other = "," if self.ways.decimal == "." else "."
        if written.count(other) != 1 or self.ways.decimal in written or re.search(rf"\{other}\d{{3}}(?!\d)", written):
            return ""
        swapped = written.replace(other, self.ways.decimal)
        try:
            read_quantity(swapped, dimension, decimal=self.ways.decimal)
        except QuantityError:
            return ""
        return f'"{swapped}"'

    def si(self, value: Any, path: Path, dimension: str, bare: str) -> float | None:
        """A quantity [SI] of any size, or None with a problem. value, path, dimension, bare: as of ``measure``."""
        read = self._read(value, path, dimension, bare)
        return None if read is None else read.value

    def _read(self, value: Any, path: Path, dimension: str, bare: str) -> Quantity | None:
        """A quantity of any size, or None with a problem."""
        example = written_with(self.ways.decimal, EXAMPLES[dimension])
        number = plain_number(value)
        if number is not None:
            if not bare:
                self.report.problem(path, f"{shown(value)} has no unit; expected a text with one, like {example}")
                return None
            unit = self.ways.units.get(bare, "")
            if not unit:
                self.report.problem(path, f"{shown(value)} has no unit and [units] gives none for {bare}; "
                                          f"expected a text with one, like {example}")
                return None
            written = _digits(number).replace(".", self.ways.decimal)
        elif isinstance(value, str):
            unit, written = (self.ways.units.get(bare, "") if bare else ""), value
        else:
            self.report.problem(path, f"{shown(value)} isn't a quantity; expected a text like {example}")
            return None
        try:
            quantity = read_quantity(written, dimension, decimal=self.ways.decimal, bare=unit or None)
        except QuantityError as error:
            self.report.problem(path, f"{error} Expected something like {self._meant(written, dimension) or example}.")
            return None
        if not math.isfinite(quantity.value):
            self.report.problem(path, f"{shown(value)} isn't a finite number; expected a {dimension} like {example}")
            return None
        return quantity


def plain_number(value: Any) -> float | None:
    """A TOML number as a finite float; None for anything else. value: as read."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return None
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if math.isfinite(number) else None


def _digits(number: float) -> str:
    """A number without powers of ten."""
    text = f"{number:.12f}".rstrip("0").rstrip(".")
    return text if len(text) <= 40 else f"{number:.0f}"


def shown(value: Any) -> str:
    """A value as it stands in a file, cut to a readable length."""
    if isinstance(value, str):
        text = f'"{value}"'
    elif isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, list):
        return "a list"
    elif isinstance(value, dict):
        return "a table"
    else:
        try:
            text = str(value)
        except ValueError:  # Python writes no whole number of more than 4,300 digits
            return "a very long number"
    return text if len(text) <= 60 else f"{text[:57]}…"


def one_of(words: Iterable[str]) -> str:
    """``"up" or "down"``, of the words given. words: in turn."""
    quoted = [f'"{word}"' for word in words]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} or {quoted[-1]}"

