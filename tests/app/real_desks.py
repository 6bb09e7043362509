"""A real desk on a real log in a temporary folder, with a clock that only a test moves. Everything here is invented."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from PySide6.QtCore import QCoreApplication

from builders import IN
from dipbook import store
from dipbook.findings import Finding
from dipbook.records import RIG, WARNING, Dip, Draft, Record
from dipbook.rig import document
from dipbook.situation import Situation, WarningView
from dipbook_app.clock import Clock
from dipbook_app.desk import Desk
from dipbook_app.page_names import LOG
from dipbook_app.running import Program

NOW = 1_772_352_900_000
"""2026-03-01 02:15:00 at UTC−06:00."""
MIN = 60_000

TANK = """
[[tank]]
name = "{name}"
role = "{role}"
active = {active}
order = {order}
gauge = "up"
dip_error = "1/4 in"
brim = "9 ft"
percent_of = "level"
[tank.shape]
kind = "box"
length = "30 ft"
width = "8 ft"
height = "9 ft"
"""
HEAD = """rig = {{ name = "Invented 2", invented = true }}
zone = "{zone}"
decimal = "."
[units]
level = "in"
volume = "bbl"
length = "ft"
density = "lbm/gal[US]"
flow = "gal[US]/min"
"""
GAIN = """
[[limit]]
name = "gain"
kind = "gain"
on = "active"
activity = "any"
value = "5 bbl"
deadband = "2 bbl"
growth = "2 bbl"
after = "1 reading"
set_by = "Test"
reason = "test value"
since = "2026-03-01"
"""
OVERDUE = """
[[limit]]
name = "overdue"
kind = "overdue"
on = "active"
activity = "any"
value = "35 min"
set_by = "Test"
reason = "test value"
since = "2026-03-01"
"""


def rig_text(*limits: str, zone: str = "Etc/GMT+6") -> str:
    """Two active boxes and a reserve box; an inch of level is 3.562 bbl."""
    tanks = [("Settling", "settling", "true"), ("Suction", "suction", "true"), ("Reserve 1", "reserve", "false")]
    return HEAD.format(zone=zone) + "".join(
        TANK.format(name=n, role=r, active=a, order=i) for i, (n, r, a) in enumerate(tanks, 1)) + "".join(limits)


class Hands:
    """The hands of both clocks."""

    def __init__(self, now_ms: int = NOW) -> None:
        self.wall, self.steady = now_ms / 1000, 0.0

    def pass_(self, minutes: float) -> None:
        """Time passes."""
        self.wall += minutes * 60
        self.steady += minutes * 60

    def clock(self) -> Clock:
        return Clock(lambda: self.wall, lambda: self.steady)

    @property
    def ms(self) -> int:
        return round(self.wall * 1000)


def make_log(path: Path, text: str, at_ms: int = NOW) -> Path:
    """A log that holds a rig and nothing else."""
    with store.open(path, station="test") as log:
        log.append([Draft(RIG, at_ms, at_ms, author="Test", reason="test", payload={
            "text": text, "digest": document.parse(text, "rig").digest, "effective": "change"})])
    return path


class Bench:
    """A desk on a bench: opened on a log, its signals written down."""

    def __init__(self, path: Path, hands: Hands) -> None:
        self.path, self.hands = path, hands
        self.desk = Desk(store.open(path, station="test"), hands.clock(), ticking=False)
        self.said: list[str] = []
        self.failed: list[str] = []
        self.shown: list[Situation] = []
        self.desk.said.connect(self.said.append)
        self.desk.failed.connect(self.failed.append)
        self.desk.situation_changed.connect(self.shown.append)

    @property
    def situation(self) -> Situation:
        return self.desk.situation

    @property
    def warnings(self) -> tuple[WarningView, ...]:
        return self.desk.situation.warnings

    def states(self) -> dict[str, str]:
        """Limit -> state of its open warning."""
        return {w.name: w.state for w in self.warnings}

    def pass_(self, minutes: float) -> None:
        """Time passes, a tick every 20 s of it."""
        for _ in range(round(minutes * 3)):
            self.hands.pass_(1 / 3)
            self.desk.tick()

    def round(self, suction: float | None = 60.0, settling: float | None = 60.0, reserve: float | None = 60.0,
              t_ms: int | None = None, **other: Any) -> bool:
        """Save a round of dips [in]; None is a tank not gauged."""
        t = self.desk.now_ms() if t_ms is None else t_ms
        dips = tuple(Dip(n, t, f"{v} in", v * IN)
                     for n, v in (("Settling", settling), ("Suction", suction), ("Reserve 1", reserve)) if v is not None)
        return self.desk.save_round(dips, start_ms=t, end_ms=t, observer="Derrickman", author="R. Moe", **other)

    def log(self, kind: str, t_ms: int | None = None, end_ms: int | None = None, **typed: str) -> tuple[Finding, ...]:
        """Log an entry; the findings that refuse it."""
        found = self.desk.log_entry(kind, {k.rstrip("_").replace("_", " "): v for k, v in typed.items()}, t_ms=t_ms,
                                    end_ms=end_ms, author="R. Moe")
        return tuple(f for f in found if f.severity == "error")

    def settle(self) -> None:
        """Until what the watch wrote is on the disk, or was tried and refused."""
        writer = self.desk._writer
        for _ in range(100):
            if writer._job is None:
                break
            writer._job.exception()
            QCoreApplication.processEvents()
            writer._collect()
        self.desk._show()

    def journal(self) -> list[tuple[str, str, str]]:
        """(limit, event, state) of every transition on the disk, in order."""
        return [(r.payload["name"], r.payload["event"], r.payload["state"]) for r in self.transitions()]

    def transitions(self) -> tuple[Record, ...]:
        """Their records."""
        self.settle()
        return self.desk.store.records(kinds=[WARNING])

    def last_of(self, kind: str) -> Record:
        return [r for r in self.situation.records if r.kind == kind][-1]


@contextmanager
def bench(path: Path, hands: Hands) -> Iterator[Bench]:
    """A bench, its desk closed at the end."""
    made = Bench(path, hands)
    try:
        yield made
    finally:
        made.desk.close()
        made.desk.deleteLater()


def put_away(program: Program) -> None:
    """Close a program that a test is done with: its log, and a window that no timer wakes any more."""
    page = program.window._pages.made.get(LOG)
    if page is not None:
        page.running._timer.stop()
    program.window.close()
    program.close_log()
    program.window.deleteLater()
