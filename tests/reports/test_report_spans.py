"""Tours, and spans with corrections, gaps, a clock step and clocks that are changed. Everything invented."""

from __future__ import annotations

from datetime import UTC, datetime
from itertools import pairwise

import numpy as np
import pytest

from dipbook import reports
from dipbook.books import Books, build
from dipbook.errors import QuantityError
from dipbook.exchange.times import parse
from dipbook.records import UNWATCHED, Draft, numbered
from dipbook.reports.inventory import midnights
from dipbook.reports.watching import unwatched
from dipbook.rig import document
from ledgers import BBL, MIN, RIG, booked, dips, entry, rig_draft

HOUR = 60
TOURS = '\n[[tour]]\ncode = "D"\nstart = "06:00"\n[[tour]]\ncode = "N"\nstart = "18:00"\n'
CHICAGO = RIG.replace("Etc/GMT+6", "America/Chicago") + TOURS
"""Its clocks go forward on 8 March 2026 at 02:00 and back on 1 November 2026 at 02:00 (IANA time zone database)."""
INCH = 30 * 8 / 12 * 1728 / 231 / 42


def rigs(text: str, *later: tuple[int, str]) -> list[tuple[int, object]]:
    return [(0, document.parse(text, "rig").rig), *((t, document.parse(x, "rig").rig) for t, x in later)]


def utc(text: str) -> int:
    return round(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp() * 1000)


