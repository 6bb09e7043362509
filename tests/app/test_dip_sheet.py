"""The blank dip sheet: what stands on its pages, read back out of the PDF with pypdf, and how it is asked for."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from desks import MIN, NOW, RecordingDesk
from pypdf import PdfReader
from PySide6.QtCore import QLineF, QRectF, Qt
from PySide6.QtGui import QDesktopServices, QImage, QPainter
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot
from real_desks import Bench, Hands, make_log, rig_text

from builders import IN, box_tank, two_box_rig
from dipbook.cautions import CAUTION
from dipbook.errors import DipbookError
from dipbook.records import Dip
from dipbook.rig.model import Rig
from dipbook_app import fonts
from dipbook_app.cli import main
from dipbook_app.drafts import Drafts
from dipbook_app.pages.round import RoundPage
from dipbook_app.printing.dip_sheet import MARGIN, draw_page, write_pdf
from dipbook_app.printing.sheet_content import dip_sheet

COMMAND = "import sys\nfrom dipbook_app.cli import main\nsys.exit(main())\n"
A4, LETTER = (2970.0, 2100.0), (2794.0, 2159.0)
"""Landscape, in tenths of a millimetre: ISO 216; 11 × 8.5 in."""


@pytest.fixture(autouse=True)
def _font(qapp: object) -> None:
    assert fonts.install(qapp)  # type: ignore[arg-type]


def texts(path: Path) -> list[str]:
    """The words of each page, single spaces between them."""
    return [" ".join(page.extract_text().split()) for page in PdfReader(path).pages]


def many(count: int, name: str = "Tank") -> Rig:
    rig = two_box_rig()
    return replace(rig, tanks=tuple(box_tank(f"{name} {i}", "reserve", active=False, order=i)
                                    for i in range(1, count + 1)))


def test_a_sheet_has_a_row_a_tank_in_gauging_order_and_how_it_is_gauged(tmp_path: Path) -> None:
    rig = two_box_rig()
    down = box_tank("Trip", "trip", active=False, order=4, gauge="down", mark_m=110 * IN, heel_m=4 * IN)
    plate = box_tank("Slug", "slug", active=False, order=5, offset_m=2 * IN)
    path = tmp_path / "sheet.pdf"
    assert write_pdf(dip_sheet(replace(rig, tanks=(*rig.tanks, down, plate)), now_ms=NOW), path) == 2
    page, entries = texts(path)
    assert "Invented 1 Dip sheet, rounds 1 to 8" in page, "the name says that it is invented"
    places = [page.index(name) for name in ("Settling", "Suction", "Reserve 1", "Trip")]
    assert places == sorted(places)
    assert "Settling up, from the bottom bottom 0 in brim 108 in" in page
    assert "Trip down, from the mark heel 106 in brim 2 in" in page, "110 in less 4 in, and less 108 in"
    assert "Slug up, from the gauge point" in page
    for words in ("Date", "Tour", "Crew", "Well", "Times in Etc/GMT+6, UTC−06:00", "Gauged by", "Hole depth", "Bit depth",
                  "Pumps, flow", "This sheet is keyed in later with its true times"):
        assert words in page
    assert page.count("from to stick again time") == 8
    for words in ("What (transfer", "From", "To", "Volume or mass", "Rate", "Mud weight", "Start", "End", "Stick before",
                  "Who was told, when", "One line an entry"):
        assert words in entries
    assert "Wipe, dip, read twice" in page
    assert "Log page, Add entry" in entries
    assert "Catch up" not in entries
    assert "Wipe, dip" not in entries, "what is said of dips stands with the dips"
    for n, text in enumerate((page, entries), 1):
        assert CAUTION in text
        assert f"Page {n} of 2" in text


def test_an_invented_rig_is_marked_where_its_name_does_not_say_so(tmp_path: Path) -> None:
    for name, invented, head in (("Heron 3", True, "Heron 3 (invented)"), ("Heron 3", False, "Heron 3 Dip sheet")):
        path = tmp_path / "sheet.pdf"
        write_pdf(dip_sheet(two_box_rig(name=name, invented=invented)), path)
        assert head in texts(path)[0]


@pytest.mark.parametrize(("paper", "size"), [("a4", (842, 595)), ("letter", (792, 612))])
def test_both_papers_lie_on_their_side_and_hold_no_picture(tmp_path: Path, paper: str, size: tuple[int, int]) -> None:
    path = tmp_path / "sheet.pdf"
    write_pdf(dip_sheet(two_box_rig()), path, paper)
    for page in PdfReader(path).pages:
        assert (round(page.mediabox.width), round(page.mediabox.height)) == size  # [1/72 in]
        assert not page.images, "lines and letters, not a picture of them"


def test_many_tanks_and_many_rounds_fall_into_even_pages(tmp_path: Path) -> None:
    path = tmp_path / "sheet.pdf"
    assert write_pdf(dip_sheet(many(14), rounds=10), path) == 5
    pages = texts(path)
    for page, head in zip(pages, ("rounds 1 to 5, Tank 1 to Tank 7", "rounds 1 to 5, Tank 8 to Tank 14",
                                  "rounds 6 to 10, Tank 1 to Tank 7", "rounds 6 to 10, Tank 8 to Tank 14",
                                  "Entries"), strict=True):
        assert head in page
    assert [page.count("stick again time") for page in pages] == [5, 5, 5, 5, 0]
    for none in (0, 49):
        with pytest.raises(ValueError, match="1 to 48"):
            dip_sheet(two_box_rig(), rounds=none)


@pytest.mark.parametrize("size", [A4, LETTER])
@pytest.mark.parametrize("rig", [two_box_rig(), many(12, "Reserve of the port side, aft, number")], ids=["few", "many"])
def test_nothing_is_drawn_outside_the_margins_and_only_in_black(size: tuple[float, float], rig: Rig) -> None:
    sheet = dip_sheet(rig)
    for number in range(len(sheet.pages)):
        image = QImage(int(size[0] / 2), int(size[1] / 2), QImage.Format.Format_RGB32)
        image.fill(Qt.GlobalColor.white)
        painter = QPainter(image)
        painter.scale(0.5, 0.5)
        draw_page(painter, sheet, number, *size)
        painter.end()
        grey = image.convertToFormat(QImage.Format.Format_Grayscale8).convertToFormat(QImage.Format.Format_RGB32)
        assert grey == image, "no colour"
        edge = int(MARGIN / 2) - 3
        inside = QRectF(edge, edge, image.width() - 2 * edge, image.height() - 2 * edge).toRect()
        assert image.copy(inside) != QImage(inside.size(), image.format()), "something is drawn"
        painter = QPainter(image)
        painter.fillRect(inside, Qt.GlobalColor.white)
        painter.end()
        blank = QImage(image.size(), image.format())
        blank.fill(Qt.GlobalColor.white)
        assert image == blank


@pytest.mark.parametrize("size", [A4, LETTER])
@pytest.mark.parametrize("count", [2, 9, 10])
def test_a_cell_has_room_for_the_time_of_its_dip(size: tuple[float, float], count: int) -> None:
    """Below the second reading, between dotted lines: at least 9 mm by 4.5 mm, as much as a time takes by hand (our
    choice, no source)."""
    drawn: list[QLineF] = []

    class Lines(QPainter):
        def drawLine(self, *line: object) -> None:  # type: ignore[override]
            if self.pen().style() == Qt.PenStyle.DotLine:
                drawn.append(line[0])  # type: ignore[arg-type]

    image = QImage(int(size[0] / 2), int(size[1] / 2), QImage.Format.Format_RGB32)
    painter = Lines(image)
    painter.scale(0.5, 0.5)
    sheet = dip_sheet(many(count))
    draw_page(painter, sheet, 0, *size)
    painter.end()
    across = [line for line in drawn if line.y1() == line.y2()]
    assert len(across) == 8 * count
    assert min(line.length() for line in across) >= 90
    first = sorted({line.y1() for line in across})
    assert min(b - a for a, b in pairwise(first)) / 2 >= 45


def test_a_log_gives_the_last_sticks_with_their_day(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bench = Bench(make_log(tmp_path / "log.dipbook", rig_text()), Hands())
    bench.hands.pass_(10)
    t = bench.hands.ms
    bench.desk.save_round((Dip("Settling", t, "60 1/4", 60.25 * IN), Dip("Suction", t, "over brim", 108 * IN,
                           flag="over brim")), start_ms=t, end_ms=t, observer="R. Moe", author="R. Moe")
    out = tmp_path / "out.pdf"
    try:
        assert main(["sheet", str(bench.path), str(out)]) == 0, "also while the log is open"
    finally:
        bench.desk.close()
    page = texts(out)[0]
    assert "60 1/4 in 1 Mar 02:25" in page
    assert "over brim 1 Mar 02:25" in page
    assert "Invented 2" in page
    assert capsys.readouterr().out == f"Wrote {out}: 2 pages, for 8 rounds.\n"


def test_the_command_needs_no_display_and_takes_a_rig_file(tmp_path: Path) -> None:
    (tmp_path / "rig.toml").write_text(rig_text(), encoding="utf-8")
    env = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")}
    done = subprocess.run([sys.executable, "-W", "error", "-c", COMMAND, "sheet", "rig.toml", "out.pdf", "--paper", "letter",
                           "--rounds", "20"], capture_output=True, timeout=120, check=False, cwd=tmp_path,
                          env=env | {"PYTHONPATH": os.pathsep.join(sys.path)})
    assert (done.returncode, done.stderr.decode()) == (0, "")
    assert done.stdout.decode().strip() == "Wrote out.pdf: 4 pages, for 20 rounds."
    assert "rounds 1 to 7" in texts(tmp_path / "out.pdf")[0]


@pytest.mark.parametrize(("source", "to", "more", "words"), [
    ("rig.toml", "out.txt", [], "ends in .pdf"),
    ("rig.toml", "no folder/out.pdf", [], "can't be written"),
    ("rig.toml", "out.pdf", ["--rounds", "0"], "1 to 48"),
    ("none.toml", "out.pdf", [], "no such file"),
    ("none.dipbook", "out.pdf", [], "There is no log"),
])
def test_what_cannot_be_is_said_and_leaves_no_file(tmp_path: Path, capsys: pytest.CaptureFixture[str], source: str, to: str,
                                                  more: list[str], words: str) -> None:
    (tmp_path / "rig.toml").write_text(rig_text(), encoding="utf-8")
    assert main(["sheet", str(tmp_path / source), str(tmp_path / to), *more]) == 2
    assert words in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["rig.toml"]


def test_its_button_writes_a_sheet_beside_the_log_and_shows_it(tmp_path: Path, qtbot: QtBot,
                                                           monkeypatch: pytest.MonkeyPatch) -> None:
    opened: list[str] = []
    monkeypatch.setattr(QDesktopServices, "openUrl", lambda url: bool(opened.append(url.toLocalFile())) or True)
    desk = RecordingDesk(tmp_path / "d.json")
    desk.show(now_ms=NOW + 5 * MIN)
    page = RoundPage(desk, Drafts(desk.drafts_path))  # type: ignore[arg-type]
    qtbot.addWidget(page)
    page.show()
    page.activateWindow()
    qtbot.waitUntil(page.isActiveWindow)
    page.rows[0].stick.setText("60")
    QTest.mouseClick(page.head.print_button, Qt.MouseButton.LeftButton)
    path = tmp_path / "dip sheet 2026-03-01 0220.pdf"
    assert opened == [str(path)]
    assert page.words.said == f"Dip sheet written beside the log: {path.name}. Print it from the window that opens."
    assert "60 in" in texts(path)[0]
    assert page.rows[0].stick.text() == "60", "what is typed stays"
    page.drafts.flush()


def test_a_sheet_that_cannot_be_written_is_said_on_the_page(tmp_path: Path, qtbot: QtBot,
                                                            monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object, **__: object) -> int:
        raise DipbookError("The dip sheet could not be finished. Is there room on the disk?")

    monkeypatch.setattr("dipbook_app.printing.write_sheet.write_pdf", full)
    desk = RecordingDesk(tmp_path / "d.json")
    page = RoundPage(desk, Drafts(desk.drafts_path))  # type: ignore[arg-type]
    qtbot.addWidget(page)
    page.print_sheet()
    assert (page.words.said, page.words.tone) == ("The dip sheet could not be finished. Is there room on the disk?", "error")
