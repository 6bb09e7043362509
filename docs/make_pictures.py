"""Make the pictures in docs/pictures from the demo, without a display.

    python docs/make_pictures.py [FOLDER]

Watch and Round at 1280×800 and 1920×1080; Trip, Connections, Warnings and Review, day and night; a drill from its
set-up to its debrief; the other pages once.
Look at them afterwards.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "offscreen"

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from dipbook_app import demo, demo_trips
from dipbook_app.clock import Clock
from dipbook_app.page_names import DRILL, REVIEW, WARNINGS
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program, application
from dipbook_app.window import LINE_UP

SIZES = ((1280, 800), (1920, 1080))
DIPS = ("84", "80 1/4", "78", "=", "2' 6\"", "55.5")
"""Typed in the picture of a round: not all tanks, so that what is missing shows."""
SCENARIO, SEED, TRAINEE = "kick-connection", 5, "A. Example (invented)"
"""The drill in the pictures."""
NOW = 1_767_700_840.0
"""The demo's night has just ended: 2026-01-06 06:00:40 rig time, plus four minutes [s since 1970]."""


def settle(app: QApplication) -> None:
    """Let the window paint."""
    for _ in range(5):
        app.processEvents()
        QTest.qWait(60)


def wait_for(over: Callable[[], bool]) -> None:
    """Until work on another thread is over, half a minute at the most."""
    for _ in range(1_500):
        if over():
            return
        QTest.qWait(20)
    raise SystemExit("the page never came to its end")


def shoot(program: Program, app: QApplication, path: Path, size: tuple[int, int]) -> None:
    """Save the window at a size [px]."""
    program.window.resize(*size)
    settle(app)
    program.window.grab().save(str(path))
    print(path.name)


def type_round(program: Program) -> None:
    """Key part of a round, as a derrickhand would."""
    program.window.act("round")
    for text in DIPS:
        target = QApplication.focusWidget()
        QTest.keyClicks(target, text)
        QTest.keyClick(target, Qt.Key.Key_Return)


def shoot_drill(program: Program, app: QApplication, folder: Path, drills: Path) -> None:
    """A training drill: set up, under way with its warning open, and gone through, as it was shown and with the
    truth."""
    window = program.window
    program.drills.into, program.drills.ticking = drills, False
    window.show_page(DRILL)
    window.drill.choose(SCENARIO)
    window.drill.trainee.setText(TRAINEE)
    window.drill.instructor.setText("I. Example (invented)")
    window.drill.seed.setText(str(SEED))
    shoot(program, app, folder / "drill-set-up-day-1280x800.png", SIZES[0])
    window.drill.begin()
    driver = program.drills.driver
    assert driver is not None
    while not driver.desk.situation.warnings:
        driver.second()
    for _ in range(90):
        driver.second()
    driver.desk.tick()
    for theme in ("day", "night"):
        window.show_page("Watch")
        window.say("")
        shoot(program, app, folder / f"drill-{theme}-1280x800.png", SIZES[0])
        window.switch_theme()
    driver.tell_driller()
    driver.flow_check()
    for _ in range(240):
        driver.second()
    driver.desk.log_entry("flow check", {"result": "flowing", "seen by": TRAINEE}, t_ms=driver.run.t_ms - 240_000,
                          end_ms=driver.run.t_ms, author=TRAINEE)
    for act in (driver.space_out, driver.shut_in):
        act()
        for _ in range(60):
            driver.second()
    driver.name("kick")
    program.drills.end()
    program.debriefs.open(driver.folder)
    view = program.debriefs.page.view
    view.go_to(driver.run.t_ms - 390_000)
    for theme in ("day", "night"):
        window.say("")
        shoot(program, app, folder / f"debrief-{theme}-1280x800.png", SIZES[0])
        view.show_truth()
        view.go_to(driver.run.t_ms)
        window.say("")
        shoot(program, app, folder / f"debrief-truth-{theme}-1280x800.png", SIZES[0])
        view.show_truth()
        view.go_to(driver.run.t_ms - 390_000)
        window.switch_theme()


def main(folder: Path) -> None:
    """Make all pictures into ``folder``."""
    folder.mkdir(parents=True, exist_ok=True)
    app = application()
    with tempfile.TemporaryDirectory() as place:
        steady = [0.0]
        clock = Clock(wall=lambda: NOW + 240 + steady[0], steady=lambda: steady[0])
        program = Program(PreferencesFile(Path(place) / "preferences.json"), clock)
        program.window.show()
        shoot(program, app, folder / "start-day-1280x800.png", SIZES[0])
        program.open_log(demo.make_log(clock.now_ms(), Path(place)))
        for theme in ("day", "night"):
            if program.preferences.now.theme != theme:
                program.window.switch_theme()
            for size in SIZES:
                program.window.show_page("Watch")
                shoot(program, app, folder / f"watch-{theme}-{size[0]}x{size[1]}.png", size)
                if theme == "day" and size == SIZES[0]:
                    type_round(program)
                program.window.show_page("Round")
                shoot(program, app, folder / f"round-{theme}-{size[0]}x{size[1]}.png", size)
        program.window.switch_theme()
        program.window.show_page(LINE_UP)
        shoot(program, app, folder / "line-up-day-1280x800.png", SIZES[0])
        program.window.show_page("Log")
        shoot(program, app, folder / "log-day-1280x800.png", SIZES[0])
        program.window.act("transfer")
        shoot(program, app, folder / "entry-day-1280x800.png", SIZES[0])
        program.window.show_page("Limits")
        shoot(program, app, folder / "limits-day-1280x800.png", SIZES[0])
        program.window.show_page("Rig")
        shoot(program, app, folder / "rig-day-1280x800.png", SIZES[0])
        program.window.open_page("Rig").show_section("Hole and string")
        shoot(program, app, folder / "rig-hole-day-1280x800.png", SIZES[0])
        for theme in ("day", "night"):
            program.window.show_page(WARNINGS)
            shoot(program, app, folder / f"warnings-{theme}-1280x800.png", SIZES[0])
            program.window.switch_theme()
        program.window.open_page(WARNINGS).turn()
        shoot(program, app, folder / "watched-day-1280x800.png", SIZES[0])
        review = program.window.open_page(REVIEW)
        review.go(-1)
        for theme in ("day", "night"):
            program.window.show_page(REVIEW)
            for section in ("Trend", "Reconciliation"):
                review.show_section(section)
                wait_for(lambda: not review.working)
                shoot(program, app, folder / f"review-{section.lower()}-{theme}-1280x800.png", SIZES[0])
            program.window.switch_theme()
        others = (("Trip", demo_trips.make_log(clock.now_ms(), Path(place))),
                  ("Connections", demo.make_log(clock.now_ms(), Path(place), connections=True)))
        for page, log in others:
            program.close_log()
            program.open_log(log)
            for theme in ("day", "night"):
                program.window.show_page(page)
                shoot(program, app, folder / f"{page.lower()}-{theme}-1280x800.png", SIZES[0])
                program.window.switch_theme()
        program.close_log()
        shoot_drill(program, app, folder, Path(place) / "drills")
        program.window.close()
        program.close_log()


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent / "pictures")
