"""The Rig page on a real log: what is typed is drawn and told at once, kept, and counts once it is adopted."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.real_desks import GAIN, NOW, Hands, make_log, put_away, rig_text
from builders import FT
from dipbook.composing.rig_views import tank_sketch
from dipbook.records import RIG, Dip
from dipbook.rig.parsing import check
from dipbook_app.display import DisplayUnits
from dipbook_app.forms.adopt_draft_form import NOTHING, AdoptDraftForm
from dipbook_app.forms.adopting_words import CHANGE, CORRECTION
from dipbook_app.pages.rig import RigPage
from dipbook_app.pages.rig_drawn import AS_BEFORE
from dipbook_app.preferences import PreferencesFile
from dipbook_app.rig_draft import NAME, OVERTAKEN
from dipbook_app.rig_words import at_field, depth_words, tank_rows
from dipbook_app.running import Program
from dipbook_app.widgets.well_drawing import WellDrawing

TEXT = rig_text(GAIN).replace('width = "8 ft"', 'width = "8 ft"   # inside, measured twice')
TRIPS = (Path(__file__).parents[2] / "demo_data" / "rig-larkspur-trips.toml").read_text(encoding="utf-8")


Opening = Callable[..., Program]


@pytest.fixture
def opening(tmp_path: Path, qtbot: QtBot, qapp: object) -> Iterator[Opening]:
    """Opens the program on a log with a rig's text; with none, on the log that is there. All are closed at the end."""
    made: list[Program] = []

    def opened(text: str = "") -> Program:
        for earlier in made:
            put_away(earlier)
        made[:] = [Program(PreferencesFile(tmp_path / "p.json"), Hands().clock())]
        made[0].window.resize(1280, 800)
        made[0].window.show()
        made[0].open_log(make_log(tmp_path / "a.dipbook", text, NOW - 3_600_000) if text else tmp_path / "a.dipbook")
        made[0].window.show_page("Rig")
        return made[0]

    yield opened
    for each in made:
        put_away(each)


@pytest.fixture
def program(opening: Opening) -> Program:
    return opening(TEXT)


def page_of(program: Program) -> RigPage:
    page: RigPage = program.window._pages["Rig"]
    return page


def rig_records(program: Program) -> list[tuple[str, str, str]]:
    assert program.desk is not None
    return [(str(r.payload["effective"]), r.author, r.reason) for r in program.desk.situation.records if r.kind == RIG]


def type_into(page: RigPage, name: str, text: str) -> None:
    assert page.form is not None
    row = page.form.field(name)
    row.focus()
    if text:
        QTest.keyClicks(row.editor, text)
    else:
        QTest.keyClick(row.editor, Qt.Key.Key_Delete)


def adopt(page: RigPage, effective: str = CHANGE, by: str = "R. Moe", why: str = "measured again") -> None:
    form = page.adopting
    assert isinstance(form, AdoptDraftForm)
    for name, text in (("effective", effective), ("by", by), ("why", why)):
        form.field(name).set_text(text)
    form.save()


def test_tanks_stand_in_gauging_order_and_the_first_is_drawn(program: Program) -> None:
    page = page_of(program)
    assert [row.name for row in page.rows] == ["Settling", "Suction", "Reserve 1"]
    assert page.table.hasFocus()
    assert page.picture.rows == (("At every level", "1 in = 3.56 bbl"), ("At the brim, 108 in", "384.7 bbl"),
                                 ("No heel given", "384.7 bbl"))
    assert page.picture.shape.marks() == (("brim 108 in", pytest.approx(9 * FT)),)
    assert page.picture.shape.across() == "8 ft wide"
    assert not page.review_button.isEnabled()


