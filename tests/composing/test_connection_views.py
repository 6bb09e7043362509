"""Connections as a page is given them: the kick test across, what went on between, the trend, and the band in words."""

from __future__ import annotations

from typing import Any

import pytest

from dipbook.books import Books
from dipbook.composing import picture, seen
from dipbook.composing.connection_views import connection_views
from dipbook.records import Draft
from dipbook.situation import ConnectionView, Situation
from flowback.connections import LIMITED, START, accepted, adopted, connection, running, three_accepted
from ledgers import BBL, RIG, booked, entry, minutes


def the_books(*parts: list[Draft], rig: str = LIMITED) -> Books:
    return booked(*START, *(d for part in parts for d in part), rig=rig)


def views(*parts: list[Draft], rig: str = LIMITED) -> tuple[ConnectionView, ...]:
    return connection_views(the_books(*parts, rig=rig))


def now(books: Books, minute: float) -> Situation:
    return picture(seen(books), minutes(minute)[0])


def bbl(x: Any) -> float | None:
    return None if x is None else float(x) / BBL


def test_pumps_on_to_pumps_on_is_what_the_well_gave_across() -> None:
    """3 bbl came in while the pumps were off; the drain-back, booked, cancels out."""
    kicked = connection(30, kick=0.25, lasts=12)
    (one,) = views(kicked, [running(44, 3.0), running(55, 3.0)])
    assert bbl(one.across_m3) == pytest.approx(3.0, abs=1e-6)
    assert one.across_words == ""
    assert one.across_u_m3 is not None
    assert one.across_u_m3 > 0
    early = views(kicked, [running(44, 3.0)])[0]
    assert (early.across_m3, early.across_words) == (None, "no reading yet with the pumps back on and settled")


def test_the_kick_test_needs_equal_rates_on_both_sides() -> None:
    slower = [d for d in connection(30) if d.kind != "pumps"]
    pumps = [entry("pumps", 30, state="off"), entry("pumps", 42, state="on", flow=200)]
    (one,) = views(slower, pumps, [running(55)])
    assert one.across_m3 is None
    assert "another rate" in one.across_words
    (off,) = views(slower, pumps[:1])
    assert off.across_words == "the pumps are still off"
    (changed,) = views(connection(30), [entry("pumps", 44, state="on", flow=310), running(55)])
    assert changed.across_m3 is None
    assert changed.across_words == "no reading at a settled rate after the pumps came back"
    begun = [entry("pumps", 26, state="on", flow=300)]
    (unsettled,) = views(begun, connection(30), [running(55)])
    assert "settled rate before" in unsettled.across_words


def test_a_zero_between_leaves_it_unknown() -> None:
    (one,) = views(connection(30), [running(45), entry("zero", 46, length=0, reason="x"), running(55)])
    assert one.across_m3 is None
    assert "zeroed between" in one.across_words


def test_by_hand_there_is_the_kick_test_and_no_curve() -> None:
    pumps = [entry("pumps", 30, state="off"), entry("pumps", 42, state="on", flow=300)]
    (one,) = views([running(20)], pumps, [running(60, 2.0)])
    assert one.why_no_curve.startswith("Too few readings for a curve")
    assert bbl(one.across_m3) == pytest.approx(2.0)
    assert (len(one.s), one.above_m3, one.back_at) == (0, None, ())


def test_lost_while_pumping_and_returned_stay_two_lines() -> None:
    """4 bbl lost between two connections, 3 bbl returned in the second: neither is netted with the other."""
    first = [*connection(30), running(50, 0.0)]
    second = [running(89, -4.0), *connection(90, before=-4.0, kick=0.25), running(108, -1.0)]
    _, two = views(first, second)
    assert bbl(two.between_m3) == pytest.approx(-4.0, abs=1e-3)
    assert bbl(two.across_m3) == pytest.approx(3.0, abs=0.01)


