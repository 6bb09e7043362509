"""The journal of warnings: one line for each change of a warning's state, never altered afterwards."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from dipbook import quantities
from dipbook.alarms.step import AlarmState, Aside, Sample
from dipbook.alarms.table import SET_ASIDE, STATES
from dipbook.cautions import FLOW_CHECK, NOTHING_SUPPRESSED
from dipbook.limits import FALLING, LATCHING, SUSPECT, TOOK_MORE, TRIP_KINDS, Limit

ENGINE = "2"
"""Version of the rules that made a transition; goes up when a rule's outcome changes."""

MINUTE_MS = 60_000
ASIDE_EVENTS = ("SHV", "UNS", "OOS+", "OOS-")
SET_ASIDE_WORDS = tuple(STATES[code] for code in SET_ASIDE)
"""States of a limit that is set aside, as they are shown."""

SI = {"volume": "m3", "level": "m", "duration": "s", "count": "1"}
"""Unit of value and limit by what the value is."""


@dataclass(frozen=True)
class Transition:
    """One change of state of one warning.

    time: when it occurred; learned: when that became known [UTC ms]. name, kind: of the limit. system or tank: what it
    stands on, the other is "". state: raised, acknowledged, over, over_acknowledged, closed,
    or shelved or out of service while its limit is set aside; from_state likewise.
    value: at that time, or None; limit: the limit it stands on, as set; both in ``unit`` (SI), of what ``value_is``
    says.
    text: in plain words and SI; for the crew's units see words(). occurrence: id that links raised … closed.
    event: key of dipbook.alarms.EVENTS, or EDIT for a limit tightened under an open warning. cause: what made it, in
    words. revision: of the limits. by, note: the person who acted. sounds: it starts the sound. seq: of the record that
    made it, 0 if none. worst: worst value of the occurrence so far.
    evidence: t [UTC ms], value, u (SI, None unknown), partial, said and facts (as of a Sample) of the reading it rests
    on; empty if none.
    alarm, basis, seen_t: the limit's memory after it, the limit it stands on, and the last reading taken, for resuming.
    """

    time: int
    learned: int
    name: str
    kind: str
    system: str
    tank: str
    state: str
    value: float | None
    limit: float
    value_is: str
    unit: str
    occurrence: str
    event: str
    from_state: str
    revision: int
    cause: str = ""
    by: str = ""
    note: str = ""
    engine: str = ENGINE
    sounds: bool = False
    seq: int = 0
    worst: float | None = None
    evidence: Mapping[str, Any] = field(default_factory=dict)
    alarm: AlarmState = field(default_factory=AlarmState)
    basis: Limit | None = None
    seen_t: int | None = None
    text: str = ""

    @property
    def held_to(self) -> float:
        """What the reading was held against: the limit, or the part of it that holds at a pace or by the noise (SI)."""
        return self.limit * float((self.evidence.get("facts") or {}).get("part", 1.0))

    def payload(self) -> dict[str, Any]:
        """As plain JSON values, for the record. from_payload() reads it back."""
        made = {name: getattr(self, name) for name in self.__dataclass_fields__}
        made["evidence"] = dict(self.evidence)
        made["alarm"] = asdict(self.alarm)
        made["basis"] = None if self.basis is None else asdict(self.basis)
        return made


def from_payload(payload: Mapping[str, Any]) -> Transition:
    """A transition from its record's payload. payload: as payload() made it; unknown keys are left aside.

    Raises ValueError naming what is missing.
    """
    known = {k: v for k, v in payload.items() if k in Transition.__dataclass_fields__}
    alarm = dict(known.get("alarm") or {})
    basis = known.get("basis")
    try:
        if alarm.get("pending") is not None:
            alarm["pending"] = Sample(**alarm["pending"])
        if alarm.get("aside") is not None:
            alarm["aside"] = Aside(**alarm["aside"])
        known["alarm"] = AlarmState(**{k: v for k, v in alarm.items() if k in AlarmState.__dataclass_fields__})
        known["basis"] = None if basis is None else Limit(
            **{k: v for k, v in basis.items() if k in Limit.__dataclass_fields__})
        return Transition(**known)
    except TypeError as e:
        raise ValueError(f"a warning's record can't be read: {e}") from e


