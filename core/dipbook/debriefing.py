"""A drill's folder to its debrief: one that somebody did in the window, or one that nobody watched."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from dipbook import checking, store
from dipbook.drill.debrief import About, Debrief, debrief
from dipbook.drill.history import Trainee, history
from dipbook.drill.record import Act, Truth
from dipbook.drill.scenario import Scenario, drawn
from dipbook.drill.scenario_file import read as read_scenario
from dipbook.drill.score import Target, target_of
from dipbook.errors import DipbookError, DrillError, QuantityError
from dipbook.exchange import tables, times
from dipbook.rig import document
from dipbook.rig.model import Rig

READINGS, ENTRIES, RIG_FILE, TRUTH = "readings.csv", "entries.csv", "rig.toml", "truth.csv"
ACTS, SCENARIO, DRILL, LOGS = "acts.csv", "scenario.toml", "drill.toml", "*.dipbook"
NUMBERS = ("influx_m3", "loss_m3", "returned_m3", "in_hole_m3")
OUT = "came_out_m3"
"""Truths of before this column was written haven't got it."""


def of_folder(folder: Path) -> tuple[Debrief, Rig]:
    """A drill's debrief, and the rig that it ran on.

    folder: of a drill that somebody did, with its log, or of files that ``dipbook drill run`` wrote. Raises
    DipbookError, in words, for what can't be read.
    """
    if not folder.is_dir():
        raise DrillError(f"There is no folder {folder}. Name the folder of a drill.")
    rig = document.read(folder / RIG_FILE).rig
    logs = sorted(folder.glob(LOGS))
    return (of_log(folder, logs[0], rig) if logs else of_files(folder)), rig


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
    """Every drill that somebody did in the folders of a folder; one that can't be read is said, and hides none of the
    others. Runs that nobody watched are no drill of anybody, and are left out.

    folder: of drills. Raises DrillError where it isn't there.
    """
    if not folder.is_dir():
        raise DrillError(f"There is no folder {folder}. Name the folder in which the drills are.")
    found: list[tuple[Path, Debrief, Rig]] = []
    unread: list[tuple[Path, str]] = []
    for path in sorted(p for p in folder.iterdir() if p.is_dir() and (p / TRUTH).is_file() and any(p.glob(LOGS))):
        try:
            told, rig = of_folder(path)
        except (DipbookError, ValueError) as error:
            unread.append((path, str(error)))
        else:
            found.append((path, told, rig))
    return Past(tuple(found), tuple(unread))


def of_log(folder: Path, log: Path, rig: Rig) -> Debrief:
    """The debrief of a drill that somebody did. folder: of it. log: its log, which is only read. rig: that it ran on.
    Raises DipbookError, in words, for what can't be read."""
    truths = read_truth(folder / TRUTH)
    acts = read_acts(folder / ACTS) if (folder / ACTS).is_file() else ()
    said = _said(folder / DRILL)
    with store.open(log, "drill", write=False, create=False) as opened:
        records = opened.records()
    seed = said.get("seed") if isinstance(said.get("seed"), int) else None
    scenario = _scenario(folder / SCENARIO, rig, seed)
    about = _about(folder, said, scenario, seed, rig, truths, acts)
    return debrief(records, truths, acts, about, target=Target() if scenario is None else target_of(scenario),
                   events=() if scenario is None else tuple(e.kind for e in scenario.events))


def of_files(folder: Path) -> Debrief:
    """The debrief of the files that ``dipbook drill run`` wrote: nobody watched, so nobody did anything.

    folder: with rig.toml, readings.csv, entries.csv and truth.csv. The watch is run over them as ``dipbook check``
    does. Raises RigFileError, ImportFileError or DrillError, in words, for what can't be read.
    """
    truths = read_truth(folder / TRUTH)
    entries = folder / ENTRIES
    checked = checking.check(folder / RIG_FILE, folder / READINGS, entries if entries.is_file() else None)
    about = _about(folder, {}, None, None, checked.rig, truths, ())
    return debrief(checked.books.records, truths, (), about, warned=checked.warnings, in_time=True)


