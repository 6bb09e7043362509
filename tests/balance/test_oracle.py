"""The balance against an independent scalar ledger, and properties that no history may break."""

from __future__ import annotations

import math
import random
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dipbook import balance
from dipbook.books import build, learn
from ledgers import BBL, FT, IN, booked, dips, entry, history, in_bbl, minutes

TANKS = ("Settling", "Suction", "Reserve", "Trip")
AREA = 30 * 8 * FT * FT
d, c, Ch = 0.00759 * BBL / FT, 0.01776 * BBL / FT, 0.1458 * BBL / FT


def ledger(events: list[tuple[float, str, dict[str, float]]], until: float) -> float:
    """Expected change of the active system [m3] from minute 0 to ``until``: a plain loop, 1 s at a time.

    Independent of the engine: no curves, Euler's rule for the lines, a queue of cut rock for the lag.
    """
    total, full, held, pumped, bit = 0.0, 0.0, 20 * BBL, 0.0, 5000 * FT
    on, rock = True, []
    flow = 300 * 0.003785411784 / 60
    todo = sorted(events, key=lambda e: e[0])
    for second in range(round(until * 60) + 1):
        while todo and todo[0][0] * 60 <= second:
            _, kind, f = todo.pop(0)
            if kind == "pumps":
                on = bool(f["on"])
            elif kind == "fill":
                full += 93 * FT
                total -= c * 93 * FT
            elif kind == "drill":
                made = f["feet"] * FT
                used = min(full, made)
                total += d * made + c * used
                full -= used
                bit += made
                rock.append((pumped + 250 * BBL, Ch * made))
            elif kind == "in":
                total += f["bbl"] * BBL
        while rock and rock[0][0] <= pumped + 1e-9:
            total -= rock.pop(0)[1]
        if second < round(until * 60):
            goal, tau = (20 * BBL, 40.0) if on else (0.0, 60.0)
            for _ in range(20):
                step = (goal - held) / tau / 20
                held += step
                total -= step
            pumped += flow if on else 0.0
    return total


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6))
def test_the_balance_agrees_with_a_scalar_ledger(seed: int) -> None:
    rng = random.Random(seed)
    events: list[tuple[float, str, dict[str, float]]] = []
    drafts = [entry("pumps", -500, state="on", flow=300), entry("depth", -500, hole=5000, bit=5000),
              dips(0, Settling=60, Suction=60), entry("zero", 0, length=0, reason="x")]
    m, depth = 1.0, 5000.0
    for _ in range(rng.randint(3, 12)):
        m += rng.randint(1, 9)
        what = rng.choice(["connection", "drill", "in", "out"])
        if what == "connection":
            events += [(m, "pumps", {"on": 0}), (m + 2, "fill", {}), (m + 4, "pumps", {"on": 1})]
            drafts += [entry("pumps", m, state="off"), entry("stand filled", m + 2),
                       entry("pumps", m + 4, state="on", flow=300)]
            m += 4
        elif what == "drill":
            feet = rng.randint(1, 40)
            depth += feet
            events.append((m, "drill", {"feet": feet}))
            drafts.append(entry("depth", m, hole=depth, bit=depth))
        else:
            bbl = rng.randint(1, 30)
            sign = 1 if what == "in" else -1
            events.append((m, "in", {"bbl": sign * bbl}))
            places = {"from_": "Reserve", "to": "Suction"} if sign > 0 else {"from_": "Suction", "to": "Reserve"}
            drafts.append(entry("transfer", m, volume=bbl, **places))
    until = m + rng.randint(1, 60)
    b = balance.at(booked(*drafts), minutes(until))
    booked_change = sum(float(v[0]) for v in b.terms.values())
    # Euler at 1/20 s against the closed form: 20 bbl × (dt/2τ) is under 0.03 bbl
    assert booked_change == pytest.approx(ledger(events, until), abs=0.03 * BBL)


times = st.floats(1, 700).map(lambda x: round(x, 2))
transfers = st.lists(st.tuples(times, st.floats(0.1, 60), st.sampled_from(TANKS), st.sampled_from(TANKS),
                               st.floats(0.5, 40)), max_size=12)
lineups = st.lists(st.tuples(times, st.sampled_from(TANKS), st.booleans()), max_size=6)


@settings(max_examples=60, deadline=None)
@given(transfers, lineups)
def test_transfers_sum_to_nothing_over_all_tanks_whatever_the_line_up(moves: Any, changes: Any) -> None:
    drafts = [dips(0, Settling=60, Suction=60, Reserve=60, Trip=60), entry("zero", 0, reason="x", length=0)]
    drafts += [entry("transfer", t, t + dt, from_=a, to=b, volume=v) for t, dt, a, b, v in moves if a != b]
    drafts += [entry("line-up", t, tank=tank, state="in" if on else "out") for t, tank, on in changes]
    books = booked(*drafts)
    t = minutes(*np.linspace(0, 800, 81))
    assert np.abs(balance.at(books, t, "all surface").terms["transfers"]).max() < 1e-9
    each = sum(balance.at(books, t, tank).terms["transfers"] for tank in TANKS)
    assert np.abs(each).max() < 1e-9


