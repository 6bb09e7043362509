"""Readings of other forms on the Log page: asked column by column, looked at, added; the headings are remembered."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox
from pytestqt.qtbot import QtBot

from app.real_desks import GAIN, MIN, NOW, Bench, Hands, bench, make_log, rig_text
from dipbook.records import SAMPLES
from dipbook_app import mapping_memory
from dipbook_app.pages.log import LogPage
from dipbook_app.stylesheet import stylesheet
from dipbook_app.theme import Look
from dipbook_app.widgets.files_view import REMEMBERED, FilesView

WIDE = "When;Pit 1;Trap;Note\n01.03.2026 01:00;150,5;33,7;x\n01.03.2026 01:30;151,25;33,75;y\n"


@pytest.fixture
def b(tmp_path: Path, qapp: object) -> Iterator[Bench]:
    path = make_log(tmp_path / "a.dipbook", rig_text(GAIN), NOW - 600 * MIN)
    with bench(path, Hands()) as made:
        made.desk.set_on_watch("R. Moe")
        yield made


@pytest.fixture
def view(b: Bench, qtbot: QtBot) -> Iterator[FilesView]:
    page = LogPage(b.desk)
    qtbot.addWidget(page)
    b.desk.situation_changed.connect(page.show_situation)
    page.show_situation(b.desk.situation)
    page.resize(1190, 660)
    page.show()
    page.activateWindow()
    page.add_files()
    yield page.files
    page.running._timer.stop()


def look(view: FilesView, qtbot: QtBot, folder: Path, content: str | bytes, name: str = "pits.csv") -> None:
    file = folder / name
    file.write_bytes(content.encode("utf-8") if isinstance(content, str) else content)
    view.fields["readings"].set_text(str(file))
    view.look()
    settle(view, qtbot)


def settle(view: FilesView, qtbot: QtBot) -> None:
    qtbot.waitUntil(lambda: not view.reader.busy and not view._again.isActive())


def type_choice(view: FilesView, qtbot: QtBot, box: QComboBox, text: str) -> None:
    """As a person chooses with the keyboard: the text of the choice, blanks and all."""
    box.setFocus()
    QTest.keyClicks(box, text)
    assert box.currentText().startswith(text)
    settle(view, qtbot)


def fill_in(view: FilesView, qtbot: QtBot) -> None:
    m = view.form.mapping
    for i, text in enumerate(("Date and time", "Suction: level", "Settling: volume", "Ignore")):
        type_choice(view, qtbot, m.meanings[i], text)
    type_choice(view, qtbot, m.units[1], "cm")
    type_choice(view, qtbot, m.units[2], "m³")
    type_choice(view, qtbot, view.form.read_as.lists["dates"], "day first")
    type_choice(view, qtbot, view.form.read_as.lists["zone"], "the rig")


def test_a_file_of_our_own_form_shows_no_mapping_at_all(view: FilesView, tmp_path: Path, qtbot: QtBot) -> None:
    look(view, qtbot, tmp_path, "time,Suction [in]\n2026-03-01 01:00,60\n")
    assert view.form.mapping.isHidden()
    assert view.form.read_as.isHidden()
    assert view.first.isVisible()
    assert [view.first.item(0, c).text() for c in range(2)] == ["1 Mar 2026 01:00:00", "60 in"]


def test_another_form_is_asked_column_by_column_by_keyboard_and_added(view: FilesView, b: Bench, tmp_path: Path,
                                                                      qtbot: QtBot) -> None:
    look(view, qtbot, tmp_path, WIDE)
    assert view.form.mapping.isVisible()
    assert view.focusWidget() is view.form.mapping.meanings[0]
    assert [w.said for w in view.form.mapping.words] == ["Choose what this column is, or ignore it."] * 4
    assert view.form.read_as.lists["separator"].currentText() == "semicolon"
    assert view.form.read_as.lists["decimal"].currentText() == "comma"
    assert not view.add_button.isEnabled()
    fill_in(view, qtbot)
    assert view.looked is not None
    assert view.looked.ok, view.looked.findings
    assert not any(w.said for w in view.form.mapping.words)
    assert "2 rows, 2 tanks (Settling, Suction), 1 Mar 2026 01:00 to 01:30 rig time. 4 dips: 4 new" in view.counts.text()
    assert view.first.item(0, 2).text() == '59 1/4 in'
    with qtbot.waitSignal(view.saved):
        QTest.keyClick(view.focusWidget(), Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    samples = next(r for r in b.situation.records if r.kind == SAMPLES)
    assert 'dates = "day first"' in samples.payload["read_as"]
    assert "left_out" not in samples.payload
    block = next(x for x in samples.blocks if x.channel == "tank:Suction:level")
    assert list(block.v) == pytest.approx([1.505, 1.5125])


def test_a_choice_that_lacks_its_unit_says_so_on_its_row_and_ctrl_enter_goes_there(view: FilesView, tmp_path: Path,
                                                                                qtbot: QtBot) -> None:
    look(view, qtbot, tmp_path, WIDE)
    for i, text in ((0, "Date and time"), (1, "Suction: level"), (2, "Ignore"), (3, "Ignore")):
        type_choice(view, qtbot, view.form.mapping.meanings[i], text)
    for part in ("dates", "zone"):
        type_choice(view, qtbot, view.form.read_as.lists[part], view.form.read_as.lists[part].itemText(1))
    assert [w.said for w in view.form.mapping.words] == ["", "Choose the unit.", "", ""]
    QTest.keyClick(view.focusWidget(), Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert view.focusWidget() is view.form.mapping.units[1]


def test_the_same_headings_are_filled_in_the_next_time_and_shown_as_remembered(view: FilesView, b: Bench, tmp_path: Path,
                                                                            qtbot: QtBot) -> None:
    look(view, qtbot, tmp_path, WIDE)
    fill_in(view, qtbot)
    view.add()
    b.settle()
    memory = mapping_memory.path_for(b.desk.store.path)
    assert memory.exists()
    later = WIDE.replace("01:00", "01:50").replace("01:30", "01:55")
    look(view, qtbot, tmp_path, later, "later.csv")
    assert view.looked is not None
    assert view.looked.ok, view.looked.findings
    assert view.words.said.startswith(REMEMBERED)
    assert view.form.mapping.meanings[1].currentText() == "Suction: level"
    assert not view.form.mapping.isHidden()
    memory.write_text("{spoilt", encoding="utf-8")
    look(view, qtbot, tmp_path, WIDE, "third.csv")
    assert view.form.mapping.meanings[1].currentText() == ""
    assert memory.with_name(memory.name + ".damaged").exists()


def test_an_encoding_is_asked_with_a_guess_and_the_lines_in_which_it_matters(view: FilesView, tmp_path: Path,
                                                                         qtbot: QtBot) -> None:
    look(view, qtbot, tmp_path, "time;Suction [in];Süd\n2026-03-01 01:00;60,5;1\n".encode("windows-1252"))
    box = view.form.read_as.lists["encoding"]
    assert view.focusWidget() is box
    assert box.currentText() == ""
    guess = box.itemText(1)
    assert guess.endswith("(a guess)")
    assert "line 1: time;Suction [in];S" in view.form.read_as.lines.text()
    assert not view.add_button.isEnabled()
    type_choice(view, qtbot, box, guess)
    assert view.form.mapping.isVisible()
    assert view.looked is not None
    assert view.looked.other is not None
    assert view.looked.other.headings[2] == "Süd"


def test_bad_rows_are_left_out_only_when_that_is_said_and_their_count_stays_in_the_log(view: FilesView, b: Bench,
                                                                                    tmp_path: Path, qtbot: QtBot) -> None:
    look(view, qtbot, tmp_path, WIDE + "01.03.2026 02:00;6O;33,8;z\n")
    fill_in(view, qtbot)
    assert view.words.said.startswith("1 problem: nothing can be added.")
    assert "Leave out 1 row" in view.leave_out_button.text()
    assert view.leave_out_button.isVisible()
    assert not view.add_button.isEnabled()
    view.add()
    assert not any(r.kind == SAMPLES for r in b.situation.records)
    QTest.keyClick(view, Qt.Key.Key_G, Qt.KeyboardModifier.ControlModifier)
    settle(view, qtbot)
    assert view.looked is not None
    assert view.looked.left_out == 1
    assert view.leave_out_button.isHidden()
    assert "1 row is left out (line 4)" in view.table.item(0, 4).text()
    view.add()
    b.settle()
    samples = next(r for r in b.situation.records if r.kind == SAMPLES)
    left_out = samples.payload["left_out"]
    assert left_out["count"] == 1
    assert left_out["digest"] == samples.payload["digest"]
    assert left_out["rows"][0]["text"] == "01.03.2026 02:00;6O;33,8;z"
    assert left_out["rows"][0]["line"] == 4


def test_one_dip_a_row_asks_which_tank_a_word_is(view: FilesView, tmp_path: Path, qtbot: QtBot) -> None:
    look(view, qtbot, tmp_path, "time,tank,value,unit\n2026-03-01T01:00:00Z,Suction,60,in\n2026-03-01T01:00:00Z,P9,61,in\n")
    assert view.form.mapping.tank_lists["Suction"].currentText() == "Suction"
    assert view.focusWidget() is view.form.mapping.tank_lists["P9"]
    type_choice(view, qtbot, view.form.mapping.tank_lists["P9"], "Settling")
    assert view.looked is not None
    assert view.looked.ok, view.looked.findings
    assert "2 tanks (Settling, Suction)" in view.counts.text()


def test_another_path_forgets_what_was_said(view: FilesView, tmp_path: Path, qtbot: QtBot) -> None:
    look(view, qtbot, tmp_path, WIDE)
    type_choice(view, qtbot, view.form.mapping.meanings[0], "Date and time")
    view.fields["readings"].set_text("")
    assert view.form.mapping.isHidden()
    assert view.form.said.columns == ()


def test_esc_stops_the_looking_again(view: FilesView, tmp_path: Path, qtbot: QtBot) -> None:
    look(view, qtbot, tmp_path, WIDE)
    view.form.mapping.changed.emit()
    assert view._again.isActive()
    QTest.keyClick(view, Qt.Key.Key_Escape)
    assert not view._again.isActive()
    assert view.isVisible()
    assert view.words.said == "Stopped. Nothing was added."


@pytest.mark.parametrize("size", [(1190, 660), (1830, 940)])
def test_no_choice_is_cut(view: FilesView, tmp_path: Path, qtbot: QtBot, size: tuple[int, int]) -> None:
    view.window().setStyleSheet(stylesheet(Look()))
    view.window().resize(*size)
    look(view, qtbot, tmp_path, WIDE)
    fill_in(view, qtbot)
    for box in (*view.form.mapping.meanings, *view.form.mapping.units, *view.form.read_as.lists.values()):
        if box.isVisible():
            assert box.fontMetrics().horizontalAdvance(box.currentText()) <= box.width() - 36, box.currentText()


HEADED = "Date;Clock;Saugtank (cm);Reserve Vol m3\n01.03.2026;01:00;150,5;3,7\n01.03.2026;01:30;151,25;n/a\n"


def test_tab_goes_from_how_it_is_read_through_the_columns_to_the_keys_and_back(view: FilesView, tmp_path: Path,
                                                                               qtbot: QtBot) -> None:
    look(view, qtbot, tmp_path, WIDE)
    fill_in(view, qtbot)
    lists = [box for box in view.form.read_as.lists.values() if box.isVisible()]
    assert len(lists) == 4
    rows = [box for box in view.form.mapping.stops if box.isEnabled()]
    chain = [*lists, *rows, view.look_button, view.add_button, view.close_button]
    chain[0].setFocus()
    for widget in chain[1:]:
        QTest.keyClick(view.focusWidget(), Qt.Key.Key_Tab)
        assert view.focusWidget() is widget
    for widget in reversed(chain[:-1]):
        QTest.keyClick(view.focusWidget(), Qt.Key.Key_Backtab, Qt.KeyboardModifier.ShiftModifier)
        assert view.focusWidget() is widget


def test_the_cursor_goes_first_to_what_is_missing_in_the_order_of_tab(view: FilesView, tmp_path: Path,
                                                                      qtbot: QtBot) -> None:
    look(view, qtbot, tmp_path, WIDE)
    for i, text in enumerate(("Date and time", "Suction: level", "Ignore", "Ignore")):
        type_choice(view, qtbot, view.form.mapping.meanings[i], text)
    for wanted in (view.form.read_as.lists["dates"], view.form.read_as.lists["zone"], view.form.mapping.units[1]):
        view.add()
        assert view.focusWidget() is wanted
        type_choice(view, qtbot, wanted, wanted.itemText(1))


def test_a_unit_in_the_heading_is_filled_in_and_shown_as_from_there(view: FilesView, tmp_path: Path,
                                                                    qtbot: QtBot) -> None:
    look(view, qtbot, tmp_path, HEADED)
    table = view.form.mapping
    type_choice(view, qtbot, table.meanings[2], "Suction: level")
    assert table.units[2].currentText() == "cm"
    assert table.words[2].said == "By heading?"
    type_choice(view, qtbot, table.meanings[3], "Settling: volume")
    assert (table.units[3].currentText(), table.words[3].said) == ("m³", "By heading?")
    type_choice(view, qtbot, table.units[2], "mm")
    assert table.words[2].said == "", "what a person chose is no guess"
    assert view.form.said.columns[2].unit == "mm"


def test_date_typed_is_the_date_and_not_date_and_time(view: FilesView, tmp_path: Path, qtbot: QtBot) -> None:
    look(view, qtbot, tmp_path, WIDE)
    box = view.form.mapping.meanings[0]
    box.setFocus()
    QTest.keyClicks(box, "date")
    assert box.currentText() == "Date"
    QTest.keyClicks(box, " and")
    assert box.currentText() == "Date and time"


def test_what_a_list_does_not_have_is_said_below_until_it_is_over(view: FilesView, tmp_path: Path, qtbot: QtBot) -> None:
    look(view, qtbot, tmp_path, WIDE)
    asked = view.words.said
    box = view.form.mapping.meanings[0]
    QTest.keyClicks(box, "xy")
    assert view.words.said == "No “xy” in this list: nothing is chosen."
    QTest.keyClick(box, Qt.Key.Key_Return)
    assert view.focusWidget() is box
    QTest.keyClick(box, Qt.Key.Key_Return)
    assert view.focusWidget() is not box
    assert view.words.said == asked


@pytest.mark.parametrize("size", [(1190, 660), (1830, 940)])
def test_findings_beside_the_columns_have_room_for_whole_words(view: FilesView, tmp_path: Path, qtbot: QtBot,
                                                               size: tuple[int, int]) -> None:
    view.window().setStyleSheet(stylesheet(Look()))
    view.window().resize(*size)
    look(view, qtbot, tmp_path, WIDE + "".join(f"01.03.2026 02:{n:02};n/a;33,8;z\n" for n in range(20)))
    fill_in(view, qtbot)
    table, what = view.table, 4
    assert table.rowCount() == 20
    assert table.item(0, what).text().startswith("Line 4, Pit 1: “n/a” does not begin with a number.")
    assert table.columnWidth(what) >= 280
    assert table.viewport().height() >= 120
    room = table.columnWidth(what) - 12
    needed = table.fontMetrics().boundingRect(0, 0, room, 1000, Qt.TextFlag.TextWordWrap, table.item(0, what).text())
    assert table.rowHeight(0) >= needed.height()
    assert table.verticalScrollBar().maximum() > 0
