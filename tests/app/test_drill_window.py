"""A drill through the real window, its seconds given by the test: warnings by the real watch, acts, the frame, the end."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot
from real_desks import GAIN, Hands, make_log, put_away, rig_text

from dipbook import store
from dipbook.drill_folder import read_drill
from dipbook.drill_run import Choice
from dipbook.errors import StoreError
from dipbook.records import ROUND, SAMPLES, WARNING
from dipbook_app.drilling import drill_desk
from dipbook_app.drilling.drill_clock import DrillClock
from dipbook_app.drilling.drill_desk import DrillDesk
from dipbook_app.drilling.driver import Driver
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program
from dipbook_app.watch_marks import WatchMarks
from dipbook_app.widgets.drill_bar import ASIDE, CALLS, MORE

MINUTE = 60


@pytest.fixture
def program(tmp_path: Path, qtbot: QtBot, qapp: object) -> Iterator[Program]:
    made = Program(PreferencesFile(tmp_path / "p.json"), Hands().clock())
    made.drills.into, made.drills.ticking, made.marks.folder = tmp_path / "drills", False, tmp_path / "watches"
    made.window.resize(1280, 800)
    made.window.show()
    yield made
    put_away(made)


def begun(program: Program, scenario: str = "kick-drilling-fast", seed: int = 3, **more: Any) -> Driver:
    assert program.drills.begin(Choice(scenario, seed, trainee="A trainee", **more)), program.window.drill.words.text()
    assert program.drills.driver is not None
    return program.drills.driver


def seconds(driver: Driver, count: int) -> None:
    for _ in range(count):
        driver.second()
    driver.desk.tick()


def drill_desk_of(program: Program) -> DrillDesk:
    assert isinstance(program.desk, DrillDesk)
    return program.desk


def press(program: Program, key: Qt.Key, held: Qt.KeyboardModifier = Qt.KeyboardModifier.ShiftModifier) -> None:
    QTest.keyClick(program.window.focusWidget() or program.window, key, held)


def test_a_kick_is_watched_answered_and_kept(program: Program, qapp: Any) -> None:
    window = program.window
    driver = begun(program)
    assert store.open(driver.folder / "log.dipbook", "drill", write=False).role == "drill"
    assert window.frame.drill
    seconds(driver, 44 * MINUTE)
    assert driver.desk.situation.warnings == ()
    seconds(driver, 2 * MINUTE)
    assert "Gain on all surface" in driver.desk.situation.warnings[0].text
    assert driver.desk.sounding
    for page in window.rail.names():                    # the frame and the word stand on every page
        window.show_page(page)
        qapp.processEvents()
        assert window.drill_bar.isVisible(), page
        assert window.drill_bar.word.text() == "DRILL"
        assert window.drill_bar.word.isVisible(), page
        assert window.frame.layout().contentsMargins().left() > 0
    assert window.windowTitle().startswith("DRILL")
    window.resize(1100, 640)
    for _ in range(3):
        window.change_text(1)
    qapp.processEvents()
    strip, room = window.strip, window.strip._caution.contentsRect()
    assert len(strip.open_now) == 2
    assert strip._needed(strip._caution_px, room.width()) <= room.height()   # the caution stands whole, edge and all
    for _ in range(3):
        window.change_text(-1)
    window.resize(1280, 800)
    press(program, Qt.Key.Key_F1)
    press(program, Qt.Key.Key_F2)
    assert window.page == "Log"                         # where the check's clock is
    assert driver.run.watched
    assert driver.speed == 1
    seconds(driver, 3 * MINUTE)
    assert not driver.desk.log_entry(
        "flow check", {"result": "flowing", "seen by": "A trainee"}, t_ms=driver.run.t_ms - 180_000, end_ms=driver.run.t_ms,
        author="A trainee")
    press(program, Qt.Key.Key_F3)
    press(program, Qt.Key.Key_F6)
    press(program, Qt.Key.Key_F7)
    press(program, Qt.Key.Key_F11)
    window.drill_bar.kinds.setCurrentText("kick")
    QTest.keyClick(window.drill_bar.kinds, Qt.Key.Key_Return)
    press(program, Qt.Key.Key_F12)
    QTest.keyClicks(window.drill_bar.line, "shut in on a gain")
    QTest.keyClick(window.drill_bar.line, Qt.Key.Key_Return)
    seconds(driver, 2)
    records = driver.desk.store.records()
    assert {"told driller", "flow check", "shut-in", "remark", WARNING, SAMPLES} <= {r.kind for r in records}
    assert {r.author for r in records if r.kind == "told driller"} == {"A trainee"}
    press(program, Qt.Key.Key_F12, Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier)
    assert program.drills.driver is not None            # it asks first
    QTest.keyClick(window.drill_bar.say_it, Qt.Key.Key_Return)
    assert program.drills.driver is None
    assert window.page == "Drill"
    assert window.focusWidget() is window.drill.debrief      # and not where a key begins the next one
    assert "seed 3" in window.drill.words.text()
    done = read_drill(driver.folder)
    assert [(a.kind, a.text) for a in done.acts] == [
        ("told driller", driver.run.acts[0].text), ("flow check", "flowing"), ("logged", "flow check"), ("space out", ""),
        ("pumps off", ""), ("shut-in", ""), ("named", "kick"), ("logged", "shut in on a gain")]
    assert "Gain on all surface" in done.acts[0].text
    assert (done.seed, done.trainee, done.ended_by) == (3, "A trainee", "the trainee ended it")
    asked: list[Path] = []
    window.drill.debrief_wanted.connect(asked.append)
    window.drill.debrief.click()
    assert asked == [driver.folder]
    # it is over: looked at, and nothing is added
    desk = drill_desk_of(program)
    before = desk.store.last_seq
    assert [f.what for f in desk.log_entry("remark", {"remark": "late"}, author="A trainee")] == [drill_desk.OVER]
    desk.acknowledge(desk.situation.warnings[0].occurrence)
    desk.tick()
    assert desk.store.last_seq == before
    assert not window.drill_bar.calls.isEnabled()
    # and so it is when it is opened again, years later by the computer's clock
    program.close_log()
    assert not window.frame.drill
    assert not window.drill_bar.isVisible()
    assert program.open_log(driver.folder / "log.dipbook")
    assert window.frame.drill
    assert drill_desk_of(program).over
    assert drill_desk_of(program).now_ms() == done.ended_ms
    program.close_log()
    with store.open(driver.folder / "log.dipbook", "drill", write=False) as opened:
        assert opened.last_seq == before
        assert opened.verify() == ()
    assert program.preferences.now.store == ""          # no drill is what is gone on with


def test_what_is_logged_as_done_is_done(program: Program, qapp: Any) -> None:
    """A trainee who uses the watch's own keys and forms does what the drill's do: else the log says what isn't so."""
    driver = begun(program, "nothing", 1)
    run, desk = driver.run, driver.desk
    seconds(driver, 5)
    press(program, Qt.Key.Key_F, Qt.KeyboardModifier.ControlModifier)        # the watch's own key of a flow check
    assert program.window.page == "Log"
    assert run.watched
    press(program, Qt.Key.Key_F2)                                            # and the drill's: the same check
    assert [a.kind for a in run.acts] == ["flow check"]
    seconds(driver, 60)
    assert not desk.log_entry("flow check", {"result": "static", "seen by": "A trainee"}, author="A trainee",
                              t_ms=run.t_ms - 60_000, end_ms=run.t_ms)
    assert [(a.kind, a.text) for a in run.acts] == [("flow check", "static"), ("logged", "flow check")]
    assert not desk.log_entry("pumps", {"state": "on", "flow": "800 gal[US]/min"}, author="A trainee")
    assert not run.stopped                                                   # the crew went on
    assert not desk.log_entry("pumps", {"state": "off"}, author="A trainee")
    assert run.stopped
    assert run.acts[-1].kind == "pumps off"
    press(program, Qt.Key.Key_F6, Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier)
    assert not run.stopped
    said: list[str] = []
    driver.said.connect(said.append)
    assert not desk.log_entry("flow check", {"result": "flowing", "seen by": "A trainee"}, author="A trainee",
                              t_ms=run.t_ms - 60_000, end_ms=run.t_ms)
    assert run.stopped                                                       # late, and that is said
    assert "only now" in said[0]
    assert [(a.kind, a.text) for a in run.acts[-2:]] == [("flow check", "flowing"), ("logged", "flow check")]
    assert not desk.log_entry("shut-in", {"state": "shut in"}, author="A trainee")
    assert run.shut_in
    assert [a.kind for a in run.acts[-2:]] == ["shut-in", "logged"]
    seconds(driver, 5)
    assert desk.situation.pumps_on is False


