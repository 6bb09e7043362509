"""Write the report of a span: a PDF, and every table as a CSV file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from dipbook import reports
from dipbook.errors import DipbookError
from dipbook.quantities import UNIT_SETS
from dipbook.reports import Report, Table
from dipbook_app.printing.paper import draw
from dipbook_app.printing.pdf import PAPERS, write_pages
from dipbook_app.printing.report_pages import lay_out

__all__ = ["PAPERS", "units_of", "write_csv", "write_pdf"]


def units_of(unit_set: str) -> dict[str, str]:
    """Dimension -> symbol, over the rig's own, for a set of units. unit_set: a name of UNIT_SETS, "" for the rig's."""
    return {dimension: symbol for dimension, (symbol, _) in UNIT_SETS.get(unit_set, {}).items()}


def write_pdf(report: Report, path: Path, made_ms: int, *, paper: str = "a4", unit_set: str = "",
              alarm_figures: Sequence[Table] = ()) -> int:
    """Write a report to a PDF file, over what was there. Returns the number of pages.

    report: its figures, asked for in the same units. path: of the file. made_ms: now [UTC ms]. paper: a key of PAPERS.
    unit_set: as on the screen. alarm_figures: more tables, after the warnings. Raises DipbookError as write_pages.
    """
    document = lay_out(report, made_ms, paper=paper, unit_set=unit_set, alarm_figures=alarm_figures)
    return write_pages(path, document.title, paper, len(document.pages),
                       lambda painter, n, width, height: draw(painter, document.pages[n]), "report")


def write_csv(report: Report, folder: Path, *, alarm_figures: Sequence[Table] = ()) -> tuple[Path, ...]:
    """Write every table of a report into a folder, one file each, over what was there; made if it isn't there.

    report: its figures. folder. alarm_figures: more tables. Returns the files. Raises DipbookError if one can't be
    written.
    """
    by, written = reports.writing(report), list[Path]()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for table in reports.tables(report, alarm_figures):
            path = folder / f"{table.name}.csv"
            path.write_bytes(reports.csv_of(table, by))
            written.append(path)
    except OSError as error:
        raise DipbookError(f"The tables can't be written to {folder} ({error.strerror or error}). Choose another "
                           "place.") from error
    return tuple(written)
