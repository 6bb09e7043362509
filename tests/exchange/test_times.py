"""Times in files and forms. Expected values: by hand from RFC 3339 and the IANA rules for America/Chicago."""

from __future__ import annotations

import os
import time
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dipbook.errors import QuantityError
from dipbook.exchange import times

CHICAGO = "America/Chicago"
RIG = "Etc/GMT+6"
MARCH_1 = int(datetime(2026, 3, 1, 8, 15, tzinfo=UTC).timestamp()) * 1000


@pytest.mark.parametrize("text", [
    "2026-03-01T08:15:00Z", "2026-03-01T08:15Z", "2026-03-01t08:15:00z", "2026-03-01T02:15:00-06:00",
    "2026-03-01 02:15 -06:00", "2026-03-01 02:15", "2026-03-01 02:15:00", " 2026-03-01T02:15:00.000 ",
    "2026-03-01T08:15:00-00:00", "2026-03-01T13:45:00+05:30"])
def test_one_instant_has_many_spellings(text: str) -> None:
    assert times.parse(text, RIG) == MARCH_1
    assert times.parse_all([text], RIG)[0].tolist() == [MARCH_1]


def test_fractions_are_rounded_to_the_millisecond() -> None:
    assert times.parse("2026-03-01T08:15:00.2506Z", None) == MARCH_1 + 251
    assert times.parse("2026-03-01T08:15:00.25Z", None) == MARCH_1 + 250


def test_a_leap_second_is_the_next_second() -> None:
    assert times.parse("2016-12-31T23:59:60Z", None) == times.parse("2017-01-01T00:00:00Z", None)


@pytest.mark.parametrize("text", [
    "", "noon", "2026-3-1 02:15", "01/03/2026 02:15", "2026-02-30 02:15", "2026-03-01 24:00", "2026-03-01 02:60",
    "2026-03-01T02:15:00-0600", "2026-03-01T02:15:00-25:00", "0226-03-01 02:15", "2026-03-01", "1772352900",
    "２０２６-03-01 02:15", "2026-03-01T02:15:00,5Z"])
def test_what_is_no_time_is_refused(text: str) -> None:
    with pytest.raises(QuantityError):
        times.parse(text, RIG)
    assert [i for i, _ in times.parse_all([text], RIG)[1]] == [0]


def test_a_local_time_without_a_zone_is_refused() -> None:
    with pytest.raises(QuantityError, match="no offset"):
        times.parse("2026-03-01 02:15", None)


def test_an_unknown_zone_is_named() -> None:
    with pytest.raises(QuantityError, match="Mars/Base"):
        times.parse("2026-03-01 02:15", "Mars/Base")


def test_a_local_time_that_came_twice_is_refused_and_taken_with_its_offset() -> None:
    # America/Chicago: clocks set back on 1 November 2026 at 02:00 to 01:00.
    for text in ("2026-11-01 01:00", "2026-11-01 01:59:59.999"):
        with pytest.raises(QuantityError, match=r"happened twice.*-05:00 or -06:00"):
            times.parse(text, CHICAGO)
    first = times.parse("2026-11-01 01:30-05:00", CHICAGO)
    assert times.parse("2026-11-01 01:30-06:00", CHICAGO) - first == 3_600_000
    assert times.parse("2026-11-01 02:00", CHICAGO) == times.parse("2026-11-01T08:00:00Z", None)
    assert times.parse("2026-11-01 00:59", CHICAGO) == times.parse("2026-11-01T05:59:00Z", None)


def test_a_local_time_that_never_was_is_refused() -> None:
    # America/Chicago: clocks set forward on 8 March 2026 at 02:00 to 03:00.
    for text in ("2026-03-08 02:00", "2026-03-08 02:59"):
        with pytest.raises(QuantityError, match="never was"):
            times.parse(text, CHICAGO)
    assert times.parse("2026-03-08 03:00", CHICAGO) == times.parse("2026-03-08T08:00:00Z", None)
    assert times.parse("2026-03-08 01:59", CHICAGO) == times.parse("2026-03-08T07:59:00Z", None)


def test_many_times_are_read_as_each_by_itself_over_a_change_of_the_clocks() -> None:
    for day, refused in (("2026-11-01", ("01:",)), ("2026-03-08", ("02:",))):
        texts = [f"{day} {hour:02d}:{minute:02d}" for hour in range(24) for minute in range(0, 60, 5)]
        t_ms, wrong = times.parse_all(texts, CHICAGO)
        bad = {i for i, _ in wrong}
        assert bad == {i for i, text in enumerate(texts) if text[11:].startswith(refused)}
        assert [t_ms[i] for i in range(len(texts)) if i not in bad] == [
            times.parse(text, CHICAGO) for i, text in enumerate(texts) if i not in bad]