def test_a_line_of_the_bar_gives_the_cursor_back(program: Program, qapp: Any) -> None:
    begun(program, "nothing", 1)
    window = program.window
    window.activateWindow()
    QTest.qWaitForWindowActive(window)
    window.show_page("Watch")
    before = window.focusWidget()
    for key in (Qt.Key.Key_F11, Qt.Key.Key_F12):
        press(program, key)
        assert window.drill_bar.asking.isVisible()
        QTest.keyClick(window.focusWidget(), Qt.Key.Key_Escape)
        qapp.processEvents()
        assert window.focusWidget() is before
    press(program, Qt.Key.Key_F12)
    QTest.keyClicks(window.drill_bar.line, "quiet")
    QTest.keyClick(window.drill_bar.line, Qt.Key.Key_Return)
    qapp.processEvents()
    assert window.focusWidget() is before


def test_no_drill_begins_beside_a_watch(program: Program, tmp_path: Path) -> None:
    real = make_log(tmp_path / "real.dipbook", rig_text(GAIN))
    program.open_log(real)
    assert program.desk is not None
    program.desk.set_on_watch("R. Moe")
    window = program.window
    window.show_page("Drill")
    window.drill.choose("nothing")
    window.drill.begin()
    assert program.drills.driver is None
    assert "No drill is begun while R. Moe is on watch of real.dipbook" in window.drill.words.text()
    assert program.desk.store.path == real
    assert not (tmp_path / "drills").exists()
    program.desk.set_on_watch("")
    window.drill.begin()
    assert program.drills.driver is not None
    assert program.desk.store.role == "drill"
    with store.open(real) as free:                      # let go, and as it was
        assert {r.kind for r in free.records()} <= {"rig", "not watched"}
    window.drill.begin()
    assert window.drill.start.isEnabled() is False


