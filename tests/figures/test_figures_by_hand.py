"""The figures of a history counted by hand. The formulas and targets are those of ANSI/ISA-18.2-2016, clause 16.4, and
IEC 62682, as restated in public; the rules for chattering and fleeting are from memory and of one published site."""

from __future__ import annotations

import math

import pytest

from dipbook import figures
from dipbook.figures import count
from dipbook.figures.raisings import Raised
from dipbook.limit_record import Change
from dipbook.watch import Transition

MIN, HOUR, SECOND = 60_000, 3_600_000, 1_000
START = 480_000 * HOUR
"""A whole hour by the clock, as UTC is."""


def tr(at_min: float, event: str, state: str, *, name: str = "gain", occurrence: str = "1", was: str = "",
       sounds: bool = False, learned_min: float | None = None, kind: str = "gain") -> Transition:
    """A line of the journal. at_min: minutes after START."""
    return Transition(
        time=START + round(at_min * MIN), learned=START + round((at_min if learned_min is None else learned_min) * MIN),
        name=name, kind=kind, system="active", tank="", state=state, value=None, limit=1.0, value_is="volume", unit="m3",
        occurrence=occurrence, event=event, from_state=was, revision=1, sounds=sounds)


def raised(at_min: float, *, limit: str = "gain", kind: str = "gain", acknowledged: float | None = None,
           over: float | None = None) -> Raised:
    at = START + round(at_min * MIN)
    over_ms = None if over is None else START + round(over * MIN)
    return Raised(limit, kind, at, at, over_ms, over_ms, None if acknowledged is None else START + round(acknowledged * MIN))


def of(key: str, counted: figures.Counts, tour_h: float = 12.0) -> figures.Figure:
    return next(x for x in figures.figures(counted, tour_h) if x.key == key)


def over(hours: float, *each: Raised, **more: object) -> figures.Counts:
    return count(START, START + round(hours * HOUR), sorted(each, key=lambda r: r.at_ms), **more)  # type: ignore[arg-type]


def test_rates_are_of_the_time_that_was_watched() -> None:
    six = [raised(60 * k + 1) for k in range(6)]
    counted = over(12, *six)
    # 6 in 12 h: 0.5 an hour, 6 a tour of 12 h, 0.5 / 6 in ten minutes.
    assert of("raised", counted).value == 6
    assert of("rate_hour", counted).value == pytest.approx(0.5)
    assert of("rate_tour", counted).value == pytest.approx(6.0)
    assert of("rate_tour", counted, 8.0).value == pytest.approx(4.0)
    assert of("rate_10min", counted).value == pytest.approx(0.5 / 6)
    # Nobody watched from 6 h to 9 h, said twice: 6 in 9 h.
    gap = [(START + 6 * HOUR, START + 9 * HOUR), (START + 7 * HOUR, START + 8 * HOUR)]
    counted = over(12, *six, unwatched=gap)
    assert of("rate_hour", counted).value == pytest.approx(6 / 9)
    assert "nobody watched for 3.0 h" in of("span", counted).note
    # A span in which nobody watched at all has no rate, and none is made up.
    assert of("rate_hour", over(1, unwatched=[(START, None)])).value is None


def test_of_a_moment_no_rate_is_made_up() -> None:
    """A log that files were added to was watched for a moment, in which it learned of two warnings: 1230 a tour."""
    moment = over(70 / 3600, raised(0.1), raised(0.2))
    assert [of(k, moment).value for k in ("raised", "rate_10min", "rate_hour", "rate_tour")] == [2, None, None, None]
    assert of("rate_tour", moment).note == "too little was watched for a rate: 1.2 min, and 6 h are needed"
    # Half of its time is enough, and no less.
    assert [of("rate_tour", over(h, raised(1))).value for h in (5.99, 6)] == [None, 2]
    assert [of("rate_hour", over(h, raised(1))).value for h in (0.49, 0.5)] == [None, 2]


def test_nothing_raised_gives_counts_of_nothing_and_no_shares() -> None:
    counted = over(1)
    assert [of(k, counted).value for k in ("raised", "rate_hour", "largest_10min", "floods", "flood_time")] == [0, 0, 0, 0, 0]
    assert [of(k, counted).value for k in ("top_ten", "answer_median", "answer_p90", "rank_1")] == [None] * 4


