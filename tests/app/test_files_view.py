"""Files added on the Log page: looked at first, then added whole or not at all, while the window goes on."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.real_desks import GAIN, MIN, NOW, Bench, Hands, bench, make_log, rig_text
from dipbook import importing
from dipbook.exchange.times import rfc3339
from dipbook.records import RIG, UNWATCHED
from dipbook_app.choosing import path_of
from dipbook_app.file_reader import FileReader
from dipbook_app.pages.log import LogPage
from dipbook_app.preferences import PreferencesFile
from dipbook_app.window import Window


@pytest.fixture
def b(tmp_path: Path, qapp: object) -> Iterator[Bench]:
    path = make_log(tmp_path / "a.dipbook", rig_text(GAIN), NOW - 600 * MIN)
    with bench(path, Hands()) as made:
        made.desk.set_on_watch("R. Moe")
        yield made


@pytest.fixture
def page(b: Bench, qtbot: QtBot) -> Iterator[LogPage]:
    page = LogPage(b.desk)
    qtbot.addWidget(page)
    b.desk.situation_changed.connect(page.show_situation)
    page.show_situation(b.desk.situation)
    page.resize(1190, 660)
    page.show()
    page.activateWindow()
    yield page
    page.running._timer.stop()


def readings(folder: Path, *suction: object) -> Path:
    file = folder / "readings.csv"
    file.write_text("time,Settling [in],Suction [in]\n" + "".join(
        f"{rfc3339(NOW - (60 - 10 * n) * MIN)},60,{level}\n" for n, level in enumerate(suction)), encoding="utf-8")
    return file


def entries(folder: Path, *rows: str) -> Path:
    file = folder / "entries.csv"
    file.write_text("time,kind,from,to,volume,remark\n" + "".join(f"{rfc3339(NOW - 50 * MIN)},{r}\n" for r in rows),
                    encoding="utf-8")
    return file


def look(page: LogPage, qtbot: QtBot, **paths: Path) -> None:
    """As a person types it: the paths, Enter through the fields, and the outcome waited for."""
    assert page.files_button.text().endswith(page.files_button.shortcut().toString())
    page.files_button.click()
    view = page.files
    assert view.isVisible()
    assert view.focusWidget() is view.fields["readings"].editor
    with qtbot.waitSignal(view.reader.done):
        for name in ("readings", "entries", "by"):
            target = view.focusWidget()
            assert target is view.fields[name].editor
            if name in paths:
                QTest.keyClicks(target, str(paths[name]))
            QTest.keyClick(target, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: not view.reader.busy)


def listed(page: LogPage) -> list[tuple[str, ...]]:
    table = page.files.table
    return [tuple(table.item(row, c).text() for c in range(table.columnCount())) for row in range(table.rowCount())]


def test_files_are_looked_at_by_keyboard_then_added(page: LogPage, b: Bench, tmp_path: Path, qtbot: QtBot) -> None:
    look(page, qtbot, readings=readings(tmp_path, 60, 60.5, 61),
         entries=entries(tmp_path, "transfer,Reserve 1,Suction,2 bbl,", "remark,,,,shaker"))
    assert page.files.counts.text().splitlines() == [
        "readings.csv: 3 rows, 2 tanks (Settling, Suction), 1 Mar 2026 01:15 to 01:35 rig time. "
        "6 dips: 6 new, 0 in the log already.",
        "entries.csv: 2 entries (1 remark, 1 transfer), 1 Mar 2026 01:25 rig time. 2 new, 0 in the log already."]
    assert page.files.words.said.startswith("Nothing is added yet.")
    assert {r.kind for r in b.situation.records} <= {RIG, UNWATCHED}
    with qtbot.waitSignal(page.saved) as saved:
        QTest.keyClick(page.files.focusWidget(), Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert saved.args == ["Added: 6 dips and 2 entries."]
    assert page.files.isHidden()
    assert page.words.said == "Added: 6 dips and 2 entries."
    assert {"samples", "transfer", "remark"} <= {r.kind for r in b.situation.records}


def test_the_same_file_twice_says_so_and_offers_nothing_to_add(page: LogPage, b: Bench, tmp_path: Path,
                                                               qtbot: QtBot) -> None:
    file = readings(tmp_path, 60, 60)
    look(page, qtbot, readings=file)
    page.files.add()
    b.settle()
    count = len(b.situation.records)
    look(page, qtbot, readings=file)
    assert page.files.words.said == "Nothing new: these files are in the log already."
    assert "4 dips: 0 new, 4 in the log already." in page.files.counts.text()
    assert not page.files.add_button.isEnabled()
    page.files.add()
    assert len(b.situation.records) == count


def test_every_bad_row_is_listed_with_its_place_and_nothing_can_be_added(page: LogPage, b: Bench, tmp_path: Path,
                                                                         qtbot: QtBot) -> None:
    look(page, qtbot, readings=readings(tmp_path, 60, "6O", 1000),
         entries=entries(tmp_path, "transfer,Reserve 1,Sucton,2 bbl,"))
    places = [row[:4] for row in listed(page)]
    assert places == [("✕ refused", "entries.csv", "2", "to"), ("✕ refused", "readings.csv", "3", "Suction [in]"),
                      ("✕ refused", "readings.csv", "4", "Suction [in]")]
    assert page.files.words.said.startswith("3 problems: nothing can be added.")
    assert not page.files.add_button.isEnabled()
    page.files.add()
    assert {r.kind for r in b.situation.records} <= {RIG, UNWATCHED}


def test_another_path_forgets_what_was_looked_at(page: LogPage, b: Bench, tmp_path: Path, qtbot: QtBot) -> None:
    look(page, qtbot, readings=readings(tmp_path, 60))
    page.files.fields["readings"].set_text("other.csv")
    assert page.files.looked is None
    assert not page.files.add_button.isEnabled()
    assert page.files.counts.text() == ""
    with qtbot.waitSignal(page.files.reader.failed):
        page.files.look()
    assert page.files.words.said.startswith("The file can't be opened")


def test_a_file_is_chosen_in_the_systems_dialog_too(page: LogPage, tmp_path: Path, qtbot: QtBot) -> None:
    asked: list[tuple[str, str]] = []
    file = readings(tmp_path, 60)

    def choose(parent: object, title: str, pattern: str, beside: str) -> str:
        asked.append((title, beside))
        return str(file)

    page.add_files()
    page.files.choose = choose
    with qtbot.waitSignal(page.files.reader.done):
        page.files.choose_buttons["readings"].click()
    assert asked == [("Readings file", "")]
    assert page.files.fields["readings"].text() == str(file)
    page.files.choose = lambda *_: ""
    page.files.choose_buttons["entries"].click()
    assert page.files.fields["entries"].text() == ""


def test_what_changed_the_log_meanwhile_is_said_and_nothing_is_added(page: LogPage, b: Bench, tmp_path: Path,
                                                                     qtbot: QtBot) -> None:
    look(page, qtbot, readings=readings(tmp_path, 60))
    b.desk.set_limits((), author="R. Moe", reason="test")
    b.settle()
    count = len(b.situation.records)
    page.files.add()
    assert "The rig's description changed meanwhile" in page.files.words.said
    assert len(b.situation.records) == count


def test_a_name_is_needed(page: LogPage, b: Bench, tmp_path: Path, qtbot: QtBot) -> None:
    b.desk.set_on_watch("")
    look(page, qtbot, readings=readings(tmp_path, 60))
    page.files.add()
    assert page.files.words.said == "Who adds them? A name is needed."
    assert {r.kind for r in b.situation.records} <= {RIG, UNWATCHED}


class Gate:
    """A reading that waits until a test lets it go."""

    def __init__(self) -> None:
        self.open, self.inside = threading.Event(), threading.Event()
        self.after: list[str] = []

    def read(self, *args: Any, step: Callable[[str], None], **kwargs: Any) -> importing.Importable:
        step("Reading readings.csv …")
        self.inside.set()
        self.open.wait(20)
        step("Comparing …")
        self.after.append("compared")
        return importing.Importable((), (), (), 1)


def test_a_warning_shows_while_files_are_read_and_esc_stops_the_reading(b: Bench, tmp_path: Path, qtbot: QtBot) -> None:
    gate = Gate()
    page = LogPage(b.desk)
    page.files.reader = FileReader(page.files, read=gate.read)
    page.files.reader.progress.connect(page.files.words.say)
    window = Window(b.desk, PreferencesFile(tmp_path / "p.json"), {"Log": page})
    qtbot.addWidget(window)
    window.show()
    window.show_page("Log")
    page.add_files()
    page.files.fields["readings"].set_text(str(readings(tmp_path, 60)))
    page.files.look()
    qtbot.waitUntil(lambda: page.files.words.said == "Reading readings.csv …")
    assert gate.inside.wait(20)
    b.hands.pass_(-30)
    b.round()
    b.hands.pass_(30)
    b.round(suction=64.0)
    assert b.states() == {"gain": "raised"}
    assert "GAIN" in " ".join(window.strip.readings())
    assert page.files.reader.busy
    assert page.files.look_button.text().startswith("Stop")
    QTest.keyClick(page.files, Qt.Key.Key_Escape)
    assert page.files.words.said == "Stopped. Nothing was added."
    assert not page.files.reader.busy
    assert page.files.isVisible()
    gate.open.set()
    for thread in threading.enumerate():
        if thread.name == "dipbook-files":
            thread.join(20)
    QTest.qWait(0)
    assert gate.after == []
    assert page.files.words.said == "Stopped. Nothing was added."
    QTest.keyClick(page.files, Qt.Key.Key_Escape)
    assert page.files.isHidden()
    window.close()
    page.running._timer.stop()


def test_a_bug_in_the_reading_is_said_and_the_page_goes_on(b: Bench, tmp_path: Path, qtbot: QtBot) -> None:
    def broken(*args: Any, **kwargs: Any) -> importing.Importable:
        raise ZeroDivisionError("a bug")

    reader = FileReader(read=broken)
    with qtbot.waitSignal(reader.failed) as failed:
        reader.start(readings(tmp_path, 60), None, b.situation.rig, b.situation.records, now_ms=NOW, author="")
    assert "ZeroDivisionError: a bug. Nothing was added." in failed.args[0]
    assert not reader.busy


def test_a_typed_path_may_have_quotes_and_a_tilde() -> None:
    assert path_of(' "/a b/c.csv" ') == Path("/a b/c.csv")
    assert path_of("~/c.csv") == Path.home() / "c.csv"
