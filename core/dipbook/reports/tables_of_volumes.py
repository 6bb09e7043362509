"""The tables in which volumes add up: the reconciliation, its entries, the tanks, the inventory."""

from __future__ import annotations

from dipbook.entries.words import LABELS as KIND_LABELS
from dipbook.reports.adding import digits_of, left_over
from dipbook.reports.reconciliation import Reconciliation
from dipbook.reports.report import Report
from dipbook.reports.table import COUNT, MASS, SIGNED, TIME, VOLUME, Column, Row, Table, U, Value

ROUNDING = "Rounding"
MANY = ("steel", "bore", "cuttings", "lines", "trip")
"""Terms of very many entries: on paper their sums, in the file every one of them."""
MOVED = ("transfers", "pills", "additions", "discards", "rates")
"""Terms that a tank has by what was logged on it; the others are the well's."""
HOW_IT_ADDS = ("Each figure is rounded by itself, as everywhere; what that leaves over is the line “rounding”, with "
               "which every column adds up to the last digit shown.")


def volume_column(report: Report, heading: str, what: str = VOLUME, *, paper: bool = True) -> Column:
    """A column of volumes in the crew's unit. report: gives it. heading; what: of a volume; paper: as of Column."""
    unit = report.units.get("volume", "m3")
    return Column(heading, what, unit, digits_of(unit), paper)


def reconciliation(report: Report) -> Table:
    """Opening, each term, what is not explained, closing: the active system beside all surface tanks."""
    systems = (report.active, report.surface)
    columns = (Column("Line"), Column("At", TIME), volume_column(report, "Active system", SIGNED),
               volume_column(report, "±", U), volume_column(report, "All surface tanks", SIGNED),
               volume_column(report, "±", U), Column("Entries", COUNT))
    names = dict.fromkeys((t.name, t.label) for s in systems for t in s.terms)
    by_name = [{t.name: t for t in s.terms} for s in systems]
    rows = [Row(_line("Opening", report.active.opening_ms, *(s.opening_m3 for s in systems)), strong=True, held=True)]
    for name, label in names:
        there = [terms.get(name) for terms in by_name]
        # A term that a system lacks brought it nothing, where that system has an account at all.
        values = [0.0 if t is None and not s.why else None if t is None else t.volume_m3
                  for t, s in zip(there, systems, strict=True)]
        count = max(len(t.entries) if t is not None else 0 for t in there)
        rows.append(Row((label, "", values[0], "", values[1], "", count)))
    rows.append(Row(("Not explained", "", report.active.unexplained_m3, report.active.u_m3,
                     report.surface.unexplained_m3, report.surface.u_m3, ""), strong=True))
    over = [rounding_of(report, s) for s in systems]
    if any(over):
        rows.append(Row(_line(ROUNDING, "", *(x or "" for x in over))))
    rows.append(Row(_line("Closing", report.active.closing_ms, *(s.closing_m3 for s in systems)), strong=True,
                    held=True))
    return Table("reconciliation", "Where the mud went", columns, tuple(rows), _notes(report))


def rounding_of(report: Report, of: Reconciliation) -> float:
    """What the roundings of a system's column leave over [m3]. report: gives the unit. of: the system's books."""
    if of.opening_m3 is None or of.closing_m3 is None or of.unexplained_m3 is None:
        return 0.0
    unit = report.units.get("volume", "m3")
    return left_over([of.opening_m3, *(t.volume_m3 for t in of.terms), of.unexplained_m3], of.closing_m3, unit,
                     digits_of(unit))


def difference(report: Report) -> Table:
    """The difference from one end to the other, with what zeros wrote off, and the sum that no zero resets."""
    a = report.active
    columns = (Column("Line"), Column("At", TIME), volume_column(report, "Volume", SIGNED), Column("By"), Column("Why"))
    rows = [Row(("Difference carried in", a.opening_ms if a.opening_ms is not None else "", a.carried_in_m3, "",
                 "since the zero in force" if a.carried_in_m3 is not None else "no zero was in force")),
            Row(("Not explained in this span", "", a.unexplained_m3, "", a.why))]
    parts = [a.carried_in_m3, a.unexplained_m3]
    for z in a.zeros:
        worth = None if z.volume_m3 is None else -z.volume_m3
        parts.append(worth)
        rows.append(Row(("Written off by a zero", z.t_ms, worth, z.by, z.reason)))
    unit = report.units.get("volume", "m3")
    known = [p for p in parts if p is not None]
    over = left_over(known, a.carried_out_m3, unit, digits_of(unit)) \
        if a.carried_out_m3 is not None and len(known) == len(parts) else 0.0
    if over:
        rows.append(Row((ROUNDING, "", over, "", "")))
    rows.append(Row(("Difference carried out", a.closing_ms if a.closing_ms is not None else "", a.carried_out_m3, "",
                     ""), strong=True))
    rows.append(Row(("Written off by zeros in all", "", a.written_off_m3, "", "up to the end of the span")))
    rows.append(Row(("Never reset", "", a.never_reset_m3, "", "carried out + written off in all"), strong=True))
    return Table("difference", "The difference, and what zeros wrote off", columns, tuple(rows))


def booked(report: Report) -> Table:
    """Every entry of every term of the active system, under its term."""
    columns = (Column("Term"), Column("At", TIME), Column("Entry"), volume_column(report, "Volume", SIGNED),
               volume_column(report, "Term's sum", SIGNED), Column("Record", paper=False))
    rows: list[Row] = []
    unit = report.units.get("volume", "m3")
    for term in report.active.terms:
        many = term.name in MANY
        count = f"{len(term.entries)} entries" if many else ""
        rows.append(Row((term.label, "", count, "", term.volume_m3, ""), strong=True))
        rows += [Row((term.label, e.t_ms, _entry(e.words, report.words.get(e.uid, (0, ""))[1]), e.volume_m3, "", e.uid),
                     paper=not many) for e in term.entries]
        over = left_over([e.volume_m3 for e in term.entries], term.volume_m3, unit, digits_of(unit))
        if over:
            rows.append(Row((term.label, "", ROUNDING, over, "", ""), paper=not many))
    return Table("booked", "What each line is made of, active system", columns, tuple(rows), none="Nothing was booked.")


