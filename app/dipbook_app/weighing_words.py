"""What weighing a limit on the log's quiet hours came to, in words."""

from __future__ import annotations

import math

from dipbook.quantities import from_unit
from dipbook.weighing import APART, EVENT, NOT_ACTIVE, PARTIAL, UNKNOWN, UNWATCHED, Caught, Quiet, Weighed
from dipbook_app.display import DisplayUnits, shown_unit
from dipbook_app.sentences import EXAMPLE_RATE

TIMES = (1.0, 5.0)
"""Tried are so many times the example rate of this crew's units."""
WAITS = "Weighing it on the quiet hours of this log …"
SHORT_WAITS = "Weighing it …"
WEIGHED_ABOVE = "Weighed: what it came to stands above."
NOT_WEIGHED_ABOVE = "Not weighed: why stands above."
"""Said by the keys, where one looks who has pressed one; the whole answer stands below the fields."""
RULED_OUT = {
    EVENT: "from 30 min before a warning, a shut-in or a flow check that wasn't static until the next zero",
    UNWATCHED: "in which nobody watched",
    APART: "between readings more than 1 h apart",
    UNKNOWN: "in which the difference wasn't known",
    PARTIAL: "in which it was known in part, with an active tank not gauged",
    NOT_ACTIVE: "in which its system wasn't watched"}
"""Why hours aren't quiet."""
LEFT_OUT = "Hours from 30 min before a warning, a shut-in or a flow check that wasn't static until the next zero are " \
           "left out, and false warnings in them aren't counted."


def rates_of(units: DisplayUnits) -> tuple[float, ...]:
    """The rates that are tried [m3/s]. units: of the crew."""
    q, symbol = EXAMPLE_RATE.get(units.volume_unit, (0.1, "m3/min"))
    return tuple(from_unit(q * times, symbol) for times in TIMES)


def weighed_words(made: Weighed, units: DisplayUnits) -> str:
    """The whole answer. made: by ``dipbook.weighing.weigh``; units: of the crew."""
    hours = _number(made.quiet.hours, 0 if made.quiet.hours >= 100 else 1, units)
    said: list[str] = []
    if made.cost is None:
        said.append(_too_few(made.quiet, made.needed_h, hours, units))
    else:
        cost, spans = made.cost, made.quiet.spans
        told = {0: "not once have warned", 1: "have warned once"}.get(cost.warnings,
                                                                      f"have warned {cost.warnings} times")
        said.append(f"In {hours} quiet hours ({_when(spans[0][0], units)} to {_when(spans[-1][1], units)}) it would "
                    f"{told}: about {_number(cost.a_tour, 1, units)} a tour of 12 h, between "
                    f"{_number(cost.least, 1, units)} and {_number(cost.most, 1, units)}.")
        said += [_caught(one, times, units) for one, times in zip(made.caught, TIMES, strict=False)]
        if math.isfinite(made.smallest_m3):
            said.append(f"The gauges can't show less than {units.volume(made.smallest_m3)}.")
    if made.quiet.events and made.cost is not None:
        said.append(LEFT_OUT)
    if made.from_ms is not None:
        said.append(f"Readings before {_when(made.from_ms, units)} weren't looked at.")
    return " ".join(said)


def _too_few(quiet: Quiet, needed_h: float, hours: str, units: DisplayUnits) -> str:
    """That too few hours are quiet, and why the others aren't: every hour of the log is in it once."""
    whole = quiet.hours + sum(quiet.ruled_out.values())
    if not whole:
        return f"Not weighed: this log has no two readings yet, and {needed_h:g} quiet hours are needed."
    said = [f"Not weighed: this log has {hours} quiet hours of {_hours(whole, units)}, and {needed_h:g} are "
            "needed."]
    if quiet.ruled_out:
        said.append("Not quiet: " + "; ".join(f"{_hours(h, units)} h {RULED_OUT[why]}"
                                              for why, h in quiet.ruled_out.items()) + ".")
    if quiet.unended:
        go = "goes" if quiet.unended == 1 else "go"
        said.append(f"Of the {quiet.events} such events {quiet.unended} {go} on: each ends with the next zero, a "
                    "warning not before it is closed.")
    return " ".join(said)


def _hours(hours: float, units: DisplayUnits) -> str:
    """Hours in words; what is there but rounds to none is said to be little."""
    return f"less than {_number(0.1, 1, units)}" if 0 < hours < 0.05 else _number(hours, 1, units)


def _caught(one: Caught, times: float, units: DisplayUnits) -> str:
    q, symbol = EXAMPLE_RATE.get(units.volume_unit, (0.1, "m3/min"))
    rate = f"{_number(q * times, 1, units) if q * times % 1 else format(q * times, 'g')} {shown_unit(symbol)}"
    what = f"A {'loss' if one.rate_m3_s < 0 else 'gain'} of {rate}"
    if not one.tries:
        also = ", or the limit was passed already" if one.standing else ""
        return f"{what} couldn't be tried: no quiet stretch is long enough{also}."
    within = units.volume(one.within_m3)
    if not one.told:
        return f"{what} would not have been told by {within} ({one.tries} tries)."
    tries = f"{one.tries} tries" if one.tries != 1 else "1 try"
    stood = f"; at {one.standing} more it was passed already" if one.standing else ""
    at = f"{units.volume(one.mean_m3)} in the mean, {units.volume(one.worst_m3)} at most"
    if one.missed:      # first, since the mean of the others alone would look better than it is
        return f"{what} would not have been told by {within} in {one.missed} of {tries}{stood}; in the others at {at}."
    return f"{what} would have been told at {at} ({tries}{stood})."


def _when(t_ms: int, units: DisplayUnits) -> str:
    local = units.local(t_ms)
    return f"{local.day} {local:%b %H:%M}"


def _number(value: float, digits: int, units: DisplayUnits) -> str:
    return f"{value:.{digits}f}".replace(".", units.decimal)
