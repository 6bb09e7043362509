"""The Review page on a real desk and a small log: its figures are the report's, its keys do what they say. Invented."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot
from real_desks import GAIN, MIN, Bench, Hands, bench, make_log, rig_text

from dipbook import reports
from dipbook.exchange.times import parse
from dipbook.exchange.writing import unguarded
from dipbook_app import review_spans
from dipbook_app.display import shown_words
from dipbook_app.pages.review import NOW, THEN, ReviewPage
from dipbook_app.printing.report_pages import heading
from dipbook_app.review_sections import BOOKS, SECTIONS, TREND
from dipbook_app.theme import DAY, Look
from dipbook_app.widgets.bridge_chart import bars

ZONE = "America/Chicago"
BEGUN = parse("2026-03-08 00:00-06:00", None)
"""Two hours before the clocks go forward there."""
TOURS = '\n[[tour]]\ncode = "D"\nstart = "06:00"\n\n[[tour]]\ncode = "N"\nstart = "18:00"\n'


class Station:
    """The page on its desk."""

    def __init__(self, made: Bench, qtbot: QtBot) -> None:
        self.bench, self.qtbot = made, qtbot
        self.page = ReviewPage(made.desk)
        self.page.set_look(Look())
        self.page.resize(1180, 660)
        qtbot.addWidget(self.page)
        self.page.show()
        self.page.show_situation(made.situation)
        self.settled()

    def settled(self) -> None:
        self.qtbot.waitUntil(lambda: not self.page.working, timeout=20_000)

    def span(self, from_: str, to: str) -> None:
        page = self.page
        page.from_field.setText(from_)
        page.to_field.setText(to)
        QTest.keyClick(page.to_field, Qt.Key.Key_Return)
        self.settled()

    def key(self, key: Qt.Key, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        QTest.keyClick(self.page.focused(self.page.section), key, modifier)
        self.settled()

    @property
    def report(self) -> reports.Report:
        assert self.page.reviewed is not None
        return self.page.reviewed.report


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory, qapp: object) -> tuple[Path, int]:
    """Rounds over the night in which the clocks go forward, a gap in which the program was closed, a gain that is
    acknowledged, and a round that is corrected an hour later."""
    path = make_log(tmp_path_factory.mktemp("review") / "night.dipbook", rig_text(GAIN, zone=ZONE) + TOURS, BEGUN)
    hands = Hands(BEGUN)
    with bench(path, hands) as made:
        made.desk.set_on_watch("R. Moe")
        made.log("activity", activity="drilling")
        for suction in (60.0, 60.0, 60.5):
            made.pass_(30)
            made.round(suction=suction)
        assert not made.log("discard", from_="Suction", volume="3 bbl", end_ms=hands.ms)
        made.settle()
    hands.pass_(120)                                    # nobody watched
    with bench(path, hands) as made:
        for suction in (60.5, 63.0):
            made.pass_(15)
            made.round(suction=suction)
        made.desk.acknowledge(made.warnings[0].occurrence)
        made.pass_(60)
        record = made.last_of("round")
        made.round(suction=61.0, t_ms=record.t_ms, supersedes=record.uid, reason="misread")
        made.pass_(5)
        made.settle()
    return path, hands.ms


@pytest.fixture
def station(log: tuple[Path, int], qtbot: QtBot) -> Iterator[Station]:
    with bench(log[0], Hands(log[1])) as made:
        made.desk.tick()
        yield Station(made, qtbot)


def test_screen_paper_and_files_say_the_same(station: Station) -> None:
    station.span("2026-03-08 00:00", "")
    page, report = station.page, station.report
    by, seen = reports.writing(report), set[str]()
    tables = {t.name: t for t in reports.tables(report, page.reviewed.alarm_figures)}
    numbers = 0
    for section in SECTIONS:
        page.show_section(section)
        for drawn in page.tables[section].shown() if section != TREND else ():
            table = tables[drawn.name]
            seen.add(drawn.name)
            head, *lines = csv.reader(io.StringIO(reports.csv_of(table, by).decode("utf-8"), newline=""))
            rows = [(row, line) for row, line in zip(table.rows, lines, strict=True) if row.paper]
            assert len(rows) == len(drawn.grid.rows)
            for (row, line), (cells, _) in zip(rows, drawn.grid.rows, strict=True):
                for name, cell in zip(drawn.grid.headings, cells, strict=True):
                    places = [n for n, c in enumerate(table.columns) if c.paper and heading(c) == name.text]
                    said = [reports.on_paper(table.columns[n], row.cells[n], by, held=row.held) for n in places]
                    assert cell.text in [shown_words(s) for s in said] + said
                    plain = cell.text.replace("−", "-").lstrip("+± ")
                    if any(table.columns[n].what in ("volume", "signed", "u") for n in places) and cell.text != "unknown":
                        assert plain in [unguarded(line[n]) for n in places]
                        numbers += plain != ""
            assert head == [reports.heading_in_file(c) for c in table.columns]
    assert numbers > 30
    assert {t.name for t in tables.values() if any(r.paper for r in t.rows) or t.none} <= seen
    assert set(tables) - {"dips"} == {name for names in SECTIONS.values() for name in names}


def test_the_bridge_goes_from_opening_to_closing(station: Station) -> None:
    station.span("2026-03-08 00:00", "")
    page, active = station.page, station.report.active
    assert active.terms
    page.show_section(BOOKS)
    rows = page.bridge.shown()
    assert (rows[0].from_m3, rows[-1].to_m3) == (active.opening_m3, active.closing_m3)
    assert [r.label for r in rows[-3:]] == ["Expected", "Not explained", "Closing"]
    for before, after in pairwise(rows):
        assert after.from_m3 == pytest.approx(before.to_m3, abs=1e-9)
    table = next(t for t in page.tables[BOOKS].shown() if t.name == "reconciliation")
    column = [h.text for h in table.grid.headings].index("Active system, bbl")
    said = {cells[0].text: cells[column].text for cells, _ in table.grid.rows}
    for row in rows:
        assert row.label == "Expected" or said[row.label] == row.said


def test_nothing_reconciled_draws_no_bar(station: Station) -> None:
    station.span("2026-03-08 05:55", "2026-03-08 06:00")
    assert station.report.active.why
    station.page.show_section(BOOKS)
    assert station.page.bridge.shown() == bars(station.report.active, station.page.plot._units) == ()
    assert "unknown" in station.page.answer.text()


def test_the_cursor_reads_what_the_report_has_and_what_was_corrected(station: Station) -> None:
    station.span("2026-03-08 00:00", "")
    page, trend = station.page, station.report.trend
    page.show_section(TREND)
    station.key(Qt.Key.Key_Left)
    assert page.plot.index == len(trend.t_ms) - 1
    units = page.plot._units
    assert f"difference {units.signed_volume(trend.difference_m3[-1])} {units.plus_minus(trend.u_m3[-1])}" in page.plot.read_out
    lines = [page.behind.item(n).text() for n in range(page.behind.count())]
    corrected = next(line for line in lines if line.startswith("Corrected at "))
    assert "63" in corrected.split("; is: ")[0]
    assert "61" in corrected.split("; is: ")[1]
    assert corrected.endswith("Why: misread")
    assert any(line.startswith("Round ") and line.endswith("corrected:") for line in lines)
    assert any("Suction: 61 in" in line for line in lines)
    station.key(Qt.Key.Key_Left)
    assert page.plot.index == len(trend.t_ms) - 2


def test_n_goes_to_the_warning(station: Station) -> None:
    station.span("2026-03-08 00:00", "")
    page = station.page
    page.show_section(BOOKS)
    station.key(Qt.Key.Key_N)
    assert page.section == TREND
    raised = station.report.warnings.raised[0]
    assert station.report.trend.t_ms[page.plot.index] == raised.raised_ms
    assert raised.text in page.state.said
    assert any(raised.text in page.behind.item(n).text() and "acknowledged" in page.behind.item(n).text()
               for n in range(page.behind.count()))


def test_k_turns_to_what_was_shown_then(station: Station) -> None:
    end = next(r for r in reversed(station.bench.situation.records) if r.supersedes).t_ms + MIN
    station.page.choose(review_spans.Chosen(review_spans.ANY, BEGUN, end))
    station.settled()
    now = station.report
    assert station.page.view_label.text() == NOW
    assert now.learned_since > 0
    station.key(Qt.Key.Key_K)
    then = station.report
    assert then.then
    assert station.page.view_label.text() == THEN
    assert "as the log stood when the span ended" in station.page.state.said.lower()
    assert then.active.closing_m3 > now.active.closing_m3       # 63 in was 61 in

def test_brush_and_typed_span_and_the_change_of_the_clocks(station: Station) -> None:
    page = station.page
    station.span("2026-03-08 01:00", "2026-03-08 03:00")
    a, b = page.chosen.from_ms, page.chosen.to_ms
    assert b - a == 60 * MIN                                     # 02:00 to 03:00 never was
    assert "−06:00" in page.chosen_words.text()
    assert "−05:00" in page.chosen_words.text()
    station.key(Qt.Key.Key_BracketLeft)
    assert (page.chosen.from_ms, page.chosen.to_ms) == (a - 30 * MIN, b - 30 * MIN)
    assert page.strip.brush == (a - 30 * MIN, b - 30 * MIN)
    station.key(Qt.Key.Key_BracketRight)
    station.key(Qt.Key.Key_Plus)
    assert (page.chosen.from_ms, page.chosen.to_ms) == (a - 30 * MIN, b + 30 * MIN)
    assert (station.report.span.from_ms, station.report.span.to_ms) == (a - 30 * MIN, b + 30 * MIN)
    station.key(Qt.Key.Key_Minus)
    assert (page.chosen.from_ms, page.chosen.to_ms) == (a, b)
    station.span("2026-03-08 02:30", "2026-03-08 04:00")
    assert "clocks went forward" in page.state.said
    assert (page.chosen.from_ms, page.chosen.to_ms) == (a, b)    # what is wrong changes nothing


def test_tours_days_and_hours_nobody_watched(station: Station) -> None:
    page = station.page
    assert page.chosen.name == "2026-03-07N" or page.chosen.name == "2026-03-08D"
    station.key(Qt.Key.Key_D)
    assert page.chosen.kind == review_spans.DAY
    assert page.chosen.to_ms - page.chosen.from_ms == 23 * 60 * MIN
    assert "so far" in page.chosen_words.text()
    assert any(u.ms > 100 * MIN for u in station.report.unwatched)
    station.key(Qt.Key.Key_Left, Qt.KeyboardModifier.AltModifier)
    assert page.chosen.name == "2026-03-07"


def test_the_report_is_written_under_the_name_that_is_typed(station: Station, tmp_path: Path) -> None:
    page, folder = station.page, station.bench.path.parent
    station.key(Qt.Key.Key_R)
    assert page.form.isVisible()
    assert page.name_field.text().startswith("night-")
    page.name_field.setText("../elsewhere")
    QTest.keyClick(page.name_field, Qt.Key.Key_Return)
    assert "without a folder" in page.state.said
    page.name_field.setText("seen")
    QTest.keyClick(page.name_field, Qt.Key.Key_Return)
    station.settled()
    assert (folder / "seen.pdf").read_bytes().startswith(b"%PDF")
    assert width_mm(folder / "seen.pdf") == pytest.approx(297, abs=0.5)
    by = reports.writing(station.report)
    for table in reports.tables(station.report, page.reviewed.alarm_figures):
        assert (folder / "seen-tables" / f"{table.name}.csv").read_bytes() == reports.csv_of(table, by)
    station.key(Qt.Key.Key_R)
    page.name_field.setText("seen")
    assert page.state.said.startswith("Already there: seen.pdf")
    turned: list[str] = []
    page.paper_turned.connect(turned.append)
    QTest.keyClick(page.name_field, Qt.Key.Key_P, Qt.KeyboardModifier.AltModifier)
    assert (turned, page.paper_key.text()) == (["letter"], "Letter  Alt+P")
    QTest.keyClick(page.name_field, Qt.Key.Key_Return)
    station.settled()
    assert width_mm(folder / "seen.pdf") == pytest.approx(279.4, abs=0.5), "11 in"
    station.key(Qt.Key.Key_R)
    QTest.keyClick(page.name_field, Qt.Key.Key_Escape)
    assert not page.form.isVisible()


def width_mm(pdf: Path) -> float:
    return float(PdfReader(pdf).pages[0].mediabox.width) / 72 * 25.4


def test_work_that_is_stopped_is_not_shown(station: Station) -> None:
    page, before = station.page, station.page.reviewed
    page.turn_view()
    assert page._reviewer.busy
    page.stop()
    QTest.qWait(0)
    assert page.reviewed is before
    assert page.state.said.startswith("Stopped.")


def test_zooming_keeps_to_the_span_and_shows_every_reading(station: Station) -> None:
    station.span("2026-03-08 00:00", "")
    page, span = station.page, station.report.span
    page.show_section(TREND)
    station.key(Qt.Key.Key_Up)
    low, high = page.plot.view
    assert high - low == pytest.approx(span.ms / 2, abs=2)
    station.key(Qt.Key.Key_Home)
    assert page.plot.view == (span.from_ms, span.to_ms)
    x, y = page.plot.drawn()
    trend = station.report.trend
    np.testing.assert_allclose(x, (trend.t_ms - span.from_ms) / 1000)
    np.testing.assert_allclose(y, page.plot._units.in_volume_units(trend.difference_m3))


def test_a_click_on_the_whole_log_puts_the_middle_of_the_span_there(qtbot: QtBot) -> None:
    from dipbook_app.widgets.overview_strip import OverviewStrip
    strip = OverviewStrip(Look(DAY))
    qtbot.addWidget(strip)
    strip.resize(401, 44)
    strip.show()
    begin = 1_767_700_000_000
    strip.show_brush(begin, begin + 4_000_000)
    with qtbot.waitSignal(strip.moved) as moved:
        QTest.mouseClick(strip, Qt.MouseButton.LeftButton, pos=QPoint(100, 20))
    assert moved.args[0] == pytest.approx(begin + 1_000_000, abs=20_000), "a time is more than 32 bits"
