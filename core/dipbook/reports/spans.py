"""The span that a report is of: a tour of the rig's own, or any from and to.

A span begins just after ``from_ms`` and ends with ``to_ms``, as the books count: what is logged for the very minute in
which the tours change belongs to the tour that ends, and a round that ends then is the one's last and the other's
first.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from dipbook.errors import QuantityError
from dipbook.exchange.times import FIRST_YEAR, LAST_YEAR, dated, offset_min, zone_info
from dipbook.rig.model import Rig, Tour

TOUR_FORM = "2026-03-14D: the date on which it begins, and its code"
_TOUR = re.compile(r"(\d{4})-(\d\d)-(\d\d)\s*([A-Za-z][A-Za-z0-9]{0,3})", re.ASCII)


@dataclass(frozen=True, slots=True)
class Span:
    """from_ms, to_ms: [UTC ms]; after the one, up to and with the other. tour: ``2026-03-14D``, "" for any span."""

    from_ms: int
    to_ms: int
    tour: str = ""

    @property
    def ms(self) -> int:
        """How long it is [ms]."""
        return self.to_ms - self.from_ms

    def holds(self, t_ms: int) -> bool:
        """True for a time within it. t_ms: [UTC ms]."""
        return self.from_ms < t_ms <= self.to_ms

    def two_offsets(self, zone: str) -> bool:
        """True if the rig's clocks are changed within it, so that a clock time alone may mean two. zone: IANA name."""
        return offset_min(self.from_ms, zone) != offset_min(self.to_ms, zone)


def between(from_ms: int, to_ms: int) -> Span:
    """Any span. from_ms, to_ms: [UTC ms]. Raises QuantityError unless it ends after it begins."""
    if to_ms <= from_ms:
        raise QuantityError("A report's span has to end after it begins.")
    return Span(from_ms, to_ms)


def tour(rigs: Sequence[tuple[int, Rig]], text: str) -> Span:
    """The span of a tour by the rig that was in force when it began.

    rigs: (in force from [UTC ms], rig), by time. text: ``2026-03-14D``. Raises QuantityError, with what to write, for a
    text that is none and for a code that the rig file doesn't have.
    """
    match = _TOUR.fullmatch(text.strip())
    if match is None:
        raise QuantityError(f"“{text.strip()}” isn't a tour: write it like {TOUR_FORM}.")
    day = _day(match, text)
    for n in range(len(rigs) - 1, -1, -1):
        since, rig = rigs[n]
        found = _span(rig, day, match[4])
        if found is not None and (n == 0 or since <= found.from_ms):
            return found
    known = ", ".join(f"{t.code} from {t.start_min // 60:02d}:{t.start_min % 60:02d}" for t in rigs[-1][1].tours)
    raise QuantityError(f"The rig file has no tour {match[4]}: " + (
        f"it has {known}." if known else "it has none at all. Give it [[tour]] tables with code and start, or ask for "
        "a span from and to."))


def tour_at(rig: Rig, t_ms: int) -> Span | None:
    """The tour under way at a time; None where the rig has no tours. rig: with its tours. t_ms: [UTC ms]."""
    here = datetime.fromtimestamp(t_ms / 1000, zone_info(rig.zone)).date()
    for day in (here, here - timedelta(days=1)):
        for each in reversed(rig.tours):
            found = _span(rig, day, each.code)
            if found is not None and found.from_ms <= t_ms < found.to_ms:
                return found
    return None


def said(span: Span, zone: str) -> str:
    """``2026-03-14 06:00 to 18:00``, with the offsets where the clocks are changed. span; zone: IANA name."""
    a, b = dated(span.from_ms, zone), dated(span.to_ms, zone)
    if span.two_offsets(zone):
        return f"{a} {offset(span.from_ms, zone)} to {b} {offset(span.to_ms, zone)}"
    return f"{a} to {b[11:] if a[:10] == b[:10] else b}"


def offset(t_ms: int, zone: str) -> str:
    """``−06:00``: the rig's offset at a time. t_ms: [UTC ms]. zone: IANA name."""
    minutes = offset_min(t_ms, zone)
    return f"{'−' if minutes < 0 else '+'}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"


def _span(rig: Rig, day: date, code: str) -> Span | None:
    """A tour from when it begins on a date until the next one begins."""
    place = next((n for n, t in enumerate(rig.tours) if t.code.casefold() == code.casefold()), None)
    if place is None:
        return None
    this = rig.tours[place]
    last = place + 1 == len(rig.tours)
    following: Tour = rig.tours[0] if last else rig.tours[place + 1]
    return Span(_instant(day, this.start_min, rig.zone),
                _instant(day + timedelta(days=1) if last else day, following.start_min, rig.zone),
                f"{day.isoformat()}{this.code}")


def _instant(day: date, minute: int, zone: str) -> int:
    """A wall time [UTC ms]: of one that happened twice the first, of one that never was as much later."""
    wall = datetime(day.year, day.month, day.day, minute // 60, minute % 60, tzinfo=zone_info(zone))
    return round(wall.timestamp() * 1000)


def _day(match: re.Match[str], text: str) -> date:
    try:
        found = date(int(match[1]), int(match[2]), int(match[3]))
    except ValueError:
        raise QuantityError(f"“{text.strip()}” has a date that never was.") from None
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise QuantityError(f"The year of “{text.strip()}” can't be right.")
    return found
