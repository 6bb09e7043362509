"""Adopting a rig file as a correction: which of the log's descriptions it replaces, and with what text."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from dipbook.records import Record
from dipbook.rig.changes import difference_in_words
from dipbook.rig.document import parse, with_limits
from dipbook.rig.model import Rig


def corrected(records: Sequence[Record], text: str) -> tuple[tuple[Record, str], ...]:
    """(record to replace, the text that replaces it), oldest first.

    records: the log's rig records that count, by time, the last one in force. text: the rig file that was always so.
    A change of limits is a rig record too. So the correction reaches back over every record that differs from the one
    in force in its limits alone; each keeps the limits that it had, for nobody watched by others then. The newest takes
    the file as it is.
    Raises RigFileError if a text can't be read, or the limits of then can't stand in the corrected description.
    """
    new = parse(text, "rig").rig
    now = parse(str(records[-1].payload["text"]), "rig").rig
    found = [(records[-1], text)]
    for record in reversed(records[:-1]):
        rig = parse(str(record.payload["text"]), "rig").rig
        if not same_but_for_limits(rig, now):
            break
        tanks = {tank.name for tank in rig.tanks} - {tank.name for tank in new.tanks}
        limits = tuple(limit for limit in rig.limits if limit.on not in tanks)
        found.append((record, with_limits(text, limits)))
    return tuple(reversed(found))


def same_but_for_limits(a: Rig, b: Rig) -> bool:
    """True if rigs ``a`` and ``b`` mean the same, their limits aside."""
    return not difference_in_words(replace(a, limits=()), replace(b, limits=()))
