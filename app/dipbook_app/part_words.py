"""A figure's parts in the crew's words and units: a row each, with value, unit, time and age together."""

from __future__ import annotations

from dataclasses import dataclass

from dipbook import parts as of
from dipbook.parts import Part, Parts
from dipbook_app.display import MINUTE_MS, DisplayUnits, shown_sticks, shown_words

FOOT_M = 0.3048
"""By definition."""
TIP = "What it rests on: click, or F1"
GOES_ON, SHOWS = "›", "Log"
SHORT = len("02:15")
"""A time that is longer, with its day, has its age below it."""
ADDED = {of.SUM: "Added up", of.SQUARES: "Root of the squares' sum"}


@dataclass(frozen=True, slots=True)
class Row:
    """what, value, when (time and age): as written. leads: GOES_ON, SHOWS or "". counts: it is one of those added."""

    what: str
    value: str
    when: str
    leads: str
    counts: bool


def rows(parts: Parts, units: DisplayUnits, now_ms: int) -> tuple[Row, ...]:
    """One row a part, and what they add up to. parts: of a figure. now_ms: the clock [UTC ms]."""
    found = [_row(part, parts, units, now_ms) for part in parts.parts]
    if parts.how in ADDED and sum(part.counts for part in parts.parts) > 1:
        found.append(Row(ADDED[parts.how], value(parts.sum, parts.dimension, units, fine=parts.fine), "", "", True))
    return tuple(found)


def _row(part: Part, parts: Parts, units: DisplayUnits, now_ms: int) -> Row:
    fine = parts.fine or parts.figure.name == "term"     # what an entry brought can be little beside the whole
    text = "" if part.dimension == of.WORDS else value(part.value, part.dimension, units, fine=fine)
    note = shown_sticks(shown_words(part.note))
    when = "" if part.t_ms is None else units.time_near(part.t_ms, now_ms)
    if part.t_ms is not None:
        when += (", " if len(when) <= SHORT else "\n") + units.span(max(now_ms - part.t_ms, 0))
    leads = GOES_ON if part.follow is not None else SHOWS if part.uid else ""
    return Row("\n".join(w for w in (shown_words(part.label), note) if w), text, when, leads,
               part.counts and parts.how in ADDED)


def value(x: float | None, dimension: str, units: DisplayUnits, *, fine: bool = False) -> str:
    """A value with its unit. x: SI. dimension: of dipbook.parts. fine: of the size of one stand."""
    if dimension == of.SIGNED:
        return units.stand_signed(x) if fine else units.signed_volume(x)
    if dimension == of.VOLUME:
        return units.stand_volume(x) if fine else units.volume(x)
    if dimension == of.U:
        said = units.stand_plus_minus(x) if fine else units.plus_minus(x)
        return said if x is None else f"{said} {units.volume_word}"
    if x is None:
        return units.volume(None)
    if dimension == of.HOURS:
        return units.span(round(x * 60) * MINUTE_MS)
    if dimension == of.COUNT:
        return f"{x:g}"
    if dimension == of.SHARE:
        return f"{x * 100:g} %".replace(".", units.decimal)
    if dimension == of.RATE:
        return f"{units.signed_volume(x * 3600.0)} an hour"
    if dimension == of.CAPACITY:
        foot = units.length_unit == "ft"
        per = units.quantity(x * (FOOT_M if foot else 1.0), "volume", "m3", digits=5)
        return f"{per} a {'foot' if foot else 'metre'}"
    if dimension == of.LEVEL:
        return units.level(x)
    return units.quantity(x, dimension, {"density": "kg/m3", "pressure": "kPa", "flow": "L/min"}.get(dimension, "m"))


def figure_words(parts: Parts, units: DisplayUnits) -> str:
    """The figure itself. parts: of it."""
    return value(parts.value, parts.dimension, units, fine=parts.fine)
