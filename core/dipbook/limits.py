"""A limit that somebody set. There are no others: nothing here has a default value."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from dipbook.trips import LAST_N

KINDS = ("gain", "loss", "drift", "flow_back", "high", "low", "overdue", "trip_last_n", "trip_total", "suspect")
"""What this version watches."""

LATER_KINDS = ("rate",)
"""Known to the rig file's format, not watched by this version: read, kept and reported as not watched."""

TRIP_KINDS = ("trip_last_n", "trip_total")
"""Those that a trip's sheet is held against: the sum over its last rows, and over the trip."""

SUSPECT = "suspect"
"""A gauge in doubt for longer than ``after``. It has no value of its own: one is enough, one more sounds again."""

KIND_WORDS: Mapping[str, str] = MappingProxyType({
    "flow_back": "flow-back", "trip_last_n": f"trip, last {LAST_N} stands", "trip_total": "trip in all",
    SUSPECT: "gauge in doubt"})
"""What the crew reads for a kind whose key in the file isn't a word."""

TOOK_LESS, TOOK_MORE = "took less", "took more"
"""The two sides of a limit on a trip: the hole took less, or more, than it should."""

RISING, FALLING = "rising", "falling"
"""The two sides of a limit on drift: the difference rises above its low, or falls below its high."""

ACTIVITIES = ("drilling", "connection", "circulating", "static", "tripping", "out of hole", "casing", "cementing",
              "displacement", "mixing", "wireline", "well control", "unknown")
"""What the rig may be doing; a limit may apply to one of them or to any."""

LOUD_KINDS = ("gain", "loss", "flow_back", "drift", *TRIP_KINDS)
"""Signs of the well: no shelf and no design rule quietens them."""

NOT_SHELVABLE = (*LOUD_KINDS, "overdue")
"""These are never shelved; their sound alone can be silenced."""

LATCHING = ("gain", "loss", "drift", "flow_back", *TRIP_KINDS)
"""These stay until a person closes them with a note."""


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit in force.

    name: unique in the rig file. kind: one of KINDS or LATER_KINDS.
    on: "active", "all surface", "watched" or a tank's name; of one side of a limit on a trip TOOK_LESS or TOOK_MORE, of
    one on drift RISING or FALLING.
    activity: "any" or one of ACTIVITIES.
    value: gain, loss, drift, flow_back [m3]; high, low: [m] of level above the tank's bottom or [m3], see value_is;
    overdue [s]; suspect: how many gauges, 1.
    value_is: "volume", "level", "duration" or "count".
    deadband: how far back inside before the condition is over, same unit as value.
    growth: further growth after acknowledgement that sounds again, same unit, or None.
    after_readings: consecutive readings beyond before it raises (1 or more), or 0 when after_ms counts.
    after_ms: how long beyond before it raises [ms].
    set_by, reason, since: who set it, why and since when, as written.
    shelve_ms: the longest that somebody lets it be shelved [ms], None where nobody set that: it can't be shelved then.
    as_typed: the value as written. watched: False for kinds that this version doesn't watch. times_noise: of a limit on
    drift that follows from the noise, so many times it, with the value as its ceiling; None where the value is the
    limit.
    """

    name: str
    kind: str
    on: str
    activity: str
    value: float
    value_is: str
    deadband: float
    growth: float | None
    after_readings: int
    after_ms: int
    set_by: str
    reason: str
    since: str
    as_typed: str = ""
    watched: bool = True
    shelve_ms: int | None = None
    times_noise: float | None = None

    @property
    def turned(self) -> int:
        """+1 if more mud on surface is worse, −1 if less is (loss, low, falling, a hole that took more)."""
        return -1 if self.kind in ("loss", "low") or self.on in (TOOK_MORE, FALLING) else 1

    @property
    def latching(self) -> bool:
        """True if only a person ends it."""
        return self.kind in LATCHING


def kind_words(kind: str) -> str:
    """What the crew reads for a kind: ``flow-back``. kind: of KINDS or LATER_KINDS."""
    return KIND_WORDS.get(kind, kind)


def kind_of(words: str) -> str:
    """The kind that words are for, as the file has it; the words themselves where they are for none. words: as read."""
    return next((kind for kind, said in KIND_WORDS.items() if said == words), words)


def noise_words(times: float, ceiling: str, decimal: str) -> str:
    """What a limit that follows from the noise is: ``7.5 × the noise, at most 5 bbl``.

    times: the noise [-]. ceiling: as typed. decimal: the decimal sign.
    """
    return f"{times:g}".replace(".", decimal) + f" × the noise, at most {ceiling}"


def sides(limits: Iterable[Limit]) -> tuple[Limit, ...]:
    """The limits as the watch holds them: one on a trip is two, since a hole that took less and one that took more are
    different warnings; so is one on drift, by whether the difference rises or falls. limits: as set.
    """
    found: list[Limit] = []
    for limit in limits:
        of_kind = (TOOK_LESS, TOOK_MORE) if limit.kind in TRIP_KINDS else (RISING, FALLING) if limit.kind == "drift" \
            else (limit.on,)
        found += [replace(limit, on=side) for side in of_kind]
    return tuple(found)