@pytest.mark.parametrize(("tour", "begins", "ends"), [
    ("2026-03-14D", "2026-03-14T11:00", "2026-03-14T23:00"),        # CDT, UTC−5
    ("2026-03-14n", "2026-03-14T23:00", "2026-03-15T11:00"),        # the night is of the day on which it begins
    ("2026-03-07N", "2026-03-08T00:00", "2026-03-08T11:00"),        # clocks forward in it: 11 h
    ("2026-10-31N", "2026-10-31T23:00", "2026-11-01T12:00"),        # clocks back in it: 13 h
    ("2026-12-31N", "2027-01-01T00:00", "2027-01-01T12:00"),
])
def test_a_tour_is_from_its_start_to_the_next_ones(tour: str, begins: str, ends: str) -> None:
    found = reports.tour(rigs(CHICAGO), tour)
    assert (found.from_ms, found.to_ms) == (utc(begins), utc(ends))
    assert found.tour == tour[:10] + tour[10:].upper()
    rig = rigs(CHICAGO)[0][1]
    for t in (found.from_ms, (found.from_ms + found.to_ms) // 2, found.to_ms - 1):
        assert reports.tour_at(rig, t) == found


def test_a_start_that_happens_twice_is_the_first_and_one_that_never_is_as_much_later() -> None:
    text = CHICAGO.replace("06:00", "01:30")
    assert reports.tour(rigs(text), "2026-11-01D").from_ms == utc("2026-11-01T06:30")      # 01:30 −05:00, not −06:00
    text = CHICAGO.replace("06:00", "02:30")
    assert reports.tour(rigs(text), "2026-03-08D").from_ms == utc("2026-03-08T08:30")      # 03:30 −05:00


def test_tours_follow_each_other_without_gap_or_overlap_through_a_year() -> None:
    book, t = rigs(CHICAGO), None
    for day in range(365):
        date = datetime.fromtimestamp(utc("2026-01-01T12:00") / 1000 + day * 86_400, UTC).date()
        for code in "DN":
            span = reports.tour(book, f"{date}{code}")
            assert t is None or span.from_ms == t
            t = span.to_ms


def test_one_tour_alone_lasts_a_day() -> None:
    span = reports.tour(rigs(RIG + '[[tour]]\ncode = "A"\nstart = "07:00"\n'), "2026-03-14A")
    assert span.ms == 24 * HOUR * MIN


def test_a_tour_goes_by_the_rig_that_was_in_force() -> None:
    later = utc("2026-03-20T00:00")
    book = rigs(CHICAGO, (later, CHICAGO.replace("06:00", "07:00").replace("18:00", "19:00")))
    assert reports.tour(book, "2026-03-14D").from_ms == utc("2026-03-14T11:00")
    assert reports.tour(book, "2026-03-21D").from_ms == utc("2026-03-21T12:00")


@pytest.mark.parametrize(("text", "says"), [
    ("2026-03-14X", "has no tour X: it has D from 06:00, N from 18:00."),
    ("14 March, days", "isn't a tour: write it like 2026-03-14D"),
    ("2026-02-30D", "has a date that never was"),
])
def test_what_is_no_tour_is_refused_with_what_to_write(text: str, says: str) -> None:
    with pytest.raises(QuantityError, match=r"tour|date") as refused:
        reports.tour(rigs(CHICAGO), text)
    assert says in str(refused.value)
    with pytest.raises(QuantityError, match=r"none at all\. Give it \[\[tour\]\]"):
        reports.tour(rigs(RIG), "2026-03-14D")


def on(text: str, *drafts: Draft) -> Books:
    return build(numbered([rig_draft(CHICAGO, -1), *drafts]))


def at(text: str) -> float:
    """Minutes of a time of the rig's, with its offset."""
    return parse(text, None) / MIN


def test_a_night_of_eleven_hours_says_its_offsets_and_counts_real_hours() -> None:
    begin = at("2026-03-07 18:00-06:00")
    books = on("", *(dips(begin + 30 * n, Settling=40, Suction=40 - n) for n in range(23)),
               entry("watch", at("2026-03-08 01:30-06:00"), state="off", reason="rig move"),
               entry("watch", at("2026-03-08 03:30-05:00"), state="on"))
    made = reports.report(books, reports.tour(books.rigs, "2026-03-07N"))
    assert made.span.ms == 11 * HOUR * MIN
    assert reports.said(made.span, "America/Chicago") == "2026-03-07 18:00 −06:00 to 2026-03-08 06:00 −05:00"
    assert [(u.ms, u.why) for u in made.unwatched] == [(60 * MIN, "rig move")]
    assert made.active.unexplained_m3 / BBL == pytest.approx(-22 * INCH)
    assert midnights(made.span, "America/Chicago") == [parse("2026-03-08 00:00-06:00", None)]
    by = reports.writing(made)
    assert by.clock(parse("2026-03-08 01:30-06:00", None)) == "01:30 −06:00"
    assert made.gauging.longest_ms == 30 * MIN


def test_two_rounds_at_the_same_clock_time_are_told_apart() -> None:
    first, second = at("2026-11-01 01:30-05:00"), at("2026-11-01 01:30-06:00")
    books = on("", *(dips(m, Settling=40, Suction=x) for m, x in ((first - 60, 40), (first, 41), (second, 42))))
    made = reports.report(books, reports.tour(books.rigs, "2026-10-31N"))
    table = next(t for t in reports.tables(made) if t.name == "readings")
    by = reports.writing(made)
    assert [reports.on_paper(table.columns[0], r.cells[0], by) for r in table.rows] == [
        "00:30 −05:00", "01:30 −05:00", "01:30 −06:00"]
    assert [reports.in_file(table.columns[0], r.cells[0], by) for r in table.rows][1:] == [
        "2026-11-01T01:30:00-05:00", "2026-11-01T01:30:00-06:00"]


def test_what_happens_when_the_tours_change_belongs_to_the_one_that_ends() -> None:
    change = at("2026-03-14 18:00-05:00")
    books = on("", dips(change - 60, Settling=40, Suction=40), dips(change, Settling=41, Suction=40),
               entry("addition", change, to="Settling", volume=1.0), dips(change + 60, Settling=42, Suction=40))
    day, night = (reports.report(books, reports.tour(books.rigs, f"2026-03-14{c}")) for c in "DN")
    assert (day.active.closing_ms, night.active.opening_ms) == (change * MIN, change * MIN)
    assert [t.name for t in day.active.terms] == ["additions"]
    assert night.active.terms == ()
    assert [len(x.gauging.readings) for x in (day, night)] == [2, 1]
    assert day.active.unexplained_m3 / BBL == pytest.approx(INCH - 1.0)


def test_a_correction_is_known_now_and_was_not_shown_then() -> None:
    wrong = dips(60, Settling=45, Suction=40)
    wrong = Draft(wrong.kind, wrong.t_ms, wrong.learned_ms, author="A. Sample", payload=wrong.payload, dips=wrong.dips, uid="wrong")
    right = dips(60, Settling=40, Suction=40)
    right = Draft(right.kind, right.t_ms, 180 * MIN, author="B. Sample", payload=right.payload, dips=right.dips, uid="right",
                  supersedes="wrong", reason="feet for inches")
    books = booked(dips(0, Settling=40, Suction=40), entry("remark", 30, remark="quiet"), wrong, right,
                   entry("addition", 90, to="Suction", volume=2, learned=200))
    span = reports.Span(0, 120 * MIN)
    now, then = reports.report(books, span), reports.report(books, span, then=True)
    assert now.active.unexplained_m3 / BBL == pytest.approx(0.0, abs=1e-9)
    assert then.active.unexplained_m3 / BBL == pytest.approx(5 * INCH)
    assert [(c.by, c.why, c.label) for c in now.gauging.corrections] == [("B. Sample", "feet for inches", "Round")]
    assert "Settling 45" in now.gauging.corrections[0].was
    assert "Settling 40" in now.gauging.corrections[0].now
    assert then.gauging.corrections == ()
    assert [r.corrected for r in now.gauging.readings] == [True]
    assert {d.uid for d in now.gauging.dips} == {"right"}
    assert (now.learned_since, then.learned_since) == (2, 2)
    assert [e.late for e in now.gauging.entries if e.kind == "addition"] == [True]
    assert "addition" not in [e.kind for e in then.gauging.entries]


def test_struck_out_readings_are_no_dips_and_are_told_as_corrections() -> None:
    books = booked(dips(0, Settling=40, Suction=40), dips(30, Settling=60, Suction=40), dips(60, Settling=41, Suction=40),
                   entry("void", 29, end=31, tank="Settling", learned=70, reason="stick slipped"))
    made = reports.report(books, reports.Span(0, 90 * MIN))
    assert [(d.tank, d.t_ms // MIN) for d in made.gauging.dips] == [("Suction", 30), ("Settling", 60), ("Suction", 60)]
    assert [c.why for c in made.gauging.corrections] == ["stick slipped"]
    assert made.active.unexplained_m3 / BBL == pytest.approx(INCH)


def test_hours_unwatched_add_up_whatever_overlaps_and_a_clock_step_is_named() -> None:
    def gap(a: float, b: float, cause: str) -> Draft:
        return Draft(UNWATCHED, round(b * MIN), round(b * MIN), payload={"from_ms": a * MIN, "to_ms": b * MIN, "cause": cause})

    books = booked(dips(0, Settling=40, Suction=40), gap(10, 30, "closed"), gap(20, 40, "crashed"), gap(50, 55, "clock step"),
                   gap(-100, 5, "closed"), gap(110, 400, "closed"), dips(60, Settling=40, Suction=40))
    spans = unwatched(books, reports.Span(0, 120 * MIN))
    watched = np.zeros(120, dtype=bool)
    for a, b in ((0, 5), (10, 40), (50, 55), (110, 120)):
        watched[a:b] = True
    assert sum(u.ms for u in spans) == watched.sum() * MIN
    assert "the computer's clock was changed" in [u.why for u in spans]
    assert all(a.to_ms <= b.from_ms for a, b in pairwise(spans))


def test_a_clock_set_back_takes_nothing_from_what_was_shown_then() -> None:
    """The clock is set back by half an hour at 60 min, which it then shows twice."""
    books = booked(dips(0, Settling=40, Suction=40), dips(58, Settling=41, Suction=40),
                   Draft(UNWATCHED, 30 * MIN, 30 * MIN, payload={"from_ms": 30 * MIN, "to_ms": 60 * MIN, "cause": "clock step"}),
                   entry("remark", 45, remark="after the clock was set", learned=45), dips(90, Settling=42, Suction=40))
    span = reports.Span(0, 60 * MIN)
    then = reports.report(books, span, then=True)
    assert then.last_seq == 5                                       # all but the round at 90
    assert "after the clock was set" in [e.words for e in then.gauging.entries]


def test_a_span_without_a_reading_says_so_and_shows_no_figure() -> None:
    books = booked(dips(0, Settling=40, Suction=40), dips(300, Settling=40, Suction=40))
    made = reports.report(books, reports.Span(10 * MIN, 200 * MIN))
    assert made.active.why == "there is no reading in this span"
    assert made.active.unexplained_m3 is None
    table = reports.tables(made)[0]
    assert [r.cells[2] for r in table.rows] == [None, None, None]
    assert "Nothing can be reconciled: there is no reading in this span." in table.note


def test_a_span_before_the_first_reading_opens_with_it_and_says_so() -> None:
    books = booked(dips(30, Settling=40, Suction=40), dips(60, Settling=41, Suction=40))
    made = reports.report(books, reports.Span(0, 90 * MIN))
    assert made.active.opening_ms == 30 * MIN
    assert made.active.late
    assert "begins before the first reading" in reports.tables(made)[0].note


def test_a_span_must_end_after_it_begins() -> None:
    with pytest.raises(QuantityError, match="end after it begins"):
        reports.between(5, 5)


def test_longer_than_a_day_times_have_their_date() -> None:
    books = booked(dips(0, Settling=40, Suction=40), dips(60 * 30, Settling=40, Suction=40))
    made = reports.report(books, reports.Span(0, 30 * HOUR * MIN))
    assert reports.writing(made).clock(60 * 30 * MIN) == "2 Jan 00:00"
