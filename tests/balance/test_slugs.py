"""A slug from every side, each number worked by hand, and against a ledger that walks it second by second.

The slug of these tests: 30 bbl of 15.0 lbm/gal on 12.0 lbm/gal lift out 30·(15/12 − 1) = 7.5 bbl besides their own
volume, 7.5/0.01776 = 422.3 ft of empty bore. Pumps 300 gal/min are 7.1429 bbl/min: they take 7.5 bbl back in 1.05 min.
"""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dipbook import balance
from dipbook.records import Draft
from ledgers import RIG, booked, dips, entry, in_bbl, minutes

c, BPM, EXTRA = 0.01776, 300 / 42, 7.5
START = dips(0, Settling=60, Suction=60, Reserve=50, Trip=30)
PUMPING = entry("pumps", -60, state="on", flow=300)
DEPTH = entry("depth", -1, hole=9000, bit=9000)
OFF = entry("pumps", 9, state="off")


def zero(minute: float = 0) -> Draft:
    return entry("zero", minute, length=0, reason="start of tour")


def slug(minute: float = 5, end: float | None = 9, **other: Any) -> Draft:
    fields = {"from_": "Reserve", "volume": 30, "density": 15.0, "mud_density": 12.0, "return_": 10} | other
    return entry("slug", minute, end, **{k: v for k, v in fields.items() if v is not None})


def told(*more: Draft, rig: str = RIG) -> Any:
    return booked(PUMPING, DEPTH, START, zero(), *more, rig=rig)


def term(books: Any, name: str, *at: float, of: str = "active") -> Any:
    return in_bbl(balance.at(books, minutes(*at), of).terms[name])


def codes(books: Any) -> set[str]:
    return {f.code for f in balance.findings(books)}


def slug_codes(books: Any) -> set[str]:
    return {code for code in codes(books) if code.startswith(("slug", "zero_dry"))}


# --- what it moves --------------------------------------------------------------------------------------------------

def test_as_much_comes_back_as_is_pumped_and_then_what_it_lifts_out() -> None:
    """30 bbl from Reserve over 4 min, half of them after 2; then 7.5 bbl over 10 min, 0.75 a minute."""
    books = told(slug(), OFF)
    assert term(books, "pills", 5, 7, 9, 60) == pytest.approx([0, 15, 30, 30])
    assert term(books, "bore", 9, 10, 14, 19, 60) == pytest.approx([0, 0.75, 3.75, EXTRA, EXTRA])
    assert not slug_codes(books)


def test_a_slug_from_an_active_tank_is_no_addition() -> None:
    books = told(slug(from_="Suction"), OFF)
    assert term(books, "pills", 7, 60) == pytest.approx([0, 0], abs=1e-12)
    assert term(books, "bore", 60) == pytest.approx([EXTRA])


def test_all_surface_rises_by_what_it_lifts_out_alone() -> None:
    books = told(slug(), OFF)
    assert term(books, "pills", 7, 60, of="all surface") == pytest.approx([0, 0], abs=1e-12)
    assert term(books, "bore", 14, 60, of="all surface") == pytest.approx([3.75, EXTRA])


def test_what_comes_back_goes_where_the_flow_line_goes_at_the_time() -> None:
    """Flow line to Trip at 14, half-way through the fall: 3.75 bbl each."""
    books = told(slug(), OFF, entry("line-up", 14, tank="flow line", to="Trip"))
    assert term(books, "bore", 60) == pytest.approx([3.75])
    assert term(books, "bore", 60, of="Trip") == pytest.approx([3.75])
    turned = told(entry("line-up", 7, tank="flow line", to="Trip"), slug(), OFF)
    assert term(turned, "pills", 60) == pytest.approx([15])
    assert term(turned, "pills", 60, of="Trip") == pytest.approx([15])
    assert term(turned, "pills", 60, of="Reserve") == pytest.approx([-30])
    nowhere = told(entry("line-up", 4, tank="flow line", to="none"), slug(), OFF)
    assert term(nowhere, "pills", 60, of="all surface") == pytest.approx([-30])
    assert term(nowhere, "bore", 60, of="all surface") == pytest.approx([0])


