"""When a round was gauged: from and to, and a time per dip where one is typed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from dipbook.entries.dipping import spread
from dipbook.errors import DipbookError
from dipbook_app.door import too_long
from dipbook_app.typed_times import clock, far_words, read_time

MINUTE_HALF_MS = 30_000
"""Half-width of a time that was written in whole minutes."""


@dataclass(frozen=True, slots=True)
class RoundTimes:
    """The times of a round.

    start_ms, end_ms [UTC ms]; dips: tank -> (time, half-width) [ms]; errors: "from", "to" or a tank -> words.
    far: the same -> day and age of a time that is of another day or long ago.
    """

    start_ms: int
    end_ms: int
    dips: Mapping[str, tuple[int, int]] = field(default_factory=dict)
    errors: Mapping[str, str] = field(default_factory=dict)
    far: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Exact:
    """A time that was filled in: as long as its text stays, the exact time counts and not the whole minute."""

    text: str
    t_ms: int


def read_times(start: str, end: str, typed: Mapping[str, str], tanks: Sequence[str], *, zone: str, now_ms: int,
               exact: Exact, last_ms: int | None, exact_end: Exact | None = None, past: bool = False) -> RoundTimes:
    """Read the times of a round.

    start, end: as typed; a blank end is ``last_ms``, when the last dip was typed, or now. typed: tank -> time typed.
    tanks: those gauged, in gauging order; they share the span between start and end in that order.
    zone: the rig's; now_ms: the desk's clock [UTC ms]. exact, exact_end: the start and the end as they were filled in.
    past: the round is caught up from paper: it begins and ends at no time of its own, so both are wanted, or a time for
    each dip.
    """
    errors: dict[str, str] = {}
    start_ms = exact.t_ms
    if past and not (start and end):
        own = _own_times(typed, tanks, zone, now_ms)
        exact = Exact(start, min(own)) if own and not start else Exact("", 0)
        start_ms = exact.t_ms
        for name, text, which in (("from", start, "first"), ("to", end, "last")):
            if not text and not own:
                errors[name] = (f"When was the {which} tank gauged? Type the true time, like 23:30, with the date if "
                                "it was another day.")
    if start != exact.text and "from" not in errors:
        try:
            start_ms = read_time(start, zone, now_ms)
        except DipbookError as error:
            errors["from"] = str(error)
    end_ms = max(start_ms if past else last_ms or now_ms, start_ms)
    if exact_end is not None and end == exact_end.text:
        end_ms = exact_end.t_ms if exact_end.t_ms >= start_ms or "from" in errors else end_ms
    elif end:
        try:
            end_ms = read_time(end, zone, now_ms)
            if end_ms < start_ms and clock(start_ms, zone) == clock(end_ms, zone):
                end_ms = start_ms
        except DipbookError as error:
            errors["to"] = str(error)
    if not errors and end_ms < start_ms:
        errors["to"] = "The end is before the start. Check both times."
        end_ms = start_ms
    dips = dict(zip(tanks, spread(len(tanks), start_ms, end_ms), strict=True))
    if past:
        dips = {tank: (t_ms, max(half_ms, MINUTE_HALF_MS)) for tank, (t_ms, half_ms) in dips.items()}
    for tank in tanks:
        if typed.get(tank):
            try:
                dips[tank] = (read_time(typed[tank], zone, now_ms), MINUTE_HALF_MS)
            except DipbookError as error:
                errors[tank] = str(error)
    given_from, given_to = start_ms, end_ms
    own = [dips[tank][0] for tank in tanks if typed.get(tank)]
    if own and not errors:
        start_ms, end_ms = min(start_ms, *own), max(end_ms, *own)
    far = {name: said for name, said in (
        *((name, far_words(t_ms, zone, now_ms)) for name, given, t_ms in (
            ("from", start, given_from), ("to", end, given_to)) if given and name not in errors),
        *((tank, far_words(dips[tank][0], zone, now_ms)) for tank in tanks
          if typed.get(tank) and tank not in errors)) if said}
    untouched = exact_end is not None and start == exact.text and end == exact_end.text and not own
    if not errors and not untouched and (lasted := too_long(start_ms, end_ms)):
        errors["from"] = lasted
    return RoundTimes(start_ms, end_ms, dips, errors, far)


def _own_times(typed: Mapping[str, str], tanks: Sequence[str], zone: str, now_ms: int) -> list[int]:
    """The times of the dips [UTC ms] if every one has its own that can be read, else none."""
    try:
        return [read_time(typed.get(tank, ""), zone, now_ms) for tank in tanks]
    except DipbookError:
        return []
