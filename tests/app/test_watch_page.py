"""The Watch page shows the Situation, all of it fits, and what is doubtful looks it."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QFontMetricsF
from PySide6.QtWidgets import QApplication, QLayout, QScrollBar, QWidget
from situations import (
    GAIN,
    LOSS,
    MIN,
    NOW_MS,
    RAIN,
    RIG,
    STOCK,
    TERMS,
    crowded,
    no_zero,
    partial,
    quiet,
    raised,
    tanks,
    trend,
    unwatched,
)

from builders import BBL, FT, IN
from dipbook.cautions import RETURN_FLOW
from dipbook.findings import Finding
from dipbook.parts import Figure
from dipbook.records import Draft, numbered
from dipbook.tanks.shapes import Box, Strapping, VerticalCylinder
from dipbook_app.display import DisplayUnits
from dipbook_app.pages.watch import WatchPage
from dipbook_app.stylesheet import stylesheet
from dipbook_app.theme import DAY, NIGHT, Look, luminance
from dipbook_app.widgets.difference_scale import DifferenceScale, half_range
from dipbook_app.widgets.plot_axes import VolumeAxis, ticks
from dipbook_app.widgets.tank_drawing import TankDrawing, sections, width_m
from dipbook_app.widgets.tank_field import TankField, flow_order
from dipbook_app.widgets.term_list import TermList

UNITS = DisplayUnits(RIG)


@pytest.fixture
def page(qtbot):
    made = WatchPage(Look())
    qtbot.addWidget(made)
    made.setStyleSheet(stylesheet(Look()))
    made.resize(1190, 654)
    made.show()
    return made


def show(page, situation):
    page.show_situation(situation, UNITS)
    QApplication.processEvents()


def test_the_difference_is_the_biggest_thing_with_its_direction_and_uncertainty(page):
    show(page, quiet())
    assert page.figure.readings() == ("+1.3 bbl", "± 0.9", "more than expected")
    assert page.figure.height() > max(line.height() for line in page.lines()) * 2


def test_actual_expected_trend_and_limit_are_said(page):
    show(page, quiet())
    words = " | ".join(page.readings())
    for text in ("Actual 955.3 bbl", "Expected 954.0 bbl", "Rising 0.8 bbl in 30 min", "Next round due 02:33",
                 "3.7 bbl to the gain limit of 5.0 bbl", "At 02:05, 10 min old.", "Zero 28 Feb 18:00 by J. Moe",
                 "Drilling since 00:40, pumps on", RETURN_FLOW, "can reach 30.0 bbl unseen",
                 "Not watched: no limit on the levels", "Heron 3 (invented)"):
        assert text in words


@pytest.mark.parametrize("make", [quiet, raised, partial, unwatched, no_zero, crowded])
@pytest.mark.parametrize("size", [(1190, 654), (1190, 560), (1830, 930), (1010, 484)],
                         ids=["1280x800", "1920x1080@150%", "1920x1080", "least"])
def test_everything_fits_without_scroll_bars(page, make, size):
    page.resize(*size)
    show(page, make())
    assert [line.text() for line in page.lines() if line.cut] == []
    assert not [bar for bar in page.findChildren(QScrollBar) if bar.isVisible()]
    assert page.minimumSizeHint().height() <= size[1]
    shown = [line for line in page.lines() if line.parentWidget() is page.lines()[0].parentWidget()]
    for above, below in itertools.pairwise(shown):
        assert not above.geometry().intersects(below.geometry()), (above.text(), below.text())


def test_in_the_least_window_all_that_is_abnormal_stays_with_the_sound_line(page):
    page.resize(1010, 484)
    page.show_sound("No sound: no player was found on this computer.")
    show(page, crowded())
    assert page.minimumSizeHint().height() <= 484
    words = " | ".join(page.readings())
    for text in ("Well shut in 02:12 by A. Example: gain kept at 6.2 bbl (by the books then +6.1 bbl ± 0.9).", "No sound",
                 "About to move 24.0 bbl Reserve 1 → Suction. Told driller 02:06; no answer yet. And 2 more.", "A guess",
                 "0.6 bbl past the gain limit", "can reach 30.0 bbl unseen", RETURN_FLOW, "Not watched: no limit"):
        assert text in words
    assert page.figure.height() >= 100
    assert not page.plot.isVisible()
    below = (*page.bar.buttons, *page.stop_bar.buttons, *page.calls.rows[0].buttons.values())
    for widget in (*page.lines(), *below):
        corner = widget.mapTo(page, widget.rect().bottomRight())
        assert corner.x() < 1010, widget.text()
        assert corner.y() < 484, widget.text()
    show(page, quiet())
    page.show_sound("")
    page.resize(1190, 654)
    QApplication.processEvents()
    assert page.plot.isVisible(), "it comes back"
    assert page.tanks.isVisible()


WATER = Finding(
    "Water to Suction stands open at Suction and no rate in force runs into it: what runs in isn't booked and reads as a gain, which "
    "hides an equal loss. Log its rate, or close it.", code="count_once", severity="warning", t_ms=NOW_MS - 9 * MIN)


def shut_in_and_all(**changes):
    """The well shut in on a gain, a flow check that flowed, tanks left out, a doubt of the books and no sound, all at once."""
    seen = numbered((Draft("flow check", NOW_MS - 5 * MIN, NOW_MS, "A. Example", {"result": "flowing"}),), 1)
    return raised(**{"shut_in": crowded().shut_in, "signs": tuple(seen), "findings": (WATER,), "unwatched": (), "hints": (),
                     "running": (), "partial": True, "held": (("Desilter", NOW_MS - 72 * MIN), ("Pill", NOW_MS - 72 * MIN)),
                     "not_gauged_m3": 100 * BBL, "stock": STOCK, "rates": (RAIN, RAIN), "pumps_on": False, **changes})


@pytest.mark.parametrize("size", [(1190, 654), (1190, 574), (1830, 930)], ids=["1280x800", "1280x720", "1920x1080"])
def test_the_volumes_stay_in_the_trend_while_the_well_is_shut_in(page, size):
    page.resize(*size)
    page.show_sound("No sound: no player was found on this computer.")
    show(page, shut_in_and_all())
    assert page.minimumSizeHint().height() <= size[1]
    assert page.plot._upper.isVisible(), "it is what a shut-in is read by"
    assert page.plot._upper.vb.height() >= 45
    assert page.tanks.isVisible()
    shown = [notice for notice in page._notices if notice.isVisible()]
    assert [notice.text().split()[0] for notice in shown] == ["Well", "Seen:", "Partial:", "The"]
    assert shown[1].y() == shown[2].y(), "two that are short share a line"
    for one, other in itertools.combinations(shown, 2):
        assert not one.geometry().intersects(other.geometry())
    for notice in shown:
        assert notice.heightForWidth(notice.width()) <= notice.height() + 1
        assert notice.geometry().right() < page._flow.width()
    show(page, quiet(unwatched=()))
    assert not page._flow.isVisible(), "without notices nothing is kept for them"


def test_the_big_keys_keep_their_places(page):
    show(page, quiet())
    places = {button.accessibleName(): button.geometry() for button in page.bar.buttons}
    assert not page.stop_bar.isVisible()
    show(page, crowded())
    assert {button.accessibleName(): button.geometry() for button in page.bar.buttons} == places
    assert page.stop_bar.isVisible()


def test_rates_in_force_are_one_line_that_leads_to_their_entries(page, qtbot):
    show(page, quiet())
    assert not page._rates.isVisible()
    show(page, quiet(rates=(RAIN,)))
    assert "In force: rain +3.0 bbl/h into active for 35 min, 1.8 bbl so far." in page.readings()
    loss = replace(RAIN, fields={"from": "active", "what": "shaker"}, volume_m3=-1.75 * BBL)
    show(page, quiet(rates=(loss, RAIN, RAIN)))
    assert "In force: shaker −3.0 bbl/h from active for 35 min, 1.8 bbl so far; and 2 more" in page.readings()
    with qtbot.waitSignal(page.asked) as asked:
        qtbot.mouseClick(page._rates, Qt.MouseButton.LeftButton)
    assert asked.args == [("rate in force",)]
    with qtbot.waitSignal(page.asked):
        qtbot.keyClick(page._rates, Qt.Key.Key_Return)


def test_room_and_usable_mud_are_said_where_there_is_room(page):
    show(page, quiet(stock=STOCK))
    words = page.readings()
    assert "Room to the brims 141.0 bbl, least Sand trap 12.0 bbl." in words
    assert "Usable 310.0 bbl." in words
    show(page, quiet(stock=replace(STOCK, room_m3=None, tightest=None)))
    assert "Usable 310.0 bbl." in page.readings()
    assert not any(text.startswith("Room") for text in page.readings())
    show(page, quiet())
    assert not page._stock.isVisible()


def test_two_columns_become_three_where_there_is_room(page):
    show(page, quiet())
    assert page.columns == 2
    page.resize(1830, 930)
    QApplication.processEvents()
    assert page.columns == 3


def test_a_healthy_rig_shows_no_colour(page):
    show(page, quiet())
    image = page.grab().toImage()
    for x in range(0, image.width(), 3):
        for y in range(0, image.height(), 3):
            colour = image.pixelColor(x, y)
            spread = max(colour.red(), colour.green(), colour.blue()) - min(colour.red(), colour.green(), colour.blue())
            assert spread < 40, (x, y, colour.name())


def test_what_is_not_watched_or_partial_is_marked_in_words(page):
    show(page, unwatched())
    assert page.figure.readings()[2] == "more than expected, not watched"
    assert any(text.startswith("Not watched: tripping") for text in page.readings())
    show(page, partial())
    assert any(text.startswith("Partial: 482.2 bbl not gauged") for text in page.readings())


def test_without_a_zero_there_is_no_difference_and_the_next_step_is_offered(page):
    show(page, no_zero())
    assert page.figure.readings()[0] == "No zero yet"
    assert "Zero the difference" in page.bar.readings()
    assert "Gauge every active tank, then zero the difference." in page.readings()
    show(page, replace(no_zero(), partial=True))
    assert ("Partial: Degasser, Desilter, Intermediate and 1 more were never gauged. Nothing is compared before they are."
            in page.readings())


def test_the_actions_ask_by_name_and_show_their_keys(page, qtbot):
    asked = []
    page.action_wanted.connect(asked.append)
    show(page, raised())
    for action, button in zip(page.bar.shown, page.bar.buttons, strict=True):
        assert min(button.height(), button.width()) >= 76
        assert button.text().replace("\n", " ") == f"{action.words} {action.key}", "the key is on the button"
        button.click()
    (stop,) = page.stop_bar.buttons
    assert stop.text() == "Stop Reserve 1 to Suction 1.2 bbl  Ctrl+Shift+1"
    assert stop.height() >= 10 / 25.4 * 96
    stop.click()
    assert asked == ["round", "short round", "flow check", "pumps off", "about to move mud", "transfer", "entry",
                     "stop:t-9"]
    show(page, unwatched())
    assert "Pumps on" in page.bar.readings()


def test_the_big_keys_stand_six_millimetres_apart(page):
    show(page, quiet())
    boxes = [button.geometry() for button in page.bar.buttons]
    gaps = [right.left() - left.right() for left, right in itertools.pairwise(boxes)]
    assert min(gaps) >= 6 / 25.4 * 96


def test_a_guess_is_labelled_a_guess_and_offered(page, qtbot):
    show(page, raised())
    assert any(text.startswith("A guess: ") for text in page.readings())
    with qtbot.waitSignal(page.hint_wanted) as asked:
        page.take_hint()
    assert asked.args[0].kind == "transfer"


def test_a_guess_says_between_which_readings(page):
    (hint,) = raised().hints
    fields = {**hint.fields, "t_ms": NOW_MS - 40 * MIN, "end_ms": NOW_MS - 10 * MIN}
    show(page, raised(hints=(replace(hint, fields=fields),)))
    assert any(text.startswith("A guess, between 01:35 and 02:05: ") for text in page.readings())


def test_a_looser_limit_waits_while_the_warning_stands_on_the_old_one(page):
    looser = replace(RIG, limits=(replace(GAIN, value=8 * BBL), LOSS))
    stands = raised(rig=looser, limit_gain=replace(GAIN, value=8 * BBL), difference_m3=7.9 * BBL)
    show(page, stands)
    assert "2.9 bbl past the gain limit of 5.0 bbl; 8.0 waits until the warning is closed." in page.readings()
    assert "gain 5.0" in page._scale.readings()
    show(page, replace(stands, warnings=()))
    assert "0.1 bbl to the gain limit of 8.0 bbl." in page.readings()
    show(page, replace(stands, limit_gain=None, rig=replace(RIG, limits=(LOSS,))))
    assert any(text.startswith("The gain limit is withdrawn; the warning") for text in page.readings())


def test_moves_logged_on_tanks_that_were_not_gauged_are_said(page):
    s = partial()
    show(page, replace(s, tanks=tuple(replace(t, booked_m3=12 * BBL) if t.held or not t.active else t for t in s.tanks)))
    words = next(text for text in page.readings() if text.startswith("Partial"))
    assert words.endswith("(Desilter, Suction); +24.0 bbl logged on them since, counted as logged")


def test_a_missing_loss_limit_stands_on_the_page_as_something_abnormal(page):
    words = "no loss limit in force"
    show(page, quiet(limit_loss=None, unwatched=(words,)))
    assert page.readings()[0] == "Not watched: no loss limit in force."
    assert page._unwatched.property("part") == "outlined"
    assert page._unwatched.y() < page.figure.mapTo(page, QPoint(0, 0)).y()
    show(page, quiet(unwatched=()))
    assert page._unwatched.isHidden()


def test_an_altered_log_is_said_for_as_long_as_it_is_open(page):
    page.show_log_wrong("The log was altered or damaged. The chain is broken at record 7.")
    for s in (quiet(), raised(), quiet()):
        show(page, s)
        assert page.readings()[0].startswith("The log was altered or damaged.")
        assert page._log_wrong.isVisible()
    page.show_log_wrong("")
    assert page._log_wrong.isHidden()


def test_the_figure_stays_clear_when_everything_is_abnormal_and_the_text_is_large(page):
    look = Look(text=1.3)
    page.setStyleSheet(stylesheet(look))
    for part in page.findChildren(QWidget):
        if hasattr(part, "set_look"):
            part.set_look(look)
    page.layout().setSizeConstraint(QLayout.SizeConstraint.SetNoConstraint)
    page.resize(1190, 621)
    page.show_log_wrong("The log was altered or damaged. Record 2 (round) is not what was written. Run “dipbook verify”.")
    page.show_sound("No sound: no player on this computer. Warnings show on the screen only.")
    show(page, replace(partial(), limit_loss=None, unwatched=("no loss limit in force",)))
    QApplication.processEvents()
    assert page.minimumSizeHint().height() <= page.height() == 621
    assert page.figure.geometry().bottom() <= page._since.geometry().top()


def test_terms_come_largest_first_and_what_does_not_fit_is_counted(qtbot):
    shown = TermList(Look())
    qtbot.addWidget(shown)
    shown.resize(400, 4 * 22)
    shown.show_terms(TERMS, UNITS)
    rows = shown.rows()
    assert [row[0] for row in rows] == ["transfers", "cuttings", "lines", ""]
    assert rows[3][1] == "5 smaller"
    assert rows[3][3] == "−2.7 bbl"  # 6.8 − 5.5 − 3.3 − 1.1 + 0.4
    shown.resize(400, 400)
    assert len(shown.rows()) == 8


def test_clicking_a_term_asks_for_what_it_rests_on(page, qtbot):
    show(page, quiet())
    with qtbot.waitSignal(page.figure_asked) as asked:
        qtbot.mouseClick(page.terms, Qt.MouseButton.LeftButton, pos=QPoint(30, 5))
    assert asked.args == [Figure("term", "active", "transfers")]
    with qtbot.waitSignal(page.figure_asked) as asked:
        qtbot.keyClick(page.terms, Qt.Key.Key_Down)
        qtbot.keyClick(page.terms, Qt.Key.Key_Return)
    assert asked.args == [Figure("term", "active", page.terms.rows()[1][0])]


# --- the scale --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("values", "half"), [((1.3, 5.0, -10.0), 20.0), ((0.5, 1.0), 2.0), ((4.0,), 5.0), ((), 1.0),
                                              ((float("nan"), 8.0), 10.0), ((0.04,), 0.05)])
def test_the_scale_is_round_and_holds_everything(values, half):
    assert half_range(values) == pytest.approx(half)


def test_zero_stands_in_the_middle_of_the_scale(qtbot):
    scale = DifferenceScale(Look())
    qtbot.addWidget(scale)
    scale.resize(400, 80)
    scale.show_difference(1.3 * BBL, 0.45 * BBL, ((-10 * BBL, "loss 10.0"), (5 * BBL, "gain 5.0")), UNITS)
    assert scale.x_of(0.0) == 200.0
    assert scale.x_of(5.0) - 200 == pytest.approx(200 - scale.x_of(-5.0))
    assert scale.readings() == ("less than expected", "more than expected", "20", "loss 10.0", "gain 5.0")


def test_limits_close_to_zero_keep_their_words(qtbot):
    scale = DifferenceScale(Look())
    qtbot.addWidget(scale)
    scale.resize(480, 80)

    def ink(limits):
        scale.show_difference(28.7 * BBL, 0.6 * BBL, limits, UNITS)
        image = scale.grab().toImage()
        return {(x, y) for x in range(480) for y in range(14) if image.pixelColor(x, y).lightness() < 80}

    loss, gain = (-6 * BBL, "loss 6.0"), (5 * BBL, "gain 5.0")
    alone = ink((loss,)) | ink((gain,))
    assert ink((loss, gain)) == alone
    assert not ink((loss,)) & ink((gain,))


# --- the tanks --------------------------------------------------------------------------------------------------


def test_tanks_stand_in_flow_order_with_the_active_first():
    active, others = flow_order(tanks()[::-1], RIG)
    assert [t.name for t in active] == ["Sand trap", "Settling", "Degasser", "Desilter", "Intermediate", "Suction"]
    assert [t.name for t in others] == ["Reserve 1", "Pill", "Trip tank"]


def test_a_tank_says_its_volume_level_and_age(page):
    show(page, quiet())
    drawing = next(d for d in page.tanks.drawings if d.name == "Suction")
    assert drawing.readings() == ("Suction", "226.2 bbl", "5' 3 1/2\"", "10 min")
    assert "Stick 5' 3 1/2\"; 5' 3 1/2\" above the bottom" in drawing.details()
    assert "high limit at 8' 4\" above the bottom" in drawing.details()
    assert page.tanks.headings() == ("Active, from the shaker to the suction", "Not lined up")


@pytest.mark.parametrize(("changes", "stick", "before"), [
    ({"gauge": "down", "mark_m": 108 * IN}, "3' 8 1/2\"", "3' 6 1/2\""),  # 108 − 63 1/2, and 108 − 65 1/2
    ({"offset_m": 6 * IN}, "4' 9 1/2\"", "4' 11 1/2\""),                 # 63 1/2 − 6, and 65 1/2 − 6
])
def test_a_tank_says_what_its_stick_says_as_the_round_and_the_dip_sheet_do(qtbot, changes, stick, before):
    drawing = TankDrawing(Look())
    qtbot.addWidget(drawing)
    view = next(t for t in tanks(Suction={"previous_level_m": 65.5 * IN}) if t.name == "Suction")
    drawing.show_tank(view, replace(RIG.tank("Suction"), **changes), UNITS)
    assert drawing.readings()[2] == stick
    details = drawing.details()
    assert f"Stick {stick}; 5' 3 1/2\" above the bottom" in details
    assert f"Before: {before} at {UNITS.time(view.previous_t_ms)}" in details
    assert "high limit at 8' 4\" above the bottom" in details, "limits are heights, whatever the stick says"


def test_a_stick_that_couldnt_be_read_says_no_level(qtbot):
    drawing = TankDrawing(Look())
    qtbot.addWidget(drawing)
    view = next(t for t in tanks(Suction={"flag": "over brim"}) if t.name == "Suction")
    drawing.show_tank(view, RIG.tank("Suction"), UNITS)
    assert drawing.readings()[1:] == ("≥ 226.2 bbl", "", "over brim"), "at least that: how much more nobody knows"
    assert not any("Stick" in line for line in drawing.details())


@pytest.mark.parametrize(("changes", "words"), [
    ({"held": True, "stale": True, "age_ms": 72 * MIN}, "held, 1 h 12 min"),
    ({"stale": True, "age_ms": 40 * MIN}, "old, 40 min"),
    ({"flag": "above the brim"}, "above the brim"),
])
def test_doubtful_tanks_say_so_and_look_it(qtbot, changes, words):
    pictures = []
    for change in ({}, changes):
        drawing = TankDrawing(Look())
        qtbot.addWidget(drawing)
        drawing.resize(120, 200)
        drawing.set_scale(30.0)
        view = next(t for t in tanks(Suction=change) if t.name == "Suction")
        drawing.show_tank(view, RIG.tank("Suction"), UNITS)
        pictures.append(drawing.grab().toImage())
        last = drawing.readings()[3]
    assert last == words
    bottom = 200 - round(TankDrawing.text_height(Look())) - 14
    fresh = {pictures[0].pixelColor(x, bottom).name() for x in range(40, 80)}
    doubtful = {pictures[1].pixelColor(x, bottom).name() for x in range(40, 80)}
    assert fresh == {DAY.mud.lower()}
    assert DAY.mud.lower() not in doubtful
    assert len(doubtful) > 1, "hatched"


def test_a_tanks_age_is_read_where_there_is_little_room(qtbot):
    drawing = TankDrawing(Look())
    qtbot.addWidget(drawing)
    font, shown = drawing._fitting(Look().font(12, bold=True), "78 3/4 in, held, 1 h 12 min", 96, whole="held, 1 h 12 min")
    assert shown == "held, 1 h 12 min"
    assert QFontMetricsF(font).horizontalAdvance(shown) <= 96


def test_with_two_tanks_their_words_stand_beside_the_pictures(qtbot):
    few = replace(RIG, tanks=RIG.tanks[:2])
    field = TankField(Look())
    qtbot.addWidget(field)
    field.resize(660, 260)
    field.show()
    field.show_tanks(quiet().tanks[:2], few, UNITS)
    for drawing in field.drawings:
        left = drawing.width() - drawing._beside if drawing._beside else drawing.width()
        drawn = width_m(drawing._tank.shape, drawing._tank.top_m) * drawing._scale
        assert (left - drawn) / 2 <= 60, "a name far from its picture is somebody else's"


def test_a_tank_never_gauged_is_drawn_empty_and_says_so(page):
    show(page, no_zero())
    drawing = next(d for d in page.tanks.drawings if d.name == "Suction")
    assert drawing.readings() == ("Suction", "not gauged yet", "", "")


def test_the_cross_sections_are_true():
    assert width_m(Box(30 * FT, 8 * FT, 9 * FT), 9 * FT) == pytest.approx(8 * FT)
    assert width_m(VerticalCylinder(5 * FT, 12 * FT), 12 * FT) == pytest.approx(5 * FT)
    # A strapped tank of constant 4 m2 is drawn 2 m wide.
    assert sections(Strapping((0.0, 1.0, 2.0), (0.0, 4.0, 8.0)), 2.0)[0].points[0] == (1.0, 0.0)
    # Twice the area per level above 1 m: √2 times as wide there.
    stepped = sections(Strapping((0.0, 1.0, 2.0), (0.0, 4.0, 12.0)), 2.0)[0].points
    assert stepped[-1][0] / stepped[0][0] == pytest.approx(2**0.5)


def test_the_level_is_drawn_to_scale(qtbot):
    drawing = TankDrawing(Look())
    qtbot.addWidget(drawing)
    drawing.resize(160, 200)
    drawing.set_scale(40.0)
    view = replace(next(t for t in tanks() if t.name == "Settling"), previous_level_m=None)
    drawing.show_tank(view, RIG.tank("Settling"), UNITS)
    image = drawing.grab().toImage()
    column = [image.pixelColor(80, y).name() for y in range(200 - round(TankDrawing.text_height(Look())) - 5)]
    mud = sum(1 for name in column if name == DAY.mud.lower())
    assert mud == pytest.approx(71 * IN * 40.0, abs=4)


# --- the trend --------------------------------------------------------------------------------------------------


def test_the_trend_reads_the_nearest_reading_and_what_was_entered_about_then(page):
    show(page, quiet())
    t = quiet().trend
    text = page.plot.read_at(int(t.t_ms[5]) + 3 * MIN)
    assert text.startswith(f"{UNITS.time_near(int(t.t_ms[5]), NOW_MS)}  actual {UNITS.volume_number(t.actual[5])}")
    assert "Transfer Reserve 1 to Suction 24 bbl" in text
    assert page.plot.read_out == text


@pytest.mark.parametrize("height", [40, 64, 120, 300, 600])
@pytest.mark.parametrize(("low", "high"), [(-31.0, 46.0), (496.0, 583.0), (-0.3, 0.2), (0.0, 9000.0)])
def test_an_axis_numbers_stand_apart_and_whole(qapp, height, low, high):
    axis = VolumeAxis()
    axis.setTickFont(Look().font(12))
    line = QFontMetricsF(Look().font(12)).height()
    ((step, values),) = axis.tickValues(low, high, height)
    at = [(v - low) / (high - low) * height for v in values]
    assert all(b - a >= line for a, b in itertools.pairwise(at)), "none over another"
    assert all(line / 2 - 1e-6 <= y <= height - line / 2 + 1e-6 for y in at), "none half over the end"
    assert step > 0


def test_the_first_paint_of_the_trend_is_like_the_next(page):
    page.resize(1190, 654)
    show(page, raised())
    page.plot.grab()
    first = [(word.toPlainText(), word.pos()) for _, word in page.plot._words]
    page.plot._draw()
    assert [(word.toPlainText(), word.pos()) for _, word in page.plot._words] == first


def test_the_arrow_keys_read_the_trend(page, qtbot):
    show(page, quiet())
    t = quiet().trend
    qtbot.keyClick(page.plot, Qt.Key.Key_Left)
    assert page.plot.read_out.startswith(UNITS.time_near(int(t.t_ms[-1]), NOW_MS))
    qtbot.keyClick(page.plot, Qt.Key.Key_Left)
    assert page.plot.read_out.startswith(UNITS.time_near(int(t.t_ms[-2]), NOW_MS))
    qtbot.keyClick(page.plot, Qt.Key.Key_Right)
    assert page.plot.read_out.startswith(UNITS.time_near(int(t.t_ms[-1]), NOW_MS))


def test_twelve_hours_of_seconds_are_drawn_with_at_most_two_points_a_pixel(page):
    n = 43_200
    t = NOW_MS - np.arange(n)[::-1] * 1000
    d = np.zeros(n)
    d[-1] = 4 * BBL
    long = replace(trend(), t_ms=t, actual=d + 100, expected=d * 0 + 100, difference=d, u=d * 0 + 0.1,
                   partial=np.zeros(n, dtype=bool))
    show(page, quiet(trend=long))
    assert 100 < page.plot.shown_points() <= 2 * page.plot.width() + 3


def test_the_trend_survives_a_reading_that_is_unknown(page):
    blank = np.array([np.nan])
    one = replace(trend(), t_ms=np.array([NOW_MS]), actual=blank, expected=blank, difference=blank, u=blank,
                  partial=np.array([True]))
    show(page, quiet(trend=one))
    assert "difference unknown" in page.plot.read_at(NOW_MS)


@pytest.mark.parametrize("hours", [0.4, 3, 12, 40])
def test_time_marks_are_round_times_on_the_rigs_clock(hours):
    step, places = ticks(0.0, hours * 3600, 600.0, NOW_MS - 7 * MIN, UNITS)
    assert 1 <= len(places) <= 9
    for place in places:
        local = UNITS.local(NOW_MS - 7 * MIN + round(place * 1000))
        assert (local.hour * 3600 + local.minute * 60 + local.second) % min(step, 86_400) == 0
        assert 0 <= place <= hours * 3600


@pytest.mark.parametrize(("day", "offsets"), [("2026-03-06", (6, 5)), ("2026-10-30", (5, 6))])
def test_time_marks_stay_round_over_a_change_of_the_clocks(day, offsets):
    """America/Chicago: 8 March 02:00 → 03:00, 1 November 02:00 → 01:00 (US rules: second Sunday of March, first of November)."""
    units = DisplayUnits(replace(RIG, zone="America/Chicago"))
    start = round(datetime.fromisoformat(f"{day}T00:00:00-0{offsets[0]}:00").timestamp() * 1000)
    step, places = ticks(0.0, 5 * 86_400, 1000.0, start, units)
    clocks = [units.local(start + round(p * 1000)) for p in places]
    assert step == 43_200
    assert {(x.hour, x.minute) for x in clocks} == {(0, 0), (12, 0)}
    assert len(clocks) == (11 if offsets[1] < offsets[0] else 10)
    assert {x.utcoffset().total_seconds() / -3600 for x in clocks} == set(offsets)
    _, hours = ticks(86_400.0 * 2, 86_400.0 * 2 + 5 * 3600, 1000.0, start, units)
    assert len(hours) == len({*hours})


def test_the_page_takes_the_night(page):
    show(page, raised())
    night = Look(NIGHT)
    page.setStyleSheet(stylesheet(night))
    for child in page.findChildren(QWidget):
        if hasattr(child, "set_look"):
            child.set_look(night)
    image = page.grab().toImage()
    lights = [luminance(image.pixelColor(x, y).name()) for x in range(0, image.width(), 5)
              for y in range(0, image.height(), 5)]
    # Our own measure: the whole page gives less than a twentieth of a white one's light.
    assert sum(lights) / len(lights) < 0.05
