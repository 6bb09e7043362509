"""Times as a person types them on a form: ``02:15``, ``0215`` or a date and a time, in the rig's zone."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from dipbook.errors import EntryError

AHEAD_MS = 60_000
"""A wristwatch up to a minute ahead of this clock is taken as now."""
LOOK_AHEAD_MS = 30 * 60_000
"""A clock time up to this far ahead is taken as a slip, not as yesterday's."""
FIRST_YEAR = 2000
"""A date before it is a slip of the finger."""

LONG_AGO_MS = 2 * 3_600_000
"""A clock time further back than this is said with its day and its age, so that a slip shows."""

_CLOCK = re.compile(r"(\d{1,2})[:.h](\d{2})(?:[:.](\d{2}))?|(\d{2})(\d{2})")
_DATED = re.compile(r"(\d{4}-\d{2}-\d{2})[ T]+(\S+?)\s*(Z|[+-]\d{2}:?\d{2})?", re.IGNORECASE)


def clock(t_ms: int, zone: str, *, now_ms: int | None = None) -> str:
    """``t_ms`` [UTC ms] as ``02:15`` in ``zone``, with the date before it when that isn't the date of ``now_ms``."""
    local = _local(t_ms, zone)
    if now_ms is not None and local.date() != _local(now_ms, zone).date():
        return local.strftime("%Y-%m-%d %H:%M")
    return local.strftime("%H:%M")


def far_words(t_ms: int, zone: str, now_ms: int) -> str:
    """``24 Nov 23:59, 10 h 41 min ago`` for a time of another day or more than two hours back; else "".

    t_ms: as a typed time was read; now_ms: the desk's clock [UTC ms]; zone: the rig's.
    """
    then, now = _local(t_ms, zone), _local(now_ms, zone)
    if then.date() == now.date() and now_ms - t_ms <= LONG_AGO_MS:
        return ""
    year = "" if then.year == now.year else f" {then.year}"
    return f"{then.day} {then:%b}{year} {then:%H:%M}, {span_words(now_ms - t_ms)} ago"


def span_words(span_ms: int) -> str:
    """``under 1 min``, ``41 min``, ``10 h 41 min`` or ``3 d 2 h``. span_ms: a length of time [ms]."""
    minutes = max(0, span_ms) // 60_000
    hours, days = minutes // 60, minutes // 1440
    if days >= 2:
        return f"{days} d {hours - 24 * days} h" if hours - 24 * days else f"{days} d"
    if hours:
        return f"{hours} h {minutes % 60} min" if minutes % 60 else f"{hours} h"
    return f"{minutes} min" if minutes else "under 1 min"


def read_time(text: str, zone: str, now_ms: int) -> int:
    """The time that ``text`` means [UTC ms].

    A clock time alone is the last such time. One up to half an hour ahead is taken as a slip and refused.
    zone: the rig's IANA zone; now_ms: the desk's clock [UTC ms].
    Raises EntryError with the remedy for a time that can't be read, is still to come, or came twice or never.
    """
    text = text.strip()
    if not text:
        raise EntryError("A time is needed, like 02:15.")
    dated = _DATED.fullmatch(text)
    if dated:
        day = _date(dated[1])
        t_ms = _instant(day, _clock_time(dated[2], text), zone, text, dated[3])
    else:
        at = _clock_time(text, text)
        day = _local(now_ms + LOOK_AHEAD_MS, zone).date()
        t_ms = _instant(day, at, zone, text, None)
        if t_ms > now_ms + LOOK_AHEAD_MS:
            t_ms = _instant(day - timedelta(days=1), at, zone, text, None)
    if t_ms > now_ms + AHEAD_MS:
        remedy = "" if dated else " For another day type the date too, like 2026-11-25 02:15."
        raise EntryError(f"{text} is still to come: it is {clock(now_ms, zone)} now.{remedy}")
    return min(t_ms, now_ms)


def _clock_time(text: str, whole: str) -> time:
    match = _CLOCK.fullmatch(text)
    if match:
        hour, minute = int(match[1] or match[4]), int(match[2] or match[5])
        second = int(match[3] or 0)
        if hour < 24 and minute < 60 and second < 60:
            return time(hour, minute, second)
    raise EntryError(f"“{whole}” is not a time. Type it like 02:15, or with the date: 2026-11-25 02:15.")


def _date(text: str) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise EntryError(f"“{text}” is not a date. Type it like 2026-11-25.") from None
    if day.year < FIRST_YEAR:
        raise EntryError(f"“{text}” is too long ago. Check the year.")
    return day


def _instant(day: date, at: time, zone: str, text: str, offset: str | None) -> int:
    if offset:
        return _ms(datetime.fromisoformat(f"{day.isoformat()}T{at.isoformat()}{offset.upper()}"))
    local = datetime.combine(day, at, ZoneInfo(zone))
    early, late = _ms(local.replace(fold=0)), _ms(local.replace(fold=1))
    if _local(early, zone).replace(tzinfo=None) != local.replace(tzinfo=None):
        raise EntryError(f"{text} did not happen on {day.isoformat()}: the clocks went forward. Check the time.")
    if early != late:
        shown = _local(early, zone)
        raise EntryError(f"{text} came twice on {day.isoformat()}: the clocks went back. "
                         f"Add the offset, like {shown.strftime('%Y-%m-%d %H:%M')}{_offset(shown)}.")
    return early


def _offset(local: datetime) -> str:
    text = local.strftime("%z")
    return f"{text[:3]}:{text[3:]}"


def _local(t_ms: int, zone: str) -> datetime:
    return datetime.fromtimestamp(t_ms / 1000, UTC).astimezone(ZoneInfo(zone))


def _ms(moment: datetime) -> int:
    return round(moment.timestamp() * 1000)
