"""The set of limits that a person approved, and what differs from it: who changed that, when and why."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields
from types import MappingProxyType

from dipbook.entries.kinds import HANDOVER, LIMITS_APPROVED
from dipbook.limit_record.history import WHO_AND_WHY, AsideChange, Change, Stood, differing
from dipbook.limits import Limit
from dipbook.records import Record
from dipbook.rig.model import Rig

MISSING, EXTRA, DIFFERENT = "missing", "extra", "different"
"""How a limit can differ from the approved set: it was withdrawn, nobody approved it, or it is another. One that is set
aside differs by the words of that."""


@dataclass(frozen=True, slots=True)
class Approved:
    """The limits that were approved. t_ms: when [UTC ms]. by: who approved; logged_by: who entered it; note: what
    they said with it. limits: all that were set then, each as it was set: also one that waited until a warning on a
    stricter value of it was closed, and one that was out of service or shelved, which isn't part of the set: it is a
    difference from it for as long as it lasts."""

    t_ms: int
    by: str
    logged_by: str
    note: str
    limits: tuple[Limit, ...]


@dataclass(frozen=True, slots=True)
class Difference:
    """One limit that isn't as it was approved. name: its own. how: MISSING, EXTRA, DIFFERENT, "shelved" or "out of
    service". words: what differs, from approved to now, a sentence each. by, at_ms, reason: of the last change of it
    since, "" and None where the log has none."""

    name: str
    how: str
    words: tuple[str, ...]
    by: str
    at_ms: int | None
    reason: str


@dataclass(frozen=True, slots=True)
class LimitsRecord:
    """What the log says of its limits.

    history: limit's name -> all that it was, oldest first. changes: every change of a limit, oldest first.
    approved: the set in force, None where nobody approved any. differing: what differs from it now. handover_ms: the
    last handover since it was approved [UTC ms], None without one. told: of what differs, what differed at that
    handover already. aside: every time that a limit was set aside or taken up again, oldest first.
    """

    history: Mapping[str, tuple[Stood, ...]] = field(default_factory=lambda: MappingProxyType({}))
    changes: tuple[Change, ...] = ()
    approved: Approved | None = None
    differing: tuple[Difference, ...] = ()
    handover_ms: int | None = None
    told: tuple[Difference, ...] = ()
    aside: tuple[AsideChange, ...] = ()


NO_RECORD = LimitsRecord()


def approval(records: Sequence[Record], at_ms: int) -> Record | None:
    """The last entry by ``at_ms`` [UTC ms] by which limits were approved, None without one. records: those that count,
    by time."""
    return next((r for r in reversed(records) if r.kind == LIMITS_APPROVED and r.t_ms <= at_ms), None)


def approved(entry: Record, stood: Mapping[str, Sequence[Stood]]) -> Approved:
    """What an entry approved: the limits as they were set at its time. entry: of ``approval``. stood: the history."""
    limits = tuple(x.limit for each in stood.values() for x in each
                   if x.from_ms <= entry.t_ms and (x.until_ms is None or entry.t_ms < x.until_ms))
    return Approved(entry.t_ms, str(entry.payload.get("approved_by") or entry.author), entry.author,
                    str(entry.payload.get("remark") or ""), limits)


def last_handover(records: Iterable[Record], since_ms: int, at_ms: int) -> int | None:
    """When the watch was last handed over after ``since_ms`` and by ``at_ms`` [UTC ms], None where it wasn't.

    records: those that count.
    """
    return max((r.t_ms for r in records if r.kind == HANDOVER and since_ms < r.t_ms <= at_ms), default=None)


def differences(then: Approved, limits: Sequence[Limit], rig: Rig,
                stood: Mapping[str, tuple[Stood, ...]]) -> tuple[Difference, ...]:
    """What differs from an approved set, limit by limit: those approved first, in their order, then the new ones.

    then: the set. limits: in force. rig: for the units of the words. stood: the history of the limits. Who set a limit,
    why and since when make no difference; nor does a change that was taken back.
    """
    before, after = {x.name: x for x in then.limits}, {x.name: x for x in limits}
    found: list[Difference] = []
    for name in dict.fromkeys((*before, *after)):
        was, now = before.get(name), after.get(name)
        if was is not None and now is not None and _the_same(was, now):
            continue
        how = MISSING if now is None else EXTRA if was is None else DIFFERENT
        found.append(Difference(name, how, differing(was, now, rig) or (f"Limit {name} is another",),
                                *_who(stood.get(name, ()), then.t_ms)))
    return tuple(found)


def _the_same(a: Limit, b: Limit) -> bool:
    """True if two limits warn of the same; one without a number of its own goes by how it was typed."""
    for each in fields(Limit):
        x, y = getattr(a, each.name), getattr(b, each.name)
        if isinstance(x, float) and isinstance(y, float):
            if not (math.isclose(x, y, rel_tol=1e-9) or (math.isnan(x) and math.isnan(y))):
                return False
        elif each.name not in (*WHO_AND_WHY, "as_typed") and x != y:
            return False
    return not math.isnan(a.value) or a.as_typed == b.as_typed


def _who(stood: Sequence[Stood], since_ms: int) -> tuple[str, int | None, str]:
    """Who changed a limit last since it was approved, when and why."""
    if not stood:
        return "", None, ""
    last = stood[-1]
    if last.until_ms is not None:
        return (last.ended_by, last.until_ms, last.ended_reason) if last.until_ms > since_ms else ("", None, "")
    return (last.by or last.limit.set_by, last.from_ms, last.reason) if last.from_ms > since_ms else ("", None, "")
