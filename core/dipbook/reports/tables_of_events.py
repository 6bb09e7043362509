"""The tables of what happened: readings, entries, corrections, warnings, connections, trips, hours unwatched,
handover."""

from __future__ import annotations

from dipbook.entries.words import LABELS
from dipbook.quantities import from_unit
from dipbook.records import TRIP_ROW
from dipbook.reports.adding import digits_of
from dipbook.reports.report import Report
from dipbook.reports.table import COUNT, FLOW, LENGTH, SIGNED, SPAN, TIME, VOLUME, Column, Row, Table, U, Value, Writing
from dipbook.reports.tables_of_drills import marked
from dipbook.reports.tables_of_volumes import volume_column

OFTEN = ("depth", "pumps", "stand filled", "activity")
"""Kinds of which a tour has very many: in the file every one of them, on paper none."""
LITTLE_M3 = 0.004
"""The last place of a stand's volume is worth no more than this [m3]: little beside the 100 litres that one takes."""


def readings(report: Report) -> Table:
    """Every round and row of a trip, with the balance of the active system at its end."""
    columns = (Column("At", TIME), Column("What"), Column("Gauged by"), Column("Keyed by"), Column("Tanks", COUNT),
               Column("Complete"), volume_column(report, "Actual"), volume_column(report, "Expected"),
               volume_column(report, "Difference", SIGNED), volume_column(report, "±", U), Column("Corrected"),
               Column("Learned", TIME, paper=False), Column("Record", paper=False))
    rows = tuple(Row((r.t_ms, LABELS.get(r.kind, r.kind), r.observer, r.by if r.by != r.observer else "", r.gauged,
                      _yes(not r.partial), r.actual_m3, r.expected_m3, r.difference_m3,
                      "" if r.difference_m3 is None else r.u_m3, _yes(r.corrected), r.learned_ms, r.uid),
                     paper=r.kind != TRIP_ROW) for r in report.gauging.readings)
    g = report.gauging
    note = f"{g.count} readings, {g.complete} of them of every active tank." + (
        f" The longest time without one of every active tank: {_hours(g.longest_ms)}."
        if g.longest_ms is not None else "")
    return Table("readings", "Readings", columns, rows, note, none="No round was keyed in.")


def imported(report: Report) -> Table:
    """Readings of files and sensors, a line for each record."""
    columns = (Column("From", TIME), Column("To", TIME), Column("Readings", COUNT), Column("Which"),
               Column("Record", paper=False))
    rows = tuple(Row((i.first_ms, i.last_ms, i.rows, i.words, i.uid)) for i in report.gauging.imported)
    return Table("imported", "Readings of files and sensors", columns, rows)


def dips(report: Report) -> Table:
    """Every dip that counts; in the file alone, and behind a cursor. report: of it."""
    columns = (Column("At", TIME), Column("Tank"), Column("As typed"), volume_column(report, "Volume"),
               volume_column(report, "±", U), Column("Flag"), Column("Keyed by"), Column("Record"))
    rows = tuple(Row((d.t_ms, d.tank, d.typed, d.volume_m3, d.u_m3, d.flag, d.by, d.uid), paper=False)
                 for d in report.gauging.dips)
    return Table("dips", "Dips", columns, rows)


def entries(report: Report) -> Table:
    """Every entry."""
    columns = (Column("At", TIME), Column("Until", TIME), Column("Entry"), Column("What it says"), Column("By"),
               Column("Note"), Column("Learned", TIME, paper=False), Column("Record", paper=False))
    rows = tuple(Row((e.t_ms, "" if e.end_ms is None else e.end_ms, e.label, e.words, e.by,
                      ", ".join(w for w, is_it in (("logged late", e.late), ("corrected", e.corrected)) if is_it),
                      e.learned_ms, e.uid), paper=e.kind not in OFTEN) for e in report.gauging.entries)
    left = sum(1 for e in report.gauging.entries if e.kind in OFTEN)
    note = f"{left} entries of depth, pumps, activity and stands filled aren't printed; the CSV files have them." \
        if left else ""
    return Table("entries", "Entries", columns, rows, note, none="No entry was logged.")


def corrections(report: Report) -> Table:
    """What was corrected or struck out, with what it was before."""
    columns = (Column("Of", TIME), Column("What"), Column("Was"), Column("Is"), Column("By"), Column("Why"),
               Column("Corrected", TIME), Column("Record", paper=False))
    rows = tuple(Row((c.t_ms, c.label, c.was, c.now, c.by, c.why, c.learned_ms, c.uid))
                 for c in report.gauging.corrections)
    return Table("corrections", "Corrections", columns, rows, none="Nothing was corrected.")


def warnings(report: Report, by: Writing) -> Table:
    """Each warning, from raised to closed, with what was logged afterwards."""
    columns = (Column("Sounded", TIME), Column("Occurred", TIME), Column("Warning"), Column("Worst so far"),
               Column("Sounded, times", COUNT),
               Column("Acknowledged", TIME), Column("By"), Column("After", SPAN), Column("Over", TIME),
               Column("Closed", TIME), Column("Closed by, note"), Column("At the end"),
               Column("Logged afterwards, for before it"))
    said = {uid: f"{by.clock(t)} {words}" for uid, (t, words) in report.words.items()}
    rows = tuple(Row((
        w.learned_ms, "" if w.raised_ms == w.learned_ms else w.raised_ms, w.text, w.worst_words, w.sounded,
        *_or_blank(w.acknowledged_ms), w.acknowledged_by,
        w.answered_ms if w.answered_ms is not None else "" if w.acknowledged_ms is None else None,
        *_or_blank(w.over_ms, w.closed_ms), ": ".join(x for x in (w.closed_by, w.note) if x),
        w.state.replace("_", ", "), "; ".join(said[uid] for uid in w.afterwards)))
        for w in report.warnings.raised)
    note = "An entry logged afterwards doesn't end a warning; whether it explains it is for a person to say." if any(
        w.afterwards for w in report.warnings.raised) else ""
    if report.warnings.unreadable:
        note += f" {report.warnings.unreadable} lines of the journal can't be read by this version."
    note = " ".join(x for x in (note.strip(), marked(report)) if x)
    return Table("warnings", "Warnings", columns, rows, note, none="No warning was raised.")


