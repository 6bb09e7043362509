"""A move whose valve is closed and whose volume nobody knows yet: a remark in the log says so, the entry stays open.

An entry that is done needs its volume; one is never invented. Until it is given, nothing of the move is booked.
"""

from __future__ import annotations

from dipbook.situation import RunningEntry, Situation

NOT_KNOWN = "volume not known yet"


def closed_words(running: RunningEntry) -> str:
    """The remark on a move that has stopped with its volume still to come."""
    return f"{running.kind.capitalize()} {running.label}: stopped, {NOT_KNOWN}"


def closed_ms(running: RunningEntry, situation: Situation) -> int | None:
    """When ``running`` stopped by such a remark, the last one that stands [UTC ms]; None if it goes on."""
    words = closed_words(running)
    for record in reversed(situation.records):
        if record.kind == "remark" and record.uid not in situation.superseded and record.t_ms >= running.since_ms \
                and record.payload.get("remark") == words:
            return record.t_ms
    return None
