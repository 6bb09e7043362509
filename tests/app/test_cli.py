"""The command line as a person or a script meets it: exit codes, words on the right stream, never a traceback."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from itertools import pairwise
from pathlib import Path
from random import Random

import pytest

from app.real_desks import GAIN, NOW, make_log, rig_text
from dipbook import store
from dipbook.cautions import CAUTION
from dipbook.records import Draft
from dipbook_app.cli import main, opening

DEMO = Path(__file__).parents[2] / "demo_data"
RIG, READINGS, ENTRIES = (DEMO / n for n in ("rig-larkspur.toml", "larkspur-readings.csv", "larkspur-entries.csv"))
COMMAND = "import sys\nfrom dipbook_app.cli import main\nsys.exit(main())\n"


def run(*arguments: object, cwd: Path | None = None, **environment: str) -> subprocess.CompletedProcess[bytes]:
    """The command in a process of its own, without a display."""
    env = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")}
    env |= {"PYTHONPATH": os.pathsep.join(sys.path), **environment}
    return subprocess.run([sys.executable, "-W", "error", "-c", COMMAND, *map(str, arguments)], capture_output=True,
                          timeout=120, check=False, env=env, cwd=cwd)


@pytest.fixture
def quiet(tmp_path: Path) -> tuple[Path, Path]:
    """A rig with a limit and two readings that pass none."""
    rig, readings = tmp_path / "rig.toml", tmp_path / "readings.csv"
    rig.write_text(rig_text(GAIN), encoding="utf-8")
    readings.write_text("time,Settling [in],Suction [in]\n2026-03-01T08:00:00Z,60,60\n2026-03-01T08:30:00Z,60,60.5\n",
                        encoding="utf-8")
    return rig, readings


def test_check_exits_with_0_where_nothing_was_raised_and_1_where_it_was(
        quiet: tuple[Path, Path], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", *map(str, quiet)]) == 0
    out, err = capsys.readouterr()
    assert "2 readings, 0 warnings raised" in out
    assert CAUTION in out
    assert err == ""
    assert main(["check", str(RIG), str(READINGS), "--entries", str(ENTRIES)]) == 1
    assert "2026-01-06 01:00:00  RAISED  gain: Gain 20.3 bbl, limit 5.0 bbl" in capsys.readouterr().out


def test_check_json_is_one_valid_object_a_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(RIG), str(READINGS), "--entries", str(ENTRIES), "--json"]) == 1
    out, err = capsys.readouterr()
    assert err == ""
    lines = [json.loads(line, parse_constant=lambda name: pytest.fail(name)) for line in out.splitlines()]
    assert [x["type"] for x in lines].count("balance") == 25
    assert lines[-1]["type"] == "summary"
    assert CAUTION not in out


def test_check_says_the_same_in_any_zone_locale_hash_seed_and_order_of_rows(tmp_path: Path) -> None:
    def shuffled(file: Path, seed: int) -> Path:
        head, *rows = file.read_bytes().splitlines(keepends=True)
        Random(seed).shuffle(rows)
        copy = tmp_path / str(seed) / file.name
        copy.parent.mkdir(exist_ok=True)
        copy.write_bytes(b"".join([head, *rows]))
        return copy

    outs = []
    for seed, zone, locale in ((0, "UTC", "C"), (1, "Asia/Kathmandu", "C.UTF-8"), (4242, "America/St_Johns", "de_DE")):
        readings, entries = (READINGS, ENTRIES) if not seed else (shuffled(READINGS, seed), shuffled(ENTRIES, seed))
        for extra in ([], ["--json"]):
            done = run("check", RIG, readings, "--entries", entries, *extra, TZ=zone, LC_ALL=locale,
                       PYTHONHASHSEED=str(seed))
            assert done.returncode == 1, done.stderr
            assert done.stderr == b""
            outs.append(done.stdout)
    assert len(outs[0].splitlines()) > 28
    assert outs[0] == outs[2] == outs[4]
    assert outs[1] == outs[3] == outs[5]


def test_check_says_the_same_of_changes_at_one_time_whatever_the_hash_seed(tmp_path: Path) -> None:
    """Sets of names must not decide the order of findings, nor that of a sum."""
    rig, readings, entries = (tmp_path / n for n in ("rig.toml", "readings.csv", "entries.csv"))
    rig.write_text(rig_text(GAIN), encoding="utf-8")
    readings.write_text("time,Settling [in]\n2026-03-01T08:00:00Z,60\n", encoding="utf-8")
    entries.write_text("time,kind,tank,state\n" + "".join(
        f"2026-03-01T0{7 + i}:30:00Z,line-up,{tank},{state}\n"
        for i in range(2) for tank, state in (("Suction", "out"), ("Reserve 1", "in"), ("Settling", "out"))),
        encoding="utf-8")
    outs = {run("check", rig, readings, "--entries", entries, "--json", PYTHONHASHSEED=str(seed)).stdout
            for seed in (0, 1, 2, 3)}
    assert len(outs) == 1
    assert outs.pop().count(b"its worth isn't known") >= 2


def test_check_names_every_problem_on_standard_error_and_writes_nothing_else(
        quiet: tuple[Path, Path], capsys: pytest.CaptureFixture[str]) -> None:
    rig, readings = quiet
    with readings.open("a", encoding="utf-8") as file:
        file.write("2026-03-01T09:00:00Z,60,sixty\nnoon,60,60\n")
    assert main(["check", str(rig), str(readings), "--json"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert [line.split(": ")[0] for line in err.splitlines()] == [
        "readings.csv, line 4, column Suction [in], Suction", "readings.csv, line 5, column time"]


def spoil_encoding(rig: Path, readings: Path) -> None:
    readings.write_bytes(b"time,Suction [in]\n2026-03-01T08:00:00Z,6\xff0\n")


def spoil_order(rig: Path, readings: Path) -> None:
    readings.write_text("time,Suction [in]\n2026-03-01T08:00:00Z,60\n2026-03-01T08:00:00Z,61\n", encoding="utf-8")


def spoil_length(rig: Path, readings: Path) -> None:
    readings.write_bytes(b"time,Suction [in]\n2026-03-01T08:00:00Z," + b"6" * 10_000_000 + b"\n")


def spoil_rig(rig: Path, readings: Path) -> None:
    rig.write_text(rig_text(GAIN).replace('value = "5 bbl"', 'value = "5 furlongs"'), encoding="utf-8")


def spoil_toml(rig: Path, readings: Path) -> None:
    rig.write_text("zone = [", encoding="utf-8")


def spoil_end(rig: Path, readings: Path) -> None:
    readings.write_bytes(b"")


def spoil_zip(rig: Path, readings: Path) -> None:
    readings.write_bytes(b"PK\x03\x04" + bytes(range(256)) * 8)


@pytest.mark.parametrize(("spoil", "words"), [
    (spoil_encoding, "readings.csv, line 2"), (spoil_order, "readings.csv, line 3"), (spoil_length, "readings.csv, line 2"),
    (spoil_rig, "rig.toml, line"), (spoil_toml, "rig.toml, line 1"), (spoil_end, "readings.csv"),
    (spoil_zip, "readings.csv")])
def test_check_refuses_a_spoilt_file_with_its_place(
        quiet: tuple[Path, Path], spoil: object, words: str, capsys: pytest.CaptureFixture[str]) -> None:
    spoil(*quiet)  # type: ignore[operator]
    assert main(["check", *map(str, quiet)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert words in err
    assert len(err) < 2000


def test_paths_that_lead_nowhere_are_told_in_words(
        quiet: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rig, readings = quiet
    for arguments, words in (
            (["check", tmp_path / "no.toml", readings], "no.toml"), (["check", rig, tmp_path / "no.csv"], "no.csv"),
            (["check", rig, readings, "--entries", tmp_path / "no.csv"], "no.csv"), (["check", tmp_path, readings], "folder"),
            (["check", rig, tmp_path], "can't be opened"), (["verify", tmp_path / "no.dipbook"], "no.dipbook"),
            (["verify", rig], "not a log"), (["backup", tmp_path / "no.dipbook", tmp_path / "b"], "no.dipbook"),
            (["demo", "--picture", rig / "below"], "can't be read or written")):
        assert main([str(a) for a in arguments]) == 2
        out, err = capsys.readouterr()
        assert out == ""
        assert words in err
        assert "Traceback" not in err


def test_a_reader_that_goes_away_is_no_traceback() -> None:
    env = os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)}
    child = subprocess.Popen([sys.executable, "-W", "error", "-c", COMMAND, "check", RIG, READINGS, "--entries", ENTRIES,
                              "--json"], stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=env)
    assert child.stdout is not None
    assert child.stderr is not None
    child.stdout.close()
    err = child.stderr.read()
    child.stderr.close()
    assert child.wait(60) == 2
    assert err == b""


def test_verify_and_backup(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log = make_log(tmp_path / "a.dipbook", rig_text(GAIN))
    copy = tmp_path / "copy.dipbook"
    with store.open(log) as held:                    # both also while a desk holds it
        held.append([Draft("remark", NOW, NOW, payload={"remark": "x"})])
        assert main(["verify", str(log)]) == 0
        assert "a.dipbook: 2 records, the chain holds." in capsys.readouterr().out
        assert main(["backup", str(log), str(copy)]) == 0
        assert "Copied 2 records to" in capsys.readouterr().out
    with store.open(copy, write=False) as opened:
        assert opened.last_seq == 2
    assert main(["backup", str(log), str(copy)]) == 2
    assert "copy.dipbook" in capsys.readouterr().err


def test_verify_tells_of_an_altered_record(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    import sqlite3

    log = make_log(tmp_path / "a.dipbook", rig_text(GAIN))
    raw = sqlite3.connect(log)
    raw.execute("DROP TRIGGER record_no_update")
    raw.execute("UPDATE record SET author = 'Nobody'")
    raw.commit()
    raw.close()
    assert main(["verify", str(log)]) == 1
    out = capsys.readouterr().out
    assert "the chain holds" not in out
    assert "1" in out


def test_help_and_a_wrong_command_exit_as_usual(capsys: pytest.CaptureFixture[str]) -> None:
    for arguments, code in ((["--help"], 0), (["--version"], 0), (["chek"], 2), (["check"], 2)):
        with pytest.raises(SystemExit) as left:
            main(arguments)
        assert left.value.code == code
    assert "notawell-controlorsafetysystem" in "".join(capsys.readouterr().out.split())


def test_check_loads_no_qt() -> None:
    code = ("import sys\nfrom dipbook_app.cli import main\n"
            f"main(['check', {str(RIG)!r}, {str(READINGS)!r}])\nassert not [m for m in sys.modules if 'PySide' in m]\n")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, timeout=60, check=False,
                          env=os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)})
    assert done.returncode == 0, done.stderr


# --- without a display ------------------------------------------------------------------------------------------------


def test_the_demo_without_a_display_writes_a_picture_and_a_summary_and_says_where(tmp_path: Path) -> None:
    done = run("demo", cwd=tmp_path, XDG_CONFIG_HOME=str(tmp_path / "config"), TMPDIR=str(tmp_path))
    assert done.returncode == 0, done.stderr
    assert b"Traceback" not in done.stderr
    folder = tmp_path / "dipbook-demo"
    picture, summary = folder / "watch.png", folder / "summary.txt"
    assert sorted(p.name for p in folder.iterdir()) == ["summary.txt", "watch.png"]
    assert picture.read_bytes().startswith(b"\x89PNG")
    assert picture.stat().st_size > 20_000
    text = summary.read_text(encoding="utf-8")
    assert "Difference  +29.3 bbl" in text
    assert CAUTION in text
    assert "Gain on all surface 8.0 bbl, limit 6.0 bbl" in text
    said = done.stdout.decode()
    assert str(picture) in said
    assert str(summary) in said
    assert not (tmp_path / "config").exists() or not any((tmp_path / "config").rglob("*.json"))


def test_the_demo_without_qt_s_libraries_writes_the_summary_and_names_the_packages(
        tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setitem(sys.modules, "dipbook_app.picture", None)
    monkeypatch.setenv("QT_QPA_PLATFORM", "offscreen")
    assert main(["demo", "--picture", str(tmp_path / "there")]) == 0
    out, err = capsys.readouterr()
    assert "apt-get install" in err
    assert "summary" in out
    assert "Difference  +29.3 bbl" in (tmp_path / "there" / "summary.txt").read_text(encoding="utf-8")


def test_the_window_without_a_display_is_refused_in_words(
        quiet: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(opening, "has_display", lambda: False)
    for arguments in ([], ["watch"], ["watch", "--rig", str(quiet[0])]):
        assert main(arguments) == 2
        assert "no display" in capsys.readouterr().err
    assert not quiet[0].with_suffix(".dipbook").exists()


def test_a_log_is_started_with_a_rig_file_and_kept_with_it(
        quiet: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    rig = quiet[0]
    opened: list[Path | None] = []
    monkeypatch.setattr(opening, "has_display", lambda: True)
    monkeypatch.setattr(opening, "_window", lambda log, rig: opened.append(log) or 0)
    assert main(["watch", "--rig", str(rig)]) == 0
    assert main(["watch", "--rig", str(rig)]) == 0
    log = rig.with_suffix(".dipbook")
    assert opened == [log, log]
    with store.open(log) as held:
        (record,) = held.records()
    assert record.payload["text"] == rig.read_text(encoding="utf-8")
    assert record.reason == "adopted from rig.toml"
    other = rig.with_name("other.toml")
    other.write_text(rig_text(), encoding="utf-8")
    assert main(["watch", str(log), "--rig", str(other)]) == 0
    with store.open(log) as held:
        assert len(held.records()) == 1, "a log keeps its rig until somebody adopts another"
    assert main(["watch", "--rig", str(rig.with_name("no.toml"))]) == 2
    assert "no.toml" in capsys.readouterr().err
    assert not rig.with_name("no.dipbook").exists()



def test_a_check_loads_neither_the_store_nor_qt() -> None:
    """Each would be a good part of its time, and it needs neither."""
    told = subprocess.run(
        [sys.executable, "-c", "import sys; from dipbook_app.cli import main; code = main(sys.argv[1:]);"
                               "print([m for m in ('sqlalchemy', 'PySide6', 'scipy', 'python_calamine', "
                               "'charset_normalizer') if m in sys.modules], file=sys.stderr)",
         "check", str(RIG), str(READINGS), "--entries", str(ENTRIES)], capture_output=True, text=True, check=False)
    assert told.stderr.splitlines()[-1] == "[]", told.stderr


# --- a trip -----------------------------------------------------------------------------------------------------------

TRIPS = DEMO / "rig-larkspur-trips.toml"
CLEAN, SWABBED = DEMO / "larkspur-trip-clean.csv", DEMO / "larkspur-trip-swabbed.csv"


def test_trip_exits_with_0_where_nothing_was_raised_and_1_where_it_was(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["trip", str(TRIPS), str(CLEAN), "--pulled", "dry"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert "WARNING" not in out
    assert out.rstrip().endswith(CAUTION)
    assert main(["trip", str(TRIPS), str(SWABBED), "--pulled", "dry"]) == 1
    out, err = capsys.readouterr()
    assert err == ""
    assert [line.split(", limit")[0] for line in out.splitlines() if line.startswith("WARNING")] == [
        "WARNING  The hole took 1.7 bbl less than it should over the last 5 rows",
        "WARNING  The hole took 3.0 bbl less than it should in all"]


def test_trip_json_is_one_valid_object_a_line_and_nothing_else(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["trip", str(TRIPS), str(SWABBED), "--json", "--mud", "12 lb/gal"]) == 1
    out, err = capsys.readouterr()
    assert err == ""
    lines = [json.loads(line, parse_constant=lambda name: pytest.fail(name)) for line in out.splitlines()]
    assert [x["type"] for x in lines].count("stand") == 104
    assert [x["type"] for x in lines].count("warning") == lines[-1]["warnings_raised"] == 2
    assert next(x["what"] for x in lines if x["type"] == "finding").startswith("Nobody said how the pipe was pulled")


def test_trip_sums_as_many_rows_as_asked_and_goes_by_how_the_pipe_was_pulled(capsys: pytest.CaptureFixture[str]) -> None:
    """A stand of the demo's pipe is 0.71 bbl dry and 2.36 wet (0.00759 and 0.02535 bbl/ft, 93 ft)."""
    for options, takes in (((), "0.71"), (("--pulled", "wet"), "2.36"), (("--pulled", "bucket", "--returned", "1"), "0.71")):
        main(["trip", str(TRIPS), str(CLEAN), "--last", "3", *options])
        head, first = next((a, b) for a, b in pairwise(capsys.readouterr().out.splitlines()) if "should take" in a)
        assert "last 3" in head
        assert first.split()[5] == takes


