"""What a figure rests on adds up to the figure: over the demo's logs, and in one round by hand. All invented."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from dipbook import balance, composing, flowback, store
from dipbook.balance import TERMS
from dipbook.books import Books, build
from dipbook.parts import ENTRY, LEVEL, NONE, READING, SQUARES, Figure, Parts, U
from dipbook.situation import Situation
from dipbook.terms.system import ACTIVE_SYSTEM, ALL_SURFACE
from dipbook_app import demo, demo_trips
from ledgers import booked, dips, entry, in_bbl

NOW = 1_772_352_900_000
ROUNDING_M3 = 1e-6
"""A millilitre: far below what any unit shows."""
SYSTEMS = (ACTIVE_SYSTEM, ALL_SURFACE)
SAMPLED = 16


@pytest.fixture(scope="module", params=("night", "day", "trips"))
def books(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Books:
    into = Path(tmp_path_factory.mktemp(request.param))
    path = demo_trips.make_log(NOW, into) if request.param == "trips" else \
        demo.make_log(NOW, into, connections=request.param == "day")
    with store.open(path) as log:
        return build(log.records())


@pytest.fixture(scope="module")
def shown(books: Books) -> Situation:
    return composing.picture(composing.seen(books), NOW)


def ask(books: Books, figure: Figure) -> Parts:
    found = composing.parts_of(books, figure, NOW)
    assert found is not None, figure
    return found


def followed(books: Books, first: Figure) -> Iterator[Parts]:
    """A figure's parts, those of its parts that are figures too, and so on."""
    waiting, done = [first], set[Figure]()
    while waiting:
        figure = waiting.pop()
        if figure in done:
            continue
        done.add(figure)
        parts = ask(books, figure)
        yield parts
        waiting += [p.follow for p in parts.parts if p.follow is not None]


def adds_up(parts: Parts) -> None:
    if parts.how == NONE:
        return
    if parts.value is None:
        assert parts.sum is None, parts.title
    else:
        assert parts.sum == pytest.approx(parts.value, abs=ROUNDING_M3), parts.title


def some(t_ms: np.ndarray) -> list[int]:
    return t_ms[np.linspace(0, len(t_ms) - 1, min(len(t_ms), SAMPLED)).astype(int)].tolist()


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_parts_of_what_the_watch_page_shows_add_up_to_it(books: Books, shown: Situation, system: str) -> None:
    active = system == ACTIVE_SYSTEM
    assert ask(books, Figure("difference", system)).value == (
        shown.difference_m3 if active else shown.all_surface_difference_m3)
    assert ask(books, Figure("uncertainty", system)).value == (shown.u_m3 if active else shown.all_surface_u_m3)
    if active:
        assert ask(books, Figure("actual")).value == shown.actual_m3
        assert ask(books, Figure("expected")).value == shown.expected_m3
        assert shown.terms or books.trips
        for term in shown.terms:
            assert ask(books, Figure("term", "", term.name)).value == term.value_m3
    told = list(followed(books, Figure("difference", system)))
    assert len(told) > 8
    for parts in told:
        adds_up(parts)


@pytest.mark.parametrize("system", SYSTEMS)
def test_they_add_up_at_every_reading_and_so_do_the_squares(books: Books, system: str) -> None:
    known = 0
    for t in some(books.readings.end_ms):
        b = balance.at(books, t, system)
        for name, value in (("difference", b.difference_m3), ("actual", b.actual_m3), ("expected", b.expected_m3),
                            ("uncertainty", b.u_m3)):
            parts = ask(books, Figure(name, system, t_ms=t))
            assert parts.value is None if np.isnan(value[0]) else parts.value == value[0]
            adds_up(parts)
            known += parts.value is not None
        for term in TERMS if b.zero_ms[0] >= 0 else ():
            adds_up(ask(books, Figure("term", system, term, t_ms=t)))
    assert known > 20


def test_each_tank_holds_what_its_stick_and_its_shape_say(books: Books, shown: Situation) -> None:
    for tank in shown.tanks:
        parts = ask(books, Figure("tank", tank.name))
        adds_up(parts)
        assert parts.value == tank.volume_m3
        if tank.volume_m3 is None:
            continue
        level = next(p for p in parts.parts if p.label == "Level above the bottom")
        assert (level.dimension, level.value) == (LEVEL, tank.level_m)
        described = books.rig.tank(tank.name)
        assert float(described.volume(level.value)) == pytest.approx(tank.volume_m3, abs=ROUNDING_M3)
        assert parts.parts[-1].value == pytest.approx(tank.volume_m3 + tank.booked_m3, abs=ROUNDING_M3)


def test_every_part_of_an_entry_or_a_reading_names_a_record_that_counts(books: Books) -> None:
    there = {r.uid: r for r in books.eff.records}
    entries = readings = 0
    for system in SYSTEMS:
        for parts in followed(books, Figure("difference", system)):
            for part in parts.parts:
                if part.kind in (ENTRY, READING) and part.value is not None and "held at" not in part.label:
                    assert part.uid in there, (parts.title, part)
                    entries += part.kind == ENTRY
                    readings += part.kind == READING
    assert readings > 5
    assert entries > 5 or books.trips, "the trips' log moves mud by rows alone"


