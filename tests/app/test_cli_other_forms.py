"""``dipbook add`` and ``dipbook check`` on readings of other forms: refused with what is asked, read once it is said."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from app.real_desks import GAIN, make_log, rig_text
from dipbook import store
from dipbook.exchange.mapping_file import from_text
from dipbook.exchange.times import rfc3339
from dipbook.records import SAMPLES
from dipbook_app.cli import main

pytestmark = pytest.mark.usefixtures("qapp")
MIN = 60_000


@pytest.fixture
def now() -> int:
    return round(time.time() * 1000)


@pytest.fixture
def log(tmp_path: Path, now: int) -> Path:
    return make_log(tmp_path / "a.dipbook", rig_text(GAIN), now - 600 * MIN)


def pits(folder: Path, now: int, *levels: str, encoding: str = "utf-8") -> Path:
    file = folder / "pits.csv"
    file.write_text("When;Süd\n" + "".join(f"{rfc3339(now - (60 - 10 * n) * MIN)};{level}\n"
                                           for n, level in enumerate(levels)), encoding=encoding)
    return file


def mapping(folder: Path, said: str = "") -> Path:
    file = folder / "m.toml"
    file.write_text(f'format = 1\n{said}\n[[column]]\nheading = "When"\nis = "time"\n[[column]]\nheading = "Süd"\nis = "level"\n'
                    'of = "Suction"\nunit = "cm"\n', encoding="utf-8")
    return file


def add(log: Path, *arguments: object) -> int:
    return main(["add", str(log), *map(str, arguments), "--by", "R. Moe"])


def samples(log: Path) -> list[dict[str, object]]:
    with store.open(log, write=False, create=False) as opened:
        return [dict(r.payload) for r in opened.records(kinds=[SAMPLES])]


def test_unknown_columns_are_refused_with_their_place_and_how_to_say_them(log: Path, tmp_path: Path, now: int,
                                                                      capsys: pytest.CaptureFixture[str]) -> None:
    assert add(log, "--readings", pits(tmp_path, now, "150,5")) == 2
    err = capsys.readouterr().err
    assert "pits.csv, line 1, column Süd: choose what this column is, or ignore it" in err
    assert "--mapping FILE.toml" in err
    assert err.endswith("Nothing was added.\n")
    assert samples(log) == []


def test_a_mapping_reads_it_and_the_log_tells_how_it_was_read(log: Path, tmp_path: Path, now: int,
                                                          capsys: pytest.CaptureFixture[str]) -> None:
    assert add(log, "--readings", pits(tmp_path, now, "150,5", "151"), "--mapping", mapping(tmp_path)) == 0
    assert "pits.csv: 2 rows, 2 dips, 2 new" in capsys.readouterr().out
    assert 'heading = "Süd"' in str(samples(log)[0]["read_as"])
    assert add(log, "--readings", tmp_path / "pits.csv", "--mapping", tmp_path / "m.toml") == 0
    assert "Nothing new" in capsys.readouterr().out
    assert len(samples(log)) == 1


def test_an_encoding_is_refused_with_its_guess_unless_it_is_said(log: Path, tmp_path: Path, now: int,
                                                             capsys: pytest.CaptureFixture[str]) -> None:
    file = pits(tmp_path, now, "150,5", encoding="windows-1252")
    assert add(log, "--readings", file, "--mapping", mapping(tmp_path)) == 2
    err = capsys.readouterr().err
    assert "not UTF-8" in err
    assert "which is a guess" in err
    assert add(log, "--readings", file, "--mapping", mapping(tmp_path), "--encoding", "cp1252") == 0


@pytest.mark.parametrize(("option", "value", "words"), [
    ("--encoding", "rot13", "encoding 'rot13' isn't known"), ("--separator", "x", "can't be the separator"),
    ("--decimal", ";", "can't be the decimal sign")])
def test_an_option_that_cant_be_is_said(log: Path, tmp_path: Path, now: int, option: str, value: str, words: str,
                                        capsys: pytest.CaptureFixture[str]) -> None:
    assert add(log, "--readings", pits(tmp_path, now, "1"), option, value) == 2
    assert words in capsys.readouterr().err


def test_an_ambiguous_decimal_sign_is_refused_and_read_as_it_is_said(log: Path, tmp_path: Path, now: int,
                                                                 capsys: pytest.CaptureFixture[str]) -> None:
    file = pits(tmp_path, now, "1,500")
    assert add(log, "--readings", file, "--mapping", mapping(tmp_path)) == 2
    assert "decimal sign could be the point or the comma" in capsys.readouterr().err
    assert add(log, "--readings", file, "--mapping", mapping(tmp_path), "--decimal", "comma", "--separator", ";") == 0


def test_good_rows_only_is_offered_then_taken_and_says_what_it_left_out(log: Path, tmp_path: Path, now: int,
                                                                    capsys: pytest.CaptureFixture[str]) -> None:
    file = pits(tmp_path, now, "150,5", "15O", "151")
    assert add(log, "--readings", file, "--mapping", mapping(tmp_path)) == 2
    assert "--good-rows-only would leave out 1 row." in capsys.readouterr().err
    assert add(log, "--readings", file, "--mapping", mapping(tmp_path), "--good-rows-only") == 0
    assert "1 row is left out (line 3)" in capsys.readouterr().out
    left_out = samples(log)[0]["left_out"]
    assert isinstance(left_out, dict)
    assert left_out["count"] == 1


def test_a_mapping_to_fill_in_is_written_also_when_the_file_is_refused(log: Path, tmp_path: Path, now: int,
                                                                   capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "made.toml"
    assert add(log, "--readings", pits(tmp_path, now, "150,5"), "--save-mapping", target) == 2
    capsys.readouterr()
    made = from_text(target.read_text(encoding="utf-8"), "made.toml")
    assert [c.heading for c in made.columns] == ["When", "Süd"]
    assert (made.separator, made.decimal) == (";", ",")


def test_check_takes_the_same_options(tmp_path: Path, now: int, capsys: pytest.CaptureFixture[str]) -> None:
    rig = tmp_path / "rig.toml"
    rig.write_text(rig_text(GAIN), encoding="utf-8")
    file = pits(tmp_path, now, "150,5", "15O", "151")
    assert main(["check", str(rig), str(file)]) == 2
    assert "column Süd" in capsys.readouterr().err
    assert main(["check", str(rig), str(file), "--mapping", str(mapping(tmp_path)), "--good-rows-only"]) == 0
    assert "2 readings" in capsys.readouterr().out


def test_check_says_how_to_tell_what_a_column_is_and_writes_what_to_fill_in(tmp_path: Path, now: int,
                                                                           capsys: pytest.CaptureFixture[str]) -> None:
    rig = tmp_path / "rig.toml"
    rig.write_text(rig_text(GAIN), encoding="utf-8")
    file, target = pits(tmp_path, now, "150,5", "151"), tmp_path / "made.toml"
    assert main(["check", str(rig), str(file), "--save-mapping", str(target)]) == 2
    err = capsys.readouterr().err
    assert "column Süd: choose what this column is, or ignore it" in err
    assert "--mapping FILE.toml" in err
    assert "--save-mapping FILE.toml" in err
    assert f"Wrote the mapping {target}." in err
    filled = target.read_text(encoding="utf-8")
    assert '# one of time, date' in filled
    filled = filled.replace('heading = "When"\nis = ""', 'heading = "When"\nis = "time"').replace(
        'heading = "Süd"\nis = ""', 'heading = "Süd"\nis = "level"\nof = "Suction"\nunit = "cm"')
    target.write_text(filled, encoding="utf-8")
    assert main(["check", str(rig), str(file), "--mapping", str(target), "--json"]) == 0
    out = capsys.readouterr()
    assert out.err == ""
    assert '"type": "balance"' in out.out


def test_check_of_a_file_of_our_own_form_says_nothing_of_mappings(tmp_path: Path,
                                                                  capsys: pytest.CaptureFixture[str]) -> None:
    rig, file = tmp_path / "rig.toml", tmp_path / "r.csv"
    rig.write_text(rig_text(GAIN), encoding="utf-8")
    file.write_text("time,Suction [in]\n2026-03-01 01:00,6O\n", encoding="utf-8")
    assert main(["check", str(rig), str(file)]) == 2
    assert "--mapping" not in capsys.readouterr().err
