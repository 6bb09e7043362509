"""What is typed over a rig's text: it reads as typed, and all that wasn't typed keeps every character."""

from __future__ import annotations

import difflib
import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from builders import BBL, FT, IN
from dipbook.errors import RigFileError
from dipbook.rig.keys import TABLES, keys_of_parts
from dipbook.rig.parsing import check, parse
from dipbook.rig.proposal import Proposal
from dipbook.tanks.shapes import Shape, Strapping, VerticalCylinder
from ledgers import RIG

HERE = Path(__file__).parents[2]
TEXT = (HERE / "demo_data" / "rig-larkspur.toml").read_text(encoding="utf-8")
BARE = TEXT[:TEXT.index("[[string]]")] + TEXT[TEXT.index("[drain_back]"):]
"""The same without string, sections and rule for filling."""
TRIPS = (HERE / "demo_data" / "rig-larkspur-trips.toml").read_text(encoding="utf-8")
STACKED = TEXT.replace('kind = "vertical cylinder"\ndiameter = "5 ft"\nheight = "10 ft"', '''kind = "stack"
parts = [
    { kind = "frustum", bottom_diameter = "4 ft", top_diameter = "5 ft", height = "4 ft" },   # the cone
    { kind = "vertical cylinder", diameter = "5 ft", height = "6 ft" },
]''')
TANKS = ("Sand Trap", "Settling", "Degasser", "Desander", "Suction", "Reserve 1", "Reserve 2", "Slug", "Trip")


def lines(old: str, new: str) -> list[str]:
    """Lines that came and went, those that are blank aside."""
    return [line for line in difflib.unified_diff(old.splitlines(), new.splitlines(), n=0, lineterm="")
            if not line.startswith(("---", "+++", "@@")) and line[1:].strip()]


def comments(text: str) -> list[str]:
    return [line.partition("#")[2] for line in text.splitlines() if "#" in line]


def is_cylinder(shape: Shape, diameter_ft: float, height_ft: float) -> bool:
    return isinstance(shape, VerticalCylinder) and (shape.diameter, shape.height) == (
        pytest.approx(diameter_ft * FT), pytest.approx(height_ft * FT))


def typed(text: str, *values: tuple[str, str]) -> Proposal:
    """values: ("tank.0.brim", "8 ft")."""
    made = Proposal(text)
    for place, value in values:
        made = made.with_value(tuple(place.split(".")), value)
    return made


def test_nothing_typed_is_the_same_text() -> None:
    assert Proposal(TEXT).text == TEXT
    assert not Proposal(TEXT).changed


@pytest.mark.parametrize(("place", "value", "expected"), [
    ("tank.4.heel", "12 in", ['-heel = "10 in"              # the pump takes air below this',
                              '+heel = "12 in"              # the pump takes air below this']),
    ("tank.0.shape.width", "10 ft", ['-width = "8 ft"', '+width = "10 ft"']),
    ("tank.0.active", "no", ["-active = true", "+active = false"]),
    ("tank.0.order", "12", ["-order = 1", "+order = 12"]),
    ("tank.0.internals", "1 bbl", ['+internals = "1 bbl"']),
    ("tank.8.brim", "", ['-brim = "9 ft 6 in"']),
    ("pump.1.efficiency", "0.95", ["-efficiency = 0.97", "+efficiency = 0.95"]),
    ("pump.0.name", 'a "b"\\', ['-name = "1"', '+name = "a \\"b\\"\\\\"']),
    ("hole.0.lag", "40 min", ['+lag = "40 min"']),
    ("pipe.0.float", "open", ['-float = "closed"', '+float = "open"']),
    ("valve.0.open", "no", ["-open = true", "+open = false"]),
    ("equipment.1.holds", "10 bbl", ['-holds = "9 bbl"', '+holds = "10 bbl"']),
])
def test_one_key_is_typed_and_nothing_else(place: str, value: str, expected: list[str]) -> None:
    made = typed(TEXT, (place, value))
    assert lines(TEXT, made.text) == expected
    assert made.value(tuple(place.split("."))) == value


