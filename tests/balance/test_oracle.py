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
from dipbook.records import Draft
from ledgers import BBL, EQUIPPED, FT, IN, booked, dips, entry, history, in_bbl, minutes

TANKS = ("Settling", "Suction", "Reserve", "Trip")
AREA = 30 * 8 * FT * FT
d, c, Ch = 0.00759 * BBL / FT, 0.01776 * BBL / FT, 0.1458 * BBL / FT


Event = tuple[float, str, dict[str, float]]
DESILTER, FILLS_S, DRAINS_S, DEGASSER = 10 * BBL, 240, 300, 6 * BBL
FALL_S = 600


class Ledger:
    """The expected change of the active system [m3], a second at a time: a plain loop.

    Independent of the engine: no curves, Euler's rule for the lines, a queue of cut rock for the lag, a list of what is
    on its way in for whatever takes time.
    """

    def __init__(self) -> None:
        self.total, self.full, self.dry, self.held, self.pumped, self.bit = 0.0, 0.0, 0.0, 20 * BBL, 0.0, 5000 * FT
        self.on, self.bypassed = True, False
        self.turned = [(-math.inf, False)]              # (pumped when the shakers were turned, bypassed from then on)
        self.logged_at = -500 * 60 * 300 * 0.003785411784 / 60      # pumped when a depth was last logged
        self.rock: list[tuple[float, float]] = []
        self.ramps: list[list[float]] = []              # (a second, seconds left)
        self.desilter, self.filled, self.degasser = False, 0.0, True
        self.falls: list[list[float]] = []              # (a second, seconds left)
        self.slugs: list[tuple[float, float, float]] = []   # (volume, lifts out, pumped when it was in)
        self.flow = 300 * 0.003785411784 / 60

    def happens(self, kind: str, f: dict[str, float]) -> None:
        if kind == "pumps":
            self.on = bool(f["on"])
            if self.on:
                self.falls = []
            else:
                for slug in self.slugs:
                    self.falls_or_not(*slug)
                self.slugs = []
        elif kind == "fill":
            over = min(self.dry, 93 * FT)
            self.dry -= over
            self.full += 93 * FT - over
            self.total -= c * 93 * FT
        elif kind == "drill":
            made = f["feet"] * FT
            used = min(self.full, made)
            self.total += d * made + c * used
            self.full -= used
            self.bit += made
            parts = 2000 if self.pumped > self.logged_at else 1
            for k in range(parts):
                out = self.logged_at + (self.pumped - self.logged_at) * (k + 0.5) / parts + 250 * BBL
                if out > self.pumped + 1e-9:
                    self.rock.append((out, Ch * made / parts))
                elif not [bypassed for at, bypassed in self.turned if at < out][-1]:
                    self.total -= Ch * made / parts     # it came out before its depth was logged
            self.logged_at = self.pumped
        elif kind == "in":
            seconds = f.get("minutes", 0.0) * 60
            if seconds:
                self.ramps.append([f["bbl"] * BBL / seconds, seconds])
            else:
                self.total += f["bbl"] * BBL
        elif kind == "desilter":
            self.desilter = bool(f["on"])
        elif kind == "degasser":
            if bool(f["on"]) != self.degasser:
                self.degasser = bool(f["on"])
                self.total += DEGASSER * (-1 if self.degasser else 1)
        elif kind == "shakers":
            self.bypassed = bool(f["bypassed"])
            self.turned.append((self.pumped, self.bypassed))
        elif kind == "slug":
            slug = (f["bbl"] * BBL, f["bbl"] * BBL * (f["heavy"] / 12.0 - 1), self.pumped)
            if self.on:
                self.slugs.append(slug)
            else:
                self.falls_or_not(*slug)

    def falls_or_not(self, volume: float, lifts: float, pumped: float) -> None:
        if volume + self.pumped - pumped <= c * self.bit:
            self.falls.append([lifts / FALL_S, FALL_S])

    def second(self) -> None:
        goal, tau = (20 * BBL, 40.0) if self.on else (0.0, 60.0)
        for _ in range(20):
            step = (goal - self.held) / tau / 20
            self.held += step
            self.total -= step
        if self.on:
            took = min(self.dry * c, self.flow)
            self.dry -= took / c
            self.total -= took
            self.pumped += self.flow
        for way in (self.ramps, self.falls):
            for item in way:
                if item[1] >= 1:
                    self.total += item[0]
                    item[1] -= 1
                    if way is self.falls:
                        self.dry += item[0] / c
        was = self.filled
        self.filled = min(was + DESILTER / FILLS_S, DESILTER) if self.desilter else max(was - DESILTER / DRAINS_S, 0.0)
        self.total -= self.filled - was

    def comes_out(self) -> None:
        while self.rock and self.rock[0][0] <= self.pumped + 1e-9:
            _, rock = self.rock.pop(0)
            self.total -= 0.0 if self.bypassed else rock


