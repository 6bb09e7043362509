"""How a column adds up to the last digit shown.

Each figure is rounded by itself, to the nearest, as it is everywhere else on screen and paper: none is bent so that a
sum comes out, for the same figure would then read one way here and another way there. What the roundings leave over
stands in a line of its own, *rounding*: with it every column adds up to the last digit shown. It is less than half a
last digit for each figure of the column, and blank where it is nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from dipbook.quantities import from_unit, to_unit
from dipbook.quantities.writing import DIGITS


def digits_of(symbol: str) -> int:
    """Decimals that a unit is shown with. symbol: of the unit."""
    return DIGITS[symbol]


def shown(value: float, symbol: str, digits: int) -> Decimal:
    """A figure as it stands on the paper, a number of its unit. value: SI. symbol: the unit. digits: decimals."""
    return Decimal(f"{float(to_unit(value, symbol)):.{digits}f}")


def left_over(parts: Iterable[float], total: float, symbol: str, digits: int) -> float:
    """What the roundings leave over: the total as shown less the parts as shown, SI.

    parts: of the column, SI; total: their sum, SI. symbol: the unit. digits: decimals. 0.0 where it is nothing.
    """
    over = shown(total, symbol, digits) - sum((shown(p, symbol, digits) for p in parts), Decimal(0))
    return float(from_unit(float(over), symbol)) if over else 0.0
