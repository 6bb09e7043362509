"""Adopting a rig file as a correction: which of the log's descriptions it replaces, and with what text."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from dipbook.records import RIG, Record
from dipbook.rig.changes import difference_in_words
from dipbook.rig.document import parse, with_limits
from dipbook.rig.model import Rig

IN_OWN_WORDS = ("remark", "observer", "by")
"""Keys of an entry under which a person writes what they like: a tank's name there names none."""


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


def tanks_gone(rig: Rig, text: str) -> tuple[str, ...]:
    """Names of tanks of a rig that a text has no more. rig: in force; text: of a rig file. Raises RigFileError."""
    left = {tank.name for tank in parse(text, "rig").rig.tanks}
    return tuple(tank.name for tank in rig.tanks if tank.name not in left)


def naming(tanks: Sequence[str], records: Iterable[Record], start_ms: int) -> tuple[int, int]:
    """How many readings are of some tanks, and how many other records name one. tanks: their names. records: those
    that count; start_ms: from when on [UTC ms]."""
    names, readings, entries = set(tanks), 0, 0
    for record in records:
        if record.kind == RIG or record.t_ms < start_ms:
            continue
        of_tanks = sum(dip.tank in names for dip in record.dips)
        sampled = sum(len(block.t_ms) for block in record.blocks
                      if any(block.channel.startswith(f"tank:{name}:") for name in names))
        readings += of_tanks + sampled
        entries += not of_tanks and not sampled and _names_one(record.payload, names)
    return readings, entries


def _names_one(value: Any, names: set[str]) -> bool:
    if isinstance(value, str):
        return value in names
    if isinstance(value, Mapping):
        return any(key in names or (key not in IN_OWN_WORDS and _names_one(each, names)) for key, each in value.items())
    return isinstance(value, (list, tuple)) and any(_names_one(each, names) for each in value)


def same_but_for_limits(a: Rig, b: Rig) -> bool:
    """True if rigs ``a`` and ``b`` mean the same, their limits aside."""
    return not difference_in_words(replace(a, limits=()), replace(b, limits=()))
