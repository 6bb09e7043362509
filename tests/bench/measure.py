"""Measure Dipbook and print a table: medians, with the least and the most, and peers or limits from the same run.

    python tests/bench/measure.py [check] [parts] [warned] [tripped] [keyed] [started] [repainted]

All of them without a name. Each measure runs in processes of its own, so that none carries another's memory or imports.
Frames are drawn offscreen; under a display (or xvfb-run) set QT_QPA_PLATFORM=xcb.
"""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import paths

HERE = Path(__file__).parent
RUNS = 7
HEAVY = ("alembic", "scipy", "sqlalchemy.orm", "polars", "PySide6.QtNetwork")
COMMAND = "import sys; from dipbook_app.cli import main; sys.exit(main())"
CSV_PEER = "import csv, sys; list(csv.reader(open(sys.argv[1], newline='', encoding='utf-8')))"
MAKE_DEMO = "import sys, time; from pathlib import Path; from dipbook_app import demo; " \
            "demo.make_log(round(time.time() * 1000), Path(sys.argv[1]))"
Row = tuple[str, str, str, str]


def run(arguments: Sequence[str], *, good: Sequence[int] = (0,), keep: bool = True) -> tuple[float, float, str]:
    """(wall time [ms], peak memory [MB], output) of a Python process. keep: False leaves the output unread: a child's
    peak counts from what this process holds when it starts."""
    began = time.perf_counter()
    with tempfile.TemporaryFile("w+", encoding="utf-8") as out, tempfile.TemporaryFile("w+", encoding="utf-8") as err:
        child = subprocess.Popen([sys.executable, *arguments], stdout=out, stderr=err, env=compiled_once())
        _, status, usage = os.wait4(child.pid, 0)
        wall = (time.perf_counter() - began) * 1000
        child.returncode = os.waitstatus_to_exitcode(status)
        out.seek(0)
        err.seek(0)
        if child.returncode not in good:
            raise SystemExit(f"{' '.join(arguments)} ended with {child.returncode}:\n{err.read()}")
        return wall, usage.ru_maxrss * 1024 / 1e6, out.read() if keep else ""


def compiled_once() -> dict[str, str]:
    """The surroundings of an installed program, whose modules aren't compiled at each start."""
    known = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return known | {"PYTHONPYCACHEPREFIX": os.environ.get("XDG_CONFIG_HOME", "") + "/compiled"}


def row(name: str, values: Sequence[float], unit: str = "ms", beside: float | None = None, to: str = "") -> Row:
    """A line of the table; ``beside`` is the median of the peer called ``to``."""
    middle = statistics.median(values)
    spread = f"{_number(min(values))}–{_number(max(values))}" if len(values) > 1 else ""
    return name, f"{_number(middle)} {unit}", spread, f"{middle / beside:.3g} × {to}" if beside else ""


def _number(x: float) -> str:
    """Three digits at most, and no more than thousandths."""
    return f"{x:.0f}" if abs(x) >= 100 else f"{x:.1f}" if abs(x) >= 10 else f"{x:.2f}"


def check(tour: Path) -> Iterator[Row]:
    """`dipbook check` as a process, and the csv module on the same file beside it."""
    files = [str(tour / "rig.toml"), str(tour / "readings.csv"), "--entries", str(tour / "entries.csv")]
    gaps = [*files]
    gaps[1] = str(tour / "partial.csv")
    seen: dict[str, list[tuple[float, float, str]]] = {}
    for _ in range(RUNS):
        for name, arguments in (("csv module alone, a process", ["-c", CSV_PEER, files[1]]),
                                ("check, text", ["-c", COMMAND, "check", *files]),
                                ("check, JSON", ["-c", COMMAND, "check", "--json", *files]),
                                ("check, JSON, one tank dipped each 15 min", ["-c", COMMAND, "check", "--json", *gaps])):
            seen.setdefault(name, []).append(run(arguments, good=(0, 1), keep=False))
    peer = statistics.median(wall for wall, _, _ in seen["csv module alone, a process"])
    for name, runs in seen.items():
        yield row(name, [wall for wall, _, _ in runs], beside=None if "csv" in name else peer, to="csv module")
        yield row("    its peak memory", [memory for _, memory, _ in runs], "MB")


