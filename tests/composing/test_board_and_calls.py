"""The board says where everything stands and what changes it; calls wait until they are answered. Invented."""

from __future__ import annotations

import pytest

from app.real_desks import rig_text
from builders import FT, IN
from dipbook import composing
from dipbook.books import build
from dipbook.records import RIG, ROUND, Dip, Draft, numbered
from dipbook.situation import BoardLine, Situation

MIN = 60_000
MORE = """
[hole]
capacity = "0.1458 bbl/ft"
[[valve]]
name = "Gate 2"
kind = "gate"
tank = "Settling"
to = "Suction"
open = true
[[equipment]]
name = "Desilter"
holds = "6 bbl"
on = false
"""


def entry(kind: str, t: int, **payload: object) -> Draft:
    return Draft(kind, t, t, author="K. Lind", payload=payload)


def gauged(t: int, suction: float = 60.0) -> Draft:
    return Draft(ROUND, t, t, dips=tuple(Dip(n, t, "", v * IN) for n, v in (("Settling", 60.0), ("Suction", suction))))


def shown(*drafts: Draft, now: int = 100 * MIN, more: str = MORE) -> Situation:
    rig = Draft(RIG, 0, 0, payload={"text": rig_text(more), "effective": "change"})
    return composing.picture(composing.seen(build(numbered([rig, *drafts]))), now)


def lines(s: Situation) -> dict[str, BoardLine]:
    return {x.name: x for x in s.board}


def test_as_the_rig_file_says() -> None:
    s = shown()
    assert [(x.group, x.name, x.state) for x in s.board] == [
        ("flow line", "Flow line", "to the active system"), ("tank", "Settling", "in"), ("tank", "Suction", "in"),
        ("tank", "Reserve 1", "out"), ("valve", "Gate 2", "open"), ("equipment", "Desilter", "off"),
        ("shakers", "Shakers", "on screens")]
    assert all(x.normal and x.since_ms is None for x in s.board)
    assert lines(s)["Gate 2"].fields == {"valve": "Gate 2", "state": "closed"}
    assert lines(s)["Desilter"].fields == {"equipment": "Desilter", "state": "on"}


def test_what_was_changed_says_since_when_and_how_it_is_put_back() -> None:
    s = shown(gauged(5 * MIN), entry("line-up", 10 * MIN, tank="flow line", to="Reserve 1"),
              entry("line-up", 11 * MIN, tank="Settling", state="out"),
              entry("valve", 12 * MIN, valve="gate 2", state="closed"),
              entry("equipment", 13 * MIN, equipment="Desilter", state="on"),
              entry("shakers", 14 * MIN, state="bypassed"),
              entry("rate in force", 15 * MIN, state="on", what="rain", to="active", rate_m3_s=0.001))
    found = lines(s)
    for name, state, since in (("Flow line", "to Reserve 1", 10), ("Settling", "out", 11), ("Gate 2", "closed", 12),
                               ("Desilter", "on", 13), ("Shakers", "bypassed", 14), ("rain", "on", 15)):
        assert (found[name].state, found[name].since_ms, found[name].normal) == (state, since * MIN, False)
    assert found["Flow line"].fields == {"tank": "flow line", "to": "active"}
    assert found["rain"].fields == {"to": "active", "what": "rain", "state": "off"}


def test_nothing_is_on_the_board_before_its_time() -> None:
    s = shown(entry("valve", 50 * MIN, valve="Gate 2", state="closed"), now=40 * MIN)
    assert (lines(s)["Gate 2"].state, lines(s)["Gate 2"].normal) == ("open", True)


def test_a_notice_waits_until_it_is_moved_or_called_off() -> None:
    told = {"from": "Reserve 1", "to": "Settling", "told": "M. Roe"}
    s = shown(entry("about to move mud", 10 * MIN, **told, state="announced"),
              entry("about to move mud", 11 * MIN, **told, state="answered", answer="go"),
              entry("about to move mud", 12 * MIN, **told, state="moved"),
              entry("about to move mud", 13 * MIN, **told, state="called off"))
    assert [(n.state, n.text, n.answer) for n in s.notices] == [
        ("announced", "from Reserve 1 to Settling", ""), ("answered", "from Reserve 1 to Settling", "go")]