def test_many_times_with_one_bad_among_them_name_it() -> None:
    texts = ["2026-03-01T00:00:00Z", "2026-02-29T00:00:00Z", "2026-03-01T00:00:02Z"]
    _, wrong = times.parse_all(texts, RIG)
    assert [i for i, _ in wrong] == [1]


@given(st.lists(st.integers(86_400_000, 4_000_000_000_000), min_size=1, max_size=20),
       st.sampled_from([CHICAGO, RIG, "Asia/Kolkata", "Australia/Lord_Howe", "UTC"]))
def test_written_times_read_back(instants: list[int], zone: str) -> None:
    written = [times.rfc3339(t) for t in instants]
    assert written == times.rfc3339_all(instants)
    assert times.parse_all(written, zone)[0].tolist() == instants
    assert [times.parse(text, zone) for text in written] == instants
    with_offset = [times.rig_time(t // 1000 * 1000, zone, seconds=True) for t in instants]
    assert [times.parse(text, None) for text in with_offset] == [t // 1000 * 1000 for t in instants]


@given(st.integers(86_400, 4_000_000_000), st.sampled_from([CHICAGO, "Australia/Lord_Howe", RIG]))
def test_local_times_read_back_or_are_refused_where_two_instants_share_them(second: int, zone: str) -> None:
    local = datetime.fromtimestamp(second, ZoneInfo(zone))
    text = local.strftime("%Y-%m-%d %H:%M:%S")
    other = local.replace(fold=1 - local.fold)
    if other.utcoffset() == local.utcoffset():
        assert times.parse(text, zone) == second * 1000
    else:
        with pytest.raises(QuantityError):
            times.parse(text, zone)


def test_a_clock_time_is_the_latest_that_is_not_well_ahead() -> None:
    now = times.parse("2026-03-02 00:10", RIG)
    assert times.at_clock("23:50", now, RIG) == times.parse("2026-03-01 23:50", RIG)
    assert times.at_clock("0:05", now, RIG) == times.parse("2026-03-02 00:05", RIG)
    assert times.at_clock("0005", now, RIG) == times.parse("2026-03-02 00:05", RIG)
    assert times.at_clock("00:10:30", now, RIG) == now + 30_000, "a little ahead: the caller refuses it"
    assert times.at_clock("08:00", times.parse("2026-03-02 23:00", RIG), RIG) == times.parse("2026-03-02 08:00", RIG)
    assert times.at_clock("2026-02-20 08:00", now, RIG) == times.parse("2026-02-20 08:00", RIG)


def test_a_clock_time_with_an_offset_may_fall_on_another_date_than_the_rigs() -> None:
    now = times.parse("2026-03-01 23:30", RIG)  # 05:30 UTC on the 2nd
    assert times.at_clock("05:20Z", now, RIG) == times.parse("2026-03-02T05:20:00Z", None)


def test_a_clock_time_that_came_twice_wants_its_offset() -> None:
    now = times.parse("2026-11-01 03:00", CHICAGO)
    with pytest.raises(QuantityError, match="twice"):
        times.at_clock("01:30", now, CHICAGO)
    assert times.at_clock("01:30-05:00", now, CHICAGO) == times.parse("2026-11-01T06:30:00Z", None)
    assert times.at_clock("00:30", now, CHICAGO) == times.parse("2026-11-01 00:30", CHICAGO)


@pytest.mark.parametrize("text", ["", "25:00", "02:60", "2", "215", "two", "02.15"])
def test_what_is_no_clock_time_is_refused(text: str) -> None:
    with pytest.raises(QuantityError):
        times.at_clock(text, MARCH_1, RIG)


def test_times_are_written_in_utc_and_in_rig_time() -> None:
    assert times.rfc3339(MARCH_1 + 7) == "2026-03-01T08:15:00.007Z"
    assert times.rig_time(MARCH_1, RIG) == "2026-03-01 02:15 -06:00"
    assert times.rig_time(MARCH_1, "Asia/Kolkata", seconds=True) == "2026-03-01 13:45:00 +05:30"
    assert times.clock(MARCH_1, RIG) == "02:15"
    assert times.offset_min(MARCH_1, RIG) == -360
    assert times.offset_min(MARCH_1, "Asia/Kolkata") == 330


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="the machine's zone can't be set from within")
def test_the_machines_zone_plays_no_part(monkeypatch: pytest.MonkeyPatch) -> None:
    before = os.environ.get("TZ")
    try:
        for zone in ("Pacific/Kiritimati", "America/St_Johns"):
            monkeypatch.setenv("TZ", zone)
            time.tzset()
            assert times.parse("2026-03-01 02:15", RIG) == MARCH_1
            assert times.parse_all(["2026-03-01 02:15"], RIG)[0].tolist() == [MARCH_1]
            assert times.clock(MARCH_1, RIG) == "02:15"
    finally:
        monkeypatch.undo()
        assert os.environ.get("TZ") == before
        time.tzset()
