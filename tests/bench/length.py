"""What opening a log, a saved round and a correction cost, by how many days of samples are in the log.

    python tests/bench/length.py [--plot FILE.png] [DAYS ...]       (1, 7, 30 and 60 by default: 62 million samples, 0.1 GB)

12 tanks, a reading a second, the entries of tour.py and a zero each twelve hours. Invented, from a seed. Each log is opened by a
process of its own. "Imports" is what the same process spent on the libraries before.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import paths  # noqa: F401  finds the packages in a checkout

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
import tour
from measure import compiled_once

DAYS = (1, 7, 30, 60)
TOUR_S, DAY_S = 43_200, 86_400
RUNS = 15
STATUS = Path("/proc/self/status")


def make(path: Path, days: int) -> int:
    """A log of so many days; returns when it ends [UTC ms]."""
    from dipbook import store
    from dipbook.exchange import entries as entries_file
    from dipbook.records import RIG, SAMPLES, Block, Draft
    from dipbook.rig import document
    from dipbook_app import alive

    begin = round(tour.START.timestamp() * 1000)
    doc = document.parse(tour.rig_text(), "rig")
    rows = tour.entries(days * 24)
    rows += [{"time": tour.stamp(s), "kind": "zero", "reason": "start of tour", "length": "30 ft"}
             for s in range(TOUR_S, days * DAY_S, TOUR_S)]
    for row in rows:        # as deep in all as in one day: no well is 90,000 ft
        row.update({name: f"{9200 + (float(row[name].split()[0]) - 9200) / days:.2f} ft" for name in ("hole depth", "bit depth")
                    if name in row})
    names = sorted({name for row in rows for name in row})
    text = "\n".join([",".join(names), *(",".join(row.get(n, "") for n in names) for row in rows)])
    entries = entries_file.parse(text.encode(), "entries.csv", doc.rig)
    assert entries.drafts, entries.findings
    first = min(d.t_ms for d in entries.drafts)
    with store.open(path, station="bench") as log:
        log.append([Draft(RIG, first, first, author="Test", reason="test", payload={
            "text": doc.text, "digest": doc.digest, "effective": "change"}), *entries.drafts])
        levels = tour.levels(12)
        levels["Intermediate"] += np.arange(TOUR_S) / 90 * 0.1458 / tour.BBL_PER_IN * (1 - 1 / days)
        for half in range(2 * days):
            draw = np.random.default_rng(half)
            t = begin + 1000 * np.arange(half * TOUR_S, (half + 1) * TOUR_S, dtype=np.int64)
            log.append([Draft(SAMPLES, int(t[0]), int(t[-1]), payload={"source": "import", "digest": str(half)}, blocks=tuple(
                Block(f"tank:{name}:level", t, np.round(v + draw.normal(0, 0.005, len(v)), 2) * 0.0254)
                for name, v in levels.items()))])
    end = begin + days * DAY_S * 1000
    alive.note(path, end, closed=True)
    return end


def memory_mb(name: str) -> float:
    """A line of the process's status in MB. name: VmRSS or VmHWM."""
    line = next(x for x in STATUS.read_text().splitlines() if x.startswith(name))
    return int(line.split()[1]) / 1024


