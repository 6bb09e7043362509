"""Room, usable mud and what is lost, by hand. Boxes of 8 by 30 by 9 ft: an inch holds 20 ft³. Invented."""

from __future__ import annotations

import pytest

from app.real_desks import rig_text
from builders import FT, IN
from dipbook import balance, composing
from dipbook.books import build
from dipbook.records import RIG, ROUND, Dip, Draft, numbered
from dipbook.situation import StockView
from dipbook.stock import loss

MIN = 60_000
INCH_M3 = 20 * FT**3


def stock(*drafts: Draft, now: int, more: str = "") -> StockView:
    rig = Draft(RIG, 0, 0, payload={"text": rig_text(more), "effective": "change"})
    found = composing.picture(composing.seen(build(numbered([rig, *drafts]))), now).stock
    assert found is not None
    return found


def gauged(t: int, **inches: float) -> Draft:
    names = {"settling": "Settling", "suction": "Suction", "reserve": "Reserve 1"}
    return Draft(ROUND, t, t, dips=tuple(Dip(names[n], t, "", v * IN) for n, v in inches.items()))


def test_room_and_usable_by_hand() -> None:
    s = stock(gauged(10 * MIN, settling=60, suction=70, reserve=40), now=20 * MIN, more='[hole]\nvolume = "100 bbl"\n')
    assert s.room_m3 == pytest.approx((48 + 38) * INCH_M3)
    assert s.tightest is not None
    assert s.tightest == ("Suction", pytest.approx(38 * INCH_M3))
    assert s.usable_active_m3 == pytest.approx(130 * INCH_M3)
    assert s.usable_reserve_m3 == pytest.approx(40 * INCH_M3)
    assert s.hole_m3 == pytest.approx(15.8987294928)
    assert s.unknown == ()


def test_a_tank_that_nobody_gauged_is_never_counted_as_empty() -> None:
    s = stock(gauged(10 * MIN, settling=60), now=20 * MIN)
    assert (s.room_m3, s.tightest, s.usable_active_m3, s.usable_reserve_m3) == (None, None, None, None)
    assert s.unknown == ("Suction", "Reserve 1")


def test_hours_left_at_a_loss_by_hand() -> None:
    a, b = gauged(10 * MIN, settling=60, suction=60), gauged(70 * MIN, settling=60, suction=56)
    s = stock(a, b, now=70 * MIN)
    assert s.loss_span_ms == 60 * MIN
    assert s.loss_rate_m3_s == pytest.approx(4 * INCH_M3 / 3600)
    assert s.hours_left == pytest.approx(116 / 4)


def test_a_fall_within_what_dips_can_tell_is_no_loss_and_too_short_a_span_is_unknown() -> None:
    small = stock(gauged(10 * MIN, settling=60, suction=60), gauged(70 * MIN, settling=60, suction=59.9), now=70 * MIN)
    assert (small.loss_rate_m3_s, small.hours_left) == (0.0, None)
    short = stock(gauged(10 * MIN, settling=60, suction=60), gauged(30 * MIN, settling=60, suction=56), now=30 * MIN)
    assert (short.loss_rate_m3_s, short.loss_span_ms, short.hours_left) == (None, None, None)


def test_rates_in_force_count_and_a_gain_brings_no_hours() -> None:
    rounds = (gauged(10 * MIN, settling=60, suction=60), gauged(70 * MIN, settling=60, suction=60))
    out = Draft("rate in force", 71 * MIN, 71 * MIN, payload={"state": "on", "from": "active", "rate_m3_s": 0.001})
    s = stock(*rounds, out, now=72 * MIN)
    assert s.loss_rate_m3_s == pytest.approx(0.001)
    assert s.hours_left == pytest.approx((120 * INCH_M3 - 60 * 0.001) / 0.001 / 3600), "a minute of it is gone already"
    into = Draft("rate in force", 71 * MIN, 71 * MIN, payload={"state": "on", "to": "active", "rate_m3_s": 0.001})
    s = stock(*rounds, into, now=72 * MIN)
    assert (s.loss_rate_m3_s, s.hours_left) == (0.0, None)