def test_what_is_typed_reads_as_typed() -> None:
    rig = parse(typed(TEXT, ("tank.0.shape.width", "10 ft"), ("tank.0.brim", "100"), ("pump.0.output", "0.1 bbl"),
                      ("hole.0.porosity", "0.2"), ("drain_back.0.falling", "90 s")).text).rig
    assert float(rig.tank("Sand Trap").slope(1.0)) == pytest.approx(100 * FT**2)
    assert rig.tank("Sand Trap").top_m == pytest.approx(100 * IN), "a number alone takes the unit of levels"
    assert rig.pumps[0].output_m3 == pytest.approx(0.1 * BBL)
    assert rig.hole is not None
    assert rig.hole.porosity == 0.2
    assert rig.drain_back is not None
    assert rig.drain_back.falling_s == 90.0


def test_typed_back_as_it_was_is_no_change_and_the_place_and_comment_are_kept() -> None:
    made = typed(TEXT, ("tank.4.heel", ""), ("tank.4.heel", "1"), ("tank.4.heel", "10 in"))
    assert not made.changed
    assert made.text == TEXT


def test_another_shape_takes_its_own_keys_and_the_first_one_again_loses_nothing() -> None:
    made = typed(TEXT, ("tank.0.shape.kind", "vertical cylinder"), ("tank.0.shape.diameter", "9 ft"))
    assert is_cylinder(parse(made.text).rig.tank("Sand Trap").shape, 9, 9)
    back = made.with_value(("tank", "0", "shape", "kind"), "box")
    assert back.text == TEXT
    assert "length" not in lines(TEXT, made.with_value(("tank", "0", "shape", "height"), "8 ft").text)[-1]


def test_a_mark_goes_with_the_way_of_gauging() -> None:
    made = typed(TEXT, ("tank.4.gauge", "up"))
    assert '-mark = "9 ft"               # height of that mark above the bottom' in lines(TEXT, made.text)
    assert parse(made.text).rig.tank("Suction").gauge == "up"


def test_rows_of_a_table_keep_their_comments() -> None:
    table = Proposal(TEXT).value(("tank", "1", "shape", "table"))
    assert table.startswith("0 in = 0 bbl\n6 in = 4.81 bbl")
    changed = table.replace("4.81", "4.9").replace("18 in = ", "15 in = 14 bbl\n18 in = ").replace(
        "\n48 in = 59.84 bbl", "") + "\n120 in = 162 bbl"
    made = typed(TEXT, ("tank.1.shape.table", changed))
    assert comments(made.text) == comments(TEXT)
    shape = parse(made.text).rig.tank("Settling").shape
    assert isinstance(shape, Strapping)
    assert shape.levels == pytest.approx([x * IN for x in (0, 6, 12, 15, 18, 24, 36, 60, 72, 84, 96, 108, 120)])
    assert shape.volumes[1] == pytest.approx(4.9 * BBL)


cells = st.lists(st.tuples(st.integers(0, 99).map(str), st.integers(0, 99).map(str)), min_size=1, max_size=7)


@given(cells, cells)
@settings(max_examples=60, deadline=None)
def test_any_rows_become_any_others(old: list[tuple[str, str]], new: list[tuple[str, str]]) -> None:
    rows = "".join(f'    ["{a} in", "{b} bbl"],   # {n}\n' for n, (a, b) in enumerate(old))
    start, end = TEXT.index("table = ["), TEXT.index("[[tank]]\nname = \"Degasser\"")
    text = f"{TEXT[:start]}table = [\n{rows}]\n\n{TEXT[end:]}"
    wanted = "\n".join(f"{a} in = {b} bbl" for a, b in new)
    made = typed(text, ("tank.1.shape.table", wanted))
    assert Proposal(made.text).value(("tank", "1", "shape", "table")) == wanted


