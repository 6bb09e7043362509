"""The tables of a report, in the order in which they are read."""

from __future__ import annotations

from collections.abc import Sequence

from dipbook.exchange.writing import write
from dipbook.reports import tables_of_drills as drills
from dipbook.reports import tables_of_events as events
from dipbook.reports import tables_of_volumes as volumes
from dipbook.reports.report import Report
from dipbook.reports.table import Table, Writing, heading_in_file, in_file


def writing(report: Report) -> Writing:
    """How a report's values are written. report: of it."""
    return Writing(report.rig.zone, report.rig.decimal, report.span)


def tables(report: Report, alarm_figures: Sequence[Table] = ()) -> tuple[Table, ...]:
    """Every table of a report. report: of it. alarm_figures: tables of the warnings against published targets, which
    stand after the warnings."""
    by = writing(report)
    found = [volumes.reconciliation(report), volumes.difference(report), volumes.booked(report), volumes.tanks(report),
             events.warnings(report, by), events.changes(report), *alarm_figures, events.connections(report),
             events.trips(report), drills.pit_drills(report), volumes.inventory(report), volumes.materials(report),
             events.readings(report),
             events.imported(report), events.dips(report), events.entries(report), events.corrections(report),
             events.unwatched(report), events.findings(report), events.handover(report)]
    return tuple(found)


def csv_of(table: Table, by: Writing) -> bytes:
    """A table as a CSV file (RFC 4180), every row of it. table; by: how values are written."""
    return write([heading_in_file(c) for c in table.columns],
                 [[in_file(c, value, by) for c, value in zip(table.columns, row.cells, strict=True)]
                  for row in table.rows])
