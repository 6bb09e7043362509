"""Every kind of shape in a rig file: the page's examples, what is refused with its line, what is asked about."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from dipbook.errors import RigFileError
from dipbook.rig.changes import difference_in_words
from dipbook.rig.document import RigDocument, parse
from dipbook.tanks.cylinders import HorizontalCylinder
from dipbook.tanks.heads import Dish
from dipbook.tanks.shapes import Box, Strapping, VerticalCylinder
from dipbook.tanks.sloped import Frustum, Hopper, VBottom
from dipbook.tanks.stacked import Compartments, Stack

PAGE = (Path(__file__).parents[2] / "docs" / "rig-file.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"^```toml shape\n(.*?)^```$", PAGE, re.DOTALL | re.MULTILINE)
FT, BBL, IN = 0.3048, 0.158987294928, 0.0254

HEAD = """\
rig = { name = "R (invented)" }
zone = "Etc/GMT+6"
[units]
level = "in"
volume = "bbl"
length = "ft"
[[tank]]
name = "Suction"
role = "suction"
active = true
gauge = "up"
[tank.shape]
"""
FIRST = HEAD.count("\n") + 1
"""The line of the shape's first key."""


def read(shape: str) -> RigDocument:
    return parse(HEAD + shape)


def shape_of(text: str) -> object:
    return read(text).rig.tanks[0].shape


def problems(shape: str) -> tuple[str, ...]:
    with pytest.raises(RigFileError) as caught:
        read(shape)
    return caught.value.problems


def codes(shape: str) -> set[str]:
    return {finding.code for finding in read(shape).findings}


def test_the_page_has_an_example_of_every_kind():
    made = [type(shape_of(text)) for text in EXAMPLES]
    assert made == [Box, VerticalCylinder, HorizontalCylinder, VBottom, Hopper, Frustum, Dish, Stack, Stack, Strapping]
    assert isinstance(shape_of(EXAMPLES[8]).parts[0], Compartments)


# Worked by hand in cubic feet; hoppers by the formula of the prismatoid, a dish as half an ellipsoid, (2π/3) R² d.
@pytest.mark.parametrize(("n", "height", "cubic_feet"), [
    (0, 9, 30 * 8 * 9), (1, 10, 3.14159265 * 36 * 10), (3, 9, 30 * (3 * (1 + 8) / 2 + 8 * 6)),
    (4, 4, 4 / 6 * (64 + 4 * 4.5**2 + 1)), (5, 5, 3.14159265 * 16 * 5 / 3), (6, 2, 2 / 3 * 3.14159265 * 16 * 2),
    (7, 10, 3.14159265 * (4 / 3 * (0.25 + 0.5 * 4 + 16) + 16 * 6)),
    (8, 9, 2 * 4 / 6 * (40 + 4 * 4.5 * 3 + 1) + 8 * 10 * 5)])
def test_the_examples_hold_what_hand_work_says(n, height, cubic_feet):
    shape = shape_of(EXAMPLES[n])
    assert shape.height == pytest.approx(height * FT)
    assert shape.volume(shape.height) == pytest.approx(cubic_feet * FT**3, rel=1e-8)


def test_the_examples_ask_nothing():
    for text in EXAMPLES:
        assert codes(text) & {"step", "usual_head", "uneven_tops", "strapping_kink"} == set()


LYING = 'kind = "horizontal cylinder"\ndiameter = "8 ft"\nlength = "20 ft"\n'
BOX = '{ kind = "box", length = "8 ft", width = "5 ft", height = "4 ft" }'
FLOORED = BOX.replace("{ ", '{ floor = "0 ft", ')