def changes(report: Report) -> Table:
    """Changes of the rig and its limits, and limits set aside, by time."""
    columns = (Column("Made", TIME), Column("Holds from", TIME), Column("What"), Column("By"), Column("Why"),
               Column("Record", paper=False))
    found = sorted((*report.warnings.changes, *report.warnings.aside), key=lambda c: c.t_ms)
    rows = tuple(Row((c.t_ms, c.from_ms, c.words, c.by, c.why, c.uid)) for c in found)
    return Table("changes", "Limits and rig changed, limits set aside", columns, rows,
                 none="No limit was changed or set aside.")


def connections(report: Report) -> Table:
    """Each connection."""
    length, flow = report.units.get("length", "m"), report.units.get("flow", "L/min")
    columns = (Column("Pumps off", TIME), Column("Off for", SPAN), Column("Hole", LENGTH, length, digits_of(length)),
               Column("Flow", FLOW, flow, digits_of(flow)), volume_column(report, "Came back"), Column("By min"),
               volume_column(report, "Above", SIGNED), Column("Held against"),
               volume_column(report, "On to on", SIGNED), volume_column(report, "±", U), Column("Accepted"),
               Column("Not known because", paper=False))
    rows = tuple(Row((
        c.off_ms, "" if c.on_ms is None else c.on_ms - c.off_ms, *_or_blank(c.hole_m, c.flow_m3_s, c.back_m3),
        "" if c.minute is None else f"{c.minute:g}", *_or_blank(c.above_m3),
        "" if c.above_m3 is None else "accepted ones" if c.banded else "the lines", *_or_blank(c.across_m3),
        "" if c.across_m3 is None else c.across_u_m3,
        "nobody said" if c.accepted is None else ("yes" if c.accepted else "no")
        + (f", {c.accepted_by}" if c.accepted_by else ""), c.why)) for c in report.connections)
    return Table("connections", "Connections", columns, rows, none="No connection in this span.")


def trips(report: Report) -> Table:
    """Each trip."""
    columns = (Column("Trip"), Column("Began", TIME), Column("Ended", TIME), Column("Stands", COUNT),
               _fine(report, "Should take", VOLUME), _fine(report, "Took", VOLUME),
               _fine(report, "Difference", SIGNED), _fine(report, "Worst of last", SIGNED),
               _fine(report, "Whole trip", SIGNED), _fine(report, "±", U), Column("Not read", COUNT), Column("Signed"))
    rows = tuple(Row((t.title, t.begun_ms, "goes on" if t.ended_ms is None else t.ended_ms, t.stands,
                      *_or_blank(t.expected_m3, t.actual_m3, t.difference_m3, t.worst_last_m3, t.total_m3),
                      "" if t.total_m3 is None else t.total_u_m3, t.unread, t.signed)) for t in report.trips)
    note = ("Of this span, but for the whole trip: its sum at the span's end. + is more mud on surface than expected: "
            "the hole took less, or gave back more.") if rows else ""
    return Table("trips", "Trips", columns, rows, note, none="No trip in this span.")


def unwatched(report: Report) -> Table:
    """The hours in which nothing watched."""
    columns = (Column("From", TIME), Column("To", TIME), Column("For", SPAN), Column("Why"))
    rows = [Row((u.from_ms, u.to_ms, u.ms, u.why)) for u in report.unwatched]
    if rows:
        rows.append(Row(("", "", sum(u.ms for u in report.unwatched), "in all"), strong=True))
    return Table("unwatched", "Hours not watched", columns, tuple(rows), none="Watched throughout.")


def findings(report: Report) -> Table:
    """What makes a number worth less."""
    columns = (Column("At", TIME), Column("What"), Column("Tank"))
    rows = tuple(Row((*_or_blank(f.t_ms), f.what, f.tank)) for f in report.findings)
    return Table("findings", "What to know of these figures", columns, rows, none="Nothing was found.")


def handover(report: Report) -> Table:
    """How everything stands at the end."""
    columns = (Column("What"), Column("How it stands"), Column("Since", TIME), Column("By"))
    rows = tuple(Row((x.group, x.words, *_or_blank(x.since_ms), x.by)) for x in report.handover)
    return Table("handover", "Handed over", columns, rows)


def _fine(report: Report, heading: str, what: str) -> Column:
    """A column of volumes of the size of one stand, told to a few litres."""
    unit = report.units.get("volume", "m3")
    digits = 0
    while float(from_unit(1.0, unit)) / 10**digits > LITTLE_M3:
        digits += 1
    return Column(heading, what, unit, digits)


def _or_blank(*values: float | int | None) -> tuple[Value, ...]:
    return tuple("" if v is None else v for v in values)


def _yes(is_it: bool) -> str:
    return "yes" if is_it else ""


def _hours(ms: int) -> str:
    hours, minutes = divmod(round(ms / 60_000), 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"