@settings(max_examples=60, deadline=None)
@given(transfers, lineups)
def test_when_every_move_is_logged_and_every_dip_follows_it_nothing_is_left(moves: Any, changes: Any) -> None:
    """A simulated truth: levels follow the moves exactly, every tank is gauged every 30 min, so U is 0 at every round."""
    real = dict.fromkeys(TANKS, 60.0 * IN * AREA)
    drafts = [dips(0, **dict.fromkeys(TANKS, 60.0)), entry("zero", 0, reason="x", length=0)]
    kept = [(t, t + dt, a, b, v * BBL) for t, dt, a, b, v in moves if a != b]
    drafts += [entry("transfer", t, e, from_=a, to=b, volume=v / BBL) for t, e, a, b, v in kept]
    drafts += [entry("line-up", t, tank=tank, state="in" if on else "out") for t, tank, on in changes]

    def moved(tank: str, at: float) -> float:
        out = 0.0
        for t, e, a, b, v in kept:
            share = min(max((at * 60_000 - round(t * 60_000)) / (round(e * 60_000) - round(t * 60_000)), 0.0), 1.0)
            out += v * share * ((b == tank) - (a == tank))
        return out

    rounds = [30.0 * k for k in range(1, 28)]
    for m in rounds:
        drafts.append(dips(m, **{tank: (real[tank] + moved(tank, m)) / AREA / IN for tank in TANKS}))
    b = balance.at(booked(*drafts), minutes(*rounds))
    assert np.nanmax(np.abs(b.difference_m3)) < 1e-9
    assert not np.isnan(b.difference_m3).any()


@settings(max_examples=40, deadline=None)
@given(transfers, lineups, st.integers(0, 10**6))
def test_the_order_of_arrival_does_not_matter_to_the_books(moves: Any, changes: Any, seed: int) -> None:
    drafts = [dips(m, Settling=60 + m / 100, Suction=60, Reserve=60, Trip=60) for m in range(0, 700, 50)]
    drafts += [entry("zero", 0.5, reason="x", length=0)]
    drafts += [entry("transfer", t, t + dt, from_=a, to=b, volume=v) for t, dt, a, b, v in moves if a != b]
    at_times = {t for t, _, _ in changes}
    drafts += [entry("line-up", t, tank=tank, state="in" if on else "out") for t, tank, on in changes
               if list(at_times).count(t) == 1]
    t = minutes(*np.linspace(0, 800, 60))
    one = balance.at(booked(*drafts), t)
    distinct = len({(x.kind, x.t_ms) for x in drafts}) == len(drafts)
    shuffled = list(drafts)
    random.Random(seed).shuffle(shuffled)
    other = balance.at(booked(*shuffled), t)
    if distinct:
        np.testing.assert_allclose(one.difference_m3, other.difference_m3, atol=1e-12)
        np.testing.assert_allclose(one.u_m3, other.u_m3, atol=1e-12)


@settings(max_examples=30, deadline=None)
@given(transfers, lineups, st.integers(1, 20))
def test_learning_in_pieces_is_the_same_as_learning_at_once(moves: Any, changes: Any, cut: int) -> None:
    drafts = [dips(m, Settling=60, Suction=60 + m / 60, Reserve=60, Trip=60) for m in range(0, 700, 90)]
    drafts += [entry("transfer", t, t + dt, from_=a, to=b, volume=v) for t, dt, a, b, v in moves if a != b]
    drafts += [entry("line-up", t, tank=tank, state="in" if on else "out") for t, tank, on in changes]
    records = history(*drafts)
    books = build(records[:cut])
    books, touched = learn(books, records[cut:])
    if records[cut:]:
        assert touched == min(r.t_ms for r in records[cut:])
    t = minutes(*np.linspace(0, 800, 40))
    np.testing.assert_array_equal(balance.at(books, t).difference_m3, balance.at(build(records), t).difference_m3)


def test_one_time_asked_alone_is_the_same_as_asked_among_many() -> None:
    drafts = [entry("pumps", -100, state="on", flow=300), dips(0, Settling=60, Suction=60), entry("pumps", 5, state="off"),
              entry("transfer", 4, 9, from_="Reserve", to="Suction", volume=12), dips(15, Settling=60.5, Suction=61)]
    books = booked(*drafts)
    t = minutes(*np.linspace(0, 20, 41))
    many = in_bbl(balance.at(books, t).difference_m3)
    assert many == [in_bbl(balance.at(books, [x]).difference_m3)[0] for x in t]
    assert math.isfinite(many[-1])