def test_without_a_time_it_falls_at_once_and_says_so() -> None:
    books = told(slug(return_=None), OFF)
    assert term(books, "bore", 8.99, 9, 60) == pytest.approx([0, EXTRA, EXTRA])
    assert slug_codes(books) == {"slug_at_once"}


def test_an_instant_slug_with_no_pumps_logged_falls_from_its_own_minute() -> None:
    books = booked(START, zero(), slug(5, None))
    assert term(books, "pills", 4.99, 5) == pytest.approx([0, 30])
    assert term(books, "bore", 5, 10, 15) == pytest.approx([0, 3.75, EXTRA])


@pytest.mark.parametrize("density", [12.0, 11.5])
def test_a_slug_no_heavier_than_the_mud_lifts_nothing_and_says_so(density: float) -> None:
    books = told(slug(density=density), OFF)
    assert term(books, "pills", 60) == pytest.approx([30])
    assert term(books, "bore", 60) == pytest.approx([0])
    assert slug_codes(books) == {"slug_not_heavier"}


def test_a_slug_of_unknown_density_is_a_finding_and_no_guess() -> None:
    books = told(slug(density=None), OFF)
    assert term(books, "bore", 60) == pytest.approx([0])
    assert slug_codes(books) == {"slug_unknown"}
    assert "volume_unknown" in codes(told(slug(volume=None), OFF))


# --- how it is taken back -------------------------------------------------------------------------------------------

def test_pumps_on_take_it_back_at_their_flow_and_slug_and_pumps_sum_to_nothing() -> None:
    """7.5 − 7.1429·0.5 = 3.9286 half a minute later, nothing after 1.05 min."""
    books = told(slug(), OFF, entry("pumps", 30, state="on", flow=300))
    assert term(books, "bore", 30, 30.5, 31.05, 90) == pytest.approx([EXTRA, EXTRA - BPM / 2, 0, 0], abs=1e-4)
    assert term(books, "pills", 90, of="all surface") == pytest.approx([0], abs=1e-12)


def test_pumps_on_while_it_falls_end_the_fall_and_say_so() -> None:
    """At 12 three of ten minutes have brought 2.25 bbl: those are taken back and no more comes."""
    books = told(slug(), OFF, entry("pumps", 12, state="on", flow=300))
    assert term(books, "bore", 12, 13, 90) == pytest.approx([2.25, 0, 0], abs=1e-4)
    assert slug_codes(books) == {"slug_pumped_on"}


def test_a_stand_filled_over_dry_bore_takes_back_its_bore_and_lowering_it_gives_nothing_more() -> None:
    """93 ft filled takes 1.652 bbl; 422.3 − 93 = 329.3 ft stay empty; the pumps take 329.3·0.01776 = 5.848."""
    books = told(slug(), OFF, entry("stand filled", 25), entry("pumps", 30, state="on", flow=300))
    assert term(books, "bore", 24, 26, 90) == pytest.approx([EXTRA, EXTRA - 93 * c, 0], abs=1e-4)


def test_raised_pipe_is_dry_first_and_stands_full_after_it() -> None:
    """422.3 ft are empty: raising 930 ft takes c·930 = 16.517 in all, of which 7.5 is the slug's and 9.017 is full pipe
    that lowering gives back. Pumps on take nothing: no bore in the hole is empty."""
    books = told(slug(), OFF, entry("depth", 25, bit=8070), entry("pumps", 30, state="on", flow=300),
                 entry("depth", 40, bit=9000))
    full = 930 * c - EXTRA
    assert term(books, "bore", 26, 35, 41) == pytest.approx([-full, -full, 0], abs=1e-9)


def test_the_rest_of_the_fall_goes_on_while_pipe_is_raised() -> None:
    """At 14 half is out, 211.1 ft empty. 93 ft raised then takes 1.652; the other 3.75 bbl still come."""
    books = told(slug(), OFF, entry("depth", 14, bit=8907))
    assert term(books, "bore", 14, 19) == pytest.approx([3.75 - 93 * c, EXTRA - 93 * c], abs=1e-9)


# --- pumps that run on behind it ------------------------------------------------------------------------------------

