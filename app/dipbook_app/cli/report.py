"""``dipbook report``: the report of a tour or any span of a log, as a PDF and as CSV files. No display is needed."""

from __future__ import annotations

import os
import time
from pathlib import Path

from dipbook.errors import DipbookError, QuantityError

DONE = 0


def report(log: Path, to: Path, *, tour: str = "", from_: str = "", until: str = "", paper: str = "a4",
           csv: Path | None = None, then: bool = False, trip: int | None = None, section: int | None = None) -> int:
    """Write a report. log: of which; only read, also while it is open elsewhere. to: the PDF. tour: ``2026-03-14D``, or
    from_ and until: times of the rig's, or trip or section: which of the log's, from 1. paper: a4 or letter. csv: a
    folder for the tables, None for none. then: as the log stood when the span ended.

    Raises DipbookError if that can't be read, or this can't be written.
    """
    try:
        from PySide6.QtWidgets import QApplication

        from dipbook_app import fonts, urgency
        from dipbook_app.printing.write_report import write_csv, write_pdf
    except ImportError as error:
        raise DipbookError(f"Qt can't be loaded ({error}). README names what it needs.") from None
    from dipbook import reports, store
    from dipbook.books import Books
    from dipbook.exchange.times import parse
    from dipbook_app import log_books

    given = (bool(tour), bool(from_ or until), trip is not None, section is not None)
    if sum(given) != 1 or bool(from_) != bool(until):
        raise DipbookError(f"Give --tour, like {reports.TOUR_FORM}, or both --from and --to, or --trip or --section.")
    if to.suffix.lower() != ".pdf":
        raise DipbookError(f"{to.name} isn't the name of a PDF. Give the report a name that ends in .pdf.")

    def asked(books: Books) -> reports.Span:
        zone, newest = books.rig.zone, max(r.learned_ms for r in books.records)
        if trip is not None:
            return reports.numbered(books, reports.TRIP, trip, newest)
        if section is not None:
            return reports.numbered(books, reports.SECTION, section, newest)
        return reports.tour(books.rigs, tour) if tour else reports.between(parse(from_, zone), parse(until, zone))

    try:
        with store.open(log, None, write=False, create=False) as opened:
            (books, span), drill = log_books.over(opened, asked), opened.role == store.DRILL
    except QuantityError as error:
        raise DipbookError(f"{error} Nothing was written.") from None
    made = reports.report(books, span, then=then, drill=drill)
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")  # nothing is shown
    app = QApplication.instance()
    app = app if isinstance(app, QApplication) else QApplication(["dipbook"])
    fonts.install(app)
    told = (reports.alarm_figures(books, span, urgency.RANKS),)
    pages = write_pdf(made, to, round(time.time() * 1000), paper=paper, alarm_figures=told)
    if drill:
        print("DRILL: a training drill, not the well. Every page says so.")
    print(f"Wrote {to}: {pages} {'page' if pages == 1 else 'pages'}, {reports.said(span, books.rig.zone)}.")
    if csv is not None:
        print(f"Wrote {len(write_csv(made, csv, alarm_figures=told))} tables into {csv}.")
    return DONE

