"""Where a trip passed a limit: a hold point, in the cautions' words. It decides nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dipbook.limits import TRIP_KINDS, Limit
from dipbook.quantities import write
from dipbook.rig.model import Rig
from dipbook.trips import Line

LAST, TOTAL = TRIP_KINDS
TOLERANCE = 1e-9
"""By which rounding may keep a sum from a limit that it stands at [m3], as of the other limits."""


@dataclass(frozen=True, slots=True)
class Raised:
    """A limit that the trip passed. line: at which. value_m3: of the last rows, or of the trip, with the books' sign.
    """

    limit: Limit
    line: Line
    value_m3: float


def passed(rig: Rig, lines: Sequence[Line]) -> tuple[Raised, ...]:
    """Each time a sum passes a limit that it stood within, or stood beyond with the other sign; it is told again once
    it has been back by the deadband. rig: with its limits. lines: of the sheet.
    """
    found: list[tuple[int, Raised]] = []
    for limit in rig.limits:
        if limit.kind not in (LAST, TOTAL):
            continue
        beyond = 0.0    # the sum that was told, with its sign; 0 within
        for n, line in enumerate(lines):
            value = line.last_n_m3 if limit.kind == LAST else line.cumulative_m3
            if abs(value) >= limit.value - TOLERANCE and beyond * value <= 0.0:
                found.append((n, Raised(limit, line, value)))
                beyond = value
            elif abs(value) <= limit.value - limit.deadband + TOLERANCE:
                beyond = 0.0
    return tuple(r for _, r in sorted(found, key=lambda one: one[0]))


def said(raised: Raised, last_n: int, rig: Rig) -> str:
    """A limit that was passed, in words. raised: which. last_n: rows summed. rig: its units."""
    unit = rig.units.get("volume", "m3")
    amount, limit = (write(abs(x), unit, decimal=rig.decimal) for x in (raised.value_m3, raised.limit.value))
    over = f"over the last {last_n} rows" if raised.limit.kind == LAST else "in all"
    moved = "took {} less" if raised.value_m3 > 0 else "took {} more"
    if raised.line.expected_m3 < 0:
        moved = "gave back {} more" if raised.value_m3 > 0 else "gave back {} less"
    sign = "swab or influx" if raised.value_m3 > 0 else "losses"
    return (f"The hole {moved.format(amount)} than it should {over}, limit {limit}: a sign of {sign}. Stop, "
            "flow-check, and act as the rig's own procedures say.")
