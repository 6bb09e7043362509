"""A trainee's drills in the crew's words, for the screen and the command line. No Qt."""

from __future__ import annotations

from dipbook.debrief.history import CUT, MISSED, DrillDone, Trainee
from dipbook.drill.score import WINDOW_MS
from dipbook_app.debrief_words import rates_words
from dipbook_app.display import DisplayUnits

HEADINGS = ("Done", "Scenario", "Procedure", "After", "By then", "Missed", "Flow checks", "Other calls")
NOT_NAMED = "Nobody named"
NOTE = ("For coaching. A flow check never counts against anybody. Few drills say little, and nobody is ranked by them: "
        "trainees stand by name, drills by date.")
KEYS = "Enter opens the debrief of the chosen drill, Esc goes back."
NONE = "No drill has been finished yet."


def name_of(trainee: Trainee) -> str:
    """The trainee's name. trainee."""
    return trainee.name or NOT_NAMED


def cells(done: DrillDone, units: DisplayUnits) -> tuple[str, ...]:
    """A row under HEADINGS. done: the drill. units: the crew's."""
    after = ", ".join("–" if t is None else units.span(t) for t in done.after_ms)
    volume = ", ".join("–" if v is None else units.volume(v) for v in done.volume_m3)
    return (f"{units.date(done.t_ms)} {units.time(done.t_ms)}", done.scenario, done.procedure, after, volume,
            ", ".join(done.missed), str(done.flow_checks), str(done.false_calls))


def in_all(trainee: Trainee, units: DisplayUnits) -> str:
    """What all the drills come to. trainee. units: the crew's."""
    count = len(trainee.drills)
    missed = sum(d.procedure == MISSED for d in trainee.drills)
    some = f", {missed} with something missed" if missed else ""
    if cut := sum(d.procedure == CUT for d in trainee.drills):
        some += f", {cut} cut off and in no count"
    return (f"{count} {'drill' if count == 1 else 'drills'}{some}. "
            f"{rates_words(trainee.rates, WINDOW_MS, units)}")
