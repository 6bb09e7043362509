"""What was moved, as logged: each transfer, addition, discard, pill or rate in force a ramp between two places.

A slug and a pill go down the well from a tank, and as much comes back with the returns over the same time; what a slug
lifts out besides while it falls is the bore's (``dipbook.terms.bore``). Salt brings the volume that dissolving it
takes, a sand trap dumped loses what its sticks say, a boat brings or takes what the rig's own dips say.
"""

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
    """Mud on the move. term: its line in the books. source, target: a tank, "active", OUTSIDE, or RETURNS.

    ramp: when and how much [m3, positive]. uid: the record. open: still running.
    """

    term: str
    source: str
    target: str
    ramp: Ramp
    uid: str
    open: bool = False


TERM_OF_KIND = {"transfer": "transfers", "addition": "additions", "discard": "discards", "slug": "pills",
                "pill": "pills", "salt": "additions", "trap dump": "discards", "boat": "additions"}
DOWN_THE_WELL = ("slug", "pill")
BY_VOLUME = ("slug", "pill", "salt", "trap dump", "boat")
"""Kinds whose amount is a volume, typed or worked out when they were entered: they have no rate and no state."""


def movements(records: Sequence[Record]) -> tuple[tuple[Movement, ...], tuple[Finding, ...]]:
    """Movements of ``records`` (effective, by time) and findings on those that can't be booked yet."""
    found: list[Movement] = []
    findings: list[Finding] = []
    for r in records:
        if r.kind in TERM_OF_KIND:
            ramp, still_open = _ramp(r)
            if ramp is None:
                findings.append(_unbooked(r))
                continue
            source = str(r.payload.get("from") or OUTSIDE)
            target = RETURNS if r.kind in DOWN_THE_WELL else str(r.payload.get("to") or OUTSIDE)
            term = "discards" if r.kind == "boat" and target == OUTSIDE else TERM_OF_KIND[r.kind]
            found.append(Movement(term, source, target, ramp, r.uid, still_open))
    rates, odd = _rates(r for r in records if r.kind == "rate in force")
    return (*found, *rates), (*findings, *odd)


def _unbooked(r: Record) -> Finding:
    if r.kind in BY_VOLUME:
        return Finding(f"The volume of the {r.kind} isn't known: it isn't booked. Correct the entry.",
                       code="volume_unknown", t_ms=r.t_ms)
    return Finding(f"The {r.kind} has no volume yet: it isn't booked until its volume is logged.",
                   code="running_unbooked", t_ms=r.t_ms)


def _ramp(r: Record) -> tuple[Ramp | None, bool]:
    p = r.payload
    volume, rate, end = p.get("volume_m3"), p.get("rate_m3_s"), p.get("end_ms")
    if r.kind in BY_VOLUME:
        return (None if volume is None else Ramp(r.t_ms, r.t_ms if end is None else int(end), float(volume))), False
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


Rate = tuple[str, str, str, str]
"""What tells a rate in force from another: its source, its target, what it is, its remark."""


def _rates(records: Iterable[Record]) -> tuple[list[Movement], list[Finding]]:
    """Rates in force. "on" replaces the one of the same places, of the same sort and with the same remark; "off" ends
    all of the same places that agree with the sort and the remark that it gives. Remarks match whatever their case. An
    "off" that ends nothing is a finding."""
    found: list[Movement] = []
    findings: list[Finding] = []
    on: dict[Rate, Record] = {}

    def close(key: Rate, t_ms: int) -> None:
        r = on.pop(key)
        found.append(Movement("rates", key[0], key[1], Ramp(
            r.t_ms, t_ms, r.payload["rate_m3_s"] * (t_ms - r.t_ms) / 1000.0), r.uid))

    for r in records:
        key = _rate(r)
        if r.payload.get("state") == "off":
            ended = [k for k in on if k[:2] == key[:2] and key[2] in ("", k[2]) and key[3] in ("", k[3])]
            for each in ended:
                close(each, r.t_ms)
            if not ended:
                findings.append(Finding(
                    "A rate was put off that isn't on: its places, what it is and its remark must be the same as when "
                    "it was put on. One that is still on goes on being booked and can hide a kick.",
                    code="rate_off_unknown", t_ms=r.t_ms))
        else:
            if key in on:
                close(key, r.t_ms)
            on[key] = r
    for key, r in on.items():
        found.append(Movement("rates", key[0], key[1], _open_ramp(r.t_ms, r.payload["rate_m3_s"]), r.uid, True))
    return found, findings


def _rate(r: Record) -> Rate:
    p = r.payload
    return (str(p.get("from") or OUTSIDE), str(p.get("to") or OUTSIDE), str(p.get("what") or ""),
            " ".join(str(p.get("remark") or "").casefold().split()))


def tank_ramps(moves: Sequence[Movement], tank: str) -> tuple[Ramp, ...]:
    """Everything of ``moves`` that was logged into (+) and out of (−) one ``tank``."""
    out: list[Ramp] = []
    for m in moves:
        if m.target == tank:
            out.append(m.ramp)
        if m.source == tank:
            out.append(Ramp(m.ramp.t0, m.ramp.t1, -m.ramp.volume))
    return tuple(out)
