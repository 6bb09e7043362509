"""What the log says of its limits, for the pages: their history, the approved set, and what differs from it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from dipbook import watch
from dipbook.books import Books
from dipbook.limit_record import (
    BACK_IN_SERVICE,
    OFF_THE_SHELF,
    OUT_OF_SERVICE,
    SHELVED,
    AsideChange,
    Difference,
    LimitsRecord,
    approval,
    approved,
    changes,
    differences,
    history,
    last_handover,
)
from dipbook.records import WARNING, Record
from dipbook.situation import AsideView

HOW = {"SHV": SHELVED, "UNS": OFF_THE_SHELF, "OOS+": OUT_OF_SERVICE, "OOS-": BACK_IN_SERVICE}
"""Event of the journal that sets a limit aside, or takes it up again -> what it does."""


def limits_record(books: Books, now_ms: int, aside: Iterable[AsideView] = ()) -> LimitsRecord:
    """The record of the limits at ``now_ms`` [UTC ms]. books: of the log. aside: limits that are set aside now.

    The limits in force are compared with the approved set at each handover; what differed then and differs still is
    told until the set is approved anew or the limits are as approved again. One that is set aside differs as long as it
    is, also from a set that was approved meanwhile: a set is of limits that watch.
    """
    records = books.eff.records
    entry = approval(records, now_ms)
    handed = None if entry is None else last_handover(records, entry.t_ms, now_ms)
    key = ("limits", f"{None if entry is None else entry.uid} {handed}")
    if key not in books.worked_out:
        books.worked_out[key] = _record(books, entry, handed)
    made: LimitsRecord = replace(books.worked_out[key], aside=_set_aside(books))
    if entry is None:
        return made
    by_name = {x.name: x for x in aside}  # a limit on trips is two in the watch
    found = [(Difference(x.name, x.state, (_words(x),), x.by, x.since_ms, x.why), x.since_ms) for x in by_name.values()]
    return made if not found else replace(
        made, differing=(*made.differing, *(x for x, _ in found)),
        told=(*made.told, *(x for x, since_ms in found if handed is not None and since_ms <= handed)))


def _set_aside(books: Books) -> tuple[AsideChange, ...]:
    """Every time that a limit was set aside or taken up again, from the journal, oldest first."""
    key = ("limits set aside", str(books.records[-1].seq) if books.records else "")
    if key not in books.worked_out:
        found: dict[tuple[int, str, str], AsideChange] = {}  # a limit on trips, or on drift, is two in the watch
        for record in books.records:
            if record.kind == WARNING and record.payload.get("event") in HOW:
                try:
                    tr = watch.from_payload(record.payload)
                except ValueError:
                    continue    # the store says so where a log is opened
                aside = tr.alarm.aside if tr.event in ("SHV", "OOS+") else None
                found.setdefault((tr.learned, tr.name, tr.event), AsideChange(
                    tr.learned, tr.name, HOW[tr.event], tr.by, tr.note or tr.cause,
                    "" if aside is None else aside.instead, None if aside is None else aside.until_ms,
                    aside is not None and aside.once))
        books.worked_out[key] = tuple(sorted(found.values(), key=lambda x: x.at_ms))
    made: tuple[AsideChange, ...] = books.worked_out[key]
    return made


def _words(x: AsideView) -> str:
    return f"Limit {x.name} is {x.state}" + (f"; instead: {x.instead}" if x.instead else "")


def _record(books: Books, entry: Record | None, handed: int | None) -> LimitsRecord:
    stood = history(books.records)
    changed = changes(stood, books.rig)
    if entry is None:
        return LimitsRecord(stood, changed)
    then = approved(entry, stood)
    differing = differences(then, books.rig.limits, books.rig, stood)
    told: tuple[str, ...] = ()
    if handed is not None:
        told = tuple(x.name for x in differences(then, books.rig_at(handed).limits, books.rig, stood))
    return LimitsRecord(stood, changed, then, differing, handed, tuple(x for x in differing if x.name in told))
