"""Saved round to painted warning, on the real desk, log and window: prints lines for measure.py.

    python tests/bench/warned.py demo
    python tests/bench/warned.py FOLDER          (with the files of tour.py in it: their 1 Hz samples are in the log)

From the call that saves a round that passes the gain limit to the end of the frame in which the strip shows the warning.
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
from pathlib import Path

import paths  # noqa: F401  finds the packages in a checkout

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from headless import say, sync
from PySide6.QtCore import QEvent, QObject

from dipbook import store
from dipbook.exchange import entries as entries_file
from dipbook.exchange import readings as readings_file
from dipbook.records import RIG, Dip, Draft
from dipbook.rig import document
from dipbook_app import alive, demo
from dipbook_app.clock import Clock
from dipbook_app.desk import Desk
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program, application

RUNS = 7
MIN = 60_000
STEP_M = 2 * 0.0254
"""Change of every active tank's level between two rounds: well past the limit on gain."""


class Hands:
    """Both clocks of the desk, moved by hand."""

    def __init__(self, now_ms: int) -> None:
        self.now = now_ms / 1000

    def pass_(self, minutes: float) -> None:
        self.now += minutes * 60

    def clock(self) -> Clock:
        return Clock(lambda: self.now, lambda: self.now)


class Painted(QObject):
    """Notes that a widget was painted."""

    def __init__(self, widget: QObject) -> None:
        super().__init__()
        self.seen, self.at = False, 0.0
        widget.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if not self.seen and event.type() == QEvent.Type.Paint:
            self.seen, self.at = True, time.perf_counter()
        return False


def log_of_tour(folder: Path, into: Path) -> tuple[Path, int]:
    """A log with the tour's samples and entries; its path and the time of the last [UTC ms]."""
    doc = document.read(folder / "rig.toml")
    readings = readings_file.parse((folder / "readings.csv").read_bytes(), "readings.csv", doc.rig)
    entries = entries_file.parse((folder / "entries.csv").read_bytes(), "entries.csv", doc.rig)
    end = int(readings.row_times()[-1])
    samples, more = readings_file.to_draft(readings, end)
    start = min(d.t_ms for d in entries.drafts)
    rig = Draft(RIG, start, start, author="Test", reason="test",
                payload={"text": doc.text, "digest": doc.digest, "effective": "change"})
    path = into / "tour.dipbook"
    with store.open(path, station="bench") as log:
        log.append([rig, *entries.drafts, samples, *more])
    alive.note(path, end, closed=True)
    return path, end


def save(desk: Desk, step_m: float) -> None:
    """A round of all tanks, the active ones ``step_m`` from where they were [m]."""
    now = desk.now_ms()
    dips = []
    for view in desk.situation.tanks:
        dip = desk.situation.rig.tank(view.name).dip_of_level((view.level_m or 0.0) + (step_m if view.active else 0.0))
        dips.append(Dip(view.name, now, f"{dip:.4f} m", float(dip)))
    assert desk.save_round(dips, start_ms=now, end_ms=now, observer="Test", author="Test")


def quiet(desk: Desk, hands: Hands) -> None:
    """A new zero, and every warning over, acknowledged and closed."""
    hands.pass_(2)
    found = desk.log_entry("zero", {"reason": "measuring"}, author="Test")
    assert not [f for f in found if f.severity == "error"], found
    hands.pass_(2)
    save(desk, 0.0)
    for warning in desk.situation.warnings:
        if "acknowledge" in warning.actions:
            desk.acknowledge(warning.occurrence)
    for warning in desk.situation.warnings:
        if "close" in warning.actions:
            desk.close_warning(warning.occurrence, "measuring")


def gains(desk: Desk) -> set[str]:
    """Open warnings of gain that nobody has acknowledged."""
    return {w.occurrence for w in desk.situation.warnings if w.kind == "gain" and w.state == "raised"}


def measure(path: Path, end_ms: int) -> None:
    """Print the figures of one log."""
    app = application()
    hands = Hands(end_ms + 4 * MIN)
    program = Program(PreferencesFile(path.parent / "preferences.json"), hands.clock())
    began = time.perf_counter()
    assert program.open_log(path)
    program.window.show()
    app.processEvents()
    say("log opened and painted", [(time.perf_counter() - began) * 1000])
    desk = program.desk
    assert desk is not None
    desk._tick.stop()                   # time is moved by hand here: a tick would record the jump as not watched
    desk.set_on_watch("Test")
    whole, saved, disk = [], [], []
    for run in range(2 * RUNS + 1):
        quiet(desk, hands)
        while program.window._throttle.isActive() or desk._writer._job is not None:
            app.processEvents()
        hands.pass_(30)
        disk += [spent_sync(path.parent) for _ in range(3)]
        seen = Painted(program.window.strip._headline)
        before = gains(desk)
        assert not before, "the watch wasn't quiet"
        began = time.perf_counter()
        save(desk, STEP_M if run % 2 == 0 else -STEP_M)
        kept = time.perf_counter()
        if run % 2:
            continue                    # the way back: a loss, not measured
        assert gains(desk), "no warning of gain was raised"
        while not seen.seen:
            app.processEvents()
        done = seen.at
        assert program.window.strip.readings()[0].startswith("GAIN")
        if run:                         # the first warms up
            whole.append((done - began) * 1000)
            saved.append((kept - began) * 1000)
    say("saved round to painted warning", whole)
    say("of it, until the round is stored and judged", saved)
    say("raw append of 4 KiB and fdatasync", disk)
    sys.stdout.flush()
    assert statistics.median(whole) > 0
    program.window.close()
    program.close_log()


def spent_sync(folder: Path) -> float:
    """One raw commit [ms]."""
    began = time.perf_counter()
    sync(folder / "raw", 4096)
    return (time.perf_counter() - began) * 1000


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as temporary:
        if sys.argv[1] == "demo":
            now = round(time.time() * 1000)
            measure(demo.make_log(now, Path(temporary)), now)
        else:
            measure(*log_of_tour(Path(sys.argv[1]), Path(temporary)))
