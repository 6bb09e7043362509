"""The short round, catching up from paper, swapped rows, what a stick should read. Numbers by hand: an inch is 3.562 bbl."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from desks import MIN, NOW, RecordingDesk
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot
from real_desks import Bench, Hands, make_log, rig_text

from builders import IN, box_tank, two_box_rig
from dipbook.records import ROUND, Dip, Draft
from dipbook.situation import RunningEntry
from dipbook_app.drafts import Drafts
from dipbook_app.log_model import LATE, LogModel
from dipbook_app.pages.round import RoundPage
from dipbook_app.round_modes import FULL, PAST, SHORT

CTRL = Qt.KeyboardModifier.ControlModifier
HOUR = 60 * MIN


@pytest.fixture
def desk(tmp_path: Path, qapp: object) -> RecordingDesk:
    rig = two_box_rig()
    return RecordingDesk(tmp_path / "d.json", replace(rig, tanks=(*rig.tanks, box_tank(
        "Trip", "trip", active=False, order=4))))


@pytest.fixture
def page(desk: RecordingDesk, qtbot: QtBot) -> Iterator[RoundPage]:
    page = shown(desk, qtbot)
    yield page
    page.drafts.flush()


def shown(desk: RecordingDesk, qtbot: QtBot) -> RoundPage:
    page = RoundPage(desk, Drafts(desk.drafts_path))  # type: ignore[arg-type]
    desk.situation_changed.connect(page.show_situation)
    qtbot.addWidget(page)
    page.resize(1190, 700)
    page.show()
    page.activateWindow()
    qtbot.waitUntil(page.isActiveWindow)
    return page


def key(page: RoundPage, what: Qt.Key, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
    QTest.keyClick(page.focusWidget(), what, modifier)


def type_(page: RoundPage, text: str) -> None:
    QTest.keyClicks(page.focusWidget(), text)
    key(page, Qt.Key.Key_Return)


def names(page: RoundPage) -> list[str]:
    return [row.tank for row in page.rows]


def last_round(desk: RecordingDesk) -> list[tuple[str, str]]:
    what, asked = desk.asked[-1]
    assert what == "round"
    return [(dip.tank, dip.as_typed) for dip in asked["dips"]]


# --- the short round ----------------------------------------------------------------------------------------------


def test_a_short_round_has_the_suction_and_the_trip_tank_and_says_what_stays(page: RoundPage, desk: RecordingDesk) -> None:
    page.begin(short=True)
    assert names(page) == ["Suction", "Trip"]
    assert page.mode_words.text() == ("Short round: suction and trip tanks only. Settling and Reserve 1 stay at their last "
                                      "dips, and the balance is partial.")
    assert page.mode_words.isVisible()
    type_(page, "61")
    type_(page, "48")
    page.save()
    assert last_round(desk) == [("Suction", "61"), ("Trip", "48")]
    assert page.words.said.startswith("Short round saved 02:15.")
    assert page.words.said.endswith("The other tanks stay at their last dips.")


def test_a_round_of_all_tanks_in_progress_is_kept_beside_a_short_one(page: RoundPage, desk: RecordingDesk) -> None:
    type_(page, "60 1/2")
    page.begin(short=True)
    assert not page.in_progress
    assert "The round of all tanks is kept." in page.mode_words.text()
    type_(page, "61")
    type_(page, "48")
    page.save()
    page.begin()
    assert (page.mode, names(page)) == (FULL, ["Settling", "Suction", "Reserve 1", "Trip"])
    assert page.row("Settling").stick.text() == "60 1/2"
    assert not page.row("Suction").stick.text(), "that dip is saved already"


def test_one_key_goes_back_to_all_tanks_with_what_was_typed(page: RoundPage, desk: RecordingDesk, qtbot: QtBot) -> None:
    type_(page, "60 1/2")
    key(page, Qt.Key.Key_B, CTRL)
    assert page.mode == SHORT
    type_(page, "61")
    key(page, Qt.Key.Key_B, CTRL)
    assert page.mode == FULL
    assert [row.stick.text() for row in page.rows] == ["60 1/2", "61", "", ""]
    assert page.drafts.get("short round") is None
    page.drafts.flush()
    again = shown(desk, qtbot)
    assert [row.stick.text() for row in again.rows] == ["60 1/2", "61", "", ""]
    again.drafts.drop("round")


def test_of_two_dips_of_one_tank_neither_is_lost_on_the_way_back(page: RoundPage) -> None:
    page.row("Suction").stick.setText("60")
    page.begin(short=True)
    page.row("Suction").stick.setText("62")
    page.begin()
    assert page.row("Suction").stick.text() == "60"
    page.begin(short=True)
    assert page.row("Suction").stick.text() == "62"


def test_a_short_round_that_was_interrupted_is_brought_back_as_one(page: RoundPage, desk: RecordingDesk, qtbot: QtBot) -> None:
    page.begin(short=True)
    type_(page, "61")
    page.drafts.flush()
    again = shown(desk, qtbot)
    assert (again.mode, names(again)) == (SHORT, ["Suction", "Trip"])
    assert again.row("Suction").stick.text() == "61"
    assert again.restored.text() == "Round begun 02:15 restored."
    again.drafts.drop("short round")


def test_without_such_tanks_there_is_no_short_round(tmp_path: Path, qtbot: QtBot) -> None:
    rig = two_box_rig()
    desk = RecordingDesk(tmp_path / "d.json", replace(rig, tanks=(rig.tanks[0],)))
    page = shown(desk, qtbot)
    page.begin(short=True)
    assert page.mode == FULL
    assert "No tank has the role suction or trip" in page.words.said


def test_in_the_log_a_short_round_is_not_complete(tmp_path: Path, qapp: object) -> None:
    bench = Bench(make_log(tmp_path / "log.dipbook", rig_text()), Hands())
    try:
        for tanks in (("Settling", "Suction"), ("Suction",)):
            bench.hands.pass_(10)
            t = bench.hands.ms
            assert bench.desk.save_round(tuple(Dip(tank, t, "60", 60 * IN) for tank in tanks), start_ms=t, end_ms=t,
                                         observer="R. Moe", author="R. Moe")
        rounds = [r for r in bench.desk.store.records() if r.kind == ROUND]
        assert [r.payload["complete"] for r in rounds] == [True, False]
        assert bench.desk.situation is not None
        assert bench.desk.situation.partial
    finally:
        bench.desk.close()


# --- catching up --------------------------------------------------------------------------------------------------


def test_rounds_from_paper_are_keyed_one_after_another_with_their_true_times(page: RoundPage, desk: RecordingDesk) -> None:
    key(page, Qt.Key.Key_L, CTRL)
    assert page.mode == PAST
    assert page.focusWidget() is page.head.fields["from"]
    assert page.head.text("from") == "", "the time is on the paper, nowhere else"
    for start, end in (("0030", "0040"), ("2330", "2338")):
        type_(page, start)
        assert page.focusWidget() is page.head.fields["to"]
        type_(page, end)
        for text in ("60", "61", "-", "-"):
            type_(page, text)
        page.save()
        asked = desk.asked[-1][1]
        assert "Round saved" in page.words.said
        assert page.words.said.endswith("The next one: its times first.")
        assert page.focusWidget() is page.head.fields["from"]
        assert (page.head.text("from"), page.head.text("to")) == ("", "")
    times = [(asked["start_ms"], asked["end_ms"]) for _, asked in desk.asked]
    midnight = NOW - 135 * MIN
    assert times == [(midnight + 30 * MIN, midnight + 40 * MIN), (midnight - 30 * MIN, midnight - 22 * MIN)]
    assert all(d.t_half_ms >= 30_000 for d in asked["dips"]), "a time on paper is to the minute at best"
    key(page, Qt.Key.Key_L, CTRL)
    assert page.mode == FULL


def test_a_round_of_the_past_takes_no_time_of_now(page: RoundPage, desk: RecordingDesk) -> None:
    page.take_mode(PAST)
    for row in page.rows:
        row.stick.setText("60")
    page.save()
    assert desk.asked == []
    assert page.words.said.startswith("Not saved. When was the first tank gauged?")
    page.head.set_text("from", "01:00")
    page.save()
    assert desk.asked == []
    assert page.words.said.startswith("Not saved. When was the last tank gauged?")


def test_a_time_for_each_dip_is_enough(page: RoundPage, desk: RecordingDesk) -> None:
    page.take_mode(PAST)
    page.head.switches["time"].setChecked(True)
    for row, at in zip(page.rows, ("0100", "0102", "0104", "0103"), strict=True):
        row.stick.setText("60")
        row.time.setText(at)
    page.save()
    one = NOW - 75 * MIN
    asked = desk.asked[-1][1]
    assert (asked["start_ms"], asked["end_ms"]) == (one, one + 4 * MIN)
    assert [d.t_ms - one for d in asked["dips"]] == [0, 2 * MIN, 4 * MIN, 3 * MIN]


def test_same_in_a_round_of_the_past_is_the_same_as_before_it(page: RoundPage, desk: RecordingDesk) -> None:
    old = NOW - 3 * HOUR
    desk.learn(Draft(ROUND, old, old, "R. Moe", {"start_ms": old, "end_ms": old},
                     tuple(Dip(tank.name, old, "40", 40 * IN) for tank in desk.rig.tanks)))
    page.take_mode(PAST)
    page.head.set_text("from", "0015")
    page.head.set_text("to", "0020")
    for row in page.rows:
        assert row.last.text().startswith("40 in"), "the dip before the round, not the newest"
        row.stick.setText("=")
    page.save()
    assert [d.level_m for d in desk.asked[-1][1]["dips"]] == pytest.approx([40 * IN] * 4), "not 60 in, gauged since"


def test_same_before_anything_was_gauged_is_refused(page: RoundPage, desk: RecordingDesk) -> None:
    page.take_mode(PAST)
    page.head.set_text("from", "0015")
    page.head.set_text("to", "0020")
    page.row("Suction").stick.setText("=")
    assert page.row("Suction").last.text() == "none before"
    assert "no dip before it" in page.row("Suction").words.said


def test_the_log_shows_both_times_of_a_round_that_was_caught_up(page: RoundPage, desk: RecordingDesk) -> None:
    page.take_mode(PAST)
    page.head.set_text("from", "0015")
    page.head.set_text("to", "0020")
    for row in page.rows:
        row.stick.setText("60")
    page.save()
    model = LogModel()
    model.show_situation(desk.situation)
    shown_late = [model.data(model.index(row, LATE)) for row in range(model.rowCount())]
    assert shown_late == ["02:15"]
    assert model.data(model.index(0, 0)).endswith("00:20")


def test_a_round_from_paper_that_was_interrupted_is_brought_back(page: RoundPage, desk: RecordingDesk, qtbot: QtBot) -> None:
    page.take_mode(PAST)
    page.head.set_text("from", "0015")
    type_(page, "")
    page.row("Settling").stick.setText("60 1/4")
    page.drafts.flush()
    again = shown(desk, qtbot)
    assert again.mode == PAST
    assert (again.head.text("from"), again.row("Settling").stick.text()) == ("0015", "60 1/4")
    assert again.restored.text() == "The round being caught up is as it was left."
    assert again.focusWidget() is again.head.fields["to"], "the time that is still wanted"
    again.drafts.drop("catch up")


def test_what_waits_in_another_way_is_said_after_an_interruption(page: RoundPage, desk: RecordingDesk, qtbot: QtBot) -> None:
    page.row("Settling").stick.setText("60 1/4")
    page.take_mode(PAST)
    page.row("Settling").stick.setText("50")
    page.drafts.flush()
    again = shown(desk, qtbot)
    assert (again.mode, again.row("Settling").stick.text()) == (FULL, "60 1/4")
    assert again.mode_words.text() == "A round from paper is begun and waits: Ctrl+L."
    assert again.mode_words.isVisible()
    key(again, Qt.Key.Key_L, CTRL)
    assert again.row("Settling").stick.text() == "50"
    again.discard()
    again.discard()
    key(again, Qt.Key.Key_L, CTRL)
    assert not again.mode_words.isVisible()
    again.drafts.drop("round")


# --- on the row ---------------------------------------------------------------------------------------------------


def test_one_key_swaps_two_rows(page: RoundPage, desk: RecordingDesk) -> None:
    tank = desk.rig.tank("Suction")
    other = {"level_m": 90 * IN, "volume_m3": float(tank.volume(90 * IN))}
    desk.show(tanks=tuple(replace(v, **other) if v.name == "Suction" else v for v in desk.situation.tanks))
    assert not page.foot.swap_button.isVisible()
    type_(page, "90")  # not yet swapped with anything: asked about its size, and kept
    page.row("Suction").focus()
    QTest.keyClicks(page.focusWidget(), "60 1/8")
    assert page.row("Settling").words.said.startswith("Swapped with Suction? Ctrl+G swaps them.")
    assert page.row("Suction").words.said.startswith("Swapped with Settling?")
    key(page, Qt.Key.Key_G, CTRL)
    assert (page.row("Settling").stick.text(), page.row("Suction").stick.text()) == ("60 1/8", "90")
    assert not page.foot.swap_button.isVisible()
    assert page.words.said == "Swapped: Suction 90, Settling 60 1/8."


def test_rows_swapped_are_seen_where_their_levels_are_near(page: RoundPage, desk: RecordingDesk) -> None:
    # 4 in apart of 108: each fits the other's row to a quarter. Saved so, an active tank would read 14 bbl too much.
    tank = desk.rig.tank("Suction")
    other = {"level_m": 64 * IN, "volume_m3": float(tank.volume(64 * IN))}
    desk.show(tanks=tuple(replace(v, **other) if v.name == "Suction" else v for v in desk.situation.tanks))
    page.row("Suction").stick.setText("60 1/4")
    page.row("Reserve 1").stick.setText("64")
    assert page.row("Suction").words.said.startswith("Swapped with Reserve 1? Ctrl+G swaps them.")
    page.row("Suction").stick.setText("62")
    assert "Swapped" not in page.row("Suction").words.said


def test_what_the_stick_should_read_stands_beside_the_last_dip(page: RoundPage, desk: RecordingDesk) -> None:
    assert not page.row("Suction").should.isVisible(), "nothing where nobody knows"
    tank = desk.rig.tank("Suction")
    should = {"should_read_m": 62.25 * IN, "should_hold_m3": float(tank.volume(62.25 * IN))}
    desk.show(tanks=tuple(replace(v, **should) if v.name == "Suction" else v for v in desk.situation.tanks))
    row = page.row("Suction")
    assert row.should.isVisible()
    assert row.should.text() == "62 1/4 in"
    row.stick.setText("62")
    assert row.words.said == "", "within twice the uncertainty of both dips"
    row.stick.setText("61")
    # 1 1/4 in of 3.562 bbl is 4.5 bbl; 2u of 0.514 and 0.5 bbl is 1.4.
    assert (row.words.said, row.words.tone) == ("−4.5 bbl against what it should read", "quiet")


def test_the_same_is_counted_and_asked_about_from_the_third_time(page: RoundPage, desk: RecordingDesk) -> None:
    desk.show(tanks=tuple(replace(v, same_count={"Settling": 1, "Suction": 2}.get(v.name, 0)) for v in desk.situation.tanks))
    for name in ("Settling", "Suction", "Reserve 1"):
        page.row(name).stick.setText("=")
    assert page.row("Settling").words.said == "same, 2nd time"
    assert page.row("Suction").words.said.startswith("The same for the 3rd round: dipped, or from the desk?")
    assert page.row("Reserve 1").words.said == "same as before"


@pytest.mark.parametrize(("typed", "flag", "volume"), [("over brim", "", "≥ 384.7 bbl"), ("", "over brim", "≥ 384.7 bbl"),
                                                       ("below stick", "", "unknown"), ("", "below stick", "unknown")])
def test_a_level_that_cannot_be_read_is_a_dip_all_the_same(page: RoundPage, desk: RecordingDesk, typed: str, flag: str,
                                                         volume: str) -> None:
    for row in page.rows:
        row.stick.setText("60")
    page.head.switches["flag"].setChecked(True)
    row = page.row("Suction")
    row.stick.setText(typed)
    row.flag.setCurrentText(flag)
    assert row.volume.text() == volume  # 108 in of 3.562 bbl is 384.7 bbl
    page.save()
    dip = next(d for d in desk.asked[-1][1]["dips"] if d.tank == "Suction")
    assert dip.flag == (flag or typed)
    assert (dip.level_m is None) == (volume == "unknown")


def test_feet_for_inches_and_53_for_5_3_and_outage_are_asked_about(page: RoundPage) -> None:
    # The dip before is 60 in, 5 ft; 51 would be 5' 1".  From the brim at 108 in the stick would say 48.
    for text, said in (("5", "Meant 5 ft"), ("51", "Meant 5' 1\"?"), ("48", "Measured from the brim?")):
        page.row("Suction").stick.setText(text)
        assert said in page.row("Suction").words.said
        assert page.row("Suction").words.tone == "doubt"


def test_more_than_the_pumps_can_have_moved_is_asked_about_and_kept_with_enter(page: RoundPage, desk: RecordingDesk) -> None:
    # 60 gal/min over the 20 min since the dip before is 28.6 bbl, 8.0 in.
    rig = replace(desk.rig, drain_back=None)
    desk.rig = rig
    desk.show(flow_m3_s=60 * 0.003785411784 / 60)
    row = page.row("Suction")
    row.stick.setText("67")
    assert "more than could have been moved" not in row.words.said
    row.stick.setText("71")
    assert "more than could have been moved, 30.0 bbl" in row.words.said
    for other in page.rows:
        if other is not row:
            other.stick.setText("60")
    page.save()
    assert desk.asked == []
    page.save()
    assert ("Suction", "71") in last_round(desk)


def test_while_something_runs_at_no_known_rate_nobody_knows_what_can_have_moved(page: RoundPage, desk: RecordingDesk) -> None:
    desk.rig = replace(desk.rig, drain_back=None)
    words = "more than could have been moved"
    for places, asked in (({"from": "Reserve 1", "to": "Suction"}, False), ({"to": "active"}, False),
                          ({"from": "Reserve 1", "to": "Trip"}, True)):
        desk.show(flow_m3_s=60 * 0.003785411784 / 60, running=(
            RunningEntry("u", "transfer", "", NOW - 10 * MIN, None, None, places),))
        page.row("Suction").stick.setText("71")
        assert (words in page.row("Suction").words.said) == asked
        page.row("Suction").stick.clear()


# --- by keyboard alone --------------------------------------------------------------------------------------------


def test_times_second_readings_and_flags_are_keyed_without_a_mouse(page: RoundPage, desk: RecordingDesk) -> None:
    alt = Qt.KeyboardModifier.AltModifier
    for what in (Qt.Key.Key_T, Qt.Key.Key_R, Qt.Key.Key_F):
        key(page, what, alt)
    assert page.head.columns() == {"time": True, "second": True, "flag": True}
    row = page.rows[0]
    assert (page.focusWidget(), row.stick.text()) == (row.stick, ""), "the cursor stays, and nothing is typed by them"
    QTest.keyClicks(page.focusWidget(), "60 1/2")
    key(page, Qt.Key.Key_Tab)
    QTest.keyClicks(page.focusWidget(), "61")
    key(page, Qt.Key.Key_Tab)
    QTest.keyClicks(page.focusWidget(), "0205")
    key(page, Qt.Key.Key_Tab)
    assert page.focusWidget() is row.flag
    key(page, Qt.Key.Key_Down)
    key(page, Qt.Key.Key_Return)
    key(page, Qt.Key.Key_Return)  # half an inch apart: asked, and kept
    assert page.focusWidget() is page.rows[1].stick
    type_(page, "=")
    type_(page, "-")
    type_(page, "below stick")
    key(page, Qt.Key.Key_Return)
    key(page, Qt.Key.Key_Return)
    first, second, last = desk.asked[-1][1]["dips"]
    assert (first.level_m, first.t_ms, first.flag) == (pytest.approx(60.75 * IN), NOW - 10 * MIN, "foam")
    assert first.resolution_m == pytest.approx(0.25 * IN), "half of what they differ by"
    assert (second.tank, second.unchanged, last.tank, last.flag) == ("Suction", True, "Trip", "below stick")
    assert last.level_m is None


def test_rows_are_keyed_in_any_order_and_the_observer_is_another(page: RoundPage, desk: RecordingDesk) -> None:
    key(page, Qt.Key.Key_Down)
    key(page, Qt.Key.Key_Down)
    type_(page, "61")
    key(page, Qt.Key.Key_Up)
    key(page, Qt.Key.Key_Up)
    type_(page, "60")
    assert [row.stick.text() for row in page.rows] == ["", "60", "61", ""]
    for _ in range(3):  # past the first row into the head
        key(page, Qt.Key.Key_Up)
    assert page.focusWidget() is page.head.fields["from"]
    key(page, Qt.Key.Key_Tab)
    key(page, Qt.Key.Key_Tab)
    QTest.keyClicks(page.focusWidget(), "A. Roe")
    key(page, Qt.Key.Key_Return, CTRL)
    assert "Nothing is typed for Settling and Trip" in page.words.said
    key(page, Qt.Key.Key_Return, CTRL)
    asked = desk.asked[-1][1]
    assert ([dip.tank for dip in asked["dips"]], asked["observer"], asked["author"]) == (
        ["Suction", "Reserve 1"], "A. Roe", "R. Moe")
