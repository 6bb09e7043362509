"""What people type for a unit, and what is refused because it could mean two things.

Symbols are tried first as they stand, then without regard to case, but only where case can't change the
meaning: ``mPa`` and ``MPa`` differ by a thousand million.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from types import MappingProxyType

from dipbook.errors import QuantityError

FEET_INCHES = "ft in"
"""Feet and inches: a way of writing a length (``5' 3 1/2"``), not a unit with a factor."""

EXACT: Mapping[str, str] = MappingProxyType(
    {
        # spellings of the older Energistics 1.4.1.1 list
        "m3Pm": "m3/m",
        "LPm": "L/m",
        "bblPft": "bbl/ft",
        "galUSPft": "gal[US]/ft",
        "C": "degC",
        "F": "degF",
        "°C": "degC",
        "°F": "degF",
        "deg C": "degC",
        "deg F": "degF",
        "M3": "m3",
    }
)
"""Taken only in this case."""

_WORDS: Mapping[str, str] = MappingProxyType(
    {
        "m": "metre metres meter meters mtr mtrs",
        "cm": "cms centimetre centimetres centimeter centimeters",
        "mm": "millimetre millimetres millimeter millimeters",
        "km": "kilometre kilometres kilometer kilometers",
        "ft": "foot feet '",
        "in": 'ins inch inches "',
        "m3": "cum cbm m^3",
        "L": "ltr ltrs litre litres liter liters",
        "bbl": "bbls barrel barrels",
        "gal[US]": "gal gals gallon gallons galus usgal usg gal(us)",
        "gal[UK]": "galuk ukgal impgal igal gal(uk) gal(imp)",
        "ft3": "cuft cf ft^3 cubicfeet cubicfoot",
        "in3": "cuin in^3",
        "L/min": "lpm ltr/min litre/min litres/min",
        "L/s": "lps l/sec",
        "m3/h": "m3/hr",
        "m3/d": "m3/day",
        "bbl/min": "bpm bbls/min",
        "bbl/h": "bph bbl/hr bbls/hr bbls/h",
        "bbl/d": "bpd bbl/day bbls/day bbls/d",
        "gal[US]/min": "gpm usgpm gal/min galus/min gals/min gal(us)/min",
        "gal[US]/h": "gph gal/h gal/hr galus/hr galus/h",
        "gal[UK]/min": "igpm galuk/min impgal/min",
        "ft3/min": "cfm cuft/min",
        "ft3/h": "ft3/hr cuft/hr",
        "kg": "kgs kilogram kilograms",
        "t": "tonne tonnes",
        "lbm": "lb lbs pound pounds",
        "ton[US]": "shortton shorttons",
        "ton[UK]": "longton longtons",
        "lbm/gal[US]": "ppg lb/gal lbs/gal lbm/gal lb/galus lbm/galus lb/gal[us]",
        "lbm/ft3": "pcf lb/ft3 lbs/ft3 lb/cuft lbs/cuft",
        "lbm/bbl": "lb/bbl lbs/bbl",
        "g/cm3": "g/cc gm/cc g/cm^3 g/ml",
        "kg/m3": "kg/m^3",
        "1/min": "spm stk/min stks/min strokes/min /min",
        "1/s": "hz",
        "s": "sec secs second seconds",
        "min": "mins minute minutes",
        "h": "hr hrs hour hours",
        "d": "day days",
        "bbl/ft": "bbls/ft",
        "gal[US]/ft": "gal/ft galus/ft",
        "ft3/ft": "cuft/ft",
        "degC": "celsius",
        "degF": "fahrenheit",
        "m/s": "m/sec",
        "m/min": "metres/min meters/min",
        "m/h": "m/hr m/hour metres/h meters/h metres/hr meters/hr metres/hour meters/hour",
        "ft/min": "feet/min fpm",
        "ft/h": "ft/hr ft/hour feet/h feet/hr feet/hour fph",
        "ft in": "ft-in feetandinches feet-inches",
    }
)

_CASELESS_SYMBOLS = (
    "cm",
    "km",
    "ft",
    "in",
    "L",
    "dm3",
    "bbl",
    "gal[US]",
    "gal[UK]",
    "ft3",
    "in3",
    "m3/s",
    "m3/min",
    "m3/h",
    "m3/d",
    "L/s",
    "L/min",
    "L/h",
    "bbl/min",
    "bbl/h",
    "bbl/d",
    "gal[US]/min",
    "gal[US]/h",
    "gal[UK]/min",
    "ft3/min",
    "ft3/h",
    "kg",
    "lbm",
    "ton[US]",
    "ton[UK]",
    "kg/m3",
    "g/cm3",
    "kg/L",
    "g/L",
    "lbm/gal[US]",
    "lbm/gal[UK]",
    "lbm/ft3",
    "lbm/bbl",
    "1/min",
    "1/s",
    "s",
    "min",
    "h",
    "m3/m",
    "bbl/m",
    "bbl/ft",
    "gal[US]/ft",
    "ft3/ft",
    "kPa",
    "bar",
    "psi",
    "ft/min",
    "ft/h",
    "degC",
    "degF",
    "ft in",
)
"""Symbols whose meaning doesn't hang on case. Not among them: m, mm, M…, mPa, MPa, L/m, t, g, K, d, ms."""

CASELESS: Mapping[str, str] = MappingProxyType(
    {word: symbol for symbol, words in _WORDS.items() for word in words.split()}
    | {symbol.casefold().replace(" ", ""): symbol for symbol in _CASELESS_SYMBOLS}
)

BY_DIMENSION: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "l/m": MappingProxyType({"rate": "L/min", "capacity": "L/m"}),
    }
)
"""Two meanings, of which the place where it is typed leaves one."""

