"""Numbers as people write them: whole, decimal, fraction, whole and fraction; exact until the last step."""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import gcd

from dipbook.errors import QuantityError
from dipbook.quantities.aliases import shown

LONGEST = 80
"""Characters that a quantity may have; more is not a quantity."""

_VULGAR = {
    "½": "1/2",
    "¼": "1/4",
    "¾": "3/4",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
    "⅓": "1/3",
    "⅔": "2/3",
}
_SAME_AS = str.maketrans(
    {
        **dict.fromkeys("′’‘‛´`ʹʼ＇", "'"),
        **dict.fromkeys("″”“‟ʺ＂〃", '"'),
        **dict.fromkeys("⁄∕", "/"),
        "−": "-",
        "‐": "-",
        "‑": "-",
        **dict.fromkeys("\u00a0\u2007\u2009\u202f\u200a\u2002\u2003\t", " "),
        **{vulgar: f" {plain} " for vulgar, plain in _VULGAR.items()},
    }
)

_NUMBER = r"(?:\d+(?:\.\d+)?|\.\d+)"
MIXED = rf"(?:\d+\s*[\s-]\s*\d+/\d+|\d+/\d+(?!\d)|{_NUMBER})"
ONE = re.compile(rf"\s*(?P<number>{MIXED})\s*(?P<rest>.*)", re.ASCII)
FEET = re.compile(
    rf"\s*(?P<feet>{MIXED})\s*(?:'|ft\.?|feet|foot)\s*-?\s*(?P<rest>[\d.].*)", re.ASCII | re.IGNORECASE
)
_DENOMINATORS = frozenset({2, 3, 4, 8, 10, 16, 32, 64})
_DIGITS = re.compile(r"[\d.,]*\d[\d.,]*", re.ASCII)
PLAIN = re.compile(r"\d{1,15}(?:\.(\d{1,12}))?", re.ASCII)


@dataclass(frozen=True, slots=True)
class Numeral:
    """A number as written: top / bottom, in steps of 1 / per."""

    top: int
    bottom: int
    per: int


def cleaned(text: str, decimal: str) -> str:
    """The text with plain primes, slashes and spaces and a decimal point.

    text: as typed. decimal: the decimal sign in it. Raises QuantityError for what isn't a quantity at all.
    """
    if decimal not in (".", ","):
        raise ValueError(f"no such decimal sign: {decimal!r}")
    if len(text) > LONGEST:
        raise QuantityError(
            f"{shown(text)} is {len(text)} characters long. A quantity is a number and a unit."
        )
    clean = text.translate(_SAME_AS).replace("''", '"').strip()
    if not clean:
        raise QuantityError("Nothing is written here. Write a number and its unit.")
    lower = clean.casefold().lstrip("+-")
    if lower.startswith(("nan", "inf", "#n/a", "null", "none")):
        raise QuantityError(f"{shown(text)} is not a number. Write the number, or leave it blank if it isn't known.")
    if re.match(r"0x|\d+_\d", lower, re.ASCII):
        raise QuantityError(f"{shown(text)}: write the number with the digits 0 to 9 only.")
    if re.match(r"[\d.,]*\d[\d.,]*e[+-]?\d", lower, re.ASCII):
        raise QuantityError(f"{shown(text)}: powers of ten are not read. Write the number out.")
    return _DIGITS.sub(lambda token: _pointed(token[0], text, decimal), clean)


def _pointed(token: str, text: str, decimal: str) -> str:
    """Digits with a decimal point; refuses thousands separators and the other sign."""
    other = "," if decimal == "." else "."
    sign, other_name = ("point", "comma") if decimal == "." else ("comma", "point")
    if other in token:
        whole, _, part = token.partition(other)
        if re.fullmatch(r"\d{1,3}", whole) and re.fullmatch(r"\d{3}", part):
            raise QuantityError(
                f"{shown(text)} could be {whole + part} or {whole}{decimal}{part}. This rig writes a decimal "
                f"{sign}: write it so, and nothing between thousands."
            )
        raise QuantityError(
            f"{shown(text)} has a {other_name}. This rig writes a decimal {sign}, and nothing between "
            f"thousands."
        )
    if token.count(decimal) > 1:
        raise QuantityError(f"{shown(text)} has more than one decimal {sign}.")
    if token.endswith(decimal):
        raise QuantityError(f"{shown(text)}: digits are missing after the decimal {sign}.")
    return token.replace(decimal, ".")


def without_sign(clean: str) -> tuple[str, bool]:
    """The text without its sign, and whether that was a minus. clean: from cleaned(), not empty."""
    rest = clean[1:].lstrip()
    if clean[0] in "+-" and rest and rest[0] in "0123456789.":
        return rest, clean[0] == "-"
    return clean, False


def leading_number(text: str, clean: str, example: str) -> tuple[Numeral, str]:
    """The leading number and what follows it.

    text: as typed, for the message. clean: from cleaned(), without sign. example: what to write instead.
    Raises QuantityError.
    """
    found = ONE.fullmatch(clean)
    if not found:
        raise QuantityError(f"{shown(text)} does not begin with a number. Write it like {example}.")
    return parsed(found["number"], text), found["rest"].strip()


def parsed(number: str, text: str) -> Numeral:
    """A number of the grammar of MIXED. number: its text. text: all that was typed, for the message."""
    if "/" not in number:
        whole, _, decimals = number.partition(".")
        bottom = 10 ** len(decimals)
        return Numeral(int(whole + decimals), bottom, bottom)
    *before, last = re.split(r"[\s-]+", number)
    above, below = (int(part) for part in last.split("/"))
    if below == 0:
        raise QuantityError(f"{shown(text)} divides by zero.")
    if above >= below:
        raise QuantityError(
            f"{shown(text)}: {above}/{below} is not a part of one. Write the whole number first, like 2 1/2."
        )
    if below not in _DENOMINATORS:
        raise QuantityError(
            f"{shown(text)}: no stick is divided into parts of {below}. Write {above}/{below} as a decimal."
        )
    return Numeral((int(before[0]) if before else 0) * below + above, below, below)


def plain_numeral(found: re.Match[str]) -> Numeral:
    """The number of a match of PLAIN, the quick way for files. found: the match."""
    decimals = found[1] or ""
    bottom = 10 ** len(decimals)
    return Numeral(int(found[0].replace(".", "")), bottom, bottom)


def spelt(top: int, bottom: int) -> str:
    """top / bottom as people write it: 13, 3 1/2 or, for tenths, 3.5. top, bottom: whole numbers."""
    whole, part = divmod(top, bottom)
    if not part:
        return str(whole)
    if bottom % 5 == 0:
        return f"{whole}.{part:0{len(str(bottom)) - 1}d}"
    shared = gcd(part, bottom)
    fraction = f"{part // shared}/{bottom // shared}"
    return f"{whole} {fraction}" if whole else fraction