def ledger(events: list[Event], until: float) -> float:
    """Expected change of the active system [m3] from minute 0 to ``until``."""
    books = Ledger()
    todo = sorted(events, key=lambda e: e[0])
    for second in range(round(until * 60) + 1):
        books.comes_out()
        while todo and todo[0][0] * 60 <= second:
            _, kind, f = todo.pop(0)
            books.happens(kind, f)
        if second < round(until * 60):
            books.second()
    return books.total


class Story:
    """A random history: what the ledger is told and the entries that say the same."""

    def __init__(self, seed: int) -> None:
        self.rng = random.Random(seed)
        self.events: list[Event] = []
        self.drafts: list[Draft] = [entry("pumps", -500, state="on", flow=300), entry("depth", -500, hole=5000, bit=5000),
                                    dips(0, Settling=60, Suction=60), entry("zero", 0, length=0, reason="x")]
        self.m, self.depth = 1.0, 5000.0

    def tell(self, minute: float, kind: str, entry_: Draft | None = None, **f: float) -> None:
        self.events.append((minute, kind, f))
        if entry_ is not None:
            self.drafts.append(entry_)

    def go_on(self) -> None:
        self.m += self.rng.randint(1, 9)
        getattr(self, self.rng.choice(["connection", "drill", "transfer", "moved", "desilter", "degasser", "shakers",
                                       "slug", "pill"]))(self.m)

    def connection(self, m: float) -> None:
        self.tell(m, "pumps", entry("pumps", m, state="off"), on=0)
        self.tell(m + 2, "fill", entry("stand filled", m + 2))
        self.tell(m + 4, "pumps", entry("pumps", m + 4, state="on", flow=300), on=1)
        self.m += 4

    def drill(self, m: float) -> None:
        feet = self.rng.randint(1, 40)
        self.depth += feet
        self.tell(m, "drill", entry("depth", m, hole=self.depth, bit=self.depth), feet=feet)

    def transfer(self, m: float) -> None:
        bbl, sign = self.rng.randint(1, 30), self.rng.choice([1, -1])
        a, b = ("Reserve", "Suction") if sign > 0 else ("Suction", "Reserve")
        self.tell(m, "in", entry("transfer", m, volume=bbl, from_=a, to=b), bbl=sign * bbl)

    def moved(self, m: float) -> None:
        """Salt, a boat either way or a sand trap dumped, over some minutes or at once."""
        bbl, lasts = self.rng.randint(1, 30), self.rng.choice([0, 3, 10])
        kind, sign, where, tank = self.rng.choice([("salt", 1, "to", "Suction"), ("boat", 1, "to", "Suction"),
                                                   ("boat", -1, "from_", "Settling"), ("boat", 0, "to", "Reserve"),
                                                   ("trap dump", -1, "from_", "Settling"), ("trap dump", 0, "from_", "Trip")])
        made = entry(kind, m, m + lasts if lasts else None, volume=bbl, **{where: tank})
        self.tell(m, "in", made, bbl=sign * bbl, minutes=lasts)

    def pill(self, m: float) -> None:
        """From a reserve tank a gain while it is pumped, from an active one nothing."""
        bbl, lasts, tank = self.rng.randint(1, 40), self.rng.choice([2, 8]), self.rng.choice(["Reserve", "Suction"])
        made = entry("pill", m, m + lasts, volume=bbl, from_=tank, what="pill")
        self.tell(m, "in", made, bbl=bbl if tank == "Reserve" else 0, minutes=lasts)

    def slug(self, m: float) -> None:
        """Pumped in 4 min, the pumps off some minutes later and on again, a stand filled between or not."""
        bbl, heavy, tank = self.rng.randint(5, 40), self.rng.choice([13.0, 15.0]), self.rng.choice(["Reserve", "Suction"])
        off = m + 4 + self.rng.choice([0, 0, 1, 5, 12])
        on = off + self.rng.choice([2, 9, 14])
        self.tell(m, "in", entry("slug", m, m + 4, volume=bbl, density=heavy, mud_density=12.0, from_=tank,
                                 return_=FALL_S / 60), bbl=bbl if tank == "Reserve" else 0, minutes=4)
        off_first = off == m + 4
        if off_first:
            self.tell(off, "pumps", entry("pumps", off, state="off"), on=0)
        self.tell(m + 4, "slug", bbl=bbl, heavy=heavy)
        if not off_first:
            self.tell(off, "pumps", entry("pumps", off, state="off"), on=0)
        if self.rng.random() < 0.4:
            self.tell(on - 1, "fill", entry("stand filled", on - 1))
        self.tell(on, "pumps", entry("pumps", on, state="on", flow=300), on=1)
        self.m = on

    def desilter(self, m: float) -> None:
        on = self.rng.choice([True, False])
        self.tell(m, "desilter", entry("equipment", m, equipment="Desilter", state="on" if on else "off"), on=on)

    def degasser(self, m: float) -> None:
        on = self.rng.choice([True, False])
        self.tell(m, "degasser", entry("equipment", m, equipment="Degasser", state="on" if on else "off"), on=on)

    def shakers(self, m: float) -> None:
        bypassed = self.rng.choice([True, False])
        self.tell(m, "shakers", entry("shakers", m, state="bypassed" if bypassed else "on screens"), bypassed=bypassed)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6))
