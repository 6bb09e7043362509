"""``dipbook drill``: a scenario and a seed in; a rig file, readings, entries, a trip's sheet and the truth out.

What is written reads like a tour's own files, and says in its first line that it is invented.
"""

from __future__ import annotations

import shutil
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from dipbook import drill_folder
from dipbook.drill import Entry, Reading, Scenario, Session, set_up
from dipbook.drill.scenario_file import FOLDER, read, rig_named
from dipbook.entries.kinds import BY_NAME
from dipbook.errors import DrillError, ScenarioFileError
from dipbook.exchange import entries_written, writing
from dipbook.exchange.times import rfc3339
from dipbook.invented import MARK
from dipbook.quantities import FEET_INCHES, to_unit
from dipbook.records import Record
from dipbook.rig import document
from dipbook.rig.document import RigDocument
from dipbook.rig.model import Rig

MOST_MS = 7 * 24 * 3600 * 1000
"""No drill is longer [ms]."""
CREW = "Drill crew (invented)"
FILES = ("rig.toml", "readings.csv", "entries.csv", "truth.csv")


@dataclass(frozen=True)
class Done:
    """A drill that was run to its end. scenario: as read. seed. rig: the document it ran on. session: at its end."""

    scenario: Scenario
    seed: int
    rig: RigDocument
    session: Session


def scenarios(more: Path | None = None) -> tuple[Path, ...]:
    """The scenario files there are, by name. more: a folder with others, which go before those of the same name."""
    found = {path.stem: path for folder in (FOLDER, more) if folder is not None and folder.is_dir()
             for path in sorted(folder.glob("*.toml"))}
    return tuple(found[name] for name in sorted(found))


def listed(more: Path | None = None) -> tuple[tuple[str, str, str], ...]:
    """(id, name, what it trains) of each scenario, without looking whether it can be run. more: as of ``scenarios``."""
    found: list[tuple[str, str, str]] = []
    for path in scenarios(more):
        try:
            said = tomllib.loads(path.read_text(encoding="utf-8-sig"))
        except (OSError, ValueError):
            said = {}
        found.append((path.stem, str(said.get("name", path.stem)), str(said.get("trains", ""))))
    return tuple(found)


def find(name: str, more: Path | None = None) -> Path:
    """The file of a scenario. name: as listed, or a path to a file. more: as of ``scenarios``. Raises
    ScenarioFileError where there is none."""
    path = Path(name)
    if path.suffix == ".toml":
        return path
    for each in scenarios(more):
        if each.stem == name:
            return each
    known = ", ".join(path.stem for path in scenarios(more))
    raise ScenarioFileError(f"There is no scenario called {name}. There are: {known}. A file of your own is named with "
                            "its path, like my-kick.toml.")


def load(path: Path, rig_path: Path) -> tuple[Scenario, RigDocument]:
    """A scenario with the rig that it runs on: the one that it names, beside it, or else another.

    path: of the scenario. rig_path: the other. Raises ScenarioFileError or RigFileError with all that is wrong.
    """
    named = rig_named(path)
    doc = document.read(path.parent / named if named else rig_path)
    return read(path, doc.rig), doc


def run(path: Path, seed: int, rig_path: Path, *, step_ms: int | None = None) -> Done:
    """Run a drill to the end of its crew's work.

    path: of the scenario. seed: draws what it leaves open. rig_path: the rig where the scenario names none. step_ms:
    longest step in time, None for the usual [ms]. Raises ScenarioFileError, RigFileError, or DrillError.
    """
    scenario, doc = load(path, rig_path)
    session = set_up(scenario, seed, doc.rig, **({} if step_ms is None else {"step_ms": step_ms}))
    session.advance(MOST_MS, to_the_end=True)
    return Done(scenario, seed, doc, session)


def write(done: Done, folder: Path) -> tuple[Path, ...]:
    """Write a drill's files into a folder, which is made where it isn't there; returns their paths.

    done: the drill. folder: empty, or one that a drill was written into before. Raises DrillError where it holds
    anything else, so that no log is written over.
    """
    session, rig = done.session, done.rig.rig
    files = {"rig.toml": f"{MARK} The rig that it ran on:\n{done.rig.text}".encode(),
             "readings.csv": readings_file(session, session.readings, rig),
             "entries.csv": _marked(entries_written.written(records_of(session.entries), rig.decimal)),
             "truth.csv": drill_folder.truth_file(session.truths)}
    trips = {"trip-out.csv": True, "trip-in.csv": False}
    files |= {name: _trip(session, rig, out) for name, out in trips.items()
              if any(row.out is out for row in session.trip_rows)}
    known = {*FILES, *trips}
    if folder.exists() and (not folder.is_dir() or {p.name for p in folder.iterdir()} - known):
        raise DrillError(f"{folder} holds other things than a drill: nothing was written. Name an empty folder, or a "
                         "new one.")
    folder.mkdir(parents=True, exist_ok=True)
    for name in known:
        (folder / name).unlink(missing_ok=True)
    for name, data in files.items():
        (folder / name).write_bytes(data)
    return tuple(folder / name for name in files)


