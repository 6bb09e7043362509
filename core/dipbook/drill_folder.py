"""A finished drill as a folder of plain files: written when it ends, read for its debrief.

``log.dipbook`` is the log that the trainee kept, of role drill; ``rig.toml`` the rig that it ran on; ``scenario.toml``
the scenario as its file was; ``truth.csv`` what was so; ``acts.csv`` what the trainee did; ``drill.toml`` who, when and
how. That one is written last: without it the drill was broken off.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

import tomlkit

from dipbook.drill.record import Act, Truth
from dipbook.errors import DrillError, QuantityError
from dipbook.exchange import tables, writing
from dipbook.exchange.times import parse, rfc3339
from dipbook.invented import MARK
from dipbook.store.beside import atomic_write

LOG, RIG, SCENARIO = "log.dipbook", "rig.toml", "scenario.toml"
TRUTH, ACTS, DRILL = "truth.csv", "acts.csv", "drill.toml"
UNDER_WAY = "under-way.toml"
"""Stands in the place of drill.toml while the drill goes on: what a power cut leaves is told by it."""
CUT_OFF = "the program stopped in the middle of it"
SENSORS, DIPS = "sensors", "dips"
MODES = (SENSORS, DIPS)
"""How the tanks were read: by sensors, or by dips that take the time to walk."""
TRUTH_HEADER = ("time", "influx_m3", "loss_m3", "event", "returned_m3", "in_hole_m3", "came_out_m3")
ACTS_HEADER = ("time", "act", "text")
DIGITS = 9
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class FinishedDrill:
    """scenario: its id, as listed. name, trains: in words. scenario_text: its file. rig_text: the rig file. seed: that
    drew it. sealed: it was kept from the trainee. trainee, instructor: "" for nobody named. mode: of MODES. began_ms,
    ended_ms: by the drill's clock [UTC ms]. done_ms: by the computer's clock [UTC ms]. every_ms: between readings, 0
    for dips alone [ms]. ended_by: why it ended, in words. events: kinds of all that was to happen. truths: by time.
    acts: of the trainee, by time. cut: it was cut off in the middle, and this is what was kept up to ended_ms.
    """

    scenario: str
    name: str
    trains: str
    scenario_text: str
    rig_text: str
    seed: int
    sealed: bool
    trainee: str
    instructor: str
    mode: str
    began_ms: int
    ended_ms: int
    done_ms: int
    every_ms: int
    ended_by: str
    events: tuple[str, ...]
    truths: tuple[Truth, ...]
    acts: tuple[Act, ...]
    cut: bool = False


def keep(folder: Path, so_far: FinishedDrill) -> None:
    """Keep a drill that is under way as it is now, so that what there is can be gone through after a power cut.

    folder: of the drill. so_far: the drill as if it ended now. What was kept before stands until all of it is written:
    ``under-way.toml``, written last, says up to when truth and acts are whole. Raises StoreError where a file can't be
    written.
    """
    if not (folder / UNDER_WAY).exists():
        atomic_write(folder / RIG, marked(so_far.rig_text))
        atomic_write(folder / SCENARIO, so_far.scenario_text)
    _write_truth_and_acts(folder, so_far)
    atomic_write(folder / UNDER_WAY, _about(so_far))


def write_drill(folder: Path, done: FinishedDrill) -> None:
    """Write a finished drill beside its log, each file at a stroke and ``drill.toml`` last.

    folder: where its log.dipbook lies already. done: the drill. Raises DrillError where there is no log in it or a
    drill was finished there before, StoreError where a file can't be written: then drill.toml isn't there yet.
    """
    if not (folder / LOG).is_file():
        raise DrillError(f"There is no drill's log in {folder}: nothing was written.")
    if (folder / DRILL).exists():
        raise DrillError(f"The drill in {folder} is finished already: nothing was written.")
    atomic_write(folder / RIG, marked(done.rig_text))
    atomic_write(folder / SCENARIO, done.scenario_text)
    _write_truth_and_acts(folder, done)
    atomic_write(folder / DRILL, _about(done))
    (folder / UNDER_WAY).unlink(missing_ok=True)


def _write_truth_and_acts(folder: Path, done: FinishedDrill) -> None:
    atomic_write(folder / TRUTH, truth_file(done.truths).decode())
    atomic_write(folder / ACTS, _table(ACTS_HEADER, [(rfc3339(a.t_ms), a.kind, a.text) for a in done.acts]).decode())


def was_cut(folder: Path) -> bool:
    """True for the folder of a drill that was never ended, and of which what there is was kept. folder: of it. One that
    is under way this moment reads so too: its log is open for writing."""
    return (folder / UNDER_WAY).is_file() and not (folder / DRILL).exists()


def settle_cut(folder: Path) -> FinishedDrill:
    """Write a drill that was cut off as one that is over, and say so in it. folder: of it; its log is open nowhere.
    Raises DrillError where it can't be read, StoreError where it can't be written."""
    done = read_drill(folder)
    write_drill(folder, done)
    return done


def marked(text: str) -> str:
    """A text with the drills' mark as its first line, once. text: of a TOML file."""
    return text if text.startswith(MARK) else f"{MARK}\n{text}"


def truth_file(truths: Sequence[Truth]) -> bytes:
    """What was so as a CSV file. truths: by time."""
    def volume(value: float) -> str:
        return f"{round(value, DIGITS):.{DIGITS}f}".rstrip("0").removesuffix(".") or "0"

    return _table(TRUTH_HEADER, [
        (rfc3339(t.t_ms), volume(t.influx_m3), volume(t.loss_m3), t.event,
         *(volume(v) for v in (t.returned_m3, t.in_hole_m3, t.came_out_m3))) for t in truths])


