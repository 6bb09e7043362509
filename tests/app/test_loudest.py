"""What nobody has acknowledged is the loudest thing on the page: the sign of the strip stands on its colour."""

from __future__ import annotations

import pytest
from PySide6.QtGui import QColor, QImage
from PySide6.QtWidgets import QApplication, QMainWindow

from app.situations import HIGH, OVERDUE, RIG, warning
from dipbook_app.display import DisplayUnits
from dipbook_app.stylesheet import stylesheet
from dipbook_app.theme import PALETTES, TEXT_SIZES, Look, contrast
from dipbook_app.widgets.notice_label import NoticeLabel
from dipbook_app.widgets.warning_strip import WarningStrip

NOW = 1_772_352_900_000


def strip_with(qtbot, palette, text, shown):
    look = Look(PALETTES[palette], text, 96.0)
    window = QMainWindow()
    qtbot.addWidget(window)
    window.setStyleSheet(stylesheet(look))
    strip = WarningStrip(look)
    window.setCentralWidget(strip)
    strip.held_by = window
    window.resize(1100, strip.height())
    window.show()
    strip.show_warnings((shown,), DisplayUnits(RIG, ""), NOW)
    QApplication.processEvents()
    return strip


def area_of(image: QImage, colour: str) -> int:
    """Pixels of a colour, of every second in both directions."""
    wanted = QColor(colour).rgb()
    return 4 * sum(image.pixel(x, y) == wanted for x in range(0, image.width(), 2)
                   for y in range(0, image.height(), 2))


@pytest.mark.parametrize("text", TEXT_SIZES)
@pytest.mark.parametrize("palette", PALETTES)
@pytest.mark.parametrize(("kind", "colour"), [("gain", "danger"), ("high", "warning"), ("overdue", "due")])
def test_only_what_nobody_acknowledged_is_filled(qtbot, palette, text, kind, colour):
    plain = {"gain": warning(), "high": HIGH, "overdue": OVERDUE}[kind]
    token = getattr(PALETTES[palette], colour)
    areas = {}
    for state in ("raised", "acknowledged", "over", "over_acknowledged"):
        strip = strip_with(qtbot, palette, text, type(plain)(**{
            name: getattr(plain, name) for name in plain.__dataclass_fields__} | {"state": state}))
        areas[state] = area_of(strip.grab().toImage(), token)
        assert strip.filled == (state in ("raised", "over"))
        assert strip._rank.property("part") == (f"on_{colour}" if strip.filled else "caution")
        if strip.filled:
            ink = strip._rank.palette().color(strip._rank.foregroundRole()).name()
            assert contrast(ink, token) >= 4.5, "the words on the fill"
            assert strip._rank.geometry().right() <= strip._sign.geometry().right()
    assert min(areas["raised"], areas["over"]) > 1.5 * strip._symbol.width() ** 2, "far more than a symbol"
    assert max(areas["acknowledged"], areas["over_acknowledged"]) < 0.1 * areas["raised"]


def test_the_fill_is_steady_while_the_symbol_flashes(qtbot):
    strip = strip_with(qtbot, "day", 1.0, warning())
    assert strip._symbol.flashing
    for _ in range(2):
        strip._symbol._flash()
        image = strip.grab().toImage()
        assert image.pixelColor(8, 8).name().upper() == PALETTES["day"].danger


@pytest.mark.parametrize("palette", PALETTES)
def test_a_notice_that_nothing_is_watched_is_outlined_and_not_filled(qtbot, palette):
    look = Look(PALETTES[palette], 1.0, 96.0)
    window = QMainWindow()
    qtbot.addWidget(window)
    window.setStyleSheet(stylesheet(look))
    notice = NoticeLabel("outlined")
    window.setCentralWidget(notice)
    window.resize(700, 60)
    window.show()
    notice.show_words("Not watched: no limit of kind gain is set.")
    QApplication.processEvents()
    image = notice.grab().toImage()
    whole = image.width() * image.height()
    assert area_of(image, look.palette.warning) == 0
    assert image.pixelColor(0, image.height() // 2).name().upper() == look.palette.warning_edge
    assert area_of(image, look.palette.ground) > 0.5 * whole
