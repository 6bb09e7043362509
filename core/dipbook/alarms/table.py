"""The lifecycle of a warning as data: one table for the step, the buttons and the manual.

Source: the states and events of ANSI/ISA-18.2-2016 and IEC 62682, with the shelving and suppression of OPC UA Part 9.
The rows of the latched states (LUNAK, LACKD) are from memory. What is ours is marked so: the order in which
suppression and out of service win, and that nothing latched ends without a person.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from dipbook.limits import LOUD_KINDS, NOT_SHELVABLE

STAY = "="
"""The event is taken and changes nothing."""
REFUSE = "-"
"""The event can't happen in this state: refused, with words."""
RESUME = "resume"
"""Leaves a shelf, a suppression or out of service; where to depends on the condition, see outcome()."""

STATES: Mapping[str, str] = MappingProxyType({
    "NORM": "closed",
    "UNACK": "raised",
    "ACKED": "acknowledged",
    "RTNUN": "over",
    "LUNAK": "over",
    "LACKD": "over_acknowledged",
    "SHLVD": "shelved",
    "DSUPR": "suppressed by design",
    "OOSRV": "out of service",
})
"""Code of each state to the word it is shown by."""

EVENTS: Mapping[str, str] = MappingProxyType({
    "ACT": "the condition is true, after its delay",
    "RTN": "the condition is over, past the deadband",
    "ACK": "acknowledged by a person",
    "RST": "closed by a person",
    "SHV": "shelved",
    "UNS": "taken off the shelf, or its time is up",
    "SUP+": "suppressed by design",
    "SUP-": "no longer suppressed by design",
    "OOS+": "taken out of service",
    "OOS-": "put back in service",
    "REA": "has grown further, or its time to sound again is up",
})

ROWS: Mapping[str, tuple[str, ...]] = MappingProxyType({
    # state    ACT      RTN      ACK      RST     SHV      UNS      SUP+     SUP-    OOS+     OOS-    REA
    "NORM": ("UNACK", STAY, REFUSE, REFUSE, "SHLVD", REFUSE, "DSUPR", REFUSE, "OOSRV", REFUSE, STAY),
    "UNACK": (STAY, "RTNUN", "ACKED", REFUSE, "SHLVD", REFUSE, "DSUPR", REFUSE, "OOSRV", REFUSE, STAY),
    "ACKED": (STAY, "NORM", REFUSE, REFUSE, "SHLVD", REFUSE, "DSUPR", REFUSE, "OOSRV", REFUSE, "UNACK"),
    "RTNUN": ("UNACK", STAY, "NORM", REFUSE, "SHLVD", REFUSE, "DSUPR", REFUSE, "OOSRV", REFUSE, STAY),
    "LUNAK": ("UNACK", STAY, "LACKD", REFUSE, "SHLVD", REFUSE, "DSUPR", REFUSE, "OOSRV", REFUSE, STAY),
    "LACKD": ("UNACK", STAY, REFUSE, "NORM", "SHLVD", REFUSE, "DSUPR", REFUSE, "OOSRV", REFUSE, "LUNAK"),
    "SHLVD": (STAY, STAY, REFUSE, REFUSE, STAY, RESUME, "DSUPR", REFUSE, "OOSRV", REFUSE, STAY),
    "DSUPR": (STAY, STAY, REFUSE, REFUSE, REFUSE, REFUSE, STAY, RESUME, "OOSRV", REFUSE, STAY),
    "OOSRV": (STAY, STAY, REFUSE, REFUSE, REFUSE, REFUSE, REFUSE, REFUSE, STAY, RESUME, STAY),
})
"""State × event → state, in the order of EVENTS."""

LATCHED: Mapping[tuple[str, str], str] = MappingProxyType({("UNACK", "RTN"): "LUNAK", ("ACKED", "RTN"): "LACKD"})
"""Cells that differ for kinds that latch."""

