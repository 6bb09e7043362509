"""[[crew]] of a rig file: names to choose from. Everyone here is invented."""

from __future__ import annotations

from difflib import unified_diff
from pathlib import Path

import pytest

from dipbook.errors import RigFileError
from dipbook.rig import document
from dipbook.rig.changes import difference_in_words
from dipbook.rig.model import Person
from dipbook.rig.proposal import Proposal
from ledgers import RIG

DRILLER = '[[crew]]   # nights\nname = "D. Example"\nrole = "driller"\n'
NOBODY_S = '[[crew]]\nname = " B. Example "\n'
DEMO = Path(__file__).parents[2] / "demo_data"


def crew(text: str) -> tuple[Person, ...]:
    return document.parse(RIG + text, "rig").rig.crew


def problems(text: str) -> list[str]:
    with pytest.raises(RigFileError) as refused:
        document.parse(RIG + text, "rig")
    before = RIG.count("\n")
    found = []
    for problem in refused.value.problems:
        line, _, rest = problem.removeprefix("rig, line ").partition(", ")
        found.append(f"{int(line) - before} {rest}")
    return found


def test_a_crew_is_read_in_the_files_order_and_needs_no_role() -> None:
    assert crew(DRILLER + NOBODY_S) == (Person("D. Example", "driller"), Person("B. Example", ""))
    assert crew("") == ()


def test_a_crew_or_none_is_no_finding() -> None:
    assert document.parse(RIG + DRILLER, "rig").findings == document.parse(RIG, "rig").findings


@pytest.mark.parametrize(("text", "says"), [
    (DRILLER.replace('name = "D. Example"\n', ""),
     '1 crew.number 1.name: is missing; expected the person\'s name in quotes, like "A. Example"'),
    (DRILLER.replace('"D. Example"', '"  "'),
     '2 crew.number 1.name: is blank; expected the person\'s name in quotes, like "A. Example"'),
    (DRILLER.replace('"D. Example"', "7"), "2 crew.number 1.name: 7 isn't a text; expected it in quotes"),
    (DRILLER.replace('"driller"', "true"), "3 crew.D. Example.role: true isn't a text; expected it in quotes"),
    (DRILLER.replace("D. Example", "D" * 61),
     "2 crew.number 1.name: isn't one line of at most 60 characters; expected that"),
    (DRILLER.replace("role", "rol"), '3 crew.D. Example.rol: isn\'t a key of the rig file here; did you mean "role"?'),
    (DRILLER.replace("[[crew]]", "[crew]"),
     "1 crew: isn't a row of tables; expected [[crew]] in double brackets before each"),
])
def test_what_is_wrong_is_refused_with_its_line_and_what_to_write(text: str, says: str) -> None:
    assert problems(text) == [says]


def test_one_name_twice_is_refused_whatever_its_capitals() -> None:
    line = RIG.count("\n") + 2
    assert problems(DRILLER + DRILLER.replace("D. Example", "d. EXAMPLE")) == [
        f'5 crew.d. EXAMPLE.name: "d. EXAMPLE" is already the person of line {line}; expected a name of its own '
        "(capitals don't count)"]


@pytest.mark.parametrize(("before", "after", "words"), [
    ("", DRILLER, ("Crew, D. Example added (driller)",)),
    ("", NOBODY_S, ("Crew, B. Example added",)),
    (DRILLER + NOBODY_S, NOBODY_S, ("Crew, D. Example removed",)),
    (DRILLER, DRILLER.replace('"driller"', '"toolpusher"'), ("Crew, D. Example, role: driller → toolpusher",)),
    (DRILLER, DRILLER.replace('role = "driller"\n', ""), ("Crew, D. Example, role: driller → not set",)),
    (DRILLER + NOBODY_S, NOBODY_S + DRILLER, ()),
])
def test_a_change_is_said_in_words(before: str, after: str, words: tuple[str, ...]) -> None:
    rigs = [document.parse(RIG + text, "rig").rig for text in (before, after)]
    assert difference_in_words(*rigs) == words


def lines_changed(old: str, new: str) -> list[str]:
    return [line for line in unified_diff(old.splitlines(), new.splitlines(), n=0, lineterm="")
            if line[:1] in "+-" and line[:3] not in ("+++", "---")]


def test_what_is_typed_is_written_and_the_rest_keeps_every_character() -> None:
    text = RIG + DRILLER + NOBODY_S
    proposal = Proposal(text)
    assert proposal.signs("crew") == ("0", "1")
    assert proposal.text == text
    new = proposal.with_value(("crew", "0", "role"), "toolpusher")
    assert lines_changed(text, new.text) == ['-role = "driller"', '+role = "toolpusher"']
    assert new.with_value(("crew", "0", "role"), "driller").text == text
    added, sign = proposal.with_row("crew", "0")
    added = added.with_value(("crew", sign, "name"), "C. Example").with_value(("crew", sign, "role"), "mud engineer")
    assert "# nights" in added.text
    assert document.parse(added.text, "rig").rig.crew == (
        Person("D. Example", "driller"), Person("C. Example", "mud engineer"), Person("B. Example"))
    assert document.parse(proposal.without_row("crew", "0").text, "rig").rig.crew == (Person("B. Example"),)


def test_the_first_of_a_crew_goes_to_the_end_of_a_file_that_names_nobody() -> None:
    proposal, sign = Proposal(RIG).with_row("crew")
    proposal = proposal.with_value(("crew", sign, "name"), "D. Example")
    assert proposal.text.startswith(RIG)
    assert document.parse(proposal.text, "rig").rig.crew == (Person("D. Example"),)


@pytest.mark.parametrize("name", ["rig-larkspur.toml", "rig-larkspur-connections.toml"])
def test_the_demos_crew_is_invented_and_has_who_signs_its_entries(name: str) -> None:
    people = document.read(DEMO / name).rig.crew
    assert "R. Example (invented)" in [p.name for p in people]
    assert all(p.name.endswith("Example (invented)") and p.role for p in people)
