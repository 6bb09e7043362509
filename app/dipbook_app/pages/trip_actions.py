"""The big keys of the Trip page: what can be done with a trip under way, with a row being corrected, with one ended."""

from __future__ import annotations

from dipbook_app.trip_words import FILL, FLOW_CHECK, LABELS, PIPE_FILLED, REFILL, STAND
from dipbook_app.widgets.action_bar import Action

SAVE, CORRECT, LEAVE, DECIDE, END, BEGIN = "save", "correct", "leave", "decide", "end", "begin"
SHORTCUTS = {"Alt+S": STAND, "Alt+F": FILL, "Alt+R": REFILL, "Alt+P": PIPE_FILLED, "Alt+C": FLOW_CHECK,
             "Alt+D": DECIDE, "Alt+E": END, "Alt+B": BEGIN}
"""Keys that act wherever the cursor is on the page."""
TIPS = {STAND: "A stand was pulled or run", FILL: "The trip tank was read, no pipe moved: also out of the hole",
        REFILL: "The trip tank was filled up", PIPE_FILLED: "The pipe in the hole was filled",
        FLOW_CHECK: "The trip tank's level after a flow check; the clock of one is Ctrl+F"}
KEYS = {STAND: "Alt+S", FILL: "F", REFILL: "R", PIPE_FILLED: "P", FLOW_CHECK: "C"}


def actions(*, ended: bool, correcting: bool) -> tuple[Action, ...]:
    """The keys there are; each keeps its place while a trip is under way. Short words: they stay
    large where the text is."""
    if ended and not correcting:
        return (Action(BEGIN, "Begin a trip", "Alt+B", "Opens the entry that begins a trip"),
                Action(CORRECT, "Correct", "Up", "A row: choose it in the sheet, then Enter"))
    kinds = tuple(Action(what, LABELS[what], KEYS[what], TIPS[what]) for what in KEYS)
    row = Action(LEAVE, "Leave it", "Esc", "Leaves the correction: nothing is changed") if correcting else \
        Action(CORRECT, "Correct", "Up", "A row: choose it in the sheet, then Enter")
    save = Action(SAVE, "Save it" if correcting else "Save row", "Enter", "Saves the correction" if correcting else "")
    decide = Action(DECIDE, "Decided", "Alt+D", "At a hold point: log what is done, and who decided")
    return (save, *kinds, row, decide, Action(END, "End trip", "Alt+E", "Opens the entry that ends it"))
