"""What the watch is told of a log: gaps, what was struck, since when limits stand; and books that learn a warning."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from app.real_desks import GAIN, OVERDUE, rig_text
from builders import IN
from dipbook import balance, watch
from dipbook.books import Books, build, learn
from dipbook.composing import gaps, journal, seen, struck_from, with_journal
from dipbook.composing.resuming import limits_stood
from dipbook.observations import observe
from dipbook.records import RIG, ROUND, UNWATCHED, WARNING, Dip, Draft, Record, numbered

MIN = 60_000


def a_rig(t: int, *limits: str) -> Draft:
    return Draft(RIG, t, t, payload={"text": rig_text(*limits), "effective": "change"})


def a_round(t: int, suction: float = 60.0, learned: int | None = None) -> Draft:
    dips = tuple(Dip(n, t - i * MIN, "", v * IN) for i, (n, v) in enumerate((("Suction", suction), ("Settling", 60.0))))
    return Draft(ROUND, t, t if learned is None else learned, dips=dips)


def off_on(t: int, state: str) -> Draft:
    return Draft("watch", t, t, payload={"state": state, "reason": "move"})


def records(*drafts: Draft) -> tuple[Record, ...]:
    return numbered(drafts)


def test_gaps_are_told_once_and_an_open_one_until_it_ends() -> None:
    memory = watch.start()
    books = build(records(a_rig(0), off_on(10, "off")))
    events = gaps(books, memory, 99)
    assert events == (watch.Unwatched(10),)
    memory, _ = watch.step(memory, events[0])
    assert gaps(books, memory, 99) == ()
    books = build(records(a_rig(0), off_on(10, "off"), off_on(20, "on")))
    events = gaps(books, memory, 99)
    assert events == (watch.WatchedAgain(20),)
    memory, _ = watch.step(memory, events[0])
    assert gaps(books, memory, 99) == ()
    books, _ = learn(books, numbered([Draft(UNWATCHED, 30, 40, payload={"from_ms": 30, "to_ms": 40, "cause": "x"})], 4))
    assert gaps(books, memory, 99) == (watch.Unwatched(30, 40),)


def test_a_watch_whose_off_was_struck_out_goes_on_now() -> None:
    memory, _ = watch.step(watch.start(), watch.Unwatched(10))
    assert gaps(build(records(a_rig(0))), memory, 99) == (watch.WatchedAgain(99),)


def test_a_clock_set_back_is_no_gap() -> None:
    books = build(records(a_rig(0), Draft(UNWATCHED, 5, 5, payload={"from_ms": 5, "to_ms": 5, "cause": "x"})))
    assert gaps(books, watch.start(), 99) == ()


def test_struck_from_is_the_first_dip_of_what_was_struck() -> None:
    books = build(records(a_rig(0), a_round(100 * MIN)))
    (void,) = numbered([Draft("void", 100 * MIN, 0, supersedes="r2")], 3)
    assert struck_from([void], books) == 99 * MIN
    (span,) = numbered([Draft("void", 50 * MIN, 0, payload={"tank": "Suction", "end_ms": 60 * MIN})], 3)
    assert struck_from([span], books) == 50 * MIN
    (entry,) = numbered([Draft("remark", 1, 1)], 3)
    assert struck_from([entry], books) is None


def test_since_when_a_limit_stands_is_when_its_numbers_were_learned() -> None:
    looser = GAIN.replace('"5 bbl"', '"8 bbl"')
    books = build(records(a_rig(0, GAIN), a_rig(10, GAIN, OVERDUE), a_rig(20, looser, OVERDUE)))
    stood = {name: [(since, round(x.value, 3)) for since, x in each] for name, each in limits_stood(books).items()}
    assert stood == {"gain": [(None, 0.795), (20, 1.272)], "overdue": [(10, 2100.0)]}


def with_a_raise() -> tuple[Books, list[Record]]:
    """Books of two rounds, and the warning that the second one makes."""
    books = build(records(a_rig(0, GAIN), a_round(100 * MIN), a_round(130 * MIN, 63.0)))
    _, made = watch.run(books.rig.limits, observe(books))
    drafts = [Draft(WARNING, t.time, t.learned, payload=t.payload()) for t in made]
    assert drafts
    return books, list(numbered(drafts, 4))


def test_books_that_learn_a_warning_are_those_built_with_it() -> None:
    books, warnings = with_a_raise()
    learned, touched = learn(books, warnings)
    built = build((*books.records, *warnings))
    assert touched is None
    assert learned.records == built.records
    assert learned.eff == built.eff
    t = np.array([100, 130, 140]) * MIN
    assert (balance.at(learned, t).difference_m3 == balance.at(built, t).difference_m3).all()
    assert with_journal(seen(books), learned).trend.marks == seen(built).trend.marks
    assert [m[1] for m in seen(built).trend.marks] == [WARNING]


def test_a_round_touches_from_its_first_dip_on_and_a_correction_from_the_first_of_both() -> None:
    books = build(records(a_rig(0), a_round(100 * MIN)))
    late = numbered([a_round(50 * MIN)], 3)
    assert learn(books, late)[1] == 49 * MIN
    moved = numbered([replace(a_round(110 * MIN), supersedes="r2", reason="time")], 3)
    assert learn(books, moved)[1] == 99 * MIN


def test_a_journal_is_read_in_its_order_and_what_can_t_be_read_is_counted() -> None:
    books, warnings = with_a_raise()
    bad = numbered([Draft(WARNING, 0, 0, payload={"of": "another"})], 9)
    good, unreadable = journal([*bad, *reversed(warnings), *books.records])
    assert unreadable == 1
    assert good == [w.payload for w in warnings]


@pytest.mark.parametrize("first", [0, 1, 2])
def test_observing_some_rows_is_observing_all_and_cutting(first: int) -> None:
    books, _ = with_a_raise()
    some, rest = observe(books, first), observe(books).rows(first, 2)
    assert some.t_ms.tolist() == rest.t_ms.tolist()
    for system in ("active", "all surface", "watched"):
        np.testing.assert_array_equal(some.difference[system], rest.difference[system])
        np.testing.assert_array_equal(some.u[system], rest.u[system])
    for tank in rest.level:
        np.testing.assert_array_equal(some.level[tank], rest.level[tank])
    assert some.activity == rest.activity


def test_a_zero_given_after_its_round_shows_that_round_as_nothing() -> None:
    """Round at 10, 20 bbl put in at 12, zero at 15: the dips of 10 know nothing of the 20, and nor may the difference."""
    put_in = Draft("addition", 12 * MIN, 12 * MIN, payload={"to": "Suction", "volume_m3": 3.18})
    zero = Draft("zero", 15 * MIN, 15 * MIN, payload={"reason": "x"})
    shown = seen(build(records(a_rig(0), a_round(10 * MIN), put_in, zero)))
    assert shown.active is not None
    assert float(shown.active.difference_m3[0]) == pytest.approx(0.0, abs=1e-12)
    assert int(shown.active.zero_ms[0]) == 15 * MIN
    assert int(shown.active.t_ms[0]) == 10 * MIN