@given(st.sampled_from(TANKS), st.integers(9, 40), st.integers(8, 20), st.booleans())
@settings(max_examples=40, deadline=None)
def test_dimensions_typed_are_dimensions_read(name: str, length: int, width: int, added: bool) -> None:
    made, sign = Proposal(TEXT), str(TANKS.index(name))
    if added:
        made, sign = made.with_row("tank", sign)
        for key, value in (("name", "New"), ("role", "reserve"), ("active", "no"), ("gauge", "up")):
            made = made.with_value(("tank", sign, key), value)
    for key, value in (("kind", "box"), ("length", f"{length} ft"), ("width", f"{width} ft"), ("height", "10 ft")):
        made = made.with_value(("tank", sign, "shape", key), value)
    rig = parse(made.text).rig
    assert float(rig.tank("New" if added else name).shape.volume(1.0)) == pytest.approx(length * width * FT**2)
    assert set(comments(TEXT)) - set(comments(made.text)) <= {" the floor is level from here up"}
    others = [t for t in parse(TEXT).rig.tanks if t.name != name]
    assert [t for t in rig.tanks if t.name not in (name, "New")] == others


def test_a_table_is_added_where_it_belongs_and_taken_out() -> None:
    made, sign = Proposal(TRIPS).with_row("string", "0")
    made = made.with_value(("string", sign, "pipe"), "collar 6 1/2 x 2 13/16").with_value(
        ("string", sign, "length"), "90 ft")
    string = parse(made.text).rig.string
    assert string is not None
    assert [round(p.length_m / FT) for p in string.parts[:3]] == [600, 90, 900]
    assert lines(TRIPS, made.text) == ["+[[string]]", '+pipe = "collar 6 1/2 x 2 13/16"', '+length = "90 ft"']
    assert made.place(("string", 1, "length")) == ("string", sign, "length")
    assert made.place(("string", 2, "pipe")) == ("string", "1", "pipe")
    assert made.path(("string", "1", "pipe")) == ("string", 2, "pipe")
    assert made.without_row("string", sign).text == TRIPS
    gone = Proposal(TEXT).without_row("pump", "0")
    assert [p.name for p in parse(gone.text).rig.pumps] == ["2"]
    assert "# single-acting" in gone.text


def test_the_first_table_of_its_kind_and_one_that_stands_once_go_to_the_end() -> None:
    made, sign = Proposal(BARE).with_row("section")
    for key, value in (("name", "casing"), ("kind", "casing"), ("bottom", "5000"), ("diameter", "12.415 in")):
        made = made.with_value(("section", sign, key), value)
    for key, value in (("stands", "5"), ("set_by", "R. Moe"), ("reason", "test"), ("since", "2026-01-05")):
        made = made.with_value(("fill_rule", "0", key), value)
    assert made.text.startswith(BARE)
    rig = parse(made.text).rig
    assert rig.sections is not None
    assert rig.sections.bottom_m == pytest.approx(5000 * FT)
    assert rig.fill_rule is not None
    assert rig.fill_rule.stands == 5
    without = made.without_row("section", sign)
    for key in TABLES["fill_rule"]:
        without = without.with_value(("fill_rule", "0", key.name), "")
    assert without.text == BARE
    assert not without.changed


def test_a_table_that_stands_once_goes_when_nothing_of_it_is_left() -> None:
    made = Proposal(TEXT)
    for key in TABLES["drain_back"]:
        made = made.with_value(("drain_back", "0", key.name), "")
    assert parse(made.text).rig.drain_back is None


def test_the_parts_of_a_stack_are_typed_in_place() -> None:
    base = Proposal(STACKED)
    keys = {key.name: key.label for key in keys_of_parts(base.raw("tank", "8")["shape"])}
    assert keys["shape.parts.0.bottom_diameter"] == "1 frustum: diameter at bottom"
    made = base.with_value(("tank", "8", "shape", "parts", "1", "height"), "7 ft").with_value(
        ("tank", "8", "brim"), "10 ft 6 in")
    assert parse(made.text).rig.tank("Trip").shape.height == pytest.approx(11 * FT)
    assert "# the cone" in made.text
    box = made.with_value(("tank", "8", "shape", "kind"), "vertical cylinder").with_value(
        ("tank", "8", "shape", "diameter"), "5 ft").with_value(("tank", "8", "shape", "height"), "11 ft")
    assert is_cylinder(parse(box.text).rig.tank("Trip").shape, 5, 11)


