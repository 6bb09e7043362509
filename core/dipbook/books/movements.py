"""What was moved, as logged: transfers, additions, discards and rates in force, each a ramp between two places."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from dipbook.books.curve import FOREVER_MS, Ramp
from dipbook.findings import Finding
from dipbook.records import Record

OUTSIDE = ""
"""A place that is no tank: where additions come from and discards go."""
RETURNS = "returns"
"""A place that is no tank: wherever the well's returns go at the time."""


@dataclass(frozen=True, slots=True)
class Movement:
    """Mud on the move. term: its line in the books. source, target: a tank, "active", or OUTSIDE.

    ramp: when and how much [m3, positive]. uid: the record. open: still running.
    """

    term: str
    source: str
    target: str
    ramp: Ramp
    uid: str
    open: bool = False


TERM_OF_KIND = {"transfer": "transfers", "addition": "additions", "discard": "discards"}


def movements(records: Sequence[Record]) -> tuple[tuple[Movement, ...], tuple[Finding, ...]]:
    """Movements of ``records`` (effective, by time) and findings on those that can't be booked yet."""
    found: list[Movement] = []
    findings: list[Finding] = []
    for r in records:
        if r.kind in TERM_OF_KIND:
            ramp, still_open = _ramp(r)
            if ramp is None:
                findings.append(Finding(
                    f"The {r.kind} is running and its volume isn't known yet: it isn't booked until it is stopped.",
                    code="running_unbooked", t_ms=r.t_ms))
                continue
            source = str(r.payload.get("from") or OUTSIDE)
            target = str(r.payload.get("to") or OUTSIDE)
            found.append(Movement(TERM_OF_KIND[r.kind], source, target, ramp, r.uid, still_open))
    rates, odd = _rates(r for r in records if r.kind == "rate in force")
    return (*found, *rates), (*findings, *odd)


def _ramp(r: Record) -> tuple[Ramp | None, bool]:
    p = r.payload
    volume, rate, end = p.get("volume_m3"), p.get("rate_m3_s"), p.get("end_ms")
    if volume is None and p.get("mass_kg") is not None:
        volume = p["mass_kg"] / p["density_kg_m3"]
    if end is None and p.get("state") == "running":
        if rate is None:
            return None, True
        return _open_ramp(r.t_ms, rate), True
    if volume is not None:
        if end is None:
            end = r.t_ms + (round(volume / rate * 1000) if rate else 0)
        return Ramp(r.t_ms, int(end), float(volume)), False
    if rate is not None and end is not None:
        return Ramp(r.t_ms, int(end), rate * (end - r.t_ms) / 1000.0), False
    if rate is not None:
        return _open_ramp(r.t_ms, rate), True
    return None, True


def _open_ramp(t_ms: int, rate: float) -> Ramp:
    return Ramp(t_ms, t_ms + FOREVER_MS, rate * FOREVER_MS / 1000.0)


def _rates(records: Iterable[Record]) -> tuple[list[Movement], list[Finding]]:
    """Rates in force. "on" replaces the one with the same places and remark; "off" ends it, or all of the
    same places when it has no remark. Remarks match whatever their case. An "off" that ends nothing is a finding."""
    found: list[Movement] = []
    findings: list[Finding] = []
    on: dict[tuple[str, str, str], Record] = {}

    def close(key: tuple[str, str, str], t_ms: int) -> None:
        r = on.pop(key)
        found.append(Movement("rates", key[0], key[1], Ramp(
            r.t_ms, t_ms, r.payload["rate_m3_s"] * (t_ms - r.t_ms) / 1000.0), r.uid))

    for r in records:
        places = (str(r.payload.get("from") or OUTSIDE), str(r.payload.get("to") or OUTSIDE))
        remark = " ".join(str(r.payload.get("remark") or "").casefold().split())
        if r.payload.get("state") == "off":
            ended = [k for k in on if k[:2] == places and remark in ("", k[2])]
            for key in ended:
                close(key, r.t_ms)
            if not ended:
                findings.append(Finding(
                    "A rate was put off that isn't on: its places and its remark must be the same as when it was put "
                    "on. One that is still on goes on being booked and can hide a kick.", code="rate_off_unknown",
                    t_ms=r.t_ms))
        else:
            if (*places, remark) in on:
                close((*places, remark), r.t_ms)
            on[(*places, remark)] = r
    for key, r in on.items():
        found.append(Movement("rates", key[0], key[1], _open_ramp(r.t_ms, r.payload["rate_m3_s"]), r.uid, True))
    return found, findings


def tank_ramps(moves: Sequence[Movement], tank: str) -> tuple[Ramp, ...]:
    """Everything of ``moves`` that was logged into (+) and out of (−) one ``tank``."""
    out: list[Ramp] = []
    for m in moves:
        if m.target == tank:
            out.append(m.ramp)
        if m.source == tank:
            out.append(Ramp(m.ramp.t0, m.ramp.t1, -m.ramp.volume))
    return tuple(out)
