"""A drill's folder to its debrief: one that somebody did in the window, or one that nobody watched."""

from __future__ import annotations

import hashlib
from pathlib import Path

from dipbook import checking
from dipbook.drill.debrief import About, Debrief, debrief
from dipbook.drill.record import Truth
from dipbook.errors import DrillError
from dipbook.exchange import tables, times

READINGS, ENTRIES, RIG_FILE, TRUTH = "readings.csv", "entries.csv", "rig.toml", "truth.csv"
OUT = "came_out_m3"
"""Truths of before this column was written haven't got it."""
NUMBERS = ("influx_m3", "loss_m3", "returned_m3", "in_hole_m3")


def of_files(folder: Path) -> Debrief:
    """The debrief of the files that ``dipbook drill run`` wrote: nobody watched, so nobody did anything.

    folder: with rig.toml, readings.csv, entries.csv and truth.csv. The watch is run over them as ``dipbook check``
    does. Raises RigFileError, ImportFileError or DrillError, in words, for what can't be read.
    """
    truths = read_truth(folder / TRUTH)
    entries = folder / ENTRIES
    checked = checking.check(folder / RIG_FILE, folder / READINGS, entries if entries.is_file() else None)
    ends = checked.books.readings.end_ms
    span = (truths[0].t_ms, max(truths[-1].t_ms, int(ends[-1])))
    about = About(ident_of(folder / TRUTH), folder.name, "", "", None, "", "", "", *span, None, checked.rig.name)
    return debrief(checked.books.records, truths, (), about, warned=checked.warnings, in_time=True)


def read_truth(path: Path) -> tuple[Truth, ...]:
    """What was so, from a drill's truth.csv, by time. path: of it. Raises DrillError, in words, where it can't be
    read."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise DrillError(f"{path}: can't be opened ({error.strerror or error}). A drill's folder holds its truth as "
                         f"{TRUTH}.") from error
    table = tables.read(data, path.name)
    wrong = [f"{f.where}: {f.what}" if f.where else f"{path.name}: {f.what}" for f in table.findings
             if f.severity == "error"]
    missing = sorted({*NUMBERS, "event"} - {*table.header})
    if missing and not wrong:
        wrong = [f"{path.name}: isn't the truth of a drill: it has no column {', '.join(missing)}"]
    if wrong:
        raise DrillError("\n".join(wrong))
    at = {name: table.header.index(name) for name in ("time", *NUMBERS, "event")}
    found: list[Truth] = []
    for line, row in zip(table.lines, table.rows, strict=True):
        try:
            influx, loss, returned, room = (float(row[at[name]]) for name in NUMBERS)
            out = float(row[table.header.index(OUT)]) if OUT in table.header else 0.0
            t = times.parse(row[at["time"]], None)
        except ValueError as error:
            raise DrillError(f"{path.name}, line {line}: can't be read ({error}).") from error
        found.append(Truth(t, influx, loss, returned, room, row[at["event"]], out))
    if not found:
        raise DrillError(f"{path.name}: holds nothing.")
    return tuple(sorted(found, key=lambda t: t.t_ms))


def ident_of(path: Path) -> str:
    """A drill's id: the first twelve figures of the SHA-256 of a file of it. path: of the file."""
    return hashlib.sha256(path.read_bytes()).hexdigest()[:12]
