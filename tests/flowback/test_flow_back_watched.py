"""A band adopted from accepted connections, and the limit that holds the next ones against it."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dipbook import flowback, watch
from dipbook.books import Books, build
from dipbook.observations import observe
from dipbook.records import Draft
from flowback.connections import LIMITED, START, accepted, adopted, connection, drained, running, three_accepted
from ledgers import BBL, GPM, RIG, booked, entry, history, minutes

OFF = 240
SECTIONS = """
[[section]]
name = "13 3/8 casing"
kind = "casing"
bottom = "9000 ft"
diameter = "12.415 in"
[[section]]
name = "12 1/4 hole"
kind = "open hole"
bottom = "12000 ft"
diameter = "12.25 in"
"""


def the_books(*parts: list[Draft], rig: str = LIMITED) -> Books:
    return booked(*START, *(d for part in parts for d in part), rig=rig)


def watched(books: Books) -> list[watch.Transition]:
    return list(watch.run(books.rig.limits, observe(books), 1)[1])


def raised(books: Books) -> list[watch.Transition]:
    return [w for w in watched(books) if w.state == "raised"]


def above(books: Books, off: float = OFF, lasts: float = 12) -> dict[float, float]:
    """Seconds since off → above what is explained [bbl], at the readings of a connection."""
    t = books.readings.end_ms
    a, b = minutes(off, off + lasts)
    rows = t[(t >= a) & (t <= b)]
    found = flowback.above(books, rows)
    return dict(zip(found.since_s.tolist(), (found.above_m3 / BBL).tolist(), strict=True))


# --- the band -------------------------------------------------------------------------------------------------------


def test_only_accepted_ones_are_learned_and_none_is_by_default() -> None:
    three = three_accepted()
    books = the_books(three, connection(OFF))
    band = flowback.band_for(books, *[minutes(OFF)[0], 300 * GPM])
    assert band is not None
    assert [c.off_ms for c in band.members] == minutes(30, 90, 150)
    nobody = [d for d in three if d.kind != "connection"]
    band = flowback.band_for(the_books(nobody, connection(OFF)), minutes(OFF)[0], 300 * GPM)
    assert band is not None
    assert band.members == ()
    assert "band_of_few" in {f.code for f in flowback.findings(the_books(nobody, connection(OFF)))}


def test_a_band_is_frozen_when_it_is_adopted() -> None:
    """A connection accepted afterwards widens nothing, even where its own time lies before the adoption."""
    late = connection(175, kick=0.4)
    books = the_books(three_accepted(), late, connection(OFF, kick=0.4))
    late_accepted = the_books(three_accepted(), late, [accepted(175, learned=230)], connection(OFF, kick=0.4))
    assert above(late_accepted) == pytest.approx(above(books), nan_ok=True)
    anew = the_books(three_accepted(), late, [accepted(175, learned=230), adopted(235)], connection(OFF, kick=0.4))
    assert above(anew)[300] < above(books)[300], "adopted anew, it counts"


def test_what_is_taken_back_leaves_the_band() -> None:
    wide = connection(175, kick=0.3)
    before = [*three_accepted()[:-1], *wide, accepted(175), adopted(200)]
    with_it = the_books(before, connection(OFF, kick=0.3))
    without = the_books(before, [entry("connection", 175, state="not accepted", learned=230)], connection(OFF, kick=0.3))
    assert above(with_it)[60] == pytest.approx(0.0, abs=1e-6)
    assert above(without)[60] == pytest.approx(0.3, abs=1e-6)


def test_a_band_is_of_its_flow_and_withdrawn_it_is_none() -> None:
    books = the_books(three_accepted(), connection(OFF))
    off = minutes(OFF)[0]
    assert flowback.band_for(books, off, 329 * GPM) is not None
    assert flowback.band_for(books, off, 340 * GPM) is None
    assert flowback.band_for(books, off, math.nan) is None
    assert flowback.band_for(books, minutes(199)[0], 300 * GPM) is None, "not yet in force"
    gone = the_books(three_accepted(), [entry("flow-back band", 210, state="withdrawn", flow=300)], connection(OFF))
    assert flowback.band_for(gone, off, 300 * GPM) is None


def test_a_band_is_of_its_section_of_the_hole() -> None:
    rig = LIMITED + SECTIONS
    shallow = [entry("depth", -50, hole=8000, bit=8000)]
    same = the_books(shallow, three_accepted(), connection(OFF), rig=rig)
    assert flowback.band_for(same, minutes(OFF)[0], 300 * GPM) is not None
    deeper = the_books(shallow, three_accepted(), [entry("depth", 220, hole=9500, bit=9500)], connection(OFF), rig=rig)
    assert flowback.band_for(deeper, minutes(OFF)[0], 300 * GPM) is None
    assert flowback.section_at(deeper, minutes(OFF)[0], 9500 * 0.3048) == "12 1/4 hole"
    unknown = the_books(three_accepted(), connection(OFF), rig=rig)
    assert flowback.band_for(unknown, minutes(OFF)[0], 300 * GPM) is None, "an unknown depth is no section"


def test_an_entry_that_names_no_connection_is_left_aside_and_said() -> None:
    books = the_books(three_accepted(), [accepted(100)])
    assert [f.t_ms for f in flowback.findings(books) if f.code == "no_such_connection"] == minutes(100)
    near = the_books(connection(30), [accepted(30 + 50 / 60)])
    assert list(flowback.said_of(near)) == minutes(30), "clocks are read to the minute"
    by_hand = the_books([entry("pumps", 30, state="off"), entry("pumps", 40, state="on", flow=300), running(50), accepted(30)])
    assert {f.code for f in flowback.findings(by_hand)} == {"accepted_no_curve"}


# --- above it -------------------------------------------------------------------------------------------------------


def test_the_influx_above_the_band_reading_by_reading() -> None:
    over = above(the_books(three_accepted(), connection(OFF, kick=0.5)))
    assert over[0] == pytest.approx(-20), "before the first minute against all that the lines hold"
    assert over[60] == pytest.approx(0.5, abs=1e-6)
    assert over[90] == pytest.approx(0.75, abs=1e-6), "between the fixed minutes too"
    assert over[600] == pytest.approx(5.0, abs=1e-6)


def test_after_the_accepted_ones_end_their_last_value_stands() -> None:
    over = above(the_books(three_accepted(lasts=6), connection(OFF, kick=0.5)))
    assert over[600] == pytest.approx(drained(600) + 5 - drained(330), abs=1e-6)


def test_the_explained_part_is_capped_at_what_the_lines_hold() -> None:
    """Three that each gave 2 bbl/min too much, accepted by mistake."""
    over = above(the_books(three_accepted(kick=2.0), connection(OFF, kick=2.0)))
    assert over[600] == pytest.approx(drained(600) + 20 - 20, abs=1e-6)


def test_without_a_band_only_what_the_lines_cannot_hold_is_too_much() -> None:
    books = the_books(connection(OFF, kick=0.5))
    over = above(books)
    assert over[300] == pytest.approx(drained(300) + 2.5 - 20, abs=1e-6)
    (tr,) = raised(books)
    assert "more than the lines hold" in tr.text
    assert {f.code for f in flowback.not_compared(books)} == {"no_band"}


def test_without_a_band_and_a_volume_of_the_lines_nothing_is_compared_and_it_is_said() -> None:
    rig = LIMITED[:LIMITED.index("[drain_back]")] + LIMITED[LIMITED.index("[[limit]]"):]
    books = the_books(connection(OFF, kick=0.5), rig=rig)
    assert np.isnan(list(above(books).values())).all()
    assert raised(books) == []
    assert [f.severity for f in flowback.not_compared(books) if f.code == "not_compared"] == ["warning"]
    assert flowback.not_compared(the_books(connection(OFF), rig=RIG)) == (), "no limit asks for it"


def test_by_hand_it_is_compared_with_nothing_and_said() -> None:
    books = the_books([running(100)], three_accepted(), [entry("pumps", OFF, state="off"), running(245, 19),
                                                         entry("pumps", OFF + 10, state="on", flow=300), running(260)])
    assert [f.t_ms for f in flowback.not_compared(books) if f.code == "not_compared"] == minutes(OFF)


def test_a_zero_in_the_middle_hides_nothing() -> None:
    parts = (three_accepted(), connection(OFF, kick=0.5))
    over = above(the_books(*parts, [entry("zero", OFF + 4, length=0, reason="by mistake")]))
    assert over == pytest.approx(above(the_books(*parts)), nan_ok=True)


# --- the limit ------------------------------------------------------------------------------------------------------


def test_it_raises_latches_and_says_what_to_do() -> None:
    books = the_books(three_accepted(), connection(OFF, kick=0.5), [running(260)])
    first, over = watched(books)
    assert (first.time, first.state, first.kind) == (minutes(OFF + 4)[0], "raised", "flow_back")
    assert first.value is not None
    assert first.value / BBL == pytest.approx(2.0)
    assert watch.words(first, {"volume": ("bbl", 1)}) == (
        "Flowed back 2.0 bbl more than the accepted connections by 4 min after the pumps stopped, limit 2.0 bbl: "
        "flow-check as the rig's own procedures say")
    assert (over.time, over.state) == (minutes(260)[0], "over"), "it stands until the pumps run, and waits for a person"
    assert "had been 5.8 bbl" in watch.words(over, {"volume": ("bbl", 1)})
    memory, _ = watch.run(books.rig.limits, observe(books), 1)
    (slot,) = memory.open_slots()
    memory, _ = watch.step(memory, watch.Act("acknowledge", slot.alarm.occurrence, by="A", at_ms=minutes(261)[0]))
    with pytest.raises(watch.RefusedError, match="note"):
        watch.step(memory, watch.Act("close", slot.alarm.occurrence, by="A", at_ms=minutes(262)[0]))


def test_a_normal_connection_raises_nothing_and_a_loss_neither() -> None:
    assert watched(the_books(three_accepted(), connection(OFF), [running(260)])) == []
    assert watched(the_books(three_accepted(), connection(OFF, kick=-0.5), [running(260)])) == []


def test_a_partial_reading_raises_and_ends_nothing() -> None:
    late = connection(OFF, kick=0.5)
    partly = [replace(d, dips=d.dips[1:]) if d.kind == "round" and d.t_ms > minutes(OFF)[0] else d for d in late]
    (tr,) = raised(the_books(three_accepted(), partly))
    assert tr.evidence["partial"]


def test_returns_turned_away_are_not_watched() -> None:
    books = the_books(three_accepted(), [entry("line-up", 230, tank="flow line", to="Trip")], connection(OFF, kick=0.5))
    assert raised(books) == []
    assert observe(books).flow_back is not None
    assert np.isnan(observe(books).flow_back.above[-3:]).all()


def test_an_acceptance_after_the_warning_clears_nothing() -> None:
    parts = (three_accepted(), connection(OFF, kick=0.5))
    books = the_books(*parts)
    again = the_books(*parts, [accepted(OFF, learned=300), adopted(300)])
    assert [(w.time, w.state) for w in watched(again)] == [(w.time, w.state) for w in watched(books)]
    assert above(again) == pytest.approx(above(books), nan_ok=True)


def test_no_limit_asks_nothing_of_the_books() -> None:
    assert observe(the_books(three_accepted(), connection(OFF), rig=RIG)).flow_back is None


# --- properties -----------------------------------------------------------------------------------------------------


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 420), st.sampled_from([1.0, 2.0, 5.0]))
def test_an_influx_from_any_second_of_a_connection_on_is_told(second: int, rate: float) -> None:
    """By the second reading after it came to the limit, or after the first minute: no blind time."""
    books = the_books(three_accepted(lasts=8), connection(OFF, kick=rate, from_s=second))
    (first, *_) = raised(books)
    came_to_it = second + 60 * 2.0 / rate
    assert first.time <= minutes(OFF)[0] + 1000 * (max(60.0, came_to_it) + 60)


@settings(max_examples=25, deadline=None)
@given(st.floats(0.0, 3.0), st.floats(0.0, 3.0), st.integers(0, 500), st.booleans())
def test_adding_influx_never_lowers_the_excess(less: float, more: float, second: int, band: bool) -> None:
    before = three_accepted() if band else []
    one, other = sorted((less, more))
    a, b = (above(the_books(before, connection(OFF, kick=kick, from_s=second))) for kick in (one, other))
    assert all(b[s] >= a[s] - 1e-9 for s in a)


@settings(max_examples=10, deadline=None)
@given(st.floats(0.0, 3.0), st.integers(1, 40))
def test_a_reading_at_a_time_and_all_at_once_are_the_same(kick: float, stride: int) -> None:
    """Built anew from the records known by each reading, as a desk has them."""
    records = history(*START, *three_accepted(), *connection(OFF, kick=kick), running(260), rig=LIMITED)
    whole = build(records)
    batch = [(w.time, w.state, w.value) for w in watched(whole)]
    evidence = observe(whole)
    memory, out = watch.start(whole.rig.limits, 1), list[Any]()
    t = whole.readings.end_ms.tolist()
    for n, at in enumerate(t):
        known = build([r for r in records if r.t_ms <= at])
        row = observe(known, len(known.readings) - 1)
        if n % stride == 0:
            assert row.flow_back is not None
            assert evidence.flow_back is not None
            assert row.flow_back.above[0] == pytest.approx(evidence.flow_back.above[n], nan_ok=True)
        memory, made = watch.step(memory, watch.Learned(n, at, row))
        out += made
    assert [(w.time, w.state, w.value) for w in out] == [pytest.approx(b) if isinstance(b, float) else b for b in batch]


@settings(max_examples=15, deadline=None)
@given(st.lists(st.floats(-0.2, 0.2), min_size=3, max_size=6), st.floats(0.0, 1.0))
def test_what_comes_later_never_moves_what_was(rates: list[float], kick: float) -> None:
    """Only earlier connections count, whatever is accepted after."""
    parts = [d for k, rate in enumerate(rates) for d in (*connection(30 + 30 * k, kick=rate), accepted(30 + 30 * k))]
    off = 30 + 30 * len(rates)
    now = [adopted(off - 5), *connection(off, kick=kick)]
    later = [*connection(off + 30, kick=2.0), accepted(off + 30), adopted(off + 60)]
    books = the_books(parts, now)
    assert above(the_books(parts, now, later), off) == pytest.approx(above(books, off), nan_ok=True)