def test_the_balance_agrees_with_a_scalar_ledger(seed: int) -> None:
    story = Story(seed)
    for _ in range(story.rng.randint(3, 14)):
        story.go_on()
    until = story.m + story.rng.randint(1, 60)
    b = balance.at(booked(*story.drafts, rig=EQUIPPED), minutes(until))
    booked_change = sum(float(v[0]) for v in b.terms.values())
    # Euler at 1/20 s against the closed form: 20 bbl × (dt/2τ) is under 0.03 bbl
    assert booked_change == pytest.approx(ledger(story.events, until), abs=0.03 * BBL)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6), st.integers(0, 10**6))
def test_a_tour_s_entries_may_arrive_in_any_order_or_in_pieces(seed: int, other: int) -> None:
    story = Story(seed)
    for _ in range(story.rng.randint(3, 14)):
        story.go_on()
    story.drafts.append(dips(story.m + 5, Settling=60.5, Suction=59))
    t = minutes(*np.linspace(0, story.m + 60, 60))
    kept = list({(x.kind, x.t_ms): x for x in story.drafts}.values())    # two of a kind at one time: the later counts
    one = balance.at(booked(*kept, rig=EQUIPPED), t)
    shuffled = list(kept)
    random.Random(other).shuffle(shuffled)
    records = history(*shuffled, rig=EQUIPPED)
    books, _ = learn(build(records[:1 + other % len(records)]), records[1 + other % len(records):])
    for then in (balance.at(build(records), t), balance.at(books, t)):
        np.testing.assert_allclose(one.difference_m3, then.difference_m3, atol=1e-9)
        for name, values in one.terms.items():
            np.testing.assert_allclose(values, then.terms[name], atol=1e-9, err_msg=name)


down = st.lists(st.tuples(st.integers(1, 700), st.sampled_from([0, 4, 30]), st.sampled_from(("slug", "pill")),
                          st.sampled_from(("Settling", "Suction", "Reserve", "Trip")), st.integers(1, 40)), max_size=8)
turns = st.lists(st.tuples(st.integers(1, 700), st.sampled_from(("active", "Reserve", "Trip", "Suction"))), max_size=4)


@settings(max_examples=60, deadline=None)
@given(down, turns)
def test_what_goes_down_the_well_and_comes_back_leaves_all_surface_alone(pumped: Any, turned: Any) -> None:
    """Whatever tank it came from and wherever the flow line goes: each minute as much comes back. With the flow line to
    one tank all the time, the tanks by themselves sum to nothing too."""
    drafts = [dips(0, Settling=60, Suction=60, Reserve=60, Trip=60), entry("zero", 0, reason="x", length=0)]
    for t, lasts, kind, tank, bbl in pumped:
        more = {"density": 11.0, "mud_density": 12.0} if kind == "slug" else {"what": "pill"}
        drafts.append(entry(kind, t, t + lasts if lasts else None, from_=tank, volume=bbl, **more))
    t = minutes(*np.linspace(0, 800, 161))
    routes = [entry("line-up", m, tank="flow line", to=to) for m, to in turned]
    books = booked(*drafts, *routes)
    assert np.abs(balance.at(books, t, "all surface").terms["transfers"]).max() < 1e-9
    to_one = booked(*drafts, entry("line-up", 0, tank="flow line", to="Trip"))
    each = sum(balance.at(to_one, t, tank).terms["transfers"] for tank in TANKS)
    assert np.abs(each).max() < 1e-9


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
