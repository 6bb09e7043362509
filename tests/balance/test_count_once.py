"""What is given twice, or known and not booked, is a finding; the books themselves leave nothing out for it."""

from __future__ import annotations

from typing import Any

import pytest

from dipbook import balance
from dipbook.records import Draft
from ledgers import EQUIPPED, RIG, booked, dips, entry, in_bbl, minutes, rig_draft

START = dips(0, Settling=60, Suction=60, Reserve=50, Trip=30)
ZERO = entry("zero", 0, length=0, reason="start of tour")
KEPT = RIG.replace("mud_on_cuttings = 0", "mud_on_cuttings = 1")


def found(code: str, *more: Draft, rig: str = RIG) -> list[Any]:
    return [f for f in balance.findings(booked(START, ZERO, *more, rig=rig)) if f.code == code]


def rate(minute: float, state: str = "on", **other: Any) -> Draft:
    return entry("rate in force", minute, state=state, **({"rate": 0.1} if state == "on" else {}), **other)


# --- mud kept on cuttings -------------------------------------------------------------------------------------------

@pytest.mark.parametrize("what", ["shaker", "underflow"])
def test_r_and_a_rate_of_the_same_mud_is_a_finding(what: str) -> None:
    (one,) = found("counted_twice_on_cuttings", rate(10, from_="active", what=what), rig=KEPT)
    assert one.t_ms == minutes(10)[0]
    assert what in one.what


def test_either_of_them_alone_is_none() -> None:
    assert not found("counted_twice_on_cuttings", rate(10, from_="active", what="shaker"))
    assert not found("counted_twice_on_cuttings", rate(10, from_="active", what="surface loss"), rig=KEPT)
    assert not found("counted_twice_on_cuttings", rig=KEPT)


def test_r_set_later_counts_from_then_and_a_rate_ended_before_it_does_not() -> None:
    later = rig_draft(KEPT, 30)
    (one,) = found("counted_twice_on_cuttings", rate(10, from_="active", what="shaker"), later)
    assert one.t_ms == minutes(30)[0]
    assert not found("counted_twice_on_cuttings", rate(10, from_="active", what="shaker"),
                     rate(20, "off", from_="active"), later)


# --- settled solids -------------------------------------------------------------------------------------------------

def dump(what: str) -> Draft:
    return entry("trap dump", 10, from_="Settling", before=60, after=50, volume=35.6, what=what)


def test_settled_solids_dumped_while_cuttings_are_booked_as_carried_off_is_a_finding() -> None:
    (one,) = found("counted_twice_settled", dump("settled solids"))
    assert (one.tank, one.t_ms) == ("Settling", minutes(10)[0])
    assert not found("counted_twice_settled", dump("mud"))
    assert not found("counted_twice_settled", dump("settled solids"),
                     rig=RIG.replace("carried_off = 1", "carried_off = 0"))


def test_both_are_booked_all_the_same_until_a_person_says_which_is_true() -> None:
    books = booked(START, ZERO, dump("settled solids"))
    assert in_bbl(balance.at(books, minutes(20)).terms["discards"]) == pytest.approx([-35.6])


# --- water valves ---------------------------------------------------------------------------------------------------

def valve(minute: float, state: str) -> Draft:
    return entry("valve", minute, valve="Water on Suction", state=state)


def water(*more: Draft, rig: str = EQUIPPED) -> list[Any]:
    return found("water_not_booked", *more, rig=rig)


def test_an_open_water_valve_and_no_rate_is_a_finding() -> None:
    (one,) = water(valve(10, "open"))
    assert (one.tank, one.t_ms) == ("Suction", minutes(10)[0])
    assert "gain" in one.what


@pytest.mark.parametrize("to", ["Suction", "active"])
def test_a_rate_into_its_tank_or_the_active_system_books_it(to: str) -> None:
    assert not water(rate(10, to=to, what="water valve"), valve(10, "open"))
    assert not water(rate(10, to=to), valve(10, "open"))


def test_a_rate_into_another_tank_an_outflow_and_rain_do_not() -> None:
    for other in ({"to": "Settling"}, {"from_": "active"}, {"to": "active", "what": "rain"}):
        assert len(water(rate(10, **other), valve(10, "open"))) == 1


def test_water_booked_as_an_addition_while_the_valve_is_open_books_it() -> None:
    """Told to log its rate besides, the crew would book it twice."""
    assert not water(valve(10, "open"), valve(30, "closed"), entry("addition", 10, 30, to="Suction", volume=20))
    assert len(water(valve(10, "open"), valve(30, "closed"), entry("addition", 40, to="Suction", volume=20))) == 1
    assert len(water(valve(10, "open"), valve(30, "closed"), entry("addition", 20, to="Settling", volume=20))) == 1


