"""The Round page in the units that the screen shows, its times, its depths, and what it says once it is saved."""

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
from dipbook.tanks.shapes import Strapping
from dipbook_app.display import DisplayUnits
from dipbook_app.drafts import Drafts
from dipbook_app.pages.round import RoundPage
from dipbook_app.round_sheet import RoundSheet, RowText
from dipbook_app.round_times import Exact


@pytest.fixture
def desk(tmp_path: Path, qapp: object) -> RecordingDesk:
    """A third tank is dipped down from a mark at 108 in; its level was 60 in, so the stick read 48 in."""
    rig = two_box_rig()
    down = box_tank("Reserve 1", "reserve", active=False, order=3, gauge="down", mark_m=9 * FT)
    return RecordingDesk(tmp_path / "log.drafts.json", replace(rig, tanks=(*rig.tanks[:2], down)))


def made(desk: RecordingDesk, qtbot: QtBot) -> RoundPage:
    page = RoundPage(desk, Drafts(desk.drafts_path))  # type: ignore[arg-type]
    desk.situation_changed.connect(page.show_situation)
    qtbot.addWidget(page)
    page.resize(1190, 700)
    page.show()
    return page


@pytest.fixture
def page(desk: RecordingDesk, qtbot: QtBot) -> Iterator[RoundPage]:
    page = made(desk, qtbot)
    yield page
    page.drafts.drop("round")


def enter(page: RoundPage, text: str = "") -> None:
    QTest.keyClicks(page.focusWidget(), text)
    QTest.keyClick(page.focusWidget(), Qt.Key.Key_Return)


# --- units -------------------------------------------------------------------------------------------------------


def test_a_bare_dip_is_read_in_the_unit_that_the_screen_shows(page: RoundPage, desk: RecordingDesk) -> None:
    page.show_units("metric")
    assert page.heading.labels["stick"].text() == "Stick says, cm"
    assert page.row("Settling").last.text().startswith("152.4 cm"), "60 in, as it was"
    for text in ("153", "152.5", "122", "", ""):
        enter(page, text)
    dips = desk.asked[0][1]["dips"]
    assert [d.level_m for d in dips] == pytest.approx([1.53, 1.525, 1.22])
    assert [d.as_typed for d in dips] == ["153 cm", "152.5 cm", "122 cm"], "the log says in which unit"


def test_in_the_rigs_own_units_a_dip_stays_as_typed(page: RoundPage, desk: RecordingDesk) -> None:
    assert page.heading.labels["stick"].text() == "Stick says, in"
    for text in ("60 1/2", "=", "122 cm", "", ""):
        enter(page, text)
    assert [d.as_typed for d in desk.asked[0][1]["dips"]] == ["60 1/2", "same", "122 cm"]


def test_a_number_keeps_the_unit_that_it_was_typed_under(page: RoundPage, desk: RecordingDesk) -> None:
    enter(page, "60 1/2")
    QTest.keyClicks(page.focusWidget(), "=")
    page.foot.depths["hole depth"].setText("9500")
    page.show_units("metric")
    assert page.row("Settling").stick.text() == "60 1/2 in"
    assert page.row("Suction").stick.text() == "same"
    assert page.foot.depths["hole depth"].text() == "9500 ft"
    row = page.sheet.rows["Settling"]
    assert row.dip is not None
    assert row.dip.level_m == pytest.approx(60.5 * IN)
    page.show_units("")
    assert page.row("Settling").stick.text() == "60 1/2 in"


def test_a_draft_comes_back_with_the_unit_that_it_was_typed_under(desk: RecordingDesk, qtbot: QtBot) -> None:
    first = made(desk, qtbot)
    first.show_units("metric")
    enter(first, "153")
    first.drafts.flush()
    first.hide()
    again = made(desk, qtbot)
    assert again.row("Settling").stick.text() == "153 cm"
    assert again.sheet.rows["Settling"].dip is not None
    assert again.sheet.rows["Settling"].dip.level_m == pytest.approx(1.53)
    again.drafts.drop("round")
    first.drafts.drop("round")


