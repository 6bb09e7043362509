"""A rig file that is wrong: every problem with its line, its key, and what was expected."""

from __future__ import annotations

import re

import pytest

from dipbook.errors import RigFileError
from dipbook.rig.document import LARGEST, parse, read

TEXT = """\
rig = { name = "R (invented)", invented = true }
zone = "Etc/GMT+6"
decimal = "."

[units]
level = "in"
volume = "bbl"
length = "ft"
density = "lbm/gal[US]"
flow = "gal[US]/min"

[[tank]]
name = "Settling"
role = "settling"
active = true
order = 1
gauge = "up"
offset = "1 in"
dip_error = "1/4 in"
brim = "7 ft"
fresh_for = "20 min"
internals = "1 bbl"
[tank.shape]
kind = "strapping"
table = [
    ["0 in", "0 bbl"],
    ["24 in", "25.6 bbl"],
    ["96 in", "128.2 bbl"],
]

[[tank]]
name = "Suction"
role = "suction"
active = true
order = 2
gauge = "down"
mark = "9 ft"
dip_error = "1/4 in"
heel = "6 in"
brim = "8 ft"
percent_of = "level"
[tank.shape]
kind = "box"
length = "30 ft"
width = "8 ft"
height = "9 ft"

[[pump]]
name = "1"
output = "0.102 bbl"

[[pump]]
name = "2"
type = "duplex"
liner = "6 in"
stroke = "16 in"
rod = "2.5 in"
efficiency = 0.9

[hole]
capacity = "0.1458 bbl/ft"
annulus = "250 bbl"
carried_off = 1

[pipe]
steel = "0.00759 bbl/ft"
bore = "0.01776 bbl/ft"
stand = "93 ft"
float = "closed"

[drain_back]
at = [["300 gal[US]/min", "8 bbl"], ["600 gal[US]/min", "12 bbl"]]
falling = "60 s"
rising = "40 s"

[[limit]]
name = "gain"
kind = "gain"
on = "active"
value = "5 bbl"
deadband = "2 bbl"
growth = "1 bbl"
after = "1 reading"
set_by = "A. Crew"
reason = "demo"
since = "2026-01-05"

[[limit]]
name = "high"
kind = "high"
on = "Suction"
value = "7 ft"
deadband = "3 in"
set_by = "A. Crew"
reason = "demo"
since = "2026-01-05"

[[limit]]
name = "late"
kind = "overdue"
on = "active"
value = "30 min"
set_by = "A. Crew"
reason = "demo"
since = "2026-01-05"
"""

AFTER = {"limit.gain": "name = \"gain\"", "limit.high": "name = \"high\"", "limit.late": "name = \"late\"",
         "tank.Suction": "name = \"Suction\"", "tank.Settling": "name = \"Settling\"", "pump.1": "name = \"1\"",
         "pump.2": "name = \"2\"", "hole": "[hole]", "pipe": "[pipe]", "drain_back": "[drain_back]",
         "units": "[units]", "": "rig = "}
"""Where each table begins."""

TABLE = re.compile(r"^(tank\.\w+|pump\.\w+|limit\.\w+|hole|pipe|drain_back|units)?")


def problems(text: str) -> tuple[str, ...]:
    with pytest.raises(RigFileError) as caught:
        parse(text)
    assert all(problem in str(caught.value) for problem in caught.value.problems)
    return caught.value.problems


def line_of(text: str, snippet: str, after: str = "") -> int:
    """The line, from 1, of the first ``snippet`` after ``after``."""
    return text.count("\n", 0, text.index(snippet, text.index(after))) + 1


def edited(label: str, old: str, new: str) -> tuple[str, int]:
    """The text with ``old`` replaced within its table, and the line where it stood."""
    match = TABLE.match(label)
    start = TEXT.index(AFTER[match[0] if match else ""])
    at = TEXT.index(old, start)
    return TEXT[:at] + new + TEXT[at + len(old):], TEXT.count("\n", 0, at) + 1


