"""What is posted before a trip: the rig's own rule, the reference beside it, and where one is looser. Invented."""

from __future__ import annotations

import json

import pytest

from dipbook import posting
from dipbook.rig import document
from dipbook.rig.model import Rig
from dipbook.tripping import Tripped, json_lines
from dipbook.trips import Way
from ledgers import BBL, FT, RIG

CASING = '[[section]]\nname = "casing"\nkind = "casing"\nbottom = "9000 ft"\ndiameter = "12.415 in"\n'
COLLARS = '[[string]]\nname = "collars"\nsteel = "0.0545 bbl/ft"\nbore = "0.0077 bbl/ft"\nlength = "600 ft"\n'
PIPE = '[[string]]\nname = "drill pipe"\nsteel = "0.00759 bbl/ft"\nbore = "0.01776 bbl/ft"\n'
MUD = 12.0 * 119.8264273
"""12 lb/gal [kg/m3]: a pound is 0.45359237 kg, a US gallon 3.785411784 L."""


def rule(*says: str) -> str:
    return "\n".join(["[fill_rule]", *says, 'set_by = "crew"', 'reason = "x"', 'since = "2026-01-07"']) + "\n"


def rig(*sections: str) -> Rig:
    return document.parse(RIG + "".join(sections), "rig").rig


def told(of: Rig, way: str = "dry") -> dict[str, tuple[int, int | None, bool]]:
    return {p.name: (p.reference.stands, p.own.stands if p.own else None, p.looser)
            for p in posting.posted(of, Way(way), MUD)}


@pytest.mark.parametrize(("says", "collars", "pipe"), [
    ((), (2, None, False), (5, None, False)),
    (("stands = 2",), (2, 2, False), (5, 2, False)),
    (("stands = 3",), (2, 3, True), (5, 3, False)),
    (('pressure = "40 psi"',), (2, 1, False), (5, 12, True)),               # 33.2 psi a stand of collars, 3.1 of pipe
    (("stands = 8", 'pressure = "40 psi"'), (2, 1, False), (5, 8, True)),
])
def test_the_rig_s_own_rule_stands_beside_the_reference(says: tuple[str, ...], collars: tuple[int, int | None, bool],
                                                        pipe: tuple[int, int | None, bool]) -> None:
    """12.415 in casing, 0.14973 bbl/ft; 12 lb/gal, 0.62338 psi/ft. A stand of 93 ft of collars is 5.0685 bbl, 53.2 ft of what
    0.09523 bbl/ft leaves free, 33.2 psi; of pipe 0.7059 bbl over 0.14214: 4.97 ft, 3.10 psi: twelve are 37.2, thirteen 40.3."""
    assert told(rig(CASING, COLLARS, PIPE, rule(*says) if says else "")) == {"collars": collars, "drill pipe": pipe}


def test_the_lines_name_who_set_the_rule_and_the_reference_each_time() -> None:
    of = rig(CASING, COLLARS, PIPE, rule("stands = 3", 'pressure = "100 psi"'))
    found = posting.posted(of, Way("dry"), MUD)
    own, reference, *_ = posting.said(found, of)
    assert own.startswith("Between two fills, collars: 3 stands, 15.21 bbl; unfilled the level falls 160 ft"), own
    assert own.endswith("The rig's own rule, 3 stands or 100 psi, the smaller, set by crew, since 2026-01-07: looser than the "
                        "reference.")
    assert reference.endswith("By the pressure of 30 CFR 250.456(c), a reference: the rig's own rule goes first.")
    assert len([*posting.said(found, of)]) == 4
    assert [f.code for f in posting.findings(of, found)] == ["looser_fill_rule"]
    assert "for collars." in posting.findings(of, found)[0].what


def test_without_a_rule_of_the_rig_s_or_with_a_tighter_one() -> None:
    for says, codes in (("", ["no_fill_rule"]), (rule("stands = 1"), [])):
        of = rig(CASING, COLLARS, PIPE, says)
        assert [f.code for f in posting.findings(of, posting.posted(of, Way("dry"), MUD))] == codes


def test_one_stand_is_said_as_one_and_none_as_fill_it_all_along() -> None:
    narrow = CASING.replace("12.415", "7")
    of = rig(narrow, COLLARS, PIPE, rule("stands = 1", 'pressure = "20 psi"'))
    lines = [*posting.said(posting.posted(of, Way("dry"), MUD), of)]
    assert lines[0].startswith("Between two fills, collars: fill it all along. The rig's own rule, 1 stand or 20 psi")
    assert "drill pipe: 1 stand, 0.7" in lines[2]


def test_pipe_as_wide_as_the_casing_is_filled_all_along_whatever_the_rule() -> None:
    wide = COLLARS.replace("0.0545", "0.2")
    assert told(rig(CASING, wide, PIPE, rule("stands = 9")))["collars"] == (0, 0, False)


def test_what_a_stand_takes_goes_by_how_it_is_pulled() -> None:
    of = rig(CASING, COLLARS, PIPE, rule('pressure = "40 psi"'))
    (dry, *_), (wet, *_), (bucket, *_) = (posting.posted(of, Way(way), MUD) for way in ("dry", "wet", "bucket"))
    assert dry.own is not None
    assert dry.own.volume_m3 / BBL == pytest.approx(93 * 0.0545, rel=1e-6)
    # Wet 0.0622 bbl/ft: 93 × 0.0622/0.08753 × 0.62338 = 41.2 psi, more than 40.
    assert wet.own is not None
    assert wet.own.stands == 0
    assert bucket == wet


def test_nothing_is_posted_without_the_hole() -> None:
    of = rig(COLLARS, PIPE, rule("stands = 3"))
    assert posting.posted(of, Way(), MUD) == ()
    assert [f.code for f in posting.findings(of, ())] == ["not_posted"]


def test_the_reference_s_pressure_lost_is_what_the_level_s_fall_weighs() -> None:
    (p, *_) = posting.posted(rig(CASING, COLLARS, PIPE), Way("dry"), MUD)
    assert p.reference.drop_m / FT == pytest.approx(2 * 93 * 0.0545 / 0.09523, rel=1e-4)
    assert p.reference.pressure_pa / 6894.757293168 == pytest.approx(p.reference.drop_m / FT * 0.62338, rel=1e-4)


def test_the_json_lines_hold_what_is_posted_with_its_rule_and_the_reference() -> None:
    """Pulled dry, collars: the own rule of 3 stands allows one more than the reference's 2."""
    of = rig(CASING, COLLARS, PIPE, rule("stands = 3"))
    tripped = Tripped(of, (), (), (), 5, posting.posted(of, Way("dry"), MUD))
    lines = [json.loads(line) for line in json_lines(tripped)]
    assert [(x["type"], x["pipe"], x["by"], x["stands"], x["looser"]) for x in lines[:-1]] == [
        ("posted", "collars", "own", 3, True), ("posted", "collars", "reference", 2, False),
        ("posted", "drill pipe", "own", 3, False), ("posted", "drill pipe", "reference", 5, False)]
    assert lines[0]["volume_m3"] == pytest.approx(3 * 93 * 0.0545 * BBL, rel=1e-6)
    assert lines[-1]["type"] == "summary"
