"""What files hold, in words, before anything of them is added."""

from __future__ import annotations

from collections.abc import Sequence

from dipbook.importing import Count, Importable
from dipbook.records import SAMPLES, Record
from dipbook_app.display import DisplayUnits

NAMES_SHOWN = 6


def count_words(count: Count, units: DisplayUnits) -> str:
    """One file: how much, of what, when in the rig's time, and what of it is new. units: the crew's."""
    known = count.items - count.new
    if count.what == "readings":
        head = f"{count.name}: {_many(count.rows, 'row')}, {_many(len(count.tanks), 'tank')} ({_listed(count.tanks)})"
        things = f"{_many(count.items, 'dip')}: {count.new - count.differing} new, {known} in the log already"
        things += f", {count.differing} with another value than the log's" if count.differing else ""
    else:
        kinds = ", ".join(f"{n} {label.lower()}" for label, n in (count.kinds or {}).items())
        head = f"{count.name}: {_many(count.items, 'entry', 'entries')}{f' ({kinds})' if kinds else ''}"
        things = f"{count.new} new, {count.items - count.new} in the log already"
    return f"{head}{_span(count, units)}. {things}."


def added_words(files: Importable, records: Sequence[Record]) -> str:
    """What came into the log: dips and entries. files: as they were looked at; records: what was added of them."""
    dips = sum(count.new for count in files.counts if count.what == "readings")
    entries = sum(record.kind != SAMPLES for record in records)
    said = [_many(dips, "dip")] if dips and len(records) > entries else []
    said += [_many(entries, "entry", "entries")] if entries else []
    return f"Added: {' and '.join(said)}." if said else "Added: the file; the log had all its dips already."


def findings_words(files: Importable) -> str:
    """How many findings, and what follows from them."""
    wrong = sum(f.severity == "error" for f in files.findings)
    if wrong:
        if files.other is not None and not files.other.ready and files.other.refused is None:
            return "Say what is asked of the columns; nothing can be added before."
        rest = (f" Or leave out {_many(files.could_leave_out, 'row')} with Ctrl+G and add the others."
                if files.could_leave_out else "")
        return f"{_many(wrong, 'problem')}: nothing can be added. Correct what the list says, then look again.{rest}"
    return ""


def _span(count: Count, units: DisplayUnits) -> str:
    if count.first_ms is None or count.last_ms is None:
        return ""
    first, last = (f"{units.date(t)} {units.time(t)}" for t in (count.first_ms, count.last_ms))
    if first == last:
        return f", {first} rig time"
    if units.date(count.first_ms) == units.date(count.last_ms):
        last = units.time(count.last_ms)
    return f", {first} to {last} rig time"


def _many(count: int, one: str, more: str = "") -> str:
    return f"{count} {one if count == 1 else more or f'{one}s'}"


def _listed(names: tuple[str, ...]) -> str:
    shown = ", ".join(names[:NAMES_SHOWN])
    return f"{shown} and {len(names) - NAMES_SHOWN} more" if len(names) > NAMES_SHOWN else shown
