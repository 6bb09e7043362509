"""``dipbook sheet``: a blank dip sheet to be filled in by hand, as a PDF. No display is needed."""

from __future__ import annotations

import os
import time
from pathlib import Path

from dipbook.errors import DipbookError

DONE = 0


def sheet(source: Path, to: Path, paper: str, rounds: int) -> int:
    """Write the sheet. source: a log or a rig file; to: the PDF; paper: a4 or letter; rounds: how many it has room for.

    Raises DipbookError if that can't be read or this can't be written.
    """
    try:
        from PySide6.QtWidgets import QApplication

        from dipbook_app import fonts
        from dipbook_app.printing.write_sheet import MOST_ROUNDS, of_drill, read_source, write_sheet
    except ImportError as error:
        raise DipbookError(f"Qt can't be loaded ({error}). README names what it needs.") from None
    if not 1 <= rounds <= MOST_ROUNDS:
        raise DipbookError(f"A dip sheet has room for 1 to {MOST_ROUNDS} rounds. Give --rounds such a number.")
    now_ms = round(time.time() * 1000)
    rig, views = read_source(source, now_ms)
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")  # nothing is shown
    app = QApplication.instance()
    app = app if isinstance(app, QApplication) else QApplication(["dipbook"])
    fonts.install(app)
    pages = write_sheet(rig, views, to, now_ms=now_ms, paper=paper, rounds=rounds, drill=of_drill(source))
    print(f"Wrote {to}: {pages} pages, for {rounds} {'round' if rounds == 1 else 'rounds'}.")
    return DONE