REFUSED = [
    # shape, line of it from 1, key in the message, words
    ('kind = "ball"\n', 1, "shape.kind", 'expected "box", "vertical cylinder", "horizontal cylinder"'),
    (LYING, 0, "shape.heads", 'is missing; expected "flat", "hemispherical", "ellipsoidal" or "torispherical"'),
    (LYING + 'heads = "round"\n', 4, "shape.heads", "isn't a head"),
    (LYING + 'heads = "flat"\nhead_depth = "2 ft"\n', 5, "shape.head_depth", 'only for "ellipsoidal"'),
    (LYING + 'heads = "ellipsoidal"\nknuckle = 0.1\n', 5, "shape.knuckle", 'only for "torispherical"'),
    (LYING + 'heads = "torispherical"\ncrown = 0.3\n', 5, "shape.crown", "from 0.5 to 5"),
    (LYING + 'heads = "torispherical"\ncrown = "1 m"\n', 5, "shape.crown", "isn't a number"),
    (LYING + 'heads = "torispherical"\ncrown = 0.5\nknuckle = 0.5\n', 6, "shape.knuckle", "smaller than the crown's"),
    (LYING.replace("8 ft", "80 ft") + 'heads = "flat"\n', 2, "shape.diameter", "too large to be real"),
    (LYING + 'heads = "flat"\nheight = "8 ft"\n', 5, "shape.height", "isn't a key of the rig file here"),
    ('kind = "v bottom"\nlength = "30 ft"\nwidth = "8 ft"\nfloor_width = "9 ft"\nslope_height = "3 ft"\nheight = "9 ft"\n', 4,
     "shape.floor_width", "wider than the tank"),
    ('kind = "v bottom"\nlength = "30 ft"\nwidth = "8 ft"\nfloor_width = "1 ft"\nslope_height = "10 ft"\nheight = "9 ft"\n', 5,
     "shape.slope_height", "above the whole height"),
    ('kind = "v bottom"\nlength = "30 ft"\nwidth = "8 ft"\nslope_height = "3 ft"\nheight = "9 ft"\n', 0, "shape.floor_width",
     "is missing; expected the width of the flat floor"),
    ('kind = "hopper"\nlength = "8 ft"\nwidth = "8 ft"\nbottom_length = "-1 ft"\nbottom_width = "1 ft"\nheight = "4 ft"\n', 4,
     "shape.bottom_length", "below zero"),
    ('kind = "frustum"\nbottom_diameter = "0 ft"\ntop_diameter = "0 ft"\nheight = "4 ft"\n', 3, "shape.top_diameter", "isn't above 0"),
    ('kind = "dish"\ndiameter = "8 ft"\nhead = "flat"\n', 3, "shape.head", "isn't a head"),
    ('kind = "stack"\n', 0, "shape.parts", "is missing"),
    ('kind = "stack"\nparts = []\n', 2, "shape.parts", "isn't a list of shapes"),
    ('kind = "stack"\nparts = "box"\n', 2, "shape.parts", "isn't a list of shapes"),
    ('kind = "stack"\nparts = [\n  { kind = "box", length = "8 ft", width = "5 ft" },\n]\n', 3, "shape.parts row 1.height", "is missing"),
    ('kind = "stack"\nparts = [\n  { kind = "strapping", table = [[0, 0], [1, 1]] },\n]\n', 3, "shape.parts row 1.kind",
     "isn't a shape that can be a part"),
    (f'kind = "stack"\nparts = [{BOX}, {BOX.replace("4 ft", "60 ft")}]\n', 2, "row 2.height", "too large to be real"),
    (f'kind = "stack"\nparts = [{", ".join([BOX.replace("4 ft", "15 m")] * 2)}]\n', 2, "shape.parts", "high together"),
    (f'kind = "compartments"\nparts = [{BOX}]\n', 2, "row 1.floor", "is missing; expected the height of its floor"),
    (f'kind = "compartments"\nparts = [{FLOORED.replace("0 ft", "1 ft", 1)}]\n', 2, "shape.parts", "no compartment whose floor is 0"),
    (f'kind = "compartments"\nparts = [\n{FLOORED},\n{FLOORED.replace("0 ft", "4 ft", 1)},\n]\n', 4, "row 2.floor",
     "isn't below the lowest top, 48 in"),
    (f'kind = "stack"\nparts = [{FLOORED}]\n', 2, "row 1.floor", "isn't a key"),
    ('kind = "stack"\nparts = [' + '{ kind = "stack", parts = [' * 4 + BOX + "] }" * 4 + "]\n", 2, "parts", "stands within 3 others"),
    ('kind = "strapping"\nfile = "suction.csv"\n', 2, "shape.file", "this text stands alone"),
    ('kind = "strapping"\nfile = "suction.csv"\ntable = [[0, 0], [1, 1]]\n', 2, "shape.file", "beside a table"),
]


@pytest.mark.parametrize(("shape", "line", "key", "words"), REFUSED, ids=[f"{n} {row[3][:30]}" for n, row in enumerate(REFUSED)])
def test_a_wrong_shape_is_refused_with_its_line(shape, line, key, words):
    found = [problem for problem in problems(shape) if key in problem and words in problem]
    assert len(found) == 1, problems(shape)
    assert f"line {FIRST - 1 + line}," in found[0]
    assert "expected" in found[0] or "Expected" in found[0] or "did you mean" in found[0]