def test_every_row_of_every_trip_adds_up(books: Books) -> None:
    if not books.trips:
        pytest.skip("this log has no trip")
    told = 0
    for view in filter(None, (composing.picture(composing.seen(books), t.end_ms or NOW).trip for t in books.trips)):
        for row in view.rows:
            for what, value in (("expected", row.expected_m3), ("took", row.actual_m3),
                                ("difference", row.difference_m3), ("last", row.last_n_m3),
                                ("total", row.cumulative_m3)):
                found = composing.parts_of(books, Figure("trip", row.uid, what), NOW)
                if value is None:
                    continue
                assert found is not None
                assert found.value == pytest.approx(value, abs=1e-12)
                adds_up(found)
                told += 1
    assert told > 200


def test_what_came_back_by_each_minute_adds_up_and_the_band_is_its_members(books: Books, shown: Situation) -> None:
    if not any(c.back_at for c in shown.connections):
        pytest.skip("this log has no curve of a connection")
    told = 0
    for view in shown.connections:
        above = {minute: value for minute, value, _ in view.excess}
        for minute, back in view.back_at:
            parts = ask(books, Figure("connection", str(view.off_ms), "back", minute))
            assert parts.value == pytest.approx(back, abs=1e-12)
            adds_up(parts)
            over = ask(books, Figure("connection", str(view.off_ms), "excess", minute))
            adds_up(over)
            if minute in above:
                assert over.value == pytest.approx(above[minute], abs=1e-9)
                band = ask(books, Figure("connection", str(view.off_ms), "band", minute))
                members = [p.value for p in band.parts if p.follow is not None and p.value is not None]
                assert len(members) >= flowback.FEWEST
                lines = view.lines_m3 if view.lines_m3 is not None else np.inf
                assert band.value == pytest.approx(min(max(members), lines), abs=1e-9)
            told += 1
    assert told > 30


def test_room_mud_and_the_hours_left_are_those_of_the_page(books: Books, shown: Situation) -> None:
    stock = shown.stock
    assert stock is not None
    for what, value in (("room", stock.room_m3), ("usable", stock.usable_active_m3),
                        ("reserve", stock.usable_reserve_m3)):
        parts = ask(books, Figure("stock", what))
        assert parts.value == (pytest.approx(value, abs=1e-9) if value is not None else None)
        adds_up(parts)
    hours = composing.parts_of(books, Figure("stock", "hours"), NOW)
    if stock.hours_left is not None:
        assert hours is not None
        usable, gone, rate = (p.value for p in hours.parts)
        assert usable is not None
        assert gone is not None
        assert rate
        assert hours.value == pytest.approx(stock.hours_left)
        assert (usable + gone) / rate / 3600.0 == pytest.approx(stock.hours_left)
    for tank in shown.tanks:
        stick = composing.parts_of(books, Figure("stick", tank.name, "now"), NOW)
        assert (stick is None) == (tank.should_hold_m3 is None)
        if stick is not None:
            adds_up(stick)
    for target in shown.targets:
        stick = ask(books, Figure("stick", target.tank, "next stand"))
        assert stick.value == target.volume_m3
        adds_up(stick)


def test_a_transfer_by_hand_is_found_again_with_its_volume_and_its_entry() -> None:
    """60 bbl held at the zero; 20 bbl come in from the reserve: expected 20 more, and one entry says so."""
    log = booked(dips(0, Suction=60, Settling=60, Reserve=60), entry("zero", 0),
                 entry("transfer", 5, 15, uid="the-transfer", **{"from": "Reserve", "to": "Suction", "volume_m3": 20 * 0.158987294928}),
                 dips(20, Suction=60, Settling=60, Reserve=60))
    parts = composing.parts_of(log, Figure("term", "", "transfers"), int(log.readings.end_ms[-1]))
    assert parts is not None
    (part,) = parts.parts
    assert (part.kind, part.uid, part.t_ms) == (ENTRY, "the-transfer", log.readings.end_ms[0] + 5 * 60_000)
    assert in_bbl([part.value, parts.value]) == pytest.approx([20.0, 20.0])
    sure = composing.parts_of(log, Figure("uncertainty"), int(log.readings.end_ms[-1]))
    assert sure is not None
    assert sure.how == SQUARES
    assert {p.dimension for p in sure.parts} == {U}


def test_a_figure_that_the_log_has_not_is_none() -> None:
    log = booked(dips(0, Suction=60))
    for figure in (Figure("nothing"), Figure("trip", "no such row", "took"), Figure("connection", "1", "back", 1.0),
                   Figure("term", "", "no such term"), Figure("posted", "none"), Figure("stick", "no tank", "now")):
        assert composing.parts_of(log, figure, NOW) is None
