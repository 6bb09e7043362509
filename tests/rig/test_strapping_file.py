"""A strapping table in a file of its own: read with the rig file, put into its text, refused with file and line."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from dipbook.errors import RigFileError
from dipbook.rig.document import LARGEST, parse, read, with_limits
from dipbook.rig.strapping_file import LARGEST as LARGEST_TABLE
from dipbook.tanks.shapes import Strapping

IN, BBL = 0.0254, 0.158987294928
PAGE = (Path(__file__).parents[2] / "docs" / "rig-file.md").read_text(encoding="utf-8")
(EXAMPLE,) = re.findall(r"^```toml strapping\n(.*?)^```$", PAGE, re.DOTALL | re.MULTILINE)
(CSV,) = re.findall(r"^```csv\n(.*?)^```$", PAGE, re.DOTALL | re.MULTILINE)

RIG = """\
rig = { name = "R (invented)" }
zone = "Etc/GMT+6"
[units]
level = "in"
volume = "bbl"
length = "ft"
[[tank]]   # the last one
name = "Suction"
role = "suction"
active = true
gauge = "up"
[tank.shape]
""" + EXAMPLE + "# the end\n"
FILE_LINE = RIG[:RIG.index("file =")].count("\n") + 1


def put(folder: Path, table: str | bytes | None = CSV, rig: str = RIG, name: str = "suction.csv") -> Path:
    path = folder / "rig.toml"
    path.write_bytes(rig.encode("utf-8"))
    if table is not None:
        (folder / name).write_bytes(table.encode("utf-8") if isinstance(table, str) else table)
    return path


def problems(path: Path) -> tuple[str, ...]:
    with pytest.raises(RigFileError) as caught:
        read(path)
    assert "Nothing was changed" in str(caught.value)
    return caught.value.problems


def test_the_pages_example_is_read_and_stands_in_the_text(tmp_path):
    document = read(put(tmp_path))
    shape = document.rig.tanks[0].shape
    assert isinstance(shape, Strapping)
    assert shape.levels == pytest.approx((0.0, 24 * IN, 96 * IN))
    assert shape.volumes == pytest.approx((0.0, 25.6 * BBL, 128.2 * BBL))
    line = 'table = [["0 in", "0 bbl"], ["24 in", "25.6 bbl"], ["96 in", "128.2 bbl"]]'
    assert document.text == RIG.replace('file = "suction.csv"', line)


def test_the_text_stands_alone_and_reads_the_same(tmp_path):
    document = read(put(tmp_path))
    (tmp_path / "suction.csv").unlink()
    again = parse(document.text)
    assert (again.rig, again.digest, again.findings) == (document.rig, document.digest, document.findings)
    assert "file =" not in with_limits(document.text, ())


def test_without_a_comment_the_files_name_becomes_one(tmp_path):
    document = read(put(tmp_path, rig=RIG.replace("           # as surveyed", "")))
    assert '"128.2 bbl"]]  # from suction.csv\n# the end' in document.text


@pytest.mark.parametrize("line", ['[tank.shape]\nkind = "strapping"\nfile = "suction.csv"\n',
                                  'shape = { kind = "strapping", file = "suction.csv" }\n',
                                  'shape.kind = "strapping"\nshape.file = "suction.csv"\n',
                                  'shape.kind = "strapping"\nshape."file"="suction.csv" # here\n'])
@pytest.mark.parametrize("ends", ["\n", "\r\n"])
def test_the_key_is_found_however_it_is_written(tmp_path, line, ends):
    head = RIG[:RIG.index("[tank.shape]")]
    document = read(put(tmp_path, rig=(head + line).replace("\n", ends)))
    assert document.rig.tanks[0].shape.volumes[-1] == pytest.approx(128.2 * BBL)
    assert "file" not in document.text.replace("# from", "")
    assert document.text.count("\n") == (head + line).count("\n")


@pytest.mark.parametrize(("table", "decimal", "last"), [
    ("level [cm];volume [m3]\n0;0\n61;4,07\n243,8;20,4\n", ",", (2.438, 20.4)),
    ("volume [m3]\tlevel [cm]\n0\t0\n4.07\t61\n20.4\t243.8\n", ".", (2.438, 20.4)),
    ('level,volume\n0,0\n24,"25,6"\n96,"128,2"\n', ",", (96 * IN, 128.2 * BBL)),
    ("Level [ft in], Volume [gal[US]]\n0 in, 0\n2' 3 1/2\", 1000\n8 ft, 5000\n", ".", (96 * IN, 5000 * 231 * IN**3)),
    ("level,volume\n0 cm,0 m3\n61 cm,4.07 m3\n", ".", (0.61, 4.07)),
    ("\ufefflevel [in],volume [bbl]\r\n0,0\r\n24,25.6\r\n\r\n96,128.2", ".", (96 * IN, 128.2 * BBL)),
    ("# a\nlevel [in],volume [bbl]\r0,0\r96,128.2\r", ".", (96 * IN, 128.2 * BBL)),
])
def test_units_separators_and_decimal_signs_are_those_of_the_crew(tmp_path, table, decimal, last):
    document = read(put(tmp_path, table, f'decimal = "{decimal}"\n' + RIG))
    shape = document.rig.tanks[0].shape
    assert (shape.levels[-1], shape.volumes[-1]) == pytest.approx(last)


ROWS = "level [in], volume [bbl]\n0, 0\n24, 25.6\n96, 128.2\n"


@pytest.mark.parametrize(("table", "place", "words"), [
    (ROWS.replace("128.2", "24.6"), "suction.csv, line 4, volume: ", "24.6 bbl doesn't rise"),
    (ROWS.replace("96", "24"), "suction.csv, line 4, level: ", "24 in doesn't rise"),
    (ROWS.replace("25.6", "x"), "suction.csv, line 3, volume: ", "x"),
    (ROWS.replace("25.6", ""), "suction.csv, line 3, volume: ", ""),
    (ROWS.replace("25.6", "25,6"), "suction.csv, line 3: ", "has 3 cells, the headings have 2; a decimal comma needs semicolons"),
    (ROWS.replace("24,", "24 bbl,"), "suction.csv, line 3, level: ", "bbl"),
    (ROWS.replace("24,", "-24,"), "suction.csv, line 3, level: ", "below zero"),
    (ROWS.replace("96", "9600"), "suction.csv, line 4, level: ", "too large to be real"),
    (ROWS.replace("128.2", "1282000"), "suction.csv, line 4, volume: ", "too large to be real"),
    (ROWS.replace("[bbl]", "[in]"), "suction.csv, line 1, volume: ", "in"),
    (ROWS.replace("[bbl]", "[bottle]"), "suction.csv, line 1, volume: ", "bottle"),
    (ROWS.replace("[bbl]", "[bbl"), "suction.csv, line 1: ", "no closing bracket"),
    (ROWS.replace("level [in]", "height"), "suction.csv, line 1: ", "the headings must be level and volume"),
    (ROWS.replace("volume", "level"), "suction.csv, line 1: ", "the headings must be level and volume"),
    ("level [in], volume [bbl]\n0, 0\n", "suction.csv: ", "fewer than two rows"),
    ("", "suction.csv: ", "is empty"),
    ("# nothing\n\n", "suction.csv: ", "is empty"),
    (ROWS.encode("utf-16"), "suction.csv, line 1: ", "UTF-16"),
    (ROWS.replace("25.6", "25.6\u00e9").encode("latin-1"), "suction.csv, line 3: ", "E9 isn't UTF-8"),
    (ROWS + "97, 1e9\n", "suction.csv, line 5, volume: ", ""),
    (b"level,volume\n" + b"0," * LARGEST_TABLE, "suction.csv: ", "larger than 200 kB"),
    (ROWS.replace("25.6", "2\x005"), "suction.csv, line 3, volume: ", ""),
])
def test_a_wrong_table_is_refused_with_its_file_and_line(tmp_path, table, place, words):
    found = problems(put(tmp_path, table))
    assert [problem for problem in found if problem.startswith(place) and words in problem], found


def test_all_problems_of_a_table_are_listed_at_once(tmp_path):
    found = problems(put(tmp_path, ROWS.replace("25.6", "x").replace("128.2", "y")))
    assert [problem[:20] for problem in found] == ["suction.csv, line 3,", "suction.csv, line 4,"]


def test_numbers_without_a_unit_are_refused_where_levels_are_in_feet_and_inches(tmp_path):
    found = problems(put(tmp_path, ROWS.replace(" [in]", ""), RIG.replace('level = "in"', 'level = "ft in"')))
    assert "suction.csv, line 3, level: " in found[1]


@pytest.mark.parametrize(("file", "words"), [
    ("../suction.csv", "leads out of the rig file's folder"), ("/etc/hostname", "leads out of the rig file's folder"),
    ("sub/../../suction.csv", "leads out of"), ("C:/suction.csv", "leads out of"), ("C:suction.csv", "leads out of"),
    (r"\\\\host\\share\\a.csv", "leads out of"), (r"..\\suction.csv", "leads out of"), ("~/suction.csv", "leads out of"),
    ("missing.csv", "there is no file"), (".", "isn't a file"), ("", "isn't the name of a file"), ("a\\u0000b", "isn't the name"),
    ("x" * 5000, "can't be looked for"),
])
def test_a_name_that_leads_elsewhere_is_refused_at_its_line(tmp_path, file, words):
    folder = tmp_path / "rig"
    folder.mkdir()
    (tmp_path / "suction.csv").write_text(ROWS, encoding="utf-8")
    (problem,) = problems(put(folder, None, RIG.replace("suction.csv", file)))
    assert problem.startswith(f"rig.toml, line {FILE_LINE}: ")
    assert words in problem


@pytest.mark.parametrize("what", ["file", "folder"])
def test_a_link_out_of_the_folder_is_refused(tmp_path, what):
    folder, outside = tmp_path / "rig", tmp_path / "outside"
    folder.mkdir()
    outside.mkdir()
    (outside / "suction.csv").write_text(ROWS, encoding="utf-8")
    if what == "file":
        (folder / "suction.csv").symlink_to(outside / "suction.csv")
        path = put(folder, None)
    else:
        (folder / "tables").symlink_to(outside)
        path = put(folder, None, RIG.replace("suction.csv", "tables/suction.csv"))
    (problem,) = problems(path)
    assert "is a link that leads out of the rig file's folder" in problem


def test_a_folder_below_is_read_and_a_rig_file_reached_by_a_link_too(tmp_path):
    (tmp_path / "tables").mkdir()
    path = put(tmp_path, ROWS, RIG.replace("suction.csv", "tables/suction.csv"), "tables/suction.csv")
    assert read(path).rig.tanks[0].shape.levels[-1] == pytest.approx(96 * IN)
    link = tmp_path / "linked"
    link.symlink_to(tmp_path)
    assert read(link / "rig.toml").rig == read(path).rig


@pytest.mark.parametrize("value", ["3", "true", '["a.csv"]', "{ a = 1 }"])
def test_a_name_that_is_no_text_is_refused(tmp_path, value):
    (problem,) = problems(put(tmp_path, rig=RIG.replace('"suction.csv"', value)))
    assert problem.startswith(f"rig.toml, line {FILE_LINE}: file isn't the name of a file")


def test_tables_that_make_the_text_too_large_are_refused(tmp_path):
    row = "\n".join(f"{n / 1000:.12f}, {n / 1000:.12f}" for n in range(1, 4900))
    tank = RIG[RIG.index("[[tank]]"):]
    many = RIG + "".join(tank.replace('"Suction"', f'"T{n}"') for n in range(9))
    (problem,) = problems(put(tmp_path, "level [in], volume [bbl]\n" + row + "\n", many))
    assert "larger than 1 MB with its strapping tables in it" in problem
    assert LARGEST == 1_000_000


def test_a_rig_file_that_is_not_toml_says_so_first(tmp_path):
    (problem,) = problems(put(tmp_path, None, RIG + "x = = 1\n"))
    assert "this isn't TOML" in problem
