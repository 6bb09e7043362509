"""What stands in which section of the Review page: every table of the report, each once, as its paper has it."""

from __future__ import annotations

from dipbook import reports
from dipbook.reports import Report, Table
from dipbook_app.display import shown_words
from dipbook_app.printing.report_pages import grid
from dipbook_app.widgets.tables_view import Shown

TREND, BOOKS, WARNED, WORK, STOCK, HANDED = ("Trend", "Reconciliation", "Warnings", "Connections and trips",
                                             "Inventory", "Handover")
SECTIONS = {
    TREND: (),
    BOOKS: ("reconciliation", "difference", "booked", "tanks", "findings"),
    WARNED: ("warnings", "changes", "unwatched", "pit_drills", "alarm_figures"),
    WORK: ("connections", "trips"),
    STOCK: ("inventory", "materials"),
    HANDED: ("handover", "corrections", "entries", "readings", "imported"),
}
"""Section -> names of its tables, in the order in which they are read. Dips stand in the files alone, and at the
trend's cursor."""
OPENS = ("warnings", "connections", "trips")
"""Tables whose lines open a page."""


def shown(report: Report, alarm_figures: tuple[Table, ...], section: str) -> tuple[Shown, ...]:
    """The tables of a section in words. report; alarm_figures: of it. section: a key of SECTIONS."""
    by = reports.writing(report)
    named = {t.name: t for t in reports.tables(report, alarm_figures)}
    found = [(named[name], grid(named[name], by)) for name in SECTIONS[section]]
    return tuple(Shown(t.name, t.title, words, shown_words(t.note), t.none, t.name in OPENS)
                 for t, words in found if words.rows or t.none)
