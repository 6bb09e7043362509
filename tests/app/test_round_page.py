"""The Round page, by keyboard, against a desk that records what it is asked. Numbers by hand: an inch is 3.562 bbl."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from desks import MIN, NOW, RecordingDesk
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from builders import FT, IN, box_tank, two_box_rig
from dipbook.quantities import read_dip
from dipbook.records import Dip
from dipbook.rig.model import Rig
from dipbook_app.drafts import Drafts
from dipbook_app.pages.round import RoundPage

INCH_BBL = 8 * 30 * (1 / 12) / 5.614583333
"""8 × 30 ft, one inch: 20 ft3; a barrel is 5.6146 ft3 (42 US gallons of 231 in3)."""


@pytest.fixture
def desk(tmp_path: Path, qapp: object) -> RecordingDesk:
    """Settling's brim is at 100 in, below the top of its shape at 108."""
    rig = two_box_rig()
    low = replace(rig.tanks[0], brim_m=100 * IN)
    return RecordingDesk(tmp_path / "log.drafts.json", replace(rig, tanks=(low, *rig.tanks[1:])))


@pytest.fixture
def page(desk: RecordingDesk, qtbot: QtBot) -> Iterator[RoundPage]:
    drafts = Drafts(desk.drafts_path)
    page = RoundPage(desk, drafts)  # type: ignore[arg-type]
    desk.situation_changed.connect(page.show_situation)
    qtbot.addWidget(page)
    page.resize(1190, 700)
    page.show()
    yield page
    drafts.flush()


