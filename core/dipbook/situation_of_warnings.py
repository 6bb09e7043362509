"""What is told of warnings when somebody asks: the story of one that is open, and the map of what is watched.

Asked for by a page that is before somebody's eyes, and worked out then: never part of each Situation. All quantities
SI; ``None`` means unknown and is shown as unknown.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from dipbook.limits import Limit
from dipbook.situation import HintView

WATCHED, IN_PART, NOT_TOLD, ASIDE, NOT_NOW, NOT_BY_US, NOBODY = (
    "watched", "watched in part", "can't be told now", "set aside", "not now", "not by this version",
    "nobody set one")
"""How a limit stands now: it is held against what is read; only a part of that is known, so that it may warn and end
nothing; its value isn't known or isn't told; a person set it aside; set, and not in force in what the rig does; of a
kind that isn't watched; there is none. In the order in which one is told of several."""

RAISED, WORST, GREW, ACKNOWLEDGED, OVER = "raised", "worst", "grew", "acknowledged", "over"
"""What is marked on a warning's series."""


@dataclass(frozen=True, slots=True)
class WatchedLimit:
    """One limit on the map. limit: as it counts now. state: of WATCHED … NOT_BY_US. why: in words, "" where there is
    nothing to say. t_ms: when what ``why`` speaks of was or will be [UTC ms], None without a time. warns: state of its
    warning while that is open, "" else."""

    limit: Limit
    state: str
    why: str = ""
    t_ms: int | None = None
    warns: str = ""


@dataclass(frozen=True, slots=True)
class WatchedCell:
    """One kind of limit on one thing. kind: of dipbook.limits.KINDS. on: a system, a tank or a side of a trip.
    possible: False where limits of this kind can't be on it. limits: those that are set, what counts most first."""

    kind: str
    on: str
    possible: bool = True
    limits: tuple[WatchedLimit, ...] = ()

    @property
    def state(self) -> str:
        """How it stands: of the first limit, NOBODY without one."""
        return self.limits[0].state if self.limits else NOBODY


@dataclass(frozen=True, slots=True)
class WatchedRow:
    """One thing that can be watched, with a cell for each kind of its group. on: as of its cells. now: what it is now
    ("Reserve 1", of the watched system), "" where it is always the same."""

    on: str
    cells: tuple[WatchedCell, ...]
    now: str = ""


@dataclass(frozen=True, slots=True)
class WatchedGroup:
    """Things of one sort. name: "systems", "rounds", "trips" or "tanks". kinds: of limits, one a cell. rows."""

    name: str
    kinds: tuple[str, ...]
    rows: tuple[WatchedRow, ...]


@dataclass(frozen=True, slots=True)
class WatchedMap:
    """What is watched, and what nobody watches. groups: see WatchedGroup. others: limits in the rig file that have no
    place in them, with why nothing watches them."""

    groups: tuple[WatchedGroup, ...]
    others: tuple[WatchedLimit, ...] = ()


@dataclass(frozen=True, slots=True)
class Told:
    """A reading that a warning rests on. t_ms [UTC ms], None where it rests on no reading; value; u: k=1, None unknown;
    partial: only known in part; said: what it was held against, in words. All SI, value with the books' sign. facts:
    figures that belong to it, as of dipbook.alarms.Sample: of a limit on drift the volume that is told."""

    t_ms: int | None
    value: float | None
    u: float | None = None
    partial: bool = False
    said: str = ""
    facts: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class SeriesMark:
    """Something on a warning's series. what: of RAISED … OVER. t_ms [UTC ms]; value: SI, None where it isn't known."""

    what: str
    t_ms: int
    value: float | None


@dataclass(frozen=True, slots=True)
class WarningSeries:
    """What the watch held against the limit, one row a reading. t_ms int64, rising or equal; value float64, NaN where
    it wasn't known or wasn't watched; partial bool. steps: (from when [UTC ms], the limit with the values' sign), the
    last in force now. marks: by time. from_ms: the first time that is drawn; to_ms: the last. cut: it goes back
    further than is drawn. of_limit: values and steps are shares of what holds by then, ±1 at the limit: where a pace
    and the noise say how much of it holds, no scale of volumes has the warning where the curve meets the line."""

    t_ms: Any
    value: Any
    partial: Any
    steps: tuple[tuple[int, float], ...]
    marks: tuple[SeriesMark, ...]
    from_ms: int
    to_ms: int
    cut: bool = False
    of_limit: bool = False


@dataclass(frozen=True, slots=True)
class OtherChannel:
    """What something else says at its last reading.

    name: "active", "all surface", "watched", "flow_back", a side of drift, or a kind of limit on trips. t_ms [UTC ms];
    value [m3] with the books' sign; u: k=1, None unknown; partial. same: it can't be told apart from the warning's own
    value; None where they aren't of one sort, or their uncertainty isn't known. said: since what, in words, "" where
    that goes without saying.
    """

    name: str
    t_ms: int
    value: float
    u: float | None
    partial: bool
    same: bool | None
    said: str = ""


@dataclass(frozen=True, slots=True)
class OtherWarning:
    """Another warning that was open at some time while this one was. occurrence, name, kind, on. raised_ms [UTC ms].
    state: now, "closed" where it is."""

    occurrence: str
    name: str
    kind: str
    on: str
    raised_ms: int
    state: str


@dataclass(frozen=True, slots=True)
class Doubt:
    """That what the warning rests on may be wrong. on: the tank, "" for the difference. text: in words. t_ms: since
    when [UTC ms], or None. read_m3, would_be_m3: the warning's value as read, and what it would be in truth if mud
    spreads over the active tanks by their areas [m3, the books' sign]; None where that isn't to be told."""

    on: str
    text: str
    t_ms: int | None = None
    read_m3: float | None = None
    would_be_m3: float | None = None


@dataclass(frozen=True, slots=True)
class Done:
    """One transition of the warning. t_ms: when it occurred; learned_ms: when that became known [UTC ms]. event: key of
    dipbook.alarms.EVENTS, or EDIT. state: after it. value: SI, None unknown; of: the volume that is told in its place,
    without sign [m3], None where it is the value. by, note, cause: in words, "" for none.
    after_ms: since the raise became known [ms]. stored: it stands in the log; what has only just happened may not yet.
    """

    t_ms: int
    learned_ms: int
    event: str
    state: str
    value: float | None
    by: str = ""
    note: str = ""
    cause: str = ""
    after_ms: int = 0
    stored: bool = True
    of: float | None = None


@dataclass(frozen=True, slots=True)
class WarningStory:
    """All that is known of one open warning.

    occurrence. limit: that it stands on; limit_since_ms: since when that counts [UTC ms], None for always; waits: the
    limit as set meanwhile, which counts once it is closed, None where it is the same; withdrawn: the limit was taken
    away, the warning stays. finer: the limit is finer than the reading can tell. at_raise, now: what it rested and
    rests on, None where nothing was read. series: against time, None where there is none. hints: guesses that belong to
    it. channels, warnings: what others said. doubts. done: by when it was learned.
    """

    occurrence: str
    limit: Limit
    limit_since_ms: int | None
    waits: Limit | None
    withdrawn: bool
    finer: bool
    at_raise: Told | None
    now: Told | None
    series: WarningSeries | None
    hints: tuple[HintView, ...]
    channels: tuple[OtherChannel, ...]
    warnings: tuple[OtherWarning, ...]
    doubts: tuple[Doubt, ...]
    done: tuple[Done, ...]
