"""The table of pit drills on the rig, and what is said of them beside what they touch."""

from __future__ import annotations

from dipbook.debrief.signed_record import DrillRecord, Signal
from dipbook.quantities import write_level
from dipbook.reports.adding import digits_of
from dipbook.reports.drill_record import ON_THE_RIG, span_words
from dipbook.reports.report import Report
from dipbook.reports.table import COUNT, LENGTH, TIME, VOLUME, Column, Row, Table
from dipbook.reports.tables_of_volumes import volume_column

NOT_PROVED = "not proved back yet"
STILL = "The volumes and the difference between are those of the raised float: nothing was taken out of them."


def pit_drills(report: Report) -> Table:
    """Each pit drill of which a part lies in the span, with what a signed record asks for."""
    length = report.units.get("length", "m")
    columns = (Column("Mark", paper=False), Column("Began", TIME), Column("Ended", TIME), Column("Float of"),
               Column("Raised by"), volume_column(report, "Shown more", VOLUME), Column("In charge, consented"),
               Column("Run by"), Column("Announced", paper=False), Column("Operation"),
               Column("Bit", LENGTH, length, digits_of(length)), Column("Target", paper=False),
               Column("Target set by", paper=False), Column("What the crew did, after it began"),
               Column("Warning sounded", TIME), Column("Outcome"), Column("Out of order", paper=False),
               Column("Flow checks", COUNT, paper=False), Column("Float proved back"), Column("Record", paper=False))
    rows = tuple(_row(r, r.signals[0], report) for r in report.pit_drills)
    return Table("pit_drills", "Pit drills on the rig", columns, rows, note=f"{ON_THE_RIG}. {STILL}" if rows else "")


def _row(r: DrillRecord, s: Signal, report: Report) -> Row:
    done = "; ".join(f"{m.words} {span_words(m.after_ms)}" + (f", {m.who}" if m.who else "") for m in s.moments
                     if m.key != "t0" and m.after_ms is not None)
    raised = "" if s.level_m is None else write_level(s.level_m, report.units.get("level", "m"), report.rig.decimal)
    announced = {True: "yes", False: "no", None: "not said"}[r.announced]
    return Row((
        "DRILL", r.began_ms, "under way" if r.ended_ms is None else r.ended_ms, s.tank, raised, s.volume_m3, r.consent,
        r.initiator, announced, r.operation, r.bit_m,
        "nobody set one" if r.within_ms is None else span_words(r.within_ms), r.target_by,
        done or "nothing was noted", "none" if s.warned_ms is None else s.warned_ms,
        s.outcome + ({True: ", target met", False: ", target not met"}.get(s.in_time, "") if s.in_time is not None
                     else ""), " ".join(r.deviations), r.flow_checks, r.proved or NOT_PROVED, r.ident))


def marked(report: Report) -> str:
    """How many warnings of a span sounded while a pit drill was under way; "" for none. They stay among the others."""
    n = sum(1 for w in report.warnings.raised if any(
        d.began_ms <= w.learned_ms and (d.ended_ms is None or w.learned_ms <= d.ended_ms) for d in report.pit_drills))
    if not n:
        return ""
    return f"{n} of them sounded while a pit drill was under way; they are counted among the others."
