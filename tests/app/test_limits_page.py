"""The Limits page: set, change and withdraw by keyboard, with who and why; nothing is ever filled in for a new one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from desks import NOW, RecordingDesk
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox
from pytestqt.qtbot import QtBot

from builders import BBL, FT, IN, gain_limit, two_box_rig, with_limits
from dipbook.limits import Limit
from dipbook.rig.document import parse
from dipbook.rig.document import with_limits as write_limits
from dipbook.situation import WarningView
from dipbook.trips import LAST_N
from dipbook_app.forms.limit_texts import read_limit, texts_of_limit
from dipbook_app.pages.limits import LimitsPage

GAIN = {"name": "gain", "kind": "gain", "on": "active", "activity": "any", "value": "5 bbl", "deadband": "2 bbl",
        "growth": "2", "after": "1 reading", "by": "K. Lind", "why": "programme"}
RIG_TEXT = """
rig = { name = "Invented", invented = true }
zone = "Etc/GMT+6"
decimal = "."
[units]
level = "in"
volume = "bbl"
length = "ft"
density = "lbm/gal[US]"
flow = "gal[US]/min"
[[tank]]
name = "Suction"
role = "suction"
active = true
order = 1
gauge = "up"
dip_error = "1/4 in"
brim = "9 ft"
[tank.shape]
kind = "box"
length = "30 ft"
width = "8 ft"
height = "9 ft"
"""


@pytest.fixture
def desk(tmp_path: Path, qapp: object) -> RecordingDesk:
    return RecordingDesk(tmp_path / "d.json")


@pytest.fixture
def page(desk: RecordingDesk, qtbot: QtBot) -> Iterator[LimitsPage]:
    page = LimitsPage(desk)  # type: ignore[arg-type]
    qtbot.addWidget(page)
    desk.situation_changed.connect(page.show_situation)
    page.show_situation(desk.situation)
    page.resize(1190, 700)
    page.show()
    return page


def in_force(desk: RecordingDesk) -> tuple[Limit, ...]:
    return desk.situation.rig.limits


def test_without_limits_it_says_that_nothing_is_watched(page: LimitsPage) -> None:
    assert page.unwatched.text() == "Nothing is being watched: nobody has set a limit yet."
    assert page.unwatched.isVisible()


def test_a_new_limit_starts_with_no_value_at_all(page: LimitsPage) -> None:
    page.add()
    assert page.form is not None
    assert {row.name: row.text() for row in page.form.fields if row.text()} == {"by": "R. Moe"}


def test_a_limit_is_set_with_the_keyboard_alone(page: LimitsPage, desk: RecordingDesk, qtbot: QtBot) -> None:
    QTest.keyClick(page.table, Qt.Key.Key_Insert)
    form = page.form
    assert form is not None
    with qtbot.waitSignal(page.said):
        for row in list(form.fields):
            if row.isHidden():
                continue
            widget = form.focusWidget()
            assert widget is row.editor
            if isinstance(row.editor, QComboBox):
                QTest.keyClicks(widget, GAIN[row.name].split(" ")[0])
            else:
                row.editor.selectAll()
                QTest.keyClicks(widget, GAIN[row.name])
            QTest.keyClick(widget, Qt.Key.Key_Return)
    (limit,) = in_force(desk)
    assert (limit.name, limit.kind, limit.on, limit.activity) == ("gain", "gain", "active", "any")
    assert (limit.value, limit.deadband, limit.growth) == pytest.approx((5 * BBL, 2 * BBL, 2 * BBL))
    assert (limit.after_readings, limit.after_ms) == (1, 0)
    assert (limit.set_by, limit.reason, limit.since) == ("K. Lind", "programme", "2026-03-01 02:15")
    assert limit.as_typed == "5 bbl"
    assert desk.asked[-1][1]["author"] == "K. Lind"
    assert page.table.rowCount() == 1
    assert [page.table.item(0, c).text() for c in range(11)] == [
        "gain", "gain", "active", "any", "5 bbl", "2.0 bbl", "2.0 bbl", "1 reading", "K. Lind", "programme",
        "2026-03-01 02:15"]


@pytest.mark.parametrize(("field", "text", "words"), [
    ("name", "", "needs a name"), ("kind", "", "What kind"), ("on", "", "What is it on"), ("on", "Suction", "is on"),
    ("activity", "", "covers all"), ("value", "", "without a value"), ("value", "nan", "number"), ("value", "0", "more than zero"),
    ("value", "-5", "below zero"), ("value", "5 ft", "ft"), ("deadband", "", "Type 0 for none"), ("deadband", "much", "number"),
    ("growth", "0", "more than zero"), ("after", "soon", "isn't a delay"), ("after", "0 readings", "isn't a delay"),
    ("by", "", "name is needed"), ("why", "", "reason")])
def test_a_limit_that_cannot_be_is_said_on_its_field_and_not_set(page: LimitsPage, desk: RecordingDesk, field: str,
                                                                text: str, words: str) -> None:
    page.add()
    form = page.form
    assert form is not None
    for name, good in GAIN.items():
        form.field(name).set_text(good)
    form.field(field).set_text(text)
    form.save()
    assert desk.asked == []
    assert form.field(field).words.tone == "error"
    assert words in form.field(field).words.said


def test_what_the_core_refuses_is_said_and_the_form_stays(page: LimitsPage, desk: RecordingDesk) -> None:
    page.add()
    form = page.form
    assert form is not None
    for name, good in GAIN.items():
        form.field(name).set_text(good)
    form.field("value").set_text("5000 bbl")
    form.save()
    assert "more than all tanks hold" in form.words.said
    assert page.form is form
    assert form.field("value").text() == "5000 bbl"


def test_a_second_limit_of_the_same_name_is_refused(page: LimitsPage, desk: RecordingDesk) -> None:
    for _ in range(2):
        page.add()
        assert page.form is not None
        for name, good in GAIN.items():
            page.form.field(name).set_text(good)
        page.form.save()
    assert page.form is not None
    assert "There is a limit called gain" in page.form.field("name").words.said
    assert len(in_force(desk)) == 1


def test_a_limit_is_changed_with_who_and_why(tmp_path: Path, qtbot: QtBot) -> None:
    desk = RecordingDesk(tmp_path / "d.json", with_limits(two_box_rig(), gain_limit(5.0), gain_limit(3.0, name="two")))
    page = LimitsPage(desk)  # type: ignore[arg-type]
    qtbot.addWidget(page)
    desk.situation_changed.connect(page.show_situation)
    page.show_situation(desk.situation)
    page.show()
    QTest.keyClick(page.table, Qt.Key.Key_Return)
    assert page.form is not None
    assert page.form.field("value").text() == "5 bbl"
    assert page.form.field("why").text() == "", "the old reason isn't the reason for the change"
    page.form.field("value").set_text("4 bbl")
    page.form.save()
    assert in_force(desk)[0].value == pytest.approx(5 * BBL)
    page.form.field("why").set_text("tight section")
    page.form.save()
    assert [limit.value for limit in in_force(desk)] == pytest.approx([4 * BBL, 3 * BBL])
    assert in_force(desk)[0].reason == "tight section"


def test_a_limit_is_withdrawn_with_who_and_why(tmp_path: Path, qtbot: QtBot) -> None:
    desk = RecordingDesk(tmp_path / "d.json", with_limits(two_box_rig(), gain_limit(5.0)))
    page = LimitsPage(desk)  # type: ignore[arg-type]
    qtbot.addWidget(page)
    desk.situation_changed.connect(page.show_situation)
    page.show_situation(desk.situation)
    page.show()
    QTest.keyClick(page.table, Qt.Key.Key_Delete)
    assert page.form is not None
    page.form.save()
    assert len(in_force(desk)) == 1
    page.form.field("why").set_text("rig move")
    page.form.save()
    assert in_force(desk) == ()
    assert page.unwatched.text().startswith("Nothing is being watched")


def test_what_is_not_watched_is_said_in_words(page: LimitsPage, desk: RecordingDesk) -> None:
    desk.rig = replace(desk.rig, limits=(gain_limit(5.0),))
    desk.show(unwatched=("no limit on a loss", "trips"))
    assert page.unwatched.text() == "Not watched: No limit on a loss. Trips."


def test_what_is_watched_is_said_before_what_is_not(page: LimitsPage, desk: RecordingDesk) -> None:
    back = replace(gain_limit(2.0, name="back"), kind="flow_back")
    desk.rig = replace(desk.rig, limits=(gain_limit(5.0), back))
    desk.show(unwatched=("no limit on trips",), limits_in_force=("gain", "back"))
    assert page.unwatched.text() == "Watched: gain and flow-back of active. Not watched: No limit on trips."
    assert page.table.item(1, 1).text() == "flow-back"


def test_a_limit_on_trips_asks_for_neither_system_nor_activity(page: LimitsPage, desk: RecordingDesk) -> None:
    page.add()
    form = page.form
    assert form is not None
    for name, good in GAIN.items():
        form.field(name).set_text(good)
    form.field("kind").focus()
    QTest.keyClicks(form.field("kind").editor, "last")
    assert form.field("kind").text() == "trip, last 5 stands"
    assert [form.field(name).isHidden() for name in ("on", "activity")] == [True, True]
    assert form.field("kind").words.said.startswith(f"Over the last {LAST_N} stands of the trip sheet, on every row")
    form.save()
    (limit,) = in_force(desk)
    assert (limit.kind, limit.on, limit.activity) == ("trip_last_n", "active", "any"), "the file keeps its keys"
    assert [page.table.item(0, c).text() for c in range(1, 4)] == ["trip, last 5 stands", "trip sheet", "every row"]
    assert page.words.said.startswith("Limit “gain” set: trip, last 5 stands, 5 bbl.")
    form_of_total = {**GAIN, "kind": "trip in all"}
    for name, wrong in (("on", "watched"), ("activity", "drilling")):
        refused = read_limit({**form_of_total, name: wrong}, desk.rig, since="now")[1]
        assert [f.column for f in refused] == [name]
    assert read_limit({**form_of_total, "activity": "tripping"}, desk.rig, since="now")[1] == ()


@pytest.mark.parametrize("kind", ["gain", "trip in all", "flow-back"])
def test_a_deadband_beyond_the_value_is_said_at_its_field(kind: str) -> None:
    _, found = read_limit({**GAIN, "kind": kind, "deadband": "6 bbl"}, two_box_rig(), since="now")
    assert [(f.column, f.what) for f in found] == [
        ("deadband", "It has to be less than the value, 5 bbl, or a warning could never be over.")]


def test_high_and_low_are_levels_above_the_bottom_of_one_tank() -> None:
    rig = two_box_rig()
    high = {**GAIN, "kind": "high", "on": "Suction", "value": "8 ft", "deadband": "2 in", "growth": ""}
    limit, found = read_limit(high, rig, since="now")
    assert found == ()
    assert limit is not None
    assert limit.value_is == "level"
    assert (limit.value, limit.deadband) == pytest.approx((8 * FT, 2 * IN))
    assert read_limit({**high, "on": "active"}, rig, since="now")[1][0].column == "on"
    assert read_limit({**high, "deadband": "2 bbl"}, rig, since="now")[1][0].column == "deadband"
    assert read_limit({**high, "value": "8"}, rig, since="now")[1][0].column == "value", "a bare number says too little"


def test_overdue_is_a_time_without_deadband_or_growth(page: LimitsPage, desk: RecordingDesk) -> None:
    page.add()
    form = page.form
    assert form is not None
    for name, good in GAIN.items():
        form.field(name).set_text(good)
    form.field("kind").set_text("overdue")
    assert form.field("deadband").isHidden()
    form.field("value").set_text("30 min")
    form.save()
    (limit,) = in_force(desk)
    assert (limit.value, limit.value_is, limit.deadband, limit.growth) == (1800.0, "duration", 0.0, None)


@pytest.mark.parametrize("texts", [
    GAIN, {**GAIN, "kind": "loss", "growth": "", "after": "15 s"}, {**GAIN, "kind": "high", "on": "Suction",
                                                                   "value": "8 ft", "deadband": "2 in", "growth": ""},
    {**GAIN, "kind": "overdue", "value": "30 min", "deadband": "", "growth": ""}])
def test_a_typed_limit_stands_in_a_rig_file_and_comes_back_the_same(texts: dict[str, str]) -> None:
    rig = parse(RIG_TEXT).rig
    limit, found = read_limit(texts, rig, since="2026-03-01 02:15")
    assert found == ()
    assert limit is not None
    (again,) = parse(write_limits(RIG_TEXT, (limit,))).rig.limits
    shown = texts_of_limit(again, rig)
    assert shown["value"] == texts["value"]
    assert read_limit({**shown, "by": limit.set_by, "why": limit.reason}, rig, since=limit.since)[0] == again


def test_a_loosened_limit_says_that_it_waits_and_hides_nothing(tmp_path: Path, qtbot: QtBot) -> None:
    desk = RecordingDesk(tmp_path / "d.json", with_limits(two_box_rig(), gain_limit(4.0)))
    page = LimitsPage(desk)  # type: ignore[arg-type]
    qtbot.addWidget(page)
    desk.situation_changed.connect(page.show_situation)
    stands = WarningView("gain-1", "gain", "gain", "active", "", "acknowledged", False, NOW, NOW, 6 * BBL, 6 * BBL,
                         4 * BBL, "volume", "", ())
    desk.show(warnings=(stands,))
    page.resize(1190, 700)
    page.show()
    shown = [page.table.isColumnHidden(column) for column in range(page.table.columnCount())]
    page.table.setCurrentCell(0, 0)
    page.change()
    assert page.form is not None
    page.form.field("value").set_text("20 bbl")
    page.form.field("by").set_text("T. Pusher")
    page.form.field("why").set_text("mixing")
    with qtbot.waitSignal(page.said) as said:
        page.form.save()
    assert "20 bbl waits until the warning is closed; it stands on 4.0 bbl." in said.args[0]
    assert "waits until the warning is closed" in page.detail.text()
    assert [page.table.isColumnHidden(column) for column in range(page.table.columnCount())] == shown
