"""Where drills are kept, whether one may begin here, and its log as it begins."""

from __future__ import annotations

import re
import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from random import SystemRandom

from platformdirs import user_data_path

from dipbook import drill_run, practising, store
from dipbook.drill import set_up
from dipbook.drill_folder import LOG, RIG, keep
from dipbook.drill_run import Choice, DrillRun
from dipbook.errors import DipbookError, DrillError
from dipbook.records import RIG as RIG_KIND
from dipbook.rig import document
from dipbook.store import Store
from dipbook.store.beside import atomic_write
from dipbook.store.schema import DRILL
from dipbook_app import demo
from dipbook_app.choosing import path_of
from dipbook_app.cli.drills import DEMO_RIG
from dipbook_app.desk import Desk

STATION = "drill"
LARGEST_SEED = 999_999


def drills_folder() -> Path:
    """Where a person's drills are kept on this computer."""
    return user_data_path("dipbook", appauthor=False) / "drills"


def refused(desk: Desk | None) -> str:
    """Why no drill may begin beside the log that is open, "" where one may. desk: of it, None without a log."""
    if desk is None or desk.store.role == DRILL or desk.situation.records[0].station == demo.STATION:
        return ""
    name = desk.store.path.name
    if desk.on_watch:
        return (f"No drill is begun while {desk.on_watch} is on watch of {name}: its warnings could be taken for the "
                "drill's, or the drill's for the well's. Practise on another computer, or hand over the watch and take "
                "the name off it (Ctrl+W) first.")
    if desk.situation.warnings:
        return (f"No drill is begun while a warning is open in {name}. Answer it and close it first (Warnings, "
                "Shift+F8).")
    return ""


def beside(logs: Sequence[str]) -> str:
    """Why no drill may run on this computer, "" where one may. logs: of the watches that are open here in other
    programs."""
    if not logs:
        return ""
    return (f"No drill is begun: a watch is open in another Dipbook on this computer, {', '.join(logs)}. Its warnings "
            "could be taken for the drill's, or the drill's for the well's. Practise on another computer, or close it "
            "there first.")


def in_window(opened: Store) -> bool:
    """True for the log of a drill that was done in the window, False for one that files were added to. opened: a
    log."""
    return opened.role == DRILL and any(r.station == STATION for r in opened.records(kinds=[RIG_KIND]))


def drawn_seed() -> int:
    """A seed that nobody chose."""
    return SystemRandom().randint(1, LARGEST_SEED)


def begin(choice: Choice, into: Path | None = None) -> tuple[DrillRun, Store]:
    """A drill at its start and its own log, with the rig and the start in it. choice: scenario "" for one that the seed
    draws. into: where drills are kept, None for the person's own folder. Raises DipbookError, and then nothing is kept
    open."""
    rig = path_of(choice.rig) if choice.rig else demo.folder() / DEMO_RIG
    path = practising.find(choice.scenario or _drawn(choice.seed, rig))
    scenario, doc = practising.load(path, rig)
    run = drill_run.begin(replace(choice, scenario=path.stem), scenario, path.read_text(encoding="utf-8-sig"), doc)
    place = _new_folder(drills_folder() if into is None else into)
    atomic_write(place / RIG, run.doc.text)
    opened = store.open(place / LOG, DRILL, station=STATION, created_ms=round(time.time() * 1000))
    try:
        opened.append(run.begun())
        keep(place, run.finished("", round(time.time() * 1000)))
    except BaseException:
        opened.close()
        raise
    return run, opened


def _drawn(seed: int, rig: Path) -> str:
    """One of the scenarios that can run on a rig, drawn by the seed. rig: its file. Raises RigFileError where that
    can't be used, DrillError where none can run on it."""
    document.read(rig)
    able, why = [], ""
    for path in practising.scenarios():
        try:
            scenario, doc = practising.load(path, rig)
            set_up(scenario, seed, doc.rig)
        except DipbookError as error:
            why = why or str(error)
        else:
            able.append(path.stem)
    if not able:
        raise DrillError(f"No drill can run on this rig. The first of them: {why}")
    return drill_run.shuffled(able, seed)


def _new_folder(into: Path) -> Path:
    """A folder that isn't there yet, named by the time: nothing of it tells the scenario."""
    stamp = time.strftime("%Y-%m-%d %H-%M-%S")
    try:
        into.mkdir(parents=True, exist_ok=True)
        taken = {p.name for p in into.iterdir()}
        n, name = 1, f"drill {stamp}"
        while name in taken:
            n += 1
            name = f"drill {stamp} {n}"
        (into / name).mkdir()
    except OSError as error:
        raise DrillError(f"The drill's folder can't be made in {into} ({error.strerror or error}). No drill was "
                         "begun.") from None
    return into / name


def seed_of(text: str) -> int | None:
    """A seed as typed: a whole number, or blank for one that is drawn; None for anything else. text: as typed."""
    if not text.strip():
        return drawn_seed()
    return int(text) if re.fullmatch(r"\s*\d{1,9}\s*", text) else None
