"""Ways in which a warning could be missed at the desk, on a real log: activities, relooks, outside a table, flow line."""

from __future__ import annotations

from pathlib import Path

import pytest

from app.real_desks import GAIN, MIN, OVERDUE, Hands, bench, make_log, rig_text

pytestmark = pytest.mark.usefixtures("qapp")
STATIC = GAIN.replace('name = "gain"', 'name = "static"').replace('"any"', '"static"').replace('"5 bbl"', '"3 bbl"')
STATIC_DUE = OVERDUE.replace('name = "overdue"', 'name = "static round"').replace('"any"', '"static"').replace(
    '"35 min"', '"10 min"')


@pytest.fixture
def hands() -> Hands:
    return Hands()


@pytest.mark.parametrize("restarted", [False, True])
def test_an_activity_with_stricter_limits_counts_from_its_entry_and_after_a_restart(
        tmp_path: Path, hands: Hands, restarted: bool) -> None:
    path = make_log(tmp_path / "a.dipbook", rig_text(GAIN, STATIC, OVERDUE, STATIC_DUE))
    with bench(path, hands) as b:
        b.round()
        assert not b.log("activity", activity="drilling")
        b.pass_(5)
        b.round(61)                                              # 3.6 bbl: within 5 bbl, past the 3 bbl of static
        assert not b.warnings
        b.pass_(2)
        assert not b.log("activity", activity="static")
        assert b.states() == {"static": "raised"}
        assert b.desk.sounding
        if not restarted:
            b.pass_(8)
            assert b.states() == {"static": "raised", "static round": "raised"}
    if restarted:
        with bench(path, hands) as b:
            assert b.states() == {"static": "raised"}
            b.pass_(8)
            assert b.states() == {"static": "raised", "static round": "raised"}
            assert [line for line in b.journal() if line[0] == "static"] == [("static", "ACT", "raised")]


def test_an_entry_that_makes_the_last_of_two_readings_a_gain_counts_the_one_before_it(
        tmp_path: Path, hands: Hands) -> None:
    """Two readings in a row beyond: 02:25 was, 02:35 is once a discard of 02:30 is logged."""
    two = GAIN.replace('"1 reading"', '"2 readings"')
    with bench(make_log(tmp_path / "a.dipbook", rig_text(two)), hands) as b:
        b.round()
        b.pass_(10)
        b.round(62)                                              # 7.1 bbl
        b.pass_(10)
        b.round(61)                                              # 3.6 bbl
        assert not b.warnings
        assert not b.log("discard", hands.ms - 5 * MIN, from_="Suction", volume="6 bbl")
        assert b.states() == {"gain": "raised"}
