"""[[section]] of a rig file: the hole from the rotary down. Invented."""

from __future__ import annotations

import pytest

from builders import FT, IN
from dipbook.errors import RigFileError
from dipbook.rig import document
from dipbook.rig.changes import difference_in_words
from ledgers import RIG

CASING = '[[section]]\nname = "9 5/8 casing"\nkind = "casing"\nbottom = "5000 ft"\ndiameter = "8.835 in"\n'
OPEN = '[[section]]\nname = "8 1/2 hole"\nkind = "open hole"\nbottom = "9000 ft"\ndiameter = "8.5 in"\nwashout = 0.1\n'


def test_sections_follow_each_other() -> None:
    hole = document.parse(RIG + CASING + OPEN, "rig").rig.sections
    assert hole is not None
    assert [(s.name, s.kind, round(s.top_m / FT), round(s.bottom_m / FT)) for s in hole.sections] == [
        ("9 5/8 casing", "casing", 0, 5000), ("8 1/2 hole", "open hole", 5000, 9000)]
    assert hole.sections[1].capacity_m2 == pytest.approx(3.14159265 / 4 * (8.5 * 1.1 * IN) ** 2)
    assert document.parse(RIG, "rig").rig.sections is None


@pytest.mark.parametrize(("text", "words"), [
    (CASING.replace('kind = "casing"', 'kind = "pipe"'), "riser"),
    (CASING.replace('bottom = "5000 ft"\n', ""), "the measured depth where it ends"),
    (CASING + OPEN.replace("9000", "4000"), "isn't below the section above it"),
    (CASING + "washout = 0.1\n", "is of open hole only"),
    (CASING.replace("8.835 in", "8.835 m"), "diameter"), (CASING.replace('name = "9 5/8 casing"\n', ""), "a name in quotes"),
])
def test_what_is_wrong_is_told_with_its_line(text: str, words: str) -> None:
    with pytest.raises(RigFileError) as refused:
        document.parse(RIG + text, "rig")
    (problem,) = refused.value.problems
    assert words in problem
    assert "line" in problem


def test_a_change_is_told_in_words() -> None:
    before, after = (document.parse(RIG + text, "rig").rig for text in (CASING, CASING + OPEN))
    assert difference_in_words(before, after) == (
        "Hole's sections: 9 5/8 casing to 5000 ft (8.835 in) → 9 5/8 casing to 5000 ft (8.835 in), "
        "8 1/2 hole to 9000 ft (8.5 in, washed out by 0.1)",)
    assert difference_in_words(after, after) == ()