@pytest.mark.parametrize(("rig", "trip", "words"), [
    (TRIPS, DEMO / "none.csv", "none.csv: can't be opened"), (TRIPS, DEMO, "can't be opened"),
    (DEMO / "none.toml", CLEAN, "there is no such file"), (CLEAN, CLEAN, "isn't TOML"),
    (TRIPS, TRIPS, "the first row must be the headings, one of them `time`"),
    (TRIPS, READINGS, "larkspur-readings.csv, line 1, column ")])
def test_trip_exits_with_2_and_says_why_where_it_cant_be_worked_out(rig: Path, trip: Path, words: str,
                                                                    capsys: pytest.CaptureFixture[str]) -> None:
    for options in ([], ["--json"]):
        assert main(["trip", str(rig), str(trip), *options]) == 2
        out, err = capsys.readouterr()
        assert out == ""
        assert words in err


@pytest.mark.parametrize("mud", ["heavy", "0 kg/m3", "12 bbl", "-12 lb/gal", "120 lb/gal", "nan"])
def test_trip_refuses_a_mud_that_can_t_be(mud: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["trip", str(TRIPS), str(CLEAN), f"--mud={mud}"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert f"“{mud}”" in err


def test_trip_says_where_it_can_t_tell_what_may_be_pulled(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bare = tmp_path / "rig.toml"
    bare.write_text(re.sub(r"(?ms)^\[\[section\]\].*?(?=^\[)", "", TRIPS.read_text(encoding="utf-8")), encoding="utf-8")
    assert main(["trip", str(bare), str(CLEAN), "--mud", "12 lb/gal"]) == 0
    assert "What may be pulled between two fills isn't known" in capsys.readouterr().out
    assert main(["trip", str(TRIPS), str(CLEAN), "--mud", "12 lb/gal"]) == 0
    out = capsys.readouterr().out
    assert "isn't known" not in out
    assert "Between two fills, drill pipe: 5 stands, 3.53 bbl" in out


@pytest.mark.parametrize("options", [["--pulled", "fast"], ["--run", "in"], ["--returned", "1.5"], ["--returned", "nan"],
                                     ["--returned", "most"], ["--last", "0"], ["--last", "1.5"], ["--last", "x"]])
def test_trip_refuses_options_that_mean_nothing(options: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        main(["trip", str(TRIPS), str(CLEAN), *options])
    assert left.value.code == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert options[0] in err


def test_trip_refuses_a_share_that_no_bucket_returns(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["trip", str(TRIPS), str(CLEAN), "--pulled", "wet", "--returned", "0.8"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "comes back from a bucket only" in err


def test_a_trip_loads_neither_the_store_nor_qt() -> None:
    told = subprocess.run(
        [sys.executable, "-c", "import sys; from dipbook_app.cli import main; code = main(sys.argv[1:]);"
                               "print([m for m in ('sqlalchemy', 'PySide6', 'scipy', 'python_calamine', "
                               "'charset_normalizer') if m in sys.modules], file=sys.stderr)",
         "trip", str(TRIPS), str(CLEAN)], capture_output=True, text=True, check=False)
    assert told.stderr.splitlines()[-1] == "[]", told.stderr
