"""The Connections page on the demo's day of fifteen connections: read at a glance, worked by keyboard. All invented."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QFontMetrics
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QToolButton
from pytestqt.qtbot import QtBot
from situations import quiet

from app.real_desks import NOW, Bench, Hands
from builders import BBL
from dipbook import store
from dipbook.quantities import UNIT_SETS
from dipbook.records import WARNING
from dipbook_app import demo
from dipbook_app.connection_words import (
    NO_CONNECTIONS,
    NO_CURVES,
    accept_question,
    adopt_words,
    cells,
    chosen_words,
    lay_above,
)
from dipbook_app.display import DisplayUnits
from dipbook_app.drafts import Drafts
from dipbook_app.forms.limit_texts import read_limit
from dipbook_app.limit_words import watched_words
from dipbook_app.page_names import CONNECTIONS, LOG
from dipbook_app.pages.connections import ConnectionsPage
from dipbook_app.pages.log import LogPage
from dipbook_app.preferences import PreferencesFile
from dipbook_app.theme import PALETTES, Look
from dipbook_app.widgets.connection_plot import MARKED
from dipbook_app.window import Window


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory, qapp: object) -> Path:
    return demo.make_log(NOW, tmp_path_factory.mktemp("connections"), connections=True)


@pytest.fixture
def bench(day: Path, tmp_path: Path) -> Iterator[Bench]:
    for beside in day.parent.glob(f"{day.name}*"):
        shutil.copy(beside, tmp_path / beside.name)
    found = Bench(tmp_path / day.name, Hands())
    found.desk.set_on_watch("R. Moe")
    yield found
    found.desk.close()


@pytest.fixture
def page(bench: Bench, qtbot: QtBot) -> ConnectionsPage:
    made = ConnectionsPage()
    qtbot.addWidget(made)
    made.resize(1180, 600)
    made.show()
    made.show_situation(bench.desk.situation)
    return made


def test_the_demo_day_has_its_journal(day: Path) -> None:
    with store.open(day, write=False) as log:
        assert not log.verify()
        kinds = [(r.payload["kind"], r.payload["state"]) for r in log.records(kinds=[WARNING])]
    assert kinds == [("flow_back", "raised"), ("flow_back", "acknowledged"), ("flow_back", "over_acknowledged")]


def test_every_connection_has_its_row_the_newest_first(page: ConnectionsPage, bench: Bench) -> None:
    assert page.table.rowCount() == 15
    views = bench.desk.situation.connections
    assert [page.table.item(r, 0).text()[-5:] for r in range(15)] == [
        DisplayUnits(bench.desk.situation.rig).time(v.off_ms) for v in reversed(views)]
    assert page.chosen() is views[-1]
    assert page.empty.isHidden()
    assert "from 6 accepted connections" in page.band.text()


def test_the_one_that_flowed_too_long_stands_out(page: ConnectionsPage, bench: Bench) -> None:
    units = DisplayUnits(bench.desk.situation.rig)
    rows = {v.off_ms: cells(v, units, NOW) for v in bench.desk.situation.connections}
    flowed = [v for v in bench.desk.situation.connections if v.accepted is False]
    assert len(flowed) == 1
    assert flowed[0].above_m3 is not None
    assert flowed[0].above_m3 / BBL == pytest.approx(3.9, abs=0.25)
    assert flowed[0].across_m3 is not None
    assert flowed[0].across_m3 / BBL == pytest.approx(4.0, abs=0.4), "the kick test"
    assert flowed[0].stopped_s is None
    assert rows[flowed[0].off_ms][-1].startswith("no, ")
    others = [v for v in bench.desk.situation.connections if v is not flowed[0]]
    assert all(v.accepted and v.stopped_s is not None for v in others)
    assert max(v.above_m3 for v in others if v.above_m3 is not None) / BBL < 1.0
    said = chosen_words(flowed[0], units, NOW)
    assert "more than the accepted ones" in said
    assert "Pumps on to pumps on +4" in said


def test_the_chosen_one_is_marked_and_the_rest_drawn_behind_it(page: ConnectionsPage, bench: Bench) -> None:
    others, chosen = page.plot.drawn()
    views = bench.desk.situation.connections
    assert chosen == len(views[-1].s)
    assert others == sum(len(v.s) + 1 for v in views[:-1])
    assert len(page.plot._dots.getData()[0]) <= MARKED
    assert len(page.plot._crosses.getData()[0]) == 1, "the one that isn't accepted has a cross"
    page.table.setCurrentCell(2, 0)
    assert page.chosen() is views[-3]
    assert page.plot.drawn()[1] == len(views[-3].s)
    assert len(page.plot._crosses.getData()[0]) == 1, "chosen, it has its cross too"


def test_the_cursor_stays_on_a_connection_that_was_chosen(page: ConnectionsPage, bench: Bench) -> None:
    page.table.setCurrentCell(4, 0)
    chosen = page.chosen()
    assert chosen is not None
    bench.hands.pass_(1)
    page.show_situation(bench.desk.situation)
    after = page.chosen()
    assert after is not None
    assert after.off_ms == chosen.off_ms


def test_keys_ask_for_the_entries(page: ConnectionsPage, bench: Bench) -> None:
    asked: list[tuple[str, object]] = []
    page.entry_wanted.connect(lambda kind, fields: asked.append((kind, fields)))
    page.table.setCurrentCell(2, 0)
    chosen = page.chosen()
    assert chosen is not None
    assert chosen.accepted is False
    for key in (Qt.Key.Key_Delete, *[Qt.Key.Key_Return] * 2, *[Qt.Key.Key_Insert] * 2):
        QTest.keyClick(page.table, key)
    assert asked == [("connection", {"state": "accepted", "t_ms": chosen.off_ms}),
                     ("flow-back band", {"state": "adopted", "flow_m3_s": chosen.flow_m3_s,
                                         "t_ms": bench.desk.situation.now_ms})], "what is taken back isn't taken back again"
    QTest.keyClick(page.table, Qt.Key.Key_Home)
    assert page.table.currentRow() == 0
    QTest.keyClick(page.table, Qt.Key.Key_End)
    assert page.table.currentRow() == 14


def test_accepting_what_flowed_back_more_is_asked_about(page: ConnectionsPage, bench: Bench) -> None:
    asked: list[str] = []
    page.entry_wanted.connect(lambda kind, fields: asked.append(f"{kind} {dict(fields)['state']}"))
    page.table.setCurrentCell(2, 0)
    QTest.keyClick(page.table, Qt.Key.Key_Return)
    assert asked == []
    assert page.detail.said == ("It flowed back 3.9 bbl more than the accepted ones: a band learned from it hides that. "
                                "Enter again goes on to accept it.")
    page.show_units("metric")
    assert "hides that" in page.detail.said, "the question stays while the page is brought up to date"
    page.table.setCurrentCell(3, 0)
    assert "hides that" not in page.detail.said
    page.table.setCurrentCell(2, 0)
    QTest.keyClick(page.table, Qt.Key.Key_Return)
    assert asked == [], "asked anew"
    QTest.keyClick(page.table, Qt.Key.Key_Return)
    assert asked == ["connection accepted"]
    assert "hides that" not in page.detail.said


def test_what_speaks_against_accepting(bench: Bench) -> None:
    s, units = bench.desk.situation, DisplayUnits(bench.desk.situation.rig)
    views = tuple(s.connections)
    flowed = next(v for v in views if v.accepted is False)
    fine = next(v for v in views if v.off_ms > flowed.off_ms)
    assert accept_question(fine, views, s, units) == ""
    within = replace(flowed, excess=((5.0, 0.3 * BBL, 0.2 * BBL),))
    assert accept_question(within, views, s, units).startswith("Its flow-back warning is open")
    assert accept_question(within, views, replace(s, warnings=()), units) == "", "within ± 2u, and no warning"
    assert lay_above(replace(within, excess=((5.0, 0.5 * BBL, 0.2 * BBL),), above_m3=None)) == 0.5 * BBL
    lines = replace(within, banded=False, excess=(), above_m3=0.5 * BBL, across_u_m3=0.2 * BBL)
    assert lay_above(lines) == 0.5 * BBL, "above all that the lines hold"
    assert lay_above(replace(lines, across_u_m3=0.3 * BBL)) is None
    assert lay_above(replace(lines, across_u_m3=None)) == 0.5 * BBL, "nobody knows how sure: it is said"
    assert lay_above(replace(within, banded=False, excess=(), above_m3=-0.1 * BBL)) is None
    assert lay_above(replace(within, banded=False, excess=(), above_m3=None)) is None


def test_adopting_says_from_how_many_and_whether_any_lay_above(page: ConnectionsPage, bench: Bench) -> None:
    page.table.setCurrentCell(0, 0)
    QTest.keyClick(page.table, Qt.Key.Key_Insert)
    assert page.detail.said == ("A band adopted now at 800 gal/min is learned from the 14 accepted connections shown here; "
                                "none of them lay above. Ins again opens its entry.")
    units, views = DisplayUnits(bench.desk.situation.rig), bench.desk.situation.connections
    flowed = next(v for v in views if v.accepted is False)
    both = (replace(flowed, accepted=True), views[-1])
    assert "the 2 accepted connections shown here, of which 1 lay above, and it hides that: 00:04 by 3.9 bbl." in \
        adopt_words(both, views[-1], units, NOW)
    assert "rest on nothing" in adopt_words((flowed,), views[-1], units, NOW)


def test_the_chosen_ones_time_stands_below_its_own_end_on_its_own_ground(page: ConnectionsPage) -> None:
    for row in (0, 2):
        page.table.setCurrentCell(row, 0)
        words = next(w for w in page.plot._words if ":" in w.toPlainText())
        x, y = (float(a[-1]) for a in page.plot._chosen.getData())
        assert (words.pos().x(), words.pos().y()) == (x, y)
        end = page.plot._plot.vb.mapViewToScene(words.pos())
        assert words.mapRectToScene(words.boundingRect()).top() >= end.y() - 1
        assert words.zValue() > page.plot._crosses.zValue()
        assert page.plot._words[-2].toPlainText() == "the band"
        assert words.fill.color() == page.plot._look.colour("ground")


def test_taking_back_by_keyboard_changes_the_books(bench: Bench, qtbot: QtBot, tmp_path: Path) -> None:
    drafts = Drafts(bench.desk.drafts_path, bench.desk)
    page, log = ConnectionsPage(), LogPage(bench.desk, drafts)
    window = Window(bench.desk, PreferencesFile(tmp_path / "p.json"), {LOG: log, CONNECTIONS: page})
    qtbot.addWidget(window)
    window.show()
    window.show_page(CONNECTIONS)
    first = bench.desk.situation.connections[0]
    assert first.accepted
    assert bench.desk.situation.band is not None
    assert bench.desk.situation.band.count == 6
    QTest.keyClick(page.table, Qt.Key.Key_End)
    QTest.keyClick(page.table, Qt.Key.Key_Delete)
    form = log.panel.form
    assert form is not None
    assert form.field("state").text() == "not accepted"
    form.save()
    now = bench.desk.situation.connections[0]
    assert now.accepted is False
    assert now.accepted_by == "R. Moe"
    assert bench.desk.situation.band.count == 5, "what is taken back leaves the band"
    window.close()


def test_other_units(page: ConnectionsPage) -> None:
    in_barrels = page.table.item(0, 3).text()
    page.show_units(next(name for name, units in UNIT_SETS.items() if units["volume"][0] == "m3"))
    assert float(page.table.item(0, 3).text()) == pytest.approx(float(in_barrels) * BBL, abs=0.06)


def test_without_connections_and_without_curves_it_says_so(qtbot: QtBot, page: ConnectionsPage, bench: Bench) -> None:
    page.show_situation(quiet())
    assert page.empty.text() == NO_CONNECTIONS
    assert page.empty.isVisible()
    assert page.plot.isHidden()
    assert page.table.isHidden()
    assert "nobody is told of a connection that flows back too much" in page.band.text()
    assert not page.accept_button.isEnabled()
    assert not page.adopt_button.isEnabled()


def test_by_hand_it_says_why_there_is_no_curve(qtbot: QtBot, tmp_path: Path, qapp: object) -> None:
    found = Bench(demo.make_log(NOW, tmp_path), Hands())
    page = ConnectionsPage()
    qtbot.addWidget(page)
    page.show()
    page.show_situation(found.desk.situation)
    assert page.empty.text() == NO_CURVES
    assert page.empty.isVisible()
    assert page.plot.isHidden()
    assert page.table.rowCount() == 6
    assert not page.accept_button.isEnabled()
    assert page.table.item(0, page.table.columnCount() - 1).text() == "no curve"
    assert "Too few readings" in page.detail.said
    found.desk.close()


@pytest.mark.parametrize("theme", ["day", "night"])
def test_the_band_and_the_chosen_curve_are_drawn_in_both_themes(page: ConnectionsPage, theme: str) -> None:
    look = Look(PALETTES[theme])
    page.set_look(look)
    page.table.setCurrentCell(2, 0)
    picture = page.plot.grab().toImage()
    colours = {picture.pixelColor(x, y).name().upper()
               for x in range(picture.width()) for y in range(0, picture.height(), 3)}
    for token in ("ground", "ink", "soft", "mud", "line"):
        assert look.colour(token).name().upper() in colours


@pytest.mark.parametrize("theme", ["day", "night"])
def test_the_bands_shade_is_seen_between_its_edges(page: ConnectionsPage, theme: str) -> None:
    look = Look(PALETTES[theme])
    page.set_look(look)
    page.table.setCurrentCell(2, 0)     # its own curve runs above the band
    plot = page.plot
    picture = plot._view.grab().toImage()
    x, low = plot._least.getData()
    high = plot._most.getData()[1]
    shaded = 0
    for n in range(len(x) // 4, len(x) - 1):
        place = plot._plot.vb.mapViewToScene(QPointF(float(x[n]), float(low[n] + high[n]) / 2))
        shaded += picture.pixelColor(round(place.x()), round(place.y())).name() == look.colour("mud").name()
    assert shaded > 0.5 * (len(x) - 1 - len(x) // 4)


def test_the_rail_writes_its_name_whole(qtbot: QtBot, bench: Bench, tmp_path: Path) -> None:
    window = Window(bench.desk, PreferencesFile(tmp_path / "p.json"), {CONNECTIONS: ConnectionsPage()})
    qtbot.addWidget(window)
    window.show()
    window.show_page(CONNECTIONS)
    for _ in range(5):
        key = next(k for k in window.rail.findChildren(QToolButton) if k.accessibleName() == CONNECTIONS and k.isVisible())
        assert QFontMetrics(key.font()).horizontalAdvance(CONNECTIONS) <= key.width() - 4
        window.change_text(1)
    window.close()


def test_the_table_keeps_two_rows_at_the_largest_text(qtbot: QtBot, bench: Bench, tmp_path: Path) -> None:
    page = ConnectionsPage()
    window = Window(bench.desk, PreferencesFile(tmp_path / "p.json"), {CONNECTIONS: page})
    qtbot.addWidget(window)
    window.show()
    window.resize(1280, 800)
    for _ in range(4):
        window.change_text(1)
    window.show_page(CONNECTIONS)
    page.table.setCurrentCell(2, 0)
    qtbot.waitUntil(lambda: page.table.viewport().height() >= 2 * page.table.rowHeight(0) - 8)
    assert page.detail.geometry().top() >= page.table.geometry().bottom(), "nothing lies over the table"
    assert np.isfinite(page.plot.height())
    assert page.plot.height() >= 110
    window.close()


def test_a_flow_back_limit_is_set_on_the_active_system_alone(bench: Bench) -> None:
    rig = bench.desk.situation.rig
    typed = {"name": "back", "kind": "flow_back", "on": "active", "activity": "any", "value": "2 bbl", "deadband": "1 bbl",
             "growth": "1 bbl", "after": "", "by": "R. Moe", "why": "invented"}
    limit, found = read_limit(typed, rig, since="2026-01-06")
    assert found == ()
    assert limit is not None
    assert "flow-back of active" in watched_words((limit,))
    refused, found = read_limit({**typed, "on": "watched"}, rig, since="2026-01-06")
    assert refused is None
    assert [f.column for f in found] == ["on"]
