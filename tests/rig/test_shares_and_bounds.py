"""Shares with a percent sign, bounds in the unit that was typed, and what a limit on trips has no part in. Invented."""

from __future__ import annotations

import re

import pytest

from dipbook.errors import RigFileError
from dipbook.limits import KINDS, kind_of, kind_words
from dipbook.rig.document import parse
from ledgers import RIG

PUMP = '[[pump]]\nname = "2"\ntype = "triplex"\nliner = "6 in"\nstroke = "12 in"\nefficiency = 0.95\n'
TRIP = ('[[limit]]\nname = "five"\nkind = "trip_last_n"\non = "active"\nvalue = "2 bbl"\ndeadband = "1 bbl"\n'
        'set_by = "crew"\nreason = "test"\nsince = "2026-01-05"\n')


def problems(text: str) -> list[str]:
    with pytest.raises(RigFileError) as refused:
        parse(RIG + text, "rig")
    return list(refused.value.problems)


def test_a_percentage_is_the_share_that_it_says() -> None:
    # 6 in triplex: 3 π/4 6² 12 in³ = 1017.88 in³ = 0.016680 m³, of which 95 %.
    outputs = [parse(RIG + PUMP.replace("0.95", share), "rig").rig.pumps[-1].output_m3
               for share in ("0.95", '"95 %"', '"95%"')]
    assert outputs[1:] == pytest.approx([outputs[0]] * 2, rel=1e-12)
    assert outputs[0] == pytest.approx(0.95 * 1017.876 * 0.0254**3, rel=1e-5)


@pytest.mark.parametrize(("share", "words"), [
    ("95", '95 is out of range; expected a share from 0.5 to 1, or "50 %" to "100 %"'), ('"95"', "isn't a number"),
    ('"195 %"', "outside 0 to 100 %"), ('"20 %"', "is out of range; expected from 50 to 100 %"),
    ('"many %"', "many %")])
def test_a_share_that_could_be_either_is_refused(share: str, words: str) -> None:
    (problem,) = problems(PUMP.replace("0.95", share))
    assert "pump.2.efficiency" in problem
    assert words in problem


@pytest.mark.parametrize(("old", "new", "words"), [
    ('"6 in"', '"60 in"', "expected from 1.97 in to 15.7 in"), ('"6 in"', '"1 mm"', "expected from 50 mm to 400 mm"),
    ('"12 in"', '"9 ft"', "expected from 0.164 ft to 3.28 ft")])
def test_bounds_are_in_the_unit_that_was_typed(old: str, new: str, words: str) -> None:
    (problem,) = problems(PUMP.replace(old, new))
    assert words in problem


def test_bounds_of_times_are_hours() -> None:
    with pytest.raises(RigFileError) as refused:
        parse(re.sub('fresh_for = ".*?"', 'fresh_for = "90000 s"', RIG, count=1), "rig")
    (problem,) = refused.value.problems
    assert "expected from 1 s to 24 h" in problem


def test_a_row_of_one_is_told_as_it_was_typed() -> None:
    with pytest.raises(RigFileError) as refused:
        parse(re.sub(r"(?m)^at = .*$", 'at = [["300 gal/min"]]', RIG, count=1), "rig")
    problem = refused.value.problems[0]
    assert '"300 gal/min" isn\'t a row of flow and volume' in problem


@pytest.mark.parametrize(("more", "told"), [("", False), ('activity = "tripping"\n', False),
                                            ('activity = "drilling"\n', True)])
def test_what_has_no_part_in_a_limit_on_trips_is_told(more: str, told: bool) -> None:
    found = parse(RIG + TRIP + more, "rig")
    assert ("on_every_row" in {f.code for f in found.findings}) == told
    watched = parse(RIG + TRIP.replace('"active"', '"watched"'), "rig")
    assert "on_every_row" in {f.code for f in watched.findings}
    assert watched.rig.limits[-1].watched


def test_kinds_have_words_that_lead_back() -> None:
    assert kind_words("trip_last_n") == "trip, last 5 stands"
    assert all(kind_of(kind_words(kind)) == kind for kind in KINDS)
    assert not any("_" in kind_words(kind) for kind in KINDS)
