"""The report of a span beside its log: a PDF, and every table in a folder of its own, by one name."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from pathlib import Path

from dipbook.errors import DipbookError
from dipbook.exchange.times import dated
from dipbook.reports import Report, Table
from dipbook_app.printing.write_report import write_csv, write_pdf

SUFFIX, TABLES = ".pdf", "-tables"
_OTHER = re.compile(r"[^0-9A-Za-z]+")


def name_for(log: Path, report: Report) -> str:
    """The name that is offered: of the log, and of the tour or the span. log: its file. report: of it."""
    span, zone = report.span, report.rig.zone
    what = span.tour or "-to-".join(_OTHER.sub("-", dated(t, zone)) for t in (span.from_ms, span.to_ms))
    return f"{log.stem}-{what}{'-as-shown-then' if report.then else ''}{SUFFIX}"


def paths(log: Path, name: str) -> tuple[Path, Path]:
    """The PDF and the folder for the tables. log: its file. name: as typed, with .pdf or without. Raises DipbookError
    for a name that isn't one."""
    name = name.strip()
    if not name or Path(name).name != name or name in (SUFFIX, ".", ".."):
        raise DipbookError("Give the report a name without a folder: it is written beside the log.")
    pdf = log.with_name(name if name.lower().endswith(SUFFIX) else name + SUFFIX)
    return pdf, pdf.with_name(pdf.stem + TABLES)


def there_already(log: Path, name: str) -> tuple[str, ...]:
    """Names of what would be written over. log; name: as of ``paths``."""
    try:
        return tuple(path.name for path in paths(log, name) if path.exists())
    except DipbookError:
        return ()


def write_beside(log: Path, name: str, report: Report, made_ms: int, *, paper: str = "a4",
                 unit_set: str = "", alarm_figures: Sequence[Table] = (), step: Callable[[str], object] = str) -> str:
    """Write both, over what was there. Returns what was done, in words.

    log; name: as of ``paths``. report; made_ms; paper; unit_set; alarm_figures: as of ``write_pdf``. step: called with
    a word on what comes next; what it raises ends the work. Raises DipbookError if one can't be written.
    """
    pdf, folder = paths(log, name)
    step("the pages")
    pages = write_pdf(report, pdf, made_ms, paper=paper, unit_set=unit_set, alarm_figures=alarm_figures)
    step("the tables")
    count = len(write_csv(report, folder, alarm_figures=alarm_figures))
    of = "page" if pages == 1 else "pages"
    return f"Report written beside the log: {pdf.name}, {pages} {of}, and {count} tables in {folder.name}."