def words(
    transition: Transition, units: Mapping[str, tuple[str, int]] | None = None, decimal: str = "."
) -> str:
    """A transition in plain words: ``Gain 5.4 bbl, limit 5.0 bbl``.

    transition: the transition. units: quantity → (symbol, decimals), as in dipbook.quantities.UNIT_SETS; None for SI.
    decimal: the decimal sign.
    """
    tr = transition

    def write(value: float | None) -> str:
        if tr.value_is == "count":
            return "unknown" if value is None else f"{value:.0f} {'gauge' if round(value) == 1 else 'gauges'}"
        if tr.value_is == "duration":
            symbol, digits = (units or {}).get("duration", ("min", 0))
            return quantities.write(value, symbol, digits=digits, decimal=decimal)
        if tr.value_is == "level":
            if units is None:
                return quantities.write(value, "m", digits=3, decimal=decimal)
            symbol, digits = units["level"]
            return quantities.write_level(
                value, symbol, decimal, digits=None if symbol in ("in", "ft in") else digits)
        symbol, digits = ("m3", 2) if units is None else units["volume"]
        return quantities.write(value, symbol, digits=digits, decimal=decimal)

    subject = _subject(tr) + (":" if tr.kind in TRIP_KINDS and tr.event in ("RTN", "ACK", "RST", "EDIT") else "")
    facts = tr.evidence.get("facts") or {}
    limit = write(tr.held_to)
    turned = -1.0 if tr.kind == "loss" or tr.system in (TOOK_MORE, FALLING) else 1.0
    amount = write(facts["of"] if "of" in facts else None if tr.value is None else turned * tr.value)
    on = f" ({_in_part(tr)})" if tr.evidence.get("partial") else ""
    # What ended by an entry or a zero reads 0 now: what it had been stays in sight.
    had_been = f", had been {write(turned * tr.worst)}" \
        if tr.worst is not None and tr.kind in LATCHING and tr.kind != "drift" else ""
    if tr.kind == "overdue":
        said = {"raised": f"{subject} overdue: none complete for {amount}, limit {limit}" if not tr.tank
                else f"{subject} overdue: not gauged for {amount}, limit {limit}",
                "over": f"{subject} overdue, now gauged"}
    else:
        grown = "grown to " if tr.event == "REA" or (tr.event == "ACT" and tr.from_state == "over_acknowledged") \
            else ""
        by = ", " if tr.kind in TRIP_KINDS else " "
        said = {"raised": f"{subject}{by}{grown}{amount}{_meaning(tr)}, limit {limit}{on}",
                "over": f"{subject} over: {_ended(tr) or f'now {amount}'}{had_been}, limit {limit}"}
    if tr.kind == "flow_back" and tr.state == "raised":
        more = tr.evidence.get("said") or "more than the accepted connections"
        said["raised"] = f"Flowed back {grown}{amount} {more}, limit {limit}{on}: {FLOW_CHECK}"
    if tr.kind == SUSPECT:
        which = f": {tr.evidence['said']}" if tr.evidence.get("said") else ""
        said = {"raised": f"{subject}{which}. {NOTHING_SUPPRESSED}", "over": f"{subject}: none any more"}
    if tr.kind == "drift":
        said |= _of_drift(tr, subject, amount, limit, on, write, decimal)
    if tr.event in ASIDE_EVENTS or tr.state in SET_ASIDE_WORDS:
        return aside_words(tr, subject.removesuffix(":"), said.get("raised" if tr.alarm.active else "over", ""))
    if tr.event == "EDIT":
        return f"{subject}: limit tightened to {limit} while the warning is open"
    if tr.event == "ACK":
        gone = {"over_acknowledged": ", over", "closed": ", over and closed"}.get(tr.state, "")
        return f"{subject} acknowledged{_by(tr)}{gone}" + (f": {tr.note}" if tr.note else "")
    if tr.event == "RST":
        return f"{subject} closed{_by(tr)}" + (f": {tr.note}" if tr.note else "")
    if tr.event == "RTN":
        ending = {"over": ", not acknowledged yet", "over_acknowledged": ", to be closed with a note"}
        return said["over"] + ending.get(tr.state, ", closed")
    if tr.state == "closed":
        return f"{subject} closed: raised again as a new warning"
    return said.get(tr.state, f"{subject} {tr.state}")


