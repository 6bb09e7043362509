"""Which span is reviewed: a tour, a day, a trip, a section of the hole, or any from and to; and the one beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta

from dipbook.errors import DipbookError
from dipbook.exchange.times import dated, zone_info
from dipbook.reports import SECTION, TRIP, Span, Stretch, said, tour_at
from dipbook.rig.model import Rig
from dipbook_app.display import HOUR_MS
from dipbook_app.typed_times import read_time

TOUR, DAY, ANY = "tour", "day", "any"
KINDS = {TOUR: "Tours", DAY: "Days", TRIP: "Trips", SECTION: "Sections"}
"""Kind of span -> what the key that turns to it is called."""
LAST_MS = 12 * HOUR_MS
"""What is reviewed where the rig has no tours."""
LEAST_MS = 10 * 60_000
"""A span is not made shorter than this by the brush."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """What is chosen. kind: of KINDS, or ANY. from_ms; to_ms: of all of it [UTC ms]. name: of the tour,
    ``2026-03-14D``, of the day, the trip or the section, "" for any."""

    kind: str
    from_ms: int
    to_ms: int
    name: str = ""

    def until(self, now_ms: int) -> Span:
        """The span that the report is of: of what is under way only what has been. now_ms: [UTC ms]."""
        if self.from_ms < now_ms < self.to_ms:
            return Span(self.from_ms, now_ms)
        return Span(self.from_ms, self.to_ms, self.name if self.kind == TOUR else "")

    def words(self, now_ms: int, zone: str) -> str:
        """As the page says it. now_ms: [UTC ms]. zone: IANA name."""
        so_far = ", so far" if self.from_ms < now_ms < self.to_ms else ""
        what = {TOUR: f"Tour {self.name}: ", DAY: f"Day {self.name}: ", TRIP: f"{self.name}: ",
                SECTION: f"Section {self.name}: "}.get(self.kind, "")
        return f"{what}{said(self.until(now_ms), zone)}{so_far}"


def at(rig: Rig, t_ms: int, kind: str) -> Chosen:
    """The tour or day at a time; where the rig has no tours the hours up to it. rig; t_ms: [UTC ms]. kind."""
    if kind == DAY:
        return _day(rig, datetime.fromtimestamp(t_ms / 1000, UTC).astimezone(zone_info(rig.zone)).date())
    found = tour_at(rig, t_ms) if kind == TOUR else None
    if found is None:
        return Chosen(ANY, t_ms - LAST_MS, t_ms)
    return Chosen(TOUR, found.from_ms, found.to_ms, found.tour)


def beside(rig: Rig, chosen: Chosen, way: int) -> Chosen:
    """The one before (way −1) or after (1): the tour, the day, or as long a span. rig: with its tours."""
    if chosen.kind == ANY:
        return moved(chosen, way * (chosen.to_ms - chosen.from_ms))
    return at(rig, chosen.from_ms - 1 if way < 0 else chosen.to_ms, chosen.kind)


def of_stretch(stretch: Stretch) -> Chosen:
    """A trip or a section. stretch: it."""
    return Chosen(stretch.kind, stretch.span.from_ms, stretch.span.to_ms, stretch.label)


def near(found: Sequence[Stretch], t_ms: int) -> Chosen:
    """Of trips or sections the one that a time is in, or the last before it, or the first. found: at least one, by
    time. t_ms: [UTC ms]."""
    return of_stretch(next((x for x in reversed(found) if x.span.from_ms < t_ms), found[0]))


def next_to(found: Sequence[Stretch], chosen: Chosen, way: int) -> Chosen | None:
    """Of trips or sections the one before (way −1) or after (1), None where there is none. found: all, by time."""
    begun = [x.span.from_ms for x in found]
    place = sum(t <= chosen.from_ms for t in begun) - 1 + way
    return of_stretch(found[place]) if 0 <= place < len(found) else None


def moved(chosen: Chosen, by_ms: int) -> Chosen:
    """The same length of time elsewhere. by_ms: later [ms]."""
    return replace(chosen, kind=ANY, name="", from_ms=chosen.from_ms + by_ms, to_ms=chosen.to_ms + by_ms)


def resized(chosen: Chosen, share: float) -> Chosen:
    """Around the same middle, so many times as long. share: [-]."""
    middle, half = (chosen.from_ms + chosen.to_ms) // 2, (chosen.to_ms - chosen.from_ms) * share / 2
    half = max(half, LEAST_MS / 2)
    return Chosen(ANY, round(middle - half), round(middle + half))


def typed(from_: str, to: str, zone: str, now_ms: int) -> Chosen:
    """What is typed. from_, to: times as on every form; a blank end is now. zone: the rig's. now_ms: [UTC ms]. Raises
    DipbookError, with the remedy."""
    a = read_time(from_, zone, now_ms)
    b = read_time(to, zone, now_ms) if to.strip() else now_ms
    if b <= a:
        raise DipbookError(f"The span has to end after it begins: it would begin {dated(a, zone)} and end "
                           f"{dated(b, zone)}.")
    return Chosen(ANY, a, b)


def _day(rig: Rig, day: date) -> Chosen:
    """From midnight to midnight of the rig's clock: 23 or 25 hours where the clocks are changed."""
    zone = zone_info(rig.zone)
    a, b = (round(datetime(d.year, d.month, d.day, tzinfo=zone).timestamp() * 1000)
            for d in (day, day + timedelta(days=1)))
    return Chosen(DAY, a, b, day.isoformat())


def as_typed(t_ms: int, zone: str) -> str:
    """A time as it would be typed, with its offset where the clock shows it twice. t_ms: [UTC ms]. zone: the rig's."""
    local = datetime.fromtimestamp(t_ms / 1000, UTC).astimezone(zone_info(zone))
    text = f"{local:%Y-%m-%d %H:%M}"
    other = local.replace(fold=1 - local.fold)
    twice = other.utcoffset() != local.utcoffset() and other.astimezone(UTC).astimezone(local.tzinfo) == other
    if not twice:
        return text
    offset = local.strftime("%z")
    return f"{text}{offset[:3]}:{offset[3:]}"
