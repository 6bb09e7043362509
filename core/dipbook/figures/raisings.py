"""The journal of warnings as what a person heard: each raising with when it was over and acknowledged.

All times are when a thing was learned, which is when it sounded: a reading that came late sounded when it came.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from dipbook.watch import Transition

RAISED, CLOSED = "raised", "closed"
ASIDE = ("shelved", "out of service")
ACT, ACK, RTN, BACK = "ACT", "ACK", "RTN", ("UNS", "OOS-")


@dataclass(slots=True)
class Raised:
    """A warning began to sound: its condition came true.

    limit: its name, with what it is on. kind: of the limit. at_ms: when it was learned [UTC ms]. time_ms: when it
    occurred. over_ms: when it was learned that the condition was over, over_time_ms: when that occurred;
    acknowledged_ms [UTC ms]; None where that didn't happen.
    """

    limit: str
    kind: str
    at_ms: int
    time_ms: int
    over_ms: int | None = None
    over_time_ms: int | None = None
    acknowledged_ms: int | None = None

    @property
    def lasted_ms(self) -> int | None:
        """How long the condition stood [ms], None while it does: the longer of as it occurred and as it was learned."""
        if self.over_ms is None or self.over_time_ms is None:
            return None
        return max(self.over_ms - self.at_ms, self.over_time_ms - self.time_ms)


@dataclass(slots=True)
class Occurrence:
    """One warning from its first raising until it was closed. limit: as in Raised. begun_ms, closed_ms: [UTC ms],
    closed_ms None while it is open. It is shown all that time, acknowledged or not."""

    limit: str
    begun_ms: int
    closed_ms: int | None = None


@dataclass(slots=True)
class SetAside:
    """A time in which a limit was set aside. limit: as in Raised. how: "shelved" or "out of service". begun_ms,
    ended_ms: [UTC ms], ended_ms None while it is."""

    limit: str
    how: str
    begun_ms: int
    ended_ms: int | None = None


def raisings(transitions: Iterable[Transition]) -> tuple[Raised, ...]:
    """Every raising, in the order in which they sounded. transitions: of the journal, in the order of the log.

    A further growth isn't one: it sounds again, see ``resoundings``. What came true while its limit was set aside is
    one when the limit is taken up again and it sounds then for the first time.
    """
    found: list[Raised] = []
    of: dict[tuple[str, str], list[Raised]] = {}
    for tr in transitions:
        mine = of.setdefault((_limit(tr), tr.occurrence), [])
        if _is_raising(tr, bool(mine)):
            mine.append(Raised(_limit(tr), tr.kind, tr.learned, tr.time))
            found.append(mine[-1])
        elif tr.event == RTN:
            for raised in mine:
                if raised.over_ms is None:
                    raised.over_ms, raised.over_time_ms = tr.learned, tr.time
        elif tr.event == ACK:
            for raised in mine:
                if raised.acknowledged_ms is None:
                    raised.acknowledged_ms = tr.learned
    return tuple(sorted(found, key=lambda raised: raised.at_ms))


def _is_raising(tr: Transition, sounded: bool) -> bool:
    """True if a warning begins to sound with this. sounded: it has before."""
    return (tr.event == ACT and tr.state == RAISED) or (tr.event in BACK and tr.sounds and not sounded)


def resoundings(transitions: Iterable[Transition]) -> tuple[int, ...]:
    """When a warning that had sounded sounded again: grown further, or its limit taken up again [UTC ms].

    transitions: as in ``raisings``.
    """
    found: list[int] = []
    heard: set[tuple[str, str]] = set()
    for tr in transitions:
        key = (_limit(tr), tr.occurrence)
        if _is_raising(tr, key in heard):
            heard.add(key)
        elif tr.sounds:
            found.append(tr.learned)
    return tuple(sorted(found))


def occurrences(transitions: Iterable[Transition]) -> tuple[Occurrence, ...]:
    """Every time in which a warning was shown as one, in the order in which they began. transitions: as in
    ``raisings``. While its limit is set aside a warning isn't shown as one."""
    found: list[Occurrence] = []
    shown: dict[tuple[str, str], Occurrence] = {}
    for tr in transitions:
        key = (_limit(tr), tr.occurrence)
        if tr.state == CLOSED or tr.state in ASIDE:
            if key in shown:
                shown.pop(key).closed_ms = tr.learned
        elif key not in shown:
            shown[key] = Occurrence(_limit(tr), tr.learned)
            found.append(shown[key])
    return tuple(found)


def set_aside(transitions: Iterable[Transition]) -> tuple[SetAside, ...]:
    """Every time in which a limit was set aside, in the order in which they began. transitions: as in ``raisings``.

    A limit on trips is two in the watch, of one name: it is set aside once.
    """
    found: list[SetAside] = []
    now: dict[str, SetAside] = {}
    for tr in transitions:
        one = now.get(tr.name)
        if one is not None and tr.state != one.how and (tr.state in ASIDE or tr.event in BACK):
            now.pop(tr.name).ended_ms = tr.learned
            one = None
        if tr.state in ASIDE and one is None:
            now[tr.name] = SetAside(tr.name, tr.state, tr.learned)
            found.append(now[tr.name])
    return tuple(found)


def _limit(tr: Transition) -> str:
    """A limit's name; with what it is on, where one name watches more than one thing."""
    return f"{tr.name} ({tr.tank or tr.system})"
