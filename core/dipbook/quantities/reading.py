"""Reads what a person writes for a quantity, and refuses what could mean two things, saying why.

Accepted: ``5' 3 1/2"``, ``5ft 3.5in``, ``5 ft 3 1/2 in``, ``63 1/2`` (with a unit for bare numbers), ``63-1/2
in``, ``63½"``, ``161 cm``, ``212 bbl``, ``300 gpm``, ``1.20 sg @ 1000 kg/m3``. Whole numbers, decimals and
fractions only: no powers of ten, no thousands separators, no hexadecimal. With a decimal comma a point is
refused, and the other way round.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from dipbook.errors import QuantityError
from dipbook.quantities.aliases import FEET_INCHES, shown
from dipbook.quantities.factors import DIMENSIONS, OTHER_NAMES, UNITS, Unit, canonical
from dipbook.quantities.numerals import (
    FEET,
    LONGEST,
    ONE,
    PLAIN,
    Numeral,
    cleaned,
    leading_number,
    parsed,
    plain_numeral,
    spelt,
    without_sign,
)

SAME = frozenset({"same", "=", "no change", "unchanged"})
"""Words in a dip's field for: gauged, and found as before."""
NOT_GAUGED = frozenset({"", "-", "–", "—", "−", "not gauged"})
"""Words in a dip's field for: not gauged."""

_EXAMPLES = {
    "length": "5' 3 1/2\", 63 1/2 in or 161 cm",
    "volume": "24 bbl or 3.8 m3",
    "rate": "300 gal[US]/min or 5 bbl/min",
    "mass": "5000 lbm or 2270 kg",
    "density": "10.2 lbm/gal[US] or 1220 kg/m3",
    "frequency": "60 1/min",
    "duration": "20 min or 15 s",
    "temperature": "120 degF or 49 degC",
    "capacity": "0.1458 bbl/ft or 76 L/m",
    "pressure": "250 psi or 1700 kPa",
    "speed": "60 ft/h or 18 m/h",
}
_NAMES = {
    "length": "a length",
    "volume": "a volume",
    "rate": "a flow rate",
    "mass": "a mass",
    "density": "a density",
    "frequency": "a number a minute",
    "duration": "a time span",
    "temperature": "a temperature",
    "capacity": "a volume per length",
    "pressure": "a pressure",
    "speed": "a speed",
}


_INCH_MARKS = frozenset({'"', "in", "in.", "ins", "inch", "inches"})


@dataclass(frozen=True, slots=True)
class Quantity:
    """A quantity as read.

    value: in the dimension's own unit (SI; strokes a minute for frequency). unit: canonical symbol of the
    unit that was written or implied, or ``ft in``. as_typed: the text, unchanged. step: size of the last
    written digit or of the fraction's step, in the same unit as value; None for a temperature.
    """

    value: float
    unit: str
    as_typed: str
    step: float | None


@dataclass(frozen=True, slots=True)
class DipReading:
    """What a dip's field says.

    kind: "level" [m, in the tank's own datum], "volume" [m3], "percent" [0 to 100], "unchanged" or "not
    gauged".
    value: as the kind says; NaN for the last two. as_typed: the text. step: of the last written digit, as
    value.
    unit: canonical symbol, ``ft in``, ``%`` or "".
    """

    kind: str
    value: float
    as_typed: str
    step: float | None = None
    unit: str = ""