def _table(header: Sequence[str], rows: Sequence[Sequence[str]]) -> bytes:
    return f"{MARK}\r\n".encode() + writing.write(header, rows)


def _about(done: FinishedDrill) -> str:
    doc = tomlkit.document()
    doc.add(tomlkit.comment(MARK.removeprefix("# ")))
    values: dict[str, Any] = {
        "scenario": done.scenario, "name": done.name, "trains": done.trains, "seed": done.seed, "sealed": done.sealed,
        "trainee": done.trainee, "instructor": done.instructor, "mode": done.mode, "every": f"{done.every_ms} ms",
        "began": rfc3339(done.began_ms), "ended": rfc3339(done.ended_ms), "done": rfc3339(done.done_ms),
        "ended_by": done.ended_by, "cut": done.cut, "events": list(done.events)}
    for key, value in values.items():
        doc.add(key, value)
    return tomlkit.dumps(doc)


def read_drill(folder: Path) -> FinishedDrill:
    """Read a finished drill, or what was kept of one that was cut off; its log is opened by ``store.open``.

    folder: as ``write_drill`` or ``keep`` left it. Raises DrillError, in words, where one of its files is missing or
    can't be read.
    """
    if was_cut(folder):
        return _cut_short(_read(folder, UNDER_WAY))
    if not (folder / DRILL).is_file():
        raise DrillError(f"There is no finished drill in {folder}: it has no {DRILL}, and nothing was kept of it but "
                         "what is in its log. Its log can be opened and looked at.")
    return _read(folder, DRILL)


def _cut_short(kept: FinishedDrill) -> FinishedDrill:
    """What is whole of a drill that was cut off: nothing from after it was kept last."""
    end = kept.ended_ms
    return replace(kept, ended_by=CUT_OFF, cut=True, truths=tuple(t for t in kept.truths if t.t_ms <= end),
                   acts=tuple(a for a in kept.acts if a.t_ms <= end))


def _read(folder: Path, name: str) -> FinishedDrill:
    if not (folder / LOG).is_file():
        raise DrillError(f"The drill in {folder} has lost its log, {LOG}.")
    try:
        about = tomllib.loads(_text(folder / name))
        word = partial(_word, about)
        return FinishedDrill(
            scenario=word("scenario"), name=word("name"), trains=word("trains"),
            scenario_text=_text(folder / SCENARIO), rig_text=_text(folder / RIG), seed=_whole(about, "seed"),
            sealed=bool(about.get("sealed", False)), trainee=word("trainee"), instructor=word("instructor"),
            mode=word("mode"), began_ms=parse(word("began"), None), ended_ms=parse(word("ended"), None),
            done_ms=parse(word("done"), None), every_ms=int(word("every").removesuffix(" ms")),
            ended_by=word("ended_by"), events=tuple(str(e) for e in about.get("events", ())),
            truths=read_truths(folder / TRUTH), acts=_acts(folder / ACTS), cut=about.get("cut") is True)
    except (ValueError, QuantityError) as error:
        raise DrillError(f"{name} in {folder} can't be read: {error}") from error


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise DrillError(f"{path}: can't be opened ({error.strerror or error}).") from error
    except UnicodeDecodeError:
        raise DrillError(f"{path}: isn't UTF-8.") from None


def _word(about: dict[str, Any], key: str) -> str:
    value = about.get(key)
    if not isinstance(value, str):
        raise ValueError(f"{key} is missing, or no text")
    return value


def _whole(about: dict[str, Any], key: str) -> int:
    value = about.get(key)
    if not isinstance(value, int) or isinstance(value, bool):
        raise ValueError(f"{key} is missing, or no whole number")
    return value


def read_truths(path: Path) -> tuple[Truth, ...]:
    """What was so, by time, from a drill's truth.csv. path: of it; one from before came_out_m3 was written has nothing
    in that. Raises DrillError, in words, where it can't be read."""
    def one(row: dict[str, str]) -> Truth:
        influx, loss, returned, room = (float(row[k]) for k in ("influx_m3", "loss_m3", "returned_m3", "in_hole_m3"))
        return Truth(parse(row["time"], None), influx, loss, returned, room, row["event"],
                     float(row.get("came_out_m3", "0")))

    return tuple(sorted(_rows(path, TRUTH_HEADER[:-1], one), key=lambda t: t.t_ms))


def _acts(path: Path) -> tuple[Act, ...]:
    found = _rows(path, ACTS_HEADER, lambda row: Act(parse(row["time"], None), row["act"], row["text"]))
    return tuple(sorted(found, key=lambda a: a.t_ms))


def _rows(path: Path, needed: Sequence[str], make: Callable[[dict[str, str]], T]) -> list[T]:
    try:
        table = tables.read(path.read_bytes(), path.name)
    except OSError as error:
        raise DrillError(f"{path}: can't be opened ({error.strerror or error}).") from error
    wrong = [f"{f.where}: {f.what}" if f.where else f"{path.name}: {f.what}" for f in table.findings
             if f.severity == "error" and f.code != "empty_file"]
    if missing := sorted(set(needed) - set(table.header)):
        wrong = wrong or [f"{path.name}: has no column {', '.join(missing)}"]
    if wrong:
        raise DrillError("\n".join(wrong))
    found: list[T] = []
    for line, row in zip(table.lines, table.rows, strict=True):
        try:
            found.append(make({h: writing.unguarded(cell) for h, cell in zip(table.header, row, strict=True)}))
        except (ValueError, QuantityError) as error:
            raise DrillError(f"{path.name}, line {line}: can't be read ({error}).") from error
    return found
