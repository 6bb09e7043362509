"""Connections by hand: 20 bbl of lines that drain with τ = 60 s, so 20 (1 − e^(−t/60)). Invented."""

from __future__ import annotations

import math
from typing import Any

from dipbook.records import Draft
from ledgers import RIG, dips, entry

INCH = 240 / 12 * 1728 / 9702
"""bbl an inch of one of the boxes."""
START = (entry("pumps", -60, state="on", flow=300), dips(0, Settling=60, Suction=60), entry("zero", 0, length=0, reason="x"))

LIMITED = RIG + """
[[limit]]
name = "flow-back"
kind = "flow_back"
on = "active"
value = "2 bbl"
deadband = "1 bbl"
growth = "1 bbl"
set_by = "A. Sample"
reason = "invented"
since = "2026-01-05"
"""


def drained(seconds: float) -> float:
    return 20 * (1 - math.exp(-max(seconds, 0.0) / 60))


def connection(off: float, *, lasts: float = 12, kick: float = 0.0, before: float = 0.0, moved: float = 0.0,
               from_s: float = 0.0, every: int = 30) -> list[Draft]:
    """Pumps off at a minute and on again, readings each 30 s of all that comes back [bbl]; kick: an influx [bbl/min] from
    ``from_s`` on; before: what came in earlier; moved: a transfer from Reserve at 3 min, logged."""
    made: list[Draft] = [entry("pumps", off, state="off"), entry("pumps", off + lasts, state="on", flow=300)]
    if moved:
        made.append(entry("transfer", off + 3, from_="Reserve", to="Settling", volume=moved))
    made += [dips(off + s / 60, Settling=60 + (moved if s >= 180 else 0.0) / INCH,
                  Suction=60 + (before + drained(s) + kick * max(s - from_s, 0.0) / 60) / INCH)
             for s in range(0, int(lasts * 60), every)]
    return made


def running(minute: float, more: float = 0.0) -> Draft:
    """A reading with the pumps on and the lines full again."""
    return dips(minute, Settling=60, Suction=60 + more / INCH)


def accepted(off: float, **other: Any) -> Draft:
    """A person accepts the connection whose pumps stopped at a minute."""
    return entry("connection", off, state="accepted", **other)


def adopted(minute: float, flow: float = 300, **other: Any) -> Draft:
    """A person adopts a band, in force from a minute."""
    return entry("flow-back band", minute, state="adopted", flow=flow, **other)


def three_accepted(**other: Any) -> list[Draft]:
    """Three good connections at 30, 90 and 150 min, accepted, and a band adopted from them at 200 min."""
    made = [d for k in range(3) for d in (*connection(30 + 60 * k, **other), running(55 + 60 * k), accepted(30 + 60 * k))]
    return [*made, adopted(200)]