def read(
    text: str, dimension: str, *, decimal: str = ".", bare: str | None = None, negative: bool = False
) -> Quantity:
    """Read one quantity.

    text: as typed. dimension: a key of factors.DIMENSIONS, or "level" or "flow". decimal: the decimal sign,
    "." or ",".
    bare: unit of a number without one, or None to want the unit written (strokes a minute need none).
    negative: True where a value below zero makes sense; temperatures may always be below zero.

    Raises QuantityError with what is wrong and what to write instead.
    """
    dimension = OTHER_NAMES.get(dimension, dimension)
    if dimension not in DIMENSIONS:
        raise ValueError(f"no such dimension: {dimension!r}")
    if bare is None and dimension == "frequency":
        bare = "1/min"
    plain = PLAIN.fullmatch(text) if decimal == "." else None
    if plain and bare is not None and bare in UNITS:  # the usual case by far, kept quick for files
        number = plain_numeral(plain)
        return _quantity(number, UNITS[bare], dimension, text)
    clean = cleaned(text, decimal)
    clean, below_zero = without_sign(clean)
    if below_zero and not negative and dimension != "temperature":
        raise QuantityError(f"{shown(text)} is below zero. {_a(dimension)} can't be negative here.")
    if dimension == "length" and (feet := FEET.fullmatch(clean)):
        return _feet_and_inches(text, feet["feet"], feet["rest"], below_zero)
    if dimension == "density" and "@" in clean:
        return _specific_gravity(text, clean, decimal)
    example = written_with(decimal, _EXAMPLES[dimension])
    number, rest = leading_number(text, clean, example)
    if rest:
        symbol = _unit_of(text, rest, dimension, example)
    elif bare is None:
        raise QuantityError(f"{shown(text)} has no unit. Write it, for example {example}.")
    else:
        symbol = canonical(bare, dimension)
    if symbol == FEET_INCHES:
        raise QuantityError(f"{shown(text)} could be feet or inches. Write 5' 3\", 63 in or "
                            f"{written_with(decimal, '5.25 ft')}.")
    if below_zero:
        number = Numeral(-number.top, number.bottom, number.per)
    return _quantity(number, UNITS[symbol], dimension, text, decimal)


def written_with(decimal: str, words: str) -> str:
    """Examples as a rig writes them. decimal: its decimal sign; words: with points."""
    return words if decimal == "." else re.sub(r"(?<=\d)\.(?=\d)", decimal, words)


def read_dip(text: str, *, decimal: str, level_unit: str, volume_unit: str, percent_of: str) -> DipReading:
    """Read what the stick says, or what stands in its place.

    text: as typed: a level, a volume, a percentage, ``same`` or ``=`` (gauged, unchanged), ``-`` or nothing
    (not gauged).
    decimal: the decimal sign. level_unit: unit of a bare number, or "" where the tank is read in volume_unit.
    volume_unit: unit of a bare number if level_unit is "". percent_of: the tank's; "" refuses a percentage.

    Raises QuantityError with what is wrong and what to write instead.
    """
    word = text.strip().casefold() if len(text) <= LONGEST else text
    if word in NOT_GAUGED:
        return DipReading("not gauged", float("nan"), text)
    if word in SAME:
        return DipReading("unchanged", float("nan"), text)
    if word.endswith("%"):
        return _percent(text, decimal, percent_of)
    said = None if PLAIN.fullmatch(text) else _dimension_said(text, decimal)
    kind = "volume" if said == "volume" or (said is None and not level_unit) else "level"
    if kind == "volume":
        quantity = read(text, "volume", decimal=decimal, bare=None if level_unit else volume_unit)
    else:
        quantity = read(text, "length", decimal=decimal, bare=level_unit or None)
    return DipReading(kind, quantity.value, text, quantity.step, quantity.unit)


def _quantity(number: Numeral, u: Unit, dimension: str, text: str, decimal: str = ".") -> Quantity:
    """The number as kept. One correctly rounded division, so 63 1/2 in is exactly what 1.6129 m is."""
    if u.dimension != dimension:
        raise QuantityError(
            f"{shown(text)}: {u.symbol} is {_NAMES[u.dimension]}, and {_NAMES[dimension]} is wanted, "
            f"such as {written_with(decimal, _EXAMPLES[dimension])}."
        )
    factor = u.factor
    value = (number.top * factor.numerator) / (number.bottom * factor.denominator)
    step: float | None = factor.numerator / (number.per * factor.denominator)
    if dimension == "temperature":
        value, step = value + float(u.offset), None
        if value < 0.0:
            raise QuantityError(f"{shown(text)} is colder than absolute zero.")
    return Quantity(value, u.symbol, text, step)