def read_truth(path: Path) -> tuple[Truth, ...]:
    """What was so, from a drill's truth.csv, by time. path: of it. Raises DrillError, in words, where it can't be
    read."""
    table = _table(path, (*NUMBERS, "event"))
    at = {name: table.header.index(name) for name in ("time", *NUMBERS, "event")}
    found: list[Truth] = []
    for line, row in zip(table.lines, table.rows, strict=True):
        try:
            influx, loss, returned, room = (float(row[at[name]]) for name in NUMBERS)
            out = float(row[table.header.index(OUT)]) if OUT in table.header else 0.0
            t = times.parse(row[at["time"]], None)
        except (ValueError, QuantityError) as error:
            raise DrillError(f"{path.name}, line {line}: can't be read ({error}).") from error
        found.append(Truth(t, influx, loss, returned, room, row[at["event"]], out))
    if not found:
        raise DrillError(f"{path.name}: holds nothing.")
    return tuple(sorted(found, key=lambda t: t.t_ms))


def read_acts(path: Path) -> tuple[Act, ...]:
    """What the trainee did, from a drill's acts.csv, by time. path: of it. Raises DrillError, in words, where it can't
    be read."""
    table = _table(path, ("act", "text"))
    at = {name: table.header.index(name) for name in ("time", "act", "text")}
    found: list[Act] = []
    for line, row in zip(table.lines, table.rows, strict=True):
        try:
            found.append(Act(times.parse(row[at["time"]], None), row[at["act"]], row[at["text"]]))
        except QuantityError as error:
            raise DrillError(f"{path.name}, line {line}: can't be read ({error}).") from error
    return tuple(sorted(found, key=lambda a: a.t_ms))


def ident_of(path: Path) -> str:
    """A drill's id: the first twelve figures of the SHA-256 of a file of it. path: of the file."""
    return hashlib.sha256(path.read_bytes()).hexdigest()[:12]


def _table(path: Path, needed: Sequence[str]) -> tables.Table:
    try:
        data = path.read_bytes()
    except OSError as error:
        raise DrillError(f"{path}: can't be opened ({error.strerror or error}). The folder of a drill holds "
                         f"it.") from error
    table = tables.read(data, path.name)
    wrong = [f"{f.where}: {f.what}" if f.where else f"{path.name}: {f.what}" for f in table.findings
             if f.severity == "error"]
    missing = sorted({*needed} - {*table.header})
    if missing and not wrong:
        wrong = [f"{path.name}: isn't of a drill: it has no column {', '.join(missing)}"]
    if wrong:
        raise DrillError("\n".join(wrong))
    return table


def _said(path: Path) -> Mapping[str, Any]:
    """What was written of a drill when it was done; nothing where there is no such file."""
    if not path.is_file():
        return {}
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise DrillError(f"{path.name}: can't be read ({error}).") from error


def _scenario(path: Path, rig: Rig, seed: int | None) -> Scenario | None:
    if not path.is_file():
        return None
    read = read_scenario(path, rig)
    return read if seed is None else drawn(read, seed)


def _about(folder: Path, said: Mapping[str, Any], scenario: Scenario | None, seed: int | None, rig: Rig,
           truths: Sequence[Truth], acts: Sequence[Act]) -> About:
    began = truths[0].t_ms
    ended = max(truths[-1].t_ms, *(a.t_ms for a in acts), began)
    done = _moment(said.get("began"))
    words = {key: str(said.get(key) or "") for key in ("scenario", "trainee", "instructor", "mode")}
    name = scenario.name if scenario is not None else words["scenario"] or folder.name
    return About(ident_of(folder / TRUTH), name, words["scenario"], "" if scenario is None else scenario.trains, seed,
                 words["trainee"], words["instructor"], words["mode"], began, ended, done, rig.name)


def _moment(value: object) -> int | None:
    """A time as it may stand in TOML [UTC ms]."""
    if isinstance(value, datetime) and value.tzinfo is not None:
        return round(value.timestamp() * 1000)
    if isinstance(value, int):
        return value
    try:
        return times.parse(value, None) if isinstance(value, str) else None
    except QuantityError:
        return None