def copy_example(name: str, to: Path) -> Path:
    """Copy a scenario's file, to begin one's own from. name: as listed. to: the new file. Raises DrillError where there
    is one already, and ScenarioFileError where there is no such scenario."""
    source = find(name)
    if to.exists():
        raise DrillError(f"{to} is there already: nothing was written. Name another file.")
    shutil.copyfile(source, to)
    return to


def _marked(data: bytes) -> bytes:
    return f"{MARK}\r\n".encode() + data


def all_digits(value: float, decimal: str) -> str:
    """A number with all its digits, and no power of ten. value: any. decimal: sign."""
    return format(Decimal(repr(float(value))), "f").replace(".", decimal)


def readings_file(session: Session, readings: Iterable[Reading], rig: Rig) -> bytes:
    """Readings as a file: one row a round, each tank by the unit of its level. session: whose gauges they are of.
    readings: of it. rig: that it runs on."""
    unit = level_unit(rig)
    walked = session.walk_ms > 0
    header = ["time"]
    for tank in rig.tanks:
        header += [f"{tank.name} [{unit}]", *([f"{tank.name} time"] if walked else [])]
    rows: list[list[str]] = []
    for reading in readings:
        row = [rfc3339(reading.t_ms)]
        for tank in rig.tanks:
            dip = reading.dips.get(tank.name)
            row.append("" if dip is None else as_read(dip, unit, session, rig.decimal))
            if walked:
                row.append("" if dip is None else rfc3339(reading.at_ms[tank.name]))
        rows.append([*row, *_depths(reading, rig)])
    return _marked(writing.write([*header, "bit depth [m]", "hole depth [m]"], rows))


def as_read(dip_m: float, unit: str, session: Session, decimal: str) -> str:
    """A dip as its gauge shows it: as fine as the gauge reads, with all digits where that isn't said. dip_m: of a tank
    in its own datum [m]. unit: that it is written in. session: whose gauges. decimal: sign."""
    value = to_unit(dip_m, unit)
    return all_digits(round(value, 4) if session.gauges.how.number_or("step", 0.0) else value, decimal)


def _depths(reading: Reading, rig: Rig) -> list[str]:
    return [all_digits(depth, rig.decimal) for depth in (max(0.0, reading.bit_m), reading.hole_m)]


def level_unit(rig: Rig) -> str:
    """The unit in which a drill writes levels. rig: that it runs on."""
    unit = rig.units.get("level", "m")
    return "ft" if unit == FEET_INCHES else unit


def records_of(entries: Iterable[Entry]) -> list[Record]:
    """Entries as a log would hold them, by time. entries: of the crew."""
    found: list[Record] = []
    for n, entry in enumerate(sorted(entries, key=lambda e: e.t_ms), 1):
        fields = {field.name.replace("_", " "): field.key for field in BY_NAME[entry.kind].fields}
        payload: dict[str, object] = {fields[name]: value for name, value in entry.values.items()}
        if entry.end_ms is not None:
            payload["end_ms"] = entry.end_ms
        found.append(Record(n, f"d{n}", entry.kind, entry.t_ms, entry.t_ms, CREW, payload,
                            reason=str(entry.values.get("reason", ""))))
    return found


def _trip(session: Session, rig: Rig, out: bool) -> bytes:
    """The sheet of the trip out, or of the trip in."""
    unit = level_unit(rig)
    rows = [row for row in session.trip_rows if row.out is out]
    header = ("time", "kind", "stand", "bit depth [m]", f"{rows[0].tank} [{unit}]", "from")
    return _marked(writing.write(header, [
        (rfc3339(r.t_ms), r.kind, str(r.stand), all_digits(max(0.0, r.bit_m), rig.decimal),
         "" if r.dip_m is None else as_read(r.dip_m, unit, session, rig.decimal), r.source) for r in rows]))