def test_a_watch_in_another_program_refuses_a_drill_and_ends_one(program: Program, tmp_path: Path) -> None:
    other, window = WatchMarks(tmp_path / "watches"), program.window
    assert other.hold(tmp_path / "real.dipbook") == ""
    window.show_page("Drill")
    window.drill.choose("nothing")
    window.drill.begin()
    assert program.drills.driver is None
    assert f"a watch is open in another Dipbook on this computer, {tmp_path / 'real.dipbook'}" in window.drill.words.text()
    assert "close it there first" in window.drill.words.text()
    assert not (tmp_path / "drills").exists()
    other.let_go()
    driver = begun(program)
    program.drills.look_around()
    assert program.drills.driver is driver              # nobody watches
    other.hold(tmp_path / "real.dipbook")               # never refused for a drill
    program.drills.look_around()
    assert program.drills.driver is None
    assert window.page == "Drill"
    assert "the drill was ended for it" in window.drill.words.text()
    assert window._quiet                                # what is left of the drill sounds no more
    assert read_drill(driver.folder).cut                # nothing is missed in it
    assert read_drill(driver.folder).ended_by == (
        f"a watch was opened on this computer: {tmp_path / 'real.dipbook'}")
    other.let_go()


def test_a_watch_is_marked_while_its_log_is_open(program: Program, tmp_path: Path) -> None:
    other, real = WatchMarks(tmp_path / "watches"), make_log(tmp_path / "real.dipbook", rig_text(GAIN))
    program.open_log(real)
    assert other.elsewhere() == (str(real),)
    assert program.marks.elsewhere() == ()              # its own holds it up by other rules
    assert program.drills.begin(Choice("nothing", 1))
    assert other.elsewhere() == ()                      # let go with its log; a drill's own log is no watch


