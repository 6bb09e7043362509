"""Trips and hole sections as spans of a report. The rig is the demo's, invented."""

from __future__ import annotations

from pathlib import Path

import pytest

from dipbook import reports
from dipbook.books import Books, build
from dipbook.errors import QuantityError
from dipbook.records import Draft, numbered
from dipbook.reports import SECTION, TRIP, Span
from ledgers import FT, MIN, rig_draft

RIG = (Path(__file__).parents[2] / "demo_data" / "rig-larkspur-trips.toml").read_text(encoding="utf-8")
NOW = 900 * MIN


def depth(minute: int, feet: float) -> Draft:
    return Draft("depth", minute * MIN, minute * MIN, author="A", payload={"hole_depth_m": feet * FT, "bit_depth_m": feet * FT})


def trip(kind: str, minute: int, **payload: str) -> Draft:
    return Draft(kind, minute * MIN, minute * MIN, author="A", payload=payload)


def booked(*drafts: Draft) -> Books:
    return build(numbered([rig_draft(RIG, -1), *drafts]))


def test_a_section_lasts_from_its_first_depth_to_the_first_of_the_next() -> None:
    first, second = (s for s in booked().rig.sections.sections[-2:])
    above, below = first.bottom_m / FT - 100, first.bottom_m / FT + 10
    books = booked(depth(10, above), depth(50, above + 50), depth(100, below), depth(300, below + 5))
    found = reports.stretches(books, SECTION, NOW)
    assert [(x.kind, x.label, x.span) for x in found] == [
        (SECTION, first.name, Span(10 * MIN - 1, 100 * MIN - 1)), (SECTION, second.name, Span(100 * MIN - 1, NOW))]
    assert not found[0].span.holds(100 * MIN), "what is logged with the first depth of the next is the next one's"
    assert found[1].span.holds(100 * MIN)
    assert reports.numbered(books, SECTION, 2, NOW) == found[1].span
    with pytest.raises(QuantityError, match=f"The log has no section 3. It has 1: {first.name}, from .*; 2: {second.name}, from "):
        reports.numbered(books, SECTION, 3, NOW)


def test_trips_are_by_time_and_one_under_way_lasts_until_now() -> None:
    way = {"pipe": "drill pipe", "pulled": "dry", "float": "closed"}
    books = booked(depth(0, 9_000), trip("trip", 30, direction="out", **way), trip("trip end", 200), trip("trip", 400, direction="in", **way))
    found = reports.stretches(books, TRIP, NOW)
    assert [x.span for x in found] == [Span(30 * MIN - 1, 200 * MIN), Span(400 * MIN - 1, NOW)]
    assert [x.label.split(",")[1].strip() for x in found] == ["out of the hole", "into the hole"]
    assert reports.numbered(books, TRIP, 1, NOW) == found[0].span
    with pytest.raises(QuantityError, match=r"The log has no trip 0\. It has 1: Trip, out of the hole"):
        reports.numbered(books, TRIP, 0, NOW)


def test_a_log_with_neither_says_so() -> None:
    books = booked()
    assert reports.stretches(books, TRIP, NOW) == reports.stretches(books, SECTION, NOW) == ()
    with pytest.raises(QuantityError, match=r"The log has no trip 1\. It has none\."):
        reports.numbered(books, TRIP, 1, NOW)
