"""``dipbook add`` and ``dipbook adopt``: exit codes, words on the right stream, all or nothing, warnings in the log."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from app.real_desks import GAIN, make_log, rig_text
from dipbook import store
from dipbook.cautions import CAUTION
from dipbook.exchange.times import rfc3339
from dipbook.records import RIG, SAMPLES, WARNING
from dipbook_app.cli import main

pytestmark = pytest.mark.usefixtures("qapp")
MIN = 60_000


@pytest.fixture
def now() -> int:
    return round(time.time() * 1000)


@pytest.fixture
def log(tmp_path: Path, now: int) -> Path:
    return make_log(tmp_path / "a.dipbook", rig_text(GAIN), now - 600 * MIN)


def readings(folder: Path, start: int, *suction: float) -> Path:
    file = folder / "readings.csv"
    file.write_text("time,Settling [in],Suction [in]\n" + "".join(
        f"{rfc3339(start + n * 10 * MIN)},60,{level}\n" for n, level in enumerate(suction)), encoding="utf-8")
    return file


def kinds(log: Path) -> list[str]:
    with store.open(log, write=False, create=False) as opened:
        return [r.kind for r in opened.records() if r.kind != "not watched"]


def add(log: Path, *arguments: object) -> int:
    return main(["add", str(log), *map(str, arguments), "--by", "R. Moe"])


def test_files_are_added_and_the_warnings_that_they_raise_are_in_the_log(
        log: Path, tmp_path: Path, now: int, capsys: pytest.CaptureFixture[str]) -> None:
    file = readings(tmp_path, now - 60 * MIN, 60, 60, 63)
    entries = tmp_path / "entries.csv"
    entries.write_text(f"time,kind,remark\n{rfc3339(now - 50 * MIN)},remark,shaker\n", encoding="utf-8")
    assert add(log, "--readings", file, "--entries", entries) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert "readings.csv: 3 rows, 6 dips, 6 new" in out
    assert "Added: 6 dips and 1 entry." in out
    assert "RAISED  gain: Gain 10.7 bbl, limit 5.0 bbl" in out
    assert out.rstrip().endswith(CAUTION)
    assert kinds(log) == [RIG, SAMPLES, "remark", WARNING]
    with store.open(log, write=False, create=False) as opened:
        assert {r.author for r in opened.records(kinds=[SAMPLES])} == {"R. Moe"}
        assert opened.verify() == ()


def test_the_same_file_twice_adds_nothing_and_says_so(log: Path, tmp_path: Path, now: int,
                                                      capsys: pytest.CaptureFixture[str]) -> None:
    file = readings(tmp_path, now - 60 * MIN, 60, 60)
    assert add(log, "--readings", file) == 0
    before = kinds(log)
    capsys.readouterr()
    assert add(log, "--readings", file) == 0
    out, _ = capsys.readouterr()
    assert "4 dips, 0 new" in out
    assert "Nothing new: these files are in the log already." in out
    assert kinds(log) == before


def test_a_bad_row_refuses_both_files_with_its_place(log: Path, tmp_path: Path, now: int,
                                                     capsys: pytest.CaptureFixture[str]) -> None:
    entries = tmp_path / "entries.csv"
    entries.write_text(f"time,kind,from,to,volume\n{rfc3339(now - 50 * MIN)},transfer,Suction,Sucton,5 bbl\n",
                       encoding="utf-8")
    assert add(log, "--readings", readings(tmp_path, now - 60 * MIN, 60), "--entries", entries) == 2
    _out, err = capsys.readouterr()
    assert "entries.csv, line 2, column to: " in err
    assert err.endswith("Nothing was added.\n")
    assert kinds(log) == [RIG]


@pytest.mark.parametrize(("arguments", "words"), [
    ([], "Nothing to add: give --readings, --entries or both."),
    (["--readings", "none.csv"], "The file can't be opened"),
])
def test_what_cant_be_added_is_said_in_words(log: Path, arguments: list[str], words: str,
                                             capsys: pytest.CaptureFixture[str]) -> None:
    assert add(log, *arguments) == 2
    assert words in capsys.readouterr().err


def test_a_log_that_isnt_there_or_is_open_elsewhere_is_refused(log: Path, tmp_path: Path, now: int,
                                                               capsys: pytest.CaptureFixture[str]) -> None:
    file = readings(tmp_path, now - 60 * MIN, 60)
    assert add(tmp_path / "none.dipbook", "--readings", file) == 2
    assert "none.dipbook" in capsys.readouterr().err
    assert not (tmp_path / "none.dipbook").exists()
    with store.open(log):
        assert add(log, "--readings", file) == 2
    assert capsys.readouterr().err


def test_add_runs_without_a_display_in_a_process_of_its_own(log: Path, tmp_path: Path, now: int) -> None:
    env = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")}
    command = "import sys\nfrom dipbook_app.cli import main\nsys.exit(main())\n"
    done = subprocess.run([sys.executable, "-W", "error", "-c", command, "add", str(log), "--readings",
                           str(readings(tmp_path, now - 60 * MIN, 60, 63)), "--by", "R. Moe"],
                          capture_output=True, timeout=120, check=False,
                          env=env | {"PYTHONPATH": os.pathsep.join(sys.path)})
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"RAISED  gain" in done.stdout
    assert kinds(log)[-1] == WARNING


@pytest.mark.parametrize("correction", [False, True])
def test_a_rig_file_is_adopted_with_its_differences_said(log: Path, tmp_path: Path, now: int, correction: bool,
                                                         capsys: pytest.CaptureFixture[str]) -> None:
    rig = tmp_path / "rig.toml"
    rig.write_text(rig_text(GAIN).replace('brim = "9 ft"', 'brim = "8 ft"'), encoding="utf-8")
    extra = ["--correction"] if correction else []
    assert main(["adopt", str(log), str(rig), "--by", "R. Moe", "--reason", "measured", *extra]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert "Tank Suction, brim: 108 in → 96 in" in out
    with store.open(log, write=False, create=False) as opened:
        first, second = opened.records(kinds=[RIG])
    assert (second.author, second.reason) == ("R. Moe", "measured")
    assert second.supersedes == (first.uid if correction else None)
    assert (second.t_ms == first.t_ms) is correction
    assert main(["adopt", str(log), str(rig), "--by", "R. Moe", "--reason", "measured"]) == 0
    assert "nothing was changed" in capsys.readouterr().out
    with store.open(log, write=False, create=False) as opened:
        assert len(opened.records(kinds=[RIG])) == 2


def test_a_table_in_a_file_of_its_own_is_adopted_into_the_logs_text(log: Path, tmp_path: Path,
                                                                    capsys: pytest.CaptureFixture[str]) -> None:
    """The log needs no other file: its copy has the rows, and a new survey counts when it is adopted again."""
    text = rig_text(GAIN)
    start = text.index("[tank.shape]", text.index('"Reserve 1"'))
    end = text.index("\n[[", start)
    rig, table = tmp_path / "rig.toml", tmp_path / "reserve.csv"
    rig.write_text(text[:start] + '[tank.shape]\nkind = "strapping"\nfile = "reserve.csv"\n' + text[end:], encoding="utf-8")
    table.write_text("level [in], volume [bbl]\n0, 0\n60, 200\n120, 420\n", encoding="utf-8")
    adopt = ["adopt", str(log), str(rig), "--by", "R. Moe", "--reason", "surveyed"]
    assert main(adopt) == 0
    assert "Tank Reserve 1, shape: box 30 ft × 8 ft × 9 ft → strapping table" in capsys.readouterr().out
    assert main(adopt) == 0
    assert "nothing was changed" in capsys.readouterr().out
    table.write_text("level [in], volume [bbl]\n0, 0\n60, 200\n120, 430\n", encoding="utf-8")
    assert main(adopt) == 0
    assert "Tank Reserve 1 re-strapped (3 rows, to 430 bbl)" in capsys.readouterr().out
    table.write_text("level [in], volume [bbl]\n0, 0\n60, 200\n120, 190\n", encoding="utf-8")
    assert main(adopt) == 2
    assert "reserve.csv, line 4, volume: 190 bbl doesn't rise" in capsys.readouterr().err
    table.unlink()
    with store.open(log, write=False, create=False) as opened:
        texts = [str(record.payload["text"]) for record in opened.records(kinds=[RIG])]
    assert len(texts) == 3
    assert 'table = [["0 in", "0 bbl"], ["60 in", "200 bbl"], ["120 in", "430 bbl"]]' in texts[-1]
    assert not any("file =" in text for text in texts)


def test_a_tighter_limit_adopted_says_what_it_raises_with_the_caution(
        log: Path, tmp_path: Path, now: int, capsys: pytest.CaptureFixture[str]) -> None:
    assert add(log, "--readings", readings(tmp_path, now - 60 * MIN, 60, 60, 61)) == 0
    assert "RAISED" not in capsys.readouterr().out
    rig = tmp_path / "rig.toml"
    rig.write_text(rig_text(GAIN.replace('"5 bbl"', '"3 bbl"')), encoding="utf-8")
    assert main(["adopt", str(log), str(rig), "--by", "R. Moe", "--reason", "near the shoe"]) == 0
    out = capsys.readouterr().out
    assert "RAISED  gain: Gain 3.6 bbl, limit 3.0 bbl" in out
    assert out.rstrip().endswith(CAUTION)


def test_a_rig_file_with_problems_names_each_and_changes_nothing(log: Path, tmp_path: Path,
                                                                 capsys: pytest.CaptureFixture[str]) -> None:
    rig = tmp_path / "rig.toml"
    rig.write_text(rig_text(GAIN).replace('"1/4 in"', '"1/4 inn"').replace('"5 bbl"', '"5 bl"'), encoding="utf-8")
    assert main(["adopt", str(log), str(rig), "--by", "R. Moe", "--reason", "x"]) == 2
    err = capsys.readouterr().err
    assert "rig.toml, line " in err
    assert "limit" in err
    assert "dip_error" in err
    rig.write_text(rig_text(), encoding="utf-8")
    assert main(["adopt", str(log), str(rig), "--by", " ", "--reason", "x"]) == 2
    assert "Say who and why." in capsys.readouterr().err
    assert kinds(log) == [RIG]