def _feet_and_inches(text: str, feet: str, rest: str, below_zero: bool) -> Quantity:
    """``5' 3 1/2"``: whole feet, then inches below 12 with their mark."""
    whole = parsed(feet, text)
    inches, mark = leading_number(text, rest, _EXAMPLES["length"])
    if not feet.isdigit():
        raise QuantityError(f"{shown(text)}: with inches, write whole feet, like 5' 3 1/2\".")
    if mark.casefold() not in _INCH_MARKS:
        if not mark:
            raise QuantityError(
                f"{shown(text)} has no inch mark, so {rest.strip()} could be inches or a part of a foot. "
                f"Write {feet}' {rest.strip()}\" for inches."
            )
        raise QuantityError(
            f"{shown(text)} holds more than feet and inches. Write one length, like 5' 3 1/2\"."
        )
    if inches.top >= 12 * inches.bottom:
        total = whole.top * 12 * inches.bottom + inches.top
        spare = total - total // (12 * inches.bottom) * 12 * inches.bottom
        raise QuantityError(
            f"{shown(text)}: twelve inches are a foot, so this could be a slip. Write "
            f"{total // (12 * inches.bottom)}' {spelt(spare, inches.bottom)}\" or "
            f"{spelt(total, inches.bottom)} in."
        )
    inch = UNITS["in"].factor
    top = (whole.top * 12 * inches.bottom + inches.top) * (-1 if below_zero else 1)
    return Quantity(
        (top * inch.numerator) / (inches.bottom * inch.denominator),
        FEET_INCHES,
        text,
        inch.numerator / (inches.per * inch.denominator),
    )


def _unit_of(text: str, rest: str, dimension: str, example: str) -> str:
    """The canonical symbol of what follows the number."""
    try:
        return canonical(rest, dimension)
    except QuantityError:
        if re.search(r"(?:^|\s)[+-]?[\d.]*\d(?![^\s]*[a-zA-Z])", rest, re.ASCII):
            raise QuantityError(
                f"{shown(text)} holds more than one number. Write one, like {example}."
            ) from None
        raise


def _specific_gravity(text: str, clean: str, decimal: str) -> Quantity:
    """``1.20 sg @ 1000 kg/m3``: a specific gravity with its base."""
    left, _, right = clean.partition("@")
    number, word = leading_number(text, left.strip(), written_with(decimal, _EXAMPLES["density"]))
    if word.casefold().rstrip(".") not in ("sg", "s.g"):
        raise QuantityError(f"{shown(text)}: only a specific gravity has a base. Write "
                            f"{written_with(decimal, '1.20 sg @ 1000 kg/m3')}.")
    base = read(right.strip().replace(".", decimal), "density", decimal=decimal)
    if base.value <= 0:
        raise QuantityError(f"{shown(text)}: the base is a density above zero, such as 1000 kg/m3.")
    return Quantity(number.top / number.bottom * base.value, base.unit, text, base.value / number.per)


def _percent(text: str, decimal: str, percent_of: str) -> DipReading:
    if not percent_of:
        raise QuantityError(
            f"{shown(text)}: this tank's rig file doesn't say what a percentage is of. Write a level, or set "
            f"percent_of to level or volume."
        )
    clean, below_zero = without_sign(cleaned(text, decimal))
    number, rest = leading_number(text, clean, _EXAMPLES["length"])
    if below_zero or rest != "%":
        raise QuantityError(f"{shown(text)} is not one percentage. Write it like 48 %.")
    return DipReading("percent", number.top / number.bottom, text, 1.0 / number.per, "%")


def _dimension_said(text: str, decimal: str) -> str | None:
    """The dimension of the unit written in a text, or None where there is none that is known."""
    clean, _ = without_sign(cleaned(text, decimal))
    if FEET.fullmatch(clean):
        return "length"
    found = ONE.fullmatch(clean)
    rest = found["rest"].strip() if found else ""
    try:
        return UNITS[canonical(rest)].dimension if rest else None
    except (QuantityError, KeyError):
        return "unknown"


def _a(dimension: str) -> str:
    return _NAMES[dimension].capitalize()
