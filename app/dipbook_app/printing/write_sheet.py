"""Write a blank dip sheet for a rig file or a log, and name the one that lies beside an open log."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from dipbook.invented import is_drill, is_marked
from dipbook.rig.model import Rig
from dipbook.situation import Situation, TankView
from dipbook_app.display import DisplayUnits
from dipbook_app.printing.dip_sheet import PAPERS, write_pdf
from dipbook_app.printing.sheet_content import MOST_ROUNDS, ROUNDS_A_PAGE, dip_sheet

__all__ = ["MOST_ROUNDS", "PAPERS", "ROUNDS_A_PAGE", "read_source", "write_beside", "write_sheet"]


def read_source(path: Path, now_ms: int) -> tuple[Rig, Sequence[TankView]]:
    """The rig of a log or of a rig file, and the tanks as the log has them. now_ms: the time [UTC ms].

    Raises DipbookError if it can't be read or holds no rig. A log is only read, also while it is open elsewhere.
    """
    from dipbook import composing, store
    from dipbook.books import build
    from dipbook.rig import document

    if path.suffix.lower() == ".toml":
        return document.read(path).rig, ()
    with store.open(path, None, write=False, create=False) as log:
        books = build(log.records())
    return books.rig, composing.picture(composing.seen(books), now_ms).tanks


def of_drill(path: Path) -> bool:
    """True if a log, or a rig file, is of a training drill. path: of it. Raises DipbookError if it can't be read."""
    from dipbook import store
    from dipbook.rig import document

    if path.suffix.lower() == ".toml":
        return is_marked(document.read(path).text)
    with store.open(path, None, write=False, create=False) as log:
        return log.role == store.DRILL


def write_sheet(rig: Rig, views: Sequence[TankView], path: Path, *, now_ms: int, paper: str = "a4",
                rounds: int = ROUNDS_A_PAGE, unit_set: str = "", drill: bool = False) -> int:
    """Write a sheet.

    rig, views: as from read_source. path: of the PDF. now_ms: the time [UTC ms]. paper: a key of PAPERS. rounds: how
    many it has room for. unit_set: as on the screen. drill: of a training drill. Returns the number of pages;
    raises as write_pdf.
    """
    sheet = dip_sheet(rig, rounds=rounds, views=views, now_ms=now_ms, unit_set=unit_set, drill=drill)
    return write_pdf(sheet, path, paper)


def write_beside(folder: Path, situation: Situation, unit_set: str) -> Path:
    """Write a sheet for an open log beside it, on A4: a printer fits it on Letter, where nothing is cut.

    folder: of the log. situation: of now. unit_set: as on the screen. Returns the sheet's path, with the time in its
    name so that one that is still shown elsewhere is left alone; raises as write_pdf.
    """
    units = DisplayUnits(situation.rig, unit_set)
    path = folder / f"dip sheet {units.local(situation.now_ms):%Y-%m-%d %H%M}.pdf"
    write_sheet(situation.rig, situation.tanks, path, now_ms=situation.now_ms, unit_set=unit_set,
                drill=is_drill(situation.records))
    return path