def measure(path: Path, end_ms: int) -> None:
    """Print the figures of one log as a line of JSON."""
    began = time.perf_counter()
    from warned import MIN, STEP_M, Hands, Painted, gains, quiet, save

    from dipbook_app.preferences import PreferencesFile
    from dipbook_app.running import Program, application

    app = application()
    found: dict[str, float] = {"imports": time.perf_counter() - began}
    hands = Hands(end_ms + 4 * MIN)
    program = Program(PreferencesFile(path.parent / "preferences.json"), hands.clock())
    began = time.perf_counter()
    assert program.open_log(path)
    program.window.show()
    app.processEvents()
    found["opened and painted"] = time.perf_counter() - began
    found["memory once open"] = memory_mb("VmRSS")
    desk = program.desk
    assert desk is not None
    desk._tick.stop()
    desk.set_on_watch("Test")
    times = []
    for run in range(2 * RUNS + 1):
        quiet(desk, hands)
        while program.window._throttle.isActive() or desk._writer._job is not None or desk._look.isActive():
            app.processEvents()
        hands.pass_(30)
        seen = Painted(program.window.strip._headline)
        assert not gains(desk)
        began = time.perf_counter()
        save(desk, STEP_M if run % 2 == 0 else -STEP_M)
        if run % 2:
            continue
        assert gains(desk), "no warning of gain was raised"
        while not seen.seen:
            app.processEvents()
        if run:
            times.append(seen.at - began)
    found["saved round to painted warning, median"] = float(np.median(times))
    found["saved round to painted warning, most"] = max(times)
    for name, ago in (("two hours ago", 2 * 60), ("five days ago", 5 * 24 * 60)):
        t = desk.now_ms() - ago * MIN
        if t < tour.START.timestamp() * 1000:
            continue
        began = time.perf_counter()
        assert not [f for f in desk.log_entry("addition", {"to": "Mixing", "volume": "1 bbl"}, t_ms=t, end_ms=t + MIN, author="Test")
                    if f.severity == "error"]
        found[f"entry of {name}"] = time.perf_counter() - began
    found["memory at most"] = memory_mb("VmHWM")
    program.window.close()
    program.close_log()
    sys.stdout.write(json.dumps(found) + "\n")


def main(days: list[int], plot: Path | None) -> None:
    """Make each log, measure it, print a table and draw it."""
    every: list[dict[str, float]] = []
    with tempfile.TemporaryDirectory() as temporary:
        os.environ["XDG_CONFIG_HOME"] = temporary
        for n in days:
            path = Path(temporary) / f"{n}" / "log.dipbook"
            path.parent.mkdir()
            end = make(path, n)
            said = subprocess.run([sys.executable, __file__, "--one", str(path), str(end)], check=True, capture_output=True,
                                  text=True, env=compiled_once())
            found = json.loads(said.stdout.splitlines()[-1])
            every.append(found)
            sys.stdout.write(f"{n} days, {n * DAY_S * 12:,} samples, {path.stat().st_size / 1e6:.0f} MB\n")
            for name, value in found.items():
                sys.stdout.write(f"    {name}: {value:.0f} MB\n" if "memory" in name else f"    {name}: {value:.3f} s\n")
            sys.stdout.flush()
    if plot is not None:
        draw(days, every, plot)


def draw(days: list[int], every: list[dict[str, float]], path: Path) -> None:
    """What grows with the log, and what doesn't, on two logarithmic axes."""
    import pyqtgraph as pg
    from PySide6.QtWidgets import QApplication

    app = QApplication.instance() or QApplication([])
    pg.setConfigOptions(background="w", foreground="k")
    view = pg.PlotWidget()
    view.resize(760, 420)
    item = view.getPlotItem()
    item.setLogMode(x=True, y=True)
    item.addLegend(offset=(-10, -60))
    for axis, values in (("bottom", days), ("left", (0.03, 0.1, 0.3, 1, 3))):
        item.getAxis(axis).setTicks([[(float(np.log10(value)), f"{value:g}") for value in values]])
    item.setLabel("bottom", "days of twelve tanks at a reading a second")
    item.setLabel("left", "s, and GB of memory")
    for name, factor, symbol in (("opened and painted", 1.0, "o"), ("entry of two hours ago", 1.0, "s"),
                                 ("saved round to painted warning, median", 1.0, "t"), ("memory once open", 1 / 1024, "x")):
        item.plot(days, [found[name] * factor for found in every], name=name, symbol=symbol, pen=pg.mkPen("k"), symbolBrush="k",
                  symbolPen="k")
    view.show()
    app.processEvents()
    view.grab().save(str(path))


if __name__ == "__main__":
    given = sys.argv[1:]
    if given[:1] == ["--one"]:
        measure(Path(given[1]), int(given[2]))
    else:
        to = Path(given.pop(given.index("--plot") + 1)) if "--plot" in given else None
        main([int(x) for x in given if x != "--plot"] or list(DAYS), to)
