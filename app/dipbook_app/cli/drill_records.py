"""``dipbook drill debrief``, ``record`` and ``history``: of drills that are over, without a window."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from dipbook.errors import DipbookError

DONE = 0


def add_commands(what: Any) -> None:
    """Add what can be asked of finished drills. what: argparse's subparsers of ``drill``."""
    debrief = what.add_parser("debrief", help="tell a finished drill over again: what was done, shown and so")
    debrief.add_argument("folder", type=Path, metavar="FOLDER", help="of the drill")
    record = what.add_parser("record", help="write a drill's record, to be signed")
    record.add_argument("folder", type=Path, metavar="FOLDER|LOG.dipbook",
                        help="of the drill; or a rig's log, for a pit drill on the rig")
    record.add_argument("--number", type=int, default=0, metavar="N",
                        help="of the pit drills in the log, counted from the first; the last one by default")
    record.add_argument("--out", type=Path, required=True, metavar="OUT.pdf")
    record.add_argument("--csv", type=Path, metavar="OUT.csv", help="the same as a row of a file")
    record.add_argument("--paper", choices=("a4", "letter"), default="a4", help="a4 by default")
    past = what.add_parser("history", help="the drills of each trainee, by date")
    past.add_argument("folder", type=Path, metavar="FOLDER", help="in which the drills' folders are")
    past.add_argument("--trainee", default="", metavar="NAME", help="of one alone")


def tell(asked: argparse.Namespace) -> int:
    """Tell a drill over again. asked: the parsed arguments. Returns the exit code; raises DipbookError."""
    from dipbook import debriefing
    from dipbook_app import debrief_words as words
    from dipbook_app.display import DisplayUnits

    told, rig = debriefing.of_folder(asked.folder)
    units = DisplayUnits(rig)
    print("DRILL. Invented: no real well.")
    print(words.title(told, units))
    for heading, said in (("What was done", words.procedure(told, units)),
                          ("What could have been seen", words.seeable(told, units)),
                          ("What it was called", (words.naming(told),)),
                          ("Counts", (words.rates_words(told.score.rates, told.window_ms, units),))):
        if said:
            print(f"\n{heading}")
            print("\n".join(said))
    print("\nWhat happened")
    for line in words.lines(told, units):
        print(f"{units.clock(line.t_ms)}  {line.kind:<7}  {line.words}")
    return DONE


def record(asked: argparse.Namespace) -> int:
    """Write a drill's record. asked: the parsed arguments. Returns the exit code; raises DipbookError."""
    try:
        from PySide6.QtWidgets import QApplication

        from dipbook_app import fonts
        from dipbook_app.printing.drill_pages import write_csv, write_record
    except ImportError as error:
        raise DipbookError(f"Qt can't be loaded ({error}). README names what it needs.") from None
    from dipbook import debriefing
    from dipbook.debrief.signed_record import of_debrief
    from dipbook.drill_folder import DRILL, LOG, was_cut

    own = asked.folder.parent if asked.folder.name == LOG and (
        (asked.folder.parent / DRILL).is_file() or was_cut(asked.folder.parent)) else asked.folder
    if own.is_dir() or not own.exists():
        told, rig = debriefing.of_folder(own)
        made = of_debrief(told)
    else:
        found, rig = debriefing.pit_drills_of(asked.folder)
        if not found:
            raise DipbookError(f"No pit drill is marked in {asked.folder}. Nothing was written.")
        if not 0 <= asked.number <= len(found):
            raise DipbookError(f"{asked.folder} has {len(found)} pit drills: --number is 1 to {len(found)}. "
                               "Nothing was written.")
        made = found[asked.number - 1]
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")  # nothing is shown
    app = QApplication.instance()
    app = app if isinstance(app, QApplication) else QApplication(["dipbook"])
    fonts.install(app)
    pages = write_record(made, rig, asked.out, paper=asked.paper)
    print(f"Wrote {asked.out}: {pages} {'page' if pages == 1 else 'pages'}, to be signed.")
    if asked.csv is not None:
        write_csv([made], asked.csv)
        print(f"Wrote {asked.csv}.")
    return DONE


def history(asked: argparse.Namespace) -> int:
    """List the trainees and their drills. asked: the parsed arguments. Returns the exit code; raises DipbookError."""
    from dipbook import debriefing
    from dipbook_app import history_words as words
    from dipbook_app.display import DisplayUnits

    found = debriefing.past(asked.folder)
    wanted = " ".join(asked.trainee.split()).casefold()
    trainees = [t for t in found.trainees if not wanted or t.name.casefold() == wanted]
    if wanted and not trainees:
        known = ", ".join(words.name_of(t) for t in found.trainees) or "nobody"
        raise DipbookError(f"No drill of {asked.trainee} is in {asked.folder}. There are drills of: {known}.")
    units = {path.name: DisplayUnits(rig) for path, _, rig in found.drills}
    for trainee in trainees:
        of_last = units[trainee.drills[-1].folder]
        print(f"{words.name_of(trainee)}: {words.in_all(trainee, of_last)}")
        for done in trainee.drills:
            said = [f"{h.casefold()} {x}" for h, x in zip(words.HEADINGS[3:], words.cells(done, units[done.folder])[3:],
                                                          strict=True) if x]
            when, scenario, procedure = words.cells(done, units[done.folder])[:3]
            print(f"  {when}  {scenario}: {procedure}; {'; '.join(said)}  [{done.folder}]")
    print(words.NOTE if trainees else words.NONE)
    for path, why in found.unread:
        print(f"Not read: {path.name}: {why}")
    return DONE


COMMANDS: Mapping[str, Callable[[argparse.Namespace], int]] = {"debrief": tell, "record": record, "history": history}