def test_doubts_speak_in_the_units_that_are_shown(page: RoundPage) -> None:
    page.show_units("metric")
    page.row("Settling").stick.setText("20")
    assert "m³" in page.row("Settling").words.said
    assert " bbl" not in page.row("Settling").words.said
    assert " in" not in page.row("Settling").words.said.replace(" in ", "")


def test_above_the_top_of_the_shape_is_refused_as_in_files(page: RoundPage, desk: RecordingDesk) -> None:
    enter(page, "110")
    row = page.row("Settling")
    assert row.words.tone == "error"
    assert "More than the tank can hold: at its top the stick reads 108 in." in row.words.said
    assert page.focusWidget() is row.stick
    page.row("Reserve 1").stick.setText("-2")  # two inches above the mark, which is at the top
    assert page.row("Reserve 1").words.tone == "error"


def test_a_volume_beyond_the_shape_is_refused_too(page: RoundPage) -> None:
    page.row("Settling").stick.setText("400 bbl")  # full is 384.7 bbl: 8 × 30 × 9 ft³ / 5.6146
    assert page.row("Settling").words.tone == "error"
    page.row("Settling").stick.setText("384 bbl")
    assert page.row("Settling").words.tone == "doubt"


def test_outside_a_table_it_says_so_and_never_unknown_plus_minus_unknown(desk: RecordingDesk) -> None:
    table = box_tank("Settling", "settling", active=True, order=1, brim_m=None,
                     shape=Strapping((0.5, 2.0), (10.0, 40.0)))
    situation = replace(desk.situation, rig=replace(desk.rig, tanks=(table, *desk.rig.tanks[1:])))
    sheet = RoundSheet(situation, [RowText("Settling", "10")], start="02:15", end="", exact=Exact("02:15", NOW),
                       last_ms=None, now_ms=NOW)
    words = sheet.words("Settling", DisplayUnits(situation.rig), kept=False)
    assert (words.volume, words.change) == ("not in the table", "")
    assert "unknown ±" not in f"{words.volume} {words.change}"


def test_a_small_tanks_uncertainty_has_enough_digits(desk: RecordingDesk) -> None:
    units = DisplayUnits(desk.rig)
    assert units.plus_minus(0.021 * 0.158987294928) == "± 0.04"
    assert units.plus_minus(0.5 * 0.158987294928) == "± 1.0"
    assert units.plus_minus(0.0) == "± 0.0"
    assert units.plus_minus(None) == "± unknown"


def test_a_tank_dipped_from_the_mark_says_what_its_figures_are(page: RoundPage) -> None:
    row = page.row("Reserve 1")
    assert row.gauge.text() == "stick, from the mark"
    assert row.last.text().startswith("48 in")
    assert row.words.said == "Stick at the bottom 108 in, at the brim 0 in", "whole, with no level beside it"


def test_what_is_no_number_says_what_to_do(page: RoundPage) -> None:
    page.row("Settling").stick.setText("nan")
    assert "leave it blank if it isn't known" in page.row("Settling").words.said


# --- times -------------------------------------------------------------------------------------------------------


def test_a_round_of_many_hours_is_refused_in_words(page: RoundPage, desk: RecordingDesk) -> None:
    """It is 02:15: 23:59 was 2 h 16 min ago and can be; 15:34 was 10 h 41 min ago and can't."""
    for row in page.rows:
        row.stick.setText("60")
    page.row("Reserve 1").stick.setText("48")
    page.head.set_text("from", "15:34")
    page.save()
    assert desk.asked == []
    assert page.words.said == "Not saved. The gauging would have lasted 10 h 41 min. Check the times."
    assert "28 Feb 15:34, 10 h 41 min ago" in page.head.taken.text()
    page.head.set_text("from", "23:59")
    assert "Gauged from 28 Feb 23:59, 2 h 16 min ago." in page.head.taken.text()
    assert page.head.taken.isVisible()
    page.save()
    assert [what for what, _ in desk.asked] == ["round"]
    assert not page.head.taken.isVisible()


