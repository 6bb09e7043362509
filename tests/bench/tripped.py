"""A row of a trip's sheet, on the real desk, log and window: prints lines for measure.py.

    python tests/bench/tripped.py

With the demo's trips in the log, three of them with some 250 rows and rounds of nine tanks in between. What is worked out at
each key of a level, and from Enter to the end of the frame in which the page shows the row.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from pathlib import Path

import paths  # noqa: F401  finds the packages in a checkout

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from headless import say
from warned import Hands, Painted

from dipbook_app import demo_trips
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program, application

RUNS = 15
STEP_IN = 2.4
"""What a stand takes of the trip tank [in]."""


def measure(path: Path, end_ms: int) -> None:
    """Print the figures of one log."""
    app = application()
    hands = Hands(end_ms + 60_000)
    program = Program(PreferencesFile(path.parent / "preferences.json"), hands.clock())
    assert program.open_log(path)
    program.window.show()
    program.window.show_page("Trip")
    app.processEvents()
    desk = program.desk
    assert desk is not None
    desk._tick.stop()
    typed, saved = [], []
    level = 24.0
    for run in range(RUNS + 1):
        hands.pass_(4)
        trip = desk.situation.trip
        assert trip is not None
        assert trip.next_bit_m is not None
        level = level - STEP_IN if level > 2 * STEP_IN else 100.0
        row = {"stand": str(trip.next_stand), "bit depth": f"{trip.next_bit_m:.3f} m"}
        began = time.perf_counter()
        desk.trip_preview("stand", row, {"Trip": f"{level:.2f}"})
        worked_out = time.perf_counter()
        seen = Painted(program.window.open_page("Trip").sheet.viewport())
        found = desk.save_trip_row("stand", row, {"Trip": f"{level:.2f}"}, author="Test")
        assert not [f for f in found if f.severity == "error"], found
        while not seen.seen:
            app.processEvents()
        done = time.perf_counter()
        if run:                         # the first warms up
            typed.append((worked_out - began) * 1000)
            saved.append((done - worked_out) * 1000)
        while program.window._throttle.isActive() or desk._writer._job is not None:
            app.processEvents()
    say("worked out while a level is typed", typed)
    say("saved row to painted sheet", saved)
    sys.stdout.flush()
    program.window.close()
    program.close_log()


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as temporary:
        now = round(time.time() * 1000)
        measure(demo_trips.make_log(now, Path(temporary)), now)
