"""The Trip page by keyboard, on a desk that keeps a trip by a sum of two lines. Rig, crew and numbers are invented."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from desks import MIN, NOW
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from trip_views import TANK, TripDesk, first, long_trip, row, some_rows, trip, trip_rig

from builders import BBL, FT
from dipbook.findings import Finding
from dipbook.records import Draft
from dipbook.situation import TripHold, TripPrompt, TripView
from dipbook_app import trip_words
from dipbook_app.display import DisplayUnits
from dipbook_app.drafts import Drafts
from dipbook_app.pages.trip import TripPage
from dipbook_app.pages.trip_doubts import doubts, on_the_row
from dipbook_app.unsaved import TRIP_ROW
from dipbook_app.widgets.trip_sheet import BIT, DIFFERENCE, HOW, IN_ALL, LAST, LEVEL, REMARK, SHOULD, TOOK

Key = Qt.Key
UNITS = DisplayUnits(trip_rig())


class Shown:
    """The page, its desk, and a keyboard that counts. asked: kinds of entry and actions that it wanted."""

    def __init__(self, qtbot: QtBot, path: Path, view: TripView | None) -> None:
        self.qtbot = qtbot
        self.desk = TripDesk(path / "drafts.json", view)
        self.drafts = Drafts(self.desk.drafts_path, self.desk)
        self.count = 0
        self.asked: list[Any] = []
        self.open()

    def open(self) -> None:
        self.page = TripPage(self.desk, self.drafts)
        self.qtbot.addWidget(self.page)
        self.page.entry_wanted.connect(lambda kind, fields: self.asked.append((kind, dict(fields))))
        self.page.action_wanted.connect(self.asked.append)
        self.page.resize(1190, 640)
        self.page.show()
        self.desk.situation_changed.connect(self.page.show_situation)
        self.page.activateWindow()
        self.page.setFocus()
        QApplication.processEvents()

    def press(self, key: Qt.Key, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        self.count += 1
        QTest.keyClick(self.page.focusWidget() or self.page, key, modifier)
        QApplication.processEvents()

    def type_(self, text: str) -> None:
        self.count += len(text)
        QTest.keyClicks(self.page.focusWidget(), text)

    def line(self, name: str) -> str:
        return self.page.entry.text(name)

    @property
    def live(self) -> dict[str, str]:
        return self.page.entry.readings()

    @property
    def words(self) -> str:
        return self.page.entry.words.said

    @property
    def stored(self) -> list[dict[str, Any]]:
        return [what for name, what in self.desk.asked if name == "trip row"]


@pytest.fixture
def under_way(qtbot: QtBot, tmp_path: Path) -> Iterator[Shown]:
    shown = Shown(qtbot, tmp_path, trip(some_rows(3)))
    yield shown
    shown.drafts.flush()


# --- a stand ----------------------------------------------------------------------------------------------------------

def test_a_stand_is_its_level_and_one_key(under_way: Shown) -> None:
    assert under_way.page.entry.levels[TANK].hasFocus()
    assert (under_way.line("stand"), under_way.line("bit depth")) == ("4", "8628")
    under_way.type_("97 1/2")
    under_way.press(Key.Key_Return)
    assert under_way.count == len("97 1/2") + 1
    assert under_way.stored == [{
        "what": "stand", "typed": {"stand": "4", "bit depth": "8628", "strokes": "", "from": "", "remark": ""},
        "levels": {TANK: "97 1/2"}, "t_ms": None, "author": "", "supersedes": None, "reason": ""}]
    assert (under_way.line("stand"), under_way.line("bit depth")) == ("5", "8535"), "the next one is ready"
    assert under_way.page.entry.levels[TANK].hasFocus()
    assert under_way.page.entry.levels[TANK].text() == ""
    assert under_way.words == "Stand 4 saved 02:15: took 0.50 bbl, +0.21 bbl, took less than it should."


def test_three_stands_in_a_row_need_nothing_else(under_way: Shown) -> None:
    for text in ("97.5", "97", "96.25"):
        under_way.type_(text)
        under_way.press(Key.Key_Return)
    assert under_way.count == len("97.5") + len("97") + len("96.25") + 3
    assert [each["typed"]["stand"] for each in under_way.stored] == ["4", "5", "6"]
    assert under_way.page.sheet.rowCount() == 7


def test_the_numbers_follow_what_is_typed(under_way: Shown) -> None:
    assert under_way.live == {"Hole should": "take 0.71", "Stick should": "read 98 1/4 in", "Hole": "–",
                              "Difference, bbl": "–", "Last 5": "–", "In all": "–"}
    under_way.type_("97.5")
    # 98.0 − 97.5 in of 1 bbl an inch: 0.50 taken, 0.706 − 0.50 = 0.206; before it 0.118 by the three rows.
    assert under_way.live["Hole"] == "took 0.50"
    assert under_way.live["Difference, bbl"] == "+0.21 ± 0.20"
    assert under_way.live["In all"] == "+0.32 ± 0.20"
    assert "took less than it should" in under_way.words
    under_way.press(Key.Key_Backspace)
    under_way.press(Key.Key_Backspace)
    assert under_way.live["Hole"] == "took 1.00"
    assert under_way.live["Difference, bbl"] == "−0.29 ± 0.20"
    assert "took more than it should" in under_way.words
    under_way.page.entry.levels[TANK].setText("97.25")
    assert under_way.live["Difference, bbl"] == "−0.04 ± 0.20"
    assert under_way.words == "The hole took as it should, within ± 0.20. Enter saves it."
    assert under_way.stored == []


def test_an_odd_level_is_asked_about_and_enter_again_keeps_it(under_way: Shown) -> None:
    under_way.type_("89")
    assert under_way.words == ("Far from it: the hole took 9.00 bbl, and should take 0.71 bbl. Check the level. "
                               "More than a stand can take: check the level.")
    assert under_way.page.entry.words.tone == "doubt"
    under_way.press(Key.Key_Return)
    assert under_way.stored == []
    assert "Enter again keeps it." in under_way.words
    under_way.press(Key.Key_Return)
    assert under_way.stored[0]["levels"] == {TANK: "89"}


def test_an_answer_to_one_question_is_none_to_the_next_row(under_way: Shown) -> None:
    under_way.type_("89")
    under_way.press(Key.Key_Return)
    under_way.press(Key.Key_Return)
    under_way.type_("70")
    under_way.press(Key.Key_Return)
    assert len(under_way.stored) == 1


def test_one_enter_too_many_saves_no_row_without_a_level(under_way: Shown) -> None:
    under_way.type_("97.5")
    under_way.press(Key.Key_Return)
    under_way.press(Key.Key_Return)
    assert len(under_way.stored) == 1
    assert under_way.words == "No level: Enter again logs the stand unread."
    under_way.press(Key.Key_Return)
    assert under_way.stored[1]["levels"] == {}, "asked for, it is logged: filled every few stands"


def test_what_cant_be_read_is_refused_where_it_stands(under_way: Shown) -> None:
    under_way.type_("9x")
    under_way.press(Key.Key_Return)
    assert under_way.stored == []
    assert under_way.words.startswith("Not saved.")
    assert under_way.page.entry.words.tone == "error"
    assert under_way.page.entry.levels[TANK].property("part") == "bad"
    assert under_way.page.entry.levels[TANK].text() == "9x"
    under_way.page.entry.levels[TANK].setText("97.5")
    assert not under_way.page.entry.levels[TANK].property("part")


def test_a_time_that_was_typed_goes_with_the_row(under_way: Shown) -> None:
    under_way.type_("97.5")
    under_way.page.entry.lines["time"].setText("02:05")
    under_way.press(Key.Key_Return)
    assert under_way.stored[0]["t_ms"] == NOW - 10 * MIN
    under_way.type_("97")
    under_way.page.entry.lines["time"].setText("soon")
    under_way.press(Key.Key_Return)
    assert len(under_way.stored) == 1
    assert under_way.page.entry.lines["time"].hasFocus()


def test_what_a_person_typed_over_stays_when_the_trip_goes_on(under_way: Shown) -> None:
    under_way.page.entry.lines["bit depth"].setText("8600")
    under_way.desk.show_trip(next_stand=5, next_bit_m=8535 * FT)
    assert (under_way.line("stand"), under_way.line("bit depth")) == ("5", "8600")


# --- other rows -------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize(("key", "what"), [(Key.Key_F, "fill"), (Key.Key_C, "flow check")])
def test_a_letter_in_the_empty_level_chooses_the_kind_of_row(under_way: Shown, key: Qt.Key, what: str) -> None:
    under_way.press(key)
    assert under_way.page.entry.kind.text() == trip_words.LABELS[what]
    assert under_way.line("bit depth") == "8721", "no pipe moved"
    under_way.type_("98")
    under_way.press(Key.Key_Return)
    assert under_way.count == 4
    (stored,) = under_way.stored
    assert (stored["what"], stored["levels"], stored["typed"]["stand"]) == (what, {TANK: "98"}, "")
    assert under_way.page.entry.kind.text() == "Stand"
    assert (under_way.line("stand"), under_way.line("bit depth")) == ("4", "8628")


@pytest.mark.parametrize(("key", "what"), [(Key.Key_R, "refill"), (Key.Key_P, "pipe filled")])
def test_mud_from_another_tank_names_it(under_way: Shown, key: Qt.Key, what: str) -> None:
    under_way.press(key)
    assert under_way.page.entry.source.isVisible()
    sources = [under_way.page.entry.source.itemText(n) for n in range(under_way.page.entry.source.count())]
    assert sources == ["" if what == "refill" else TANK, "Settling", "Suction", "Reserve 1"]
    under_way.type_("98.5")
    under_way.page.entry.source.setFocus()
    under_way.type_("res")
    under_way.press(Key.Key_Return)
    (stored,) = under_way.stored
    assert (stored["what"], stored["typed"]["from"]) == (what, "Reserve 1")
    under_way.press(key)
    again = "Reserve 1" if what == "refill" else TANK
    assert under_way.page.entry.source.currentText() == again, "a refill's tank is filled in the next time, no pipe's"


def test_pipe_is_filled_from_the_trip_tank_unless_another_is_named(under_way: Shown) -> None:
    under_way.press(Key.Key_R)
    under_way.page.entry.source.setCurrentText("Suction")
    under_way.type_("110")
    under_way.press(Key.Key_Return)
    under_way.press(Key.Key_P)
    assert under_way.page.entry.source.currentText() == TANK
    under_way.type_("109")
    under_way.press(Key.Key_Return)
    assert [(r["what"], r["typed"]["from"]) for r in under_way.stored] == [("refill", "Suction"), ("pipe filled", "")]
    under_way.press(Key.Key_R)
    assert under_way.page.entry.source.currentText() == "Suction"


@pytest.mark.parametrize("elsewhere", [False, True])
def test_a_tank_that_isnt_there_is_never_another_one(under_way: Shown, elsewhere: bool) -> None:
    under_way.press(Key.Key_P)
    under_way.type_("97")
    source = under_way.page.entry.source
    source.setFocus()
    under_way.type_("mud pit")
    if elsewhere:
        under_way.page.entry.levels[TANK].setFocus()
    for _ in range(3):
        under_way.press(Key.Key_Return)
    assert under_way.stored == []
    assert under_way.words == "Not saved. There is no tank 'mud pit'."
    assert source.placeholderText() == "✕ mud pit"
    source.setFocus()
    under_way.type_("suc")
    under_way.press(Key.Key_Return)
    assert [r["typed"]["from"] for r in under_way.stored] == ["Suction"]


def test_a_hole_that_goes_the_other_way_is_asked_about(under_way: Shown) -> None:
    under_way.type_("100.5")
    assert under_way.words == ("The other way: the hole gave back 2.50 bbl, and should take 0.71 bbl. Check the level. "
                               "More than a stand can take: check the level.")
    under_way.press(Key.Key_Return)
    assert under_way.stored == []
    assert under_way.words.endswith("Enter again keeps it.")
    under_way.desk.show_trip()
    assert under_way.words.endswith("Enter again keeps it."), "the question stays while the clock goes on"
    under_way.press(Key.Key_Return)
    assert under_way.stored[0]["levels"] == {TANK: "100.5"}


@pytest.mark.parametrize(("should", "low", "high", "took", "u", "code"), [
    (0.71, 0.71, 0.71, 0.5, 0.1, []),
    (0.71, 0.71, 0.71, -0.15, 0.1, []),                         # gave back within ± 0.2
    (0.71, 0.71, 0.71, -0.25, 0.1, ["trip_other_way"]),
    (-2.36, -2.36, -2.36, 0.25, 0.1, ["trip_other_way"]),       # going in it should give back
    (-2.36, -2.36, -2.36, -2.0, 0.1, []),
    (-1.53, -2.36, 0.71, 0.5, 0.1, []),                         # a float that lets in an unknown part: both are right
    (0.71, 0.71, 0.71, 2.9, 0.1, ["trip_far"]),                 # 2.19 more, above 3 × 0.71
    (0.71, 0.71, 0.71, 2.8, 0.1, []),                           # 2.09 more
    (0.71, 0.71, 0.71, 2.9, 1.2, []),                           # within ± 2.4
    (3.5, 3.5, 3.5, 0.2, 0.1, ["trip_far"]),                    # 3.3 bbl less, above 0.5 m3 (3.14 bbl)
    (3.5, 3.5, 3.5, 0.4, 0.1, []),                              # 3.1 bbl less
    (0.0, 0.0, 0.0, 1.0, 0.1, []),                              # a fill with no pipe moved
    (0.0, 0.0, 0.0, 3.2, 0.1, ["trip_far"])])
def test_what_is_asked_about(should: float, low: float, high: float, took: float, u: float, code: list[str]) -> None:
    view = replace(row(1, "98", 0.0, total_bbl=0, last_bbl=0), expected_m3=should * BBL, least_m3=low * BBL,
                   most_m3=high * BBL, actual_m3=took * BBL, difference_m3=(should - took) * BBL, u_m3=u * BBL)
    assert [f.code for f in doubts(view, UNITS)] == code
    assert doubts(replace(view, difference_m3=None), UNITS) == ()
    assert doubts(replace(view, expected_m3=None), UNITS) == ()


def test_a_refill_isnt_asked_whether_its_stick_was_read_from_the_brim() -> None:
    found = (Finding("measured from the brim?", code="doubt", column=TANK), Finding("say which tank", severity="error"))
    assert [f.what for f in on_the_row(found, None, "refill", UNITS)] == ["Say which tank."]
    assert [f.what for f in on_the_row(found, None, "stand", UNITS)] == ["Measured from the brim?", "Say which tank."]


@pytest.mark.parametrize("time", ["01:50", "02:15"])
def test_what_was_saved_is_the_row_that_was_typed(under_way: Shown, time: str) -> None:
    under_way.type_("97.5")
    under_way.press(Key.Key_Return)
    under_way.page.entry.lines["time"].setText(time)
    under_way.page.entry.lines["stand"].setText("17")
    under_way.type_("97")
    under_way.press(Key.Key_Return)
    assert under_way.words.startswith(f"Stand 17 saved {time}:")


def test_a_refill_from_nowhere_is_refused_at_its_field(under_way: Shown) -> None:
    under_way.press(Key.Key_R)
    under_way.type_("110")
    under_way.press(Key.Key_Return)
    assert under_way.stored == []
    assert under_way.page.entry.source.hasFocus()


def test_letters_are_letters_once_a_level_is_begun_and_esc_goes_back_to_the_stand(under_way: Shown) -> None:
    under_way.type_("8 ft")
    assert under_way.page.entry.levels[TANK].text() == "8 ft"
    assert under_way.page.row.what == "stand"
    under_way.press(Key.Key_F, Qt.KeyboardModifier.AltModifier)
    assert under_way.page.row.what == "fill"
    assert under_way.page.entry.levels[TANK].text() == "8 ft", "what is typed stays"
    under_way.press(Key.Key_Escape)
    assert under_way.page.row.what == "stand"
    assert under_way.line("stand") == "4"


def test_the_level_before_the_first_stand_comes_first(qtbot: QtBot, tmp_path: Path) -> None:
    shown = Shown(qtbot, tmp_path, trip())
    assert shown.page.entry.kind.text() == "First level"
    shown.type_("100")
    shown.press(Key.Key_Return)
    assert shown.stored[0]["what"] == "fill"
    assert shown.page.entry.kind.text() == "Stand"


def test_a_rig_without_trip_tank_types_strokes(qtbot: QtBot, tmp_path: Path) -> None:
    shown = Shown(qtbot, tmp_path, trip(some_rows(2), tanks=(), next_dip=None))
    assert shown.page.entry.lines["strokes"].hasFocus()
    shown.type_("7")
    shown.press(Key.Key_Return)
    assert (shown.stored[0]["levels"], shown.stored[0]["typed"]["strokes"]) == ({}, "7")


# --- correcting -------------------------------------------------------------------------------------------------------

def test_a_row_is_corrected_from_the_sheet_with_a_reason(under_way: Shown) -> None:
    under_way.type_("97")
    under_way.press(Key.Key_Up)
    under_way.press(Key.Key_Up)
    assert under_way.page.sheet.hasFocus()
    under_way.press(Key.Key_Return)
    assert under_way.page.entry.kind.text() == "Correcting: stand"
    assert (under_way.line("stand"), under_way.line("bit depth")) == ("2", "8814")
    assert under_way.page.entry.levels[TANK].text() == "98.75"
    assert under_way.line("time") == "00:23"
    under_way.type_("98.5")
    under_way.press(Key.Key_Return)
    assert under_way.stored == []
    assert under_way.page.entry.lines["reason"].hasFocus(), "why comes with it"
    under_way.type_("misread")
    under_way.press(Key.Key_Return)
    (stored,) = under_way.stored
    assert (stored["supersedes"], stored["reason"], stored["levels"]) == ("row-2", "misread", {TANK: "98.5"})
    assert stored["t_ms"] == NOW - 112 * MIN, "it keeps its time"
    assert under_way.page.entry.kind.text() == "Stand"
    assert under_way.page.entry.levels[TANK].text() == "97", "what was being typed waited"
    assert under_way.page.sheet.item(2, REMARK).text() == "corrected"


def test_a_correction_that_is_left_changes_nothing(under_way: Shown) -> None:
    under_way.press(Key.Key_Up)
    under_way.press(Key.Key_Return)
    under_way.press(Key.Key_Escape)
    assert not under_way.page.row.correcting
    assert (under_way.line("stand"), under_way.page.entry.levels[TANK].text()) == ("4", "")
    assert under_way.drafts.get(TRIP_ROW) is None
    assert under_way.stored == []


def test_the_source_of_a_refill_comes_from_its_record(under_way: Shown) -> None:
    under_way.desk.learn(Draft("trip row", NOW, NOW, "R. Moe", {"what": "refill", "from": "Suction"}))
    uid = under_way.desk.records[-1].uid
    refill = replace(first("110"), uid=uid, what="refill", t_ms=NOW)
    under_way.desk.show_trip(rows=(*some_rows(3), refill))
    under_way.press(Key.Key_Up)
    under_way.press(Key.Key_Return)
    assert under_way.page.entry.source.currentText() == "Suction"


# --- what is shown ----------------------------------------------------------------------------------------------------

def test_the_answer_is_in_words(under_way: Shown) -> None:
    # 3 × 0.70587 − (0.75 + 0.50 + 0.75)
    assert under_way.page.head.answer.readings() == ("+0.1 bbl", "in all, ± 0.2 (2u):",
                                                          "the hole took as it should, within ±")
    assert under_way.page.head.near.first.text() == "Last 5 rows: +0.12 bbl."
    assert under_way.page.head.near.second.text() == "No limit on trips is set: nothing is watched."


@pytest.mark.parametrize(("direction", "sum_bbl", "words"), [
    ("out", 1.3, "took less than it should"), ("out", -1.3, "took more than it should"),
    ("in", 1.3, "gave back more than it should"), ("in", -1.3, "gave back less than it should"),
    ("out", 0.04, "took as it should, within ±"), ("in", 0.0, "gave back as it should, within ±"),
    ("out", 0.41, "took less than it should"), ("out", -0.39, "took as it should, within ±")])
def test_the_sign_means_the_same_both_ways(direction: str, sum_bbl: float, words: str) -> None:
    view = trip(direction=direction, total_m3=sum_bbl * BBL, total_u_m3=0.2 * BBL)
    assert trip_words.answer(view, UNITS).words == f"the hole {words}"


def test_how_near_the_limits(under_way: Shown) -> None:
    under_way.desk.show_trip(limit_total_m3=2.0 * BBL)
    assert under_way.page.head.near.second.text() == \
        "1.88 bbl to the limit in all of 2.0 bbl. No limit over 5 rows."
    under_way.desk.show_trip(limit_last_m3=0.1 * BBL)
    assert "0.02 bbl past the limit over 5 rows of 0.1 bbl." in under_way.page.head.near.second.text()


def test_what_isnt_known_is_said_and_not_left_blank(under_way: Shown) -> None:
    lost = replace(row(4, "97", 0.5, total_bbl=0.3, last_bbl=0.3), difference_m3=None, actual_m3=None, expected_m3=None,
                   least_m3=None, most_m3=None, cumulative_m3=None, bit_m=None, state="dry")
    under_way.desk.show_trip(rows=(*some_rows(3), lost))
    cells = [under_way.page.sheet.item(4, c).text() for c in (BIT, SHOULD, TOOK, DIFFERENCE, IN_ALL, HOW)]
    assert cells == [*["unknown"] * 5, "dry"]


def test_where_nothing_is_worked_out_nothing_is_called_unknown(under_way: Shown) -> None:
    unread = replace(first(""), uid="row-4", what="stand", stand=4, bit_m=8628 * FT, levels=())
    under_way.desk.show_trip(rows=(*some_rows(3), unread))
    sheet = under_way.page.sheet
    for place, kind in ((0, "First level"), (4, "–")):
        cells = [sheet.item(place, c).text() for c in (SHOULD, TOOK, DIFFERENCE, LAST, IN_ALL, HOW)]
        assert cells == [*["–"] * 5, kind]
    assert sheet.item(4, LEVEL).text() == "–"
    under_way.page.to_sheet()
    sheet.setCurrentCell(0, 0)
    assert "First level" in under_way.page.beside.text()
    assert "unknown" not in under_way.page.beside.text()


def test_running_in_says_what_the_hole_gives_back(qtbot: QtBot, tmp_path: Path) -> None:
    back = row(1, "102.25", -2.25, total_bbl=0.1, last_bbl=0.1, expected_m3=-2.36 * BBL, least_m3=-2.36 * BBL,
               most_m3=-2.36 * BBL, actual_m3=-2.25 * BBL, state="closed float")
    filled = replace(back, uid="row-9", what="pipe filled", expected_m3=3.5 * BBL, actual_m3=3.25 * BBL)
    shown = Shown(qtbot, tmp_path, trip((first(), back, filled), direction="in", next_due_m3=-2.36 * BBL))
    sheet = shown.page.sheet
    assert sheet.horizontalHeaderItem(SHOULD).text() == "Should\ngive back"
    assert (sheet.item(1, SHOULD).text(), sheet.item(1, TOOK).text()) == ("2.36", "2.25")
    assert (sheet.item(2, SHOULD).text(), sheet.item(2, TOOK).text()) == ("take 3.50", "took 3.25")
    assert shown.live["Hole should"] == "give back 2.36"


def test_bounds_of_a_self_filling_float_are_both_said() -> None:
    view = replace(row(1, "100", 0.0, total_bbl=0, last_bbl=0), least_m3=-2.36 * BBL, most_m3=-0.71 * BBL)
    assert trip_words.bounds(view, UNITS) == "give back 0.71 to 2.36 bbl"
    assert trip_words.bounds(replace(view, most_m3=0.5 * BBL), UNITS) == "give back 2.36 bbl to take 0.50 bbl"


def test_the_newest_row_stays_in_sight_and_a_chosen_one_is_read_whole(qtbot: QtBot, tmp_path: Path) -> None:
    shown = Shown(qtbot, tmp_path, long_trip())
    sheet = shown.page.sheet
    bar = sheet.verticalScrollBar()
    assert bar.maximum() > 0
    assert bar.value() == bar.maximum()
    shown.type_("61 1/4")
    shown.press(Key.Key_Return)
    assert bar.value() == bar.maximum()
    shown.page.to_sheet()
    sheet.setCurrentCell(40, 0)
    text = shown.page.beside.text()
    assert "Stand 40" in text
    assert "tight spot, 30 klb over" in text
    assert "R. Moe" in text
    assert text.index("Stand 40") < text.index("Posted")
    shown.press(Key.Key_Escape)
    assert "Stand 40" not in shown.page.beside.text()


def test_the_flow_checks_are_told_apart_by_mark_and_word(under_way: Shown) -> None:
    head = under_way.page.head
    assert [line.text() for line in head.checks] == [
        "✓ Done off bottom: static", "○ Ahead: at the shoe, 4500 ft", "○ Ahead: before the BHA, 600 ft"]
    before = head.height()
    under_way.desk.show_trip(prompts=(TripPrompt("at the shoe", 4500 * FT, "due"),))
    assert [line.text() for line in head.checks] == ["! Due now: at the shoe, 4500 ft", "", ""]
    assert head.checks[0].property("part") == "outlined"
    QApplication.processEvents()
    assert head.height() == before, "nothing jumps"
    QTest.mouseClick(head.check_button, Qt.MouseButton.LeftButton)
    assert under_way.asked == ["flow check"]


def test_of_many_flow_checks_those_ahead_stay() -> None:
    done = tuple(TripPrompt(f"place {n}", 9000.0, "done") for n in range(3))
    ahead = TripPrompt("at the shoe", 1400.0, "ahead")
    assert [p.place for p in trip_words.prompts(trip(prompts=(*done, ahead)))] == ["place 1", "place 2", "at the shoe"]


def test_a_hold_point_is_shown_until_somebody_decides(under_way: Shown) -> None:
    head = under_way.page.head
    before = head.height()
    assert head.hold.text() == "No hold point."
    under_way.desk.show_trip(holds=(TripHold(NOW - 5 * MIN, "in all +2.1 bbl. Stop."),))
    QApplication.processEvents()
    assert head.hold.text() == "! HOLD POINT 02:10, Alt+D logs what is decided: in all +2.1 bbl. Stop."
    assert head.hold.property("part") == "bad"
    assert head.height() == before, "nothing jumps"
    under_way.desk.show_trip(limit_total_m3=0.1 * BBL, limit_last_m3=2.0 * BBL)
    assert head.clock.text() == "0.12 of 0.1 bbl in all (passed), 0.12 of 2.0 bbl over 5 rows", "how near, at a hold point too"
    under_way.desk.show_trip(out_of_hole_ms=NOW - 65 * MIN, limit_last_m3=None)
    assert head.clock.text() == "Out of the hole 1 h 05 min. 0.12 of 0.1 bbl in all (passed)"
    under_way.desk.show_trip(ended_ms=NOW - 2 * MIN)
    assert head.clock.text() == "Ended 02:13. 0.12 of 0.1 bbl in all (passed)"
    under_way.desk.show_trip(ended_ms=None, out_of_hole_ms=None, limit_total_m3=None)
    under_way.press(Key.Key_D, Qt.KeyboardModifier.AltModifier)
    assert under_way.asked == [("trip decision", {})]
    under_way.desk.show_trip(holds=(TripHold(NOW - 5 * MIN, "in all.", "flow check, static, R. Moe 02:13"),))
    assert head.hold.text() == "Hold point 02:10, decided: flow check, static, R. Moe 02:13"
    assert head.hold.property("part") == "soft"


def test_what_stands_unfilled_is_read_whole(under_way: Shown) -> None:
    head = under_way.page.head
    words = "5 stands without a fill or a reading; unfilled the level is 123 ft down, 77 psi lost; posted for collars: 5"
    under_way.desk.show_trip(unfilled=words, fill_due=False)
    assert head.unfilled.text() == f"{words}."
    assert head.unfilled.property("part") == "soft"
    under_way.desk.show_trip(fill_due=True)
    assert head.unfilled.text() == f"! Fill the hole: {words}."
    assert head.unfilled.property("part") == "outlined"
    assert head.clock.text() == "No limit on trips is set"
    under_way.desk.show_trip(unfilled="", fill_due=False)
    assert not head.unfilled.isVisible()
    assert head.hold.text() == "No hold point."


def test_an_older_hold_point_that_nobody_decided_stays_open() -> None:
    view = trip(holds=(TripHold(NOW - 9 * MIN, "the first"), TripHold(NOW - 5 * MIN, "the second", "go on, A. Berg")))
    words, open_ = trip_words.hold(view, NOW, UNITS)
    assert open_
    assert "the first" in words


def test_out_of_the_hole_the_clock_runs(under_way: Shown) -> None:
    under_way.desk.show_trip(out_of_hole_ms=NOW - 65 * MIN)
    assert under_way.page.head.clock.text() == "Out of the hole 1 h 05 min, since 01:10"


def test_the_plot_has_depth_downward_and_names_what_it_shows(qtbot: QtBot, tmp_path: Path) -> None:
    shown = Shown(qtbot, tmp_path, long_trip())
    plot = shown.page.plot
    QApplication.processEvents()
    assert plot._plot.vb.yInverted()
    x, y = plot._curve.getData()
    assert (x[-1], y[-1]) == pytest.approx((5.51, 3234.0), abs=0.01)
    assert {"limit 6.0", "shoe 4500 ft", "took less →", "← took more"} <= set(plot.words())
    assert plot.thin.text() == "Thin: Trip 2, 28 Feb"
    low, high = plot._plot.vb.viewRange()[0]
    assert low < -6.0
    assert high > 6.0
    numbers = plot._volumes.tickStrings([-2.5, 0.0, 2.5], 1.0, 2.5)
    assert numbers == ["−2.5", "0", "2.5"]
    assert plot._depths.tickValues(8000.0, 2000.0, 300.0)[0][1], "numbers on an axis that goes down"


def test_posted_lines_and_the_head_of_the_sheet_stand_beside(under_way: Shown) -> None:
    text = under_way.page.beside.text()
    assert "Fill every 5 stands of drill pipe: 3.5 bbl." in text
    assert "not said" in text
    assert "none in this log" in text


# --- no trip, ended ---------------------------------------------------------------------------------------------------

def test_without_a_trip_the_page_teaches_and_begins_one(qtbot: QtBot, tmp_path: Path) -> None:
    shown = Shown(qtbot, tmp_path, None)
    assert shown.page.empty.isVisible()
    assert not shown.page.body.isVisible()
    assert "Begin a trip" in shown.page.teaching.text()
    assert shown.page.begin_button.hasFocus()
    shown.press(Key.Key_Space)
    assert shown.asked == [("trip", {})]


def test_an_ended_trip_says_so_and_takes_no_row(under_way: Shown) -> None:
    under_way.desk.show_trip(ended_ms=NOW - 2 * MIN)
    page = under_way.page
    assert page.head.clock.text() == "Ended 02:13"
    assert not page.entry.isVisible()
    assert page.bar.readings() == ("Begin a trip", "Correct")
    assert page.head.checks[1].text() == "– Not logged at the shoe"
    page.row.save()
    page.act("fill")
    assert under_way.stored == []
    page.act("begin")
    assert under_way.asked == [("trip", {})]
    page.to_sheet()
    under_way.press(Key.Key_Return)
    assert page.entry.isVisible()
    assert page.entry.kind.text() == "Correcting: stand"


def test_ending_asks_for_its_entry(under_way: Shown) -> None:
    under_way.page.act("end")
    assert under_way.asked == [("trip end", {})]
    under_way.page.act("begin")
    assert under_way.asked == [("trip end", {})], "one trip at a time"


# --- drafts and units -------------------------------------------------------------------------------------------------

def test_what_is_typed_comes_back_after_a_restart(under_way: Shown) -> None:
    under_way.press(Key.Key_R)
    under_way.type_("110")
    under_way.page.entry.lines["remark"].setText("slow pump")
    under_way.drafts.flush()
    under_way.drafts = Drafts(under_way.desk.drafts_path)
    under_way.open()
    assert under_way.page.entry.kind.text() == "Refill"
    assert under_way.page.entry.levels[TANK].text() == "110"
    assert under_way.line("remark") == "slow pump"
    assert under_way.stored == []


def test_a_correction_comes_back_too_with_the_row_that_waited(under_way: Shown) -> None:
    under_way.type_("97")
    under_way.press(Key.Key_Up)
    under_way.press(Key.Key_Return)
    under_way.page.entry.lines["reason"].setText("misread")
    under_way.drafts.flush()
    under_way.drafts = Drafts(under_way.desk.drafts_path)
    under_way.open()
    assert under_way.page.entry.kind.text() == "Correcting: stand"
    assert under_way.line("reason") == "misread"
    under_way.press(Key.Key_Escape)
    assert under_way.page.entry.levels[TANK].text() == "97"


def test_a_draft_of_another_trip_is_left_out(under_way: Shown) -> None:
    under_way.type_("97")
    under_way.desk.show_trip(uid="trip-2", rows=())
    assert under_way.page.entry.levels[TANK].text() == ""


def test_units_that_are_switched_go_with_what_is_typed(under_way: Shown) -> None:
    under_way.type_("97.5")
    under_way.page.show_units("metric")
    assert under_way.page.entry.levels[TANK].text() == "97.5 in", "it keeps the unit it was typed under"
    assert under_way.line("bit depth") == "2629.81", "what the page filled in is in the units that are shown"
    under_way.press(Key.Key_Return)
    assert under_way.stored[0]["levels"] == {TANK: "97.5 in"}
    assert under_way.stored[0]["typed"]["bit depth"] == "2629.81 m"
    assert under_way.line("bit depth") == "2601.47", "the next depth in the units that are shown"
    under_way.type_("246.4")
    under_way.press(Key.Key_Return)
    assert under_way.stored[1]["levels"] == {TANK: "246.4 cm"}, "and never read as inches"
    assert under_way.stored[1]["typed"]["bit depth"] == "2601.47 m"


def test_volumes_of_a_stand_are_told_apart_in_every_unit() -> None:
    for unit_set, text in (("", "0.71 bbl"), ("metric", "0.112 m³")):
        assert DisplayUnits(trip_rig(), unit_set).stand_volume(0.706 * BBL) == text
    assert UNITS.stand_plus_minus(None) == "± unknown"
    assert UNITS.depth_text(9000 * FT) == "9000"
    assert UNITS.depth_text(8907.25 * FT) == "8907.25"
    assert UNITS.depth_text(None) == ""


def test_a_depth_that_a_person_typed_keeps_its_unit(under_way: Shown) -> None:
    under_way.page.entry.lines["bit depth"].setText("8600")
    under_way.page.show_units("metric")
    assert under_way.line("bit depth") == "8600 ft"
