"""Opening logs from the Start page at any time, and what is said of a log that isn't what was written."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot
from real_desks import GAIN, Hands, bench, make_log, put_away, rig_text

from dipbook.findings import Finding
from dipbook.store.sqlite import trigger_texts
from dipbook_app.log_check import LogCheck, wrong_words
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program


@pytest.fixture
def program(tmp_path: Path, qtbot: QtBot, qapp: object) -> Iterator[Program]:
    made = Program(PreferencesFile(tmp_path / "p.json"), Hands().clock())
    made.window.resize(1280, 800)
    made.window.show()
    yield made
    put_away(made)


def alter(log: Path) -> None:
    """As somebody would who takes the protection off, changes a round and puts the protection back."""
    with closing(sqlite3.connect(log)) as raw:
        for name in trigger_texts():
            raw.execute(f"DROP TRIGGER {name}")
        raw.execute("UPDATE record SET author = 'Somebody else' WHERE seq = 2")
        for body in trigger_texts().values():
            raw.execute(body)
        raw.commit()


def with_a_round(log: Path) -> Path:
    make_log(log, rig_text(GAIN))
    with bench(log, Hands()) as desk:
        assert desk.round()
    return log


def test_an_altered_log_says_so_for_as_long_as_it_is_open(program: Program, tmp_path: Path, qtbot: QtBot) -> None:
    log = with_a_round(tmp_path / "a.dipbook")
    alter(log)
    with qtbot.waitSignal(program.log_check.checked, timeout=10_000):
        assert program.open_log(log)
    window = program.window
    window.show_page("Watch")
    words = window.watch.readings()[0]
    assert words.startswith("The log was altered or damaged. Record 2 (round) is not what was written.")
    assert "dipbook verify" in words
    window.say("Round saved.")
    window._painted = None
    window._paint_newest()
    assert window.watch._log_wrong.isVisible()
    assert window.status.readings()[3] == "Log altered or damaged: run dipbook verify"
    assert window.status._store.isVisible()
    assert window.status._store.property("part") == "bad"
    program.close_log()
    assert window.watch._log_wrong.isHidden()


def test_a_whole_log_is_looked_through_and_nothing_is_said(program: Program, tmp_path: Path, qtbot: QtBot) -> None:
    with qtbot.waitSignal(program.log_check.checked, timeout=10_000) as heard:
        assert program.open_log(with_a_round(tmp_path / "a.dipbook"))
    assert heard.args == [""]
    assert program.window.watch._log_wrong.isHidden()


def test_a_log_that_cannot_be_looked_through_is_not_taken_for_a_whole_one(tmp_path: Path, qtbot: QtBot) -> None:
    check = LogCheck()
    with qtbot.waitSignal(check.checked, timeout=10_000) as heard:
        check.start(tmp_path / "nowhere.dipbook")
    assert heard.args[0].startswith("The log couldn't be checked. There is no log")


def test_what_was_put_right_while_opening_is_not_said_for_ever() -> None:
    off = Finding("The protection was off.", code="protection_missing", severity="error")
    broken = Finding("The chain is broken at record 7.", code="chain_broken", severity="error")
    assert wrong_words((off,)) == ""
    assert wrong_words((off, broken, broken)) == ("The log was altered or damaged. The chain is broken at record 7. "
                                                  "1 more finding. Run “dipbook verify”.")


def test_a_demo_is_not_the_last_log(program: Program, tmp_path: Path) -> None:
    mine = make_log(tmp_path / "mine.dipbook", rig_text(GAIN))
    assert program.open_log(mine)
    program.open_demo()
    assert program.desk is not None
    demo = program.desk.store.path
    assert demo != mine
    assert program.preferences.now.store == str(mine)
    program.open_log(mine)
    assert program.open_log(demo)
    assert program.preferences.now.store == str(mine), "nor when it is opened by its path"


def test_start_is_there_at_any_time_and_the_watch_goes_on_until_another_log_is_open(program: Program,
                                                                                    tmp_path: Path) -> None:
    first = make_log(tmp_path / "first.dipbook", rig_text(GAIN))
    second = make_log(tmp_path / "second.dipbook", rig_text(GAIN))
    assert program.open_log(second)
    assert program.open_log(first)
    window = program.window
    desk = program.desk
    window.show_page("Start")
    assert window.page == "Start"
    assert "first.dipbook" in window.start.choices[0].text()
    assert program.preferences.now.page != "Start"
    assert not program.open_log(tmp_path / "none.dipbook")
    assert program.desk is desk, "a log that can't be opened ends no watch"
    assert "There is no log" in window.start.said
    window.start.choices[0].click()
    assert window.page == "Watch", "the last log is the one that is open"
    window.show_page("Start")
    assert program.open_log(second)
    assert program.desk is not desk
    assert window.page == "Watch"
    assert window.start.said == "", "what failed before is over"


def test_it_is_said_where_a_new_log_was_made(program: Program, tmp_path: Path) -> None:
    rig = tmp_path / "rig.toml"
    rig.write_text("rig = 3", encoding="utf-8")
    program.open_rig(rig)
    assert program.window.start.problems
    rig.write_text(rig_text(GAIN), encoding="utf-8")
    program.open_rig(rig)
    assert program.window.status.readings()[4] == f"A new log was made: {tmp_path / 'rig.dipbook'}"
    program.window.show_page("Start")
    assert program.window.start.said == ""
    assert program.window.start.problems == ""


def test_the_first_round_shows_no_difference_of_nothing(tmp_path: Path, qapp: object) -> None:
    with bench(make_log(tmp_path / "a.dipbook", rig_text(GAIN)), Hands()) as made:
        made.round()
        assert made.said[-1].endswith("The difference counts from this round, until somebody zeroes it (Ctrl+0).")
        assert "±" not in made.said[-1]
        made.hands.pass_(30)
        made.round(suction=61.0)
        assert "Difference +3.6" in made.said[-1]


def test_a_log_chosen_on_the_start_page_is_opened_as_a_log(program: Program, tmp_path: Path,
                                                           monkeypatch: pytest.MonkeyPatch) -> None:
    mine = make_log(tmp_path / "mine.dipbook", rig_text(GAIN))
    other = make_log(tmp_path / "other.dipbook", rig_text(GAIN))
    renamed = make_log(tmp_path / "renamed.bak", rig_text(GAIN))
    assert program.open_log(mine)
    window = program.window
    asked: list[str] = []
    monkeypatch.setattr("dipbook_app.pages.start.choose_file",
                        lambda parent, title, pattern, beside: asked.append(pattern) or str(other))
    assert window.start.choices[3].text().startswith("Open a rig file or a log")
    window.start.open_file()
    assert "*.toml" in asked[0]
    assert "*.dipbook" in asked[0]
    assert program.desk is not None
    assert program.desk.store.path == other.resolve()
    assert window.status.readings()[4] == "Opened other.dipbook."
    assert window.windowTitle().startswith("other.dipbook – Invented 2")
    window._painted = None
    window._paint_newest()
    assert "other.dipbook" in window.status.readings()[3]
    assert window.page == "Watch"
    program.open_file(renamed)
    assert program.desk.store.path == renamed.resolve(), "a log under another name is one too"
    program.close_log()
    assert window.windowTitle() == "Dipbook"


def test_a_file_that_is_neither_rig_nor_log_leaves_the_open_log_as_it_was(program: Program, tmp_path: Path) -> None:
    mine = make_log(tmp_path / "mine.dipbook", rig_text(GAIN))
    make_log(tmp_path / "notes.dipbook", rig_text(GAIN))
    assert program.open_log(mine)
    desk, title = program.desk, program.window.windowTitle()
    for name, content in (("notes.txt", b"Call the pusher at 6."), ("notes.png", b"\x89PNG\r\n\x1a\n\xff"),
                          ("notes.toml", b"rig = 3"), ("cut.dipbook", b""), ("odd.dipbook", b"not a log at all")):
        path = tmp_path / name
        path.write_bytes(content)
        program.open_file(path)
        assert program.desk is desk, name
        assert program.window.windowTitle() == title
        assert program.window.status.readings()[4], name
        assert program.window.status._said.property("part") == "bad", name
    program.open_file(tmp_path / "notes.txt")
    assert program.window.status.readings()[4] == "notes.txt is neither a rig file nor a log. Nothing was opened."
    assert desk is not None
    desk.tick()
    assert desk.situation.store_ok, "the watch goes on"


def test_only_who_took_the_watch_is_on_watch_after_a_restart(program: Program, tmp_path: Path) -> None:
    log = with_a_round(tmp_path / "a.dipbook")
    other = with_a_round(tmp_path / "b.dipbook")
    assert program.open_log(log)
    window = program.window
    assert program.desk is not None
    assert program.desk.on_watch == "", "who gauged a round took no watch by it"
    window._paint_newest()
    assert window.status.readings()[1] == "Nobody on watch"
    window.status.watch_taken.emit("R. Moe")
    program.close_log()
    program.preferences = window._preferences = PreferencesFile(program.preferences.path)
    assert program.open_log(log)
    assert program.desk is not None
    assert program.desk.on_watch == "R. Moe"
    window._painted = None
    window._paint_newest()
    assert window.status.readings()[1] == "On watch: R. Moe"
    assert program.open_log(other)
    assert program.desk.on_watch == "", "the watch of another log is another's"
