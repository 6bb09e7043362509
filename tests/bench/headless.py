"""A check of a tour at 1 Hz taken apart, in one process: prints `name value unit` lines for measure.py.

    python tests/bench/headless.py FOLDER        (with the files of tour.py in it)
"""

from __future__ import annotations

import csv
import io
import json
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import paths  # noqa: F401  finds the packages in a checkout

from dipbook import balance, checking, observations, store
from dipbook.books import build
from dipbook.exchange import readings as readings_file

RUNS = 7


def spent(work: Callable[[], Any]) -> float:
    """How long a piece of work takes [ms]."""
    began = time.perf_counter()
    work()
    return (time.perf_counter() - began) * 1000


def say(name: str, times: list[float]) -> None:
    """Median, least and most of some times [ms], as a line for measure.py."""
    sys.stdout.write(json.dumps({"name": name, "unit": "ms", "median": statistics.median(times), "least": min(times),
                                 "most": max(times), "runs": len(times)}) + "\n")


def say_value(name: str, value: float, unit: str) -> None:
    """One value, as a line for measure.py."""
    sys.stdout.write(json.dumps({"name": name, "unit": unit, "median": value, "least": value, "most": value,
                                 "runs": 1}) + "\n")


def taken_apart(rig: Path, readings: Path, entries: Path) -> None:
    """`check` with its stages timed, and the peers beside it."""
    data = readings.read_bytes()
    stages: dict[str, list[float]] = {}
    inside: dict[str, float] = {}

    def timed(name: str, work: Callable[..., Any]) -> Callable[..., Any]:
        def run(*args: Any, **named: Any) -> Any:
            began = time.perf_counter()
            try:
                return work(*args, **named)
            finally:
                inside[name] = inside.get(name, 0.0) + (time.perf_counter() - began) * 1000
        return run

    parse, made, at, watched = readings_file.parse, checking.build, balance.at, checking._watched_through
    try:
        readings_file.parse = timed("parse", parse)
        checking.build = timed("books", made)
        balance.at = timed("balance", at)  # type: ignore[assignment]
        checking._watched_through = timed("watch, with its balances", watched)
        for _ in range(RUNS):
            inside.clear()
            began = time.perf_counter()
            checked = checking.check(rig, readings, entries)
            inside["check, without printing"] = (time.perf_counter() - began) * 1000
            inside["print as text"] = spent(partial(print_text, checked))
            inside["print as JSON"] = spent(partial(print_json, checked))
            inside["csv module alone"] = spent(partial(rows, data))
            inside["csv module and float()"] = spent(partial(numbers, data))
            for name, value in inside.items():
                stages.setdefault(name, []).append(value)
    finally:
        readings_file.parse, checking.build, balance.at, checking._watched_through = parse, made, at, watched
    for name, times in stages.items():
        say(name, times)


def print_text(checked: checking.Checked) -> None:
    """As people read it."""
    io.StringIO().writelines(checking.text_lines(checked))


def print_json(checked: checking.Checked) -> None:
    """As programs read it."""
    io.StringIO().writelines(json.dumps(line, ensure_ascii=False, allow_nan=False) for line in checking.lines(checked))


def rows(data: bytes) -> list[list[str]]:
    """The peer: the same bytes as rows of text, by the standard library."""
    return list(csv.reader(io.StringIO(data.decode("utf-8"), newline="")))


def numbers(data: bytes) -> list[list[float]]:
    """The peer, with the cells as numbers."""
    return [[float(cell) for cell in row[1:]] for row in rows(data)[1:]]


def singly(rig: Path, readings: Path, entries: Path) -> None:
    """The balance for every reading, the evidence for the watch, and the store of the file."""
    checked = checking.check(rig, readings, entries)
    t = checked.active.t_ms
    fresh, kept, seen, stored, synced = [], [], [], [], []
    data = readings.read_bytes()
    samples, _ = readings_file.to_draft(readings_file.parse(data, readings.name, checked.rig), 0)
    for _ in range(RUNS):
        books = build(checked.books.records)
        fresh.append(spent(lambda books=books: balance.at(books, t)))
        kept.append(spent(lambda books=books: balance.at(books, t)))
        seen.append(spent(lambda books=books: observations.observe(books)))
        with tempfile.TemporaryDirectory(dir=readings.parent) as folder:
            with store.open(Path(folder) / "log.dipbook") as log:
                stored.append(spent(lambda log=log, d=samples: log.append([d])))
                size = (Path(folder) / "log.dipbook").stat().st_size + (Path(folder) / "log.dipbook-wal").stat().st_size
            synced.append(spent(lambda folder=folder, size=size: sync(Path(folder) / "raw", size)))
    say(f"balance.at, {len(t)} times, first of a state of the books", fresh)
    say(f"balance.at, {len(t)} times, again", kept)
    say("evidence for the watch at all readings", seen)
    say("store of the file's samples", stored)
    say(f"raw write and fdatasync of as many bytes ({size / 1e6:.1f} MB)", synced)


def sync(path: Path, size: int) -> None:
    """The disk's own limit: append so many bytes at once and sync them."""
    handle = os.open(path, os.O_CREAT | os.O_WRONLY | os.O_APPEND)
    os.write(handle, b"\1" * size)
    os.fdatasync(handle)
    os.close(handle)


if __name__ == "__main__":
    folder = Path(sys.argv[1])
    files = tuple(folder / name for name in ("rig.toml", "readings.csv", "entries.csv"))
    taken_apart(*files)
    singly(*files)