def _of_drift(tr: Transition, subject: str, amount: str, limit: str, on: str, write: Callable[[float | None], str],
              decimal: str) -> dict[str, str]:
    """``Rising: 2.4 bbl above the low at 14:32, limit 2.7 bbl, about 0.9 bbl/min``; what is over says what it is now.

    Where what is let pass makes a difference, how much of it counts is said. What it had been isn't: the worst was at
    a pace of its own, held to another part of the limit.
    """
    counts = write((tr.evidence.get("facts") or {}).get("counts"))
    of_it = f", {counts} of it counts" if "facts" in tr.evidence and counts not in (amount, write(None)) else ""
    since = tr.evidence.get("said") or ("below the high" if tr.system == FALLING else "above the low")
    rate = (tr.evidence.get("facts") or {}).get("rate")
    pace = "" if rate is None else f", about {write(rate * 60.0)}/min"
    held = _share(tr, write).replace(".", decimal) if decimal != "." else _share(tr, write)
    grown = "grown to " if tr.event == "REA" or (tr.event == "ACT" and tr.from_state == "over_acknowledged") else ""
    check = "" if tr.system == FALLING else f": {FLOW_CHECK}"
    return {"raised": f"{subject}: {grown}{amount} {since}{of_it}, limit {limit}{held}{pace}{on}{check}",
            "over": f"{subject} over: now {amount} {since}{of_it}, limit {limit}"}


def _share(tr: Transition, write: Callable[[float | None], str]) -> str:
    """What the limit of a pace is of, where that isn't all of the value: slow rises are held to less, quick ones to
    more."""
    facts = tr.evidence.get("facts") or {}
    share = float(facts.get("share", 1.0))
    times = None if tr.basis is None else tr.basis.times_noise
    if times is not None and float(facts.get("part", share)) < share * (1 - 1e-9):
        return f" ({share * times:.3g} times the noise)"
    return "" if share == 1.0 else f" ({share:.2g} of the {write(tr.limit)} set)"


def aside_words(tr: Transition, subject: str, stands: str) -> str:
    """Words of a limit being set aside or taken up again, and of what it would have said meanwhile.

    tr: the transition. subject: what the limit is on. stands: how its condition stands, in words.
    """
    aside = tr.alarm.aside
    if tr.event in ("UNS", "OOS-"):
        off = "off the shelf" if tr.event == "UNS" else "back in service"
        who = f"{_by(tr)}" + (f" ({tr.cause})" if tr.cause else "")
        now = {"raised": f". {stands}", "closed": ""}.get(tr.state, f". {stands}, still to be seen to")
        return f"{subject} {off}{who}" + (f": {tr.note}" if tr.note else "") + now
    if aside is None:
        return f"{subject} {tr.state}"
    if tr.event in ("ACT", "RTN"):
        return f"{stands} ({tr.state} by {aside.by})"
    if tr.event == "SHV":
        ends = 0 if aside.until_ms is None else round((aside.until_ms - tr.time) / MINUTE_MS)
        once = ", or until it has come and gone" if aside.once else ""
        return f"{subject} shelved{_by(tr)} for {ends} min{once}: {aside.why}"
    return f"{subject} out of service{_by(tr)}: {aside.why}. Instead: {aside.instead}"


def _ended(tr: Transition) -> str:
    """That a trip is over, where its sum ended with it."""
    return str(tr.evidence.get("said") or "") if tr.kind in TRIP_KINDS else ""


def _meaning(tr: Transition) -> str:
    """What a sum of a trip's sheet is a sign of."""
    if tr.kind not in TRIP_KINDS:
        return ""
    return ", a sign of losses" if tr.system == TOOK_MORE else ", a sign of swab or influx"


def _subject(tr: Transition) -> str:
    if tr.kind in TRIP_KINDS:
        over = "last stands" if tr.kind == TRIP_KINDS[0] else "in all"
        took = "took more (or gave back less)" if tr.system == TOOK_MORE else "took less (or gave back more)"
        return f"Trip, {over}: the hole {took} than it should"
    if tr.kind == "overdue":
        return f"Dip of {tr.tank}" if tr.tank else "Round"
    if tr.kind == SUSPECT:
        return "Gauge in doubt" + {"active": "", "all surface": " on all surface"}.get(tr.system, f" on {tr.system}"
                                                                                       if tr.system else "")
    if tr.tank:
        return f"{tr.tank} {tr.kind}"
    if tr.kind == "flow_back":
        return "Flow-back"
    if tr.kind == "drift":
        return tr.system.capitalize()
    where = {"active": "", "all surface": " on all surface", "watched": " on the watched system"}
    return tr.kind.capitalize() + where.get(tr.system, f" on {tr.system}")


def _in_part(tr: Transition) -> str:
    """Why only a part of the value is known."""
    if tr.tank:
        return f"or {'more' if tr.kind == 'high' else 'less'}: outside the tank's shape or table"
    if tr.system == "watched":
        return "partial: a tank was not gauged or not read, or the flow line was turned since the zero"
    return "partial: a tank was not gauged or not read"


def _by(tr: Transition) -> str:
    return f" by {tr.by}" if tr.by else ""
