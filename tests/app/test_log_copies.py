"""Copies of the log in use, made by themselves, and what is had back from them by command. Invented."""

from __future__ import annotations

from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.real_desks import GAIN, Hands, make_log, rig_text
from dipbook import store
from dipbook.store import kept_copies
from dipbook_app import demo
from dipbook_app.cli import main
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program


@pytest.fixture
def program(tmp_path: Path, qtbot: QtBot, qapp: object):
    hands = Hands()
    made = Program(PreferencesFile(tmp_path / "p.json"), hands.clock())
    made.hands = hands
    yield made
    made.window.close()
    made.close_log()
    made.window.deleteLater()


def copied(program: Program) -> None:
    program.log_copies.copy()
    if program.log_copies.thread_now is not None:
        program.log_copies.thread_now.join(20)


def test_the_log_in_use_is_copied_and_had_back_by_command(program: Program, tmp_path: Path, capsys) -> None:
    path = make_log(tmp_path / "a.dipbook", rig_text(GAIN), program.hands.ms - 60_000)
    program.open_log(path)
    assert program.log_copies._timer.isActive()
    copied(program)
    program.desk.log_entry("remark", {"remark": "after the copy"}, author="R. Moe")
    [copy] = kept_copies.copies(path)
    assert main(["restore", str(copy.path), str(tmp_path / "back.dipbook")]) == 0
    with store.open(tmp_path / "back.dipbook", write=False) as back:
        assert back.verify() == ()
        assert "remark" not in {r.kind for r in back.records()}
    program.close_log()
    assert not program.log_copies._timer.isActive()
    assert main(["salvage", str(path), str(tmp_path / "saved.dipbook")]) == 0
    with store.open(tmp_path / "saved.dipbook", write=False) as saved:
        assert saved.verify() == ()
        assert [r.payload.get("remark") for r in saved.records(kinds=["remark"])][:1] == ["after the copy"]
    assert "as they were" in capsys.readouterr().out
    assert main(["restore", str(copy.path), str(tmp_path / "back.dipbook")]) != 0, "never over a file"


def test_no_copies_are_kept_of_a_demo(program: Program) -> None:
    program.open_demo()
    assert program.desk.situation.records[0].station == demo.STATION
    assert not program.log_copies._timer.isActive()


def test_a_copy_that_fails_is_said_and_the_log_goes_on(program: Program, tmp_path: Path, qtbot: QtBot,
                                                       monkeypatch: pytest.MonkeyPatch) -> None:
    path = make_log(tmp_path / "a.dipbook", rig_text(GAIN), program.hands.ms - 60_000)
    program.open_log(path)
    kept_copies.folder_of(path).write_text("a file in the way")
    with qtbot.waitSignal(program.log_copies.failed) as said:
        copied(program)
    assert said.args[0].startswith("No copy of the log was made.")
    assert not program.desk.log_entry("remark", {"remark": "goes on"}, author="R. Moe")
