"""What the log says of its limits, for the pages: their history, the approved set, and what differs from it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from dipbook.books import Books
from dipbook.limit_record import (
    Difference,
    LimitsRecord,
    approval,
    approved,
    changes,
    differences,
    history,
    last_handover,
)
from dipbook.records import Record
from dipbook.situation import AsideView


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
    made: LimitsRecord = books.worked_out[key]
    if entry is None:
        return made
    by_name = {x.name: x for x in aside}  # a limit on trips is two in the watch
    found = [(Difference(x.name, x.state, (_words(x),), x.by, x.since_ms, x.why), x.since_ms) for x in by_name.values()]
    return made if not found else replace(
        made, differing=(*made.differing, *(x for x, _ in found)),
        told=(*made.told, *(x for x, since_ms in found if handed is not None and since_ms <= handed)))


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