def test_a_slug_that_the_pumps_hold_up_falls_when_they_stop() -> None:
    """Chased for 3 min, 21.4 bbl; slug and chase are 51.4 of the 159.8 bbl in 9000 ft: it is all in the pipe."""
    books = told(slug(), entry("pumps", 12, state="off"))
    assert term(books, "bore", 9, 12, 17, 22) == pytest.approx([0, 0, 3.75, EXTRA])
    assert not slug_codes(books)


def test_a_slug_chased_out_of_the_pipe_does_not_fall() -> None:
    """30 bbl and 21 min at 7.1429 are 180 of 159.8 bbl. An inflow booked and not happening hides as much kick."""
    books = told(slug(), entry("pumps", 30, state="off"))
    assert term(books, "bore", 90) == pytest.approx([0])
    assert slug_codes(books) == {"slug_out"}


def test_a_change_of_rate_behind_it_counts_at_each_rate() -> None:
    """9 to 21 at 7.1429 and 21 to 33 at 3.5714: 128.57 bbl; with the slug 158.6 of 159.8. A minute more is out.

    As it falls its lower end leaves at the bit: of 9000 ft 7239.4 are mud behind it, and where 0.25·(1760.6 − L) = L,
    L = 352.1 ft stand empty, 6.254 bbl.
    """
    def until(minute: float) -> Any:
        return told(slug(), entry("pumps", 21, state="on", flow=150), entry("pumps", minute, state="off"))
    assert term(until(33), "bore", 90) == pytest.approx([6.2537], abs=1e-4)
    assert term(until(34), "bore", 90) == pytest.approx([0])


def test_a_chase_that_cannot_be_told_books_nothing_and_says_so() -> None:
    unknown_flow = booked(entry("pumps", -60, state="on"), DEPTH, START, zero(), slug(), entry("pumps", 12, state="off"))
    unknown_bit = booked(PUMPING, START, zero(), slug(), entry("pumps", 12, state="off"))
    for books in (unknown_flow, unknown_bit):
        assert term(books, "bore", 90) == pytest.approx([0])
        assert "slug_out" in codes(books)


def test_a_slug_bigger_than_the_pipe_is_not_booked_as_if_it_were_in_it() -> None:
    """30 bbl in 1000 ft of 0.01776: 17.8 bbl."""
    books = booked(PUMPING, entry("depth", -1, hole=9000, bit=1000), START, zero(), slug(), OFF)
    assert term(books, "bore", 60) == pytest.approx([0])
    assert "slug_out" in codes(books)


def test_two_slugs_each_fall_in_their_time() -> None:
    """The second, 20 bbl of the same, lifts out 5 bbl over 5 min from 40; at 40 the pumps had taken back the first."""
    books = told(slug(), OFF, entry("pumps", 30, state="on", flow=300), slug(35, 40, volume=20, return_=5),
                 entry("pumps", 40, state="off"))
    assert term(books, "bore", 20, 39, 42, 45, 90) == pytest.approx([EXTRA, 0, 2, 5, 5], abs=1e-4)


# --- zeros ----------------------------------------------------------------------------------------------------------

def test_what_is_left_of_a_fall_counts_on_after_a_zero() -> None:
    """Zero at 12 on a round at 12: 2.25 of 7.5 bbl are in its dips, 5.25 still come."""
    books = told(slug(), OFF, dips(12, Settling=60, Suction=60), zero(12))
    assert term(books, "bore", 12, 14, 19, 60) == pytest.approx([0, 1.5, 5.25, 5.25])
    assert slug_codes(books) == {"zero_dry_bore"}


def test_a_slug_held_up_over_a_zero_falls_after_it() -> None:
    books = told(slug(), dips(10, Settling=60, Suction=60), zero(10), entry("pumps", 12, state="off"))
    assert term(books, "bore", 12, 17, 22) == pytest.approx([0, 3.75, EXTRA])
    assert not slug_codes(books)


def test_a_slug_that_fell_before_the_first_zero_moves_nothing_after_it() -> None:
    books = booked(PUMPING, DEPTH, slug(-50, -46), entry("pumps", -46, state="off"), START, zero())
    assert term(books, "bore", 0, 60) == pytest.approx([0, 0])
    assert term(books, "pills", 60) == pytest.approx([0])


# --- no pipe --------------------------------------------------------------------------------------------------------

