"""The transfer hint: offered where two tanks move against each other, silent where a transfer is logged."""

from __future__ import annotations

import pytest

from dipbook import balance, hints
from ledgers import BBL, booked, dips, entry, minutes

INCH = 240 / 12 * 1728 / 9702
START = dips(0, Settling=60, Suction=60, Reserve=50)
LATER = dips(15, Settling=60, Suction=65.64, Reserve=44.5)


def test_a_reserve_that_fell_as_the_active_rose_is_offered_as_a_transfer() -> None:
    (hint,) = hints.transfers(booked(START, LATER))
    assert (hint.source, hint.target) == ("Reserve", "Suction")
    assert hint.fell_m3 / BBL == pytest.approx(5.5 * INCH)
    assert hint.rose_m3 / BBL == pytest.approx(5.64 * INCH)
    assert (hint.from_ms, hint.to_ms) == (0, minutes(15)[0])


def test_a_hint_changes_nothing_in_the_books() -> None:
    books = booked(START, LATER)
    before = balance.at(books, minutes(15)).difference_m3[0]
    hints.transfers(books)
    assert balance.at(books, minutes(15)).difference_m3[0] == before
    assert before / BBL == pytest.approx(5.64 * INCH)


def test_a_logged_transfer_gives_no_hint() -> None:
    books = booked(START, entry("transfer", 2, 10, from_="Reserve", to="Suction", volume=5.5 * INCH), LATER)
    assert hints.transfers(books) == ()


def test_a_move_inside_the_active_system_gives_no_hint() -> None:
    assert hints.transfers(booked(START, dips(15, Settling=55, Suction=65))) == ()


def test_changes_that_the_stick_cannot_resolve_give_no_hint() -> None:
    books = booked(START, dips(15, Settling=60, Suction=60.5, Reserve=49.5))
    assert hints.transfers(books) == ()


def test_the_well_may_take_mud_meanwhile_and_the_hint_still_fits() -> None:
    """Suction rises 3 in while 2 in went down the new hole (logged as a discard): the active gained 5 in unexplained."""
    books = booked(START, entry("discard", 5, from_="Settling", volume=2 * INCH), dips(15, Settling=58, Suction=65, Reserve=45.2))
    (hint,) = hints.transfers(books)
    assert (hint.source, hint.target) == ("Reserve", "Suction")
    assert hint.rose_m3 / BBL == pytest.approx(5 * INCH)


def test_a_logged_transfer_that_the_source_did_not_make_is_a_finding_and_no_guess_of_another() -> None:
    """18 bbl logged out of Reserve, whose stick says 50 in before and after: the active reads 18 bbl of false loss."""
    books = booked(START, entry("transfer", 5, 10, from_="Reserve", to="Suction", volume=18),
                   dips(15, Settling=60, Suction=60, Reserve=50))
    assert balance.at(books, minutes(15)).difference_m3[0] / BBL == pytest.approx(-18)
    (finding,) = hints.not_seen(books)
    assert (finding.code, finding.tank) == ("logged_not_seen", "Reserve")
    assert "18.0 bbl are logged out of Reserve, and its dips moved 0.0 bbl" in finding.what
    assert hints.transfers(books) == ()


def test_a_logged_transfer_that_the_dips_follow_is_no_finding() -> None:
    books = booked(START, entry("transfer", 5, 10, from_="Reserve", to="Suction", volume=18),
                   dips(15, Settling=60, Suction=60 + 18 / INCH, Reserve=50 - 18 / INCH))
    assert hints.not_seen(books) == ()