def tanks(report: Report) -> Table:
    """Each tank by itself: what was logged on it, what the well gave or took, and the rest."""
    columns = (Column("Tank"), Column("Role"), volume_column(report, "Opening"),
               volume_column(report, "Logged in", SIGNED), volume_column(report, "Logged out", SIGNED),
               volume_column(report, "The well's", SIGNED), volume_column(report, "The rest", SIGNED),
               volume_column(report, ROUNDING, SIGNED), volume_column(report, "Closing"), volume_column(report, "±", U),
               Column("Last dip", TIME))
    role = {t.name: t.role for t in report.rig.tanks}
    unit = report.units.get("volume", "m3")
    dipped: dict[str, int] = {d.tank: d.t_ms for d in report.gauging.dips}
    rows: list[Row] = []
    for t in report.tanks:
        if t.why:
            rows.append(Row((t.system, role.get(t.system, ""), *[""] * 7, "", t.why)))
            continue
        entries = [e.volume_m3 for term in t.terms if term.name in MOVED for e in term.entries]
        moved = [sum(v for v in entries if v > 0), sum(v for v in entries if v < 0)]
        well = sum(term.volume_m3 for term in t.terms if term.name not in MOVED)
        parts = [t.opening_m3 or 0.0, *moved, well, t.unexplained_m3 or 0.0]
        over = left_over(parts, t.closing_m3 or 0.0, unit, digits_of(unit))
        last: Value = dict(t.held).get(t.system, dipped.get(t.system, t.closing_ms))
        rows.append(Row((t.system, role.get(t.system, ""), t.opening_m3, *(v or "" for v in (*moved, well)),
                         t.unexplained_m3, over or "", t.closing_m3, t.u_m3, last)))
    note = ("The rest of a tank in the active system is what the pumps and the returns moved through it; of any other "
            "tank it is what nobody logged. The well's: while the flow line was turned to it, or a trip was on it.")
    return Table("tanks", "Tank by tank", columns, tuple(rows), note)


def inventory(report: Report) -> Table:
    """What the tanks held by role, at each midnight and at the end."""
    columns = (Column("At", TIME), Column("Role"), Column("Tanks", COUNT), volume_column(report, "Volume"),
               volume_column(report, "Sum", VOLUME), Column("Oldest dip", TIME), Column("Not known"))
    unit = report.units.get("volume", "m3")
    rows: list[Row] = []
    for t, held in report.inventory.days:
        rows += [Row((t, h.role, h.tanks, h.volume_m3, "", h.oldest_ms if h.oldest_ms is not None else "",
                      ", ".join(h.unknown))) for h in held]
        known = [h.volume_m3 for h in held if h.volume_m3 is not None]
        over = left_over(known, sum(known), unit, digits_of(unit))
        if over:
            rows.append(Row((t, ROUNDING, "", over, "", "", "")))
        rows.append(Row((t, "all", sum(h.tanks for h in held), "", sum(known) if known else None, "",
                         ", ".join(name for h in held for name in h.unknown)), strong=True))
    return Table("inventory", "Mud on hand by role", columns, tuple(rows), "By each tank's last dip, with what was "
                 "logged on it in that round. 30 CFR 250.458(b) has it recorded daily; what stands in the store isn't "
                 "known to this log.")


def materials(report: Report) -> Table:
    """What entries added."""
    mass = report.units.get("mass", "lbm" if report.units.get("length") == "ft" else "kg")
    columns = (Column("Material"), Column("Entry"), Column("Entries", COUNT),
               Column("Mass", MASS, mass, digits_of(mass)), volume_column(report, "Volume booked"))
    rows = tuple(Row((m.what, KIND_LABELS.get(m.how, m.how), len(m.entries),
                      "" if m.mass_kg is None else m.mass_kg, "" if m.volume_m3 is None else m.volume_m3))
                 for m in report.inventory.materials)
    return Table("materials", "Materials added", columns, rows, none="No entry added any.")


def _line(words: str, t_ms: Value, active: Value, surface: Value) -> tuple[Value, ...]:
    return (words, "" if t_ms is None else t_ms, active, "", surface, "", "")


def _entry(piece: str, said: str) -> str:
    return ": ".join(x for x in (piece, said) if x) or "not in an entry"


def _notes(report: Report) -> str:
    a, s = report.active, report.surface
    words = [HOW_IT_ADDS, "± is two standard uncertainties of what is not explained (2u)."]
    if a.why:
        words.append(f"Nothing can be reconciled: {a.why}.")
    if a.late:
        words.append("The span begins before the first reading of every active tank: opening is that reading.")
    if a.opening_partial or a.closing_partial:
        ends = [w for w, is_it in (("the opening", a.opening_partial), ("the closing", a.closing_partial)) if is_it]
        held = ", ".join(name for name, _ in a.held)
        words.append(f"Partial at {' and '.join(ends)}: a tank wasn't gauged or not read"
                     + (f" (at the end {held}, carried at the last dip)." if held else "."))
    if s.opening_ms is not None and (s.opening_ms, s.closing_ms) != (a.opening_ms, a.closing_ms):
        words.append("All surface tanks are compared between other readings than the active system.")
    return " ".join(words)