REPLACED = [
    # label, what stood there, what stands there now, words of the message
    ("tank.Suction.gauge", '"down"', '"sideways"', '"sideways" isn\'t a gauge; expected "up" or "down"'),
    ("tank.Suction.gauge", '"down"', "3", '3 isn\'t a gauge; expected "up" or "down"'),
    ("tank.Suction.role", '"suction"', '"suktion"', '(did you mean "suction"?)'),
    ("tank.Suction.active", "true", '"true"', "expected true or false, without quotes"),
    ("tank.Suction.order", "2", "1", "1 is already the order of Settling"),
    ("tank.Suction.order", "2", "0", "expected a whole number from 1"),
    ("tank.Suction.order", "2", "2.5", "expected a whole number from 1"),
    ("tank.Suction.heel", '"6 in"', '"8 ft"', '"8 ft" isn\'t below the brim, 96 in'),
    ("tank.Suction.heel", '"6 in"', '"-6 in"', "below zero"),
    ("tank.Suction.heel", '"6 in"', '"6 bbl"', "6 bbl"),
    ("tank.Suction.heel", '"6 in"', '"6 inn"', "inn"),
    ("tank.Suction.heel", '"6 in"', "true", "true isn't a quantity"),
    ("tank.Suction.heel", '"6 in"', "nan", "nan isn't a quantity"),
    ("tank.Suction.heel", '"6 in"', "inf", "inf isn't a quantity"),
    ("tank.Suction.brim", '"8 ft"', '"10 ft"', '"10 ft" is above the top of the shape, 108 in'),
    ("tank.Suction.mark", '"9 ft"', '"7 ft"', '"7 ft" is below the brim, 96 in'),
    ("tank.Suction.mark", '"9 ft"', '"30 ft"', "more than 5 m above the brim"),
    ("tank.Suction.dip_error", '"1/4 in"', '"0 in"', "isn't above 0"),
    ("tank.Suction.dip_error", '"1/4 in"', '"3 ft"', "too large to be real; expected from"),
    ("tank.Suction.percent_of", '"level"', '"height"', 'expected "level" or "volume"'),
    ("tank.Suction.shape.kind", '"box"', '"ball"', '"ball" isn\'t a shape'),
    ("tank.Suction.shape.length", '"30 ft"', '"300 ft"', "too large to be real; expected from 0.328 ft to 98.4 ft"),
    ("tank.Suction.shape.length", '"30 ft"', '"0 ft"', "isn't above 0"),
    ("tank.Suction.shape.length", '"30 ft"', '"3 in"', "too small to be real"),
    ("tank.Suction.shape.length", '"30 ft"', '"30 kg"', "30 kg"),
    ("tank.Suction.shape.length", '"30 ft"', "[30]", "a list isn't a quantity"),
    ("tank.Suction.name", '"Suction"', '"Active"', '"Active" means something else'),
    ("tank.Suction.name", '"Suction"', '"all surface"', "means something else"),
    ("tank.Suction.name", '"Suction"', '"watched"', "means something else"),
    ("tank.Suction.name", '"Suction"', '"flow line"', "means something else"),
    ("tank.Suction.name", '"Suction"', '"none"', "means something else"),
    ("tank.Suction.name", '"Suction"', '"pump 1"', "means something else"),
    ("tank.Suction.name", '"Suction"', '"Suction time"', "means something else"),
    ("tank.Suction.name", '"Suction"', '"Suction [in]"', "expected a name without them"),
    ("tank.Suction.name", '"Suction"', '"settling"', '"settling" is already the tank of line 13'),
    ("tank.Suction.name", '"Suction"', '" "', "is blank"),
    ("tank.Suction.name", '"Suction"', "7", "7 isn't a text; expected it in quotes"),
    ("tank.Settling.offset", '"1 in"', '"-1 in"', "below zero"),
    ("tank.Settling.internals", '"1 bbl"', '"100 bbl"', "more than half of the tank"),
    ("tank.Settling.fresh_for", '"20 min"', '"20"', "has no unit"),
    ("tank.Settling.fresh_for", '"20 min"', "20", "20 has no unit"),
    ("tank.Settling.fresh_for", '"20 min"', '"3 d"', "too large to be real"),
    ("tank.Settling.shape.table row 2", '"24 in"', '"0 in"', "expected a level above that of the row before"),
    ("tank.Settling.shape.table row 3", '"128.2 bbl"', '"25 bbl"', "expected a volume above that of the row before"),
    ("tank.Settling.shape.table row 3", '["96 in", "128.2 bbl"]', '["96 in"]', "isn't a row of level and volume; expected rows like"),
    ("tank.Settling.shape.table row 1", '"0 bbl"', '"0 ft"', "0 ft"),
    ("pump.2.name", '"2"', '"1"', '"1" is already the pump of line'),
    ("pump.2.type", '"duplex"', '"quadruplex"', 'expected "triplex" or "duplex"'),
    ("pump.2.rod", '"2.5 in"', '"6.5 in"', "isn't thinner than the liner"),
    ("pump.2.liner", '"6 in"', "6", "6 has no unit"),
    ("pump.2.efficiency", "0.9", "90", "90 is out of range; expected a share from 0.5 to 1"),
    ("pump.2.efficiency", "0.9", '"0.9"', "isn't a number"),
    ("pump.1.output", '"0.102 bbl"', '"102 bbl"', "too large to be real"),
    ("hole.capacity", '"0.1458 bbl/ft"', "0.1458", "0.1458 has no unit"),
    ("hole.capacity", '"0.1458 bbl/ft"', '"0.02 bbl/ft"', "expected a hole that the pipe goes into"),
    ("hole.carried_off", "1\n", "1.5\n", "expected a share from 0 to 1"),
    ("hole.carried_off", "1\n", "true\n", "isn't a number"),
    ("pipe.float", '"closed"', '"shut"', 'expected "closed" or "open"'),
    ("pipe.stand", '"93 ft"', '"930 ft"', "too large to be real"),
    ("drain_back.at row 1", '"8 bbl"', '"8 ft"', "8 ft"),
    ("drain_back.at row 1", '"8 bbl"', "[8]", "a list isn't a quantity"),
    ("drain_back.at", '"600 gal[US]/min"', '"200 gal[US]/min"', "has rows that don't rise"),
    ("drain_back.at row 1", '"300 gal[US]/min"', '"0 gal[US]/min"', "has a volume; expected 0 there"),
    ("drain_back.rising", '"40 s"', '"0 s"', "isn't above 0"),
    ("limit.gain.value", '"5 bbl"', '"5 ft"', "5 ft"),
    ("limit.gain.value", '"5 bbl"', '"0 bbl"', "isn't above 0"),
    ("limit.gain.value", '"5 bbl"', '"2000 bbl"', "more than all tanks hold"),
    ("limit.gain.deadband", '"2 bbl"', '"5 bbl"', '"5 bbl" isn\'t below the value, "5 bbl"'),
    ("limit.gain.deadband", '"2 bbl"', '"2 in"', "2 in"),
    ("limit.gain.growth", '"1 bbl"', '"0 bbl"', "isn't above 0"),
    ("limit.gain.after", '"1 reading"', '"0 readings"', 'like "1 reading" or "15 s"'),
    ("limit.gain.after", '"1 reading"', '"soon"', 'like "1 reading" or "15 s"'),
    ("limit.gain.after", '"1 reading"', "1", 'like "1 reading" or "15 s"'),
    ("limit.gain.after", '"1 reading"', '"2 h"', "isn't a delay of at most 600 s"),
    ("limit.gain.on", '"active"', '"aktive"', '(did you mean "active"?)'),
    ("limit.gain.on", '"active"', '"Suction"', '"Suction" is one tank'),
    ("limit.gain.kind", '"gain"\non', '"gains"\non', '"gains" isn\'t a kind of limit'),
    ("limit.gain.set_by", '"A. Crew"', '""', "no limit is in force that nobody set"),
    ("limit.gain.since", '"2026-01-05"', "5", "isn't a text"),
    ("limit.high.name", '"high"', '"gain"', '"gain" is already the limit of line'),
    ("limit.high.on", '"Suction"', '"active"', '"active" isn\'t a tank; a high limit is on one tank'),
    ("limit.high.on", '"Suction"', '"Reserve"', "isn't something a limit can be on"),
    ("limit.high.value", '"7 ft"', '"8.5 ft"', "above the brim of Suction"),
    ("limit.high.value", '"7 ft"', '"400 bbl"', "above the brim of Suction"),
    ("limit.high.value", '"7 ft"', "7", "isn't a level or a volume with its unit"),
    ("limit.late.value", '"30 min"', '"30 bbl"', "30 bbl"),
    ("zone", '"Etc/GMT+6"', '"America/Chicgo"', 'did you mean "America/Chicago"?'),
    ("zone", '"Etc/GMT+6"', '"../etc/passwd"', "isn't a time zone of the IANA list"),
    ("zone", '"Etc/GMT+6"', '"America"', "isn't a time zone of the IANA list"),
    ("decimal", '"."', '";"', 'expected "." or ","'),
    ("rig.invented", "true", "1", "expected true or false"),
    ("units.level", '"in"', '"furlong"', "furlong"),
    ("units.level", '"in"', '"bbl"', '"bbl" is a unit of volume; expected a unit like "in"'),
    ("units.length", '"ft"', '"ft in"', "is a way of writing a level"),
]


