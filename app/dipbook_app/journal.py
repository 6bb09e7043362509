"""The drafts that no form writes: warnings' transitions, hours in which nobody watched, a change of the rig."""

from __future__ import annotations

import math
from collections.abc import Mapping

from dipbook import watch
from dipbook.checking import units_of
from dipbook.exchange.times import offset_min
from dipbook.records import UNWATCHED, WARNING, Draft
from dipbook.rig import document
from dipbook.rig.changes import difference_in_words
from dipbook.rig.model import Rig


def warning_draft(t: watch.Transition, rig: Rig) -> Draft:
    """A transition for the log, its words in the rig's units. rig: in force."""
    payload = {**t.payload(), "text": watch.words(t, units_of(rig), rig.decimal)}
    return Draft(WARNING, t.time, t.learned, author=t.by, payload={k: _storable(v) for k, v in payload.items()},
                 offset_min=offset_min(t.time, rig.zone))


def gap_draft(from_ms: int, to_ms: int, cause: str, *, learned_ms: int, rig: Rig) -> Draft:
    """That nobody watched from_ms … to_ms, learned at learned_ms [UTC ms]. cause: in words."""
    return Draft(UNWATCHED, from_ms, learned_ms, payload={"from_ms": from_ms, "to_ms": to_ms, "cause": cause},
                 offset_min=offset_min(from_ms, rig.zone))


def rig_payload(before: str, text: str, effective: str) -> dict[str, object]:
    """Payload of a rig record. before: the description that ``text`` takes the place of."""
    new, old = document.parse(text, "rig"), document.parse(before, "rig")
    return {"text": text, "digest": new.digest, "effective": effective,
            "changes": list(difference_in_words(old.rig, new.rig))}


def _storable(value: object) -> object:
    """A value with None for what is no number: no log holds NaN, and no warning may be lost for one."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {k: _storable(v) for k, v in value.items()}
    return value