def test_a_time_for_one_dip_says_its_day_too(page: RoundPage) -> None:
    page.head.switches["time"].setChecked(True)
    page.row("Settling").stick.setText("60")
    page.row("Settling").time.setText("23:59")
    assert "At 28 Feb 23:59, 2 h 16 min ago" in page.row("Settling").words.said


# --- depths, and after saving -------------------------------------------------------------------------------------


def test_the_depths_are_logged_with_the_round_and_before_it(page: RoundPage, desk: RecordingDesk) -> None:
    desk.now = NOW + 6 * MIN
    for text in ("60", "60", "48"):
        enter(page, text)
    assert page.focusWidget() is page.foot.depths["hole depth"]
    enter(page, "9500")
    enter(page, "9488.5")
    (first, depth), (second, round_) = desk.asked
    assert (first, second) == ("entry", "round"), "so that the round is judged by the new depth"
    assert (depth["kind"], depth["typed"]) == ("depth", {"hole depth": "9500 ft", "bit depth": "9488.5 ft"})
    assert depth["t_ms"] == round_["dips"][-1].t_ms
    assert depth["author"] == "R. Moe"
    assert page.words.said.startswith("Round saved 02:21, with the depth.")
    assert page.foot.depth_texts() == {}


def test_the_depths_may_be_passed_with_enter(page: RoundPage, desk: RecordingDesk) -> None:
    for text in ("60", "60", "48", "", ""):
        enter(page, text)
    assert [what for what, _ in desk.asked] == ["round"]


def test_a_depth_that_cannot_be_read_or_is_odd_is_asked_about(page: RoundPage, desk: RecordingDesk) -> None:
    for text in ("60", "60", "48", "95x", ""):
        enter(page, text)
    assert desk.asked == []
    assert page.words.said.startswith("Not saved. Hole depth: 95x can't be read.")
    assert page.focusWidget() is page.foot.depths["hole depth"]
    page.foot.depths["hole depth"].setText("9500")
    page.foot.depths["bit depth"].setText("9600")
    page.save()
    assert page.words.said == "The bit is deeper than the hole. Enter again keeps it."
    assert desk.asked == []
    page.save()
    assert [what for what, _ in desk.asked] == ["entry", "round"]


@pytest.mark.parametrize(("typed", "asks"), [
    ("40", "40.0 ft is less than the hole had (9765.0 ft)"), ("9700", "9700.0 ft is less than the hole had"),
    ("19766", "19766.0 ft is 10001.0 ft more than the hole had"), ("9765", ""), ("9763", ""), ("9858", "")])
def test_a_hole_depth_far_from_the_last_one_is_asked_about(page: RoundPage, desk: RecordingDesk, typed: str, asks: str,
                                                           ) -> None:
    page.show_situation(replace(desk.situation, hole_depth_m=9765 * 0.3048))
    for text in ("60", "60", "48", typed, ""):
        enter(page, text)
    if asks:
        assert page.words.said.startswith(asks)
        assert desk.asked == []
        page.save()
    assert [what for what, _ in desk.asked] == ["entry", "round"]


def test_the_depths_are_part_of_the_draft(desk: RecordingDesk, qtbot: QtBot) -> None:
    first = made(desk, qtbot)
    first.foot.depths["bit depth"].setText("9488")
    first.drafts.flush()
    first.hide()
    again = made(desk, qtbot)
    assert again.foot.depth_texts() == {"bit depth": "9488"}
    again.drafts.drop("round")
    first.drafts.drop("round")


def test_after_saving_the_cursor_is_at_the_first_tank_and_the_words_stay(page: RoundPage) -> None:
    for text in ("60", "60", "48", "", ""):
        enter(page, text)
    assert page.focusWidget() is page.rows[0].stick
    assert page.words.said.startswith("Round saved 02:15.")
    assert page.words.tone == "done"