def test_a_dimension_is_drawn_and_told_as_it_is_typed_and_a_record_once_it_is_adopted(program: Program) -> None:
    page = page_of(program)
    QTest.keyClick(page.table, Qt.Key.Key_Down)
    QTest.keyClick(page.table, Qt.Key.Key_Return)
    assert page.form is not None
    assert QApplication.focusWidget() is page.form.field("name").editor
    type_into(page, "shape.width", "10 ft")
    assert ("At every level", "1 in = 4.45 bbl") in page.picture.rows
    assert page.picture.shape.across() == "10 ft wide"
    assert page.rows[1].mark == "●"
    assert "not adopted" in page.state.text()
    assert rig_records(program) == [("change", "Test", "test")], "nothing is changed until it is adopted"
    assert program.desk is not None
    assert program.desk.situation.rig.tank("Suction").shape.slope(1.0) == pytest.approx(240 * FT**2)
    QTest.keyClick(page.form.field("shape.width").editor, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    form = page.adopting
    assert form is not None
    assert "•  Tank Suction, shape: box 30 ft × 8 ft × 9 ft → box 30 ft × 10 ft × 9 ft" in form.differences.text()
    assert "As a correction it counts from 01:15 on" in form.differences.text()
    form.save()
    assert "A reason is needed" in form.field("why").words.said
    adopt(page)
    assert rig_records(program) == [("change", "Test", "test"), ("change", "R. Moe", "measured again")]
    assert program.desk.situation.rig.tank("Suction").shape.slope(1.0) == pytest.approx(300 * FT**2)
    text = str([r for r in program.desk.situation.records if r.kind == RIG][-1].payload["text"])
    assert text.count("# inside, measured twice") == 3, "the comments are kept"
    assert page.adopting is None
    assert page.words.said == f"Adopted: it {CHANGE}."
    assert [row.mark for row in page.rows] == ["", "", ""]
    assert page.draft.proposal.base == text


def test_a_correction_replaces_what_was_in_force(program: Program) -> None:
    page = page_of(program)
    type_into(page, "shape.width", "10 ft")
    page.review()
    adopt(page, CORRECTION)
    assert [effective for effective, *_ in rig_records(program)] == ["change", "correction"]
    assert program.desk is not None
    assert len(program.desk.situation.superseded) == 1


@pytest.mark.parametrize(("name", "text", "said"), [
    ("shape.width", "8 fot", "“fot” is not a unit"),
    ("shape.height", "0 ft", '"0 ft" isn\'t above 0'),
    ("brim", "12 ft", '"12 ft" is above the top of the shape'),
    ("shape.width", "", "Needed: the inside width"),
    ("fresh_for", "40", "“40” has no unit"),
])
def test_what_is_wrong_is_said_at_its_field_and_cannot_be_adopted(program: Program, name: str, text: str,
                                                                  said: str) -> None:
    page = page_of(program)
    type_into(page, name, text)
    assert page.form is not None
    words = page.form.field(name).words
    assert words.tone == "quiet", "nobody is scolded while typing"
    page.form.field("internals").focus()
    assert said.casefold() in words.said.casefold()
    assert words.tone == ("error" if text else "quiet")
    assert page.rows[0].mark == "✕"
    assert "Wrong or missing: Tank Settling" in page.state.text()
    page.review()
    form = page.adopting
    assert form is not None
    assert "Tank Settling" in form.differences.text()
    assert not form.save_button.isEnabled()
    form.save()
    assert len(rig_records(program)) == 1
    QTest.keyClick(form, Qt.Key.Key_Escape)
    assert page.adopting is None
    assert page.draft.proposal.changed, "what is typed stays"


def test_a_brim_that_is_wrong_leaves_the_drawing_to_the_top_of_the_shape(program: Program) -> None:
    page = page_of(program)
    type_into(page, "brim", "12 ft")
    assert page.picture.shape.marks() == (("top 108 in", pytest.approx(9 * FT)),)
    assert page.picture.rows[1] == ("To the top of the shape, 108 in", "384.7 bbl")
    type_into(page, "shape.height", "wide")
    assert page.picture.rows[1] == ("To the top of the shape, 108 in", "384.7 bbl"), "the last that could be read"
    assert page.picture.before.said == AS_BEFORE
    type_into(page, "shape.height", "10 ft")
    assert page.picture.before.said == ""


def test_a_limit_that_could_not_be_passed_any_more_is_told(opening: Opening) -> None:
    high = GAIN.replace('"gain"', '"high"', 1).replace('kind = "gain"', 'kind = "high"').replace(
        'on = "active"', 'on = "Suction"').replace('value = "5 bbl"', 'value = "8 ft"').replace(
        'growth = "2 bbl"\n', "").replace('deadband = "2 bbl"', 'deadband = "1 in"')
    program = opening(rig_text(high))
    page = page_of(program)
    page.table.setCurrentCell(1, 1)
    type_into(page, "brim", "6 ft")
    assert "Limit high, value (on the Limits page)" in page.state.text()


def test_another_shape_asks_for_its_own_dimensions_and_going_back_loses_nothing(program: Program) -> None:
    page = page_of(program)
    assert page.form is not None
    kind = page.form.field("shape.kind")
    kind.set_text("vertical cylinder")
    assert "shape.diameter" in page.form.names()
    assert "shape.width" not in page.form.names()
    assert page.form.field("shape.diameter").words.said.startswith("Needed: the inside diameter")
    type_into(page, "shape.diameter", "12 ft")
    assert ("At every level", "1 in = 1.68 bbl") in page.picture.rows
    kind.set_text("box")
    assert page.form.field("shape.width").text() == "8 ft"
    assert page.draft.proposal.text == TEXT


def test_a_strapping_table_is_typed_a_line_each_and_tells_each_level(program: Program) -> None:
    page = page_of(program)
    assert page.form is not None
    page.form.field("shape.kind").set_text("strapping")
    page.form.field("shape.table").set_text("0 in = 0 bbl\n54 in = 100 bbl\n108 in = 400 bbl")
    assert page.draft.checked.rig is not None
    assert ("At 27 in, 50.0 bbl", "1 in = 1.85 bbl") in page.picture.rows
    assert ("At 81 in, 250.0 bbl", "1 in = 5.56 bbl") in page.picture.rows
    page.form.field("shape.table").set_text("0 in = 0 bbl\n54 in = 100 bbl\n108 in = 90 bbl")
    assert "doesn't rise" in page.form.field("shape.table").words.said


def test_a_tank_is_added_and_taken_out_by_keys(program: Program) -> None:
    page = page_of(program)
    page.table.setCurrentCell(2, 1)
    QTest.keyClick(page.table, Qt.Key.Key_Insert)
    assert page.form is not None
    assert QApplication.focusWidget() is page.form.field("name").editor
    for name, text in (("name", "Pill"), ("role", "pill"), ("shape.kind", "box"), ("shape.length", "10 ft"),
                       ("shape.width", "6 ft"), ("shape.height", "8 ft"), ("gauge", "up"), ("active", "no")):
        page.form.field(name).set_text(text)
    assert page.draft.checked.rig is not None
    assert [t.name for t in page.draft.checked.rig.tanks] == ["Settling", "Suction", "Reserve 1", "Pill"]
    QTest.keyClick(page.form, Qt.Key.Key_Escape)
    assert page.table.hasFocus()
    page.table.setCurrentCell(2, 1)
    QTest.keyClick(page.table, Qt.Key.Key_Delete)
    assert "Del again takes out Reserve 1" in page.words.said
    QTest.keyClick(page.table, Qt.Key.Key_Delete)
    page.review()
    assert page.adopting is not None
    assert "•  Tank Reserve 1 removed" in page.adopting.differences.text()
    assert "•  Tank Pill added (pill, 85.49165 bbl to the brim)" in page.adopting.differences.text()
    adopt(page)
    assert program.desk is not None
    assert [t.name for t in program.desk.situation.rig.tanks] == ["Settling", "Suction", "Pill"]


def test_a_pump_by_its_measures_and_a_calibrated_output_that_goes_first(program: Program) -> None:
    page = page_of(program)
    QTest.keyClick(page, Qt.Key.Key_PageDown, Qt.KeyboardModifier.ControlModifier)
    page.show_section("Pumps")
    assert page.empty.text() == "No pump is described. Ins adds one."
    page.add()
    assert page.form is not None
    for name, text in (("name", "1"), ("type", "triplex"), ("liner", "6 in"), ("stroke", "12 in"),
                       ("efficiency", "0.97")):
        page.form.field(name).set_text(text)
    assert page.picture.rows[0] == ("A stroke, by its measures", "0.102 bbl")
    page.form.field("output").set_text("0.1 bbl")
    assert page.picture.rows == (("A stroke, calibrated", "0.100 bbl, which counts"), ("By its measures", "0.102 bbl"))
    assert "its output as typed counts" in page.form.field("output").words.said


def test_hole_and_string_are_drawn_to_depth_with_their_volumes(opening: Opening) -> None:
    program = opening(TRIPS)
    page = page_of(program)
    page.show_section("Hole and string")
    assert [row.name for row in page.rows] == ["13 3/8 casing", "12 1/4 hole", "collars", "heavy-weight", "drill pipe"]
    assert [m.words for m in page.picture.well.marks() if not m.left] == [], "no bit depth, no string in the hole"
    assert page.picture.remarks == ("The log has no bit depth: type one to see the string in the hole.",)
    page.picture.bit.set_text("9000 ft")
    words = [m.words for m in page.picture.well.marks()]
    assert {"shoe 4980 ft", "bottom 9766 ft", "bit 9000 ft", "collars 600 ft", "heavy-weight 900 ft"} <= set(words)
    found = dict(page.picture.rows)
    assert found["Steel in the hole"] == "105.8 bbl"
    assert found["Surface to bit"] == "145.7 bbl"
    page.table.setCurrentCell(2, 1)
    type_into(page, "steel", "0.06 bbl/ft")
    assert page.form is not None
    assert "10 % more than the catalogue" in page.form.notes.text()
    assert dict(page.picture.rows)["Steel in the hole"] == "109.1 bbl", "600 ft × 0.0055 bbl/ft more"
    page.picture.bit.set_text("deep")
    assert page.picture.bit.words.tone == "error"
    assert dict(page.picture.rows)["Steel in the hole"] == "unknown"
    page.picture.bit.set_text("9800 ft")
    assert "deeper than the sections" in page.picture.remarks[0]
    assert dict(page.picture.rows)["Bottoms-up"] == "unknown"


def test_what_is_typed_is_named_as_not_saved_and_outlives_page_and_program(opening: Opening) -> None:
    program = opening(TEXT)
    page = page_of(program)
    type_into(page, "shape.width", "10 ft")
    program.window.show_page("Watch")
    assert "Not saved: Changes of the rig" in program.window.status.unsaved.text()
    program.window.go_on()
    assert program.window.page == "Rig"
    assert page.form is not None
    assert page.form.field("shape.width").text() == "10 ft"
    again = opening()
    page = page_of(again)
    assert page.form is not None
    assert page.form.field("shape.width").text() == "10 ft"
    assert page.rows[0].mark == "●"
    page.discard()
    assert "Discard again" in page.words.said
    page.discard()
    assert page.form.field("shape.width").text() == "8 ft"
    assert not page.draft.proposal.changed
    again.window.show_page("Watch")
    assert "Changes of the rig" not in again.window.status.unsaved.text()


def test_a_limit_set_meanwhile_is_not_undone_by_what_is_typed(program: Program) -> None:
    page = page_of(program)
    type_into(page, "shape.width", "10 ft")
    assert program.desk is not None
    tighter = TEXT.replace('value = "5 bbl"', 'value = "4 bbl"')
    program.desk.adopt_rig(tighter, author="R. Moe", reason="tighter")
    program.window.show_page("Limits")
    program.window.show_page("Rig")
    page.review()
    assert page.adopting is not None
    assert "Limit" not in page.adopting.differences.text().partition("And now:")[0]
    adopt(page)
    rig = program.desk.situation.rig
    assert rig.limits[0].as_typed == "4 bbl"
    assert rig.tank("Settling").shape.slope(1.0) == pytest.approx(300 * FT**2)


def test_what_was_typed_over_tables_that_are_gone_cannot_be_adopted(program: Program) -> None:
    page = page_of(program)
    type_into(page, "shape.width", "10 ft")
    assert program.desk is not None
    program.desk.adopt_rig(TEXT.replace('name = "Reserve 1"', 'name = "Reserve 9"'), author="R. Moe", reason="renamed")
    program.window.show_page("Limits")
    program.window.show_page("Rig")
    assert page.state.text() == OVERTAKEN
    page.review()
    assert page.adopting is not None
    assert not page.adopting.save_button.isEnabled()
    page.close_form()
    page.discard()
    page.discard()
    assert [row.name for row in page.rows] == ["Settling", "Suction", "Reserve 9"]


def test_what_means_the_same_is_nothing_to_adopt(program: Program) -> None:
    page = page_of(program)
    type_into(page, "shape.width", "96 in")
    page.review()
    assert page.adopting is not None
    assert page.adopting.words.said == NOTHING
    assert not page.adopting.save_button.isEnabled()


def test_a_draft_that_cannot_be_read_is_left_aside(opening: Opening) -> None:
    program = opening(TEXT)
    page = page_of(program)
    type_into(page, "shape.width", "10 ft")
    page.draft._drafts.put(NAME, {"began_ms": 1, "label": "x", "proposal": {"base": "= not toml", "typed": [], "rows": {}}})
    again = opening()
    assert not page_of(again).draft.proposal.changed


def test_a_whole_file_is_adopted_where_it_ever_was(program: Program) -> None:
    page_of(program).file_button.click()
    assert program.window.page == "Limits"
    assert program.window._pages["Limits"].form is not None


def test_other_units_are_told_in(program: Program) -> None:
    page = page_of(program)
    page.show_units("metric")
    assert page.picture.rows[0][1].startswith("1 cm = 0.223 m")


def test_the_figures_of_the_well_are_described_by_typing_and_go_when_all_is_blank(program: Program) -> None:
    page = page_of(program)
    page.show_section("Well, in figures")
    assert [row.what for row in page.rows] == ["not set"] * 4
    QTest.keyClick(page.table, Qt.Key.Key_Insert)
    assert "stand once each" in page.words.said
    assert page.form is not None
    page.form.field("capacity").set_text("0.1458 bbl/ft")
    assert page.rows[0].what == "described"
    assert page.draft.checked.rig is not None
    assert page.draft.checked.rig.hole is not None
    assert any("neither annulus nor lag" in note for note in page.form.notes.text().splitlines())
    page.form.field("capacity").set_text("")
    assert page.draft.proposal.text == TEXT


@pytest.mark.parametrize(("what", "said"), [
    ('is missing; expected "up" or "down"', ("Needed: choose one.", "quiet")),
    ('is missing; expected the height of the mark, like "9 ft", of a tank gauged "down"',
     ('Needed: the height of the mark, like "9 ft", of a tank gauged "down".', "quiet")),
    ('"300 gal" isn\'t a row of flow and volume; expected rows like [["1 min", "4 bbl"], ["2 min", "7 bbl"]]',
     ('"300 gal" isn\'t a row of flow and volume; expected rows like 1 min = 4 bbl; 2 min = 7 bbl.', "error")),
    ('"x" isn\'t a number; expected a share, without quotes', ('"x" isn\'t a number; expected a share.', "error")),
])
def test_words_of_the_file_are_said_as_for_a_field(what: str, said: tuple[str, str]) -> None:
    assert at_field(what, chosen='"up" or' in what) == said


def test_a_number_alone_is_told_as_it_is_read(program: Program) -> None:
    page = page_of(program)
    assert page.form is not None
    width = page.form.field("shape.width")
    type_into(page, "shape.width", "")
    assert width.words.said.startswith("Needed: the inside width")
    type_into(page, "shape.width", "10")
    assert width.words.said == "= 10 ft"
    type_into(page, "shape.width", "10 ft")
    assert width.words.said == "A number alone is in ft."
    type_into(page, "brim", "8")
    assert page.form.field("brim").words.said.startswith("= 8 in. Tank Settling is 108 in high and its brim is at 8 in")
    assert "Is that the unit meant?" in page.form.words.said, "cut on its line, whole below the fields"


def test_half_a_unit_moves_nothing_and_keeps_the_drawing(program: Program) -> None:
    page = page_of(program)
    assert page.form is not None
    below = page.form.field("shape.height")
    before = below.y(), page.form.y(), page.picture.rows
    type_into(page, "shape.width", "8 f")
    QApplication.processEvents()
    assert (below.y(), page.form.y()) == before[:2]
    assert page.picture.rows == before[2]
    assert page.picture.before.said == AS_BEFORE
    below.focus()
    QApplication.processEvents()
    assert "“f” is not a unit" in page.form.field("shape.width").words.said
    assert page.form.words.said.startswith("Width: “f” is not a unit")
    assert (below.y(), page.form.y()) == before[:2]


def test_the_limits_and_valves_on_a_tank_follow_its_new_name(opening: Opening) -> None:
    high = GAIN.replace('"gain"', '"high"', 1).replace('kind = "gain"', 'kind = "high"').replace(
        'on = "active"', 'on = "Suction"').replace('value = "5 bbl"', 'value = "8 ft"').replace(
        'growth = "2 bbl"\n', "").replace('deadband = "2 bbl"', 'deadband = "1 in"')
    valve = '[[valve]]\nname = "Dump 1"\nkind = "dump"\ntank = "Suction"\nopen = false\n'
    program = opening(rig_text(high + valve))
    page = page_of(program)
    page.table.setCurrentCell(1, 1)
    type_into(page, "name", "Suction 2")
    assert page.form is not None
    assert page.form.field("name").words.said == "Follows here: limit high, valve Dump 1."
    checked = page.draft.checked.rig
    assert checked is not None
    assert checked.limits[0].on == "Suction 2"
    assert checked.valves[0].tank == "Suction 2"
    page.review()
    assert page.adopting is not None
    assert "•  Limit high, on: Suction → Suction 2" in page.adopting.differences.text()
    assert "•  Valve Dump 1, tank: Suction → Suction 2" in page.adopting.differences.text()
    page.close_form()
    page.show_section("Valves, equipment")
    assert page.form.field("tank").text() == "Suction 2"
    page.show_section("Tanks")
    page.table.setCurrentCell(1, 1)
    type_into(page, "name", "Suction")
    assert not page.draft.proposal.changed


def test_a_correction_without_a_tank_names_what_it_leaves_without_one(program: Program) -> None:
    assert program.desk is not None
    now = program.desk.now_ms()
    program.desk.save_round((Dip("Reserve 1", now, "50 in", 50 * FT / 12), Dip("Suction", now, "50 in", 50 * FT / 12)),
                            start_ms=now, end_ms=now, observer="R. Moe", author="R. Moe", remark="")
    program.desk.log_entry("transfer", {"from": "Reserve 1", "to": "Suction", "volume": "2 bbl"}, t_ms=now, end_ms=None,
                           author="R. Moe")
    program.desk.log_entry("remark", {"remark": "Reserve 1"}, t_ms=now, end_ms=None, author="R. Moe")
    page = page_of(program)
    page.table.setCurrentCell(2, 1)
    page.remove()
    page.remove()
    page.review()
    assert page.adopting is not None
    assert "1 reading and 1 entry name Reserve 1: what they say of it counts no more then" in \
        page.adopting.differences.text()


def test_depths_are_said_as_short_as_they_are(program: Program) -> None:
    assert program.desk is not None
    units = DisplayUnits(program.desk.situation.rig)
    assert depth_words(4980 * FT, units) == "4980 ft"
    assert depth_words(4980.5 * FT, units) == "4980.5 ft"
    sketch = tank_sketch(check(TEXT), 0)
    assert tank_rows(sketch, units) == page_of(program).picture.rows


def test_nothing_is_drawn_where_nothing_is_described(qtbot: QtBot) -> None:
    drawing = WellDrawing()
    qtbot.addWidget(drawing)
    drawing.resize(300, 200)
    drawing.grab()
    assert drawing.marks() == ()
    assert drawing.deepest_m == 0.0


def test_what_a_narrow_field_cuts_stands_whole_below_the_fields(program: Program) -> None:
    page = page_of(program)
    page.show_section("Pumps")
    page.add()
    assert page.form is not None
    page.form.field("name").focus()
    assert page.form.words.said == 'Name: Needed: the pump\'s name, like "1".'
    page.show_section("Tanks")
    page.edit()
    page.form.field("heel").focus()
    assert page.form.words.said == "Heel: Below it no mud can be drawn."