@pytest.mark.parametrize(("label", "old", "new", "words"), REPLACED, ids=lambda one: str(one)[:30])
def test_a_wrong_value_is_refused_with_its_place(label, old, new, words):
    text, line = edited(label, old, new)
    if label.endswith(".name"):  # the message uses the name as it now stands
        name = new.strip('" ') if new.startswith('"') and new.strip('" ') else "number 2"
        label = f"{label.split('.')[0]}.{name}.name"
    found = [one for one in problems(text) if one.startswith(f"rig.toml, line {line}, {label}: ")]
    assert len(found) == 1, problems(text)
    assert words in found[0]


@pytest.mark.parametrize(("label", "line"), [
    ("tank.Suction.name", 'name = "Suction"\n'), ("tank.Suction.role", 'role = "suction"\n'),
    ("tank.Suction.active", "active = true\n"), ("tank.Suction.gauge", 'gauge = "down"\n'),
    ("tank.Suction.mark", 'mark = "9 ft"\n'), ("tank.Suction.shape.width", 'width = "8 ft"\n'),
    ("tank.Suction.shape.kind", 'kind = "box"\n'), ("pump.1.output", 'output = "0.102 bbl"\n'),
    ("pump.2.rod", 'rod = "2.5 in"\n'), ("pump.2.type", 'type = "duplex"\n'),
    ("pipe.steel", 'steel = "0.00759 bbl/ft"\n'), ("pipe.stand", 'stand = "93 ft"\n'),
    ("drain_back.at", 'at = [["300 gal[US]/min", "8 bbl"], ["600 gal[US]/min", "12 bbl"]]\n'),
    ("drain_back.falling", 'falling = "60 s"\n'), ("drain_back.rising", 'rising = "40 s"\n'),
    ("limit.gain.name", 'name = "gain"\n'), ("limit.gain.kind", 'kind = "gain"\n'),
    ("limit.gain.on", 'on = "active"\n'), ("limit.gain.value", 'value = "5 bbl"\n'),
    ("limit.gain.deadband", 'deadband = "2 bbl"\n'), ("limit.gain.set_by", 'set_by = "A. Crew"\n'),
    ("limit.gain.reason", 'reason = "demo"\n'), ("limit.gain.since", 'since = "2026-01-05"\n'),
    ("limit.high.deadband", 'deadband = "3 in"\n'), ("limit.late.value", 'value = "30 min"\n'),
    ("units.level", 'level = "in"\n'), ("units.volume", 'volume = "bbl"\n'), ("units.length", 'length = "ft"\n'),
    ("zone", 'zone = "Etc/GMT+6"\n'), ("rig", 'rig = { name = "R (invented)", invented = true }\n'),
])
def test_a_missing_key_is_refused_at_its_table(label, line):
    text, _ = edited(label, line, "")
    shown = label.replace("tank.Suction.name", "tank.number 2.name").replace("limit.gain.name", "limit.number 1.name")
    (found,) = [one for one in problems(text) if f", {shown}: is missing; " in one]
    if label.startswith(("tank", "pump", "limit")):
        kind = label.split(".")[0]
        header = "[tank.shape]" if ".shape." in label else f"[[{kind}]]"
        before = [n for n, row in enumerate(text.splitlines(), 1) if row == header]
        number = {"tank.Suction": 1, "pump.1": 0, "pump.2": 1, "limit.gain": 0, "limit.high": 1,
                  "limit.late": 2}[".".join(label.split(".")[:2])]
        assert found.startswith(f"rig.toml, line {before[number]}, ")


