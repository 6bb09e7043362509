"""What happens to the watch: something is learned, time passes, a person acts, limits change."""

from __future__ import annotations

from dataclasses import dataclass

from dipbook.limits import Limit
from dipbook.watch.evidence import Evidence


@dataclass(frozen=True, slots=True)
class Learned:
    """Readings became known, or were looked at again after an entry or a correction.

    seq: of the record [-]. learned_ms: when [UTC ms]. evidence: the readings, also those the record changed.
    replay: each reading is learned at its own time (headless). batch: an import of the past: at most one occurrence a
    limit. cause: what changed, in words, for the journal. struck_from_ms: readings at or after this time that aren't in
    the evidence no longer stand (a struck round) [UTC ms], or None.
    """

    seq: int
    learned_ms: int
    evidence: Evidence
    replay: bool = False
    batch: bool = False
    cause: str = ""
    struck_from_ms: int | None = None


@dataclass(frozen=True, slots=True)
class Advance:
    """Time has passed, and everything learned up to and including ``to_ms`` has been told. to_ms: now [UTC ms]."""

    to_ms: int


@dataclass(frozen=True, slots=True)
class Act:
    """A person acts. action: "acknowledge", "close" (needs a note), "silence" (the sound, 30 s), "shelve", "unshelve",
    "out of service" or "back in service".

    occurrence: id of the warning ("" for silence, and for what is done to a limit). by: who. note: for the journal;
    why. at_ms: when [UTC ms]. seq: of the record, 0 if none [-]. limit: name of the limit that is set aside or taken up
    again. until_ms: when a shelf ends [UTC ms]; None: the longest that was set, with ``once``. once: it also ends with
    the condition. instead: what is watched in place of a limit out of service.
    """

    action: str
    occurrence: str = ""
    by: str = ""
    note: str = ""
    at_ms: int = 0
    seq: int = 0
    limit: str = ""
    until_ms: int | None = None
    once: bool = False
    instead: str = ""


@dataclass(frozen=True, slots=True)
class LimitsChanged:
    """The limits in force were set. seq: of the record [-]. at_ms: when [UTC ms]. limits: all of them.

    revision: number of this set of limits [-]. by: who set them.
    """

    seq: int
    at_ms: int
    limits: tuple[Limit, ...]
    revision: int
    by: str = ""


@dataclass(frozen=True, slots=True)
class Unwatched:
    """Nobody and nothing watched. from_ms, to_ms: the gap [UTC ms]; to_ms None: from now on, until WatchedAgain."""

    from_ms: int
    to_ms: int | None = None


@dataclass(frozen=True, slots=True)
class WatchedAgain:
    """The watch goes on. at_ms: from when [UTC ms]."""

    at_ms: int


@dataclass(frozen=True, slots=True)
class Doing:
    """What the rig does now was logged, and no reading has been taken since.

    seq: of the record [-]. at_ms: when it was learned; since_ms: since when the rig does it [UTC ms]. activity: one of
    dipbook.limits.ACTIVITIES. Its limits count from at_ms on, on the last known values; those of the activity before it
    go on until the next reading. An entry for a time before the last reading comes as Learned, with its readings.
    """

    seq: int
    at_ms: int
    activity: str
    since_ms: int


Event = Learned | Advance | Act | LimitsChanged | Unwatched | WatchedAgain | Doing
