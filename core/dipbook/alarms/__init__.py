"""The lifecycle of one warning: a table of data and a pure step."""

from dipbook.alarms.step import AlarmState, Aside, RefusedError
from dipbook.alarms.table import ACTIONS, EVENTS, STATES, allowed, as_rows, code_of, outcome

__all__ = ["ACTIONS", "EVENTS", "STATES", "AlarmState", "Aside", "RefusedError", "allowed", "as_rows", "code_of",
           "outcome"]
