"""What a span of a log comes to, as plain data: ``report`` works it out, ``tables`` lays it out for screen, paper,
file."""

from dipbook.reports.alarm_figures import alarm_figures, counted, number
from dipbook.reports.handover import HandoverView, Standing, handover_view
from dipbook.reports.overview import Overview, overview
from dipbook.reports.report import Report, report, shown_then
from dipbook.reports.spans import TOUR_FORM, Span, between, said, tour, tour_at
from dipbook.reports.stretches import SECTION, TRIP, Stretch, numbered, stretches
from dipbook.reports.table import Column, Row, Table, Writing, heading_in_file, in_file, on_paper
from dipbook.reports.tables import csv_of, tables, writing

__all__ = ["SECTION", "TOUR_FORM", "TRIP", "Column", "HandoverView", "Overview", "Report", "Row", "Span", "Standing",
           "Stretch", "Table", "Writing", "alarm_figures", "between", "counted", "csv_of", "handover_view",
           "heading_in_file", "in_file", "number", "numbered", "on_paper", "overview", "report", "said", "shown_then",
           "stretches", "tables", "tour", "tour_at", "writing"]