LATCHED_STATES = ("LUNAK", "LACKD")
SET_ASIDE = ("SHLVD", "DSUPR", "OOSRV")
"""States in which the alarm is kept quiet; the condition is followed all the same."""
CONDITION_STANDS = ("UNACK", "ACKED")
WANTS_ACKNOWLEDGING = ("UNACK", "RTNUN", "LUNAK")
"""States that sound until a person acknowledges."""

NOT_SUPPRESSIBLE = LOUD_KINDS
"""Kinds that no design rule may quieten, nor out of service while their warning is open (ours)."""

ACTIONS: Mapping[str, str] = MappingProxyType({
    "ACK": "acknowledge", "RST": "close", "SHV": "shelve", "UNS": "unshelve", "OOS+": "out of service",
    "OOS-": "back in service"})
"""What a person may do in this version, by event."""
ON_THE_WARNING = ("ACK", "RST")
"""Of these, what is done to the warning; the rest sets its limit aside, or takes it up again."""


def cell(state: str, event: str, latching: bool) -> str:
    """What the table says: a state, STAY, REFUSE or RESUME.

    state: key of STATES. event: key of EVENTS. latching: True for kinds that only a person ends. Raises KeyError for a
    state or event that there isn't.
    """
    row = dict(zip(EVENTS, ROWS[state], strict=True))
    return LATCHED.get((state, event), row[event]) if latching else row[event]


def outcome(
    state: str, event: str, latching: bool, *, kind: str = "", active: bool = False, is_open: bool = False,
    acknowledged: bool = False, one_shot: bool = False,
) -> str | None:
    """The state after an event, or None if the event is refused.

    state, event, latching: as for cell(). kind: kind of the limit, for what may not be quietened. active: the condition
    is true now. is_open: an occurrence stands, set aside or not. acknowledged: that occurrence was acknowledged.
    one_shot: on a shelf that ends when the condition does.
    """
    if (event == "SHV" and kind in NOT_SHELVABLE) or (event == "SUP+" and kind in NOT_SUPPRESSIBLE):
        return None
    if event == "OOS+" and kind in NOT_SUPPRESSIBLE and is_open:
        return None  # ours: a sign of the well is seen to before its limit may be taken out of service
    to = cell(state, event, latching)
    if one_shot and (state, event) == ("SHLVD", "RTN"):
        to, active = RESUME, False
    if to == REFUSE:
        return None
    if to == STAY:
        return state
    if to != RESUME:
        return to
    if active:
        return "UNACK"
    if latching and is_open:
        # Ours: what was never acknowledged isn't lost by having been set aside, and what latches ends by a person only.
        return "LACKD" if acknowledged else "LUNAK"
    return "NORM"


def allowed(state: str, latching: bool, *, kind: str = "", is_open: bool = True, shelvable: bool = False,
            ) -> tuple[str, ...]:
    """What a person may do now, words of ACTIONS: the strip's keys and the manual follow from it.

    state, latching, kind, is_open: as for outcome(). shelvable: somebody set how long the limit may be shelved. A limit
    that is shelved can be taken out of service; once more on the shelf is a longer time, not another action.
    """
    if state in LATCHED_STATES and not latching:
        return ()
    shelf = shelvable and state != "SHLVD"
    return tuple(word for event, word in ACTIONS.items()
                 if outcome(state, event, latching, kind=kind, is_open=is_open) is not None
                 and (event != "SHV" or shelf) and (event != "OOS+" or state != "OOSRV"))


def code_of(word: str, latching: bool) -> str:
    """The code of a state shown by ``word`` (a value of STATES). latching: as for cell(). Raises ValueError."""
    for code, shown in STATES.items():
        if shown == word and (code != "RTNUN" or not latching) and (code not in LATCHED_STATES or latching):
            return code
    raise ValueError(f"no state of a warning is called {word!r}")


def as_rows(latching: bool) -> tuple[tuple[str, ...], ...]:
    """The table for the manual: a heading row, then one row a state. latching: as for cell()."""
    states = [s for s in STATES if latching or s not in LATCHED_STATES]
    return (("state", *EVENTS), *((s, *(cell(s, e, latching) for e in EVENTS)) for s in states))