def test_where_the_rig_describes_no_pipe_it_is_a_plain_ramp_and_says_so() -> None:
    bare = RIG[:RIG.index("[pipe]")] + RIG[RIG.index("[drain_back]"):]
    books = told(slug(), OFF, entry("pumps", 30, state="on", flow=300), rig=bare)
    assert term(books, "bore", 9, 14, 19, 90) == pytest.approx([0, 3.75, EXTRA, EXTRA])
    assert slug_codes(books) == {"slug_no_pipe"}


# --- the other side -------------------------------------------------------------------------------------------------

def walked(events: list[tuple[float, str, float]], until: float) -> float:
    """What the bore gave back of slugs and pumps [bbl], a second at a time: no ramps, no closed form."""
    on, dry, total, chased, pipe = True, 0.0, 0.0, 0.0, 9000 * c
    held: list[list[float]] = []
    falls: list[list[float]] = []
    todo = sorted(events)
    for second in range(round(until * 60)):
        while todo and todo[0][0] * 60 <= second:
            _, what, value = todo.pop(0)
            if what == "on":
                on, falls = True, []
            elif what == "off":
                on = False
                whole = [(x, chased - start) for x, start in held if 30 + chased - start <= pipe]
                # Where its lower end leaves at the bit as it falls: 0.25·(pipe − behind − E) = E.
                left = [x if x + behind + 30 <= pipe else 0.2 * (pipe - behind) for x, behind in whole]
                falls += [[x, x / 600] for x in left]
                held = []
            elif on:
                held.append([value, chased])
            else:
                falls.append([value, value / 600])
        if on:
            took = min(dry, BPM / 60)
            dry, total, chased = dry - took, total - took, chased + BPM / 60
        for f in falls:
            step = min(f)
            f[0] -= step
            dry, total = dry + step, total + step
    return total


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6))
def test_slugs_and_pumps_agree_with_a_walk_second_by_second(seed: int) -> None:
    rng = random.Random(seed)
    events: list[tuple[float, str, float]] = []
    drafts: list[Draft] = []
    m, on = 1.0, True
    for _ in range(rng.randint(2, 9)):
        m += rng.randint(1, 14)
        if rng.random() < 0.4:
            events.append((m, "slug", 7.5))
            drafts.append(slug(m - 1, m))
        else:
            on = not on
            events.append((m, "on" if on else "off", 0.0))
            drafts.append(entry("pumps", m, state="on" if on else "off", **({"flow": 300} if on else {})))
    books = told(*drafts)
    for at in (m, m + 3, m + 40):
        # a second of the pumps is 0.12 bbl
        assert term(books, "bore", at)[0] == pytest.approx(walked(events, at), abs=0.13)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6))
def test_the_expected_never_steps_where_everything_has_a_duration(seed: int) -> None:
    """In a second a slug pumped in a minute moves 0.5 bbl, the lines 20/40 = 0.5, the pumps 0.12, eight falls 0.1."""
    rng = random.Random(seed)
    drafts: list[Draft] = []
    m, on = 2.0, True
    for _ in range(rng.randint(2, 8)):
        m += rng.randint(1, 14)
        if rng.random() < 0.5:
            drafts.append(slug(m - 1, m))
        else:
            on = not on
            drafts.append(entry("pumps", m, state="on" if on else "off", **({"flow": 300} if on else {})))
    t = np.arange(0, round((m + 30) * 60_000), 1000)
    expected = np.array(in_bbl(balance.at(told(*drafts), t).expected_m3))
    assert np.abs(np.diff(expected)).max() < 1.25


def test_pumps_on_for_good_leave_nothing_of_any_slug() -> None:
    rng = random.Random(7)
    for _ in range(30):
        m, drafts = 2.0, []
        for _ in range(rng.randint(1, 6)):
            m += rng.randint(1, 20)
            drafts += [slug(m - 1, m, volume=rng.randint(5, 40)), entry("pumps", m + rng.randint(0, 3), state="off"),
                       entry("pumps", m + rng.randint(4, 20), state="on", flow=300)]
        drafts.append(entry("pumps", m + 60, state="on", flow=300))
        assert term(told(*drafts), "bore", m + 90) == pytest.approx([0], abs=1e-6)
