"""The crew on the Rig page, and their names offered where one says who it is. Everyone here is invented."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit
from pytestqt.qtbot import QtBot

from app.real_desks import GAIN, NOW, Hands, make_log, put_away, rig_text
from dipbook.records import RIG
from dipbook.rig.model import Person
from dipbook_app.forms.adopting_words import CHANGE
from dipbook_app.forms.handover_form import SeenRow
from dipbook_app.pages.rig import RigPage
from dipbook_app.preferences import PreferencesFile
from dipbook_app.running import Program
from dipbook_app.widgets.name_offer import NameOffer

CREW = ('[[crew]]   # nights\nname = "D. Example"\nrole = "driller"\n[[crew]]\nname = "Dora Sample"\n'
        '[[crew]]\nname = "M. Example"\nrole = "mud engineer"\n')
TEXT = rig_text(GAIN) + CREW


def program_on(text: str, tmp_path: Path) -> Program:
    made = Program(PreferencesFile(tmp_path / "p.json"), Hands().clock())
    made.window.resize(1280, 800)
    made.window.show()
    made.open_log(make_log(tmp_path / "a.dipbook", text, NOW - 3_600_000))
    return made


@pytest.fixture
def program(tmp_path: Path, qtbot: QtBot, qapp: object) -> Iterator[Program]:
    made = program_on(TEXT, tmp_path)
    yield made
    put_away(made)


@pytest.fixture
def unnamed(tmp_path: Path, qtbot: QtBot, qapp: object) -> Iterator[Program]:
    """A log whose rig names nobody."""
    made = program_on(rig_text(GAIN), tmp_path)
    yield made
    put_away(made)


def page_of(program: Program) -> RigPage:
    program.window.show_page("Rig")
    page: RigPage = program.window._pages["Rig"]
    page.show_section("Crew")
    return page


def type_into(page: RigPage, name: str, text: str) -> None:
    assert page.form is not None
    row = page.form.field(name)
    row.focus()
    QTest.keyClicks(row.editor, text)


def adopt(page: RigPage) -> str:
    """Adopt what is typed, and say what differed."""
    page.review()
    form = page.adopting
    assert form is not None
    said = form.differences.text()
    for name, text in (("effective", CHANGE), ("by", "R. Moe"), ("why", "new shift")):
        form.field(name).set_text(text)
    form.save()
    return said


def records(program: Program) -> list[tuple[str, str]]:
    assert program.desk is not None
    assert program.desk.situation is not None
    return [(r.author, r.reason) for r in program.desk.situation.records if r.kind == RIG]


def crew(program: Program) -> tuple[Person, ...]:
    assert program.desk is not None
    assert program.desk.situation is not None
    return program.desk.situation.rig.crew


# --- the Rig page ----------------------------------------------------------------------------------------------------


def test_the_crew_has_a_section_of_its_own(program: Program) -> None:
    page = page_of(program)
    assert [(row.name, row.what) for row in page.rows] == [
        ("D. Example", "driller"), ("Dora Sample", ""), ("M. Example", "mud engineer")]
    assert page.form is not None
    assert page.form.names() == ("name", "role")
    assert page.form.title.text() == "Person D. Example"
    assert page.picture.isHidden()
    assert page.add_buttons[0].text() == "Add person\nIns"
    assert page.add_buttons[1].text() == "Add tour\nShift+Ins"


def test_the_first_person_is_added_by_keys_and_counts_once_adopted(unnamed: Program) -> None:
    page = page_of(unnamed)
    assert page.rows == ()
    assert page.empty.text().startswith("Nobody is named.")
    QTest.keyClick(page.table, Qt.Key.Key_Insert)
    assert page.form is not None
    assert "Needed: the person's name" in page.form.field("name").words.said
    type_into(page, "name", "A. Example")
    type_into(page, "role", "derrickman")
    assert [(row.mark, row.name, row.what) for row in page.rows] == [("●", "A. Example", "derrickman")]
    assert crew(unnamed) == ()
    assert "•  Crew, A. Example added (derrickman)" in adopt(page)
    assert crew(unnamed) == (Person("A. Example", "derrickman"),)
    assert records(unnamed) == [("Test", "test"), ("R. Moe", "new shift")]


def test_a_person_is_changed_and_another_taken_out_and_the_comments_stay(program: Program) -> None:
    page = page_of(program)
    type_into(page, "role", "toolpusher")
    page.table.setCurrentCell(1, 1)
    for _ in range(2):
        QTest.keyClick(page.table, Qt.Key.Key_Delete)
    said = adopt(page)
    assert "•  Crew, Dora Sample removed" in said
    assert "•  Crew, D. Example, role: driller → toolpusher" in said
    assert crew(program) == (Person("D. Example", "toolpusher"), Person("M. Example", "mud engineer"))
    assert program.desk is not None
    assert program.desk.situation is not None
    text = str([r for r in program.desk.situation.records if r.kind == RIG][-1].payload["text"])
    assert text == TEXT.replace('"driller"', '"toolpusher"').replace('[[crew]]\nname = "Dora Sample"\n', "")


def test_one_name_twice_is_said_at_its_field_and_cannot_be_adopted(program: Program) -> None:
    page = page_of(program)
    page.table.setCurrentCell(1, 1)
    type_into(page, "name", "d. example")
    assert page.form is not None
    page.form.field("role").focus()
    words = page.form.field("name").words
    assert words.said == ("\"d. example\" is already the name of another person; expected a name of its own (capitals "
                          "don't count).")
    assert words.tone == "error"
    assert page.rows[1].mark == "✕"
    assert "Wrong or missing: Person d. example, name" in page.state.text()
    page.review()
    assert page.adopting is not None
    assert not page.adopting.save_button.isEnabled()


# --- names offered ---------------------------------------------------------------------------------------------------


def entry(program: Program, kind: str = "remark") -> tuple[QLineEdit, NameOffer]:
    """The field of who logs an entry, and what is offered at it."""
    program.window.show_page("Log")
    page = program.window._pages["Log"]
    page.add(kind)
    row = page.panel.form.field("by")
    row.focus()
    assert isinstance(row.editor, QLineEdit)
    assert row.offered is not None
    return row.editor, row.offered


def test_nothing_is_filled_in_nor_offered_before_a_letter_is_typed(program: Program) -> None:
    line, offer = entry(program)
    assert line.text() == ""
    assert offer.shown() == ()


def test_names_that_have_what_is_typed_are_offered_with_their_roles(program: Program) -> None:
    line, offer = entry(program)
    QTest.keyClicks(line, "d")
    assert offer.shown() == ("D. Example", "Dora Sample", "M. Example"), "mud engineer has a d"
    assert line.text() == "d", "what is typed stays as typed"
    assert offer.box is not None
    assert [offer.box.item(n).text() for n in range(3)] == [
        "D. Example, driller", "Dora Sample", "M. Example, mud engineer"]
    assert line.hasFocus()
    assert QApplication.activePopupWidget() is None
    QTest.keyClicks(line, "rill")
    assert offer.shown() == ("D. Example",)


def test_down_and_enter_take_a_name_and_the_next_enter_goes_on(program: Program) -> None:
    line, offer = entry(program)
    QTest.keyClicks(line, "sam")
    QTest.keyClick(line, Qt.Key.Key_Down)
    assert line.text() == "sam"
    QTest.keyClick(line, Qt.Key.Key_Return)
    assert line.text() == "Dora Sample"
    assert offer.shown() == ()
    assert line.hasFocus()


def test_a_click_takes_a_name(program: Program) -> None:
    line, offer = entry(program)
    QTest.keyClicks(line, "exa")
    box = offer.box
    assert box is not None
    QTest.mouseClick(box.viewport(), Qt.MouseButton.LeftButton, pos=box.visualItemRect(box.item(1)).center())
    assert line.text() == "M. Example"
    assert line.hasFocus()


def test_another_name_is_as_good_and_enter_takes_it_as_typed(program: Program) -> None:
    line, offer = entry(program)
    QTest.keyClicks(line, "D. Exam")
    assert offer.shown() == ("D. Example",)
    page = program.window._pages["Log"]
    page.panel.form.field("remark").set_text("calm")
    QTest.keyClick(line, Qt.Key.Key_Return)
    assert program.desk is not None
    assert program.desk.situation is not None
    assert program.desk.situation.records[-1].author == "D. Exam"


def test_esc_puts_the_list_away_and_leaves_the_form(program: Program) -> None:
    line, offer = entry(program)
    QTest.keyClicks(line, "d")
    QTest.keyClick(line, Qt.Key.Key_Escape)
    assert offer.shown() == ()
    assert line.isVisible()
    assert line.text() == "d"


def test_the_list_goes_when_another_field_is_gone_to(program: Program) -> None:
    line, offer = entry(program)
    QTest.keyClicks(line, "d")
    program.window._pages["Log"].panel.form.field("time").focus()
    assert offer.shown() == ()
    assert offer.box is not None
    assert offer.box.isHidden()


def test_the_list_goes_when_the_form_is_scrolled_or_the_window_takes_another_size(program: Program) -> None:
    line, offer = entry(program)
    row = line.parentWidget()
    for turn in (lambda: row.parentWidget().move(0, -5), lambda: program.window.resize(1100, 760)):
        QTest.keyClicks(line, "d")
        assert offer.shown() != ()
        turn()
        QApplication.processEvents()
        assert offer.shown() == ()
        line.clear()


def test_the_list_stays_inside_the_window_and_shows_each_name_whole(program: Program) -> None:
    line, offer = entry(program)
    QTest.keyClicks(line, "e")
    box = offer.box
    assert box is not None
    assert program.window.rect().contains(box.geometry())
    for row in range(box.count()):
        assert box.fontMetrics().horizontalAdvance(box.item(row).text()) < box.viewport().width()
        assert box.viewport().rect().contains(box.visualItemRect(box.item(row)))


def test_a_name_that_stands_whole_is_not_offered_again(program: Program) -> None:
    line, offer = entry(program)
    QTest.keyClicks(line, "M. Example")
    assert offer.shown() == ()


def test_nobody_is_offered_where_the_rig_names_nobody(unnamed: Program) -> None:
    line, offer = entry(unnamed)
    QTest.keyClicks(line, "d")
    assert offer.shown() == ()
    assert offer.box is None


def test_who_is_on_watch_is_offered_the_crew_at_the_foot_of_the_window(program: Program) -> None:
    status = program.window.status
    status.ask_who()
    QTest.keyClicks(status.who, "mud")
    assert status.offered.shown() == ("M. Example",)
    box = status.offered.box
    assert box is not None
    assert box.geometry().bottom() < program.window.height(), "above the line, where there is room"
    QTest.keyClick(status.who, Qt.Key.Key_Down)
    QTest.keyClick(status.who, Qt.Key.Key_Return)
    assert program.desk is not None
    assert program.desk.on_watch == "", "the name is taken, the watch isn't yet"
    QTest.keyClick(status.who, Qt.Key.Key_Return)
    assert program.desk.on_watch == "M. Example"


def test_esc_at_the_foot_first_puts_the_list_away(program: Program) -> None:
    status = program.window.status
    status.ask_who()
    QTest.keyClicks(status.who, "m")
    QTest.keyClick(status.who, Qt.Key.Key_Escape)
    assert status.who.isVisible()
    QTest.keyClick(status.who, Qt.Key.Key_Escape)
    assert not status.who.isVisible()


@pytest.mark.parametrize("name", ["observer", "keyer"])
def test_a_rounds_head_is_offered_the_crew(program: Program, name: str) -> None:
    program.window.show_page("Round")
    page = program.window._pages["Round"]
    line = page.head.fields[name]
    line.setFocus()
    line.selectAll()
    QTest.keyClicks(line, "dora")
    assert page.offers[name].shown() == ("Dora Sample",)
    QTest.keyClick(line, Qt.Key.Key_Down)
    QTest.keyClick(line, Qt.Key.Key_Return)
    assert line.text() == "Dora Sample"


def test_who_adopts_is_offered_the_crew_in_force_and_not_the_one_typed(program: Program) -> None:
    page = page_of(program)
    type_into(page, "name", "D. Other")
    page.review()
    assert page.adopting is not None
    row = page.adopting.field("by")
    row.focus()
    QTest.keyClicks(row.editor, "driller")
    assert row.offered is not None
    assert row.offered.shown() == ("D. Example",)


def test_a_handover_offers_the_crew_for_both(program: Program) -> None:
    program.window.show_page("Log")
    program.window._pages["Log"].add("handover")
    form = program.window._pages["Log"].panel.form
    for name in ("leaving", "arriving"):
        row = form.field(name)
        row.focus()
        row.set_text("")
        QTest.keyClicks(row.editor, "dora")
        assert row.offered is not None
        assert row.offered.shown() == ("Dora Sample",)
        for group in (x for x in form.fields if isinstance(x, SeenRow)):
            group.set_text("seen")
        form.save()


def test_who_sets_a_limit_aside_is_offered_the_crew(program: Program) -> None:
    program.window.show_page("Limits")
    page = program.window._pages["Limits"]
    page.table.setCurrentCell(0, 0)
    page.set_aside(shelf=False)
    row = page.form.field("by")
    row.focus()
    QTest.keyClicks(row.editor, "dor")
    assert row.offered is not None
    assert row.offered.shown() == ("Dora Sample",)