@pytest.mark.parametrize(("label", "old", "new", "words"), [
    ("tank.Suction.heal", "heel", "heal", 'did you mean "heel"?'),
    ("tank.Suction.colour", "heel", "colour", "isn't a key of the rig file here"),
    ("tank.Suction.shape.lenght", "length", "lenght", 'did you mean "length"?'),
    ("tank.Suction.offset", "heel", "offset", 'is only for a tank gauged "up"'),
    ("tank.Settling.mark", "offset", "mark", 'is only for a tank gauged "down"'),
    ("pump.2.bore", "rod", "bore", "isn't a key"),
    ("limit.gain.grow", "growth", "grow", 'did you mean "growth"?'),
    ("limit.late.deadband", "set_by", "deadband", "has no meaning for a limit of kind overdue"),
    ("drain_back.curve", 'rising = "40 s"', 'rising = "40 s"\ncurve = [["1 min", "6 bbl"]]', "one of the two"),
    ("pump.1.liner", "output", "liner", "102 bbl"),
    ("units.mass", "density", "mass", "isn't a key"),
    ("zoen", "zone", "zoen", 'did you mean "zone"?'),
])
def test_a_key_that_does_not_belong_is_refused(label, old, new, words):
    text, line = edited(label, old, new)
    line += new.count("\n")
    found = [one for one in problems(text) if one.startswith(f"rig.toml, line {line}, {label}: ")]
    assert any(words in one for one in found), problems(text)


