"""Writes quantities as the screen, the paper and the messages show them, in the crew's units.

A negative number gets a real minus sign (−), which reads back as one. What isn't known is written "unknown",
never as a number.
"""

from __future__ import annotations

from math import gcd, isfinite

from dipbook.quantities.aliases import FEET_INCHES
from dipbook.quantities.factors import INCH, canonical, to_unit

UNKNOWN = "unknown"
"""Stands where a number isn't known."""

DIGITS = {
    "m": 2,
    "cm": 1,
    "mm": 0,
    "km": 3,
    "ft": 1,
    "in": 1,
    "m3": 2,
    "L": 0,
    "dm3": 0,
    "cm3": 0,
    "bbl": 1,
    "gal[US]": 0,
    "gal[UK]": 0,
    "ft3": 1,
    "in3": 0,
    "m3/s": 4,
    "m3/min": 2,
    "m3/h": 1,
    "m3/d": 0,
    "L/s": 1,
    "L/min": 0,
    "L/h": 0,
    "bbl/min": 1,
    "bbl/h": 1,
    "bbl/d": 0,
    "gal[US]/min": 0,
    "gal[US]/h": 0,
    "gal[UK]/min": 0,
    "ft3/min": 1,
    "ft3/h": 0,
    "kg": 0,
    "g": 0,
    "t": 2,
    "lbm": 0,
    "ton[US]": 2,
    "ton[UK]": 2,
    "kg/m3": 0,
    "g/cm3": 2,
    "kg/L": 2,
    "t/m3": 2,
    "g/L": 0,
    "lbm/gal[US]": 1,
    "lbm/gal[UK]": 1,
    "lbm/ft3": 1,
    "lbm/bbl": 1,
    "1/min": 0,
    "1/s": 2,
    "s": 0,
    "ms": 0,
    "min": 0,
    "h": 1,
    "d": 1,
    "m3/m": 5,
    "L/m": 2,
    "bbl/m": 4,
    "bbl/ft": 5,
    "gal[US]/ft": 3,
    "ft3/ft": 4,
    "Pa": 0,
    "kPa": 0,
    "MPa": 2,
    "mPa": 0,
    "bar": 1,
    "psi": 0,
    "m/s": 3,
    "m/min": 2,
    "m/h": 1,
    "ft/min": 1,
    "ft/h": 0,
    "K": 1,
    "degC": 1,
    "degF": 0,
}
"""Decimals shown where none are asked for: about what a crew reads off its instruments."""


def write_number(
    value_si: float | None, symbol: str, *, digits: int | None = None, decimal: str = ".", sign: bool = False
) -> str:
    """A quantity as a number without its unit.

    value_si: in the dimension's own unit (SI; strokes a minute), or None or NaN if unknown. symbol: the unit
    to show, or ``ft in``. digits: decimals, or None for the usual ones. decimal: the decimal sign. sign: True
    writes + as well.
    """
    symbol = canonical(symbol)
    if value_si is None or not isfinite(value_si):
        return UNKNOWN
    if symbol == FEET_INCHES:
        text = _feet_inches(abs(value_si), 8)
        zero = not any(c in "123456789" for c in text)
        return _signed(text, value_si < 0 and not zero, sign and not zero)
    value = to_unit(value_si, symbol)
    text = f"{abs(value):.{DIGITS[symbol] if digits is None else digits}f}"
    zero = not text.strip("0.")
    return _signed(text.replace(".", decimal), value < 0 and not zero, sign and not zero)


def write(
    value_si: float | None, symbol: str, *, digits: int | None = None, decimal: str = ".", sign: bool = False
) -> str:
    """A quantity with its unit: ``512.4 bbl``, ``+1.3 bbl``, ``−0.4 m3``.

    value_si, symbol, digits, decimal, sign: as for write_number().
    """
    number = write_number(value_si, symbol, digits=digits, decimal=decimal, sign=sign)
    known = canonical(symbol)
    return number if number == UNKNOWN or known == FEET_INCHES else f"{number} {known}"


def write_level(
    value_m: float | None, unit: str, decimal: str = ".", *, denominator: int = 8, digits: int | None = None
) -> str:
    """A level as people read it off a stick: ``5' 3 1/2"``, ``63 1/2 in``, ``161.3 cm``.

    value_m: [m], or None or NaN if unknown. unit: ``ft in``, ``in`` or another unit of length. decimal: the
    decimal sign.
    denominator: of the finest fraction of an inch, for ``ft in`` and ``in``. digits: decimals for the other
    units, and for ``in`` in place of fractions.
    """
    symbol = canonical(unit)
    if value_m is None or not isfinite(value_m):
        return UNKNOWN
    if symbol == FEET_INCHES:
        text = _feet_inches(abs(value_m), denominator)
        return _signed(text, value_m < 0 and any(c in "123456789" for c in text), False)
    if symbol == "in" and digits is None:
        text = _inches(_parts(abs(value_m), denominator), denominator)
        return _signed(text, value_m < 0 and text != "0", False) + " in"
    return write(value_m, symbol, digits=digits, decimal=decimal)


def _parts(value_m: float, denominator: int) -> int:
    """A level in whole parts of an inch, the nearest."""
    return round(value_m * denominator * INCH.denominator / INCH.numerator)


def _inches(parts: int, denominator: int) -> str:
    whole, part = divmod(parts, denominator)
    if not part:
        return str(whole)
    shared = gcd(part, denominator)
    fraction = f"{part // shared}/{denominator // shared}"
    return f"{whole} {fraction}" if whole else fraction


def _feet_inches(value_m: float, denominator: int) -> str:
    feet, parts = divmod(_parts(value_m, denominator), 12 * denominator)
    return f"{feet}' {_inches(parts, denominator)}\""


def _signed(text: str, below_zero: bool, plus: bool) -> str:
    return f"−{text}" if below_zero else f"+{text}" if plus else text