def test_a_rate_that_ends_before_the_valve_is_closed_leaves_the_rest_unbooked() -> None:
    (one,) = water(rate(10, to="Suction"), valve(10, "open"), rate(20, "off", to="Suction"), valve(30, "closed"))
    assert one.t_ms == minutes(20)[0]
    assert not water(rate(10, to="Suction"), valve(10, "open"), valve(20, "closed"), rate(20, "off", to="Suction"))


def test_each_time_it_stands_open_unbooked_is_told_once() -> None:
    times = [f.t_ms for f in water(valve(10, "open"), valve(12, "open"), rate(15, to="Settling"), valve(20, "closed"),
                                   valve(40, "open"))]
    assert times == minutes(10, 40)


def test_a_water_valve_that_the_rig_file_has_open_counts_from_the_start() -> None:
    opened = EQUIPPED[:EQUIPPED.index("[[valve]]")] + EQUIPPED[EQUIPPED.index("[[valve]]"):].replace("false", "true")
    assert [f.t_ms for f in water(rig=opened)] == [minutes(-1)[0]]
    assert not water(rig=opened.replace('"water"', '"dump"'))


# --- rates of different sorts ---------------------------------------------------------------------------------------

def rates(*more: Draft, at: float) -> float:
    return float(in_bbl(balance.at(booked(START, ZERO, *more), minutes(at)).terms["rates"])[0])


def sort(minute: float, state: str, what: str = "", bpm: float = 0.0, remark: str = "") -> Draft:
    return entry("rate in force", minute, from_="active", state=state, **({"rate": bpm} if state == "on" else {}),
                 **({"what": what} if what else {}), **({"remark": remark} if remark else {}))


def test_rates_of_different_sorts_stand_beside_each_other() -> None:
    """Shaker 0.1 bbl/min from 0, evaporation 0.2 from 0: 3 bbl in 10 min; the shaker raised to 0.3 at 10 replaces its
    own only: 5 more by 20."""
    on = [sort(0, "on", "shaker", 0.1), sort(0, "on", "evaporation", 0.2)]
    assert rates(*on, at=10) == pytest.approx(-3)
    assert rates(*on, sort(10, "on", "shaker", 0.3), at=20) == pytest.approx(-8)


def test_off_ends_the_sort_that_it_names_or_all_of_the_same_places() -> None:
    on = [sort(0, "on", "shaker", 0.1), sort(0, "on", "evaporation", 0.2), sort(0, "on", bpm=0.4, remark="leak")]
    assert rates(*on, sort(10, "off", "shaker"), at=20) == pytest.approx(-1 - 4 - 8)
    assert rates(*on, sort(10, "off", remark="Leak"), at=20) == pytest.approx(-2 - 4 - 4)
    assert rates(*on, sort(10, "off"), at=20) == pytest.approx(-7)


def test_an_off_of_another_sort_ends_nothing_and_says_so() -> None:
    off = [sort(0, "on", "shaker", 0.1), sort(10, "off", "underflow")]
    assert rates(*off, at=20) == pytest.approx(-2)
    assert len(found("rate_off_unknown", *off)) == 1


def test_a_valve_s_rate_while_the_valve_is_shut_is_a_finding() -> None:
    def shut(*more: Draft) -> list[Any]:
        return found("water_booked_shut", *more, rig=EQUIPPED)

    (one,) = shut(valve(1, "open"), rate(1, to="Suction", what="water valve"), valve(10, "closed"))
    assert (one.tank, one.t_ms) == ("Suction", minutes(10)[0])
    assert "kick" in one.what
    assert not shut(valve(1, "open"), rate(1, to="Suction", what="water valve"))
    assert not shut(rate(1, to="Suction", what="rain")), "rain needs no valve"
    assert not shut(rate(1, to="Settling", what="water valve")), "this tank has no valve described"


# --- dump valves ----------------------------------------------------------------------------------------------------

DUMP = EQUIPPED + '[[valve]]\nname = "Trap dump"\nkind = "dump"\ntank = "Settling"\nopen = false\n'


def test_an_open_dump_valve_and_nothing_booked_out_is_a_finding() -> None:
    def dumped(*more: Draft) -> list[Any]:
        return found("dump_not_booked", *more, rig=DUMP)

    opened, closed = (entry("valve", m, valve="Trap dump", state=state) for m, state in ((10, "open"), (14, "closed")))
    (one,) = dumped(opened)
    assert (one.tank, one.t_ms) == ("Settling", minutes(10)[0])
    assert "kick" in one.what
    assert len(dumped(opened, closed)) == 1
    assert not dumped(opened, closed, entry("trap dump", 10, 14, from_="Settling", volume=20))
    assert not dumped(opened, closed, entry("discard", 14, from_="Settling", volume=20))
    assert len(dumped(opened, closed, entry("discard", 40, from_="Settling", volume=20))) == 1, "long after it was closed"
