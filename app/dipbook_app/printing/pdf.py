"""Pages onto paper: a PDF of A4 or Letter on its side, all in tenths of a millimetre, lines and letters alone."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QMarginsF, QSizeF
from PySide6.QtGui import QFont, QPageLayout, QPageSize, QPainter, QPdfWriter

from dipbook.errors import DipbookError
from dipbook_app.theme import FAMILY

PAPERS = {"a4": QPageSize.PageSizeId.A4, "letter": QPageSize.PageSizeId.Letter}
MM = 10.0
"""Everything is drawn in tenths of a millimetre."""
MARGIN = 10 * MM
DPI = 600
INCH = 254.0
TEXT, SMALL, HEAD = 30, 26, 44
"""Heights of letters [0.1 mm]."""
THIN, THICK = 1.5, 4.0
"""Widths of lines [0.1 mm]."""

Draw = Callable[[QPainter, int, float, float], None]
"""Draws a page: painter scaled to tenths of a millimetre, number of the page from 0, width and height [0.1 mm]."""


def write_pages(path: Path, title: str, paper: str, count: int, draw: Draw, what: str) -> int:
    """Write pages to a PDF file, over what was there. Returns their number.

    path: of the file. title: of the document. paper: a key of PAPERS. count: of pages; draw: one of them. what: is
    written, in words ("dip sheet"). Raises DipbookError if it can't be written there, or if the name doesn't end in
    .pdf.
    """
    if path.suffix.lower() != ".pdf":
        raise DipbookError(f"{path.name} isn't the name of a PDF. Give the {what} a name that ends in .pdf.")
    try:
        path.open("ab").close()
    except OSError as error:
        raise DipbookError(f"The {what} can't be written to {path} ({error.strerror or error}). Choose another "
                           "place.") from error
    writer = QPdfWriter(str(path))
    writer.setPageLayout(QPageLayout(QPageSize(PAPERS[paper]), QPageLayout.Orientation.Landscape, QMarginsF()))
    writer.setResolution(DPI)
    writer.setTitle(title)
    writer.setCreator("Dipbook")
    painter = QPainter()
    if not painter.begin(writer):
        raise DipbookError(f"The {what} can't be written to {path}. Choose another place.")
    width, height = writer.width() * INCH / DPI, writer.height() * INCH / DPI
    painter.scale(DPI / INCH, DPI / INCH)
    for number in range(count):
        if number:
            writer.newPage()
        draw(painter, number, width, height)
    if not painter.end():
        raise DipbookError(f"The {what} could not be finished in {path}. Is there room on the disk?")
    return count


def size_of(paper: str) -> QSizeF:
    """Width and height of a paper on its side [0.1 mm]. paper: a key of PAPERS."""
    size = QPageSize(PAPERS[paper]).size(QPageSize.Unit.Millimeter)
    return QSizeF(size.height() * MM, size.width() * MM)


def letters(pixels: int, *, bold: bool = False) -> QFont:
    """The font of what is printed. pixels: height [0.1 mm]."""
    font = QFont(FAMILY)
    font.setPixelSize(pixels)
    font.setBold(bold)
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    return font
