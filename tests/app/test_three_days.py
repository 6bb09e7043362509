"""Three days of watch at ten readings a second, as fast as the machine goes; and a window switched 500 times.

    python -m pytest -n0 -s -m slow tests/app/test_three_days.py

Nothing feeds the program live: what a sensor would have said is stored by half hours, as an import of it is. Invented.
"""

from __future__ import annotations

import ctypes
import gc
import sys
import threading
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QObject, QTimer
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from real_desks import GAIN, IN, NOW, OVERDUE, Bench, Hands, bench, make_log, rig_text
from shiboken6 import isValid
from test_soak import resident_mb

from dipbook.records import SAMPLES, Block
from dipbook_app import demo
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program
from dipbook_app.window import Window

STATM = Path("/proc/self/statm")
pytestmark = [pytest.mark.slow, pytest.mark.skipif(not STATM.exists(), reason="memory and handles are read from /proc")]

HOURS, BATCH_S, TICK_S, RATE = 72, 1_800, 20, 10
TANKS = ("Settling", "Suction")
FROM_BATCH = HOURS * 3600 // BATCH_S - 2
"""In the last hour the suction tank holds 3 in (10.7 bbl) more: a gain over the limit of 5 bbl."""
ZEROED_EACH = 24
"""Half hours: a tour."""
MOST_MORE = 1.25
"""A desk that lived through it may hold so much more than half way through: the allocator keeps some back."""


def settled_mb() -> float:
    for _ in range(3):
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
        QCoreApplication.processEvents()
    gc.collect()
    ctypes.CDLL(None).malloc_trim(0)
    return resident_mb()


def half_an_hour(b: Bench, n: int, chance: np.random.Generator) -> None:
    """It passes, with its ticks; then what was sampled in it is stored and learned."""
    begin = b.hands.ms
    for _ in range(BATCH_S // TICK_S):
        b.hands.pass_(TICK_S / 60)
        b.desk.tick()
    t = begin + 1000 // RATE * np.arange(1, BATCH_S * RATE + 1, dtype=np.int64)
    more = 3 * IN if n >= FROM_BATCH else 0.0
    blocks = tuple(Block(f"tank:{name}:level", t, 60 * IN + more * (name == "Suction") + chance.normal(0.0, 0.002, len(t))) for name in TANKS)
    draft = replace(b.desk._draft(SAMPLES, begin, {"source": "sensor"}, "sensor"), blocks=blocks)
    records = b.desk._append([draft])
    assert records is not None
    b.desk._learned(records)
    if n % ZEROED_EACH == 0:
        assert not b.log("zero", reason="start of tour")
    b.desk._look_at_gauges()        # which lets go what is no longer needed; a timer asks for it once there is nothing else to do
    QCoreApplication.processEvents()
    b.shown.clear()


def test_three_days_at_ten_a_second_lose_nothing_and_the_last_hour_still_warns(tmp_path: Path, qapp: QApplication) -> None:
    hands, chance = Hands(), np.random.default_rng(1)
    path = make_log(tmp_path / "long.dipbook", rig_text(GAIN, OVERDUE))
    before = settled_mb()
    with bench(path, hands) as b:
        b.round()
        for n in range(HOURS * 3600 // BATCH_S):
            assert "gain" not in b.states()
            half_an_hour(b, n, chance)
            if n == FROM_BATCH // 2:
                half = settled_mb() - before
            if n == FROM_BATCH:
                break
        assert b.states().get("gain") == "raised", "after three days it warns as on the first"
        half_an_hour(b, FROM_BATCH + 1, chance)
        b.settle()
        lived, threads = settled_mb() - before, threading.active_count()
        assert b.desk.store.verify() == ()
        held = [block for r in b.desk.store.records(kinds=[SAMPLES]) for block in r.blocks]
        for name in TANKS:
            assert sum(len(block.t_ms) for block in held if block.channel == f"tank:{name}:level") == HOURS * 3600 * RATE
        assert not b.failed
        del held
    del b
    closed = settled_mb() - before
    with bench(path, hands) as again:
        again.shown.clear()
        opened = settled_mb() - before
        assert again.states().get("gain") == "raised"
    sys.stdout.write(f"\n{HOURS} h, {len(TANKS)} x {HOURS * 3600 * RATE:,} readings: half way {half:.0f} MB, lived through {lived:.0f} MB, closed {closed:.0f} MB, "
                     f"opened anew {opened:.0f} MB, {threads} threads, log {path.stat().st_size / 1e6:.0f} MB\n")
    assert lived < half * MOST_MORE, "it doesn't grow with the log"
    assert closed < lived / 4, "a log that is closed is let go"
    assert lived < (opened - closed) * 2, "by a day at the most, which it lets go once it has a whole day too much"


def counted(window: Window) -> dict[str, int]:
    for _ in range(3):
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
        QCoreApplication.processEvents()
    gc.collect()
    timers = [item for item in gc.get_objects() if isinstance(item, QTimer) and isValid(item)]
    return {"widgets": len(QApplication.allWidgets()), "objects": len(window.findChildren(QObject)), "timers": len(timers),
            "running": sum(t.isActive() for t in timers), "threads": threading.active_count(), "handles": len(list(Path("/proc/self/fd").iterdir()))}


def test_500_switches_of_page_leave_no_timer_thread_handle_or_widget(tmp_path: Path, qtbot: QtBot) -> None:
    hands = Hands()
    program = Program(PreferencesFile(tmp_path / "preferences.json"), hands.clock())
    qtbot.addWidget(program.window)
    try:
        program.open_log(demo.make_log(NOW, tmp_path))
        program.window.show()
        assert program.desk is not None
        program.desk._tick.stop()       # its time is moved by hand
        names = list(program.window._pages)
        assert len(names) >= 10

        def switch(times: int) -> None:
            for n in range(times):
                name = names[n % len(names)]
                program.window.show_page(name)
                assert program.window.page == name
                hands.pass_(1 / 60)
                program.desk.tick()
                program.window._throttle.stop()
                program.window._paint_newest()
                QCoreApplication.processEvents()
        rounds = -(-500 // len(names))
        switch(5 * len(names))
        before, mb = counted(program.window), settled_mb()
        switch(rounds * len(names))     # ends on the page on which it began
        after, more = counted(program.window), settled_mb() - mb
        sys.stdout.write(f"\n{rounds * len(names)} switches over {len(names)} pages: {before} -> {after}, {more:+.1f} MB\n")
        assert all(after[what] <= count for what, count in before.items())      # a timer that had been waiting may have run
        assert more < 10
    finally:
        program.window.close()
        program.close_log()
        program.window.deleteLater()
