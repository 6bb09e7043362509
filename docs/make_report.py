"""Makes docs/report/: the report of the demo's night, on paper and as files. Never by hand.

    .venv/bin/python docs/make_report.py
"""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "offscreen"

from PySide6.QtWidgets import QApplication

from dipbook import reports, store
from dipbook.books import build
from dipbook.exchange.times import parse
from dipbook_app import demo, fonts
from dipbook_app.printing.write_report import write_csv, write_pdf
from dipbook_app.urgency import RANKS

FOLDER = Path(__file__).parent / "report"
NOW = parse("2026-01-06 06:04-06:00", None)
"""The demo's night then ends at 06:00, as in its files."""


def main() -> None:
    """Write the PDF and the tables."""
    app = QApplication([])
    fonts.install(app)
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        with store.open(demo.make_log(NOW, Path(folder)), write=False, create=False) as log:
            books = build(log.records())
        made = reports.report(books, reports.tour(books.rigs, "2026-01-05N"))
        told = (reports.alarm_figures(books, made.span, RANKS),)
        pages = write_pdf(made, FOLDER / "larkspur-night.pdf", NOW, alarm_figures=told)
        print(f"{pages} pages, {len(write_csv(made, FOLDER / 'tables', alarm_figures=told))} tables in {FOLDER.name}")


if __name__ == "__main__":
    main()
