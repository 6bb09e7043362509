"""Adopting a rig file in the window: its differences in words, changed now or always so; and what Start says of files."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.real_desks import GAIN, NOW, Hands, make_log, put_away, rig_text
from dipbook import store
from dipbook.limits import ACTIVITIES
from dipbook.records import RIG
from dipbook.rig import document
from dipbook_app.forms.adopt_form import AdoptForm
from dipbook_app.forms.adopting_words import CHANGE, CORRECTION
from dipbook_app.limit_words import watched_words
from dipbook_app.pages.limits import LimitsPage
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program

DEEPER = rig_text(GAIN).replace('brim = "9 ft"', 'brim = "8 ft"')
TEMPLATE = (files("dipbook_app") / "data" / "new_rig.toml").read_text(encoding="utf-8")


@pytest.fixture
def program(tmp_path: Path, qtbot: QtBot, qapp: object) -> Iterator[Program]:
    made = Program(PreferencesFile(tmp_path / "p.json"), Hands().clock())
    made.window.resize(1280, 800)
    made.window.show()
    yield made
    put_away(made)


def write(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    return path


def limits_page(program: Program) -> LimitsPage:
    page: LimitsPage = program.window._pages["Limits"]
    return page


def form_of(program: Program) -> AdoptForm:
    form = limits_page(program).form
    assert isinstance(form, AdoptForm)
    return form


def rig_records(program: Program) -> list[str]:
    assert program.desk is not None
    return [str(r.payload["effective"]) for r in program.desk.situation.records if r.kind == RIG]


@pytest.mark.parametrize(("chosen", "effective"), [(CHANGE, "change"), (CORRECTION, "correction")])
def test_a_file_is_adopted_by_keyboard_after_its_differences_were_shown(
        program: Program, tmp_path: Path, chosen: str, effective: str) -> None:
    program.open_log(make_log(tmp_path / "a.dipbook", rig_text(GAIN), NOW - 3_600_000))
    program.window.show_page("Limits")
    page = limits_page(program)
    assert page.adopt_button.text().endswith(page.adopt_button.shortcut().toString())
    page.adopt_button.click()
    form = form_of(program)
    QTest.keyClicks(form.focusWidget(), str(write(tmp_path / "deeper.toml", DEEPER)))
    QTest.keyClick(form.focusWidget(), Qt.Key.Key_Return)
    assert "•  Tank Suction, brim: 108 in → 96 in" in form.differences.text()
    assert "As a correction it counts from 01:15 on" in form.differences.text()
    form.field("effective").set_text(chosen)
    form.save()
    assert "A reason is needed" in form.field("why").words.said
    assert rig_records(program) == ["change"]
    form.field("why").set_text("measured")
    form.field("by").set_text("R. Moe")
    form.save()
    assert rig_records(program) == ["change", effective]
    assert page.form is None
    assert page.words.said == f"Adopted deeper.toml: it {chosen}."


def test_who_why_and_since_when_are_asked(program: Program, tmp_path: Path) -> None:
    program.open_log(make_log(tmp_path / "a.dipbook", rig_text(GAIN)))
    page = limits_page(program)
    page.adopt(str(write(tmp_path / "deeper.toml", DEEPER)))
    form = form_of(program)
    form.field("by").set_text("")
    form.save()
    for name in ("effective", "by", "why"):
        assert form.field(name).words.tone == "error"
    assert rig_records(program) == ["change"]


def test_a_file_that_changed_since_it_was_looked_at_is_shown_again(program: Program, tmp_path: Path) -> None:
    program.open_log(make_log(tmp_path / "a.dipbook", rig_text(GAIN)))
    path = write(tmp_path / "deeper.toml", DEEPER)
    limits_page(program).adopt(str(path))
    form = form_of(program)
    for name, text in (("effective", CHANGE), ("by", "R. Moe"), ("why", "x")):
        form.field(name).set_text(text)
    write(path, DEEPER.replace('brim = "8 ft"', 'brim = "7 ft"'))
    form.save()
    assert form.words.said == "Look at the differences, then adopt."
    assert "108 in → 84 in" in form.differences.text()
    assert rig_records(program) == ["change"]
    form.save()
    assert rig_records(program) == ["change", "change"]


def test_a_file_with_problems_shows_them_all_and_the_same_rig_has_nothing_to_adopt(program: Program,
                                                                                  tmp_path: Path) -> None:
    program.open_log(make_log(tmp_path / "a.dipbook", rig_text(GAIN)))
    path = write(tmp_path / "bad.toml", rig_text(GAIN).replace('"1/4 in"', '"1/4 inn"'))
    limits_page(program).adopt(str(path))
    form = form_of(program)
    assert form.differences.text().count("dip_error") == 3
    assert "bad.toml, line " in form.differences.text()
    write(path, "# a remark\n" + rig_text(GAIN))
    form.save()
    assert "nothing to adopt" in form.words.said
    assert form.differences.text() == ""


def test_a_file_is_chosen_in_the_systems_dialog_too(program: Program, tmp_path: Path) -> None:
    program.open_log(make_log(tmp_path / "a.dipbook", rig_text(GAIN)))
    limits_page(program).adopt()
    form = form_of(program)
    form.choose = lambda *_: str(write(tmp_path / "deeper.toml", DEEPER))
    form.choose_button.click()
    assert "brim" in form.differences.text()


# --- opening a rig file ---------------------------------------------------------------------------------------------


def test_a_rig_file_that_differs_from_the_logs_is_said_to_and_offered(program: Program, tmp_path: Path) -> None:
    rig = write(tmp_path / "a.toml", rig_text(GAIN))
    program.open_rig(rig)
    assert (tmp_path / "a.dipbook").exists()
    assert limits_page(program).form is None, "the log was made with this file: nothing to say"
    program.close_log()
    write(rig, DEEPER)
    program.open_rig(rig)
    assert program.window.page == "Limits"
    assert form_of(program).field("file").text() == str(rig)
    assert "brim" in form_of(program).differences.text()
    assert "a.toml differs from the rig that this log has, in 3 things." in program.window.status.readings()[-1]
    assert rig_records(program) == ["change"], "the log's own stays"


def test_a_bad_rig_file_beside_a_log_opens_the_log_and_shows_what_is_wrong(program: Program, tmp_path: Path) -> None:
    rig = write(tmp_path / "a.toml", rig_text(GAIN))
    program.open_rig(rig)
    program.close_log()
    write(rig, rig_text(GAIN).replace('"1/4 in"', '"1/4 inn"'))
    program.open_rig(rig)
    assert program.desk is not None
    assert "dip_error" in form_of(program).differences.text()


def test_every_problem_of_a_bad_file_stands_on_start_and_nothing_is_made(program: Program, tmp_path: Path) -> None:
    rig = write(tmp_path / "a.toml", rig_text(GAIN).replace('"1/4 in"', '"1/4 inn"').replace('"5 bbl"', '"5 bl"'))
    program.open_rig(rig)
    start = program.window.start
    assert program.window.page == "Start"
    assert start.said.startswith("a.toml can't be used yet. Nothing was made.")
    lines = start.problems.splitlines()
    assert len(lines) == 4
    assert all(re.match(r"a\.toml, line \d+, ", line) for line in lines)
    assert sorted(p.name for p in tmp_path.iterdir() if p.suffix == ".dipbook") == []
    QTest.qWait(0)
    assert start._problems.height() > 200
    start.say("Something else.")
    assert start.problems == ""
    write(rig, rig_text(GAIN))
    program.open_rig(rig)
    with store.open(tmp_path / "a.dipbook", write=False, create=False) as log:
        assert len(log.records(kinds=[RIG])) == 1


# --- describing a rig -----------------------------------------------------------------------------------------------


def filled_in() -> str:
    """The new rig file as a person fills it in: the marks taken from every key, and a value where a blank is."""
    text = re.sub(r"(?m)^# (?=\[|[a-z_]+ = )", "", TEMPLATE)
    blanks = {"value": "5 bbl", "deadband": "2 bbl", "growth": "2 bbl", "set_by": "R. Moe", "reason": "programme",
              "since": "2026-03-01"}
    return re.sub(r'(?m)^([a-z_]+) = ""', lambda m: f'{m[1]} = "{blanks[m[1]]}"', text)


def test_the_new_rig_file_reads_once_it_is_filled_in() -> None:
    doc = document.parse(filled_in(), "new_rig.toml")
    assert [t.name for t in doc.rig.tanks] == ["Suction"]
    assert [(x.kind, x.as_typed, x.set_by) for x in doc.rig.limits] == [("gain", "5 bbl", "R. Moe")]
    assert doc.rig.pipe is not None
    assert doc.rig.hole is not None
    assert doc.rig.drain_back is not None


def test_the_new_rig_file_explains_the_keys_that_are_easily_missed_and_their_values_can_be_read() -> None:
    for key in ("offset", "percent_of", "internals", "float", "type", "liner", "stroke", "rod", "efficiency", "curve",
                "after", "activity", "temperature", "volume", "holds", "filling", "draining", "to", "equalises", "step",
                "isolates"):
        assert re.search(rf"(?m)^# +{key} = .*#", TEMPLATE), f"{key} has no remark"
    assert all(activity in TEMPLATE[TEMPLATE.index("# activity"):] for activity in ACTIVITIES)
    doc = document.parse(filled_in(), "new_rig.toml")
    assert doc.rig.pipe is not None
    assert (doc.rig.tanks[0].percent_of, doc.rig.pipe.float_closed) == ("level", True)


def test_the_other_ways_in_the_new_rig_file_can_be_read_in_place_of_the_first() -> None:
    text = re.sub(r"(?m)^(output|falling) = .*\n", "", filled_in())
    text = re.sub(r"(?m)^#   (?=(type|liner|stroke|rod|efficiency|curve) = )", "", text)
    doc = document.parse(text.replace('type = "triplex"', 'type = "duplex"'), "new_rig.toml")
    assert doc.rig.drain_back is not None
    assert [len(doc.rig.pumps), len(doc.rig.drain_back.curve)] == [1, 3]


def test_the_new_rig_file_shows_equipment_and_both_a_plain_valve_and_a_gate() -> None:
    rig = document.parse(filled_in(), "new_rig.toml").rig
    assert [e.name for e in rig.equipment] == ["Desander pump"]
    assert [(v.kind, v.tank, v.open) for v in rig.valves] == [("dump", "Suction", False)]
    text = re.sub(r'(?m)^kind = "dump".*\n', "", filled_in())
    text = re.sub(r"(?m)^#   (?=(kind = \"gate\"|to = |equalises|step|isolates))", "", text)
    tank = text[text.index("\n[[tank]]") + 1:text.index("[[pump]]")]
    second = tank.replace('name = "Suction"', 'name = "Settling"').replace("active = true", "active = false").replace(
        "order = 1", "order = 2")
    (gate,) = document.parse(text.replace("[[pump]]", second + "[[pump]]", 1), "new_rig.toml").rig.valves
    assert (gate.kind, gate.to, gate.equalises, gate.isolates) == ("gate", "Settling", True, "Settling")


def test_the_new_rig_file_sets_no_limit_and_suggests_no_value_for_one() -> None:
    assert "limit" not in tomllib.loads(TEMPLATE)
    block = TEMPLATE[TEMPLATE.index("# [[limit]]"):]
    for key in ("value", "deadband", "growth", "set_by", "reason", "since"):
        assert re.search(rf'(?m)^# {key} = ""', block), f"{key} must be blank"
    assert not re.search(r'"\d', block.replace('"1 reading"', ""))


def test_a_file_without_tanks_says_what_is_missing() -> None:
    with pytest.raises(document.RigFileError) as found:
        document.parse(TEMPLATE, "new_rig.toml")
    assert "tank" in str(found.value)


def test_a_rig_is_described_by_keyboard(program: Program, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
                                        qtbot: QtBot) -> None:
    opened: list[str] = []
    monkeypatch.setattr("dipbook_app.pages.start.QDesktopServices.openUrl", lambda url: opened.append(url.toLocalFile()))
    monkeypatch.setattr(program.window.start, "ask_where_to_save", lambda: str(tmp_path / "mine"))
    program.window.activateWindow()
    QTest.qWaitForWindowActive(program.window)
    QTest.keyClick(program.window, Qt.Key.Key_N, Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier)
    path = tmp_path / "mine.toml"
    qtbot.waitUntil(lambda: bool(opened), timeout=5000)
    assert path.read_text(encoding="utf-8") == TEMPLATE
    assert opened == [str(path)]
    beside: list[str] = []
    monkeypatch.setattr("dipbook_app.pages.start.choose_file", lambda *args: beside.append(args[3]) or str(path))
    write(path, filled_in())
    open_button = program.window.start.choices[3]
    assert open_button.shortcut() == QKeySequence("Ctrl+O")
    open_button.click()
    assert beside == [str(path)], "the dialog begins where the file was saved"
    assert program.desk is not None
    assert program.desk.situation.rig.name == "Name your rig"


def test_what_is_watched_is_said_in_one_line(program: Program, tmp_path: Path) -> None:
    overdue = GAIN.replace('"gain"', '"late"', 1).replace('kind = "gain"', 'kind = "overdue"').replace(
        'value = "5 bbl"', 'value = "40 min"').replace('deadband = "2 bbl"\n', "").replace('growth = "2 bbl"\n', "")
    loss = GAIN.replace('"gain"', '"loss"')
    program.open_log(make_log(tmp_path / "a.dipbook", rig_text(GAIN, loss, overdue)))
    program.window.show_page("Limits")
    page = limits_page(program)
    assert page.unwatched.text() == "Watched: gain and loss of active, overdue rounds."
    assert watched_words(()) == ""
