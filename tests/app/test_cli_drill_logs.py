"""The commands on a drill's log: what is printed says DRILL, what is a drill's stays in a drill's log."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from pypdf import PdfReader

from app.real_desks import GAIN, make_log, rig_text
from dipbook import store
from dipbook_app.cli import main
from dipbook_app.cli.opening import start_log
from dipbook_app.drilling import beginning

pytestmark = pytest.mark.usefixtures("qapp")


@pytest.fixture(scope="module")
def drill(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The files of a short drill."""
    folder = tmp_path_factory.mktemp("drill")
    assert main(["drill", "run", "degasser-started", "--seed", "1", "--out", str(folder)]) == 0
    return folder


@pytest.fixture(scope="module")
def log(drill: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log made of the drill's rig file, with the drill's files added."""
    path = tmp_path_factory.mktemp("log") / "drill.dipbook"
    start_log(path, drill / "rig.toml")
    assert main(["add", str(path), "--readings", str(drill / "readings.csv"), "--entries", str(drill / "entries.csv"), "--by", "A trainee"]) == 0
    return path


def test_the_rig_of_a_drill_makes_a_drills_log(log: Path) -> None:
    with store.open(log, None, write=False) as opened:
        assert opened.role == "drill"
        assert not beginning.in_window(opened)


def test_the_report_of_a_drill_says_so_on_every_page(log: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    to = tmp_path / "report.pdf"
    assert main(["report", str(log), "--out", str(to), "--from", "2026-01-05 06:00", "--to", "2026-01-05 08:00"]) == 0
    assert "DRILL: a training drill" in capsys.readouterr().out
    pages = [page.extract_text() for page in PdfReader(to).pages]
    assert len(pages) >= 2
    assert all("DRILL: a training drill, not the well" in " ".join(text.split()) for text in pages)


def test_a_dip_sheet_of_it_says_so(log: Path, drill: Path, tmp_path: Path) -> None:
    for source in (log, drill / "rig.toml"):
        assert main(["sheet", str(source), str(tmp_path / "s.pdf")]) == 0
        assert all("DRILL" in page.extract_text() for page in PdfReader(tmp_path / "s.pdf").pages)


def test_the_log_of_a_watch_takes_nothing_of_it(drill: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    real = make_log(tmp_path / "real.dipbook", rig_text(GAIN), round(time.time() * 1000) - 3_600_000)
    with store.open(real, write=False) as opened:
        before = [r.kind for r in opened.records()]
    for which in ("readings", "entries"):
        assert main(["add", str(real), f"--{which}", str(drill / f"{which}.csv"), "--by", "R. Moe"]) == 2
        assert "comes from a training drill" in capsys.readouterr().err
    assert main(["adopt", str(real), str(drill / "rig.toml"), "--by", "R. Moe", "--reason", "try"]) != 0
    assert "training drill" in "".join(capsys.readouterr())
    with store.open(real, write=False) as opened:
        assert [r.kind for r in opened.records() if r.kind != "not watched"] == before


def test_the_log_of_a_drill_takes_nothing_of_a_well(log: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    own = tmp_path / "readings.csv"
    own.write_text("time,Suction [in]\n2026-01-05 07:00,60\n", encoding="utf-8")
    assert main(["add", str(log), "--readings", str(own), "--by", "R. Moe"]) == 2
    assert "carries no drill's mark" in capsys.readouterr().err


def test_the_log_of_a_drill_in_the_window_takes_nothing_at_all(drill: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from dipbook.drill_run import Choice
    _, opened = beginning.begin(Choice("nothing", 1), tmp_path)
    path = opened.path
    opened.close()
    assert main(["add", str(path), "--readings", str(drill / "readings.csv"), "--by", "A trainee"]) != 0
    assert "it takes nothing more" in capsys.readouterr().err


def test_figures_verify_and_backup_know_it_too(log: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["verify", str(log)]) == 0
    assert main(["backup", str(log), str(tmp_path / "copy.dipbook")]) == 0
    with store.open(tmp_path / "copy.dipbook", "drill", write=False) as copy:
        assert copy.role == "drill"
    capsys.readouterr()
    main(["figures", str(log)])
    assert "DRILL" in capsys.readouterr().out