def press(page: RoundPage, key: Qt.Key, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
    widget = page.focusWidget()
    assert widget is not None, "the keyboard has nowhere to go"
    QTest.keyClick(widget, key, modifier)


def enter(page: RoundPage, text: str = "") -> None:
    if text:
        QTest.keyClicks(page.focusWidget(), text)
    lines = list(page.foot.depths.values())
    before = page.focusWidget()
    press(page, Qt.Key.Key_Return)
    if before not in lines and page.focusWidget() in lines:  # past the last row: the depths may stay blank
        press(page, Qt.Key.Key_Return)
        press(page, Qt.Key.Key_Return)


def saved_dips(desk: RecordingDesk) -> tuple[Dip, ...]:
    what, asked = desk.asked[-1]
    assert what == "round"
    dips: tuple[Dip, ...] = asked["dips"]
    return dips


def test_a_whole_round_is_typed_and_saved_with_the_keyboard_alone(page: RoundPage, desk: RecordingDesk) -> None:
    desk.now = NOW + 6 * MIN
    enter(page, "60 1/2")
    enter(page, "5' 1\"")
    enter(page, "161 cm")
    what, asked = desk.asked[0]
    assert what == "round"
    assert [d.tank for d in asked["dips"]] == ["Settling", "Suction", "Reserve 1"]
    assert [d.as_typed for d in asked["dips"]] == ["60 1/2", "5' 1\"", "161 cm"]
    assert [d.level_m for d in asked["dips"]] == pytest.approx([60.5 * IN, 61 * IN, 1.61])
    assert (asked["start_ms"], asked["end_ms"]) == (NOW, NOW + 6 * MIN)
    assert (asked["observer"], asked["author"]) == ("R. Moe", "R. Moe")
    # Three dips share six minutes: each in the middle of its two, ± one minute.
    assert [d.t_ms for d in asked["dips"]] == [NOW + 1 * MIN, NOW + 3 * MIN, NOW + 5 * MIN]
    assert {d.t_half_ms for d in asked["dips"]} == {MIN}


def test_the_volume_and_the_change_appear_as_the_dip_is_typed(page: RoundPage) -> None:
    QTest.keyClicks(page.focusWidget(), "61")
    row = page.row("Settling")
    assert row.volume.text().startswith(f"{61 * INCH_BBL:.1f} bbl ± ")
    assert row.change.text().startswith(f"+{INCH_BBL:.1f} bbl ± ")
    # ±1/4 in on 8 × 30 ft is 0.514 bbl (k=1), shown doubled; the dip before has 0.5: √(0.514² + 0.5²) doubled is 1.4.
    assert row.volume.text().endswith("± 1.0")
    assert row.change.text().endswith("± 1.4")


def test_after_saving_it_says_the_volume_and_the_difference(page: RoundPage, desk: RecordingDesk,
                                                            qtbot: QtBot) -> None:
    with qtbot.waitSignal(page.saved) as said:
        for text in ("60", "60", "60"):
            enter(page, text)
    assert said.args == ["Round saved 02:15. Active 512.4 bbl. Difference +1.3 ± 0.9 bbl."]
    assert page.words.said == said.args[0]
    assert all(not row.stick.text() for row in page.rows), "a saved round leaves the page ready for the next"


def test_what_was_said_of_the_last_round_goes_when_the_next_begins(page: RoundPage) -> None:
    for begin in (page.begin, lambda: QTest.keyClicks(page.focusWidget(), "6"), lambda: (page.hide(), page.show())):
        for text in ("60", "60", "60"):
            enter(page, text)
        assert page.words.tone == "done"
        assert page.words.said.startswith("Round saved")
        begin()
        assert page.words.tone != "done"
        page.discard()
        page.discard()


def test_same_by_key_and_not_gauged_are_two_things(page: RoundPage, desk: RecordingDesk) -> None:
    enter(page, "=")
    enter(page, "-")
    enter(page, "60")
    dips = saved_dips(desk)
    assert [d.tank for d in dips] == ["Settling", "Reserve 1"]
    assert dips[0].unchanged
    assert dips[0].level_m == pytest.approx(60 * IN)
    assert "Partial: Suction not gauged." in page.words.said


def test_the_keys_on_the_row_do_the_same_and_go_on(page: RoundPage, desk: RecordingDesk) -> None:
    page.row("Settling").same_button.click()
    assert page.focusWidget() is page.row("Suction").stick
    page.row("Suction").not_gauged_button.click()
    assert page.focusWidget() is page.row("Reserve 1").stick
    assert page.heading.progress.text() == "1 of 3 gauged, 1 not gauged"
    enter(page, "60")
    assert [(d.tank, d.unchanged) for d in saved_dips(desk)] == [("Settling", True), ("Reserve 1", False)]


def test_same_without_a_dip_before_is_refused_in_words(tmp_path: Path, qtbot: QtBot) -> None:
    desk = RecordingDesk(tmp_path / "d.json", gauged=False)
    page = RoundPage(desk, Drafts(desk.drafts_path))  # type: ignore[arg-type]
    qtbot.addWidget(page)
    page.show()
    assert page.row("Settling").last.text() == "not gauged yet"
    enter(page, "=")
    assert "no dip before it" in page.words.said
    assert page.focusWidget() is page.row("Settling").stick
    page.save()
    assert desk.asked == []
    page.drafts.drop("round")


@pytest.mark.parametrize("text", ["6x", "nan", "inf", "1e3", "five", "60 bbl/min", "48 %", "60,5", "5' 13 in 2",
                                  "-5 bbl", "\u202e60"])
def test_bad_input_says_why_and_saves_nothing(page: RoundPage, desk: RecordingDesk, text: str) -> None:
    page.row("Settling").stick.setText(text)
    row = page.row("Settling")
    assert row.words.tone == "error"
    assert len(row.words.said) > 10
    enter(page)
    assert page.focusWidget() is row.stick, "the cursor stays on what can't be read"
    press(page, Qt.Key.Key_Down)
    enter(page, "60")
    enter(page, "60")
    assert desk.asked == []
    assert page.words.said.startswith("Not saved. Settling: ")
    assert page.focusWidget() is row.stick
    assert page.row("Suction").stick.text() == "60", "nothing typed is lost"


def test_a_doubt_asks_once_and_enter_again_keeps_it(page: RoundPage, desk: RecordingDesk) -> None:
    enter(page, "105")  # the brim is at 100 in, the top at 108
    row = page.row("Settling")
    assert "Above the brim" in row.words.said
    assert page.focusWidget() is row.stick
    assert page.words.said.endswith("Enter again keeps it.")
    enter(page)
    assert page.focusWidget() is page.row("Suction").stick
    enter(page, "60")
    enter(page, "60")
    assert saved_dips(desk)[0].level_m == pytest.approx(105 * IN), "a doubt never changes or blocks a dip"


def test_a_doubt_passed_by_with_down_is_asked_before_saving(page: RoundPage, desk: RecordingDesk) -> None:
    QTest.keyClicks(page.focusWidget(), "5")  # feet for inches: 5 ft is the 60 in of before
    press(page, Qt.Key.Key_Down)
    enter(page, "60")
    enter(page, "60")
    assert desk.asked == []
    assert "Meant 5 ft, which is 60 in?" in page.words.said
    assert page.focusWidget() is page.row("Settling").stick
    press(page, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert len(saved_dips(desk)) == 3


def test_a_changed_text_is_doubted_anew(page: RoundPage, desk: RecordingDesk) -> None:
    enter(page, "105")
    page.row("Settling").stick.setText("106")
    enter(page)
    assert page.focusWidget() is page.row("Settling").stick


def test_two_swapped_rows_are_questioned_on_both(page: RoundPage, desk: RecordingDesk) -> None:
    views = {v.name: v for v in desk.situation.tanks}
    tank = desk.rig.tank("Suction")
    other = {"level_m": 90 * IN, "volume_m3": float(tank.volume(90 * IN))}
    desk.show(tanks=tuple(replace(v, **other) if v.name == "Suction" else v for v in views.values()))
    QTest.keyClicks(page.row("Settling").stick, "90")
    QTest.keyClicks(page.row("Suction").stick, "60")
    assert page.row("Settling").words.said.startswith("Swapped with Suction?")
    assert page.row("Suction").words.said.startswith("Swapped with Settling?")


def test_rows_left_blank_are_named_before_a_partial_round_is_saved(page: RoundPage, desk: RecordingDesk) -> None:
    enter(page, "60")
    enter(page)
    enter(page)
    assert desk.asked == []
    assert page.words.said == ("Nothing is typed for Suction and Reserve 1: not gauged, held at the last level. "
                               "Enter again saves.")
    enter(page)
    assert [d.tank for d in saved_dips(desk)] == ["Settling"]
    assert page.words.said.endswith("Partial: Suction and Reserve 1 not gauged.")


def test_an_empty_round_is_not_saved(page: RoundPage, desk: RecordingDesk) -> None:
    for _ in page.rows:
        enter(page)
    assert desk.asked == []
    assert page.words.said.startswith("Nothing is gauged yet.")


def test_up_and_down_move_between_the_rows_and_the_head(page: RoundPage) -> None:
    press(page, Qt.Key.Key_Down)
    assert page.focusWidget() is page.row("Suction").stick
    press(page, Qt.Key.Key_Up)
    press(page, Qt.Key.Key_Up)
    assert page.focusWidget() is page.head.fields["from"]
    press(page, Qt.Key.Key_Down)
    assert page.focusWidget() is page.row("Settling").stick


def test_esc_leaves_and_keeps_what_is_typed(page: RoundPage, desk: RecordingDesk, qtbot: QtBot) -> None:
    enter(page, "60")
    with qtbot.waitSignal(page.left):
        press(page, Qt.Key.Key_Escape)
    assert page.row("Settling").stick.text() == "60"
    assert Drafts(desk.drafts_path).get("round") is not None


def test_from_and_to_are_read_in_the_rigs_time(page: RoundPage, desk: RecordingDesk) -> None:
    page.head.set_text("from", "02:03")
    page.head.set_text("to", "02:09")
    for text in ("60", "60", "60"):
        page.focus_first()
        enter(page, text)
    asked = desk.asked[0][1]
    assert (asked["start_ms"], asked["end_ms"]) == (NOW - 12 * MIN, NOW - 6 * MIN)


@pytest.mark.parametrize(("start", "end", "words"), [
    ("2:99", "", "not a time"), ("02:40", "", "still to come"), ("02:10", "02:05", "before the start"),
    ("02:10", "later", "not a time"), ("1999-01-01 02:00", "", "too long ago")])
def test_impossible_times_say_why_and_save_nothing(page: RoundPage, desk: RecordingDesk, start: str, end: str,
                                                   words: str) -> None:
    for row in page.rows:
        row.stick.setText("60")
    page.head.set_text("from", start)
    page.head.set_text("to", end)
    page.save()
    assert desk.asked == []
    assert words in page.words.said


def test_a_time_per_dip_counts_for_that_dip(page: RoundPage, desk: RecordingDesk) -> None:
    page.head.switches["time"].click()
    assert page.row("Suction").time.isVisible()
    for row in page.rows:
        row.stick.setText("60")
    page.row("Suction").time.setText("02:11")
    page.save()
    dips = {d.tank: d for d in saved_dips(desk)}
    assert (dips["Suction"].t_ms, dips["Suction"].t_half_ms) == (NOW - 4 * MIN, 30_000)
    assert desk.asked[0][1]["start_ms"] == NOW - 4 * MIN, "the round holds all its dips"


def test_a_dip_time_that_cannot_be_read_is_said_on_its_row(page: RoundPage, desk: RecordingDesk) -> None:
    page.head.switches["time"].click()
    for row in page.rows:
        row.stick.setText("60")
    page.row("Suction").time.setText("25:00")
    page.save()
    assert desk.asked == []
    assert page.row("Suction").words.tone == "error"


def test_a_second_reading_gives_the_mean_and_a_wider_uncertainty(page: RoundPage, desk: RecordingDesk) -> None:
    page.head.switches["second"].click()
    for row in page.rows:
        row.stick.setText("60")
    page.row("Suction").second.setText("62")
    assert "2 in apart" in page.row("Suction").words.said
    page.save()
    page.save()
    dip = next(d for d in saved_dips(desk) if d.tank == "Suction")
    assert dip.level_m == pytest.approx(61 * IN)
    assert dip.resolution_m == pytest.approx(1 * IN)
    assert dip.as_typed == "60; 62"


def test_foam_is_flagged_on_the_dip(page: RoundPage, desk: RecordingDesk) -> None:
    page.head.switches["flag"].click()
    for row in page.rows:
        row.stick.setText("60")
    page.row("Suction").flag.setCurrentText("foam")
    page.save()
    assert {d.tank: d.flag for d in saved_dips(desk)} == {"Settling": "", "Suction": "foam", "Reserve 1": ""}


def test_observer_and_keyer_are_two_people(page: RoundPage, desk: RecordingDesk) -> None:
    page.head.set_text("observer", "J. Ek")
    page.remark.setText("rain")
    for row in page.rows:
        row.stick.setText("60")
    page.save()
    asked = desk.asked[0][1]
    assert (asked["observer"], asked["author"], asked["remark"]) == ("J. Ek", "R. Moe", "rain")


def test_without_a_name_nothing_is_saved(page: RoundPage, desk: RecordingDesk) -> None:
    for row in page.rows:
        row.stick.setText("60")
    page.head.set_text("keyer", "")
    page.save()
    assert desk.asked == []
    assert "Who keys this round?" in page.words.said
    assert page.focusWidget() is page.keyer


def test_enter_after_the_name_that_was_asked_for_saves_the_round(page: RoundPage, desk: RecordingDesk) -> None:
    desk.on_watch = ""
    page.row("Settling").stick.setText("60")  # the others are left blank, and that is asked once
    page.head.set_text("keyer", "")
    page.save()
    page.save()
    assert page.focusWidget() is page.keyer
    QTest.keyClicks(page.keyer, "J. Ek")
    assert page.words.said.startswith("Not saved yet.")
    press(page, Qt.Key.Key_Down)
    assert desk.asked == [], "Down only moves"
    assert page.words.said.startswith("Not saved yet.")
    page.keyer.setFocus()
    press(page, Qt.Key.Key_Return)
    assert [dip.tank for dip in saved_dips(desk)] == ["Settling"]
    assert desk.asked[-1][1]["author"] == "J. Ek"
    assert page.words.said.startswith("Round saved")


def test_a_finished_round_that_is_left_says_that_it_is_not_saved(page: RoundPage, desk: RecordingDesk) -> None:
    for row in page.rows:
        row.stick.setText("60")
    page.hide()
    page.show()
    assert page.words.said.startswith("Not saved yet.")
    page.row("Suction").focus()
    assert page.words.said.startswith("Not saved yet."), "until it is saved"
    page.save()
    assert page.words.said.startswith("Round saved")
    page.hide()
    page.show()
    assert "Not saved" not in page.words.said


def test_a_store_that_refuses_keeps_the_round_on_the_page(page: RoundPage, desk: RecordingDesk) -> None:
    desk.refuses = True
    for row in page.rows:
        row.stick.setText("60")
    page.save()
    assert page.words.said.startswith("The round was not saved.")
    assert [row.stick.text() for row in page.rows] == ["60", "60", "60"]
    assert page.drafts.get("round") is not None


def test_start_afresh_asks_once(page: RoundPage, desk: RecordingDesk) -> None:
    enter(page, "60")
    page.foot.discard_button.click()
    assert page.row("Settling").stick.text() == "60"
    page.foot.discard_button.click()
    assert not page.in_progress
    assert page.drafts.get("round") is None


def test_a_new_situation_keeps_what_is_typed_and_the_cursor(page: RoundPage, desk: RecordingDesk) -> None:
    QTest.keyClicks(page.focusWidget(), "61")
    desk.now += MIN
    desk.show()
    assert page.row("Settling").stick.text() == "61"
    assert page.focusWidget() is page.row("Settling").stick


def test_a_page_that_stood_open_begins_with_the_first_dip(page: RoundPage, desk: RecordingDesk) -> None:
    desk.now = NOW + 40 * MIN
    QTest.keyClicks(page.focusWidget(), "60")
    assert page.head.text("from") == "02:55"


def test_a_tank_dipped_down_from_its_mark_keeps_its_own_datum(tmp_path: Path, qtbot: QtBot) -> None:
    down = box_tank("Trip", "trip", active=True, order=1, gauge="down", mark_m=9 * FT)
    desk = RecordingDesk(tmp_path / "d.json", two_box_rig(tanks=(down,)))
    page = RoundPage(desk, Drafts(desk.drafts_path))  # type: ignore[arg-type]
    qtbot.addWidget(page)
    page.show()
    assert page.row("Trip").last.text().startswith("48 in"), "60 in of mud is 48 in below the mark"
    QTest.keyClicks(page.focusWidget(), "47")
    assert page.row("Trip").change.text().startswith(f"+{INCH_BBL:.1f} bbl")
    enter(page)
    assert saved_dips(desk)[0].level_m == pytest.approx(47 * IN)


def test_a_volume_is_kept_as_a_volume(page: RoundPage, desk: RecordingDesk) -> None:
    for row in page.rows:
        row.stick.setText("34 m3")
    page.save()
    dip = saved_dips(desk)[0]
    assert dip.level_m is None
    assert dip.volume_m3 == pytest.approx(34.0)
    assert dip.resolution_m == pytest.approx(0.5 / (8 * 30 * FT * FT)), "half the last written digit, as level"


def test_targets_are_wide_enough_for_a_glove(page: RoundPage) -> None:
    for row in page.rows:
        assert row.height() >= 48
        assert row.same_button.width() >= 76
        assert row.not_gauged_button.width() >= 76


def test_a_dip_reads_the_same_on_the_page_and_in_core() -> None:
    # The page types into read_dip and nothing else: what "not gauged" means there is what the row's key types.
    said = read_dip("not gauged", decimal=".", level_unit="in", volume_unit="bbl", percent_of="")
    assert said.kind == "not gauged"


def test_the_rig_may_gain_a_tank_while_a_round_is_typed(page: RoundPage, desk: RecordingDesk) -> None:
    enter(page, "60")
    tanks = (*desk.rig.tanks, box_tank("Pill", "pill", active=False, order=4))
    desk.rig = Rig(name=desk.rig.name, invented=True, zone=desk.rig.zone, decimal=".", units=desk.rig.units,
                   tanks=tanks)
    desk.show()
    assert [row.tank for row in page.rows] == ["Settling", "Suction", "Reserve 1", "Pill"]
    assert page.row("Settling").stick.text() == "60"


# --- from field to field -----------------------------------------------------------------------------------------


def test_up_in_the_first_row_goes_to_the_head_and_down_back_to_the_rows(page: RoundPage) -> None:
    page.begin()
    first = page.rows[0]
    assert page.focusWidget() is first.stick
    press(page, Qt.Key.Key_Up)
    assert page.focusWidget() is page.head.fields["from"]
    press(page, Qt.Key.Key_Down)
    assert page.focusWidget() is first.stick


@pytest.mark.parametrize("columns", [(), ("time", "second", "flag")])
def test_tab_goes_from_the_head_through_the_rows_to_the_foot_and_back(page: RoundPage, columns: tuple[str, ...]) -> None:
    for name in columns:
        page.head.switches[name].setChecked(True)
    page.head.fields["from"].setFocus()
    cells = [w for row in page.rows for w in (*row.lines, row.flag) if w.isVisible()]
    assert len(cells) == len(page.rows) * (1 + len(columns))
    keys = [*page.head.modes.values(), *page.head.switches.values(), page.head.print_button]
    foot = [*page.foot.depths.values(), page.remark, page.foot.discard_button, page.foot.save_button]
    order = [*page.head.fields.values(), *keys, *cells, *foot]
    came = [page.focusWidget()]
    for _ in order[1:]:
        press(page, Qt.Key.Key_Tab)
        came.append(page.focusWidget())
    assert came == order
    cells[0].setFocus()
    press(page, Qt.Key.Key_Backtab, Qt.KeyboardModifier.ShiftModifier)
    assert page.focusWidget() is page.head.print_button


def test_tab_goes_through_the_rows_of_another_mode_too(page: RoundPage) -> None:
    page.take_mode("past")
    page.take_mode("full")
    page.take_mode("short")
    page.rows[-1].stick.setFocus()
    press(page, Qt.Key.Key_Tab)
    assert page.focusWidget() is page.foot.depths["hole depth"]


def test_a_question_that_was_answered_no_longer_looks_like_one(page: RoundPage) -> None:
    row = page.row("Settling")
    row.focus()
    QTest.keyClicks(row.stick, "101")
    press(page, Qt.Key.Key_Return)
    assert (row.words.tone, row.words.text()[:2]) == ("doubt", "? ")
    asked = row.words.said.removesuffix(" Enter again keeps it.")
    page.show_situation(page.desk.situation)
    assert (row.words.tone, row.words.said[-21:]) == ("doubt", "Enter again keeps it."), "asked, and not answered"
    press(page, Qt.Key.Key_Return)
    assert page.focusWidget() is not row.stick, "kept: on to the next"
    assert (row.words.tone, row.words.said) == ("quiet", f"Kept: {asked}")
    row.focus()
    assert page.words.said == "", "nothing is asked any more"
    QTest.keyClicks(row.stick, "102")
    assert row.words.tone == "doubt", "another value is another question"


@pytest.mark.parametrize(("name", "typed", "words"), [
    ("bit depth", "23:50", "Bit depth: 23:50 can't be read. Write a number, in ft or with its unit."),
    ("hole depth", "abc", "Hole depth: “abc” does not begin with a number."),
    ("bit depth", "12 bbl", "Bit depth: “12 bbl”: bbl is a volume")])
def test_a_depth_that_cant_be_read_is_named_and_quoted(page: RoundPage, desk: RecordingDesk, name: str, typed: str,
                                                       words: str) -> None:
    for row in page.rows:
        row.stick.setText("60")
    page.foot.depths[name].setText(typed)
    page.save()
    assert desk.asked == []
    assert page.words.said.startswith(f"Not saved. {words}")
    assert page.focusWidget() is page.foot.depths[name]
