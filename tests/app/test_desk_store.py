"""A desk whose disk fails, is full, was cut off, or belongs to somebody else: warned, in words, nothing lost."""

from __future__ import annotations

import errno
import json
import os
import signal
import sqlite3
import subprocess
import sys
import tempfile
import threading
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QCoreApplication

from app.real_desks import GAIN, MIN, NOW, OVERDUE, Bench, Hands, bench, make_log, rig_text
from builders import IN
from dipbook import store
from dipbook.errors import StoreBusyError, StoreDamagedError, StoreError, StoreNewerError
from dipbook.records import WARNING, Dip, Draft, Record
from dipbook.store import opening
from dipbook.watch import from_payload
from dipbook_app import alive, running
from dipbook_app.drafts import Drafts
from dipbook_app.journal import warning_draft
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program, _catch_bugs

pytestmark = pytest.mark.usefixtures("qapp")
FULL = "Saving to the log failed. The disk is full. Nothing of it was stored. Free some space."


@pytest.fixture
def hands() -> Hands:
    return Hands()


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return make_log(tmp_path / "a.dipbook", rig_text(GAIN))


class Door:
    """Stands before a store's append: fails for some kinds, or holds them up."""

    def __init__(self, b: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
        self.real = b.desk.store.append
        self.full: set[str] = set()
        self.open = threading.Event()
        self.open.set()
        self.tried: list[list[str]] = []
        monkeypatch.setattr(b.desk.store, "append", self.append)
        monkeypatch.setattr(b.desk._writer, "_append", self.append)

    def append(self, drafts: Sequence[Draft]) -> tuple[Record, ...]:
        self.tried.append([d.kind for d in drafts])
        assert self.open.wait(20)
        if "all" in self.full or any(d.kind in self.full for d in drafts):
            raise StoreError(FULL)
        return self.real(drafts)


def test_a_warning_is_shown_and_sounded_before_the_store_is_asked(
        path: Path, hands: Hands, monkeypatch: pytest.MonkeyPatch) -> None:
    with bench(path, hands) as b:
        door = Door(b, monkeypatch)
        b.round()
        b.pass_(30)
        order: list[str] = []
        real_put = b.desk._writer.put
        monkeypatch.setattr(b.desk._writer, "put", lambda drafts: (order.append("store"), real_put(drafts)))
        b.desk.situation_changed.connect(
            lambda s: order.append("shown, sounding" if s.warnings and s.warnings[0].sounding else "nothing"))
        b.round(62)
        assert order == ["shown, sounding", "store"]
        order.clear()
        b.desk.acknowledge(b.warnings[0].occurrence)
        assert order == ["nothing", "store"]
        door.open.set()


def test_a_slow_disk_holds_no_warning_up(path: Path, hands: Hands, monkeypatch: pytest.MonkeyPatch) -> None:
    with bench(path, hands) as b:
        door = Door(b, monkeypatch)
        b.round()
        b.pass_(30)
        b.round()
        b.settle()
        real, held = door.append, threading.Event()

        def slow(drafts: Sequence[Draft]) -> tuple[Record, ...]:
            held.set()
            assert door.open.wait(20)
            return door.real(drafts)

        monkeypatch.setattr(b.desk._writer, "_append", slow)
        door.open.clear()
        monkeypatch.setattr(b.desk.store, "append", lambda drafts: door.real(drafts))
        b.pass_(10)
        b.round(62)
        assert held.wait(20)
        assert b.states() == {"gain": "raised"}
        b.desk.acknowledge(b.warnings[0].occurrence)              # while the raise is being written
        assert b.states() == {"gain": "acknowledged"}
        assert b.situation.store_ok
        door.open.set()
        monkeypatch.setattr(b.desk._writer, "_append", real)
        assert b.journal() == [("gain", "ACT", "raised"), ("gain", "ACK", "acknowledged")]


def test_a_full_disk_silences_no_warning_and_it_is_stored_once_when_there_is_room(
        path: Path, hands: Hands, monkeypatch: pytest.MonkeyPatch) -> None:
    with bench(path, hands) as b:
        b.desk.set_on_watch("R. Moe")
        door = Door(b, monkeypatch)
        b.round()
        b.pass_(30)
        door.full = {WARNING}
        assert b.round(62)
        b.settle()
        assert b.states() == {"gain": "raised"}
        assert b.desk.sounding
        assert not b.situation.store_ok
        assert b.situation.store_text.startswith(FULL)
        assert "1 record waits to be stored" in b.situation.store_text
        b.desk.acknowledge(b.warnings[0].occurrence)
        b.pass_(1)
        b.settle()
        assert b.states() == {"gain": "acknowledged"}
        assert not b.situation.store_ok
        assert b.transitions() == ()
        door.full = set()
        b.pass_(1)
        b.settle()
        assert b.situation.store_ok
        assert b.situation.store_text.startswith("Log a.dipbook: ")
        assert b.journal() == [("gain", "ACT", "raised"), ("gain", "ACK", "acknowledged")]
        assert [r.learned_ms for r in b.transitions()] == [NOW + 30 * MIN] * 2
        assert not b.desk.store.verify()
    with bench(path, hands) as b:
        assert b.states() == {"gain": "acknowledged"}
        assert not b.desk.sounding


def test_a_round_that_can_t_be_stored_is_refused_with_the_draft_as_it_was(
        path: Path, hands: Hands, monkeypatch: pytest.MonkeyPatch) -> None:
    with bench(path, hands) as b:
        door = Door(b, monkeypatch)
        drafts = Drafts(b.desk.drafts_path)
        drafts.put("round", {"Suction": "62 in"})
        drafts.flush()
        before = b.desk.drafts_path.read_bytes()
        b.round()
        b.pass_(30)
        door.full = {"all"}
        shown = b.situation.difference_m3
        assert b.round(62) is False
        assert b.failed == [FULL]
        assert "Nothing of it was stored" in b.failed[0]
        (w,) = b.warnings
        assert (w.name, w.state, w.sounding, w.in_log) == ("gain", "raised", True, False), "the watch goes on"
        assert b.situation.difference_m3 == shown
        b.settle()
        assert b.journal() == []
        assert not b.situation.store_ok
        assert b.desk.drafts_path.read_bytes() == before
        found = b.desk.log_entry("remark", {"remark": "x"})
        assert [(f.code, f.what) for f in found] == [("store", FULL)]
        assert b.desk.set_limits([], author="T", reason="t")[-1].code == "store"
        door.full = set()
        assert b.round(62) is True
        assert b.situation.store_ok
        assert b.states() == {"gain": "raised"}


def test_a_log_that_is_full_from_the_start_still_watches(
        path: Path, hands: Hands, monkeypatch: pytest.MonkeyPatch) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(30)
        b.round(62)
        b.settle()
    hands.pass_(60)
    real = store.Store.append

    def refuse(self: store.Store, drafts: Sequence[Draft]) -> tuple[Record, ...]:
        raise StoreError(FULL)

    monkeypatch.setattr(store.Store, "append", refuse)
    with bench(path, hands) as b:
        b.settle()
        assert b.states() == {"gain": "raised"}
        assert b.desk.sounding
        assert not b.situation.store_ok
        monkeypatch.setattr(store.Store, "append", real)
        b.desk._writer._append = b.desk.store.append
        b.pass_(1)
        b.settle()
        assert b.situation.store_ok
        assert b.last_of("not watched").payload["from_ms"] == NOW + 30 * MIN


def test_the_real_full_disk_of_the_database(path: Path, hands: Hands) -> None:
    """SQLITE_FULL by max_page_count: what the database gets from a disk without room."""
    from sqlalchemy import event

    with bench(path, hands) as b:
        b.round()
        b.pass_(1)
        engine = b.desk.store._engine
        with engine.connect() as connection:
            pages = [connection.exec_driver_sql("PRAGMA page_count").scalar_one()]
        event.listen(engine, "checkout", lambda raw, *_: raw.execute(f"PRAGMA max_page_count = {pages[0]}"))
        n = 0
        while b.round(remark="x" * 3000):
            n += 1
            b.pass_(1)
            assert n < 30
        assert "The disk is full" in b.failed[-1]
        assert "Nothing of it was stored; everything stored before is as it was." in b.failed[-1]
        b.settle()
        assert not b.situation.store_ok
        assert len([r for r in b.situation.records if r.kind == "round"]) == n + 1
        pages[0] += 1000
        b.pass_(1)
        assert b.round(62)
        b.settle()
        assert b.situation.store_ok
        assert b.states() == {"gain": "raised"}
        assert not b.desk.store.verify()


def test_a_note_that_can_t_be_written_beside_the_log_is_said_and_takes_itself_back(
        path: Path, hands: Hands, monkeypatch: pytest.MonkeyPatch) -> None:
    with bench(path, hands) as b:
        def refuse(*_: Any, **__: Any) -> None:
            raise StoreError("The folder can't be written to.")

        with monkeypatch.context() as m:
            m.setattr(alive, "write_json", refuse)
            b.pass_(1)
            assert not b.situation.store_ok
            assert b.situation.store_text == "The folder can't be written to."
            assert b.round()
            assert not b.situation.store_ok
        b.pass_(1)
        assert b.situation.store_ok


NAN = float("nan")


def test_no_dip_that_is_no_number_reaches_the_store_nor_counts_as_its_failure(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        for dip in (Dip("Suction", hands.ms, "??", NAN), Dip("Suction", hands.ms, "", None),
                    Dip("Suction", hands.ms, "oo", volume_m3=float("inf"))):
            assert not b.desk.save_round([dip], start_ms=hands.ms, end_ms=hands.ms, observer="", author="")
            assert "what was typed is kept. The dip of Suction is no number" in b.failed[-1]
        assert b.situation.store_ok
        assert len(b.situation.records) == 1
        assert not b.desk.save_round([], start_ms=hands.ms, end_ms=hands.ms, observer="", author="")
        assert "Nothing was gauged" in b.failed[-1]


def test_an_unknown_tank_two_dips_at_once_and_a_future_time_are_refused(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        t = hands.ms

        def save(*dips: Dip, end_ms: int = t) -> bool:
            return b.desk.save_round(dips, start_ms=t, end_ms=end_ms, observer="", author="")

        assert not save(Dip("Sucton", t, "60 in", 60 * IN))
        assert "The rig has no tank called Sucton." in b.failed[-1]
        assert not save(Dip("Suction", t, "60 in", 60 * IN), Dip("Suction", t, "61 in", 61 * IN))
        assert "two dips at one time" in b.failed[-1]
        for late in (Dip("Suction", t + 2 * MIN, "60 in", 60 * IN), Dip("Suction", t, "60 in", 60 * IN)):
            assert not save(late, end_ms=t + 2 * MIN)
            assert "lies in the future" in b.failed[-1]
        assert b.log("remark", t + 2 * MIN, remark="x")[0].code == "future"
        (found,) = b.log("discard", t, t + 5 * MIN, from_="Suction", volume="2 bbl")
        assert (found.code, found.column) == ("future", "end")
        assert not b.log("discard", t, from_="Suction", rate="1 bbl/min", state="running")
        uid = b.last_of("discard").uid
        assert b.desk.stop_running(uid, end_ms=t + 5 * MIN, typed={"volume": "2 bbl"}, author="")[0].code == "future"
        hands.pass_(5)
        assert not b.desk.stop_running(uid, end_ms=t + 5 * MIN, typed={"volume": "2 bbl"}, author="")
        assert b.desk.stop_running(uid, end_ms=t + 5 * MIN, typed={"volume": "2 bbl"}, author="")[0].code == "gone"
        assert b.situation.store_ok
        assert len([r for r in b.situation.records if r.kind == "discard"]) == 2


def test_a_transition_without_numbers_can_be_stored_and_read_back(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
        b.pass_(30)
        b.round(62)
        good = from_payload(b.transitions()[0].payload)
    bad = replace(good, value=NAN, worst=float("inf"), evidence={**good.evidence, "u": NAN, "value": None},
                  alarm=replace(good.alarm, worst=NAN), basis=None, seen_t=None)
    with store.open(path) as log:
        (record,) = log.append([warning_draft(bad, b.situation.rig)])
    assert record.payload["value"] is record.payload["worst"] is record.payload["evidence"]["u"] is None
    assert from_payload(record.payload).alarm.worst is None
    json.dumps(record.payload, allow_nan=False)


def test_a_journal_line_that_can_t_be_read_is_counted_and_the_log_opens(path: Path, hands: Hands) -> None:
    with store.open(path) as log:
        log.append([Draft(WARNING, NOW, NOW, payload={"of": "another version"})])
    with bench(path, hands) as b:
        assert b.desk.unreadable == 1
        b.round()
        b.pass_(30)
        b.round(62)
        assert b.states() == {"gain": "raised"}


# --- crashes and others at the door ----------------------------------------------------------------------------------

CHILD = """
import sys
from pathlib import Path
from PySide6.QtCore import QCoreApplication
from app.real_desks import Bench, Hands
app = QCoreApplication([])
hands = Hands(int(sys.argv[2]))
b = Bench(Path(sys.argv[1]), hands)
b.round()
b.pass_(30)
b.round(62)
b.settle()
b.desk.acknowledge(b.warnings[0].occurrence)
b.settle()
print("ready", flush=True)
sys.stdin.read()
"""


def run_child(path: Path, hands: Hands) -> subprocess.Popen[str]:
    child = subprocess.Popen(
        [sys.executable, "-c", CHILD, str(path), str(hands.ms)], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        stderr=subprocess.PIPE, text=True,
        env=os.environ | {"PYTHONPATH": os.pathsep.join(sys.path), "QT_QPA_PLATFORM": "offscreen"})
    assert child.stdout is not None
    if child.stdout.readline() != "ready\n":
        raise AssertionError(child.communicate()[1])
    return child


@pytest.mark.skipif(sys.platform == "win32", reason="kill -9 is POSIX")
def test_a_killed_desk_loses_nothing_and_its_hours_are_recorded_as_not_watched(path: Path, hands: Hands) -> None:
    child = run_child(path, hands)
    with pytest.raises(StoreBusyError, match=r"Another Dipbook has this log open for writing.*Nothing was changed\."):
        store.open(path)
    child.send_signal(signal.SIGKILL)
    child.communicate()
    hands.pass_(90)
    with bench(path, hands) as b:
        b.settle()
        assert b.states() == {"gain": "acknowledged"}
        assert not b.desk.sounding
        gap = b.last_of("not watched")
        assert gap.payload == {"from_ms": NOW + 30 * MIN, "to_ms": NOW + 90 * MIN,
                               "cause": "the program had stopped without being closed"}
        assert not b.desk.store.verify()
        assert len([r for r in b.situation.records if r.kind == "round"]) == 2


@pytest.mark.parametrize(("away_min", "recorded"), [(60.0, 1), (0.4, 0)])
def test_hours_with_the_program_closed_are_recorded_as_not_watched(
        path: Path, hands: Hands, away_min: float, recorded: int) -> None:
    with bench(path, hands) as b:
        b.round()
    hands.pass_(away_min)
    with bench(path, hands) as b:
        b.settle()
        gaps = [r for r in b.situation.records if r.kind == "not watched"]
        assert len(gaps) == recorded
        if recorded:
            assert gaps[0].payload == {"from_ms": NOW, "to_ms": NOW + 60 * MIN, "cause": "the program was closed"}
            assert gaps[0].learned_ms == hands.ms


def test_a_log_without_its_note_counts_as_not_watched_since_its_last_record(path: Path, hands: Hands) -> None:
    with bench(path, hands) as b:
        b.round()
    alive.path_of(path).write_text("{torn")
    hands.pass_(60)
    with bench(path, hands) as b:
        b.settle()
        assert b.last_of("not watched").payload["cause"] == "nothing says that the program was running"
    alive.path_of(path).write_text('{"at_ms": "soon"}')
    assert alive.read(path) is None


def newer(path: Path) -> None:
    raw = sqlite3.connect(path)
    raw.execute("UPDATE alembic_version SET version_num = '9999'")
    raw.commit()
    raw.close()


def damaged(path: Path) -> None:
    path.write_bytes(b"SQLite format 3\0" + b"\xff" * 4096)


@pytest.mark.parametrize(("spoil", "kind", "words"), [
    (damaged, StoreDamagedError, "damaged"), (newer, StoreNewerError, "written by a newer Dipbook"),
    (lambda p: p.write_bytes(b""), StoreDamagedError, "is empty"),
    (lambda p: p.write_text("time,Suction\n"), StoreDamagedError, "not a log"),
    (lambda p: p.unlink(), StoreError, "There is no log at")])
def test_a_log_that_can_t_be_opened_is_told_in_words_and_the_window_stays(
        path: Path, hands: Hands, spoil: Any, kind: type[StoreError], words: str) -> None:
    spoil(path)
    with pytest.raises(kind):
        store.open(path, create=False)
    program = Program(PreferencesFile(path.with_name("p.json")), hands.clock())
    said: list[tuple[str, bool]] = []
    program.window.say = lambda text, bad=False: said.append((text, bad))  # type: ignore[method-assign]
    assert program.open_log(path) is False
    ((text, bad),) = said
    assert bad
    assert words in text
    assert "Nothing was changed" in text
    program.window.close()
    program.window.deleteLater()


def test_a_log_without_a_rig_is_told_in_words_and_let_go(tmp_path: Path, hands: Hands) -> None:
    path = tmp_path / "empty.dipbook"
    store.open(path).close()
    program = Program(PreferencesFile(tmp_path / "p.json"), hands.clock())
    said: list[str] = []
    program.window.say = lambda text, bad=False: said.append(text)  # type: ignore[method-assign]
    assert program.open_log(path) is False
    assert "holds no rig" in said[0]
    store.open(path).close()                           # it isn't locked any more
    program.window.close()
    program.window.deleteLater()


def test_a_folder_that_can_t_be_written_is_told_in_words(
        path: Path, hands: Hands, monkeypatch: pytest.MonkeyPatch) -> None:
    """The lock is the first thing written; permissions don't bind root, so the refusal is given by hand."""
    class Refusing:
        def acquire(self, **_: Any) -> None:
            raise PermissionError(errno.EACCES, "Permission denied")

    program = Program(PreferencesFile(path.with_name("p.json")), hands.clock())
    said: list[str] = []
    program.window.say = lambda text, bad=False: said.append(text)  # type: ignore[method-assign]
    with monkeypatch.context() as m:
        m.setattr(opening, "FileLock", lambda *_, **__: Refusing())
        assert program.open_log(path) is False
        program.open_rig(path.with_name("none.toml"))
        m.setattr(tempfile, "mkdtemp", lambda **_: (_ for _ in ()).throw(OSError(errno.ENOSPC, "No space left")))
        program.open_demo()
    assert "can't be written to" in said[0]
    assert "Allow this user to write there" in said[0]
    assert "none.toml" in said[1]
    assert "No space left" in said[2]
    program.window.close()
    program.window.deleteLater()


def test_a_bug_is_written_beside_the_log_and_said_also_when_the_disk_is_full(
        path: Path, hands: Hands, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    program = Program(PreferencesFile(path.with_name("p.json")), hands.clock())
    assert program.open_log(path)
    said: list[str] = []
    program.window.say = lambda text, bad=False: said.append(text)  # type: ignore[method-assign]
    monkeypatch.setattr(sys, "excepthook", sys.excepthook)
    _catch_bugs(program)
    bug = KeyError("no such mud")
    sys.excepthook(KeyError, bug, None)
    fault = path.with_name(path.name + ".fault.txt")
    assert "no such mud" in fault.read_text(encoding="utf-8")
    assert said == ["Something went wrong in the program; it is written in a.dipbook.fault.txt. What was saved is safe."]

    def full(*_: Any) -> None:
        raise StoreError(FULL)

    monkeypatch.setattr(running, "atomic_write", full)
    sys.excepthook(KeyError, bug, None)
    assert said[-1] == "Something went wrong in the program. What was saved is safe."
    assert "no such mud" in capsys.readouterr().err
    program.close_log()
    program.window.close()
    program.window.deleteLater()


def test_opening_the_log_that_is_open_already_says_so(path: Path, hands: Hands) -> None:
    program = Program(PreferencesFile(path.with_name("p.json")), hands.clock())
    assert program.open_log(path)
    said: list[str] = []
    program.window.say = lambda text, bad=False: said.append(text)  # type: ignore[method-assign]
    desk = program.desk
    assert program.open_log(path)
    assert program.desk is desk
    assert said == ["a.dipbook is open already."]
    program.close_log()
    program.window.close()
    program.window.deleteLater()
    QCoreApplication.processEvents()


def test_a_warning_that_is_over_and_unacknowledged_sounds_after_a_restart_too(tmp_path: Path, hands: Hands) -> None:
    path = make_log(tmp_path / "b.dipbook", rig_text(GAIN, OVERDUE))
    with bench(path, hands) as b:
        b.round()
        b.pass_(36)
        assert b.states() == {"overdue": "raised"}
        b.round(62)
        assert b.states() == {"gain": "raised", "overdue": "over"}
    with bench(path, hands) as b:
        assert b.states() == {"gain": "raised", "overdue": "over"}
        assert b.desk.sounding
        for w in b.warnings:
            b.desk.acknowledge(w.occurrence)
        assert b.states() == {"gain": "acknowledged"}
