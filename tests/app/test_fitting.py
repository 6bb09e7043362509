"""Nothing that matters is cut: the pages of the demo at the sizes and text sizes that a shack has."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest
from PySide6.QtGui import QFontMetricsF
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from situations import quiet, warning

from app.real_desks import put_away
from builders import BBL
from dipbook.cautions import CAUTION
from dipbook_app import demo
from dipbook_app.clock import Clock
from dipbook_app.display import DisplayUnits
from dipbook_app.pages.log import LATE, WHAT, WHO
from dipbook_app.preferences import PreferencesFile
from dipbook_app.rig_rows import SECTIONS
from dipbook_app.running import Program
from dipbook_app.theme import DAY, Look
from dipbook_app.widgets.difference_scale import DifferenceScale
from dipbook_app.widgets.drop_list import ROOM
from dipbook_app.widgets.line_label import LineLabel
from dipbook_app.widgets.pair_label import PairLabel

NOW_S = 1_767_701_080.0
ROOMY = [pytest.param(size, marks=pytest.mark.slow) for size in (((1280, 720), 1.0), ((1920, 1080), 1.0))]
SIZES = [((1280, 800), 1.0), ((1280, 800), 1.3), ((1280, 720), 1.3), ((1920, 1080), 1.3), *ROOMY]
"""1280×720 is 1920×1080 at 150 %. With the largest text everything is tighter: the roomy ones are for the long run."""


@pytest.fixture(scope="module")
def demo_log(tmp_path_factory: pytest.TempPathFactory, qapp: object) -> Path:
    """The demo's log, made once."""
    return demo.make_log(round(NOW_S * 1000), tmp_path_factory.mktemp("demo"))


@pytest.fixture(params=SIZES, ids=lambda p: f"{p[0][0]}x{p[0][1]} text {p[1]}")
def program(request: pytest.FixtureRequest, tmp_path: Path, demo_log: Path, qtbot: QtBot) -> Iterator[Program]:
    size, text = request.param
    preferences = PreferencesFile(tmp_path / "p.json")
    preferences.change(text=text)
    made = Program(preferences, Clock(wall=lambda: NOW_S, steady=lambda: 0.0))
    made.window.resize(*size)
    made.window.show()
    made.open_log(Path(shutil.copy(demo_log, tmp_path)))
    paint()
    yield made
    put_away(made)


def paint() -> None:
    for _ in range(4):
        QApplication.processEvents()


def test_no_line_of_the_watch_page_is_cut_and_the_caution_is_whole(program: Program) -> None:
    window = program.window
    window.show_page("Watch")
    paint()
    cut = [label.text() for label in window.watch.lines() if label.cut]
    assert cut == []
    assert [label.text() for label in window.strip.findChildren(LineLabel) if label.isVisible() and label.cut] == []
    label = next(w for w in window.strip.children() if getattr(w, "text", lambda: "")() == CAUTION)
    assert label.heightForWidth(label.width()) <= label.height() + 1
    assert "by R. Example (invented)." in " ".join(window.watch.readings())


def test_the_words_on_the_plot_stand_apart_and_inside_it(program: Program) -> None:
    window = program.window
    window.show_page("Watch")
    paint()
    plot = window.watch.plot
    shown = [(which, item) for which, item in plot._words if which.isVisible() and not item.toPlainText().startswith(
        ("Volume", "Unexplained"))]
    assert {"gain 5.0", "loss 6.0"} <= {item.toPlainText() for _, item in shown}
    for which, item in shown:
        box, room = item.sceneBoundingRect(), which.vb.sceneBoundingRect()
        assert room.top() - 6 <= box.top()
        assert box.bottom() <= room.bottom() + 6
        for other_plot, other in shown:
            if other is not item and other_plot is which:
                apart = abs(other.sceneBoundingRect().center().y() - box.center().y())
                assert apart >= QFontMetricsF(window._look.font(12)).height() - 1


