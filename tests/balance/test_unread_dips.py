"""Dips whose level couldn't be read, in the books and before the limits. An inch of these boxes is 3.562 bbl."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from builders import BBL, FT, IN
from dipbook import balance
from dipbook.books import build
from dipbook.observations import observe
from dipbook.records import Record
from ledgers import MIN, dips, history, minutes

INCH = 8 * 30 / 12 / 5.614583333
"""8 × 30 ft, one inch, in bbl: 20 ft3; a barrel is 5.6146 ft3 (42 US gallons of 231 in3)."""


def flagged(tank: str, flag: str, level_m: float | None, *more: Any) -> tuple[Record, ...]:
    """Both active tanks at 60 in at 0, then at 30 min one whose level couldn't be read."""
    before, after = dips(0, Settling=60, Suction=60), dips(30, Settling=60, Suction=60)
    unread = tuple(replace(d, level_m=level_m, flag=flag, as_typed=flag) if d.tank == tank else d for d in after.dips)
    return history(before, replace(after, dips=unread), *more)


def test_over_the_brim_a_tank_holds_at_least_what_it_holds_there() -> None:
    books = build(flagged("Suction", "over brim", 9 * FT))
    now = balance.at(books, minutes(0, 30), "active")
    assert now.actual_m3[1] == pytest.approx((60 + 108) * INCH * BBL, rel=1e-6)
    assert list(now.partial) == [False, True], "what is only known in part raises and ends nothing"
    assert math.isnan(now.u_m3[1]), "how far off it is, nobody knows"
    seen = observe(books)
    assert list(seen.partial["Suction"]) == [False, True]
    assert not seen.complete[1]


def test_below_the_stick_a_tank_holds_at_most_what_it_holds_there() -> None:
    """Mud that ran out of sight is a loss, and may not make the difference unknown."""
    books = build(flagged("Suction", "below stick", None))
    now = balance.at(books, minutes(0, 30), "active")
    assert now.difference_m3[1] == pytest.approx(-60 * INCH * BBL, rel=1e-6)
    assert math.isnan(now.u_m3[1]), "how far off it is, nobody knows"
    assert now.partial[1]
    assert not [f for f in books.findings if f.code == "outside_table"], "this tank has no table to be outside of"


def test_below_the_stick_the_low_limit_sees_the_end_of_the_stick() -> None:
    seen = observe(build(flagged("Suction", "below stick", None)))
    assert list(seen.level["Suction"]) == pytest.approx([60 * IN, 0.0])
    assert list(seen.volume["Suction"]) == pytest.approx([60 * INCH * BBL, 0.0], rel=1e-6)
    assert list(seen.partial["Suction"]) == [False, True]


def test_a_dip_that_can_be_read_ends_it() -> None:
    books = build(flagged("Suction", "over brim", 9 * FT, dips(60, Settling=60, Suction=100)))
    now = balance.at(books, minutes(60), "active")
    assert now.actual_m3[0] == pytest.approx(160 * INCH * BBL, rel=1e-6)
    assert not now.partial[0]
    assert math.isfinite(now.u_m3[0])
    assert books.readings.end_ms[-1] == 60 * MIN
