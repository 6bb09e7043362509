"""What is typed survives the program: kept at once, replaced as a whole, restored after a kill."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from desks import RecordingDesk
from pytestqt.qtbot import QtBot

from dipbook_app.drafts import DELAY_MS, Drafts
from dipbook_app.pages.round import RoundPage

TESTS = Path(__file__).parents[1]
KEPT_WITHIN_MS = 300

TYPING = """
import sys
from pathlib import Path
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
app = QApplication([])
from desks import RecordingDesk
from dipbook_app.drafts import Drafts
from dipbook_app.pages.round import RoundPage
desk = RecordingDesk(Path(sys.argv[1]))
page = RoundPage(desk, Drafts(desk.drafts_path))
page.show()
page.head.set_text("observer", "J. Ek")
QTest.keyClicks(page.row("Settling").stick, "5' 3 1/2\\"")
QTest.keyClicks(page.row("Suction").stick, "63.")
print("typed", flush=True)
app.exec()
"""


def test_a_round_survives_a_kill_in_the_middle_of_a_word(tmp_path: Path, qtbot: QtBot) -> None:
    path = tmp_path / "log.drafts.json"
    program = subprocess.Popen(
        [sys.executable, "-c", TYPING, str(path)], stdout=subprocess.PIPE, text=True,
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen",
             "PYTHONPATH": ":".join(str(p) for p in (TESTS, TESTS / "app", TESTS.parent / "core", TESTS.parent / "app"))})
    try:
        assert program.stdout is not None
        assert program.stdout.readline() == "typed\n"
        qtbot.waitUntil(lambda: path.exists() and "63." in path.read_text(encoding="utf-8"), timeout=5000)
    finally:
        program.kill()
        program.communicate()
    assert program.returncode == -signal.SIGKILL
    desk = RecordingDesk(path)
    page = RoundPage(desk, Drafts(path))  # type: ignore[arg-type]
    qtbot.addWidget(page)
    page.show()
    assert page.row("Settling").stick.text() == "5' 3 1/2\""
    assert page.row("Suction").stick.text() == "63."
    assert page.head.text("observer") == "J. Ek"
    assert page.restored.text() == "Round begun 02:15 restored."
    assert page.focusWidget() is page.row("Reserve 1").stick, "it goes on where it was left"


def test_a_restored_round_keeps_its_times(tmp_path: Path, qtbot: QtBot) -> None:
    desk = RecordingDesk(tmp_path / "d.json")
    first = RoundPage(desk, Drafts(desk.drafts_path))  # type: ignore[arg-type]
    qtbot.addWidget(first)
    first.show()
    desk.now += 60_000
    for row in first.rows:
        row.stick.setText("60")
    first.drafts.flush()
    desk.now += 8 * 3_600_000
    second = RoundPage(desk, Drafts(desk.drafts_path))  # type: ignore[arg-type]
    qtbot.addWidget(second)
    second.show()
    second.save()
    asked = desk.asked[0][1]
    assert asked["end_ms"] - asked["start_ms"] == 60_000, "the hours in between were not gauging"
    assert Drafts(desk.drafts_path).get("round") is None, "a saved round leaves no draft"


def test_a_change_is_written_within_its_delay(tmp_path: Path, qtbot: QtBot) -> None:
    drafts = Drafts(tmp_path / "d.json")
    drafts.put("round", {"rows": {"A": "1"}})
    assert DELAY_MS <= KEPT_WITHIN_MS
    qtbot.waitUntil(lambda: drafts.path.exists(), timeout=2000)
    assert Drafts(drafts.path).get("round") == {"rows": {"A": "1"}}


def test_going_on_typing_does_not_put_the_writing_off(tmp_path: Path, qtbot: QtBot) -> None:
    drafts = Drafts(tmp_path / "d.json")
    drafts.put("round", {"n": 0})
    left = drafts._timer.remainingTime()
    drafts.put("round", {"n": 1})
    assert drafts._timer.remainingTime() <= left
    drafts.flush()


def test_no_half_written_file_takes_the_drafts_place(tmp_path: Path, qtbot: QtBot,
                                                     monkeypatch: pytest.MonkeyPatch) -> None:
    drafts = Drafts(tmp_path / "d.json")
    drafts.put("round", {"n": 1})
    drafts.flush()

    def full(_fd: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("dipbook_app.drafts.os.fsync", full)
    said: list[str] = []
    drafts.failed.connect(said.append)
    drafts.put("round", {"n": 2})
    drafts.flush()
    drafts.put("round", {"n": 3})
    drafts.flush()
    assert json.loads(drafts.path.read_text(encoding="utf-8"))["drafts"]["round"] == {"n": 1}
    assert len(said) == 1, "said once, not at every key"
    assert "No space left on device" in said[0]
    assert drafts.get("round") == {"n": 3}, "it stays on the screen"


def test_a_folder_that_is_gone_is_said_in_words(tmp_path: Path, qtbot: QtBot) -> None:
    drafts = Drafts(tmp_path / "gone" / "d.json")
    with qtbot.waitSignal(drafts.failed) as said:
        drafts.put("round", {"n": 1})
        drafts.flush()
    assert said.args[0].startswith("The draft could not be kept on the disk")


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b'{"drafts": 3}', b"\xff\xfe\x00", b'{"drafts": {"round": 1}}'])
def test_a_damaged_draft_is_put_aside_and_said(tmp_path: Path, content: bytes, qtbot: QtBot) -> None:
    path = tmp_path / "d.json"
    path.write_bytes(content)
    drafts = Drafts(path)
    assert drafts.get("round") is None
    assert "put aside" in drafts.problem
    assert (tmp_path / "d.json.unreadable").read_bytes() == content
    desk = RecordingDesk(path)
    page = RoundPage(desk, drafts)  # type: ignore[arg-type]
    qtbot.addWidget(page)
    page.show()
    assert "put aside" in page.restored.text()


def test_a_draft_of_a_tank_that_is_gone_says_so(tmp_path: Path, qtbot: QtBot) -> None:
    drafts = Drafts(tmp_path / "d.json")
    drafts.put("round", {"start": ["02:05", 1_772_352_300_000], "rows": {"Old pit": {"stick": "60"}}})
    drafts.flush()
    desk = RecordingDesk(drafts.path)
    page = RoundPage(desk, Drafts(drafts.path))  # type: ignore[arg-type]
    qtbot.addWidget(page)
    assert page.restored.text() == "Round begun 02:05 restored. No longer in the rig, left out: Old pit."


@pytest.mark.parametrize("content", [{"start": "x"}, {"start": ["02:05", "soon"]}, {"rows": [1]}, {"rows": {"A": 3}},
                                     {"last_ms": "x"}, {"head": 1}])
def test_a_draft_that_makes_no_sense_never_stops_the_page(tmp_path: Path, qtbot: QtBot, content: object) -> None:
    path = tmp_path / "d.json"
    path.write_text(json.dumps({"format": 1, "drafts": {"round": content}}), encoding="utf-8")
    desk = RecordingDesk(path)
    page = RoundPage(desk, Drafts(path))  # type: ignore[arg-type]
    qtbot.addWidget(page)
    page.show()
    assert "could not be read" in page.restored.text()
    assert not page.in_progress
