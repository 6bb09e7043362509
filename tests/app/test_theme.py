"""Contrast after WCAG 2.2: text 4.5:1 (1.4.3), the one ink 7:1 (1.4.6), parts and graphics 3:1 (1.4.11)."""

from __future__ import annotations

import colorsys
import re
from importlib.resources import files

import pytest
from PySide6.QtGui import QFont, QFontDatabase, QFontInfo, QFontMetricsF, QRawFont

from dipbook_app import fonts
from dipbook_app.stylesheet import stylesheet
from dipbook_app.theme import DAY, FAMILY, NIGHT, PAIRS, PALETTES, TEXT_SIZES, Look, contrast, luminance

NEUTRAL = ("ground", "panel", "field", "select", "ink", "soft", "line", "grid", "mud", "old")


def test_the_contrast_formula_gives_the_known_ends():
    # WCAG 2.2: black on white is 21:1; #767676 on white is the well-known 4.54:1 (from memory).
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)
    assert contrast("#FFFFFF", "#FFFFFF") == 1.0
    assert contrast("#767676", "#FFFFFF") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("palette", PALETTES.values(), ids=lambda p: p.name)
@pytest.mark.parametrize(("front", "back", "least"), PAIRS, ids=lambda v: str(v))
def test_every_pair_in_use_has_its_contrast(palette, front, back, least):
    assert contrast(getattr(palette, front), getattr(palette, back)) >= least


@pytest.mark.parametrize("palette", PALETTES.values(), ids=lambda p: p.name)
def test_only_what_is_abnormal_has_a_colour(palette):
    for token in NEUTRAL:
        red, green, blue = (getattr(palette, token)[k:k + 2] for k in (1, 3, 5))
        assert red == green == blue, token


@pytest.mark.parametrize("palette", PALETTES.values(), ids=lambda p: p.name)
def test_the_colours_have_the_meanings_of_iec_60073(palette):
    def hue(token):
        colour = getattr(palette, token)
        return 360 * colorsys.rgb_to_hsv(*(int(colour[k:k + 2], 16) / 255 for k in (1, 3, 5)))[0]

    assert hue("danger") < 15 or hue("danger") > 345
    assert 40 <= hue("warning") <= 60
    assert 200 <= hue("due") <= 240


def test_night_has_no_large_bright_area():
    # No source: dark adaptation wants areas dark; 3 % of white is our own limit for anything that fills an area.
    for token in ("ground", "panel", "field", "select", "danger", "warning", "due", "old"):
        assert luminance(getattr(NIGHT, token)) <= 0.05, token
    assert luminance(NIGHT.ink) < 0.5 < luminance(DAY.ground)


@pytest.mark.parametrize("palette", PALETTES.values(), ids=lambda p: p.name)
def test_the_style_sheet_uses_the_palettes_colours_only(palette):
    used = set(re.findall(r"#[0-9A-Fa-f]{6}\b", stylesheet(Look(palette))))
    assert used
    assert used <= palette.colours


@pytest.mark.parametrize(("front", "back"), [("ink", "ground"), ("ink", "panel"), ("ink", "field"), ("soft", "ground"),
                                             ("ink", "select"), ("on_warning", "warning")])
def test_what_the_style_sheet_puts_on_top_of_each_other_is_among_the_tested_pairs(front, back):
    assert any((front, back) == pair[:2] for pair in PAIRS)


def test_what_is_pressed_with_gloves_is_twenty_millimetres_on_any_screen():
    # Colle & Hiszem 2004, Ergonomics 47(13):1406: keys of 20 mm suffice.
    assert Look(dpi=96).mm(20) >= 76
    assert Look(dpi=120).mm(20) >= 20 / 25.4 * 120
    assert Look(dpi=30).mm(20) >= 76, "a screen that reports a wrong size doesn't shrink a key"


@pytest.mark.parametrize("factor", TEXT_SIZES)
def test_text_follows_the_text_size_and_keys_do_not(factor):
    look = Look(text=factor)
    assert look.px(20) == round(20 * factor)
    assert look.mm(20) == Look().mm(20)


def test_our_own_font_is_there_with_figures_of_one_width(qapp):
    assert fonts.install(qapp)
    assert FAMILY in QFontDatabase.families()
    for bold in (False, True):
        font = Look().font(100, bold=bold)
        assert QFontInfo(font).family() == FAMILY
        widths = {QFontMetricsF(font).horizontalAdvance(figure) for figure in "0123456789"}
        assert len(widths) == 1
    assert qapp.font().family() == FAMILY


def test_the_font_has_every_sign_that_the_screens_use(qapp):
    fonts.install(qapp)
    font = QRawFont.fromFont(QFont(FAMILY))
    missing = [sign for sign in "−+±×≥≤³½¼¾°'\"←→…–éñø" if not font.supportsCharacter(ord(sign))]
    assert not missing


def test_the_fonts_licence_is_shipped_beside_it():
    text = (files("dipbook_app") / "data" / "fonts" / "OFL-B612.txt").read_text(encoding="utf-8")
    assert "SIL OPEN FONT LICENSE Version 1.1" in text
    assert "AIRBUS" in text