def test_a_rounds_rows_are_whole_in_width_and_stand_under_their_headings(program: Program) -> None:
    window = program.window
    window.act("round")
    page = window._pages["Round"]
    paint()
    for columns in ((), ("time", "second", "flag")):
        for name in columns:
            page.head.switches[name].setChecked(True)
        paint()
        row = page.rows[0]
        assert page.area.horizontalScrollBar().maximum() == 0
        assert row.layout().minimumSize().width() <= row.width()
        for name, widget in (("stick", row.stick), ("volume", row.volume)):
            assert abs(page.heading.labels[name].mapTo(page, page.heading.labels[name].rect().topLeft()).x()
                       - widget.mapTo(page, widget.rect().topLeft()).x()) <= 2
    assert page.head.fields["keyer"].width() >= page.head.fields["keyer"].fontMetrics().horizontalAdvance(
        "R. Example") + 16


def test_where_not_all_rows_fit_they_stand_closest_and_the_next_one_is_seen(program: Program) -> None:
    window = program.window
    window.act("round")
    page = window._pages["Round"]
    paint()
    rows, view = page.rows, page.area.viewport()
    for row, following in pairwise(rows):
        row.focus()
        paint()
        for seen in (row, following):
            top = seen.mapTo(view, seen.rect().topLeft()).y()
            assert top >= 0
            assert top + seen.height() <= view.height()
    whole = sum(row.mapTo(view, row.rect().topLeft()).y() >= 0 and row.mapTo(view, row.rect().bottomLeft()).y() < view.height()
                for row in rows)
    assert whole == len(rows) or whole >= 5
    assert whole == len(rows) or window._look.text > 1.2


def test_the_log_and_the_limits_need_no_sideways_scrolling(program: Program) -> None:
    window = program.window
    window.show_page("Log")
    paint()
    log = window._pages["Log"]
    assert log.table.columnWidth(WHAT) >= 300
    assert not log.table.isColumnHidden(WHO)
    assert log.table.isColumnHidden(LATE) is (window.width() < 1400 and window._look.text > 1.2)
    assert log.table.verticalScrollBar().value() == log.table.verticalScrollBar().maximum(), "the newest is in sight"
    window.show_page("Limits")
    limits = window._pages["Limits"]
    paint()
    assert limits.table.horizontalScrollBar().maximum() == 0
    assert "set by demo crew (invented), 2026-01-05 06:00. Demo value, not advice." in limits.detail.text()


def test_beside_a_form_the_filters_stand_apart_and_the_stopwatch_is_whole(program: Program) -> None:
    window = program.window
    window.act("flow check")
    paint()
    log = window._pages["Log"]
    parts = (log.kinds, log.tanks, log.spans, log.shown)
    for one, other in pairwise(parts):
        assert one.geometry().right() < other.geometry().left()
    assert not log.shown.cut
    for box in parts[:-1]:
        assert box.fontMetrics().horizontalAdvance(box.currentText()) + ROOM + 8 <= box.width()
    form = log.panel.form
    assert form is not None
    assert form.clock.height() >= form.clock.sizeHint().height()
    shown = [part for part in (form.clock, form.minute, form.pumps, form.area, form.words, form.save_button) if part.isVisible()]
    for one, other in pairwise(shown):
        assert one.mapTo(form, one.rect().bottomLeft()).y() < other.mapTo(form, other.rect().topLeft()).y()


def test_a_page_that_comes_up_has_the_cursor_where_its_keys_are(program: Program) -> None:
    window = program.window
    pages = window._pages
    for name, widget in (("Log", pages["Log"].table), ("Round", pages["Round"].rows[0].stick),
                         ("Limits", pages["Limits"].table)):
        window.show_page(name)
        assert window.focusWidget() is widget, name


def test_two_texts_share_a_line_or_take_two(qtbot: QtBot) -> None:
    pair = PairLabel("soft")
    qtbot.addWidget(pair)
    pair.set_texts("At 06:00, 4 min old.", "Zero 5 Jan 18:00 by R. Example.")
    pair.resize(900, 20)
    assert not pair.two_lines
    with qtbot.waitSignal(pair.turned):
        pair.resize(260, 20)
        pair.show()
    assert pair.two_lines
    pair.set_texts("At 06:00.", "")
    assert not pair.two_lines


