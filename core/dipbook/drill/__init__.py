"""Training drills: a well of volumes that goes wrong on purpose, scenarios as files, and a score.

Everything in it is invented. It knows volumes and, as far as they need it, pressures of columns at rest: no drill of it
is a test of well control, and nothing in it says what to do on a real well.
"""

from dipbook.drill.record import Act, Entry, Reading, Sign, TripRow, Truth
from dipbook.drill.scenario import Scenario, drawn
from dipbook.drill.score import Score, Target, of_session
from dipbook.drill.session import Session
from dipbook.drill.setting_up import set_up

__all__ = ["Act", "Entry", "Reading", "Scenario", "Score", "Session", "Sign", "Target", "TripRow", "Truth",
           "drawn", "of_session", "set_up"]