INLINE = TEXT.replace('[tank.shape]\nkind = "box"\nlength = "10 ft"\nwidth = "8 ft"\nheight = "9 ft"',
                      'shape = { kind = "box", length = "10 ft", width = "8 ft", height = "9 ft" }   # inside')
DOTTED = TEXT.replace('[tank.shape]\nkind = "box"\nlength = "10 ft"\nwidth = "8 ft"\nheight = "9 ft"',
                      'shape.kind = "box"\nshape.length = "10 ft"\nshape.width = "8 ft"   # inside\nshape.height = "9 ft"')


@pytest.mark.parametrize("text", [INLINE, DOTTED, INLINE.replace("\n", "\r\n")], ids=["inline", "dotted", "CRLF"])
def test_other_ways_of_writing_a_table(text: str) -> None:
    assert parse(text).rig.tank("Sand Trap").shape == parse(TEXT).rig.tank("Sand Trap").shape
    wide = typed(text, ("tank.0.shape.width", "10 ft"))
    assert float(parse(wide.text).rig.tank("Sand Trap").slope(1.0)) == pytest.approx(100 * FT**2)
    assert "# inside" in wide.text
    other = typed(text, ("tank.0.shape.kind", "vertical cylinder"), ("tank.0.shape.diameter", "9 ft"))
    assert is_cylinder(parse(other.text).rig.tank("Sand Trap").shape, 9, 9)
    added = typed(text, ("hole.0.lag", "40 min")).with_row("pump")[0].with_value(("pump", "+1", "name"), "9")
    assert ("\n" in added.text.replace("\r\n", "")) is ("\r\n" not in text)


def test_rows_in_one_list_are_left_to_the_file() -> None:
    start, end = TEXT.index("[[pump]]"), TEXT.index("# ---- well")
    text = 'pump = [{ name = "1", output = "0.1 bbl" }]\n' + TEXT[:start] + TEXT[end:]
    assert Proposal(text).rows_in_one_list == {"pump"}
    made = typed(text, ("pump.0.output", "0.11 bbl"), ("pump.0.type", "triplex"))
    assert parse(made.text).rig.pumps[0].output_m3 == pytest.approx(0.11 * BBL)
    with pytest.raises(RigFileError, match="one list"):
        made.with_row("pump")
    with pytest.raises(RigFileError, match="one list"):
        made.without_row("pump", "0")


def test_a_decimal_comma_is_typed_as_the_file_writes_it() -> None:
    text = 'decimal = ","\n' + TEXT.replace('decimal = "."\n', "").replace('"0.', '"0,').replace("1.5 bbl", "1,5 bbl")
    for row in ("4.81", "10.69", "17.63", "25.65", "42.75", "59.84", "76.94", "94.04", "111.14", "128.24", "145.34", "12.415", "12.25"):
        text = text.replace(row, row.replace(".", ","))
    assert Proposal(text).value(("pump", "1", "efficiency")) == "0,97"
    assert "efficiency = 0.95" in typed(text, ("pump.1.efficiency", "0,95")).text
    wrong = check(typed(text, ("pump.1.efficiency", "0.95")).text)
    assert [path for path, _ in wrong.problems] == [("pump", 1, "efficiency")]


def test_what_is_wrong_is_told_at_its_place_and_the_rest_is_seen() -> None:
    made = typed(TEXT, ("tank.0.shape.width", "8"), ("tank.0.brim", "12 ft"), ("pump.0.output", "zero"),
                 ("tank.8.shape.diameter", "0 ft"))
    found = check(made.text)
    assert found.rig is None
    assert {made.place(path): what for path, what in found.problems}.keys() == {
        ("tank", "0", "brim"), ("pump", "0", "output"), ("tank", "8", "shape", "diameter")}
    assert [t.name for t in found.seen.tanks] == list(TANKS[1:-1])
    assert [p.name for p in found.seen.pumps] == ["2"]
    assert check(TEXT).rig == parse(TEXT).rig
    assert tuple(f for _, f in check(TEXT).findings) == parse(TEXT).findings


