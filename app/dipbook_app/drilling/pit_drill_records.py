"""The record of the last pit drill on the rig, to be signed: written beside the rig's log."""

from __future__ import annotations

from datetime import datetime

from dipbook.debrief.pit_drill_record import of_log
from dipbook.exchange.times import zone_info
from dipbook_app.desk import Desk
from dipbook_app.printing.drill_pages import write_csv, write_record

NONE = "No pit drill is marked in this log."
NOT_ENDED = "The pit drill is under way: log its end first (Log, Pit drill ends)."


def write_last(desk: Desk, unit_set: str) -> tuple[str, bool]:
    """Write the record of the last pit drill of a log as a PDF and as a row of a file.

    desk: of the log. unit_set: as on the screen. Returns what is said, and whether it was written. Raises DipbookError
    where a file can't be written.
    """
    books = desk.books_apart().books
    records = of_log(books)
    if not records:
        return NONE, False
    last = records[-1]
    if last.ended_ms is None:
        return NOT_ENDED, False
    at = datetime.fromtimestamp(last.began_ms / 1000, zone_info(books.rig.zone))
    path = desk.store.path.with_name(f"{desk.store.path.stem} pit drill {at:%Y-%m-%d %H-%M}.pdf")
    write_record(last, books.rig, path, unit_set=unit_set)
    write_csv([last], path.with_suffix(".csv"))
    proved = "" if last.proved else " The float isn't proved back yet: make it again when it is."
    return (f"The pit drill's record, to be signed, is in {path}, and as a row in {path.stem}.csv beside it.{proved}",
            True)
