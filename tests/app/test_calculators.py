"""The calculators in the entry forms, by keyboard alone on the real form, and what they hand to the entry."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from desks import MIN, NOW, RecordingDesk
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox, QWidget
from pytestqt.qtbot import QtBot

from builders import BBL, BBL_FT, FT, METRIC_UNITS, OILFIELD_UNITS, two_box_rig
from dipbook.entries.kinds import BY_NAME
from dipbook.quantities import from_unit
from dipbook.well import Part, String
from dipbook_app.calculators import ASKS, OF_KIND
from dipbook_app.drafts import Drafts
from dipbook_app.forms.entry_form import EntryForm
from dipbook_app.forms.work_out import WorkOut
from dipbook_app.stylesheet import stylesheet
from dipbook_app.theme import DAY, NIGHT, TEXT_SIZES, Look

SHIFT = Qt.KeyboardModifier.ShiftModifier
PPG = from_unit(1.0, "lbm/gal[US]")
STRING = String((Part("collars", "collar", 0.0545 * BBL_FT, 0.00768 * BBL_FT, 600 * FT),
                 Part("heavy-weight", "heavy-weight", 0.01795 * BBL_FT, 0.00874 * BBL_FT, 900 * FT),
                 Part("drill pipe", "drill pipe", 0.00759 * BBL_FT, 0.01776 * BBL_FT)))
"""Invented, of catalogue sizes."""


@pytest.fixture
def desk(tmp_path: Path, qapp: object) -> RecordingDesk:
    return RecordingDesk(tmp_path / "d.json")


def opened(desk: RecordingDesk, kind: str, qtbot: QtBot, **other: object) -> EntryForm:
    form = EntryForm(desk, BY_NAME[kind], **other)  # type: ignore[arg-type]
    qtbot.addWidget(form)
    form.resize(420, 700)
    form.show()
    form.start()
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
    """Each text, and Enter but after the last."""
    for n, text in enumerate(texts):
        if n:
            press(form, Qt.Key.Key_Return)
        if text:
            QTest.keyClicks(here(form), text)


def said(form: EntryForm) -> str:
    return f"{panel(form).first.text()}. {panel(form).rest.said}"


def test_only_the_forms_that_have_a_sum_say_so_and_f3_does_nothing_in_the_others(desk: RecordingDesk, qtbot: QtBot) -> None:
    assert set(ASKS) == set(OF_KIND)
    for kind in ("transfer", "salt", "depth"):
        form = opened(desk, kind, qtbot)
        assert form.work_out is None
        before = form.texts()
        press(form, Qt.Key.Key_F3)
        assert form.texts() == before
    for kind, words in ASKS.items():
        form = opened(desk, kind, qtbot)
        assert form.work_out_button.text() == f"{words}: F3"
        assert form.work_out_button.isVisible()
        assert panel(form).isHidden()
        assert panel(form).foot.isHidden()


def test_a_slug_is_worked_out_and_taken_over_with_the_keyboard_alone(desk: RecordingDesk, qtbot: QtBot) -> None:
    # 200 ft × 0.01776 bbl/ft × 10/(11.5 − 10) = 23.68 bbl; 200 × 0.01776 = 3.552 bbl come back.
    form = opened(desk, "slug", qtbot)
    press(form, Qt.Key.Key_F3)
    key_in(form, "10", "11.5", "200", "")
    assert said(form) == ("Slug needed: 23.7 bbl. Dries 200.0 ft. 3.55 bbl more comes back than is pumped. By the drill "
                          "pipe's bore, 0.01776 bbl/ft; vertical pipe.")
    assert form.texts().keys() == {"time", "by"}, "nothing is filled in before it is asked for"
    press(form, Qt.Key.Key_F3, SHIFT)
    assert panel(form).isHidden()
    assert {name: form.field(name).text() for name in ("volume", "density", "mud_density")} == {
        "volume": "23.7 bbl", "density": "11.5", "mud_density": "10"}
    assert form.field("volume").words.said == "= 23.7 bbl"
    assert here(form) is form.field("volume").editor
    assert form.words.said == ("Taken over: volume 23.7 bbl; slug's weight 11.5; mud weight in the pipe 10. Look at it: "
                               "nothing is saved yet.")
    assert desk.asked == []
    form.field("from").set_text("Reserve 1")
    form.save()
    assert desk.asked[-1][1]["typed"] == {"from": "Reserve 1", "volume": "23.7 bbl", "density": "11.5", "mud_density": "10"}
    payload = desk.records[-1].payload
    assert payload["volume_m3"] * (payload["density_kg_m3"] / payload["mud_density_kg_m3"] - 1) == pytest.approx(
        200 * FT * 0.01776 * BBL_FT, rel=0.005), "what is booked is what was shown"


def test_what_the_entry_has_is_what_the_sum_begins_with_and_enter_on_the_last_field_takes_it_over(
        desk: RecordingDesk, qtbot: QtBot) -> None:
    # 25 bbl of 13.5 on 12.0: 25 × 1.5/12 = 3.125 bbl, /0.01776 = 175.96 ft.
    form = opened(desk, "slug", qtbot)
    for name, text in (("volume", "25"), ("density", "13.5"), ("mud_density", "12.0 lb/gal")):
        form.field(name).set_text(text)
    press(form, Qt.Key.Key_F3)
    assert said(form).startswith("Dries 176.0 ft of pipe. 3.12 bbl more comes back")
    assert here(form) is panel(form).row("dry").editor, "the first blank one"
    press(form, Qt.Key.Key_Return)
    press(form, Qt.Key.Key_Return)
    assert here(form) is panel(form).row("bore").editor
    press(form, Qt.Key.Key_Return)
    assert panel(form).isHidden()
    assert form.words.said == "The fields hold that already."
    assert form.field("volume").text() == "25"


def test_the_slugs_weight_follows_from_the_other_two_and_a_bore_may_be_a_diameter(desk: RecordingDesk, qtbot: QtBot) -> None:
    # 184 ft, 25 bbl, 0.01422 bbl/ft: 12.2 (1 + 184 × 0.01422/25) = 13.477 lb/gal. 3.826 in hold 0.014220 bbl/ft.
    form = opened(desk, "slug", qtbot)
    press(form, Qt.Key.Key_F3)
    key_in(form, "12.2", "", "184", "25", "3.826 in")
    assert said(form).startswith("Slug's weight needed: 13.48 lb/gal.")
    assert panel(form).row("bore").words.said == "= 0.01422 bbl/ft"
    press(form, Qt.Key.Key_Return)
    assert form.field("density").text() == "13.48 lb/gal"


def test_a_tapered_string_is_gone_through_and_what_one_bore_would_give_is_said(desk: RecordingDesk, qtbot: QtBot) -> None:
    # Bit at 2000 ft: 500 ft of drill pipe, 900 of heavy-weight, 600 of collars. 200 ft dry at 10 on 11.5: down to
    # 200 + 200 × 10/1.5 = 1533.3 ft: 300 × 0.01776 + 900 × 0.00874 + 133.3 × 0.00768 = 14.218 bbl. Back: 3.552 bbl;
    # by one bore 14.218 × 0.15 = 2.133 bbl.
    desk.rig = replace(two_box_rig(), string=STRING)
    desk.show(bit_depth_m=2000 * FT, depth_t_ms=NOW - 15 * MIN)
    form = opened(desk, "slug", qtbot)
    press(form, Qt.Key.Key_F3)
    key_in(form, "10", "11.5", "200")
    assert said(form) == (
        "Slug needed: 14.2 bbl. Dries 200.0 ft. 3.55 bbl more comes back than is pumped. It reaches a narrower bore: in "
        "pipe of one bore 2.13 bbl would come back. The books go through the string too, once the bit depth is logged. By the string, bit at 2000.0 ft as logged 02:00; vertical pipe, nothing pumped behind.")
    panel(form).row("bit").set_text("1600")
    # 100 ft of drill pipe: 200 ft dry are 100 of it and 100 of heavy-weight, 1.776 + 0.874 bbl.
    assert "Dry: 100.0 ft of drill pipe and 100.0 ft of heavy-weight. 2.65 bbl more" in said(form)
    assert "as logged" not in said(form)
    panel(form).row("bore").set_text("0.01776 bbl/ft")
    assert said(form).startswith("Slug needed: 23.7 bbl.")
    assert "books" not in said(form)


def test_a_slug_that_reaches_a_wider_bore_brings_back_less(desk: RecordingDesk, qtbot: QtBot) -> None:
    # 3.5 in pipe above 5 in: 200 ft dry, down to 1533.3 ft: 300 × 0.00742 + 1033.3 × 0.01776 = 20.578 bbl. Back: 200 ×
    # 0.00742 = 1.484 bbl; by one bore 20.578 × 0.15 = 3.087 bbl.
    desk.rig = replace(two_box_rig(), string=String((Part("5 in", "drill pipe", 0.00759 * BBL_FT, 0.01776 * BBL_FT, 5000 * FT),
                                                     Part("3.5 in", "drill pipe", 0.00507 * BBL_FT, 0.00742 * BBL_FT))))
    desk.show(bit_depth_m=5500 * FT, depth_t_ms=NOW - 15 * MIN)
    form = opened(desk, "slug", qtbot)
    press(form, Qt.Key.Key_F3)
    key_in(form, "10", "11.5", "200")
    assert said(form).startswith("Slug needed: 20.6 bbl. Dries 200.0 ft. 1.48 bbl more comes back than is pumped. It reaches a "
                                 "wider bore: in pipe of one bore 3.09 bbl would come back. The books go through the "
                                 "string too, once the bit depth is logged.")


def test_without_a_depth_the_string_tells_nothing_and_it_is_asked_for(desk: RecordingDesk, qtbot: QtBot) -> None:
    desk.rig = replace(two_box_rig(), string=STRING)
    desk.show()
    form = opened(desk, "slug", qtbot)
    press(form, Qt.Key.Key_F3)
    key_in(form, "10", "11.5", "200")
    assert said(form) == "No answer yet. Still wanted: Bit depth then."
    desk.rig = replace(two_box_rig(), pipe=None)
    desk.show()
    bare = opened(desk, "slug", qtbot)
    press(bare, Qt.Key.Key_F3)
    key_in(bare, "10", "11.5", "200")
    assert said(bare) == "No answer yet. Still wanted: Bore, if only one."


def test_weighting_up_fills_mass_and_density_and_the_volume_follows(desk: RecordingDesk, qtbot: QtBot) -> None:
    # 100 bbl from 12 to 14 with 35 lb/gal: 140 lb a barrel, 14 000 lb, 140 sacks of 100 lb, 100 × 2/21 = 9.524 bbl more.
    form = opened(desk, "addition", qtbot)
    form.field("volume").set_text("7")
    press(form, Qt.Key.Key_F3)
    key_in(form, "100", "", "12", "14", "35")
    assert said(form) == "Solid needed: 14000 lb. 9.52 bbl more, 109.5 bbl in the end."
    key_in(form, "", "100 lb")
    assert said(form).endswith("140.0 sacks of 100 lb.")
    press(form, Qt.Key.Key_Return)
    texts = form.texts()
    assert (texts["mass"], texts["density"]) == ("14000 lb", "35")
    assert "volume" not in texts, "both would have to agree"
    assert "volume left out (it was 7)" in form.words.said
    form.field("to").set_text("Suction")
    form.save()
    assert desk.records[-1].payload["volume_m3"] == pytest.approx(100 * 2 / 21 * BBL, rel=1e-9)


def test_sacks_are_only_told_where_a_sack_is_given_and_in_its_unit(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "addition", qtbot)
    press(form, Qt.Key.Key_F3)
    key_in(form, "100", "", "12", "14", "35", "25 kg")
    # 14 000 lb are 6350.3 kg, 254.0 sacks of 25 kg.
    assert said(form) == "Solid needed: 6350 kg. 9.52 bbl more, 109.5 bbl in the end. 254.0 sacks of 25 kg."
    panel(form).row("sack").set_text("")
    assert "sacks" not in said(form)
    panel(form).row("sack").set_text("0 kg")
    assert said(form) == "No answer. It must be more than nothing."


def test_a_volume_in_the_end_tells_what_to_begin_with(desk: RecordingDesk, qtbot: QtBot) -> None:
    # 100 × (22.5 − 13)/(22.5 − 12) = 90.476 bbl, 9.524 bbl of calcium carbonate: × 42 × 22.5 = 9000 lb.
    form = opened(desk, "addition", qtbot)
    press(form, Qt.Key.Key_F3)
    key_in(form, "", "100", "12", "13", "22.5")
    assert said(form) == "Solid needed: 9000 lb. Begin with 90.5 bbl. 9.52 bbl more, 100.0 bbl in the end."


def test_f3_goes_to_the_next_sum_and_what_was_typed_goes_along(desk: RecordingDesk, qtbot: QtBot) -> None:
    # 100 bbl from 14 to 12 with 8.33: 54.496 bbl. In the end 100 bbl: 100 × 2/5.67 = 35.273 bbl into 64.727 bbl.
    form = opened(desk, "addition", qtbot)
    press(form, Qt.Key.Key_F3)
    key_in(form, "100", "", "14", "12")
    assert said(form) == "No answer yet. Still wanted: Density of the solid."
    press(form, Qt.Key.Key_F3)
    assert [name for name, key in panel(form).keys.items() if key.isChecked()] == ["Liquid"]
    assert panel(form).row("mud").text() == "14"
    panel(form).row("liquid").focus()
    key_in(form, "8.33")
    assert said(form) == "Liquid needed: 54.5 bbl. 154.5 bbl in the end."
    panel(form).row("start").set_text("")
    panel(form).row("final").set_text("100")
    assert said(form) == "Liquid needed: 35.3 bbl. Begin with 64.7 bbl. 100.0 bbl in the end."
    press(form, Qt.Key.Key_F3, SHIFT)
    assert (form.field("volume").text(), form.field("density").text()) == ("35.3 bbl", "8.33")
    press(form, Qt.Key.Key_F3)
    assert panel(form).calculator.name == "Liquid", "where one was"
    press(form, Qt.Key.Key_F3)
    assert [panel(form).row(name).text() for name in ("second", "second_weight")] == ["35.3 bbl", "8.33"]
    panel(form).row("first").set_text("64.7")
    panel(form).row("first_weight").set_text("14")
    assert said(form).startswith("Together 100.0 bbl of 12.00 lb/gal")
    names = []
    for _ in range(3):
        press(form, Qt.Key.Key_F3)
        names.append(panel(form).calculator.name)
    assert names == ["Drilled solids", "Oil/water", "Solid"]


def test_a_key_pressed_by_hand_chooses_a_sum_too(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "addition", qtbot)
    form.work_out_button.click()
    panel(form).keys["Two muds"].click()
    assert panel(form).calculator.name == "Two muds"
    for name, text in (("first", "400"), ("first_weight", "11"), ("second", "400"), ("second_weight", "14")):
        panel(form).row(name).set_text(text)
    assert said(form).startswith("Together 800.0 bbl of 12.50 lb/gal")
    panel(form).take_button.click()
    assert (form.field("volume").text(), form.field("density").text()) == ("400", "14")
    form.work_out_button.click()
    form.work_out_button.click()
    assert panel(form).isHidden()


@pytest.mark.parametrize(("kind", "typed", "field", "words"), [
    ("slug", {"mud": "12", "density": "11", "dry": "200"}, "density", "isn't heavier than the mud"),
    ("slug", {"mud": "10", "density": "11", "dry": "200", "slug": "20"}, "dry", "leave the one blank"),
    ("slug", {"mud": "10", "density": "11", "dry": "200 psi"}, "dry", "a length is wanted"),
    ("slug", {"mud": "10", "density": "11", "slug": "20", "bore": "0.01776"}, "bore", "has no unit"),
    ("slug", {"mud": "10", "density": "11", "slug": "0"}, "slug", "more than nothing"),
    ("addition", {"start": "100", "mud": "12", "wanted": "11", "solid": "35"}, "wanted", "thin it with a liquid"),
    ("addition", {"start": "100", "mud": "12", "wanted": "36", "solid": "35"}, "solid", "no amount of it gets there"),
    ("addition", {"start": "100", "final": "120", "mud": "12", "wanted": "13", "solid": "35"}, "final", "not both"),
    ("addition", {"solids": "0", "share": "5"}, "solids", "more than nothing"),
    ("addition", {"solids": "38", "share": "0"}, "share", "between nothing and all"),
    ("addition", {"solids": "38", "share": "100"}, "share", "between nothing and all"),
    ("addition", {"start": "100", "oil": "60", "water": "45", "ratio": "80/20"}, "water", "more than all of the mud"),
    ("addition", {"start": "100", "oil": "0", "water": "45", "ratio": "80/20"}, "oil", "more than nothing"),
    ("addition", {"start": "100", "oil": "60", "water": "15", "ratio": "80/20"}, "ratio", "that ratio already"),
    ("addition", {"start": "100", "oil": "60", "water": "15", "ratio": "80/30"}, "ratio", "make 100 together"),
    ("addition", {"start": "100", "oil": "60", "water": "15", "ratio": "100"}, "ratio", "between no oil and all oil"),
    ("addition", {"start": "0", "oil": "60", "water": "15", "ratio": "90"}, "start", "more than nothing"),
    ("addition", {"start": "100", "final": "120", "oil": "60", "water": "15", "ratio": "90"}, "final", "not both"),
    ("mud check", {"mud": "10", "share": "120"}, "share", "outside 0 to 100"),
    ("mud check", {"mud": "10", "share": "100"}, "share", "less than all of it"),
    ("mud check", {"mud": "10", "cut": "11"}, "cut", "check which is which"),
    ("mud check", {"mud": "10", "cut": "9", "share": "10"}, "cut", "not both")])
def test_what_cant_be_is_said_at_its_field_and_nothing_is_taken_over(desk: RecordingDesk, qtbot: QtBot, kind: str,
                                                                     typed: dict[str, str], field: str, words: str) -> None:
    form = opened(desk, kind, qtbot)
    before = form.texts()
    press(form, Qt.Key.Key_F3)
    while not all(name in [row.name for row in panel(form).rows] for name in typed):
        press(form, Qt.Key.Key_F3)
    for name, text in typed.items():
        panel(form).row(name).set_text(text)
    assert panel(form).first.text() == "No answer"
    assert words in panel(form).rest.said
    press(form, Qt.Key.Key_F3, SHIFT)
    assert panel(form).row(field).words.tone == "error"
    assert words in panel(form).row(field).words.said
    assert here(form) is panel(form).row(field).editor
    assert not panel(form).isHidden()
    assert form.texts() == before


def test_a_field_is_not_called_wrong_while_it_is_typed_in_and_what_is_missing_is_said(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "addition", qtbot)
    press(form, Qt.Key.Key_F3)
    key_in(form, "100", "", "12", "1")
    assert panel(form).row("wanted").words.tone == "quiet"
    key_in(form, "")
    QTest.keyClicks(here(form), "4")
    press(form, Qt.Key.Key_F3, SHIFT)
    assert panel(form).row("solid").words.said == "Wanted for this."
    assert here(form) is panel(form).row("solid").editor
    key_in(form, "35")
    assert panel(form).row("solid").words.said == "= 35.0 lb/gal"
    assert said(form).startswith("Solid needed: 14000 lb")


def test_esc_closes_the_sum_first_and_goes_back_to_where_one_was(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "slug", qtbot)
    form.field("density").focus()
    press(form, Qt.Key.Key_F3)
    key_in(form, "10")
    assert form.work_out_button.text() == "Close the sum: Esc"
    assert form.help.isHidden()
    with qtbot.assertNotEmitted(form.closed):
        press(form, Qt.Key.Key_Escape)
    assert panel(form).isHidden()
    assert not form.help.isHidden()
    assert here(form) is form.field("density").editor
    press(form, Qt.Key.Key_F3)
    assert panel(form).row("mud").text() == "10", "it stays while the form is open"
    press(form, Qt.Key.Key_Escape)
    with qtbot.waitSignal(form.closed):
        press(form, Qt.Key.Key_Escape)


def test_up_and_down_move_in_the_sum_and_f3_from_a_list_opens_it(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "slug", qtbot)
    form.field("from").focus()
    assert isinstance(here(form), QComboBox)
    press(form, Qt.Key.Key_F3)
    assert here(form) is panel(form).row("mud").editor
    press(form, Qt.Key.Key_Down)
    assert here(form) is panel(form).row("density").editor
    press(form, Qt.Key.Key_Up)
    press(form, Qt.Key.Key_Up)
    assert here(form) is panel(form).row("mud").editor


def test_a_sum_is_no_part_of_the_draft_and_what_is_taken_over_is(desk: RecordingDesk, qtbot: QtBot) -> None:
    drafts = Drafts(desk.drafts_path)
    form = opened(desk, "slug", qtbot, drafts=drafts)
    press(form, Qt.Key.Key_F3)
    key_in(form, "10", "11.5", "200")
    assert drafts.names() == ()
    assert form.discard_button.isHidden()
    press(form, Qt.Key.Key_F3, SHIFT)
    kept = drafts.get("entry slug")
    assert kept is not None
    assert {name: text for name, text in kept["texts"].items() if text and name not in ("time", "by")} == {
        "volume": "23.7 bbl", "density": "11.5", "mud_density": "10"}
    drafts.flush()
    again = opened(desk, "slug", qtbot, drafts=Drafts(desk.drafts_path))
    assert again.field("volume").text() == "23.7 bbl"
    assert again.restored.text() == "Begun 02:15 and not saved: restored. Check the time."
    press(again, Qt.Key.Key_F3)
    assert panel(again).row("dry").text() == ""
    again.discard()
    assert panel(again).isHidden(), "what it asks is seen"
    assert again.words.isVisible()
    assert again.words.said == "Discard again throws away what is typed here."


def test_saving_with_the_sum_open_puts_it_away_and_says_what_is_missing(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "slug", qtbot)
    press(form, Qt.Key.Key_F3)
    key_in(form, "10", "11.5", "200")
    press(form, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert desk.asked == []
    assert panel(form).isHidden()
    assert form.words.isVisible()
    assert form.words.said.startswith("Not saved.")
    assert form.field("volume").words.tone == "error", "an answer that wasn't taken over isn't an entry"


def test_gas_cut_mud_puts_words_in_the_remark_and_books_nothing(desk: RecordingDesk, qtbot: QtBot) -> None:
    # 9 of 10 lb/gal: a tenth of gas; 500 bbl stand as 555.6 bbl.
    form = opened(desk, "mud check", qtbot)
    form.field("density in").set_text("10")
    form.field("density out").set_text("9")
    form.field("remark").set_text("Degasser on.")
    press(form, Qt.Key.Key_F3)
    assert panel(form).help.text().startswith("An annotation: nothing is booked, and it explains no gain or loss.")
    assert said(form) == "10.0 % gas by volume. It weighs 9.00 lb/gal against 10.00 lb/gal. Nothing is booked."
    panel(form).row("volume").set_text("500")
    assert said(form).endswith("500.0 bbl of mud stands as 555.6 bbl, 55.6 bbl of it gas. Nothing is booked.")
    press(form, Qt.Key.Key_F3, SHIFT)
    assert form.field("remark").text() == ("Degasser on; Gas-cut, worked out and not booked: 10.0 % gas by volume, 9.00 lb/gal "
                                           "against 10.00 lb/gal; 500.0 bbl of mud stands as 555.6 bbl")
    assert not form.field("remark").editor.hasSelectedText(), "a letter wipes nothing out"
    form.save()
    (_, asked), payload = desk.asked[-1], desk.records[-1].payload
    assert asked["kind"] == "mud check"
    assert not [key for key in payload if key.endswith("_m3") and "kg" not in key], "no volume stands in the entry"


def test_in_the_gas_form_the_gas_reading_is_not_taken_for_gas_in_the_mud(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "gas", qtbot)
    form.field("gas").set_text("1.5")
    press(form, Qt.Key.Key_F3)
    assert panel(form).row("share").text() == ""
    key_in(form, "10", "25")
    press(form, Qt.Key.Key_F3, SHIFT)
    assert form.field("gas").text() == "1.5"
    assert form.field("remark").text() == "Gas-cut, worked out and not booked: 25.0 % gas by volume, 7.50 lb/gal against 10.00 lb/gal"


def test_the_weight_with_gas_that_was_typed_is_the_weight_out(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "mud check", qtbot)
    press(form, Qt.Key.Key_F3)
    key_in(form, "10", "25")
    assert said(form).endswith("To save it, give a weight or a temperature too."), "7.50 is worked out, not weighed"
    panel(form).row("share").set_text("")
    panel(form).row("cut").set_text("9")
    assert said(form).endswith("Nothing is booked.")
    press(form, Qt.Key.Key_F3, SHIFT)
    assert form.field("density out").text() == "9"
    assert form.field("density in").text() == ""
    form.save()
    assert desk.records[-1].payload["density_out_kg_m3"] == pytest.approx(9 * PPG)


def test_a_solids_density_is_no_liquids(desk: RecordingDesk, qtbot: QtBot) -> None:
    form = opened(desk, "addition", qtbot)
    press(form, Qt.Key.Key_F3)
    key_in(form, "100", "", "12", "14", "35")
    press(form, Qt.Key.Key_F3, SHIFT)
    assert form.field("density").text() == "35"
    press(form, Qt.Key.Key_F3)
    press(form, Qt.Key.Key_F3)
    assert panel(form).calculator.name == "Liquid"
    assert panel(form).row("liquid").text() == ""
    press(form, Qt.Key.Key_F3)
    assert panel(form).row("second_weight").text() == ""
    labels = [row.label.text() for row in panel(form).rows]
    assert len(set(labels)) == len(labels), "no two fields are called the same"


def test_what_goes_in_against_drilled_solids_fills_the_volume(desk: RecordingDesk, qtbot: QtBot) -> None:
    # 3.79/0.05 = 75.8 bbl built, 72.01 bbl put in, 19 for each of solids. The 35 beside a mass was a solid's.
    form = opened(desk, "addition", qtbot)
    form.field("mass").set_text("5000 lb")
    form.field("density").set_text("35")
    press(form, Qt.Key.Key_F3)
    panel(form).keys["Drilled solids"].click()
    key_in(form, "3.79", "5")
    assert said(form) == ("To put in: 72.0 bbl. 19.0 volumes for each of solids, 75.8 bbl built with them. Of mud or liquid without "
                          "drilled solids. Mud that holds that share already needs none.")
    press(form, Qt.Key.Key_Return)
    texts = form.texts()
    assert texts["volume"] == "72.0 bbl"
    assert "mass" not in texts
    assert "density" not in texts
    form.field("to").set_text("Suction")
    form.field("density").set_text("8.6")
    form.save()
    assert desk.records[-1].payload["volume_m3"] == pytest.approx(72.0 * BBL, rel=1e-9)


def test_oil_or_water_changes_the_ratio_whichever_it_takes(desk: RecordingDesk, qtbot: QtBot) -> None:
    # 100 bbl of 52 % oil, 10 % water: to 88/12 100 × (10 × 88/12 − 52) % = 21.33 bbl of oil; to 80/20 100 × (52/4 − 10) % = 3 bbl
    # of water. 100 bbl in the end: 3/1.03 = 2.913 bbl into 97.09 bbl.
    form = opened(desk, "addition", qtbot)
    form.field("density").set_text("6.8")
    press(form, Qt.Key.Key_F3)
    panel(form).keys["Oil/water"].click()
    key_in(form, "100", "", "52", "10", "88/12")
    assert panel(form).row("ratio").words.said == "= 88/12"
    assert said(form) == "Oil needed: 21.3 bbl. 121.3 bbl in the end. From 83.9/16.1 to 88/12."
    press(form, Qt.Key.Key_Return)
    assert (form.field("volume").text(), form.field("density").text()) == ("21.3 bbl", "6.8")
    press(form, Qt.Key.Key_F3)
    panel(form).row("ratio").set_text("80")
    assert panel(form).row("ratio").words.said == "= 80/20"
    assert said(form) == "Water needed: 3.00 bbl. 103.0 bbl in the end. From 83.9/16.1 to 80/20."
    panel(form).row("start").set_text("")
    panel(form).row("final").set_text("100")
    assert said(form) == "Water needed: 2.91 bbl. Begin with 97.1 bbl. 100.0 bbl in the end. From 83.9/16.1 to 80/20."


def test_a_slug_heavier_than_mud_is_and_a_bit_below_the_hole_are_asked_about(desk: RecordingDesk, qtbot: QtBot) -> None:
    desk.rig = replace(two_box_rig(), string=STRING)
    desk.show(hole_depth_m=9000 * FT, bit_depth_m=None)
    form = opened(desk, "slug", qtbot)
    press(form, Qt.Key.Key_F3)
    key_in(form, "10", "22", "200", "", "9100")
    assert "Is it so heavy? 22.00 lb/gal is more than 21.70 lb/gal." in said(form)
    assert "Is the bit so deep? The hole ends at 9000.0 ft as logged." in said(form)
    panel(form).row("density").set_text("11.5")
    panel(form).row("bit").set_text("8900")
    assert "Is " not in said(form)


def test_mud_that_warms_takes_the_growth_that_a_person_gives(desk: RecordingDesk, qtbot: QtBot) -> None:
    # 500 bbl × 0.03 %/°F × 25 °F = 3.75 bbl. The 0.03 is invented.
    desk.rig = two_box_rig(units={**OILFIELD_UNITS, "temperature": "degF"})
    desk.show()
    form = opened(desk, "mud check", qtbot)
    press(form, Qt.Key.Key_F3)
    press(form, Qt.Key.Key_F3)
    key_in(form, "500", "95", "120")
    assert said(form) == "No answer yet. Still wanted: It grows by, % a degree.", "none is assumed"
    assert panel(form).row("per_kelvin").editor.placeholderText() == "% per degF, of this mud"
    key_in(form, "", "0.03")
    assert said(form) == "3.75 bbl more. From 95 degF to 120 degF at 0.03 % per degF, as typed. Nothing is booked. To save it, give a weight or a temperature too."
    press(form, Qt.Key.Key_Return)
    assert form.field("remark").text() == ("Warmed, worked out and not booked: 500.0 bbl from 95 degF to 120 degF at 0.03 % per "
                                           "degF makes 3.75 bbl more")
    press(form, Qt.Key.Key_F3)
    assert panel(form).calculator.name == "Warmed, cooled"
    panel(form).row("to").set_text("70")
    assert said(form).startswith("3.75 bbl less.")
    panel(form).row("to").set_text("95")
    assert said(form).startswith("No change.")


def test_metric_rigs_with_a_comma_are_worked_out_in_their_own_units(desk: RecordingDesk, qtbot: QtBot) -> None:
    # 10 m3 of 1200 to 1500 with 4200: 4666.7 kg, 1.111 m3. Slug: 60 m × 9.26 L/m (0.01776 bbl/ft) × 1200/180 = 3.706 m3.
    desk.rig = two_box_rig(units={**METRIC_UNITS, "temperature": "degC"}, decimal=",")
    desk.show()
    form = opened(desk, "addition", qtbot)
    press(form, Qt.Key.Key_F3)
    key_in(form, "10,0", "", "1200", "1500", "4200", "25 kg")
    assert said(form) == "Solid needed: 4667 kg. 1,11 m³ more, 11,11 m³ in the end. 186,7 sacks of 25 kg."
    press(form, Qt.Key.Key_Return)
    form.field("to").set_text("Suction")
    form.save()
    assert desk.records[-1].payload["volume_m3"] == pytest.approx(10 / 9, rel=1e-3)
    slug = opened(desk, "slug", qtbot)
    press(slug, Qt.Key.Key_F3)
    key_in(slug, "1200", "1380", "60")
    assert said(slug).startswith("Slug needed: 3,71 m³. Dries 60,00 m. 0,556 m³ more comes back than is pumped. By the drill pipe's "
                                 "bore, 9,26 L/m")
    press(slug, Qt.Key.Key_F3, SHIFT)
    assert slug.field("volume").text() == "3,71 m³"
    assert slug.field("volume").words.said == "= 3,71 m³"


def test_a_correction_has_its_sum_too(desk: RecordingDesk, qtbot: QtBot) -> None:
    desk.log_entry("slug", {"from": "Reserve 1", "volume": "25", "density": "13.5", "mud_density": "12"}, t_ms=NOW - 9 * MIN,
                   end_ms=None, author="R. Moe")
    form = opened(desk, "slug", qtbot, corrects=desk.records[-1])
    press(form, Qt.Key.Key_F3)
    assert said(form).startswith("Dries 176.0 ft of pipe.")
    panel(form).row("slug").set_text("")
    panel(form).row("dry").set_text("150")
    # 150 × 0.01776 × 12/1.5 = 21.312 bbl.
    press(form, Qt.Key.Key_F3, SHIFT)
    assert form.field("volume").text() == "21.3 bbl"
    assert "volume 21.3 bbl (it was 25 bbl)" in form.words.said
    form.field("why").set_text("fewer strokes")
    form.save()
    assert desk.records[-1].payload["volume_m3"] == pytest.approx(21.3 * BBL)
    assert desk.records[-1].payload["density_kg_m3"] == pytest.approx(13.5 * PPG)


def test_what_salt_adds_is_shown_before_it_is_saved(desk: RecordingDesk, qtbot: QtBot) -> None:
    # 100 bbl are 15.8987 m3, 15 870 kg of water; 5000 lb are 2268 kg: 12.504 % of 18 138 kg, between 1085.7 and 1100.8
    # kg/m3 at 12 and 14 % 1089.5: 16.648 m3, 0.7495 m3 or 4.71 bbl more. By grains of 2165 kg/m3 it would be 6.6 bbl.
    form = opened(desk, "salt", qtbot)
    into = form.field("into")
    into.set_text("100")
    assert into.words.said == "= 100.0 bbl"
    form.field("mass").set_text("5000 lb")
    form.field("salt").set_text("sodium chloride")
    assert into.words.said == "= 100.0 bbl. By the table 4.71 bbl more, 12.5 % by weight then."
    form.field("mass").set_text("20000 lb")
    assert into.words.tone == "doubt"
    assert into.words.said == "That would be 36.4 % by weight, and the table ends at 26 %."
    form.field("mass").set_text("5000 lb")
    form.field("to").set_text("Suction")
    form.save()
    assert desk.records[-1].payload["volume_m3"] == pytest.approx(4.71 * BBL, rel=0.002), "as was shown"
    form.field("salt").set_text("")
    assert into.words.said == "= 100.0 bbl"


GOOD = {"mud": "10", "density": "11.5", "dry": "200", "start": "100", "wanted": "11", "solid": "35", "share": "50", "solids": "37.9",
        "oil": "52", "water": "10", "ratio": "88/12", "depth": "9000", "gas": "1", "gain": "20", "pipe": "300 psi",
        "casing": "400 psi", "annulus": "0.05 bbl/ft"}


@pytest.mark.parametrize("size", TEXT_SIZES)
@pytest.mark.parametrize("kind", list(OF_KIND))
def test_no_sum_is_wider_than_its_form_and_the_answer_stays_in_sight(desk: RecordingDesk, qtbot: QtBot, kind: str,
                                                                     size: float) -> None:
    desk.rig = replace(two_box_rig(), string=STRING)
    desk.show(bit_depth_m=2000 * FT, depth_t_ms=NOW - 15 * MIN)
    form = opened(desk, kind, qtbot)
    form.setStyleSheet(stylesheet(Look(NIGHT if size > 1 else DAY, size)))
    form.resize(round(420 * max(1.0, size)), 520)
    press(form, Qt.Key.Key_F3)
    for _ in range(max(1, len(panel(form).keys))):
        qtbot.waitUntil(lambda: panel(form).foot.isVisible())
        assert form.area.widget().minimumSizeHint().width() <= form.area.viewport().width()
        for key in panel(form).keys.values():
            assert key.fontMetrics().horizontalAdvance(key.text()) + 24 <= key.width()
        foot = panel(form).foot
        assert form.rect().contains(foot.geometry())
        for row in panel(form).rows:
            row.focus()
            QTest.keyClicks(row.editor, GOOD.get(row.name, ""))  # the answer grows: what is typed in stays in sight
            qtbot.waitUntil(lambda row=row: form.area.viewport().rect().contains(
                row.editor.mapTo(form.area.viewport(), row.editor.rect().center())))
        press(form, Qt.Key.Key_F3)
