"""The balance that is kept from one state of the books to the next is the one that is worked out anew, whatever is learned
in between: rounds, entries of now and of before, corrections, zeros. Invented; no source."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from dipbook import balance
from dipbook.books import build, learn
from dipbook.kept_balance import COLUMNS, at_readings
from dipbook.records import Draft, numbered
from ledgers import RIG, dips, entry, rig_draft

TANK = st.sampled_from(["Settling", "Suction", "Reserve", "Trip"])
LEVEL = st.integers(40, 80)


def entries_at(minute: int) -> st.SearchStrategy[Draft]:
    return st.one_of(
        st.builds(lambda a, b: dips(minute, Settling=a, Suction=b), LEVEL, LEVEL),
        st.builds(lambda a, b: dips(minute, Suction=a, Reserve=b), LEVEL, LEVEL),
        st.builds(lambda v: entry("transfer", minute, **{"from": "Reserve", "to": "Suction", "volume": v}), st.integers(1, 9)),
        st.builds(lambda v: entry("addition", minute, minute + 12, to="Suction", volume=v), st.integers(1, 9)),
        st.builds(lambda s: entry("line-up", minute, tank="Reserve", state=s), st.sampled_from(["in", "out"])),
        st.builds(lambda s: entry("pumps", minute, state=s, **({"flow": 300} if s == "on" else {})), st.sampled_from(["on", "off"])),
        st.builds(lambda d: entry("depth", minute, hole_depth=9000 + d, bit_depth=9000 + d), st.integers(0, 90)),
        st.just(entry("zero", minute, length=0, reason="x")))


@settings(max_examples=60, deadline=None)
@given(st.data(), st.lists(st.integers(0, 240), min_size=3, max_size=14))
def test_what_is_kept_is_what_is_worked_out_anew(data: st.DataObject, minutes: list[int]) -> None:
    books = build(numbered([rig_draft(RIG, -90), dips(0, Settling=60, Suction=60), entry("zero", 1, length=0, reason="x")]))
    at_readings(books, 0)
    uids: list[Any] = []
    for minute in minutes:              # in the order learned, whatever their times: late ones come in too
        draft = data.draw(entries_at(minute))
        if uids and draft.kind == "round" and data.draw(st.booleans()):
            draft = replace(draft, supersedes=data.draw(st.sampled_from(uids)), reason="misread")
            uids.remove(draft.supersedes)
        new = [replace(r, seq=r.seq + max(x.seq for x in books.records), uid=f"u{len(books.records)}")
               for r in numbered([draft])]
        uids += [r.uid for r in new if r.kind == "round"]
        books, _ = learn(books, new)
        if not len(books.readings):
            continue
        first = data.draw(st.integers(0, len(books.readings) - 1))
        for start in (0, first):
            made, anew = at_readings(books, start), balance.at(books, books.readings.end_ms[start:])
            for name in COLUMNS:
                np.testing.assert_array_equal(getattr(made, name), getattr(anew, name), name)
            for name in balance.TERMS:
                np.testing.assert_array_equal(made.terms[name], anew.terms[name], name)


def test_a_tank_that_joins_ungauged_later_takes_nothing_from_what_was_known_before_any_zero() -> None:
    books = build(numbered([rig_draft(RIG, -90), dips(0, Settling=60, Suction=60), dips(1, Settling=60, Suction=60),
                            entry("zero", 1, length=0, reason="x"), entry("line-up", 1, tank="Reserve", state="in")]))
    actual = balance.at(books, books.readings.end_ms).actual_m3
    assert np.isfinite(actual).tolist() == [True, False]