def test_a_loss_smaller_than_a_round_of_minutes_can_tell_is_none() -> None:
    """Rain of 6 in of suction an hour and rounds of ten minutes: a dip taken first lacks an inch of it, so a fall of
    0.8 in says nothing, though dips that were taken at once would have told it."""
    def fell(minutes: int) -> float:
        rig = Draft(RIG, 0, 0, payload={"text": rig_text(), "effective": "change"})
        rain = Draft("rate in force", MIN, MIN, payload={"state": "on", "to": "active", "rate_m3_s": 6 * INCH_M3 / 3600})
        rounds = [Draft(ROUND, t, t, dips=(Dip("Settling", t - minutes * MIN, "", 60 * IN), Dip("Suction", t, "", v * IN)))
                  for t, v in ((20 * MIN, 60.0), (80 * MIN, 65.2))]
        books = build(numbered([rig, rain, *rounds]))
        lost = loss(books, balance.at(books, [20 * MIN, 80 * MIN]))
        assert lost is not None
        assert lost.span_ms == 60 * MIN
        return lost.rate_m3_s

    assert fell(0) == pytest.approx(0.8 * INCH_M3 / 3600)
    assert fell(10) == 0.0


def test_hours_left_grow_less_while_nobody_gauges() -> None:
    """4 in an hour, 116 in left at 70 min: 29 h then, 19 h ten hours later."""
    rounds = (gauged(10 * MIN, settling=60, suction=60), gauged(70 * MIN, settling=60, suction=56))
    assert stock(*rounds, now=70 * MIN).hours_left == pytest.approx(29.0)
    assert stock(*rounds, now=670 * MIN).hours_left == pytest.approx(19.0)


def test_a_discard_that_runs_at_a_rate_is_a_loss_as_a_rate_in_force_is() -> None:
    rounds = (gauged(10 * MIN, settling=60, suction=60), gauged(70 * MIN, settling=60, suction=60))
    run = Draft("discard", 71 * MIN, 71 * MIN, payload={"state": "running", "from": "Suction", "rate_m3_s": 0.001})
    assert stock(*rounds, run, now=72 * MIN).loss_rate_m3_s == pytest.approx(0.001)
    inside = Draft("transfer", 71 * MIN, 71 * MIN,
                   payload={"state": "running", "from": "Suction", "to": "Settling", "rate_m3_s": 0.001})
    assert stock(*rounds, inside, now=72 * MIN).loss_rate_m3_s == 0.0


def test_what_runs_at_an_unknown_rate_or_went_below_nothing_leaves_its_tank_unknown() -> None:
    dips = gauged(10 * MIN, settling=60, suction=60, reserve=40)
    run = Draft("transfer", 20 * MIN, 20 * MIN, payload={"state": "running", "from": "Reserve 1", "to": "Suction"})
    s = stock(dips, run, now=80 * MIN)
    assert (s.room_m3, s.tightest, s.usable_active_m3) == (None, None, None)
    assert s.unknown == ("Suction", "Reserve 1")
    too_much = Draft("discard", 20 * MIN, 20 * MIN, payload={"from": "Settling", "volume_m3": 70 * INCH_M3})
    s = stock(dips, too_much, now=80 * MIN)
    assert (s.room_m3, s.unknown) == (None, ("Settling",))


def test_what_the_well_gave_back_takes_room_in_the_suction() -> None:
    """Suction 2 in below its brim, the pumps stop and 20 bbl drain back: the books know that it runs over."""
    more = '[drain_back]\nat = [["300 gal[US]/min", "20 bbl"]]\nfalling = "60 s"\nrising = "40 s"\n'
    on = Draft("pumps", -60 * MIN, -60 * MIN, payload={"state": "on", "flow_m3_s": 0.02})
    off = Draft("pumps", 20 * MIN, 20 * MIN, payload={"state": "off"})
    dips = gauged(10 * MIN, settling=60, suction=106)
    before, after = (stock(on, *drafts, now=80 * MIN, more=more) for drafts in ((dips,), (dips, off)))
    assert before.tightest == ("Suction", pytest.approx(2 * INCH_M3))
    assert after.tightest == ("Suction", pytest.approx(2 * INCH_M3 - 20 * 0.158987294928))
    assert after.shows_well
    unknown = stock(on, dips, off, now=80 * MIN)
    assert unknown.tightest == before.tightest
    assert not unknown.shows_well, "by the dips alone, and it is said"
