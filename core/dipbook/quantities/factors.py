"""Units with exact factors, built from their definitions and never from rounded constants.

Symbols are those of the Energistics unit of measure standard (``gal[US]/min``, ``lbm/gal[US]``, ``1/min``)
and are case-sensitive. What people type instead is in ``dipbook.quantities.aliases``.

Sources of the definitions: inch, foot and pound: international yard and pound agreement of 1959 (0.9144 m,
0.45359237 kg); US gallon: 231 in3; oil barrel: 42 US gallons; imperial gallon: 4.54609 L (UK Units of
Measurement Regulations 1995); standard gravity: 9.80665 m/s2 (3rd CGPM, 1901). All as listed in NIST SP 811.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import Any, overload

import numpy as np

from dipbook.errors import QuantityError
from dipbook.quantities.aliases import FEET_INCHES, meaning

INCH = Fraction(254, 10_000)
"""[m], exact."""
FOOT = 12 * INCH
"""[m], exact."""
POUND = Fraction(45_359_237, 100_000_000)
"""[kg], exact."""
LITRE = Fraction(1, 1000)
"""[m3], exact."""
US_GALLON = 231 * INCH**3
"""[m3], exact."""
UK_GALLON = Fraction(454_609, 100_000_000)
"""[m3], exact."""
BARREL = 42 * US_GALLON
"""[m3], exact."""
STANDARD_GRAVITY = Fraction(980_665, 100_000)
"""[m/s2], exact by convention."""
PSI = POUND * STANDARD_GRAVITY / INCH**2
"""[Pa], exact: one pound-force on a square inch."""

_MIN, _HOUR, _DAY = Fraction(60), Fraction(3600), Fraction(86_400)
_FT3, _IN3 = FOOT**3, INCH**3

DIMENSIONS: Mapping[str, str] = MappingProxyType(
    {
        "length": "m",
        "volume": "m3",
        "rate": "m3/s",
        "mass": "kg",
        "density": "kg/m3",
        "frequency": "1/min",
        "duration": "s",
        "temperature": "K",
        "capacity": "m3/m",
        "pressure": "Pa",
        "speed": "m/s",
    }
)
"""Dimension to the unit in which the program keeps it: SI, but strokes are kept as a number a minute."""

OTHER_NAMES: Mapping[str, str] = MappingProxyType({"level": "length", "flow": "rate"})
"""Words used for a dimension in rig files and forms."""


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: value kept = value written × factor + offset, exactly.

    symbol: the Energistics symbol. dimension: a key of DIMENSIONS. factor: exact. offset: exact, 0 but for
    degC and degF.
    """

    symbol: str
    dimension: str
    factor: Fraction
    offset: Fraction = Fraction(0)


