"""The watch: limits held against what becomes known, in the order in which it becomes known.

    Watch, transitions = step(watch, Learned | Advance | Act | LimitsChanged | Doing | Unwatched | WatchedAgain)

Warnings are the only thing with memory. Nothing raised is back-dated, deleted or sounded twice.
"""

from dipbook.alarms.step import RefusedError
from dipbook.watch.engine import run, step
from dipbook.watch.events import (
    Act,
    Advance,
    Doing,
    Event,
    Learned,
    LimitsChanged,
    Unwatched,
    WatchedAgain,
)
from dipbook.watch.evidence import (
    FLOW_BACK,
    SYSTEMS,
    Drift,
    Evidence,
    FlowBack,
    Suspects,
    channel_of,
    drift_of,
)
from dipbook.watch.resume import resume
from dipbook.watch.state import (
    SILENCE_MS,
    Slot,
    Watch,
    activity_now,
    applies,
    in_force,
    interval_ms,
    next_deadline,
    not_watched,
    overdue_base,
    silent,
    sounding,
    start,
)
from dipbook.watch.transitions import ENGINE, SI, Transition, from_payload, words

__all__ = [
    "ENGINE",
    "FLOW_BACK",
    "SI",
    "SILENCE_MS",
    "SYSTEMS",
    "Act",
    "Advance",
    "Doing",
    "Drift",
    "Event",
    "Evidence",
    "FlowBack",
    "Learned",
    "LimitsChanged",
    "RefusedError",
    "Slot",
    "Suspects",
    "Transition",
    "Unwatched",
    "Watch",
    "WatchedAgain",
    "activity_now",
    "applies",
    "channel_of",
    "drift_of",
    "from_payload",
    "in_force",
    "interval_ms",
    "next_deadline",
    "not_watched",
    "overdue_base",
    "resume",
    "run",
    "silent",
    "sounding",
    "start",
    "step",
    "words",
]