def test_a_curve_does_not_give_back_more_than_the_lines_hold():
    text, _ = edited("drain_back", 'falling = "60 s"', 'curve = [["1 min", "6 bbl"], ["2 min", "13 bbl"]]')
    (found,) = problems(text)
    assert "drain_back.curve: gives back more than the lines hold" in found


def test_all_problems_are_listed_at_once_in_the_order_of_their_lines():
    text = TEXT.replace('"down"', '"sideways"').replace('"Etc/GMT+6"', '"Nowhere"').replace('"2 bbl"', '"9 bbl"')
    text = text.replace('reason = "demo"\n', "")
    found = problems(text)
    assert [one.split(",")[2].split(":")[0].strip() for one in found] == [
        "zone", "tank.Suction.gauge", "limit.gain.reason", "limit.gain.deadband", "limit.high.reason",
        "limit.late.reason"]
    lines = [int(one.split("line ")[1].split(",")[0]) for one in found]
    assert lines == sorted(lines)


def test_the_head_says_how_many_and_that_nothing_was_changed():
    with pytest.raises(RigFileError, match=r"^my\.toml was not used: 1 problem\. Nothing was changed\.\nmy\.toml, line"):
        parse(TEXT.replace('"down"', '"sideways"'), "my.toml")


def test_nothing_of_a_file_without_tanks_is_used():
    text = TEXT[:TEXT.index("[[tank]]")] + TEXT[TEXT.index("[[pump]]"):]
    assert any("tank: is missing; expected a [[tank]] table" in one for one in problems(text))


@pytest.mark.parametrize(("old", "new", "words"), [
    ("[hole]", "[[hole]]", "hole: isn't one table; expected [hole] once, in single brackets"),
    ("[[pump]]\nname = \"1\"\noutput = \"0.102 bbl\"\n\n[[pump]]", "[pump]",
     "pump: isn't a row of tables; expected [[pump]]"),
    ("[tank.shape]\nkind = \"box\"\nlength = \"30 ft\"\nwidth = \"8 ft\"\nheight = \"9 ft\"", "shape = 3",
     "tank.Suction.shape: 3 isn't a table"),
])
def test_brackets_of_the_wrong_kind_are_explained(old, new, words):
    assert old in TEXT
    assert any(words in one for one in problems(TEXT.replace(old, new)))


