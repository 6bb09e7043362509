"""Mini-constructors for trips in a log, in the crew's units; see ledgers. Everything here is invented.

Pipe 0.00759 and 0.01776 bbl/ft (steel, bore), stands of 93 ft: 0.70587 bbl dry, 2.35755 wet. The trip tank is a box of 30 x 8 ft,
3.5620 bbl an inch.
"""

from __future__ import annotations

from typing import Any

from dipbook.records import TRIP_ROW, Dip, Draft
from ledgers import BBL, FT, IN, MIN, RIG, dips, entry

STAND_FT = 93.0
INCH = 30 * 8 / 12 / 5.614583333   # bbl an inch
DRY, CLOSED = STAND_FT * 0.00759, STAND_FT * (0.00759 + 0.01776)


def begins(minute: float, way: str = "out", bit: float = 9000.0, **fields: Any) -> Draft:
    how = {"out": {"pulled": "dry"}, "in": {"float": "closed"}}[way]
    return entry("trip", minute, direction=way, bit=bit, **{"tank": "Trip", **how, **fields})


def row(minute: float, what: str = "stand", bit: float | None = None, stand: int | None = None, strokes: float | None = None,
        uid: str = "", supersedes: str | None = None, source: str | None = None, volume: float | None = None, **inches: float) -> Draft:
    t = round(minute * MIN)
    payload = {"what": what, "stand": stand, "bit_depth_m": None if bit is None else bit * FT, "strokes": strokes}
    if source:
        payload |= {"from": source, "to": next(iter(inches), "")}
    if volume:
        payload["volume_m3"] = volume * BBL
    return Draft(TRIP_ROW, t, t, author="Test", payload=payload, uid=uid, supersedes=supersedes, reason="why" if supersedes else "",
                 dips=tuple(Dip(tank, t, f"{x} in", x * IN) for tank, x in inches.items()))


def start(**other: float) -> tuple[Draft, ...]:
    return (dips(0, **{"Settling": 60, "Suction": 60, "Reserve": 40, "Trip": 90, **other}), entry("zero", 0, length=0.0),
            entry("depth", 0, hole=9000, bit=9000), entry("pumps", 0, state="off"))


def pulled(stands: int, taken: float, *, each: float = 5.0, way: str = "out", minute: float = 10.0, at: float = 90.0) -> list[Draft]:
    """A reading, then so many stands, each taking so many bbl from the trip tank."""
    step = -STAND_FT if way == "out" else STAND_FT
    begin = 9000.0 if way == "out" else 0.0
    return [row(minute, "fill", Trip=at), *(row(minute + n * each, bit=begin + n * step, stand=n, Trip=at - n * taken / INCH)
                                            for n in range(1, stands + 1))]


LIMITS = RIG + "".join(f"""
[[limit]]
name = "{name}"
kind = "{kind}"
on = "active"
activity = "tripping"
value = "{value} bbl"
deadband = "0.5 bbl"
growth = "1 bbl"
after = "1 reading"
set_by = "crew"
reason = "test"
since = "2026-01-01"
""" for name, kind, value in (("last stands", "trip_last_n", 1.2), ("whole trip", "trip_total", 2.5)))
"""The ledgers' rig with a limit on the last stands, 1.2 bbl, and one on the whole trip, 2.5 bbl."""
