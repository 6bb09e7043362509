"""What the stick should read, by hand and against the balance itself. Rigs and logs are invented."""

from __future__ import annotations

import pytest

from app.real_desks import rig_text
from builders import BBL, BBL_FT, FT, IN
from dipbook import balance, composing
from dipbook.books import Books, build
from dipbook.records import RIG, ROUND, Dip, Draft, numbered
from dipbook.targets import next_stand, should_read

MIN = 60_000
INCH_M3 = 30 * FT * 8 * FT * IN
"""An inch of level in each box [m3]."""
WELL = """
[hole]
capacity = "0.1458 bbl/ft"
lag = "0 min"
carried_off = 1.0
porosity = 0.0
mud_on_cuttings = 0.0
[pipe]
steel = "0.00759 bbl/ft"
bore = "0.01776 bbl/ft"
stand = "93 ft"
[drain_back]
at = [["300 gal[US]/min", "20 bbl"]]
falling = "60 s"
rising = "40 s"
"""
FLOW = 300 * 0.003785411784 / 60
STAND_M3 = (0.00759 - 0.1458) * BBL_FT * 93 * FT
"""Steel in, rock out: −12.854 bbl a stand."""


def rig(*more: str) -> Draft:
    return Draft(RIG, 0, 0, payload={"text": rig_text(*more), "effective": "change"})


def gauged(t: int, suction: float = 60.0) -> Draft:
    return Draft(ROUND, t, t, dips=tuple(Dip(n, t, "", v * IN) for n, v in (
        ("Settling", 60.0), ("Suction", suction), ("Reserve 1", 40.0))))


def entry(kind: str, t: int, **payload: object) -> Draft:
    return Draft(kind, t, t, payload=payload)


def books(*drafts: Draft, more: tuple[str, ...] = (WELL,)) -> Books:
    return build(numbered([rig(*more), *drafts]))


DRILLING = (entry("activity", 2 * MIN, activity="drilling"), entry("pumps", -20 * MIN, state="on", flow_m3_s=FLOW),
            entry("depth", 5 * MIN, hole_depth_m=3000 * FT, bit_depth_m=3000 * FT), gauged(10 * MIN),
            entry("zero", 10 * MIN, length_m=0.0, reason="x"))
"""Drilling down a stand to the rotary: nothing stands full above it, the pumps are on for long."""


def test_a_tank_should_read_its_dip_and_what_was_moved_since() -> None:
    b = books(gauged(10 * MIN), entry("transfer", 20 * MIN, **{"from": "Reserve 1", "to": "Settling"},
                                      volume_m3=2 * INCH_M3))
    for name, inches in (("Settling", 62.0), ("Reserve 1", 38.0), ("Suction", 60.0)):
        target = should_read(b, b.rig.tank(name), 30 * MIN)
        assert target is not None
        assert target.dip_m == pytest.approx(inches * IN)
    before = should_read(b, b.rig.tank("Settling"), 15 * MIN)
    assert before is not None
    assert before.dip_m == pytest.approx(60 * IN)
    view = next(t for t in composing.picture(composing.seen(b), 30 * MIN).tanks if t.name == "Settling")
    assert view.should_read_m == pytest.approx(62 * IN)
    assert view.should_hold_m3 == pytest.approx(62 * INCH_M3)


def test_without_a_dip_or_with_more_than_it_holds_nothing_is_told() -> None:
    b = books(gauged(10 * MIN), entry("addition", 20 * MIN, to="Settling", volume_m3=60 * INCH_M3))
    assert should_read(b, b.rig.tank("Settling"), 5 * MIN) is None
    assert should_read(b, b.rig.tank("Settling"), 30 * MIN) is None


def test_the_suction_shows_the_well_and_agrees_with_the_balance() -> None:
    drafts = (*DRILLING, entry("depth", 20 * MIN, hole_depth_m=3093 * FT, bit_depth_m=3093 * FT),
              entry("pumps", 21 * MIN, state="off"))
    b = books(*drafts)
    target = should_read(b, b.rig.tank("Suction"), 30 * MIN)
    assert target is not None
    so_dipped = books(*drafts, gauged(30 * MIN, target.dip_m / IN))
    assert float(balance.at(so_dipped, 30 * MIN).difference_m3[0]) == pytest.approx(0.0, abs=1e-9)
    assert target.change_m3 != pytest.approx(0.0, abs=0.1)


def test_after_the_next_stand_by_hand() -> None:
    assert pytest.approx(-12.8535, abs=1e-4) == STAND_M3 / BBL
    b = books(*DRILLING)
    target = next_stand(b, 20 * MIN)
    assert target is not None
    assert target.tank == "Suction"
    assert target.change_m3 == pytest.approx(STAND_M3)
    assert target.dip_m == pytest.approx(60 * IN + STAND_M3 / INCH_M3 * IN)
    assert "suction" in target.why


def test_with_the_shakers_bypassed_only_the_steel_counts() -> None:
    target = next_stand(books(*DRILLING, entry("shakers", 15 * MIN, state="bypassed")), 20 * MIN)
    assert target is not None
    assert target.change_m3 == pytest.approx(0.00759 * BBL_FT * 93 * FT)


