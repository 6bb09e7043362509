"""Reads a percentage, two parts of a hundred, a bare number, and a list of readings of one quantity."""

from __future__ import annotations

import re
from dataclasses import dataclass

from dipbook.errors import QuantityError
from dipbook.quantities.aliases import shown
from dipbook.quantities.numerals import cleaned, leading_number, without_sign
from dipbook.quantities.reading import NOT_GAUGED, Quantity, read, written_with

LONGEST_LIST = 4000
"""Characters that a list may have."""
MOST_READINGS = 600
"""Readings that a list may hold."""

_TIGHT = re.compile(r"\d,\d")
_LOOSE = re.compile(r",(?!\d)")
_POINTED = re.compile(r"\s*(?:[+\-−]?\s*\d*\.\d+\D*|-\s*)", re.ASCII)
_UNIT = re.compile(r"[^\W\d_]")


def read_percent(text: str, *, decimal: str = ".") -> tuple[float, float]:
    """A share of 0 to 100 with or without a percent sign: (percent, size of the last digit written).

    text: as typed. decimal: the decimal sign. Raises QuantityError, also outside 0 to 100.
    """
    clean, below_zero = without_sign(cleaned(text, decimal))
    number, rest = leading_number(text, clean, "48 %")
    if rest not in ("", "%"):
        raise QuantityError(f"{shown(text)} is not one percentage. Write it like 48 %.")
    value = number.top / number.bottom
    if (below_zero and value) or value > 100:
        raise QuantityError(f"{shown(text)} is outside 0 to 100 %.")
    return value, 1.0 / number.per


def read_parts(text: str, *, decimal: str = ".") -> float:
    """The first of two parts of a hundred, as oil and water are written: ``80/20``, or ``80`` or ``80 %`` alone [-].

    text: as typed. decimal: the decimal sign. Raises QuantityError, also where the two don't make 100 together.
    """
    first, slash, second = cleaned(text, decimal).replace(".", decimal).partition("/")
    parts = [read_percent(part.strip(), decimal=decimal)[0] for part in ((first, second) if slash else (first,))
             if part.strip()]
    if slash and (len(parts) != 2 or abs(sum(parts) - 100.0) > 1e-6):
        raise QuantityError(f"{shown(text)}: the two must make 100 together. Write them like 80/20.")
    return parts[0] / 100.0


def read_factor(text: str, *, decimal: str = ".") -> float:
    """A number without a unit, from 0 up. text: as typed. decimal: the decimal sign. Raises QuantityError."""
    clean, below_zero = without_sign(cleaned(text, decimal))
    example = written_with(decimal, "0.95")
    number, rest = leading_number(text, clean, example)
    if rest:
        raise QuantityError(f"{shown(text)}: this is a number without a unit. Write it like {example}.")
    value = number.top / number.bottom
    if below_zero and value:
        raise QuantityError(f"{shown(text)} is below zero. It can't be negative here.")
    return value


@dataclass(frozen=True, slots=True)
class Readings:
    """Readings one after the other.

    values: SI, None where "-" says that it wasn't read. unit: written or implied, canonical. written: a unit was
    written. step: size of the last digit written of the finest one [SI], or None.
    """

    values: tuple[float | None, ...]
    unit: str
    written: bool
    step: float | None


def read_list(text: str, dimension: str, *, decimal: str = ".", bare: str | None = None) -> Readings:
    """Several readings of one dimension: ``0.4; 0.2; 0.1 bbl``, below zero and zero allowed.

    Semicolons, spaces or line ends set them apart, and commas where the decimal sign is a point and nothing else can be
    meant. A unit written with any of them counts for all without one. ``-`` stands for one that wasn't read.

    text: as typed. dimension: a key of factors.DIMENSIONS. decimal: the decimal sign. bare: unit of a list without one.
    Raises QuantityError with what is wrong and what to write instead.
    """
    if len(text) > LONGEST_LIST:
        raise QuantityError(f"{shown(text)} is {len(text)} characters long. Write the readings only.")
    pieces = _pieces(text, decimal)
    if len(pieces) > MOST_READINGS:
        raise QuantityError(f"{shown(text)} holds {len(pieces)} readings, which is more than {MOST_READINGS}.")
    units = list(dict.fromkeys(unit for unit in map(_written_unit, pieces) if unit))
    if all(piece in NOT_GAUGED for piece in pieces):
        raise QuantityError(f"{shown(text)} holds no reading. Leave it blank.")
    missing = any(not _written_unit(piece) and piece not in NOT_GAUGED for piece in pieces)
    if missing and len(units) > 1:
        raise QuantityError(f"{shown(text)} has units of two kinds, and readings with none. Write a unit with each.")
    for_all = units[0] if units else bare
    found: list[Quantity | None] = [None if piece in NOT_GAUGED else read(
        piece, dimension, decimal=decimal, bare=for_all, negative=True) for piece in pieces]
    known = [q for q in found if q is not None]
    steps = [q.step for q in known if q.step is not None]
    return Readings(tuple(None if q is None else q.value for q in found), known[-1].unit, bool(units),
                    min(steps, default=None))


def _pieces(text: str, decimal: str) -> list[str]:
    """The readings' texts; none is blank."""
    stripped = text.strip().rstrip(";").strip()
    if not stripped:
        like = written_with(decimal, "0.4; 0.2; 0.1 bbl")
        raise QuantityError(f"Nothing is written here. Write the readings, like {like}.")
    if ";" in stripped or "\n" in stripped:
        pieces = re.split(r"[;\n]", stripped)
    elif "," in stripped and decimal == ".":
        pieces = _at_commas(text, stripped)
    elif decimal == "," and _LOOSE.search(stripped):
        raise QuantityError(f"{shown(text)}: this rig writes a decimal comma, so a comma can't set readings apart. "
                            "Set them apart with semicolons.")
    else:
        pieces = _at_spaces(text, stripped)
    if not all(piece.strip() for piece in pieces):
        raise QuantityError(f"{shown(text)}: there is nothing between two of the marks. Write 0 where nothing came, "
                            "and - where it wasn't read.")
    return [piece.strip() for piece in pieces]


def _at_commas(text: str, stripped: str) -> list[str]:
    """Readings set apart by commas, where the decimal sign is a point."""
    pieces = stripped.rstrip(",").split(",")
    if _TIGHT.search(stripped) and not all(_POINTED.fullmatch(piece) for piece in pieces):
        raise QuantityError(f"{shown(text)}: a comma between digits could be a decimal comma, set thousands apart, or "
                            "set readings apart. Set the readings apart with semicolons.")
    return pieces


def _at_spaces(text: str, stripped: str) -> list[str]:
    """Readings set apart by spaces; a word that begins with a letter belongs to the number before it."""
    pieces: list[str] = []
    for word in stripped.split():
        if word in NOT_GAUGED:
            raise QuantityError(f"{shown(text)}: the dash could be a minus or stand for a reading that is missing. Set "
                                "the readings apart with semicolons.")
        if "/" in word and word[0].isdigit():
            raise QuantityError(f"{shown(text)}: with fractions, set the readings apart with semicolons.")
        if _UNIT.match(word) and pieces and not _written_unit(pieces[-1]):
            pieces[-1] = f"{pieces[-1]} {word}"
        else:
            pieces.append(word)
    return pieces


def _written_unit(piece: str) -> str:
    """The unit at the end of a reading's text, as written; "" for a bare number."""
    found = _UNIT.search(piece)
    return piece[found.start():].strip() if found and any(c.isdigit() for c in piece[:found.start()]) else ""