def _table() -> Mapping[str, Unit]:
    rows: dict[str, dict[str, Fraction | int]] = {
        "length": {
            "m": 1,
            "cm": Fraction(1, 100),
            "mm": Fraction(1, 1000),
            "km": 1000,
            "ft": FOOT,
            "in": INCH,
        },
        "volume": {
            "m3": 1,
            "L": LITRE,
            "dm3": LITRE,
            "cm3": Fraction(1, 10**6),
            "bbl": BARREL,
            "gal[US]": US_GALLON,
            "gal[UK]": UK_GALLON,
            "ft3": _FT3,
            "in3": _IN3,
        },
        "rate": {
            "m3/s": 1,
            "m3/min": 1 / _MIN,
            "m3/h": 1 / _HOUR,
            "m3/d": 1 / _DAY,
            "L/s": LITRE,
            "L/min": LITRE / _MIN,
            "L/h": LITRE / _HOUR,
            "bbl/min": BARREL / _MIN,
            "bbl/h": BARREL / _HOUR,
            "bbl/d": BARREL / _DAY,
            "gal[US]/min": US_GALLON / _MIN,
            "gal[US]/h": US_GALLON / _HOUR,
            "gal[UK]/min": UK_GALLON / _MIN,
            "ft3/min": _FT3 / _MIN,
            "ft3/h": _FT3 / _HOUR,
        },
        "mass": {
            "kg": 1,
            "g": Fraction(1, 1000),
            "t": 1000,
            "lbm": POUND,
            "ton[US]": 2000 * POUND,
            "ton[UK]": 2240 * POUND,
        },
        "density": {
            "kg/m3": 1,
            "g/cm3": 1000,
            "kg/L": 1000,
            "t/m3": 1000,
            "g/L": 1,
            "lbm/gal[US]": POUND / US_GALLON,
            "lbm/gal[UK]": POUND / UK_GALLON,
            "lbm/ft3": POUND / _FT3,
            "lbm/bbl": POUND / BARREL,
        },
        "frequency": {"1/min": 1, "1/s": 60},
        "duration": {"s": 1, "ms": Fraction(1, 1000), "min": _MIN, "h": _HOUR, "d": _DAY},
        "capacity": {
            "m3/m": 1,
            "L/m": LITRE,
            "bbl/m": BARREL,
            "bbl/ft": BARREL / FOOT,
            "gal[US]/ft": US_GALLON / FOOT,
            "ft3/ft": _FT3 / FOOT,
        },
        "pressure": {"Pa": 1, "kPa": 1000, "MPa": 10**6, "mPa": Fraction(1, 1000), "bar": 10**5, "psi": PSI},
        "speed": {
            "m/s": 1,
            "m/min": 1 / _MIN,
            "m/h": 1 / _HOUR,
            "ft/min": FOOT / _MIN,
            "ft/h": FOOT / _HOUR,
        },
    }
    table = {
        symbol: Unit(symbol, dimension, Fraction(factor))
        for dimension, row in rows.items()
        for symbol, factor in row.items()
    }
    kelvin_at_0_f = Fraction(45_967, 100) * Fraction(5, 9)
    table["K"] = Unit("K", "temperature", Fraction(1))
    table["degC"] = Unit("degC", "temperature", Fraction(1), Fraction(27_315, 100))
    table["degF"] = Unit("degF", "temperature", Fraction(5, 9), kelvin_at_0_f)
    return MappingProxyType(table)


UNITS: Mapping[str, Unit] = _table()
"""Every unit by its canonical symbol."""


def canonical(symbol: str, dimension: str | None = None) -> str:
    """The canonical symbol for a symbol or for what people type.

    symbol: ``gpm``, ``bbls``, ``M3``, ``ft in`` (feet and inches, a way of writing a length).
    dimension: what is wanted, where known; it decides ``l/m`` (litres a minute or litres per metre).

    Raises QuantityError for an unknown word and for one that could mean two things, saying why.
    """
    wanted = OTHER_NAMES.get(dimension, dimension) if dimension else None
    return meaning(symbol, wanted, UNITS)


def dimension_of(symbol: str) -> str:
    """The dimension of a unit, a key of DIMENSIONS. symbol: as for canonical(); raises QuantityError."""
    known = canonical(symbol)
    return "length" if known == FEET_INCHES else UNITS[known].dimension


def unit(symbol: str) -> Unit:
    """The unit for a symbol or alias.

    symbol: as for canonical(). Raises QuantityError, also for ``ft in``: feet and inches are two units.
    """
    known = canonical(symbol)
    if known == FEET_INCHES:
        raise QuantityError("Feet and inches are a way of writing, not one unit. Use ft or in here.")
    return UNITS[known]


@overload
def to_unit(value_si: float, symbol: str) -> float: ...
@overload
def to_unit(value_si: np.ndarray[Any, Any], symbol: str) -> np.ndarray[Any, Any]: ...
def to_unit(value_si: Any, symbol: str) -> Any:
    """A kept value in another unit.

    value_si: scalar or array in the dimension's own unit (DIMENSIONS). symbol: the unit wanted. Raises
    QuantityError.
    """
    u = UNITS.get(symbol) or unit(symbol)
    if u.offset:
        return (value_si - float(u.offset)) / float(u.factor)
    return value_si / float(u.factor)


@overload
def from_unit(value: float, symbol: str) -> float: ...
@overload
def from_unit(value: np.ndarray[Any, Any], symbol: str) -> np.ndarray[Any, Any]: ...
def from_unit(value: Any, symbol: str) -> Any:
    """A value in some unit as it is kept.

    value: scalar or array in that unit. symbol: its unit. Returns the dimension's own unit (DIMENSIONS).
    Raises QuantityError for an unknown unit.
    """
    u = UNITS.get(symbol) or unit(symbol)
    if u.offset:
        return value * float(u.factor) + float(u.offset)
    return value * float(u.factor)
