"""Frames of the Watch page in the real window, and memory over a thousand of them: prints lines for measure.py.

    python tests/bench/repainted.py demo
    python tests/bench/repainted.py FOLDER       (with the files of tour.py in it)

A frame is from the call until the event loop has nothing left to paint, since a page's own time hides what Qt does later.
"""

from __future__ import annotations

import gc
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import paths  # noqa: F401  finds the packages in a checkout
import situations
from headless import say, say_value
from PySide6.QtWidgets import QApplication, QLabel, QMainWindow
from warned import MIN, STEP_M, Hands, log_of_tour, save

from dipbook.situation import Situation
from dipbook_app import demo
from dipbook_app.display import DisplayUnits
from dipbook_app.pages.watch import WatchPage
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program, application
from dipbook_app.stylesheet import stylesheet
from dipbook_app.theme import Look

RUNS = 15
SOAK = 1_000


def resident_mb() -> float:
    """Memory in use now [MB]."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * 4096 / 1e6


def measure(path: Path, end_ms: int) -> None:
    """Print the figures of one log."""
    app = application()
    hands = Hands(end_ms + 4 * MIN)
    program = Program(PreferencesFile(path.parent / "preferences.json"), hands.clock())
    assert program.open_log(path)
    desk, window = program.desk, program.window
    assert desk is not None
    window.resize(1280, 800)
    window.show()
    desk._tick.stop()                   # ticks are made here
    app.processEvents()

    def frame(work: Callable[[], object]) -> float:
        """The call, the pages at once (not a quarter of a second later) and all painting [ms]."""
        began = time.perf_counter()
        work()
        window._throttle.stop()
        window._paint_newest()
        app.processEvents()
        return (time.perf_counter() - began) * 1000

    def second() -> None:
        hands.pass_(1 / 60)
        desk.tick()

    steps = iter(range(10_000))

    def learned() -> None:
        save(desk, STEP_M if next(steps) % 2 else -STEP_M)

    def saved_round() -> float:
        for _ in range(60):             # a minute of ticks, so that no gap is recorded
            second()
        frame(lambda: None)
        return frame(learned)

    flip = iter(range(10_000))

    def resized() -> None:
        window.resize(1280 + next(flip) % 2 * 8, 800)

    def situation_again() -> None:
        window.show_situation(replace(desk.situation, trend=replace(desk.situation.trend)))

    say("floor: QLabel in a QMainWindow, text changed", floor(app))
    for name, work in (("a second passes (tick and page)", second), ("every part anew (units changed)", window.next_units),
                       ("trend and all words anew", situation_again), ("theme changed", window.switch_theme),
                       ("window resized", resized)):
        frame(work)
        say(name, [frame(work) for _ in range(RUNS)])
    saved_round()
    say("round saved: books, watch, strip and page", [saved_round() for _ in range(RUNS)])
    for _ in range(50):
        frame(second)
    gc.collect()
    before = resident_mb()
    times = []
    for i in range(SOAK):
        times.append(frame(situation_again if i % 10 == 0 else second))
    gc.collect()
    say_value("memory with the window open", before, "MB")
    say_value(f"memory grown over {SOAK} frames", resident_mb() - before, "MB")
    say("frame in the soak", times)
    window.close()
    program.close_log()


def by_situation(app: QApplication) -> None:
    """The Watch page alone: each situation shown after a quiet one, until all is painted."""
    page = WatchPage(Look())
    page.setStyleSheet(stylesheet(Look()))
    page.resize(1190, 654)
    page.show()
    units = DisplayUnits(situations.RIG)

    def frame(situation: Situation) -> float:
        began = time.perf_counter()
        page.show_situation(situation, units)
        app.processEvents()
        return (time.perf_counter() - began) * 1000

    for make in (situations.raised, situations.partial, situations.no_zero, situations.unwatched):
        quiet, times = [], []
        for i in range(RUNS + 1):
            back, there = frame(situations.quiet()), frame(make())
            if i:
                quiet.append(back)
                times.append(there)
        say(f"page alone: quiet → {make.__name__.replace('_', ' ')}", times)
        say(f"page alone: {make.__name__.replace('_', ' ')} → quiet", quiet)
    page.close()


def floor(app: object) -> list[float]:
    """What Qt needs to repaint next to nothing [ms]."""
    window = QMainWindow()
    label = QLabel("0")
    window.setCentralWidget(label)
    window.resize(1280, 800)
    window.show()
    app.processEvents()                 # type: ignore[attr-defined]
    times = []
    for i in range(RUNS):
        began = time.perf_counter()
        label.setText(str(i))
        app.processEvents()             # type: ignore[attr-defined]
        times.append((time.perf_counter() - began) * 1000)
    window.close()
    return times


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as temporary:
        if sys.argv[1] == "demo":
            now = round(time.time() * 1000)
            measure(demo.make_log(now, Path(temporary)), now)
            by_situation(application())
        else:
            measure(*log_of_tour(Path(sys.argv[1]), Path(temporary)))