def of_script(script: str, argument: str, peers: dict[str, tuple[str, str]]) -> Iterator[Row]:
    """Lines of another script here. peers: name of a line -> (line of its peer, the peer in words)."""
    told = [json.loads(line) for line in run([str(HERE / script), argument])[2].splitlines()]
    medians: dict[str, float] = {x["name"]: x["median"] for x in told}
    for x in told:
        peer, words = peers.get(x["name"], ("", ""))
        yield row(x["name"], [x["least"], x["median"], x["most"]] if x["runs"] > 1 else [x["median"]], x["unit"],
                  medians.get(peer), words)


def started(demo_log: Path) -> Iterator[Row]:
    """Cold start to the first frame, and the floors: Qt alone, and an empty window after the same libraries."""
    libraries = demo_log.with_name("libraries.txt")
    libraries.write_text(run([str(HERE / "started.py"), str(demo_log)])[2].partition(" ")[2], encoding="utf-8")
    took: dict[str, list[float]] = {}
    imported: set[str] = set()
    for _ in range(RUNS):
        for name, arguments in (("floor", ["--floor"]), ("libraries", ["--libraries", str(libraries)]), ("whole", [str(demo_log)])):
            began = time.time()
            done, _, imports = run([str(HERE / "started.py"), *arguments])[2].partition(" ")
            took.setdefault(name, []).append((float(done) - began) * 1000)
            imported |= set(imports.split()) if name == "whole" else set()
    yield row("floor: a bare QMainWindow with a QLabel", took["floor"])
    yield row("an empty window that imports the same libraries", took["libraries"])
    yield row("start to painted Watch page, demo log", took["whole"], beside=statistics.median(took["libraries"]), to="those libraries")
    yield f"    of {', '.join(HEAVY)} imported", ", ".join(sorted(imported & set(HEAVY))) or "none", "", ""


def tables(tour: Path, demo_log: Path) -> dict[str, tuple[str, Callable[[], Iterator[Row]]]]:
    """What can be measured: name -> (title, how)."""
    warned = {"saved round to painted warning": ("raw append of 4 KiB and fdatasync", "raw commit")}
    parts: dict[str, tuple[str, str]] = dict.fromkeys(
        ("parse", "check, without printing"), ("csv module alone", "csv module"))

    def twice(script: str, peers: dict[str, tuple[str, str]]) -> Iterator[Row]:
        yield "with the demo's log", "", "", ""
        yield from of_script(script, "demo", peers)
        yield "with 12 tanks × 12 h at 1 Hz in the log", "", "", ""
        yield from of_script(script, str(tour), peers)

    return {
        "check": ("`dipbook check`, 12 tanks × 43,200 rows, 147 entries, 10 limits", lambda: check(tour)),
        "parts": ("Of it, in one process", lambda: of_script("headless.py", str(tour), parts)),
        "warned": ("Saved round to painted warning", lambda: twice("warned.py", warned)),
        "tripped": ("A row of a trip's sheet", lambda: of_script("tripped.py", "", {})),
        "keyed": ("Keys of a round of ten tanks", lambda: of_script("keyed.py", "", {})),
        "started": ("Cold start", lambda: started(demo_log)),
        "repainted": ("Frames of the window at 1280×800", lambda: twice("repainted.py", {})),
    }


def main(asked: Sequence[str]) -> int:
    """Measure what is asked for. asked: names; all of them if none."""
    with tempfile.TemporaryDirectory() as temporary:
        tour = Path(temporary) / "tour"
        os.environ["XDG_CONFIG_HOME"] = str(Path(temporary) / "config")
        known = tables(tour, Path(temporary) / "larkspur-demo.dipbook")
        wrong = [name for name in asked if name not in known]
        if wrong:
            sys.stderr.write(f"There is no measure {wrong[0]!r}; there are: {', '.join(known)}\n")
            return 2
        run([str(HERE / "tour.py"), str(tour)])
        run(["-c", MAKE_DEMO, temporary])
        for name in asked or known:
            title, how = known[name]
            sys.stdout.write(f"\n### {title}\n\n| | median | range | ratio |\n|---|---|---|---|\n")
            for cells in how():
                sys.stdout.write(f"| {' | '.join(cells)} |\n")
                sys.stdout.flush()
    return 0


if __name__ == "__main__":
    assert paths.FOLDERS
    raise SystemExit(main(sys.argv[1:]))
