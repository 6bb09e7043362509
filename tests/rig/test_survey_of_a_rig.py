"""[survey] of a rig file: read, refused with its place, said in words, and kept by a change of limits. Invented."""

from __future__ import annotations

import pytest

from dipbook.errors import RigFileError
from dipbook.rig import document
from dipbook.rig.changes import difference_in_words
from dipbook.rig.document import parse, with_limits
from ledgers import FT, RIG

SURVEY = '[survey]\nstations = [["3000 ft", "2990 ft"], ["5200 ft", "5020 ft"]]\n'


def test_stations_from_the_rotary_down() -> None:
    survey = parse(RIG + SURVEY, "rig").rig.survey
    assert survey is not None
    assert survey.md_m == pytest.approx((0.0, 3000 * FT, 5200 * FT))
    assert survey.tvd(4100 * FT) / FT == pytest.approx(4005)
    assert parse(RIG, "rig").rig.survey is None


def test_the_rotary_may_be_a_row_and_bare_numbers_are_in_the_rig_s_length() -> None:
    bare = '[survey]\nstations = [[0, 0], [3000, 2990], [5200, 5020]]\n'
    assert parse(RIG + bare, "rig").rig.survey == parse(RIG + SURVEY, "rig").rig.survey


@pytest.mark.parametrize(("stations", "words"), [
    ('[["3000 ft", "3010 ft"]]', "can't change by more than measured"),
    ('[["3000 ft", "2990 ft"], ["2900 ft", "2890 ft"]]', "must rise from station to station"),
    ('[["3000 ft"]]', "isn't a measured and a vertical depth"), ('"deep"', "isn't rows of measured and vertical depth"),
    ("[]", "isn't rows of measured and vertical depth"), ('[["3000 bbl", "2990 ft"]]', "bbl")])
def test_what_cant_be_is_refused_with_its_place(stations: str, words: str) -> None:
    with pytest.raises(RigFileError, match=r"survey\.stations") as refused:
        document.parse(RIG + f"[survey]\nstations = {stations}\n", "rig")
    assert words in str(refused.value)


def test_a_change_is_said_and_limits_leave_it_alone() -> None:
    bare, surveyed = parse(RIG, "rig").rig, parse(RIG + SURVEY, "rig").rig
    assert difference_in_words(bare, surveyed) == (
        "Survey: not set → 2990 ft vertical at 3000 ft, 5020 ft vertical at 5200 ft",)
    assert with_limits(RIG + SURVEY, ()).rstrip() == (RIG + SURVEY).rstrip()