_SG = (
    "Specific gravity has no unit, but a base that this text doesn't name: water at 1000 kg/m3, or at "
    "60 degF (999.016 kg/m3). Write the density, 1.20 g/cm3, or name the base: 1.20 sg @ 1000 kg/m3."
)
_SACK = "A sack has no fixed mass. Write the mass, in lbm or kg."
_TON = "A ton can be 1000 kg, 2000 lbm or 2240 lbm. Write t, ton[US] or ton[UK]."
_TIME_PER_LENGTH = "This is a time per length, not a speed. Write how far in an hour, in ft/h or m/h."
_THOUSAND = (
    "Here M can be thousand, million or a unit in capitals. "
    "Write the number out, with the unit in its usual case."
)

_JOINED = re.compile(r" (?!\d)")
"""Spaces inside a unit don't count, but ``m 3`` is not ``m3``: the 3 may be a second number."""

REFUSED: Mapping[str, str] = MappingProxyType(
    {
        "sg": _SG,
        "s.g": _SG,
        "spgr": _SG,
        "specificgravity": _SG,
        "sk": _SACK,
        "sks": _SACK,
        "sx": _SACK,
        "sack": _SACK,
        "sacks": _SACK,
        "bag": _SACK,
        "bags": _SACK,
        "ton": _TON,
        "tons": _TON,
        "mpa": "Write MPa (million pascal) or mPa (thousandth of a pascal), in this case exactly.",
        "m": _THOUSAND,
        "mm": _THOUSAND,
        "mbbl": _THOUSAND,
        "mmbbl": _THOUSAND,
        "mcf": _THOUSAND,
        "mmcf": _THOUSAND,
        "mph": "This can be metres or miles an hour. Write m/h or ft/h.",
        "min/ft": _TIME_PER_LENGTH,
        "min/m": _TIME_PER_LENGTH,
        "l/m": "This can be litres a minute or litres per metre. Write L/min or L/m.",
    }
)
"""Refused when neither the symbol as it stands nor an alias fits, with the reason and the remedy."""


@lru_cache(maxsize=4096)
def _plain(text: str) -> str:
    """The text with cubes as digits, single spaces and no space about a slash or bracket."""
    plain = " ".join(text.replace("³", "3").replace("²", "2").replace("\u00b5", "µ").split())
    for mark in ("/", "[", "]", "(", ")"):
        plain = plain.replace(f" {mark}", mark).replace(f"{mark} ", mark)
    return plain.rstrip(".") if len(plain) > 1 else plain


def meaning(text: str, dimension: str | None, symbols: Iterable[str]) -> str:
    """The canonical symbol that a text means.

    text: as typed. dimension: what is wanted, or None. symbols: the canonical symbols there are.

    Raises QuantityError if it is unknown or could mean two things.
    """
    plain = _plain(text)
    if plain in symbols or plain == FEET_INCHES:
        return plain
    if plain in EXACT:
        return EXACT[plain]
    folded = _JOINED.sub("", plain.casefold())
    if dimension and dimension in BY_DIMENSION.get(folded, {}):
        return BY_DIMENSION[folded][dimension]
    for word in (folded, _us_first(folded)):
        if word in CASELESS:
            return CASELESS[word]
    if folded in REFUSED:
        raise QuantityError(f"{shown(text)}: {REFUSED[folded]}")
    raise QuantityError(
        f"{shown(text)} is not a unit that Dipbook knows. "
        "Examples: ft, in, m, cm, bbl, m3, L, gal[US], lbm/gal[US], bbl/min."
    )


def shown(text: str) -> str:
    """A text in quotation marks for a message. text: as typed; a long one is cut."""
    clean = "".join(c if c.isprintable() else "\ufffd" for c in text.strip()[:41])
    return f"“{clean[:40]}…”" if len(clean) > 40 else f"“{clean}”"


def _us_first(folded: str) -> str:
    """``usgal/min`` and ``gallons/min`` as ``gal[us]/min``, ``impgal`` as ``gal[uk]``."""
    short = folded.replace("u.s.", "us").replace("imperial", "imp").replace("imp.", "imp")
    for said, meant in (
        ("gallons", "gal"),
        ("gallon", "gal"),
        ("usgal", "gal[us]"),
        ("impgal", "gal[uk]"),
        ("ukgal", "gal[uk]"),
    ):
        short = short.replace(said, meant)
    return short