def test_shut_in_shows_the_gain_as_logged_beside_the_books() -> None:
    rounds = (gauged(5 * MIN), gauged(20 * MIN, 61.0))
    first = entry("shut-in", 21 * MIN, state="shut in")
    more = entry("shut-in", 23 * MIN, state="shut in", gain_m3=1.5)
    view = shown(*rounds, first, more).shut_in
    assert view is not None
    assert (view.t_ms, view.gain_m3, view.by) == (21 * MIN, 1.5, "K. Lind")
    assert view.books_m3 == pytest.approx(20 * FT**3)
    assert view.u_m3 is not None
    assert shown(*rounds, first, entry("shut-in", 30 * MIN, state="opened")).shut_in is None
    unknown = shown(first).shut_in
    assert unknown is not None
    assert (unknown.books_m3, unknown.u_m3) == (None, None)


def test_the_gain_by_the_books_is_that_of_the_last_round_and_not_of_lines_that_drain_meanwhile() -> None:
    """An inch up at 20. The pumps stop at 21 and 12 bbl are expected back by 26, which no dip has seen: not -8.4 bbl."""
    drains = MORE + '[drain_back]\nat = [["300 gal[US]/min", "12 bbl"]]\nfalling = "60 s"\nrising = "40 s"\n'
    pumps = [entry("pumps", 0, state="on", flow_m3_s=0.0189), entry("pumps", 21 * MIN, state="off")]
    view = shown(*pumps, gauged(5 * MIN), gauged(20 * MIN, 61.0), entry("shut-in", 26 * MIN, state="shut in"),
                 more=drains).shut_in
    assert view is not None
    assert view.books_m3 == pytest.approx(20 * FT**3)
    assert view.read_ms == 20 * MIN


def test_a_minute_that_was_not_read_stays_unknown() -> None:
    check = entry("flow check", 30 * MIN, end_ms=35 * MIN, result="flowing", readings_m3=[0.0, None, 0.2],
                  seen_by="M. Roe")
    s = shown(check)
    assert s.flow_check is not None
    assert s.flow_check.readings_m3 == (0.0, None, 0.2)
    assert (30 * MIN, "flow check", "flow check flowing") in s.trend.marks


def test_signs_stay_before_the_crew_newest_first() -> None:
    gas = entry("gas", 50 * MIN, gas_percent=2.5, what="connection")
    assert shown(entry("gas", 50 * MIN, gas_percent=0.4, what="background"), now=100 * MIN).signs == ()
    old = entry("drilling break", 30 * MIN, speed_m_s=0.01)
    flows = entry("flow check", 60 * MIN, end_ms=65 * MIN, result="flowing", seen_by="K. Lind")
    bypass = entry("shakers", 20 * MIN, state="bypassed")
    lighter = entry("mud check", 55 * MIN, density_in_kg_m3=1220.0, density_out_kg_m3=1190.0)
    told = shown(gas, old, flows, bypass, lighter, now=100 * MIN)
    assert [r.kind for r in told.signs] == ["flow check", "mud check", "gas", "shakers"], "the break is an hour old"
    assert [r.kind for r in shown(gas, old, flows, bypass, lighter, now=52 * MIN).signs] == ["gas", "drilling break", "shakers"]
    static = entry("flow check", 70 * MIN, end_ms=75 * MIN, result="static", seen_by="K. Lind")
    over = entry("shakers", 80 * MIN, state="on screens")
    even = entry("mud check", 81 * MIN, density_in_kg_m3=1220.0, density_out_kg_m3=1220.0)
    assert shown(flows, bypass, static, over, even, entry("return flow", 82 * MIN, trend="steady"), now=100 * MIN).signs == ()
    assert [r.kind for r in shown(entry("return flow", 82 * MIN, trend="rising"), now=100 * MIN).signs] == ["return flow"]
    assert [r.kind for r in shown(flows, now=2000 * MIN).signs] == ["flow check"], "until another check says otherwise"