def test_a_flood_begins_with_the_eleventh_in_ten_minutes_and_ends_with_fewer_than_five() -> None:
    # One a 30 s: the 11th at 5:00 begins it; 12 in all, the last at 5:30. Within (t − 10, t] there are 12 until 10:00,
    # when the first leaves; fewer than five are left when the eighth has gone, at 3:30 + 10:00 = 13:30.
    twelve = [raised(k / 2) for k in range(12)]
    counted = over(1, *twelve)
    (flood,) = counted.floods
    assert (flood.begun_ms - START, flood.ended_ms - START) == (5 * MIN, 13.5 * MIN)
    assert (flood.raised, flood.peak) == (12, 12)
    assert of("flood_time", counted).value == pytest.approx(100 * 8.5 / 60)
    assert of("floods", counted).note == "12 in 8 min, at most 12 in 10 min"
    # Ten are no flood, and not more than ten in ten minutes.
    ten = over(1, *twelve[:10])
    assert (ten.floods, ten.periods_over, ten.largest) == ((), 0, 10)
    # Of six whole ten minutes of the clock one had more than ten: 12 in 0:00 to 10:00.
    assert (counted.periods, counted.periods_over, of("periods_over_10", counted).value) == (6, 1, pytest.approx(100 / 6))


def test_adjoining_spans_add_up() -> None:
    many = [raised(3 * k + 0.5 * (k % 3)) for k in range(100)]
    halves = [count(START + a * HOUR, START + b * HOUR, many) for a, b in ((0, 2), (2, 5))]
    whole = count(START, START + 5 * HOUR, many)
    for what in ("raised", "periods", "periods_over", "hours", "hours_over", "flood_ms", "fleeting", "unanswered"):
        assert sum(getattr(half, what) for half in halves) == getattr(whole, what), what


def test_hours_with_more_than_thirty() -> None:
    counted = over(3, *(raised(60 + 1.9 * k) for k in range(31)), *(raised(121 + 1.9 * k) for k in range(30)))
    assert (counted.hours, counted.hours_over) == (3, 1)
    assert of("hours_over_30", counted).value == pytest.approx(100 / 3)


def test_chattering_is_the_third_of_one_limit_within_a_minute() -> None:
    mixed = [raised(0, limit="high (A)"), raised(0.5, limit="high (A)"), raised(0.9, limit="low (B)"),
             raised(1.0, limit="high (A)"), raised(5, limit="low (B)"), raised(5.5, limit="low (B)"), raised(6.01, limit="low (B)")]
    counted = over(1, *mixed)
    assert counted.chattering == {"high (A)": 1}
    assert (of("chattering", counted).value, of("chattering", counted).note) == (1, "high (A): 1")
    assert counted.by_limit == {"low (B)": 4, "high (A)": 3}
    assert of("top_ten", counted).value == 100.0
    assert of("top_ten", counted).note.startswith("low (B): 4, high (A): 3; only 2 raised any")


def test_fleeting_is_over_within_ten_seconds_and_not_back_within_a_minute_of_that() -> None:
    counted = over(1, raised(0, over=9 / 60), raised(10, over=10 + 10 / 60), raised(20, over=20.1), raised(21.0, over=25),
                   raised(30, over=30.1), raised(31.2, over=40), raised(50))
    assert counted.fleeting == 2, "the first and the one at 30; 10 s is too long, 54 s is back too soon"


def test_standing_is_open_for_more_than_a_day() -> None:
    day = 24 * HOUR
    spans = [figures.Occurrence("a", START, START + day), figures.Occurrence("b", START, START + day + 1),
             figures.Occurrence("c", START + HOUR)]
    assert count(START, START + day, [], occurrences=spans).standing == 0
    assert count(START, START + 2 * day, [], occurrences=spans).standing == 2, "b for a moment, c from 25 h on"
    assert count(START, START + 2 * day, [], occurrences=spans[:1]).standing == 0


def test_times_to_acknowledge_count_what_nobody_acknowledged_as_the_longest() -> None:
    counted = over(1, *(raised(k, acknowledged=k + (k + 1) / 6) for k in range(9)), raised(30))
    # 10, 20 … 90 s and one never: the middle two of ten are 50 and 60 s; nine of ten were by 90 s.
    assert counted.answers_s == (*range(10, 100, 10), math.inf)
    assert (of("answer_median", counted).value, of("answer_p90", counted).value) == (55.0, 90.0)
    assert of("answer_median", counted).note == "1 not acknowledged, counted as the longest"
    assert of("unanswered", counted).value == 1
    two = over(1, raised(0, acknowledged=1), raised(1), raised(2))
    assert of("answer_median", two).value is None, "more than half weren't acknowledged: nobody knows how long it takes"


