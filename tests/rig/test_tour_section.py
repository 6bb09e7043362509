"""[[tour]] of a rig file: the shifts of a day, which a report is made for."""

from __future__ import annotations

from pathlib import Path

import pytest

from dipbook.errors import RigFileError
from dipbook.rig import document
from dipbook.rig.changes import difference_in_words
from dipbook.rig.model import Tour
from dipbook.rig.proposal import Proposal
from ledgers import RIG

DAY = '[[tour]]   # long days\ncode = "D"\nstart = "06:00"\n'
NIGHT = '[[tour]]\ncode = "N"\nstart = "18:00"\n'
DEMO = Path(__file__).parents[2] / "demo_data"


def tours(text: str) -> tuple[Tour, ...]:
    return document.parse(RIG + text, "rig").rig.tours


def problems(text: str) -> list[str]:
    with pytest.raises(RigFileError) as refused:
        document.parse(RIG + text, "rig")
    before = RIG.count("\n")
    found = []
    for problem in refused.value.problems:
        line, _, rest = problem.removeprefix("rig, line ").partition(", ")
        found.append(f"{int(line) - before} {rest}")
    return found


def test_tours_are_read_by_their_start_and_none_is_fine() -> None:
    assert tours(NIGHT + DAY) == (Tour("D", 360), Tour("N", 1080))
    assert tours("") == ()
    assert document.parse(RIG + DAY, "rig").findings == document.parse(RIG, "rig").findings


CODE = 'expected a letter, or up to four letters and digits that begin with one, like "D"'
START = 'expected the local time when it begins in quotes, like "06:00"'


@pytest.mark.parametrize(("text", "says"), [
    (DAY.replace('code = "D"\n', ""), f"1 tour.number 1.code: is missing; {CODE}"),
    (DAY.replace('start = "06:00"\n', ""), f"1 tour.D.start: is missing; {START}"),
    (DAY.replace('"D"', '"2D"'), f'2 tour.2D.code: "2D" isn\'t a code; {CODE}'),
    (DAY.replace('"D"', '"D-1"'), f'2 tour.D-1.code: "D-1" isn\'t a code; {CODE}'),
    (DAY.replace("06:00", "24:00"), f'3 tour.D.start: "24:00" isn\'t a time of day; {START}'),
    (DAY.replace("06:00", "6 am"), f'3 tour.D.start: "6 am" isn\'t a time of day; {START}'),
    (DAY.replace('"06:00"', "06:00:00"), "3 tour.D.start: 06:00:00 isn't a text; expected it in quotes"),
    (DAY + NIGHT.replace("18:00", "6:00"), '6 tour.N.start: "6:00" is when tour D begins; expected a time of its own'),
    (DAY.replace("code", "cod"), '2 tour.number 1.cod: isn\'t a key of the rig file here; did you mean "code"?'),
    ("".join(f'[[tour]]\ncode = "T{n}"\nstart = "{n:02d}:00"\n' for n in range(13)),
     "37 tour.T12: is one too many; expected at most 12 tours of a day"),
])
def test_what_is_wrong_is_refused_with_its_line_and_what_to_write(text: str, says: str) -> None:
    assert says in problems(text)


def test_one_code_twice_is_refused_whatever_its_capitals() -> None:
    line = RIG.count("\n") + 2
    assert problems(DAY + NIGHT.replace('"N"', '"d"')) == [
        f'5 tour.d.code: "d" is already the tour of line {line}; expected a code of its own (capitals don\'t count)']


@pytest.mark.parametrize(("before", "after", "words"), [
    ("", DAY, ("Tour D added, from 06:00",)),
    (DAY + NIGHT, NIGHT, ("Tour D removed",)),
    (DAY, DAY.replace("06:00", "07:30"), ("Tour D, begins: 06:00 → 07:30",)),
    (DAY + NIGHT, NIGHT + DAY, ()),
])
def test_a_change_is_said_in_words(before: str, after: str, words: tuple[str, ...]) -> None:
    rigs = [document.parse(RIG + text, "rig").rig for text in (before, after)]
    assert difference_in_words(*rigs) == words


def test_what_is_typed_is_written_and_the_rest_keeps_every_character() -> None:
    proposal = Proposal(RIG + DAY)
    assert proposal.text == RIG + DAY
    added, sign = proposal.with_row("tour", "0")
    added = added.with_value(("tour", sign, "code"), "N").with_value(("tour", sign, "start"), "18:00")
    assert "# long days" in added.text
    assert document.parse(added.text, "rig").rig.tours == (Tour("D", 360), Tour("N", 1080))


@pytest.mark.parametrize("name", ["rig-larkspur.toml", "rig-larkspur-connections.toml"])
def test_the_demos_tours_are_day_and_night(name: str) -> None:
    assert document.read(DEMO / name).rig.tours == (Tour("D", 360), Tour("N", 1080))
