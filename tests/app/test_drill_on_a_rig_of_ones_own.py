"""A drill on a rig file and a scenario file of the instructor's own, through the real window. Everything is invented."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot
from real_desks import Hands, put_away

from dipbook import debriefing, practising
from dipbook.drill_folder import read_drill
from dipbook.drill_run import Choice
from dipbook_app import debrief_words
from dipbook_app.display import DisplayUnits
from dipbook_app.drilling import beginning
from dipbook_app.drilling.driver import Driver
from dipbook_app.page_names import DRILL
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program

RIG = Path(__file__).parents[1] / "drill" / "rig-tamarisk.toml"
CTRL_SHIFT = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier


@pytest.fixture
def program(tmp_path: Path, qtbot: QtBot, qapp: object) -> Iterator[Program]:
    made = Program(PreferencesFile(tmp_path / "p.json"), Hands().clock())
    made.drills.into, made.drills.ticking, made.marks.folder = tmp_path / "drills", False, tmp_path / "watches"
    made.window.resize(1280, 800)
    made.window.show()
    made.window.show_page(DRILL)
    yield made
    put_away(made)


def test_a_kick_on_ones_own_rig_is_warned_of_in_its_units_and_told(program: Program, qapp: Any) -> None:
    page = program.window.drill
    asked: list[str] = []
    page.ask_file = lambda parent, title, pattern, beside: asked.append(title) or str(RIG)  # type: ignore[assignment, func-returns-value]
    QTest.keyClick(page.table, Qt.Key.Key_R, CTRL_SHIFT)
    assert asked == ["Choose a rig file to run the drill on"]
    assert page.rig.text() == str(RIG)
    page.choose("wrong-line-up")
    QTest.keyClick(page.table, Qt.Key.Key_B, CTRL_SHIFT)
    assert program.drills.driver is None
    assert "the rig has 1 tank with the role reserve" in page.words.text()
    page.choose("kick-drilling-fast")
    page.seed.setText("3")
    QTest.keyClick(page.table, Qt.Key.Key_B, CTRL_SHIFT)
    driver = program.drills.driver
    assert isinstance(driver, Driver)
    assert driver.desk.situation.rig.name == "Tamarisk 2 (invented)"
    for _ in range(50 * 60):
        driver.second()
        if driver.desk.situation.warnings:
            break
    driver.desk.tick()
    names = {w.name for w in driver.desk.situation.warnings}
    assert names & {"gain, active", "gain, all tanks"}
    assert " m3" in driver.desk.situation.warnings[0].text or "m³" in driver.desk.situation.warnings[0].text
    driver.flow_check()
    for _ in range(120):
        driver.second()
    program.drills.end()
    done = read_drill(driver.folder)
    assert done.rig_text.count("# INVENTED: a training drill") == 1
    told, rig = debriefing.of_drill(driver.folder, done)
    assert rig.name == "Tamarisk 2 (invented)"
    (seen,) = told.seeable
    assert seen.answer.what == "flow check"
    assert seen.behind_ms is not None
    said = " ".join(debrief_words.procedure(told, DisplayUnits(rig)))
    assert "m³ had come in" in said
    assert "," in said.split("m³ had come in")[0].rsplit(";", 1)[1]      # by the rig's own decimal sign


def test_a_scenario_file_of_ones_own(program: Program, tmp_path: Path) -> None:
    page = program.window.drill
    own = tmp_path / "my-kick.toml"
    practising.copy_example("nothing", own)
    page.own.setText(f'"{own}"')                        # as pasted
    assert not page.table.isEnabled()
    page.begin()
    driver = program.drills.driver
    assert driver is not None
    assert driver.run.choice.scenario == "my-kick"
    program.drills.end()
    assert read_drill(driver.folder).scenario == "my-kick"
    assert debriefing.of_folder(driver.folder)[0].about.file == "my-kick"
    own.write_text("name = 3\n", encoding="utf-8")
    page.begin()
    assert program.drills.driver is None
    assert "my-kick.toml was not used" in page.words.text()
    page.own.setText(str(tmp_path / "notes.txt"))
    page.begin()
    assert "is no scenario file" in page.words.text()
    page.own.clear()
    assert page.table.isEnabled()
    page.rig.setText(str(tmp_path / "gone.toml"))
    page.begin()
    assert "there is no such file" in page.words.text()


def test_any_of_them_is_one_that_can_run_there(tmp_path: Path) -> None:
    drawn = set()
    for seed in range(1, 11):
        run, opened = beginning.begin(Choice("", seed, rig=str(RIG)), tmp_path / "drills")
        opened.close()
        drawn.add(run.choice.scenario)
    assert len(drawn) > 3
    assert not drawn & {"wrong-line-up", "surge-trip-in", "degasser-started"}
