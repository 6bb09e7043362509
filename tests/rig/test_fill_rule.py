"""[fill_rule] of a rig file: the rig's own rule for filling the hole. Invented."""

from __future__ import annotations

import pytest

from dipbook.errors import RigFileError
from dipbook.rig import document
from dipbook.rig.changes import difference_in_words
from dipbook.rig.model import FillRule
from ledgers import RIG

WHO = 'set_by = "crew"\nreason = "soft shoe"\nsince = "2026-01-07"\n'
PSI = 6894.757293168


def rule(text: str) -> FillRule | None:
    return document.parse(RIG + "[fill_rule]\n" + text, "rig").rig.fill_rule


@pytest.mark.parametrize(("text", "stands", "psi"), [("stands = 3\n", 3, None), ('pressure = "50 psi"\n', None, 50.0),
                                                     ('stands = 5\npressure = "75 psi"\n', 5, 75.0)])
def test_a_rule_has_stands_a_pressure_or_both(text: str, stands: int | None, psi: float | None) -> None:
    found = rule(text + WHO)
    assert found is not None
    assert (found.stands, found.set_by, found.reason, found.since) == (stands, "crew", "soft shoe", "2026-01-07")
    assert found.pressure_pa == (None if psi is None else pytest.approx(psi * PSI))


@pytest.mark.parametrize(("since", "doubted"), [
    ('"yesterday"', True), ('"2026-13-40"', True), ('"2026-01-07"', False), ('"2026-01-07 06:00"', False),
    ("2026-01-07", False), ("2026-01-07T06:00:00", False)])
def test_a_since_that_tells_no_date_is_doubted_in_the_rule_and_in_limits(since: str, doubted: bool) -> None:
    who = WHO.replace('"2026-01-07"', since)
    limit = '[[limit]]\nname = "g"\nkind = "gain"\non = "active"\nvalue = "5 bbl"\ndeadband = "1 bbl"\n'
    for text in ("[fill_rule]\nstands = 3\n" + who, limit + who):
        found = [f.what for f in document.parse(RIG + text, "rig").findings if f.code == "since_no_date"]
        assert bool(found) == doubted
        assert all(since.strip('"') in what and "2026-01-05 06:00" in what for what in found)


def test_no_rule_is_taken_where_none_is_given() -> None:
    assert document.parse(RIG, "rig").rig.fill_rule is None


@pytest.mark.parametrize(("text", "words"), [
    (WHO, "is missing, and so is pressure"),
    ("stands = 2.5\n" + WHO, "2.5 isn't a whole number"),
    ("stands = 0\n" + WHO, "out of range"),
    ("stands = true\n" + WHO, "isn't a number"),
    ("pressure = 75\n" + WHO, "75 has no unit"),
    ('pressure = "75 bbl"\n' + WHO, "75 psi"),
    ('pressure = "75000 psi"\n' + WHO, "too large to be real"),
    ("stands = 3\n" + WHO.replace('set_by = "crew"\n', ""), "who set it"),
    ("stands = 3\n" + WHO.replace('reason = "soft shoe"\n', ""), "why it was set"),
    ("stands = 3\n" + WHO.replace('since = "2026-01-07"\n', ""), "since when"),
    ("stands = 3\nstand = 3\n" + WHO, 'did you mean "stands"?'),
])
def test_what_is_wrong_is_told_with_its_line(text: str, words: str) -> None:
    with pytest.raises(RigFileError) as refused:
        rule(text)
    (problem,) = refused.value.problems
    assert words in problem
    assert "fill_rule" in problem
    assert "line" in problem


def test_a_change_of_the_rule_is_told_in_words() -> None:
    none, three, both = (document.parse(RIG + text, "rig").rig for text in (
        "", "[fill_rule]\nstands = 3\n" + WHO, '[fill_rule]\nstands = 3\npressure = "50 psi"\n' + WHO))
    (adopted,) = difference_in_words(none, three)
    assert adopted == "Rule for filling: not set → 3 stands (set by crew, soft shoe, since 2026-01-07)"
    (changed,) = difference_in_words(three, both)
    assert "→ 3 stands or " in changed
    assert difference_in_words(both, both) == ()
