"""The report on paper and in files: read back, and held against its figures. The demo's data is invented."""

from __future__ import annotations

import csv
import io
from itertools import count
from pathlib import Path

import pytest
from pypdf import PdfReader
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage, QPainter

from dipbook import reports, store
from dipbook.books import Books, build
from dipbook.cautions import CAUTION
from dipbook.exchange.times import parse
from dipbook.exchange.writing import unguarded
from dipbook_app import demo, demo_trips, fonts
from dipbook_app.cli import main
from dipbook_app.display import shown_words
from dipbook_app.printing.paper import draw
from dipbook_app.printing.pdf import MARGIN, size_of
from dipbook_app.printing.report_pages import lay_out
from dipbook_app.printing.write_report import units_of, write_csv, write_pdf

NOW = parse("2026-01-06 06:04-06:00", None)
TOUR = "2026-01-05N"


@pytest.fixture(autouse=True)
def _font(qapp: object) -> None:
    assert fonts.install(qapp)  # type: ignore[arg-type]


def books_of(path: Path) -> Books:
    with store.open(path, write=False, create=False) as log:
        return build(log.records())


def plain(text: str) -> str:
    """Without white: a cell may be wrapped."""
    return "".join(text.split())


def test_paper_figures_and_files_say_the_same(tmp_path: Path) -> None:
    books = books_of(demo.make_log(NOW, tmp_path))
    made = reports.report(books, reports.tour(books.rigs, TOUR))
    pages = write_pdf(made, tmp_path / "r.pdf", NOW)
    texts = [" ".join(page.extract_text().split()) for page in PdfReader(tmp_path / "r.pdf").pages]
    assert len(texts) == pages
    whole = plain("".join(texts))
    files = {p.stem: list(csv.reader(io.StringIO(p.read_bytes().decode("utf-8"), newline=""))) for p in write_csv(made, tmp_path / "csv")}
    by, seen = reports.writing(made), count()
    for table in reports.tables(made):
        head, *rows = files[table.name]
        assert head == [reports.heading_in_file(c) for c in table.columns]
        assert len(rows) == len(table.rows)
        for row, cells in zip(table.rows, rows, strict=True):
            for column, value, cell in zip(table.columns, row.cells, cells, strict=True):
                said = reports.in_file(column, value, by)
                assert unguarded(cell) == ("" if said is None else str(said))
            if row.paper:
                for column, value in zip(table.columns, row.cells, strict=True):
                    if column.paper and value != "":
                        on = reports.on_paper(column, value, by, held=row.held)
                        assert plain(shown_words(on)) in whole, (table.name, on)
                        next(seen)
    assert next(seen) > 400
    for n, text in enumerate(texts, 1):
        assert plain(CAUTION) in plain(text)
        assert f"Page {n} of {pages}" in text
        assert "Invented data: no real rig, well or crew" in text
    for words in ("Handed over by (name)", "Taken over by (name)", "Signature"):
        assert words in texts[-1]


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("unit_set", ["", "oilfield", "metric", "mixed"])
@pytest.mark.parametrize("which", ["night", "connections", "trips"])
def test_nothing_is_drawn_in_the_margins(tmp_path: Path, paper: str, unit_set: str, which: str) -> None:
    log = demo_trips.make_log(NOW, tmp_path) if which == "trips" else demo.make_log(NOW, tmp_path, connections=which == "connections")
    books = books_of(log)
    ends = books.readings.end_ms
    made = reports.report(books, reports.between(int(ends[0]) - 60_000, int(ends[-1])), units=units_of(unit_set))
    size = size_of(paper)
    for marks in lay_out(made, NOW, paper=paper, unit_set=unit_set).pages:
        image = QImage(int(size.width() / 4), int(size.height() / 4), QImage.Format.Format_Grayscale8)
        image.fill(Qt.GlobalColor.white)
        painter = QPainter(image)
        painter.scale(0.25, 0.25)
        draw(painter, marks)
        painter.end()
        edge = int(MARGIN / 4) - 3
        width, height = image.width(), image.height()
        margins = (image.copy(0, 0, edge, height), image.copy(width - edge, 0, edge, height), image.copy(0, 0, width, edge),
                   image.copy(0, height - edge, width, edge))
        for margin in margins:
            assert bytes(margin.constBits()).count(0xFF) >= margin.width() * margin.height()


def test_the_command_writes_paper_and_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log, out = demo.make_log(NOW, tmp_path), tmp_path / "tour.pdf"
    assert main(["report", str(log), "--tour", TOUR, "--out", str(out), "--csv", str(tmp_path / "t"), "--paper", "letter"]) == 0
    said = capsys.readouterr().out
    assert "2026-01-05 18:00 to 2026-01-06 06:00" in said
    assert round(PdfReader(out).pages[0].mediabox.width) == 792
    assert (tmp_path / "t" / "reconciliation.csv").is_file()
    assert main(["report", str(log), "--from", "2026-01-05 20:00", "--to", "2026-01-05 23:00", "--then", "--out", str(out)]) == 0
    assert "As the log stood when the span ended" in " ".join(PdfReader(out).pages[0].extract_text().split())


@pytest.mark.parametrize(("more", "says"), [
    ([], "Give --tour, like 2026-03-14D"), (["--tour", TOUR, "--to", "2026-01-06 06:00"], "Give --tour"),
    (["--tour", "2026-01-05X"], "has no tour X"), (["--from", "2026-01-06", "--to", "2026-01-07 06:00"], "is not a time"),
])
def test_what_cant_be_asked_for_is_said_and_nothing_is_written(tmp_path: Path, more: list[str], says: str,
                                                               capsys: pytest.CaptureFixture[str]) -> None:
    log, out = demo.make_log(NOW, tmp_path), tmp_path / "tour.pdf"
    assert main(["report", str(log), "--out", str(out), *more]) == 2
    assert says in capsys.readouterr().err
    assert not out.exists()


def test_the_warnings_figures_stand_on_paper_and_in_a_file_as_the_command_tells_them(
        tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log = demo.make_log(parse("2026-01-06 06:04-06:00", None), tmp_path)
    out = tmp_path / "night.pdf"
    assert main(["report", str(log), "--tour", "2026-01-05N", "--out", str(out), "--csv", str(tmp_path / "t")]) == 0
    capsys.readouterr()
    rows = list(csv.reader((tmp_path / "t" / "alarm_figures.csv").read_text(encoding="utf-8").splitlines()))
    told = {row[0]: row[1] for row in rows[1:]}
    assert main(["figures", str(log), "--from", "2026-01-05 18:00", "--to", "2026-01-06 06:00"]) in (0, 1)
    said = capsys.readouterr().out
    assert told["Warnings raised"] == "2"
    for label, value in told.items():
        assert f"{label + ':':<34} {value}".strip() in said
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(out).pages).split())
    assert "Warnings in figures" in text
    assert "Numbers without grades" in text
