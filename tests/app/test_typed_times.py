"""Times as they are typed on a form. Expected values worked out by hand from the calendar and the zones' rules."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from dipbook.errors import EntryError
from dipbook_app.typed_times import clock, read_time

ZONE = "Etc/GMT+6"


def ms(text: str) -> int:
    return round(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp() * 1000)


NOW = ms("2026-03-01T08:15:40")  # 02:15:40 on the rig


@pytest.mark.parametrize(("text", "utc"), [
    ("02:15", "2026-03-01T08:15:00"), ("0215", "2026-03-01T08:15:00"), ("2:15", "2026-03-01T08:15:00"),
    ("02.15", "2026-03-01T08:15:00"), (" 02:10:30 ", "2026-03-01T08:10:30"), ("00:05", "2026-03-01T06:05:00"),
    ("23:50", "2026-03-01T05:50:00"), ("03:00", "2026-02-28T09:00:00"),
    ("2026-02-27 14:00", "2026-02-27T20:00:00"), ("2026-02-27T14:00Z", "2026-02-27T14:00:00"),
    ("2026-02-27 14:00 +01:00", "2026-02-27T13:00:00")])
def test_a_time_is_the_last_one_that_fits(text: str, utc: str) -> None:
    assert read_time(text, ZONE, NOW) == ms(utc)


def test_a_watch_up_to_a_minute_ahead_means_now() -> None:
    assert read_time("02:16", ZONE, NOW) == NOW


@pytest.mark.parametrize("text", ["02:20", "2:40", "2026-03-01 02:17", "2027-01-01 00:00"])
def test_a_time_still_to_come_is_refused(text: str) -> None:
    with pytest.raises(EntryError, match="still to come"):
        read_time(text, ZONE, NOW)


@pytest.mark.parametrize("text", ["24:00", "12:60", "noon", "12", "1:2", "02:15 PM", "2026-13-01 02:00", "٠٢:١٥x", "215"])
def test_what_is_no_time_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(EntryError, match="Type it like"):
        read_time(text, ZONE, NOW)


def test_nothing_is_no_time() -> None:
    with pytest.raises(EntryError, match="needed"):
        read_time("  ", ZONE, NOW)


def test_just_after_midnight_a_slip_ahead_is_not_yesterday() -> None:
    with pytest.raises(EntryError, match="still to come"):
        read_time("00:20", "UTC", ms("2026-03-01T23:55:00"))


def test_an_hour_that_came_twice_wants_the_offset() -> None:
    # Europe/Oslo left summer time on 2026-10-25 at 03:00 local: 02:30 was at 00:30 and at 01:30 UTC.
    now = ms("2026-10-25T10:00:00")
    with pytest.raises(EntryError, match=r"came twice.*2026-10-25 02:30\+02:00"):
        read_time("02:30", "Europe/Oslo", now)
    assert read_time("2026-10-25 02:30+02:00", "Europe/Oslo", now) == ms("2026-10-25T00:30:00")
    assert read_time("2026-10-25 02:30+01:00", "Europe/Oslo", now) == ms("2026-10-25T01:30:00")


def test_an_hour_that_never_came_is_refused() -> None:
    # Europe/Oslo went to summer time on 2026-03-29 at 02:00 local.
    with pytest.raises(EntryError, match="clocks went forward"):
        read_time("02:30", "Europe/Oslo", ms("2026-03-29T12:00:00"))


def test_a_time_is_written_with_its_day_when_that_is_not_today() -> None:
    assert clock(NOW, ZONE, now_ms=NOW) == "02:15"
    assert clock(ms("2026-02-28T20:00:00"), ZONE, now_ms=NOW) == "2026-02-28 14:00"