def test_the_split_by_urgency_is_of_what_was_raised() -> None:
    counted = over(1, raised(0, kind="gain"), *(raised(k, kind="overdue", limit="due") for k in range(1, 4)),
                   ranks={"gain": 1, "overdue": 3})
    assert [of(f"rank_{k}", counted).value for k in (1, 2, 3)] == [25.0, 0.0, 75.0]


def test_changes_of_limits_and_those_by_nobody() -> None:
    changed = [Change(START - 1, "gain", "A", "b", None, None), Change(START, "gain", "A", "b", None, None),
               Change(START + 1, "gain", "", "b", None, None), Change(START + HOUR, "gain", "A", "b", None, None)]
    counted = over(1, changes=changed)
    assert (of("limits_changed", counted).value, of("unnamed", counted).value) == (2, 1)


def test_the_journal_is_read_as_what_was_heard() -> None:
    journal = [
        tr(0, "ACT", "raised", sounds=True), tr(2, "ACK", "acknowledged"), tr(5, "REA", "raised", sounds=True),
        tr(6, "ACK", "acknowledged"), tr(8, "RTN", "over_acknowledged"), tr(9, "RST", "closed"),
        # Learned late: the condition came and went at 3 to 4 min, and sounded when that was known, at 20 min.
        tr(3, "ACT", "raised", occurrence="2", sounds=True, learned_min=20),
        tr(4, "RTN", "over", occurrence="2", learned_min=20)]
    first, late = figures.raisings(journal)
    assert ((first.at_ms - START) / MIN, (first.acknowledged_ms or 0) - START, first.lasted_ms) == (0, 2 * MIN, 8 * MIN)
    assert ((late.at_ms - START) / MIN, late.acknowledged_ms, late.lasted_ms) == (20, None, MIN)
    assert [(at - START) / MIN for at in figures.resoundings(journal)] == [5]
    assert [((x.begun_ms - START) / MIN, x.closed_ms is None) for x in figures.occurrences(journal)] == [(0, False), (20, True)]


def test_what_comes_true_while_a_limit_is_set_aside_is_heard_when_it_is_back() -> None:
    journal = [
        tr(0, "SHV", "shelved", name="high", occurrence="", kind="high"),
        tr(3, "ACT", "shelved", name="high", kind="high"),
        tr(10, "UNS", "raised", name="high", was="shelved", sounds=True, kind="high"),
        tr(11, "ACK", "acknowledged", name="high", kind="high"),
        tr(20, "OOS+", "out of service", name="high", kind="high"),
        tr(50, "OOS-", "raised", name="high", was="out of service", sounds=True, kind="high")]
    (heard,) = figures.raisings(journal)
    assert ((heard.at_ms - START) / MIN, ((heard.acknowledged_ms or 0) - START) / MIN) == (10, 11)
    assert [(at - START) / MIN for at in figures.resoundings(journal)] == [50]
    assert [((x.begun_ms - START) / MIN, x.closed_ms and (x.closed_ms - START) / MIN) for x in figures.occurrences(journal)] \
        == [(10, 20), (50, None)]
    aside = figures.set_aside(journal)
    assert [(x.limit, x.how, ((x.ended_ms or 0) - x.begun_ms) / MIN) for x in aside] == [
        ("high", "shelved", 10), ("high", "out of service", 30)]
    counted = count(START + 5 * MIN, START + 40 * MIN, figures.raisings(journal), set_aside=aside)
    assert [of(k, counted).value for k in ("shelved", "shelved_time", "out_of_service", "out_of_service_time")] == [
        0, pytest.approx(5 / 60), 1, pytest.approx(20 / 60)]


def test_every_figure_has_a_formula_and_a_target_names_its_source() -> None:
    for figure in figures.figures(over(1)):
        assert figure.formula or figure.key == "unanswered"
        assert bool(figure.target) == bool(figure.source), figure.key
        assert figure.source in figures.SOURCES
    with pytest.raises(ValueError, match="a span ends"):
        count(1, 0, [])
