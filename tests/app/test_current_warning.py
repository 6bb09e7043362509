"""One warning is the current one: strip and list show it, and keys lead back from wherever they have led."""

from __future__ import annotations

from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from app.situations import RIG, warning
from app.test_warnings_page import Opened, gain, opened  # noqa: F401
from dipbook import watch
from dipbook.cautions import CAUTION
from dipbook.composing.warning_story import _doubts
from dipbook.situation import GaugeView
from dipbook.situation_of_warnings import Doubt
from dipbook_app import strip_words, warning_words
from dipbook_app.display import DisplayUnits
from dipbook_app.preferences import TEXT_SIZES

pytestmark = pytest.mark.usefixtures("qapp")
UNITS = DisplayUnits(RIG, "")
BBL = 0.158987294928
DRIFT = warning(kind="drift", name="drift", occurrence="drift-1", system="rising", limit=3 * BBL,
                said="above the low at 10:00", facts={"of": 19.6 * BBL, "counts": 19.0 * BBL, "part": 0.5,
                                                      "rate": 12.8 * BBL / 60})


def test_a_drift_headline_leaves_the_caution_whole_at_every_text_size(opened: Opened) -> None:  # noqa: F811
    strip = opened.window.strip
    gained = warning()
    for size in TEXT_SIZES:
        opened.window._preferences.change(text=size)
        opened.window._apply_look()
        opened.paint()
        for shown in (DRIFT, replace(DRIFT, partial=True)):
            strip.clear()
            strip.show_warnings((shown, gained), UNITS, shown.raised_ms)
            strip.show_one("drift-1")
            for _ in range(4):
                QApplication.processEvents()
            label = strip._caution
            needed = label.fontMetrics().boundingRect(0, 0, label.contentsRect().width(), 10_000,
                                                      Qt.TextFlag.TextWordWrap, CAUTION).height()
            assert strip.readings()[0].startswith("RISING")
            assert not strip._headline.cut, size
            assert needed <= label.contentsRect().height(), size


def test_the_line_below_tells_what_the_headline_leaves_out_and_begins_with_a_capital() -> None:
    said = strip_words.below(DRIFT, (DRIFT, warning()), (), UNITS)
    assert said.startswith("Not acknowledged. ")
    assert said.endswith(". Above the low at 10:00")


def test_strip_and_list_stand_on_the_same_warning_whoever_turns(opened: Opened) -> None:  # noqa: F811
    gain(opened, 71.0)
    opened.press("Shift+F8")
    page, strip = opened.page, opened.window.strip
    assert len(page._kept) > 1
    for _ in range(len(page._kept)):
        opened.key(Qt.Key.Key_Down)
        if page.chosen is not None:
            assert page.list.chosen == strip.occurrence_shown
    page.choose(page._kept[0].occurrence)
    strip._came_up.invalidate()
    opened.press("F8")
    assert page.list.chosen == strip.occurrence_shown != ""
    assert page.list.chosen == next(w.occurrence for w in page._kept if w.state == "raised")


def test_f8_in_the_moment_in_which_another_comes_up_is_answered_in_words(opened: Opened) -> None:  # noqa: F811
    strip = opened.window.strip
    first = warning(kind="high", name="h", occurrence="h-1", state="raised", actions=("acknowledge",), tank="Suction")
    strip.clear()
    strip.show_warnings((first,), UNITS, first.raised_ms)
    strip.show_warnings((first, warning(actions=("acknowledge",))), UNITS, first.raised_ms)
    asked: list[str] = []
    strip.acknowledge_wanted.disconnect()
    strip.acknowledge_wanted.connect(asked.append)
    strip.acknowledge_shown()
    assert asked == []
    assert strip.readings()[1].startswith(strip_words.HURRIED)
    strip._came_up.invalidate()
    strip.acknowledge_shown()
    assert asked == ["gain-1"]


def test_set_aside_is_no_trap_and_keys_act_on_the_maps_cell(opened: Opened) -> None:  # noqa: F811
    page = opened.page
    opened.bench.desk.set_aside(watch.Act("out of service", by="J. Ortiz", note="float sticks", limit="suction high",
                                          instead="dip each 15 min"))
    gain(opened)
    opened.press("Shift+F8")
    page.list.setFocus()
    opened.key(Qt.Key.Key_End)
    assert page.chosen_aside is not None
    assert page.mapped
    assert QApplication.focusWidget() is page.list
    opened.key(Qt.Key.Key_Up)
    assert page.chosen is not None
    assert not page.mapped
    opened.key(Qt.Key.Key_End)
    opened.key(Qt.Key.Key_Escape)
    assert page.chosen is not None
    opened.key(Qt.Key.Key_M)
    assert QApplication.focusWidget() is page.map.table
    page.map.choose("high", "Suction")
    for words in ("float sticks", "J. Ortiz", "since", "dip each 15 min"):
        assert words in page.map.detail.text()
    limit = page._limit()
    assert limit is not None
    assert limit.name == "suction high"
    page.map.choose("loss", "active")
    limit = page._limit()
    assert limit is not None
    assert limit.kind == "loss"
    opened.key(Qt.Key.Key_Escape)
    assert not page.mapped
    assert QApplication.focusWidget() is page.list


def test_the_story_lists_a_doubt_of_the_difference_and_both_volumes_of_one_that_reads_low(opened: Opened) -> None:  # noqa: F811
    gain(opened)
    desk = opened.bench.desk
    s = desk.situation
    w = next(x for x in s.warnings if x.kind == "gain")
    drifting = GaugeView("drifting", "", 1_000, None, "a gauge drifts slowly", "A gauge may drift.")
    stuck = GaugeView("stuck", "Suction", 1_000, None, "not moving", "It stands still.", 0.5, 2.0 * (w.value or 0.0))
    doubted = replace(s, warnings=tuple(replace(x, doubts=(stuck, drifting)) if x is w else x for x in s.warnings),
                      tanks=tuple(replace(t, doubts=(stuck,)) if t.name == "Suction" else t for t in s.tanks))
    limit = next(x for x in s.rig.limits if x.name == w.name)
    found = _doubts(desk._books, doubted, limit, w.occurrence)
    assert Doubt("", "a gauge drifts slowly", 1_000) in found
    said = warning_words._gauges(found, DisplayUnits(s.rig, ""), s.now_ms)
    assert "A gauge drifts slowly" in said
    units = DisplayUnits(s.rig, "")
    assert f"{units.volume(w.value or 0.0)} as read, about {units.volume(2 * (w.value or 0.0))} if mud spreads" in said
    brief = strip_words.doubted(replace(w, doubts=(stuck,)), units, brief=True)
    assert f"low by 50 % (then {units.volume(2 * (w.value or 0.0))})" in brief