def test_parts_may_be_tables_of_their_own_with_their_lines():
    text = HEAD + 'kind = "stack"\n[[tank.shape.parts]]\nkind = "frustum"\nbottom_diameter = 0\ntop_diameter = 8\nheight = 4\n' \
        '[[tank.shape.parts]]\nkind = "vertical cylinder"\ndiameter = 8\nheight = 6\n'
    assert parse(text).rig.tanks[0].shape.height == pytest.approx(10 * FT)
    with pytest.raises(RigFileError) as caught:
        parse(text.replace("diameter = 8\nheight = 6", 'diameter = "8 kg"\nheight = 6'))
    assert f"line {FIRST + 8}, tank.Suction.shape.parts row 2.diameter" in caught.value.problems[0]


@pytest.mark.parametrize(("shape", "code", "words"), [
    (LYING + 'heads = "ellipsoidal"\n', "usual_head", "(2:1), 24 in"),
    (LYING + 'heads = "torispherical"\n', "usual_head", "1 and 0.06 diameters are taken, a depth of 16 1/4 in"),
    (LYING + 'heads = "torispherical"\nknuckle = 0.1\n', "usual_head", "1 and 0.1 diameters"),
    (f'kind = "stack"\nparts = [\n{BOX},\n{BOX.replace("5 ft", "6 ft")},\n]\n', "step", "part 2 of the stack"),
    (f'kind = "compartments"\nparts = [{FLOORED}, {FLOORED.replace("4 ft", "5 ft")}]\n', "uneven_tops", "48 in"),
])
def test_what_is_taken_or_odd_is_said(shape, code, words):
    (finding,) = [f for f in read(shape).findings if f.code == code]
    assert words in finding.what
    assert finding.tank == "Suction"


@pytest.mark.parametrize("more", ["crown = 1.0\nknuckle = 0.06\n", "crown = 0.8\nknuckle = 0.154\n"])
def test_a_head_with_its_measures_is_taken_as_it_is(more):
    text = LYING + 'heads = "torispherical"\n' + more
    assert "usual_head" not in codes(text)
    assert str(shape_of(text).head.crown) in more


def test_small_steps_of_rounding_are_no_step():
    assert "step" not in codes(f'kind = "stack"\nparts = [{BOX}, {BOX.replace("5 ft", "5.1 ft")}]\n')


def test_internals_are_a_share_of_what_a_sloped_tank_holds():
    text = HEAD.replace("[tank.shape]", 'internals = "1 bbl"\n[tank.shape]') + EXAMPLES[4]
    tank = parse(text).rig.tanks[0]
    share = 1 - BBL / float(tank.shape.volume(tank.shape.height))
    for level in (0.1, 0.5, 4 * FT):
        assert tank.volume(level) == pytest.approx(share * tank.shape.volume(level))
    assert tank.capacity_m3 == pytest.approx(tank.shape.volume(4 * FT) - BBL)


def test_brim_heel_and_mark_go_by_the_height_of_the_whole():
    text = HEAD.replace('gauge = "up"', 'gauge = "down"\nmark = "10 ft"\nbrim = "9 ft"\nheel = "6 in"') + EXAMPLES[7]
    assert parse(text).rig.tanks[0].top_m == pytest.approx(9 * FT)
    with pytest.raises(RigFileError, match="is above the top of the shape, 120 in"):
        parse(text.replace('"10 ft"', '"12 ft"').replace('brim = "9 ft"', 'brim = "11 ft"'))


CHANGES = [
    ("hopper", EXAMPLES[4], '"1 ft"', '"2 ft"'), ("horizontal", EXAMPLES[2], "0.06", "0.1"), ("stack", EXAMPLES[7], '"6 ft"', '"7 ft"'),
    ("trough", EXAMPLES[3], '"3 ft"', '"4 ft"'), ("cone", EXAMPLES[5], '"0 ft"', '"1 ft"'), ("dish", EXAMPLES[6], "2 ft", "3 ft"),
    ("compartments", EXAMPLES[8], 'floor = "0 ft"', 'floor = "1 ft"'), ("box", EXAMPLES[0], "30 ft", "31 ft"),
]


@pytest.mark.parametrize(("shape", "old", "new"), [row[1:] for row in CHANGES], ids=[row[0] for row in CHANGES])
def test_every_change_of_a_shape_shows_in_words(shape, old, new):
    before, after = read(shape).rig, read(shape.replace(old, new, 1)).rig
    assert difference_in_words(before, before) == ()
    words = difference_in_words(before, after)
    assert any(word.startswith("Tank Suction, shape: ") and "→" in word for word in words)
