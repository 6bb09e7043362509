"""A drill's folder to its debrief: one that somebody did in the window, or one that nobody watched."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from dipbook import checking, store
from dipbook.books import build
from dipbook.debrief.history import Trainee, history
from dipbook.debrief.pit_drill_record import of_log
from dipbook.debrief.signed_record import DrillRecord
from dipbook.debrief.told import About, Debrief, debrief
from dipbook.drill.scenario import Scenario, drawn
from dipbook.drill.scenario_file import parse as parse_scenario
from dipbook.drill.score import Target, target_of
from dipbook.drill_folder import DRILL, LOG, TRUTH, UNDER_WAY, FinishedDrill, read_drill, read_truths, was_cut
from dipbook.drill_folder import RIG as RIG_FILE
from dipbook.errors import DipbookError, DrillError, StoreBusyError
from dipbook.rig import document
from dipbook.rig.model import Rig

READINGS, ENTRIES = "readings.csv", "entries.csv"


def of_folder(folder: Path) -> tuple[Debrief, Rig]:
    """A drill's debrief, and the rig that it ran on.

    folder: of a drill that somebody did, with its log, or of files that ``dipbook drill run`` wrote. Raises
    DipbookError, in words, for what can't be read.
    """
    if not folder.is_dir():
        raise DrillError(f"There is no folder {folder}. Name the folder of a drill.")
    if (folder / DRILL).is_file() or (folder / LOG).is_file():
        if was_cut(folder) and is_under_way(folder):
            raise DrillError(f"The drill in {folder} is under way, in this Dipbook or another: end it first.")
        return of_drill(folder, read_drill(folder))
    return of_files(folder), document.read(folder / RIG_FILE).rig


def of_drill(folder: Path, done: FinishedDrill) -> tuple[Debrief, Rig]:
    """The debrief of a drill that somebody did, and the rig that it ran on.

    folder: of it, with its log, which is only read. done: as it was finished. Raises DipbookError, in words, for what
    can't be read.
    """
    rig = document.parse(done.rig_text, RIG_FILE).rig
    with store.open(folder / LOG, "drill", write=False, create=False) as opened:
        records = opened.records()
    if done.cut:        # readings that came after truth and acts were kept last
        records = tuple(r for r in records if r.learned_ms <= done.ended_ms)
    scenario = _scenario(done, rig)
    kept_in = folder / (UNDER_WAY if was_cut(folder) else DRILL)
    about = About(ident_of(kept_in), done.name, done.scenario, done.trains, done.seed, done.trainee, done.instructor,
                  done.mode, done.began_ms, done.ended_ms, done.done_ms, rig.name, done.sealed, done.ended_by, done.cut)
    try:
        return debrief(records, done.truths, done.acts, about, target=Target() if scenario is None else
                       target_of(scenario), events=done.events), rig
    except ValueError as error:
        raise DrillError(f"The log of the drill in {folder} can't be read by this version: {error}.") from error


def is_under_way(folder: Path) -> bool:
    """True if the log of a drill is open for writing in any program. folder: of the drill."""
    try:
        store.open(folder / LOG, "drill", create=False).close()
    except StoreBusyError:
        return True
    except DipbookError:
        return False
    return False


def of_files(folder: Path) -> Debrief:
    """The debrief of the files that ``dipbook drill run`` wrote: nobody watched, so nobody did anything.

    folder: with rig.toml, readings.csv, entries.csv and truth.csv. The watch is run over them as ``dipbook check``
    does. Raises RigFileError, ImportFileError or DrillError, in words, for what can't be read.
    """
    truths = read_truths(folder / TRUTH)
    if not truths:
        raise DrillError(f"{folder / TRUTH}: holds nothing.")
    entries = folder / ENTRIES
    checked = checking.check(folder / RIG_FILE, folder / READINGS, entries if entries.is_file() else None)
    about = About(ident_of(folder / TRUTH), folder.name, "", "", None, "", "", "", truths[0].t_ms, truths[-1].t_ms,
                  None, checked.rig.name)
    return debrief(checked.books.records, truths, (), about, warned=checked.warnings, in_time=True)


def pit_drills_of(log: Path) -> tuple[tuple[DrillRecord, ...], Rig]:
    """The records of the pit drills in a rig's log, by when they began, and its rig.

    log: its file, which is only read, also while it is open elsewhere. Raises DipbookError, in words, where it can't be
    read.
    """
    with store.open(log, write=False, create=False) as opened:
        books = build(opened.records())
    return of_log(books), books.rig


@dataclass(frozen=True)
class Past:
    """The drills of a folder. drills: (its folder, told over again, the rig that it ran on). unread: (folder, why it
    can't be read)."""

    drills: tuple[tuple[Path, Debrief, Rig], ...]
    unread: tuple[tuple[Path, str], ...]

    @property
    def trainees(self) -> tuple[Trainee, ...]:
        """By name, each with their drills by date."""
        return history([(path.name, told) for path, told, _ in self.drills])


def past(folder: Path) -> Past:
    """Every drill that somebody did in the folders of a folder, also one that was cut off; one that can't be read is
    said, and hides none of the others. Runs that nobody watched are left out.

    folder: of drills. Raises DrillError where it isn't there.
    """
    if not folder.is_dir():
        raise DrillError(f"There is no folder {folder}. Name the folder in which the drills are.")
    found: list[tuple[Path, Debrief, Rig]] = []
    unread: list[tuple[Path, str]] = []
    for path in sorted(p for p in folder.iterdir() if (p / DRILL).is_file() or (p / LOG).is_file()):
        try:
            told, rig = of_folder(path)
        except DipbookError as error:
            unread.append((path, str(error)))
        else:
            found.append((path, told, rig))
    return Past(tuple(found), tuple(unread))


def ident_of(path: Path) -> str:
    """A drill's id: the first twelve figures of the SHA-256 of a file of it. path: of the file."""
    return hashlib.sha256(path.read_bytes()).hexdigest()[:12]


def _scenario(done: FinishedDrill, rig: Rig) -> Scenario | None:
    """The scenario as the seed drew it; None where this version can't read it any more."""
    scenario = parse_scenario(done.scenario_text, done.scenario, rig).scenario
    return None if scenario is None else drawn(scenario, done.seed)