@pytest.mark.parametrize(("text", "where"), [
    ('zone = "Etc\n', "line 1, column"),
    ("a = 1\nb = = 2\n", "line 2, column 5"),
    ("a = 1\na = 2\n", "line 2, column"),
    ("a = [1, 2\n\n", "line 3"),
    ("a = " + "[" * 5000, "too deeply"),
    ("a = " + "9" * 5000, "line 1"),
    ("a = \0", "line 1"),
])
def test_what_is_not_toml_is_refused_with_its_place(text, where):
    (found,) = problems(text)
    assert where in found


def test_a_hexadecimal_number_of_thousands_of_digits_is_refused():
    assert any("a very long number isn't" in one for one in problems(TEXT.replace("order = 2", "order = 0x" + "f" * 9000)))


# ---- reading from disk ----

def test_a_missing_file_is_said_to_be_missing(tmp_path):
    with pytest.raises(RigFileError, match="there is no such file"):
        read(tmp_path / "rig.toml")


def test_a_folder_is_not_a_rig_file(tmp_path):
    with pytest.raises(RigFileError, match="is a folder"):
        read(tmp_path)


def test_a_file_that_is_not_utf_8_is_refused_with_the_place(tmp_path):
    path = tmp_path / "rig.toml"
    path.write_bytes(b'zone = "x"\n# \xc3\xa9 \xb1\n')
    with pytest.raises(RigFileError, match=r"rig\.toml, line 2, column 5: the byte B1 isn't UTF-8"):
        read(path)


def test_utf_16_is_named(tmp_path):
    path = tmp_path / "rig.toml"
    path.write_text(TEXT, encoding="utf-16")
    with pytest.raises(RigFileError, match="UTF-16; save it as UTF-8"):
        read(path)


def test_a_byte_order_mark_does_no_harm(tmp_path):
    path = tmp_path / "rig.toml"
    path.write_text(TEXT, encoding="utf-8-sig")
    assert read(path).text == TEXT


def test_line_ends_of_windows_are_kept(tmp_path):
    path = tmp_path / "rig.toml"
    path.write_bytes(TEXT.replace("\n", "\r\n").encode())
    assert read(path).text == TEXT.replace("\n", "\r\n")
    with pytest.raises(RigFileError) as caught:
        parse(TEXT.replace("\n", "\r\n").replace('"down"', '"sideways"'))
    assert caught.value.problems[0].startswith(f"rig.toml, line {line_of(TEXT, 'down')}, ")


def test_a_file_of_more_than_a_megabyte_is_refused(tmp_path):
    path = tmp_path / "rig.toml"
    path.write_text(TEXT + "#" * LARGEST, encoding="utf-8")
    with pytest.raises(RigFileError, match="larger than 1 MB"):
        read(path)


def test_a_path_that_cannot_be_one_is_refused():
    with pytest.raises(RigFileError, match="can't be opened"):
        read("rig\0.toml")


@pytest.mark.parametrize(("typed", "said"), [
    ('"2.5 m"', 'Expected something like "2,5 m".'), ('"8.0 ft"', 'Expected something like "8,0 ft".'),
    ('"2.500 m"', 'Expected something like "9 ft".'),  # it may be thousands: nobody guesses which
    ('"2.5 mm3"', 'Expected something like "9 ft".')])
def test_an_example_has_the_files_own_decimal_sign(typed, said):
    text = TEXT.replace('decimal = "."', 'decimal = ","').replace('width = "8 ft"', f"width = {typed}")
    (found,) = [problem for problem in problems(text) if "shape.width" in problem]
    assert said in found


def test_an_example_of_a_capacity_has_the_files_own_decimal_sign():
    text = TEXT.replace('decimal = "."', 'decimal = ","').replace('capacity = "0.1458 bbl/ft"', "capacity = true")
    assert any('like "0,1458 bbl/ft"' in problem for problem in problems(text))