def test_the_same_changes_on_a_text_whose_limits_changed_meanwhile() -> None:
    made = typed(TEXT, ("tank.0.shape.width", "10 ft")).with_row("pump")[0].with_value(("pump", "+1", "name"), "9")
    tighter = TEXT.replace('value = "5 bbl"', 'value = "4 bbl"')
    moved = made.on(tighter)
    assert moved is not None
    assert lines(tighter, moved.text) == lines(TEXT, made.text)
    other = TEXT.replace('name = "Slug"', 'name = "Pill"')
    assert made.on(other) is None
    adopted = typed(TEXT, ("tank.0.shape.width", "10 ft"))
    again = adopted.on(adopted.text)
    assert again is not None
    assert not again.changed, "what is in force already is no change"


def test_a_proposal_outlives_the_program() -> None:
    made = typed(TEXT, ("tank.0.shape.width", "10 ft")).with_row("pump")[0].with_value(("pump", "+1", "name"), "9")
    assert Proposal.of(json.loads(json.dumps(made.kept()))) == made
    with pytest.raises(ValueError, match="line 1"):
        Proposal.of({"base": "not = = toml", "typed": [], "rows": {}})


def test_a_calibrated_output_goes_before_the_measures_and_says_so() -> None:
    made = typed(TEXT, ("pump.1.output", "0.1 bbl"))
    document = parse(made.text)
    assert document.rig.pumps[1].output_m3 == pytest.approx(0.1 * BBL)
    (said,) = [f.what for f in document.findings if f.code == "calibrated_output"]
    by_measures = parse(TEXT).rig.pumps[1].output_m3 / BBL
    assert said == ("Pump 2: its output as typed counts; by its measures a stroke would be "
                    f"{100 * (by_measures / 0.1 - 1):.2g} % more.")


VALVED = RIG + """
[[valve]]
name = "Dump 5"
kind = "dump"
tank = "Suction"
open = false

[[limit]]
name = "Suction high"
kind = "high"
on = "Suction"   # of this tank
value = "80 in"
deadband = "2 in"
set_by = "demo crew (invented)"
reason = "an example, not advice"
since = "2026-01-05"
"""
SUCTION, OTHER = (f"tank.{[tank.name for tank in parse(RIG).rig.tanks].index(name)}.name"
                  for name in ("Suction", "Settling"))


def test_limits_and_valves_follow_a_renamed_tank_and_nothing_else_changes() -> None:
    made = typed(VALVED, (SUCTION, "Suction 9"))
    assert made.followers(SUCTION.split(".")[1]) == ("limit Suction high", "valve Dump 5")
    came = [line for line in lines(VALVED, made.text) if line.startswith("+")]
    assert came == ['+name = "Suction 9"', '+tank = "Suction 9"', '+on = "Suction 9"   # of this tank']
    assert made.value(("valve", "0", "tank")) == "Suction 9"
    rig = parse(made.text).rig
    assert (rig.valves[-1].tank, rig.limits[-1].on) == ("Suction 9", "Suction 9")
    assert typed(VALVED, (SUCTION, "Suction 9"), (SUCTION, "Suction")).text == VALVED


def test_two_tanks_that_change_names_keep_their_own_limits_and_valves() -> None:
    made = typed(VALVED, (SUCTION, "Settling"), (OTHER, "Suction"))
    rig = parse(made.text).rig
    assert (rig.valves[-1].tank, rig.limits[-1].on) == ("Settling", "Settling")


def test_a_valve_that_was_typed_follows_as_long_as_no_other_tank_is_called_so() -> None:
    made, sign = Proposal(VALVED).with_row("valve")
    made = made.with_value(("valve", sign, "tank"), "Suction").with_value(tuple(SUCTION.split(".")), "Suction 9")
    assert made.value(("valve", sign, "tank")) == "Suction 9"
    again = made.with_value(tuple(OTHER.split(".")), "Suction")
    assert again.value(("valve", sign, "tank")) == "Suction"
