"""A drill that the program was cut off in: what was kept of it is found at the next start, and told as what it is."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot
from real_desks import Hands

from dipbook import debriefing, store
from dipbook.debrief.history import CUT
from dipbook.debrief.signed_record import NOT_BY_THE_CUT, of_debrief
from dipbook.drill_folder import ACTS, DRILL, TRUTH, UNDER_WAY, read_drill
from dipbook.drill_run import Choice
from dipbook.errors import DrillError
from dipbook_app import debrief_words, history_words
from dipbook_app.display import DisplayUnits
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program

MINUTE = 60


@pytest.fixture
def program(tmp_path: Path, qtbot: QtBot, qapp: object) -> Iterator[Program]:
    made = Program(PreferencesFile(tmp_path / "p.json"), Hands().clock())
    made.drills.into, made.drills.ticking, made.marks.folder = tmp_path / "drills", False, tmp_path / "watches"
    yield made
    made.window.close()
    made.close_log()
    made.window.deleteLater()


def test_a_cut_leaves_a_drill_that_is_told_as_far_as_it_went(program: Program, tmp_path: Path) -> None:
    assert program.drills.begin(Choice("kick-drilling-fast", 3, trainee="A trainee"))
    driver = program.drills.driver
    assert driver is not None
    now = [0.0]
    driver._steady = lambda: now[0]
    driver._kept_at = 0.0
    for _ in range(44 * MINUTE):
        driver.second()
    driver.tell_driller()
    told_at = driver.run.t_ms
    for _ in range(MINUTE):
        driver.second()
    now[0] = 6.0
    driver.go_on_by(0.0)                                # five seconds went by: it is kept as it is now
    kept_at = driver.run.t_ms
    for _ in range(2 * MINUTE):
        driver.second()                                 # and this isn't
    driver.desk.tick()
    with pytest.raises(DrillError, match="under way"):
        debriefing.of_folder(driver.folder)
    # the computer goes off here: what is on the disk is all there is
    drills = tmp_path / "after the cut"
    shutil.copytree(driver.folder, drills / "drill 1")
    assert not (drills / "drill 1" / DRILL).exists()
    kept = read_drill(drills / "drill 1")               # as it lies: nothing of it is taken for a whole drill
    assert kept.cut
    program.close_log()
    whole = read_drill(driver.folder)
    assert not whole.cut
    assert not (driver.folder / UNDER_WAY).exists()
    assert (kept.ended_ms, [a.t_ms for a in kept.acts]) == (kept_at, [told_at])
    assert kept.truths == tuple(t for t in whole.truths if t.t_ms <= kept_at)

    program.drills.into = drills
    program.drills.look_for_cut()
    words = program.window.drill.words.text()
    assert "cut off in a training drill, drill 1" in words
    assert "can be gone through" in words
    assert not program.window.drill.debrief.isHidden()
    assert (drills / "drill 1" / DRILL).exists()
    assert not (drills / "drill 1" / UNDER_WAY).exists()
    told, rig = debriefing.of_folder(drills / "drill 1")
    units = DisplayUnits(rig)
    assert told.about.cut
    assert max(r.learned_ms for r in told.records) <= kept_at
    assert max(told.shown.t_ms) <= kept_at
    assert "Cut off at" in debrief_words.title(told, units)
    said = " ".join(debrief_words.procedure(told, units))
    assert "This drill was cut off: the program stopped in the middle of it. This is what was kept of it, up to" in said
    assert "not answered by the time the drill was cut off" in said
    assert "The call: driller told 06:44, spaced out not done" in said
    assert ": missed." not in said
    assert told.missed == ()
    record = of_debrief(told)
    assert [s.outcome for s in record.signals] == [NOT_BY_THE_CUT]
    assert "The drill was cut off" in record.deviations[0]
    past = debriefing.past(drills)
    assert past.trainees[0].drills[0].procedure == CUT
    assert (past.trainees[0].rates.hits, past.trainees[0].rates.misses, past.trainees[0].rates.quiet) == (0, 0, 0)
    assert "1 cut off and in no count" in history_words.in_all(past.trainees[0], units)
    # it is offered once
    program.window.drill.show_finished(None, "")
    program.drills.look_for_cut()
    assert program.window.drill.words.text() == ""


def test_what_cant_be_gone_through_says_why(program: Program, tmp_path: Path) -> None:
    assert program.drills.begin(Choice("nothing", 1))
    driver = program.drills.driver
    assert driver is not None
    for name in ("a log alone", "no truth"):
        shutil.copytree(driver.folder, tmp_path / "cut" / name)
    (tmp_path / "cut" / "a log alone" / UNDER_WAY).unlink()
    (tmp_path / "cut" / "no truth" / TRUTH).unlink()
    program.drills.into = tmp_path / "cut"
    program.drills.look_for_cut()
    words = program.window.drill.words.text()
    assert "no truth, which can't be gone through" in words
    assert TRUTH in words
    assert program.window.drill.debrief.isHidden()
    unread = {path.name: why for path, why in debriefing.past(tmp_path / "cut").unread}
    assert set(unread) == {"a log alone", "no truth"}
    assert "nothing was kept of it but what is in its log" in unread["a log alone"]
    with store.open(tmp_path / "cut" / "a log alone" / "log.dipbook", "drill", write=False) as opened:
        assert opened.verify() == ()


def test_a_drill_that_is_under_way_elsewhere_is_no_cut_one(program: Program, tmp_path: Path) -> None:
    assert program.drills.begin(Choice("nothing", 1))
    driver = program.drills.driver
    assert driver is not None
    program.drills.look_for_cut()
    assert program.window.drill.words.text().startswith("A drill is under way")
    assert (driver.folder / UNDER_WAY).exists()
    assert not (driver.folder / DRILL).exists()


def test_a_disk_that_keeps_nothing_is_said_once_and_the_drill_goes_on(program: Program) -> None:
    assert program.drills.begin(Choice("nothing", 1))
    driver = program.drills.driver
    assert driver is not None
    said: list[str] = []
    driver.said.connect(said.append)
    (driver.folder / ACTS).unlink()
    (driver.folder / ACTS).mkdir()
    driver.keep()
    driver.keep()
    assert len(said) == 1
    assert "could not be gone through" in said[0]
    (driver.folder / ACTS).rmdir()
    driver.keep()
    assert read_drill(driver.folder).acts == ()
