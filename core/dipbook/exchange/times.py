"""Times as people and files write them, to UTC milliseconds and back.

RFC 3339 with an offset, or a local time in the rig's zone. A local time that happened twice (clocks set back) or
never (clocks set forward) is refused: the offset has to be written with it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from dipbook.errors import QuantityError

FORM = "2026-03-01T02:15:00-06:00, or 2026-03-01 02:15 in the rig's zone"
"""What a time looks like, for messages."""

FIRST_YEAR, LAST_YEAR = 1970, 2199
"""Years outside are taken for slips of the key (our choice, no source)."""

HOUR_MS = 3_600_000
DAY_MS = 24 * HOUR_MS

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MS = timedelta(milliseconds=1)
_FULL = re.compile(
    r"(\d{4})-(\d\d)-(\d\d)[Tt ](\d\d):(\d\d)(?::(\d\d)(?:\.(\d+))?)?\s*([Zz]|[+-]\d\d:\d\d)?", re.ASCII)
_CLOCK = re.compile(
    r"(?:(\d{1,2}):(\d\d)(?::(\d\d))?|(\d\d)(\d\d))\s*([Zz]|[+-]\d\d:\d\d)?", re.ASCII)


def parse(text: str, zone: str | None) -> int:
    """Read one time.

    text: RFC 3339 (``T`` or a space, seconds and fraction may be left out), with an offset or ``Z``; without one it is
    local time in ``zone`` (IANA name; None: an offset is needed). Fractions are rounded to the millisecond.
    Returns UTC ms. Raises QuantityError for anything else, for an ambiguous local time and for one that never was.
    """
    match = _FULL.fullmatch(text.strip())
    if match is None:
        raise QuantityError(f"{text.strip()!r} is not a time: write it like {FORM}")
    year, month, day, hour, minute, second, fraction, offset = match.groups()
    ms = round(int(fraction[:6].ljust(6, "0")) / 1000) if fraction else 0
    if not FIRST_YEAR <= int(year) <= LAST_YEAR:
        raise QuantityError(f"the year {year} in {text.strip()!r} can't be right")
    return _instant(text.strip(), (int(year), int(month), int(day)),
                    (int(hour), int(minute), int(second or 0)), offset, zone) + ms


def parse_all(texts: Sequence[str], zone: str | None) -> tuple[Any, list[tuple[int, str]]]:
    """Read many times, fast where all are written alike.

    texts: as in ``parse``; zone: IANA name or None.
    Returns (t_ms int64 array, [(index, what is wrong), …]); a time that can't be read is 0 in the array.
    """
    fast = _alike(texts, zone)
    if fast is not None:
        return fast, []
    t_ms = np.zeros(len(texts), dtype=np.int64)
    wrong: list[tuple[int, str]] = []
    for i, text in enumerate(texts):
        try:
            t_ms[i] = parse(text, zone)
        except QuantityError as error:
            wrong.append((i, str(error)))
    return t_ms, wrong


def at_clock(text: str, near_ms: int, zone: str, *, ahead_ms: int = HOUR_MS) -> int:
    """Read a clock time as typed in a form, as the latest such time not later than ``near_ms + ahead_ms``.

    text: ``02:15``, ``2:15``, ``0215``, ``02:15:30``, with an offset if need be; or a full time as in ``parse``.
    near_ms: now, or the time of the row [UTC ms]. ahead_ms: how far in the future it may lie [ms], so that 02:20 typed
    at 02:15 is today's (the caller refuses a future time) and 23:50 typed at 00:10 is yesterday's.
    Returns UTC ms. Raises QuantityError as ``parse`` does.
    """
    text = text.strip()
    match = _CLOCK.fullmatch(text)
    if match is None:
        if _FULL.fullmatch(text):
            return parse(text, zone)
        raise QuantityError(f"{text!r} is not a time: write it like 02:15, or with the date, 2026-03-01 02:15")
    hour, minute, second, hour4, minute4, offset = match.groups()
    wall = (int(hour or hour4), int(minute or minute4), int(second or 0))
    if wall[0] > 23 or wall[1] > 59 or wall[2] > 59:
        raise QuantityError(f"{text!r} is not a time of day")
    latest = near_ms + ahead_ms
    latest_local = _local(latest, zone).replace(tzinfo=None)
    for back in range(-1 if offset else 0, 4):  # an offset may put its date a day off the rig's
        day = latest_local.date() - timedelta(days=back)
        if offset is None and datetime(day.year, day.month, day.day, *wall) > latest_local:
            continue
        t_ms = _instant(text, (day.year, day.month, day.day), wall, offset, zone)
        if t_ms <= latest:
            return t_ms
    raise QuantityError(f"{text!r} is not a time near here: write it with the date")


def rfc3339(t_ms: int) -> str:
    """``2026-03-01T08:15:00.000Z``. t_ms: a time [UTC ms]."""
    return (_EPOCH + int(t_ms) * _MS).strftime("%Y-%m-%dT%H:%M:%S.") + f"{int(t_ms) % 1000:03d}Z"


def rfc3339_all(t_ms: Any) -> list[str]:
    """``rfc3339`` of many times. t_ms: int64 array [UTC ms]."""
    stamps = np.datetime_as_string(np.asarray(t_ms, dtype=np.int64).astype("datetime64[ms]"), unit="ms")
    return [f"{stamp}Z" for stamp in stamps.tolist()]


def rig_time(t_ms: int, zone: str, *, seconds: bool = False) -> str:
    """``2026-03-01 02:15 -06:00``: rig time with its offset. t_ms [UTC ms]; zone: IANA name; seconds: with them."""
    local = _local(t_ms, zone)
    shift = offset_min(t_ms, zone)
    sign, shift = ("-", -shift) if shift < 0 else ("+", shift)
    form = "%Y-%m-%d %H:%M:%S" if seconds else "%Y-%m-%d %H:%M"
    return f"{local.strftime(form)} {sign}{shift // 60:02d}:{shift % 60:02d}"


def clock(t_ms: int, zone: str, *, seconds: bool = False) -> str:
    """``02:15`` in rig time. t_ms [UTC ms]; zone: IANA name; seconds: with them."""
    return _local(t_ms, zone).strftime("%H:%M:%S" if seconds else "%H:%M")


def dated(t_ms: int, zone: str) -> str:
    """``2026-01-07 02:15`` in rig time. t_ms [UTC ms]; zone: IANA name."""
    return _local(t_ms, zone).strftime("%Y-%m-%d %H:%M")


def offset_min(t_ms: int, zone: str) -> int:
    """The zone's offset from UTC in force at ``t_ms`` [UTC ms], in whole minutes (+ is east)."""
    shift = _local(t_ms, zone).utcoffset()
    return int(shift.total_seconds() // 60) if shift is not None else 0


@lru_cache(maxsize=16)
def zone_info(zone: str) -> ZoneInfo:
    """The zone called ``zone`` (IANA name). Raises QuantityError if there is none."""
    try:
        return ZoneInfo(zone)
    except (KeyError, ValueError, OSError):
        raise QuantityError(f"there is no time zone {zone!r}: use an IANA name such as Etc/GMT+6") from None


def _local(t_ms: int, zone: str) -> datetime:
    return (_EPOCH + int(t_ms) * _MS).astimezone(zone_info(zone))


def _instant(text: str, day: tuple[int, int, int], clock_time: tuple[int, int, int], offset: str | None,
             zone: str | None) -> int:
    """UTC ms of a date and a clock time. Raises QuantityError with ``text`` in its words."""
    hour, minute, second = clock_time
    leap = second == 60  # RFC 3339 allows it; it is the next second
    try:
        wall = datetime(*day, hour, minute, 59 if leap else second)
    except ValueError as error:
        raise QuantityError(f"{text!r} is not a time: {error}") from None
    ms = (wall - datetime(1970, 1, 1)) // _MS + (1000 if leap else 0)
    if offset is not None:
        return ms - offset_ms(text, offset)
    if zone is None:
        raise QuantityError(f"{text!r} has no offset and no zone is known: write it like {FORM}")
    first, second_time = _offsets(wall, zone)
    if first == second_time:
        return ms - first
    said = f"{_written(first)} or {_written(second_time)}"
    if first > second_time:
        raise QuantityError(f"{text!r} happened twice in {zone}, as the clocks were set back: "
                            f"add the offset, {said}")
    raise QuantityError(f"{text!r} never was in {zone}, as the clocks were set forward: "
                        f"add the offset that was meant, {said}")


def _offsets(wall: datetime, zone: str) -> tuple[int, int]:
    """Offsets [ms] that the zone gives a wall time, before and after a change of the clocks; equal away from one."""
    at = wall.replace(tzinfo=zone_info(zone))
    first, second = at.utcoffset(), at.replace(fold=1).utcoffset()
    assert first is not None
    assert second is not None
    return first // _MS, second // _MS


def offset_ms(text: str, offset: str) -> int:
    """An offset as written [ms]. text: the whole time, for the message; offset: ``Z`` or ``-06:00``.

    Raises QuantityError.
    """
    if offset in ("Z", "z"):
        return 0
    hours, minutes = int(offset[1:3]), int(offset[4:6])
    if hours > 23 or minutes > 59:
        raise QuantityError(f"{text!r} is not a time: {offset} is no offset")
    ms = (hours * 60 + minutes) * 60_000
    return -ms if offset[0] == "-" else ms


def _written(shift_ms: int) -> str:
    sign, minutes = ("-", -shift_ms // 60_000) if shift_ms < 0 else ("+", shift_ms // 60_000)
    return f"{sign}{minutes // 60:02d}:{minutes % 60:02d}"


# Digits of "0000-00-00T00:00:00.000" and what stands between them.
_PLACES = {16: "____-__-__ __:__", 19: "____-__-__ __:__:__", 23: "____-__-__ __:__:__.___"}
_QUARTER_MS = 900_000


def _alike(texts: Sequence[str], zone: str | None) -> Any:
    """UTC ms of texts all written in one way, or None where they aren't or one of them needs a closer look."""
    if not texts:
        return None
    suffix = suffix_of(texts[0])
    length = len(texts[0])
    if any(len(text) != length for text in texts):
        return None
    body = length - len(suffix)
    places = _PLACES.get(body)
    if places is None:
        return None
    codes = np.array(texts, dtype=f"U{length}").view(np.uint32).reshape(len(texts), length)
    digits = codes.astype(np.int64) - ord("0")
    for i, place in enumerate(places + suffix):
        column = codes[:, i]
        if i < body and place == "_":
            good = (digits[:, i] >= 0) & (digits[:, i] <= 9)
        elif i == 10:
            good = (column == ord("T")) | (column == ord(" "))
        else:
            good = column == ord(place)
        if not good.all():
            return None

    def number(start: int, count: int) -> Any:
        value = digits[:, start]
        for i in range(start + 1, start + count):
            value = value * 10 + digits[:, i]
        return value

    years, months, days = number(0, 4), number(5, 2), number(8, 2)
    hours, minutes = number(11, 2), number(14, 2)
    zero = np.zeros_like(hours)
    seconds = number(17, 2) if body >= 19 else zero
    millis = number(20, 3) if body == 23 else zero
    if (hours > 23).any() or (minutes > 59).any() or (seconds > 59).any():
        return None
    day_ms = _days(years, months, days)
    if day_ms is None:
        return None
    ms = day_ms + hours * HOUR_MS + minutes * 60_000 + seconds * 1000 + millis
    if suffix:
        try:
            return ms - offset_ms(texts[0], suffix)
        except QuantityError:
            return None
    return None if zone is None else to_utc(ms, zone)


def suffix_of(text: str) -> str:
    """The offset at the end of a time, "" where there is none. text: the time."""
    if text.endswith(("Z", "z")):
        return text[-1]
    return text[-6:] if len(text) > 16 and text[-6] in "+-" and text[-3] == ":" else ""


def _days(years: Any, months: Any, days: Any) -> Any:
    """Start of each day [ms since 1970], or None if one is no date."""
    key = (years * 100 + months) * 100 + days
    each, where = np.unique(key, return_inverse=True)
    starts = []
    for value in each.tolist():
        year, month, day = value // 10_000, value // 100 % 100, value % 100
        if not FIRST_YEAR <= year <= LAST_YEAR:
            return None
        try:
            starts.append((date(year, month, day) - date(1970, 1, 1)).days * DAY_MS)
        except ValueError:
            return None
    return np.array(starts, dtype=np.int64)[where]


def to_utc(local_ms: Any, zone: str) -> Any:
    """UTC ms of local times, or None if one is near enough to a change of the clocks to be looked at by itself.

    local_ms: int64 array [ms since 1970 on the wall]; zone: IANA name.
    """
    quarters, where = np.unique(local_ms // _QUARTER_MS, return_inverse=True)
    shifts = []
    for quarter in quarters.tolist():
        start = datetime(1970, 1, 1) + quarter * _QUARTER_MS * _MS
        found = {*_offsets(start, zone), *_offsets(start + (_QUARTER_MS - 1) * _MS, zone)}
        if len(found) != 1:
            return None
        shifts.append(found.pop())
    return local_ms - np.array(shifts, dtype=np.int64)[where]
