"""What came of a limit tried on quiet hours, in words. It shows; it advises nothing."""

from __future__ import annotations

from math import isnan

from dipbook.limits import Limit
from dipbook.tried import LEAST_HOURS, Tried
from dipbook_app.display import DisplayUnits


def tried_words(made: Tried, limit: Limit, rate: str, now_ms: int, units: DisplayUnits) -> str:
    """The whole, or what is known so far. made: of it. limit: that was tried. rate: of the gain put on top, as written;
    now_ms [UTC ms]; units: the crew's."""
    if not made.enough or made.from_ms is None or made.to_ms is None:
        return (f"Quiet hours in this log: {_number(made.quiet_h, units)}. It takes {LEAST_HOURS:g} to say "
                "what a limit costs.")
    span = f"{units.time_near(made.from_ms, now_ms)} to {units.time_near(made.to_ms, now_ms)}"
    count = "not once" if not made.warned else "once" if made.warned == 1 else f"{made.warned} times"
    said = [f"In {_number(made.quiet_h, units)} quiet hours ({span}) it would have warned {count}: "
            f"{_number(made.a_tour, units)} a tour ({_number(made.least, units)} to {_number(made.most, units)} with "
            "95 %)."]
    if made.tries:
        what = "loss" if limit.kind == "loss" else "gain"
        told = f"told at {units.volume(made.mean_m3)} in the mean, {units.volume(made.most_m3)} at most" if made.told \
            else "told in none"
        missed = "" if made.told == made.tries else f", and not at all in {made.tries - made.told}"
        said.append(f"A {what} of {rate} put on top is {told}{missed} ({made.tries} tries).")
    if not isnan(made.smallest_m3):
        said.append(f"From one reading to the next the gauges can't show less than {units.volume(made.smallest_m3)}.")
    return " ".join(said)


def _number(value: float, units: DisplayUnits) -> str:
    return f"{value:.0f}" if value >= 10 else f"{value:.1f}".replace(".", units.decimal)
