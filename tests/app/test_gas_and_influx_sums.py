"""The sums for gas and for a well shut in: in the real window on a real log by keyboard alone, and each on its form.

Everything is invented. What they come to is a remark: nothing is booked, and nothing is said of killing the well.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import pi
from pathlib import Path

import pytest
from desks import MIN, NOW, RecordingDesk
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot
from real_desks import Bench, Hands, bench, make_log, rig_text

from builders import BBL, BBL_FT, FT, IN, METRIC_UNITS, OILFIELD_UNITS, two_box_rig
from dipbook.entries.kinds import BY_NAME
from dipbook.well import Hole, Part, Section, String, Survey
from dipbook_app.calculators import OF_KIND
from dipbook_app.drafts import Drafts
from dipbook_app.forms.entry_form import EntryForm
from dipbook_app.forms.work_out import WorkOut
from dipbook_app.pages.log import LogPage
from dipbook_app.preferences import PreferencesFile
from dipbook_app.sound import Sound
from dipbook_app.window import Window

SHIFT = Qt.KeyboardModifier.ShiftModifier
UNITS = {**OILFIELD_UNITS, "pressure": "psi"}
SECTIONS = Hole((Section("casing", "casing", 0.0, 5000 * FT, 9.625 * IN),
                 Section("open hole", "open hole", 5000 * FT, 9000 * FT, 8.5 * IN)))
STRING = String((Part("collars", "collar", 0.0340 * BBL_FT, 0.0077 * BBL_FT, 600 * FT),
                 Part("drill pipe", "drill pipe", 0.0066 * BBL_FT, 0.01776 * BBL_FT)))
OPEN = pi / 4 * 8.5**2 * 12 / (42 * 231)
COLLARS, PIPE = OPEN - 0.0417, OPEN - 0.02436
"""What a foot of open hole holds, and of the annulus round collars and pipe [bbl/ft]: 0.07019, 0.02849 and 0.04583."""
NOTHING_OF_KILLING = ("kill", "slow pump", "initial circulating", "final circulating", "weight needed", "maasp")


# --- in the real window


@pytest.fixture
def on_a_log(tmp_path: Path, qapp: object) -> Iterator[Bench]:
    with bench(make_log(tmp_path / "log.dipbook", rig_text()), Hands()) as made:
        made.desk.set_on_watch("R. Moe")
        made.round()
        yield made


@pytest.fixture
def window(on_a_log: Bench, tmp_path: Path, qtbot: QtBot) -> Iterator[Window]:
    log = LogPage(on_a_log.desk, Drafts(on_a_log.desk.drafts_path, on_a_log.desk))
    made = Window(on_a_log.desk, PreferencesFile(tmp_path / "p.json"), {"Log": log}, sound=Sound(commands=(), windows=False))
    qtbot.addWidget(made)
    made.resize(1280, 800)
    made.show()
    made.show_page("Log")
    made.activateWindow()
    QApplication.processEvents()
    yield made
    log.running._timer.stop()
    made.take(None, {})
    made.close()


def open_kind(window: Window, kind: str) -> EntryForm:
    """By F6, a word and Enter, as a person does."""
    window.act("entry")
    panel_ = window._pages["Log"].panel
    assert panel_.chooser is not None
    QTest.keyClicks(panel_.chooser.word, kind)
    QTest.keyClick(panel_.chooser.word, Qt.Key.Key_Return)
    form = panel_.form
    assert isinstance(form, EntryForm)
    QApplication.processEvents()
    return form


def test_a_well_shut_in_gets_its_remark_by_keyboard_and_nothing_else_changes(window: Window, on_a_log: Bench) -> None:
    # 20 bbl in 0.05 bbl/ft: 400 ft. A lb/gal is 12/231 psi/ft, 20.779 psi over them: 15 − 264/20.779 = 2.295 lb/gal.
    before = on_a_log.situation
    form = open_kind(window, "well shut in")
    assert form.kind.name == "shut-in"
    assert form.work_out_button.isVisible()
    assert form.work_out_button.text() == "Work out what came in: F3"
    for name, text in (("gain", "20"), ("pipe pressure", "780 psi"), ("casing pressure", "1044 psi")):
        form.field(name).set_text(text)
    press(form, Qt.Key.Key_F3)
    assert [panel(form).row(name).text() for name in ("gain", "pipe", "casing")] == ["20", "780 psi", "1044 psi"]
    assert here(form) is panel(form).row("mud").editor, "the first blank one"
    key_in(form, "15", "0.05 bbl/ft")
    assert said(form).startswith("Stands 400.0 ft up the annulus. By the pressures it would weigh 2.3 lb/gal, 0.12 psi/ft,")
    press(form, Qt.Key.Key_Return)
    assert panel(form).isHidden()
    remark = form.field("remark").text()
    assert remark == ("What came in, worked out as it was read and not booked: 20.0 bbl stands 400.0 ft up the annulus; with "
                      "780 psi on the pipe, 1044 psi on the casing and mud of 15.00 lb/gal it would weigh 2.3 lb/gal, 0.12 psi/ft")
    assert not [r for r in on_a_log.situation.records if r.kind == "shut-in"], "Enter has taken it over and saved nothing"
    press(form, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    saved = on_a_log.last_of("shut-in").payload
    assert saved["remark"] == remark
    assert {key for key in saved if key not in ("typed", "state", "remark", "end_ms")} == {"gain_m3", "pipe_pressure_pa", "casing_pressure_pa"}
    assert saved["gain_m3"] == pytest.approx(20 * BBL)
    now = on_a_log.situation
    assert now.expected_m3 == pytest.approx(before.expected_m3)
    assert now.difference_m3 == pytest.approx(before.difference_m3)


@pytest.mark.parametrize(("turns", "typed", "words"), [
    (2, ("10", "50", "", "5000"), "Gas-cut, worked out and not booked: 50.0 % gas at surface, if spread evenly all the way down, "
                                  "takes 75.7 psi of 2597 psi at 5000.0 ft, mud 10.00 lb/gal"),
    (3, ("1", "10", "", "2985.3 psi", "", "", ""), "Gas, worked out and not booked: 1.00 bbl at 2985 psi, would be 204.1 bbl at "
                                                   "surface, by Boyle's law")])
def test_gas_gets_its_remark_by_keyboard_and_nothing_else_changes(window: Window, on_a_log: Bench, turns: int,
                                                                  typed: tuple[str, ...], words: str) -> None:
    # 14.7 ln(p/14.7) of 2597 psi; (2985.3 + 14.696)/14.696 = 204.1 volumes.
    before = on_a_log.situation
    form = open_kind(window, "gas")
    form.field("gas").set_text("2.5")
    for _ in range(turns):
        press(form, Qt.Key.Key_F3)
    key_in(form, *typed)
    press(form, Qt.Key.Key_Return)
    assert panel(form).isHidden()
    assert form.field("remark").text() == words
    form.save()
    saved = on_a_log.last_of("gas").payload
    assert {key: value for key, value in saved.items() if key not in ("typed", "end_ms")} == {"gas_percent": 2.5, "remark": words}
    now = on_a_log.situation
    assert now.expected_m3 == pytest.approx(before.expected_m3)
    assert now.difference_m3 == pytest.approx(before.difference_m3)
    assert now.warnings == before.warnings


# --- on the form


@pytest.fixture
def desk(tmp_path: Path, qapp: object) -> RecordingDesk:
    made = RecordingDesk(tmp_path / "d.json")
    made.rig = two_box_rig(units=UNITS)
    made.show()
    return made


def opened(desk: RecordingDesk, kind: str, qtbot: QtBot, turns: int = 1) -> EntryForm:
    """A form with its sum of a place open."""
    form = EntryForm(desk, BY_NAME[kind])  # type: ignore[arg-type]
    qtbot.addWidget(form)
    form.resize(420, 700)
    form.show()
    form.start()
    for _ in range(turns):
        press(form, Qt.Key.Key_F3)
    return form


def panel(form: EntryForm) -> WorkOut:
    assert form.work_out is not None
    return form.work_out


def here(form: EntryForm) -> QWidget:
    widget = form.focusWidget()
    assert widget is not None
    return widget


def press(form: EntryForm, key: Qt.Key, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
    QTest.keyClick(here(form), key, modifier)


def key_in(form: EntryForm, *texts: str) -> None:
    for n, text in enumerate(texts):
        if n:
            press(form, Qt.Key.Key_Return)
        if text:
            QTest.keyClicks(here(form), text)


def fill(form: EntryForm, **texts: str) -> None:
    for name, text in texts.items():
        panel(form).row(name.rstrip("_")).set_text(text)


def said(form: EntryForm) -> str:
    return f"{panel(form).first.text()}. {panel(form).rest.said}"


def shut_in(desk: RecordingDesk, qtbot: QtBot, **texts: str) -> EntryForm:
    form = opened(desk, "shut-in", qtbot)
    fill(form, **texts)
    return form


def described(desk: RecordingDesk, hole_ft: float | None = 9000, bit_ft: float | None = 9000, survey: Survey | None = None) -> None:
    desk.rig = replace(two_box_rig(units=UNITS), sections=SECTIONS, string=STRING, survey=survey)
    desk.show(hole_depth_m=None if hole_ft is None else hole_ft * FT, bit_depth_m=None if bit_ft is None else bit_ft * FT,
              depth_t_ms=NOW - 15 * MIN)


def test_every_sum_of_gas_and_of_a_well_shut_in_hands_over_a_remark_alone() -> None:
    assert [each.name for each in OF_KIND["gas"]] == ["Gas-cut", "Head lost", "Bubble"]
    assert [each.name for each in OF_KIND["shut-in"]] == ["What came in"]


@pytest.mark.parametrize(("kind", "turns", "typed"), [
    ("gas", 2, {"mud": "10", "share": "50", "depth": "5000"}), ("gas", 3, {"gas": "1", "mud": "10", "depth": "9000"}),
    ("shut-in", 1, {"gain": "20", "pipe": "300", "casing": "400", "mud": "12", "annulus": "0.05 bbl/ft"})])
def test_only_the_remark_is_filled_in_what_stood_there_stays_and_nothing_is_said_of_killing(
        desk: RecordingDesk, qtbot: QtBot, kind: str, turns: int, typed: dict[str, str]) -> None:
    form = opened(desk, kind, qtbot, turns)
    form.field("remark").set_text("Degasser on.")
    before = form.texts()
    fill(form, **typed)
    words = f"{said(form)} {panel(form).help.text()}".casefold()
    assert "the rig's own" in words
    assert "nothing is booked" in words
    press(form, Qt.Key.Key_F3, SHIFT)
    after = form.texts()
    assert after.pop("remark").startswith("Degasser on; ")
    before.pop("remark")
    assert after == before
    whole = f"{words} {form.field('remark').text()}".casefold()
    assert [word for word in NOTHING_OF_KILLING if word in whole] == []


def test_a_gain_goes_round_the_collars_by_hole_and_string(desk: RecordingDesk, qtbot: QtBot) -> None:
    # Bit at 9000 ft on bottom. 600 ft round the collars hold 17.09 bbl; the other 2.91 bbl stand 2.91/0.04583 = 63.5 ft: 663.5 ft.
    # 10 − 200 × 231/(12 × 663.5) = 4.197 lb/gal, 0.218 psi/ft. 10 psi: 0.290 lb/gal; a tenth of 5.803.
    high = 600 + (20 - 600 * COLLARS) / PIPE
    weight = 10 - 200 * 231 / (12 * high)
    described(desk)
    form = shut_in(desk, qtbot, gain="20", pipe="300", casing="500", mud="10")
    assert (high, weight) == pytest.approx((663.47, 4.197), abs=0.005)
    assert said(form) == (
        "Stands 663.5 ft up the annulus. By the pressures it would weigh 4.2 lb/gal, 0.22 psi/ft, if they are at rest and no float "
        "is in the way. 10 psi between them counts 0.3 lb/gal, a tenth of the gain 0.6 lb/gal. One piece from 9000.0 ft up "
        "by hole and string, bit at 9000.0 ft as logged 02:00; vertical hole. The rig's own procedures come first.")


def test_pipe_without_collars_is_said_to_be_that(desk: RecordingDesk, qtbot: QtBot) -> None:
    # Steel 0.00759 and bore 0.01776: 20 bbl in 0.07019 − 0.02535 bbl/ft are 446.0 ft; with the collars they would be 663.5 ft.
    described(desk)
    desk.rig = replace(desk.rig, string=None)
    desk.show()
    form = shut_in(desk, qtbot, gain="20")
    assert said(form).startswith(f"Stands {20 / (OPEN - 0.02535):.1f} ft up the annulus.")
    assert "by hole and drill pipe alone, no collars described, bit at 9000.0 ft" in said(form)


def test_what_stands_below_the_bit_counts_for_the_height_and_not_for_the_weight(desk: RecordingDesk, qtbot: QtBot) -> None:
    # 100 ft of open hole below the bit hold 7.02 bbl; 12.98 bbl round the collars are 455.7 ft: 555.7 ft of gain.
    described(desk, hole_ft=9000, bit_ft=8900)
    above = (20 - 100 * OPEN) / COLLARS
    form = shut_in(desk, qtbot, gain="20", pipe="300", casing="400", mud="10")
    assert above == pytest.approx(455.7, abs=0.2)
    assert said(form).startswith(f"Stands {100 + above:.1f} ft up the annulus. By the pressures it would weigh 5.8 lb/gal,")
    assert 10 - 100 * 231 / (12 * above) == pytest.approx(5.78, abs=0.01)
    fill(form, gain="5")
    assert "All of it is below the bit: the pressures tell nothing of its weight." in said(form)
    assert "would weigh" not in said(form)


def test_in_a_well_that_goes_sideways_the_weight_goes_by_the_vertical(desk: RecordingDesk, qtbot: QtBot) -> None:
    # From 5000 ft on half as deep as long: the 663.5 ft are 331.7 ft high. 10 − 100 × 231/(12 × 331.7) = 4.197 lb/gal.
    described(desk, survey=Survey((0.0, 5000 * FT, 12_000 * FT), (0.0, 5000 * FT, 8500 * FT)))
    form = shut_in(desk, qtbot, gain="20", pipe="300", casing="400", mud="10")
    assert said(form).startswith("Stands 663.5 ft up the annulus. By the pressures it would weigh 4.2 lb/gal,")
    assert "vertical hole" not in said(form)
    fill(form, annulus="0.05 bbl/ft")
    # 400 ft long, 200 ft high: 10 − 100 × 231/2400 = 0.375 lb/gal.
    assert "weigh 0.4 lb/gal" in said(form)
    desk.rig = replace(desk.rig, survey=Survey((0.0, 5000 * FT, 8000 * FT), (0.0, 5000 * FT, 6500 * FT)))
    desk.show()
    short = shut_in(desk, qtbot, gain="20", pipe="300", casing="400", mud="10")
    assert "Its height isn't known below the survey: the pressures tell nothing of its weight." in said(short)


def test_the_height_alone_comes_without_pressures_and_says_what_its_weight_would_take(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = shut_in(desk, qtbot, gain="20", annulus="0.02914 bbl/ft")
    assert said(form) == ("Stands 686.3 ft up the annulus. For what it weighs: drill-pipe pressure, casing pressure and mud weight. "
                          "One piece from the bit up in 0.02914 bbl/ft; vertical hole. The rig's own procedures come first.")
    press(form, Qt.Key.Key_F3, SHIFT)
    assert form.field("remark").text() == ("What came in, worked out as it was read and not booked: 20.0 bbl stands 686.3 ft up the "
                                           "annulus")


def test_what_it_stands_in_is_asked_for_where_nobody_described_it(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = shut_in(desk, qtbot, gain="20")
    assert said(form) == "No answer yet. Still wanted: Annulus, if of one size."
    assert panel(form).row("annulus").editor.placeholderText() == "like 0.0292 bbl/ft"
    described(desk, bit_ft=None)
    form = shut_in(desk, qtbot, gain="20")
    assert said(form) == "No answer yet. Still wanted: Bit depth then."
    assert panel(form).row("annulus").editor.placeholderText() == "blank: by hole and string"
    fill(form, bit="9000")
    assert said(form).startswith("Stands 663.5 ft up the annulus.")
    described(desk, hole_ft=None)
    on_bottom = shut_in(desk, qtbot, gain="20")
    assert "One piece from 9000.0 ft up" in said(on_bottom), "the bit counts as on bottom, and it says so"


@pytest.mark.parametrize(("kind", "turns", "typed", "field", "words"), [
    ("shut-in", 1, {"gain": "20", "annulus": "0.05"}, "annulus", "has no unit"),
    ("shut-in", 1, {"gain": "20", "annulus": "5 in"}, "annulus", "a volume per length is wanted"),
    ("shut-in", 1, {"gain": "0", "annulus": "0.05 bbl/ft"}, "gain", "more than nothing"),
    ("shut-in", 1, {"gain": "20", "annulus": "0 bbl/ft"}, "annulus", "as wide as the hole"),
    ("shut-in", 1, {"gain": "20", "annulus": "0.05 bbl/ft", "pipe": "0", "casing": "900", "mud": "10"}, "casing",
     "less than nothing"),
    ("shut-in", 1, {"gain": "20", "annulus": "0.05 bbl/ft", "pipe": "300", "casing": "400", "mud": "0"}, "mud", "more than nothing"),
    ("gas", 2, {"mud": "10", "share": "50", "cut": "9", "depth": "5000"}, "cut", "not both"),
    ("gas", 2, {"mud": "10", "share": "100", "depth": "5000"}, "share", "less than all of it"),
    ("gas", 2, {"mud": "10", "cut": "11", "depth": "5000"}, "cut", "check which is which"),
    ("gas", 2, {"mud": "10", "share": "50", "depth": "0"}, "depth", "more than nothing"),
    ("gas", 2, {"mud": "0", "share": "50", "depth": "5000"}, "mud", "more than nothing"),
    ("gas", 3, {"gas": "1", "mud": "10", "depth": "9000", "from": "3000"}, "from", "not both"),
    ("gas", 3, {"gas": "0", "mud": "10", "depth": "9000"}, "gas", "more than nothing"),
    ("gas", 3, {"gas": "1", "mud": "0", "depth": "9000"}, "mud", "more than nothing"),
    ("gas", 3, {"gas": "1", "mud": "10", "depth": "9000", "z_from": "0"}, "z_from", "more than nothing"),
    ("gas", 3, {"gas": "1", "mud": "10", "depth": "9000", "z_to": "1 psi"}, "z_to", "without a unit")])
def test_what_cant_be_is_said_at_its_field_and_nothing_is_taken_over(
        desk: RecordingDesk, qtbot: QtBot, kind: str, turns: int, typed: dict[str, str], field: str, words: str) -> None:
    form = opened(desk, kind, qtbot, turns)
    before = form.texts()
    fill(form, **typed)
    assert panel(form).first.text() == "No answer"
    assert words in panel(form).rest.said
    press(form, Qt.Key.Key_F3, SHIFT)
    assert panel(form).row(field).words.tone == "error"
    assert words in panel(form).row(field).words.said
    assert form.texts() == before


@pytest.mark.parametrize(("hole_ft", "bit", "words"), [(9000, "9500", "must be in the hole"), (None, "4900", ""),
                                                       (4000, "9000", "must be in the hole")])
def test_a_bit_that_isnt_in_the_hole_is_said_at_its_field(desk: RecordingDesk, qtbot: QtBot, hole_ft: float | None, bit: str,
                                                          words: str) -> None:
    described(desk, hole_ft=hole_ft)
    form = shut_in(desk, qtbot, gain="20", bit=bit)
    press(form, Qt.Key.Key_F3, SHIFT)
    if words:
        assert words in panel(form).row("bit").words.said
        assert form.field("remark").text() == ""
    else:
        assert form.field("remark").text().startswith("What came in")


def test_what_is_wanted_is_said_and_mud_is_wanted_where_a_depth_is_given(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "gas", qtbot, 2)
    assert said(form) == "No answer yet. Still wanted: Weight without gas; Gas in it, by volume; Vertical depth."
    press(form, Qt.Key.Key_F3)
    assert said(form) == "No answer yet. Still wanted: Gas, there; Vertical depth there."
    fill(form, gas="1", depth="9000")
    assert said(form) == "No answer yet. Still wanted: Mud weight."
    fill(form, depth="", from_="3000")
    assert panel(form).answer.lines
    fill(form, to="1000")
    assert said(form) == "No answer yet. Still wanted: Mud weight."


def test_a_bubble_on_its_way_and_with_its_factors(desk: RecordingDesk, qtbot: QtBot) -> None:
    # 10 lb/gal: 10 000 ft are 5194.8 psi, 2000 ft 1039.0 psi, and 14.696 each: 5209.5/1053.7 = 4.944 volumes; with z 1.1 there
    # and 0.85 then × 0.7727 = 3.820.
    form = opened(desk, "gas", qtbot, 3)
    fill(form, gas="10", mud="10", depth="10000", to="2000")
    assert said(form).startswith("49.4 bbl at 2000.0 ft. From 5195 psi to 1039 psi by gauge, by Boyle's law, at one temperature")
    fill(form, z_from="1.1", z_to="0.85")
    assert said(form).startswith("38.2 bbl at 2000.0 ft. From 5195 psi to 1039 psi by gauge, with z 1.1 there and 0.85 then")
    assert "seldom" not in said(form)
    fill(form, z_to="85")
    assert "Is z 85? It seldom is so far from 1." in said(form), "a slip is asked about, and nobody is stopped"


def test_a_sum_s_own_gas_isnt_the_mud_of_the_next(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "gas", qtbot)
    fill(form, mud="10", share="25", volume="500")
    press(form, Qt.Key.Key_F3)
    assert [panel(form).row(name).text() for name in ("mud", "share", "depth")] == ["10", "25", ""]
    press(form, Qt.Key.Key_F3)
    assert panel(form).calculator.name == "Bubble"
    assert panel(form).row("gas").text() == "", "the gas reading and the mud's volume are no bubble"
    assert panel(form).row("mud").text() == "10"


def test_the_gas_reading_is_asked_for_where_it_isnt_given(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "gas", qtbot, 2)
    fill(form, mud="10", share="50", depth="5000")
    assert said(form).endswith("To save it, give the gas reading too.")


def test_a_metric_rig_with_a_comma_reads_and_writes_its_own_units(desk: RecordingDesk, qtbot: QtBot) -> None:
    # 3.2 m3 in 20 L/m: 160 m. 1800 − 1 820 000/(9.80665 × 160) = 640.1 kg/m3, 6.28 kPa/m. 100 kPa: 63.7 kg/m3.
    desk.rig = two_box_rig(units={**METRIC_UNITS, "pressure": "kPa"}, decimal=",")
    desk.show()
    form = shut_in(desk, qtbot, gain="3,2", pipe="5380", casing="7200", mud="1800", annulus="20 L/m")
    assert said(form).startswith("Stands 160,00 m up the annulus. By the pressures it would weigh 640 kg/m³, 6,3 kPa/m, if")
    assert "100 kPa between them counts 64 kg/m³, a tenth of the gain 116 kg/m³." in said(form)
    gas = opened(desk, "gas", qtbot, 2)
    fill(gas, mud="1200", share="50", depth="1500")
    # p of (p − p0) + p0 ln(p/p0) = 17 652 kPa: 17 233 kPa, and 101.325 ln(17 233/101.325) = 520.4 kPa less.
    assert said(gas).startswith("520 kPa less at 1500,00 m. 2,9 % of 17652 kPa")
    press(gas, Qt.Key.Key_F3)
    fill(gas, gas="1", z_from="0,9")
    assert "with z 0,9 there and 1 then" in said(gas)


def test_a_rig_without_a_unit_of_pressure_wants_it_written(desk: RecordingDesk, qtbot: QtBot) -> None:
    desk.rig = two_box_rig()
    desk.show()
    form = shut_in(desk, qtbot, gain="20", pipe="300", annulus="0.05 bbl/ft")
    assert "has no unit" in said(form)
    fill(form, pipe="300 psi", casing="400 psi", mud="12")
    assert "100 kPa between them" in said(form)
    assert panel(form).answer.lines


def test_the_weight_taken_over_is_the_balance_of_two_columns(desk: RecordingDesk, qtbot: QtBot) -> None:
    """From the other side: pressures made by a column of known weight give that weight back."""
    came_in, mud, high = 2.5, 12.0, 400.0
    casing = 200 + (mud - came_in) * 12 / 231 * high
    form = shut_in(desk, qtbot, gain="20", pipe="200", casing=f"{casing:.6f}", mud="12", annulus="0.05 bbl/ft")
    assert "would weigh 2.5 lb/gal, 0.13 psi/ft" in said(form)
