"""Columns of cells to SI arrays: plain numbers all at once, everything else cell by cell."""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction
from typing import Any

import numpy as np

_EXACT = 2.0**53
_DIGITS = {".": frozenset("0123456789."), ",": frozenset("0123456789,")}
_PLAIN = {".": re.compile(r"\d+(?:\.\d+)?", re.ASCII), ",": re.compile(r"\d+(?:,\d+)?", re.ASCII)}


def plain_numbers(cells: Sequence[str], decimal: str, factor: Fraction) -> tuple[Any, list[int]]:
    """The plain numbers of a column in SI.

    cells: stripped texts; decimal: "." or ","; factor: SI per unit of the column.
    Returns (float64 array, NaN where a cell is blank or not a plain number; indices of the cells that are neither).
    A plain number comes out as ``dipbook.quantities.read`` reads it: bit for bit, and within two units in the
    last place where the digits and the factor are too long to be multiplied exactly.
    """
    odd: list[int] = []
    written: Sequence[str] = cells
    values = _quick(cells, decimal)
    if values is None:
        fits = _PLAIN[decimal].fullmatch
        keep = [bool(fits(cell)) for cell in cells]
        odd = [i for i, cell in enumerate(cells) if cell and not keep[i]]
        written = [cell if good else "" for cell, good in zip(cells, keep, strict=True)]
        values = _quick(written, decimal)
    places = max(map(len, [cell.partition(decimal)[2] for cell in written]), default=0)
    return scaled(values, places, factor), odd


def _quick(cells: Sequence[str], decimal: str) -> Any:
    """The numbers, NaN where blank; None unless every cell is blank or digits with one decimal sign inside."""
    if not set("".join(cells)) <= _DIGITS[decimal]:
        return None
    if decimal in {cell[0] for cell in cells if cell} | {cell[-1] for cell in cells if cell}:
        return None
    pointed = [cell.replace(",", ".") for cell in cells] if decimal == "," else cells
    try:
        return np.array([float(cell) if cell else np.nan for cell in pointed], dtype=float)
    except ValueError:
        return None


def scaled(values: Any, places: int, factor: Fraction) -> Any:
    """values × factor, with a single rounding where numerator and denominator are exact.

    values: float64 array, NaN for nothing; places: the most digits behind the point; factor: SI per unit.
    """
    exact = exactly(values, places, factor)
    return values * float(factor) if exact is None else exact


def exactly(values: Any, places: int, factor: Fraction) -> Any:
    """values × factor with a single rounding, None where the digits or the factor are too long for that.

    values, places, factor: as of ``scaled``; more places than there are give the same.
    """
    scale = 10**places
    if scale >= _EXACT:  # and may be too large for a float
        return None
    top = np.rint(values * float(scale))
    bottom = scale * factor.denominator
    largest = float(np.nanmax(np.abs(top), initial=0.0)) if len(top) and not np.isnan(top).all() else 0.0
    if bottom < _EXACT and largest * factor.numerator < _EXACT:
        return (top * float(factor.numerator)) / float(bottom)
    return None