def test_a_lines_letters_get_smaller_before_it_is_cut(program: Program) -> None:
    label = LineLabel("Expected 508.7 bbl", "title", smaller=("strong", "firm"), parent=program.window)
    label.show()
    label.resize(400, 30)
    assert label.property("part") == "title"
    label.resize(label.needed - 10, 30)
    assert label.property("part") != "title"
    assert not label.cut
    label.resize(20, 30)
    assert label.cut


@pytest.mark.parametrize(("gain", "loss"), [(5.0, 6.0), (0.2, 0.2), (48.0, 0.1), (0.1, 49.0), (49.9, 49.9)])
def test_the_scales_words_never_stand_on_each_other(qtbot: QtBot, gain: float, loss: float) -> None:
    scale = DifferenceScale(Look(DAY, 1.3))
    qtbot.addWidget(scale)
    scale.resize(480, 90)
    limits = ((-loss * BBL, f"loss {loss}"), (gain * BBL, f"gain {gain}"))
    scale.show_difference(45 * BBL, 0.5 * BBL, limits, DisplayUnits(quiet(warnings=(warning(),)).rig))
    placed = sorted(scale.words_places())
    for (a, b), _ in placed:
        assert 0 <= a < b <= scale.width()
    for ((_, right), _), ((left, _), _) in pairwise(placed):
        assert right <= left
    assert len(placed) == 2


def test_the_keys_of_a_form_and_of_a_round_name_their_keys_and_take_a_glove(program: Program) -> None:
    window = program.window
    log = window.open_page("Log")
    log.add("transfer", {})
    form = log.panel.form
    form.field("remark").set_text("something typed")
    paint()
    keys = [form.save_button, form.close_button, form.discard_button]
    assert [key.text() for key in keys] == ["Save\nCtrl+Enter", "Leave\nEsc", "Discard\nCtrl+Shift+D"]
    log.panel.check_flow()
    paint()
    finish = log.panel.form.save_button
    assert finish.text() == "Finish\nCtrl+Enter"
    for key in [*keys, finish]:
        assert key.width() >= Look().mm(20), key.text()
        assert key.height() >= 46, key.text()
        assert key.width() >= key.sizeHint().width(), key.text()
        assert key.geometry().right() < form.width(), key.text()
    page = window.open_page("Round")
    paint()
    save = page.foot.save_button
    assert save.text() == "Save round\nCtrl+Enter"
    assert save.width() >= save.sizeHint().width()
    assert page.foot.geometry().right() < window.width()
    assert page.foot.minimumSizeHint().width() <= page.foot.width()


def test_the_rig_page_has_its_fields_and_its_picture_whole(program: Program) -> None:
    window = program.window
    window.show_page("Rig")
    page = window._pages["Rig"]
    for section in SECTIONS:
        page.show_section(section.name)
        paint()
        assert page.table.horizontalScrollBar().maximum() == 0, section.name
        if page.form is not None:
            assert page.form.area.widget().minimumSizeHint().width() <= page.form.area.viewport().width(), section.name
        for key in (*page.keys, *page.add_buttons, page.remove_button, page.review_button, page.discard_button):
            if key.isVisible():
                assert key.width() >= key.sizeHint().width(), key.text()
                assert key.mapTo(window, key.rect().topRight()).x() <= window.width(), key.text()
        if not page.picture.isHidden():
            assert page.picture.width() >= 300
            assert page.picture.mapTo(window, page.picture.rect().topRight()).x() <= window.width()
    page.show_section("Tanks")
    paint()
    page.edit()
    for row in page.form.fields:
        if row.isVisible():
            row.focus()
            paint()
            top = row.mapTo(page.form.area.viewport(), row.rect().topLeft()).y()
            assert top >= 0
            assert top + row.editor.height() <= page.form.area.viewport().height(), row.name
