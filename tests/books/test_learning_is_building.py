"""Books that learn record by record are the books that are built of all of them at once.

Invented; no source. Much is kept from one state of the books to the next: this holds it to the whole.
"""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dipbook import balance
from dipbook.books import Books, build, learn
from dipbook.kept_balance import COLUMNS, at_readings
from dipbook.records import Record, numbered
from ledgers import MIN, RIG, dips, entry, rig_draft
from sampled_histories import END, histories

HELD = ("samples", "dips", "readings", "gathered", "line", "zeros", "taken", "moves", "pumps", "depths", "activities", "findings", "rigs")


def assert_alike(one: Any, other: Any, where: str = "") -> None:
    """Equal to the last bit, through dataclasses, tables and arrays; unknown is equal to unknown. The number of a reading only
    tells which dips are of one."""
    assert type(one) is type(other), where
    if where.endswith((".row", ".rows")):
        return
    if is_dataclass(one):
        for f in fields(one):
            assert_alike(getattr(one, f.name), getattr(other, f.name), f"{where}.{f.name}")
    elif isinstance(one, dict):
        assert list(one) == list(other) or sorted(one) == sorted(other), where
        for key, of in one.items():
            assert_alike(of, other[key], f"{where}[{key}]")
    elif isinstance(one, (tuple, list)):
        assert len(one) == len(other), where
        for n, (a, b) in enumerate(zip(one, other, strict=True)):
            assert_alike(a, b, f"{where}[{n}]")
    elif isinstance(one, (np.ndarray, float)):
        np.testing.assert_array_equal(one, other, where)
    else:
        assert one == other, where


def assert_same_books(one: Books, other: Books) -> None:
    for name in HELD:
        assert_alike(getattr(one, name), getattr(other, name), name)
    for tank, s in one.dips.items():
        assert_alike(np.unique(s.row, return_inverse=True)[1], np.unique(other.dips[tank].row, return_inverse=True)[1], f"rows of {tank}")
    t = np.unique(np.concatenate((one.readings.end_ms, MIN * np.arange(0, END + 90, 7))))
    for name in ("active", "all surface", "Suction", "Reserve", "Trip"):
        a, b = balance.at(one, t, name), balance.at(other, t, name)
        for column in COLUMNS:
            assert_alike(getattr(a, column), getattr(b, column), f"{name}: {column}")
        for term in balance.TERMS:
            assert_alike(a.terms[term], b.terms[term], f"{name}: {term}")
        assert_alike(balance.starts(one, name), balance.starts(other, name), f"{name}: starts")


LATER = st.lists(st.tuples(st.integers(1, 30), st.dictionaries(st.sampled_from(["Settling", "Suction", "Reserve", "Trip"]),
                                                             st.integers(-5, 115), min_size=1)), max_size=4)


@settings(max_examples=120, deadline=None)
@given(histories(), st.integers(1, 4), LATER)
def test_books_that_learn_are_the_books_that_are_built(records: tuple[Record, ...], first: int, later: list[tuple[int, dict[str, int]]]) -> None:
    """Whatever comes in, in any order; and rounds after it all, as a watch gets them."""
    books = build(records[:first])
    for r in records[first:]:
        if len(books.readings):
            at_readings(books, 0)
            balance.at(books, books.readings.end_ms[-1], "all surface")
        books, _ = learn(books, [r])
    minute, drafts = END + 40, []
    for gap, levels in later:
        minute += gap
        drafts.append(dips(minute, **levels))
    for r in numbered(drafts, len(records) + 1):
        balance.at(books, r.t_ms, "all surface")
        books, _ = learn(books, [r])
        records = (*records, r)
    assert_same_books(books, build(records))


def test_a_round_after_all_the_others_is_put_behind_them(monkeypatch: pytest.MonkeyPatch) -> None:
    """That nothing is gathered anew: else the property above would hold whatever the short way did."""
    records = numbered([rig_draft(RIG, -1), dips(0, Settling=60, Suction=60), entry("zero", 1, length=0, reason="x"),
                        entry("transfer", 5, 9, **{"from": "Reserve", "to": "Suction", "volume": 4})])
    books = build(records)
    balance.at(books, 10 * MIN)
    made = books.worked_out["curves", "active"]
    monkeypatch.setattr("dipbook.books.books.gather", lambda *_: pytest.fail("gathered anew"))
    more = replace(numbered([dips(20, Settling=61, Suction=62)])[0], seq=9, uid="n")
    books, touched = learn(books, [more])
    assert touched == 20 * MIN
    assert books.worked_out["curves", "active"] is made
    monkeypatch.undo()
    assert_same_books(books, build((*records, more)))


def test_a_dip_behind_another_tells_how_fast_that_one_changed() -> None:
    """Its time is known to half a minute: by how much the tank changed meanwhile its volume isn't."""
    def half_a_minute(draft: Any) -> Any:
        return replace(draft, dips=tuple(replace(d, t_half_ms=30_000) for d in draft.dips))
    records = numbered([rig_draft(RIG, -1), half_a_minute(dips(0, Settling=60, Suction=60)), half_a_minute(dips(10, Settling=60, Suction=61)),
                        half_a_minute(dips(11, Settling=60, Suction=75)), half_a_minute(dips(40, Settling=60, Suction=75))])
    books = build(records[:2])
    for r in records[2:]:
        books, _ = learn(books, [r])
    assert books.dips["Suction"].u_m3[1] > 10 * books.dips["Settling"].u_m3[1]
    assert_same_books(books, build(records))


def test_a_round_that_comes_late_moves_the_zeros_that_waited_for_it() -> None:
    late = [dips(10, Settling=60), entry("zero", 11, length=0, reason="x"), dips(30, Settling=60, Suction=60), dips(50, Settling=61, Suction=60),
            dips(20, Suction=59)]
    records = numbered([rig_draft(RIG, -1), *late])
    books = build(records[:-1])
    assert books.zeros[0].t_ms == 30 * MIN
    books, _ = learn(books, [records[-1]])
    assert books.zeros[0].t_ms == 20 * MIN
    assert_same_books(books, build(records))


def test_a_dip_that_values_a_tank_which_had_joined_moves_the_zero() -> None:
    records = numbered([rig_draft(RIG, -1), dips(0, Settling=60, Suction=60), entry("line-up", 5, tank="Reserve", state="in"),
                        entry("zero", 6, length=0, reason="x"), dips(20, Settling=60, Suction=60), dips(5, Reserve=50), dips(40, Reserve=50)])
    books = build(records[:5])
    for r in records[5:]:
        books, _ = learn(books, [r])
    assert_same_books(books, build(records))