def test_no_drill_begins_while_a_warning_is_open(program: Program, tmp_path: Path) -> None:
    from real_desks import IN

    from dipbook.records import Dip
    program.open_log(make_log(tmp_path / "real.dipbook", rig_text(GAIN)))
    desk = program.desk
    assert desk is not None
    for level in (60.0, 64.0):
        now = desk.now_ms()
        program.clock._at_wall += 600                   # type: ignore[attr-defined]
        dips = [Dip(t, now, f"{v} in", v * IN) for t, v in (("Settling", 60.0), ("Suction", level))]
        assert desk.save_round(dips, start_ms=now, end_ms=now, observer="R. Moe", author="R. Moe")
    assert desk.situation.warnings
    assert not program.drills.begin(Choice("nothing", 1))
    assert "while a warning is open in real.dipbook" in program.window.drill.words.text()


def test_a_drill_by_hand_walks_its_rounds_and_a_closed_window_keeps_it(program: Program) -> None:
    window = program.window
    driver = begun(program, "unlogged-transfer", 2, mode="dips")
    seconds(driver, 10)
    rounds = [r for r in driver.desk.store.records() if r.kind == ROUND]
    assert len(rounds) == 1                             # from before it began
    press(program, Qt.Key.Key_F5, Qt.KeyboardModifier.NoModifier)
    assert window.page == "Watch"                       # nobody types it
    assert window.drill_bar.state.text().startswith("round back at")
    seconds(driver, 8 * MINUTE)
    rounds = [r for r in driver.desk.store.records() if r.kind == ROUND]
    assert len(rounds) == 2
    assert len({d.t_ms for d in rounds[1].dips}) == len(driver.run.doc.rig.tanks)
    assert driver.desk.situation.warnings == ()
    program.close_log()
    assert read_drill(driver.folder).ended_by == "another log was opened, or the program was closed"


def test_a_trips_rows_are_those_of_a_trip_one_way(program: Program) -> None:
    """The bit depth of a row is that of the readings to the last digit: else the pipe seems to go back a little."""
    driver = begun(program, "swabbed-trip", 2)
    failed: list[str] = []
    driver.desk.failed.connect(failed.append)
    seconds(driver, 30 * MINUTE)
    trip = driver.desk.situation.trip
    assert trip is not None
    stands = [row for row in trip.rows if row.what == "stand"]
    assert len(stands) >= 8
    assert {row.state for row in stands} == {"dry"}
    assert failed == []


def test_speed_is_what_the_trainee_asks_for_and_no_more_than_it_may_be(program: Program) -> None:
    driver = begun(program, "nothing", 1)
    assert driver.asked == 1
    for _ in range(5):
        program.drills.press("speed")
    assert driver.asked == 60
    driver.run.may_run = True
    assert driver.speed == 60
    at = driver.run.t_ms
    driver.go_on_by(0.4)
    assert 0 < driver.run.t_ms - at <= 0.4 * 60 * 1000
    driver.run.may_run, driver.run.pace.slow_until_ms = False, 10 ** 9
    assert driver.speed == 1
    at = driver.run.t_ms
    for _ in range(10):
        driver.go_on_by(0.25)
    assert 2000 <= driver.run.t_ms - at <= 3000
    program.drills.press("speed")
    assert driver.asked == 1
    assert driver.desk.situation.records[-1].kind != "not watched"


