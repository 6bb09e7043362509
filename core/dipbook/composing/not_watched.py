"""What nothing watches, in words. No limit has a value that nobody set; then the screen says so."""

from __future__ import annotations

from dipbook import watch
from dipbook.limits import TRIP_KINDS, Limit, kind_words
from dipbook.rig.model import Rig
from dipbook.situation import AsideView

ON_THE_SYSTEM = ("active", "watched", "all surface")


def applies(limit: Limit, activity: str) -> bool:
    """True if ``limit`` is in force in ``activity``; unknown takes every limit, so the strictest counts."""
    return limit.watched and watch.applies(limit, activity)


def in_force(rig: Rig, kind: str, activity: str) -> tuple[Limit, ...]:
    """The limits of ``kind`` on the active system that apply in ``activity``. rig: with its limits."""
    return tuple(x for x in rig.limits if x.kind == kind and x.on in ("active", "watched") and applies(x, activity))


def strictest(rig: Rig, kind: str, activity: str) -> Limit | None:
    """The tightest limit of ``kind`` ("gain", "loss") on the active system in ``activity``, None if nobody set one.

    rig: with its limits.
    """
    return min(in_force(rig, kind, activity), key=lambda x: x.value, default=None)


def out_of_service(aside: tuple[AsideView, ...]) -> tuple[str, ...]:
    """Sentences on limits that sound no warning since a person took them out of service. aside: as set aside."""
    return tuple(f"{x.name} is out of service ({x.by}: {x.why}). Instead: {x.instead}" for x in aside
                 if x.until_ms is None)


def not_watched(rig: Rig, activity: str) -> tuple[str, ...]:
    """Sentences on what no limit watches now. rig: with its limits; activity: what the rig is doing."""
    if not rig.limits:
        return ("No limits are set: nothing is being watched",)
    words: list[str] = []
    for kind in ("gain", "loss"):
        if not any(x.kind == kind and x.on in ON_THE_SYSTEM and applies(x, activity) for x in rig.limits):
            words.append(f"no {kind} limit in force" + (f" while {activity}" if activity != "unknown" else ""))
    if not any(x.kind == "overdue" and applies(x, activity) for x in rig.limits):
        words.append("no limit on overdue rounds")
    if activity in ("tripping", "casing") and not any(x.kind in TRIP_KINDS and x.watched for x in rig.limits):
        words.append("no limit on trips")
    words.extend(f"limit “{x.name}” ({kind_words(x.kind)}) is not watched by this version"
                 for x in rig.limits if not x.watched)
    return tuple(words)
