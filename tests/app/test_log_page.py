"""The Log page: rows in order, corrections beneath, late marks, filters, and what can be done with a row."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from desks import MIN, NOW, RecordingDesk
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.modeltest import ModelTester
from pytestqt.qtbot import QtBot

from dipbook.records import ROUND, WARNING, Dip, Draft
from dipbook_app.drafts import Drafts
from dipbook_app.log_model import KIND, LATE, TIME, WHAT, LogFilter, LogModel
from dipbook_app.pages.log import LogPage


@pytest.fixture
def desk(tmp_path: Path, qapp: object) -> RecordingDesk:
    desk = RecordingDesk(tmp_path / "d.json")
    desk.learn(Draft(ROUND, NOW - 60 * MIN, NOW - 59 * MIN, "R. Moe",
                     {"start_ms": NOW - 64 * MIN, "end_ms": NOW - 60 * MIN, "observer": "J. Ek"},
                     (Dip("Settling", NOW - 62 * MIN, "60 1/2"),)))
    for minutes, volume in ((50, "24 bbl"), (3, "12 bbl")):
        desk.log_entry("transfer", {"from": "Reserve 1", "to": "Suction", "volume": volume}, t_ms=NOW - minutes * MIN,
                       end_ms=None, author="R. Moe")
    return desk


@pytest.fixture
def page(desk: RecordingDesk, qtbot: QtBot) -> Iterator[LogPage]:
    drafts = Drafts(desk.drafts_path)
    page = LogPage(desk, drafts)  # type: ignore[arg-type]
    qtbot.addWidget(page)
    desk.situation_changed.connect(page.show_situation)
    page.show_situation(desk.situation)
    page.resize(1190, 700)
    page.show()
    yield page
    page.running._timer.stop()
    drafts.flush()


def column(page: LogPage, which: int) -> list[str]:
    return [page.filter.index(row, which).data() for row in range(page.filter.rowCount())]


def struck(page: LogPage, row: int) -> bool:
    return bool(page.filter.index(row, WHAT).data(Qt.ItemDataRole.FontRole).strikeOut())


def test_the_model_keeps_qts_rules_while_it_grows(desk: RecordingDesk, qtmodeltester: ModelTester) -> None:
    model = LogModel()
    seen = LogFilter()
    seen.setSourceModel(model)
    qtmodeltester.check(model)
    qtmodeltester.check(seen)
    model.show_situation(desk.situation)
    seen.show_only(frozenset({"transfer"}), None, None)
    for minutes in (10, 90, 1):  # the middle one belongs above all others
        desk.log_entry("remark", {"remark": f"{minutes} min ago"}, t_ms=NOW - minutes * MIN, end_ms=None, author="X")
        model.show_situation(desk.situation)
    desk.void("r2", author="X", reason="twice")
    model.show_situation(desk.situation)
    qtmodeltester.check(model)
    qtmodeltester.check(seen)
    assert model.rowCount() == 7


def test_new_records_are_inserted_and_nothing_is_reset(desk: RecordingDesk, qtbot: QtBot) -> None:
    model = LogModel()
    model.show_situation(desk.situation)
    desk.log_entry("remark", {"remark": "x"}, t_ms=NOW, end_ms=None, author="X")
    with qtbot.assertNotEmitted(model.modelReset), qtbot.waitSignal(model.rowsInserted):
        model.show_situation(desk.situation)
    with qtbot.assertNotEmitted(model.rowsInserted):
        model.show_situation(desk.situation)


def test_rows_stand_in_the_order_of_what_happened_newest_last(page: LogPage, desk: RecordingDesk) -> None:
    desk.log_entry("remark", {"remark": "late"}, t_ms=NOW - 55 * MIN, end_ms=None, author="R. Moe")
    assert column(page, TIME) == ["01 Mar 01:15", "01 Mar 01:20", "01 Mar 01:25", "01 Mar 02:12"]
    assert column(page, KIND) == ["Round", "Remark", "Transfer", "Transfer"]


def test_what_was_learned_late_shows_both_times(page: LogPage) -> None:
    assert column(page, LATE) == ["", "02:15", ""]


def test_a_correction_stands_beneath_what_it_corrects(page: LogPage, desk: RecordingDesk, qtbot: QtBot) -> None:
    page.choose("r2")
    QTest.keyClick(page.table, Qt.Key.Key_Return)
    form = page.panel.form
    assert form is not None
    form.field("volume").set_text("26 bbl")
    form.field("why").set_text("misread")
    with qtbot.waitSignal(page.saved):
        form.save()
    assert column(page, KIND) == ["Round", "Transfer (corrected)", "↳ Transfer, correction", "Transfer"]
    assert [struck(page, row) for row in range(4)] == [False, True, False, False]
    assert column(page, WHAT)[2] == "Reserve 1 to Suction: 26.0 bbl. Reason: misread"
    assert page.panel.isHidden()
    assert page.focusWidget() is page.table


def test_an_entry_is_struck_out_with_a_reason_and_stays(page: LogPage, desk: RecordingDesk) -> None:
    page.choose("r2")
    QTest.keyClick(page.table, Qt.Key.Key_Delete)
    form = page.panel.form
    assert form is not None
    QTest.keyClick(form.focusWidget(), Qt.Key.Key_Return)
    form.save()
    assert "reason is needed" in form.field("reason").words.said
    assert len(desk.records) == 3
    form.field("reason").focus()
    QTest.keyClicks(form.focusWidget(), "logged twice")
    QTest.keyClick(form.focusWidget(), Qt.Key.Key_Return)
    QTest.keyClick(form.focusWidget(), Qt.Key.Key_Return)
    assert desk.asked[-1] == ("void", {"uid": "r2", "author": "R. Moe", "reason": "logged twice"})
    assert column(page, KIND)[1:3] == ["Transfer (struck out)", "↳ Void"]
    assert struck(page, 1)
    assert column(page, WHAT)[2] == "Struck out: logged twice"


def test_what_is_struck_out_cannot_be_changed_again(page: LogPage, desk: RecordingDesk) -> None:
    desk.void("r2", author="X", reason="twice")
    page.choose("r2")
    assert not page.correct_button.isEnabled()
    page.correct()
    page.strike()
    assert page.panel.form is None
    assert page.words.tone == "doubt"


def test_a_round_is_corrected_on_its_own_page_and_struck_out_here(page: LogPage, qtbot: QtBot) -> None:
    page.choose("r1")
    assert page.correct_button.isEnabled()
    with qtbot.waitSignal(page.round_wanted) as wanted:
        QTest.keyClick(page.table, Qt.Key.Key_Return)
    assert wanted.args[0].uid == "r1"
    assert page.panel.form is None
    page.strike()
    assert page.panel.form is not None


def test_a_tank_shows_its_dips_and_entries_only(page: LogPage, desk: RecordingDesk) -> None:
    desk.log_entry("remark", {"remark": "x"}, t_ms=NOW, end_ms=None, author="X")
    page.show_tank("Suction")
    assert column(page, KIND) == ["Transfer", "Transfer"]
    page.show_tank("Settling")
    assert column(page, WHAT) == ["Settling 60 1/2"], "of a round the tank's own dip"
    page.show_tank("Reserve 1")
    assert page.filter.rowCount() == 2
    page.show_kinds(("remark",))
    assert column(page, KIND) == ["Remark"]
    assert page.tanks.currentData() == ""
    page.show_kinds(())
    assert page.filter.rowCount() == 4
    assert column(page, WHAT)[0].startswith("1 tank gauged")


def test_insert_asks_for_the_kind_and_opens_its_form(page: LogPage) -> None:
    QTest.keyClick(page.table, Qt.Key.Key_Insert)
    chooser = page.panel.chooser
    assert chooser is not None
    QTest.keyClicks(chooser.word, "dis")
    QTest.keyClick(chooser.word, Qt.Key.Key_Return)
    assert page.panel.form is not None
    assert page.panel.form.title.text() == "Discard"
    QTest.keyClick(page.panel.form.focusWidget(), Qt.Key.Key_Escape)
    assert page.panel.isHidden()


def test_the_log_is_filtered_by_kind_and_time(page: LogPage, desk: RecordingDesk) -> None:
    page.kinds.setCurrentText("Transfer")
    assert column(page, KIND) == ["Transfer", "Transfer"]
    page.spans.setCurrentText("Last hour")
    assert len(column(page, KIND)) == 2
    page.kinds.setCurrentText("All kinds")
    assert page.shown.text() == "3 shown"
    desk.now += 30 * MIN
    desk.show()
    assert column(page, KIND) == ["Transfer"]
    assert page.shown.text() == "1 of 3 shown"
    page.show_kinds(("round", "transfer"))
    page.spans.setCurrentIndex(0)
    assert page.kinds.currentText() == "Round, Transfer"
    assert len(column(page, KIND)) == 3
    page.show_kinds(())
    assert page.kinds.currentText() == "All kinds"


def test_a_running_transfer_shows_its_ramp_and_stops(page: LogPage, desk: RecordingDesk) -> None:
    assert page.running.isHidden()
    desk.log_entry("transfer", {"from": "Reserve 1", "to": "Suction", "rate": "2 bbl/min", "state": "running"},
                   t_ms=NOW - 5 * MIN, end_ms=None, author="R. Moe")
    line = page.running.lines[0]
    assert line.amount.text() == "10.0 bbl so far, 5 min"
    desk.now += 5 * MIN
    page.running.tick()
    assert line.amount.text() == "20.0 bbl so far, 10 min"
    line.button.click()
    assert page.panel.form is not None
    page.panel.form.save()
    assert desk.asked[-1][0] == "stop"
    assert page.running.isHidden()


def test_the_whole_text_of_the_chosen_row_is_below_the_table(page: LogPage) -> None:
    page.choose("r1")
    assert page.detail.text() == "1 tank gauged 01:11 to 01:15 by J. Ek: Settling 60 1/2"


def test_quantities_follow_the_chosen_units(page: LogPage) -> None:
    page.show_units("metric")
    assert column(page, WHAT)[1] == "Reserve 1 to Suction: 3.82 m³"


def test_units_in_the_log_are_those_of_the_screen_and_sticks_as_they_are_read(page: LogPage, desk: RecordingDesk,
                                                                            ) -> None:
    desk.log_entry("pumps", {"state": "on", "flow": "800 gpm"}, t_ms=NOW, end_ms=None, author="X")
    desk.log_entry("mud check", {"density in": "9.5"}, t_ms=NOW, end_ms=None, author="X")
    desk.learn(Draft(ROUND, NOW, NOW, "X", {"start_ms": NOW, "end_ms": NOW}, (Dip("Settling", NOW, "84.00 in"),)))
    said = column(page, WHAT)[-3:]
    assert said[0] == "Pumps on, 800 gal/min"
    assert said[1] == "Mud in 9.5 lb/gal"
    assert said[2].endswith("Settling 84 in")
    assert desk.records[-2].payload["typed"]["density in"] == "9.5 lbm/gal[US]", "what is stored stays as it is"
    assert page.model.headerData(LATE, Qt.Orientation.Horizontal) == "Logged at"


def test_the_table_stays_where_it_is_read_and_follows_at_the_bottom(page: LogPage, desk: RecordingDesk) -> None:
    for n in range(40):
        desk.log_entry("remark", {"remark": f"n {n}"}, t_ms=NOW, end_ms=None, author="X")
    bar = page.table.verticalScrollBar()
    assert bar.value() == bar.maximum()
    bar.setValue(3)
    desk.log_entry("remark", {"remark": "another"}, t_ms=NOW, end_ms=None, author="X")
    assert bar.value() == 3


def test_warnings_stand_in_the_log_and_are_not_entries(page: LogPage, desk: RecordingDesk) -> None:
    desk.learn(Draft(WARNING, NOW, NOW, "", {"name": "gain", "state": "raised", "text": "gain 6.1 bbl"}))
    page.choose("r4")
    assert not page.correct_button.isEnabled()
    assert not page.strike_button.isEnabled()


@pytest.mark.parametrize("opens", ["choose", "add", "correct", "strike", "files"])
def test_what_was_saved_is_no_longer_said_once_the_next_form_opens(page: LogPage, opens: str) -> None:
    page.panel.saved.emit("Transfer saved 11:42.")
    assert page.words.said == "Transfer saved 11:42."
    page._choose_newest()
    {"choose": page.add, "add": lambda: page.add("transfer"), "correct": page.correct, "strike": page.strike,
     "files": page.add_files}[opens]()
    assert page.words.said == ""


@pytest.mark.parametrize("here", ["time", "why", "by"])
def test_why_is_it_corrected_is_scrolled_into_sight(page: LogPage, qtbot: QtBot, here: str) -> None:
    page.resize(1190, 420)
    page._choose_newest()
    page.correct()
    form = page.panel.form
    assert form is not None
    form.field(here).focus()
    QApplication.processEvents()
    form.save()
    why = form.field("why")
    assert "Why is it corrected?" in why.words.said

    def whole() -> None:
        top = why.words.mapTo(form.area.viewport(), QPoint(0, 0)).y()
        assert top == why.words.y() + why.mapTo(form.area.viewport(), QPoint(0, 0)).y()
        assert why.height() >= why.words.y() + 2 * why.words.fontMetrics().lineSpacing(), "the words have their room"
        assert top >= 0
        assert top + why.words.height() <= form.area.viewport().height()

    qtbot.waitUntil(whole)