def test_what_is_sealed_is_not_shown(program: Program) -> None:
    page = program.window.drill
    program.window.show_page("Drill")
    page.choose("nothing")
    page.seed.setText("77")
    page.sealed.setCurrentIndex(1)
    page.trainee.setText("A trainee")
    page.begin()
    driver = program.drills.driver
    assert driver is not None
    assert (driver.run.choice.seed, driver.run.choice.sealed) == (77, True)
    shown = " ".join([page.words.text(), page.seed.text(), program.window.windowTitle(), driver.folder.name,
                      *(p.name for p in driver.folder.iterdir())])
    assert "77" not in shown.replace(driver.folder.name, "")
    assert "othing" not in shown
    program.drills.end()
    assert "Nothing at all, seed 77" in page.words.text()


def test_a_seed_that_is_no_number_begins_nothing(program: Program, tmp_path: Path) -> None:
    page = program.window.drill
    page.seed.setText("kick")
    page.begin()
    assert program.drills.driver is None
    assert "whole number" in page.words.text()
    assert not (tmp_path / "drills").exists()


def test_the_desk_of_a_drill_takes_no_log_of_a_watch(tmp_path: Path, qapp: object) -> None:
    opened = store.open(make_log(tmp_path / "real.dipbook", rig_text(GAIN)))
    with pytest.raises(StoreError, match="isn't a drill's log"):
        DrillDesk(opened, DrillClock(0))
    opened.close()


def test_a_dip_sheet_that_is_printed_in_a_drill_says_so(program: Program, monkeypatch: pytest.MonkeyPatch) -> None:
    from PySide6.QtGui import QDesktopServices
    monkeypatch.setattr(QDesktopServices, "openUrl", lambda _: False)
    driver = begun(program, "nothing", 1)
    program.window.print_sheet()
    sheet = next(driver.folder.glob("dip sheet*.pdf"))
    assert all("DRILL, not the well" in " ".join(page.extract_text().split()) for page in PdfReader(sheet).pages)


def test_the_bar_is_one_row_and_cuts_nothing_in_the_smallest_window(program: Program, qapp: Any) -> None:
    window = program.window
    begun(program, "nothing", 1)
    bar = window.drill_bar
    window.resize(1280, 800)
    qapp.processEvents()
    assert window.watch.bar.height() < window.look.mm(12)        # the drill's own are the large ones
    window.resize(1100, 640)
    for _ in range(3):
        window.change_text(1)
    qapp.processEvents()
    qapp.processEvents()
    high = bar.height()
    for button in bar.calls.buttons:
        assert min(button.width(), button.height()) >= window.look.mm(19.9)
    for button in (*bar.calls.buttons, *bar.low.values(), *window.watch.bar.buttons):
        lines = button.text().split("\n")
        metrics = button.fontMetrics()
        assert max(metrics.horizontalAdvance(line) for line in lines) <= button.width(), button.text()
        assert len(lines) * metrics.lineSpacing() <= button.height(), button.text()
    last = window.rail._keys["Start"]
    assert last.geometry().bottom() <= window.rail.height()
    assert window.rail.geometry().bottom() <= bar.geometry().top()
    bar.press("name")
    qapp.processEvents()
    assert bar.height() == high
    assert not bar.calls.isVisible()
    bar.leave()
    qapp.processEvents()
    assert bar.calls.isVisible()
    program.drills.end()
    qapp.processEvents()
    assert bar.isVisible()
    assert bar.word.isVisible()
    assert bar.height() < high
    assert window.watch.bar.buttons[0].property("part") == "big"


def test_every_key_of_the_bar_is_free_and_each_does_something(program: Program) -> None:
    from PySide6.QtGui import QShortcut
    keys = [s.key().toString() for s in program.window.findChildren(QShortcut) if s.parent() is program.window]
    assert len(keys) == len(set(keys))
    assert {a.key for a in (*CALLS, *ASIDE, *MORE)} <= set(keys)
