"""What persons said of a gauge: the stick against the sensor, two readings of one dip, foam, a running agitator."""

from __future__ import annotations

from math import isfinite

from dipbook.books import Books
from dipbook.gauges.doubt import Doubt
from dipbook.records import ROUND, TRIP_ROW
from dipbook.rig.model import Rig
from dipbook.tanks.tank import Tank

SEEN = ("foam", "agitator")
"""Flags of a dip that make its level doubtful."""


def said_doubts(books: Books, from_ms: int, to_ms: int, *, errors: float = 2.0) -> tuple[Doubt, ...]:
    """Doubts from what was logged of gauges in a span; each stands until the tank's next check, or its next dip.

    books: of the log. from_ms, to_ms: the span [UTC ms]. errors: two readings differ if half of what they differ is
    more than so many of the tank's dip errors [-] (our choice, no source). Stick and sensor differ beyond the dip
    error, as the entry's own check has it.
    """
    found: list[Doubt] = []
    checks: dict[str, Doubt | None] = {}
    dips: dict[str, Doubt | None] = {}

    def put(open_: dict[str, Doubt | None], tank: str, t: int, doubt: Doubt | None) -> None:
        before = open_.get(tank)
        if before is not None:
            found.append(Doubt(before.kind, tank, before.from_ms, before.known_ms, t, before.value, said=before.said))
        open_[tank] = doubt

    for r in sorted(books.eff.records, key=lambda r: r.t_ms):
        if not from_ms <= r.t_ms <= to_ms:
            continue
        rig = books.rig_at(r.t_ms)
        if r.kind == "stick check":
            tank = str(r.payload.get("tank") or "")
            put(checks, tank, r.t_ms, _of_check(rig, tank, r.t_ms, r.payload.get("difference_m"),
                                                r.payload.get("difference_m3")))
        elif r.kind in (ROUND, TRIP_ROW):
            for dip in r.dips:
                described = _tank(rig, dip.tank)
                if described is None:
                    continue
                doubt = None
                error, half = described.dip_error_m, dip.resolution_m
                if half is not None and error and half > errors * error:
                    level = None if dip.level_m is None else float(described.level_of_dip(dip.level_m))
                    volume = float("nan") if level is None else float(described.slope(level)) * half
                    doubt = Doubt("readings", dip.tank, dip.t_ms, dip.t_ms, None, volume)
                if dip.flag in SEEN:
                    doubt = Doubt("flagged", dip.tank, dip.t_ms, dip.t_ms, None, said=dip.flag)
                put(dips, dip.tank, dip.t_ms, doubt)
    found += [d for open_ in (checks, dips) for d in open_.values() if d is not None]
    return tuple(found)


def _of_check(rig: Rig, tank: str, t_ms: int, apart_m: object, apart_m3: object) -> Doubt | None:
    described = _tank(rig, tank)
    if described is None or not isinstance(apart_m, (int, float)) or not isfinite(apart_m):
        return None
    if described.dip_error_m is None or abs(apart_m) <= described.dip_error_m * (1 + 1e-9):
        return None
    value = float(apart_m3) if isinstance(apart_m3, (int, float)) else float("nan")
    return Doubt("stick", tank, t_ms, t_ms, None, value)


def _tank(rig: Rig, name: str) -> Tank | None:
    try:
        return rig.tank(name)
    except KeyError:
        return None