def test_nothing_after_the_next_stand_where_something_is_missing() -> None:
    def told(*drafts: Draft, more: tuple[str, ...] = (WELL,)) -> object:
        return next_stand(books(*DRILLING, *drafts, more=more), 20 * MIN)

    assert told() is not None
    assert told(more=()) is None
    assert told(entry("line-up", 12 * MIN, tank="flow line", to="none")) is None
    assert told(entry("line-up", 12 * MIN, tank="Suction", state="out")) is None
    assert told(entry("activity", 12 * MIN, activity="connection")) is not None
    for activity in ("tripping", "circulating", "static", "unknown"):
        assert told(entry("activity", 12 * MIN, activity=activity)) is None, activity
    assert next_stand(books(*DRILLING[1:]), 20 * MIN) is None, "nobody said that the rig drills"
    assert told(entry("pumps", 15 * MIN, state="off")) is None, "the lines drain back: what they take again isn't in it"
    assert told(more=(WELL.replace("porosity = 0.0\n", ""),)) is None, "a share that nobody set isn't 0"
    assert next_stand(books(*DRILLING[:-1], entry("zero", 10 * MIN, reason="x")), 20 * MIN) is None, "F wasn't given"


STAND = (entry("stand filled", 60 * MIN, length_m=93 * FT),
         entry("depth", 160 * MIN, hole_depth_m=3093 * FT, bit_depth_m=3093 * FT))


@pytest.mark.parametrize(("before", "stand"), [
    ((), STAND),
    ((entry("pumps", 15 * MIN, state="off"), entry("pumps", 20 * MIN - 30_000, state="on", flow_m3_s=FLOW)), STAND),
    ((entry("stand filled", 15 * MIN, length_m=93 * FT),),
     (STAND[1], entry("stand filled", 161 * MIN, length_m=93 * FT),
      entry("depth", 200 * MIN, hole_depth_m=3186 * FT, bit_depth_m=3186 * FT))),
], ids=["between two stands", "the lines still filling", "with a whole stand to drill first"])
def test_the_next_stand_is_what_the_books_expect_of_it(before: tuple[Draft, ...], stand: tuple[Draft, ...]) -> None:
    """Filled, made up, lowered and drilled with returns at once: all that the balance books until it is down."""
    target = next_stand(books(*DRILLING, *before), 20 * MIN)
    row = balance.at(books(*DRILLING, *before, *stand), [10 * MIN, 240 * MIN])
    assert target is not None
    assert float(row.expected_m3[1] - row.expected_m3[0]) == pytest.approx(target.change_m3, rel=1e-9)


def test_nothing_is_told_of_the_suction_where_the_books_do_not_follow_the_well() -> None:
    def told(*drafts: Draft, more: str = WELL) -> object:
        b = books(*DRILLING, *drafts, more=(more,))
        return should_read(b, b.rig.tank("Suction"), 30 * MIN)

    stand = entry("depth", 20 * MIN, hole_depth_m=3093 * FT, bit_depth_m=3093 * FT)
    assert told() is not None
    assert told(stand) is not None
    assert told(entry("activity", 12 * MIN, activity="tripping")) is None
    assert told(entry("activity", 12 * MIN, activity="tripping"), entry("activity", 25 * MIN, activity="drilling")) is None
    assert told(entry("line-up", 12 * MIN, tank="flow line", to="none")) is None
    assert told(stand, more=WELL.replace("carried_off = 1.0\n", "")) is None
    no_drain_back = WELL[:WELL.index("[drain_back]")]
    assert told(entry("pumps", 12 * MIN, state="off"), more=no_drain_back) is None, "20 bbl drain back, and nobody books them"
    assert should_read(books(*DRILLING, more=(no_drain_back,)), books().rig.tank("Suction"), 30 * MIN) is not None, \
        "on for long, they are settled"


def test_nothing_is_told_of_a_tank_with_a_move_of_unknown_volume() -> None:
    run = entry("transfer", 15 * MIN, **{"from": "Reserve 1", "to": "Suction"}, state="running")
    b = books(*DRILLING, run)
    for name in ("Reserve 1", "Suction"):
        assert should_read(b, b.rig.tank(name), 30 * MIN) is None
    assert should_read(b, b.rig.tank("Settling"), 30 * MIN) is not None
    stopped = entry("transfer", 15 * MIN, **{"from": "Reserve 1", "to": "Suction"}, end_ms=20 * MIN, volume_m3=INCH_M3)
    assert should_read(books(*DRILLING, stopped), b.rig.tank("Reserve 1"), 30 * MIN) is not None


def test_a_changed_line_up_tells_nothing_of_the_well() -> None:
    b = books(gauged(10 * MIN), entry("line-up", 12 * MIN, tank="Reserve 1", state="in"))
    assert should_read(b, b.rig.tank("Suction"), 20 * MIN) is None
    assert should_read(b, b.rig.tank("Settling"), 20 * MIN) is not None


GATE = """
[[valve]]
name = "Gate 2"
kind = "gate"
tank = "Settling"
to = "Suction"
open = false
equalises = true
"""


def test_an_open_gate_since_the_dip_tells_nothing() -> None:
    b = books(gauged(10 * MIN), entry("valve", 12 * MIN, valve="Gate 2", state="open"),
              entry("valve", 14 * MIN, valve="Gate 2", state="closed"), more=(WELL, GATE))
    assert should_read(b, b.rig.tank("Suction"), 11 * MIN) is not None
    for t in (13 * MIN, 20 * MIN):
        assert should_read(b, b.rig.tank("Suction"), t) is None
        assert should_read(b, b.rig.tank("Settling"), t) is None
