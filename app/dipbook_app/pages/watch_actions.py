"""What can be done from the Watch page: the big actions, which keep their places, and what comes and goes."""

from __future__ import annotations

from dipbook.situation import RunningEntry, Situation
from dipbook_app.closed_unmeasured import closed_ms
from dipbook_app.display import DisplayUnits
from dipbook_app.widgets.action_bar import Action

STOPS_SHOWN = 2


def actions(s: Situation) -> tuple[Action, ...]:
    """The big ones; what is pressed under stress comes first. Until the difference is zeroed that is offered in place
    of a transfer."""
    pumps = (Action("pumps off", "Pumps off", "F7", "Log the pumps off: opens the entry") if s.pumps_on
             else Action("pumps on", "Pumps on", "F7", "Log the pumps on: opens the entry"))
    return (Action("round", "New round", "F5", "Gauge the tanks"),
            Action("short round", "Short round", "Shift+F5", "Gauge the suction and trip tanks only"),
            Action("flow check", "Flow check", "Ctrl+F", "Watch the well with the pumps off, minute by minute"),
            pumps,
            Action("about to move mud", "About to move mud", "Ctrl+M", "Say it to the driller before a valve moves"),
            Action("zero", "Zero the difference", "Ctrl+0", "Start the books from the dips now") if s.zero_ms is None
            else Action("transfer", "Start transfer", "Ctrl+T", "Log a transfer as it starts"),
            Action("entry", "Log entry", "F6", "Log what explains a change"))


def passing(s: Situation, units: DisplayUnits) -> tuple[Action, ...]:
    """What there is to stop. units: the crew's."""
    found = []
    for k, running in enumerate(stops(s)):
        moved = "" if running.volume_m3 is None else f" {units.volume(running.volume_m3)}"
        closed = closed_ms(running, s) if running.rate_m3_s is None else None
        words = f"Stop {running.label}{moved}" if closed is None else f"Volume of {running.label}"
        tip = f"Stop {running.label}, running since {units.time(running.since_ms)}" if closed is None else \
            f"{running.label} stopped {units.time_near(closed, s.now_ms)}: nothing is booked until its volume is given"
        found.append(Action(f"stop:{running.uid}", words, f"Ctrl+Shift+{k + 1}", tip))
    return tuple(found)


def stops(s: Situation) -> tuple[RunningEntry, ...]:
    """What runs and has a button to stop it."""
    return tuple(r for r in s.running if r.kind in ("transfer", "discard"))[:STOPS_SHOWN]
