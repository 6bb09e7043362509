"""Drills in which the program was cut off, by a power cut or a crash: found at the next start, written as drills that
are over, and offered to be gone through."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from dipbook import debriefing
from dipbook.drill_folder import LOG, settle_cut, was_cut
from dipbook.errors import DipbookError
from dipbook.exchange.times import clock
from dipbook.rig import document


@dataclass(frozen=True, slots=True)
class Cut:
    """What was found. folder: of the newest that can be gone through, None where none can. words: what is to be said of
    all of them, "" where none was found."""

    folder: Path | None = None
    words: str = ""


def find(drills: Path) -> Cut:
    """The drills that were cut off since the last start. drills: the folder in which theirs are.

    One that is under way in another program is left alone. Each is found once: it is a drill that is over afterwards,
    except where that can't be written.
    """
    folder: Path | None = None
    said: list[str] = []
    try:
        there = sorted(p for p in drills.iterdir() if was_cut(p) and (p / LOG).is_file())
    except OSError:
        return Cut()        # none was begun here yet
    for path in there:
        if debriefing.is_under_way(path):
            continue
        try:
            done = settle_cut(path)
            at = clock(done.ended_ms, document.parse(done.rig_text, "rig").rig.zone)
            said.append(f"The program was cut off in a training drill, {path.name}. What there is of it, up to {at} by "
                        "its clock, can be gone through: Drill page (Shift+F9).")
            folder = path
        except DipbookError as error:
            said.append(f"The program was cut off in a training drill, {path.name}, which can't be gone through: "
                        f"{error}")
    return Cut(folder, " ".join(said))