def test_the_trend_from_connection_to_connection_is_of_equal_flow() -> None:
    one, two, three = views(*([*connection(30 + 60 * k, kick=0.1 * k), running(55 + 60 * k)] for k in range(3)))
    assert one.before_m3 is None
    assert two.before_m3 is not None
    assert three.before_m3 is not None
    assert (two.before_m3[0], bbl(two.before_m3[1])) == (10.0, pytest.approx(1.0, abs=1e-6))
    assert bbl(three.before_m3[1]) == pytest.approx(1.0, abs=1e-6)
    other = [*(d for d in connection(90) if d.kind != "pumps"), entry("pumps", 80, state="on", flow=200),
             entry("pumps", 90, state="off")]
    assert views(connection(30), other)[1].before_m3 is None


def test_what_is_held_against_the_band_and_who_said_what() -> None:
    *three, fourth = views(three_accepted(), connection(240, kick=0.5), [entry("connection", 240, state="not accepted", remark="flowed")])
    assert [v.accepted for v in three] == [True] * 3
    assert three[0].accepted_by == "Test"
    assert (fourth.accepted, fourth.remark) == (False, "flowed")
    assert "band of 3 accepted connections" in fourth.band_words
    assert "no band was adopted" in three[2].band_words
    assert fourth.banded
    assert bbl(fourth.above_m3) == pytest.approx(0.5 * 11.5, abs=1e-6)
    assert fourth.above_s == 690
    assert {m: pytest.approx(bbl(x), abs=1e-6) for m, x, _ in fourth.excess} == {m: 0.5 * m for m in (1, 2, 3, 5, 7, 10)}
    assert bbl(max(fourth.band_most_m3)) <= 20.0 + 1e-9
    assert not three[0].banded
    assert bbl(three[0].above_m3) < 0


def test_stopped_after_needs_somebody_to_say_what_stopped_is() -> None:
    assert views(connection(30))[0].stopped_s is None
    told = LIMITED.replace('rising = "40 s"', 'rising = "40 s"\nstopped = "0.2 bbl/min"')
    one, two = views(connection(30), [running(55)], connection(90, kick=0.5), rig=told)
    assert one.stopped_s == pytest.approx(270, abs=31)     # 20 (1 − e^−1) e^(−t/60) bbl in a minute falls to 0.2 at 249 s
    assert two.stopped_s is None, "it flows as long as it is watched"


def test_the_situation_tells_the_band_and_what_cannot_be_compared() -> None:
    books = the_books(three_accepted(), connection(240), [running(260)])
    s = now(books, 261)
    assert s.band is not None
    assert (s.band.count, s.band.enough, s.band.t_ms) == (3, True, minutes(200)[0])
    assert [v.off_ms for v in s.connections] == minutes(30, 90, 150, 240)
    assert s.limit_flow_back is not None
    assert s.limit_flow_back.name == "flow-back"
    assert not any("flow-back" in words for words in s.unwatched)
    none = now(the_books(connection(30), [running(55)]), 56)
    assert none.band is None
    assert any("only what comes back above all that the lines hold can warn" in words for words in none.unwatched)
    few = now(the_books(connection(30), [running(55), accepted(30), adopted(60)]), 61)
    assert any("rests on accepted connections, 1 of the 3 that it needs" in words for words in few.unwatched)
    assert not any("flow-back" in words for words in now(the_books(connection(30), [running(55)], rig=RIG), 56).unwatched)


def test_while_the_pumps_are_off_the_band_is_the_one_of_before() -> None:
    books = the_books(three_accepted(), connection(240)[:1] + connection(240)[2:8])
    s = now(books, 243)
    assert s.pumps_on is False
    assert s.band is not None
    assert s.connections[-1].on_ms is None


def test_a_flow_back_without_a_volume_of_the_lines_is_said_to_be_compared_with_nothing() -> None:
    rig = LIMITED[:LIMITED.index("[drain_back]")] + LIMITED[LIMITED.index("[[limit]]"):]
    s = now(the_books(connection(30), [running(55)], rig=rig), 56)
    assert any("compared with nothing" in words for words in s.unwatched)


def test_only_the_last_day_is_shown() -> None:
    old = connection(30)
    assert views(old, [running(30 + 24 * 60 + 60)]) == ()
