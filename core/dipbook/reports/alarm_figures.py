"""How the warnings of a span did, beside published targets: a table of a report. Numbers without grades."""

from __future__ import annotations

from collections.abc import Mapping

from dipbook import figures, watch
from dipbook.books import Books
from dipbook.composing import journal
from dipbook.limit_record import changes, history
from dipbook.pit_drills import pit_drills
from dipbook.reports.spans import Span
from dipbook.reports.table import Column, Row, Table

NOTE = f"{figures.SAYS} They are for a month or more, not for one tour."

DRILLS = "A pit drill was under way in this span: warnings that sounded for its raised float are counted too."


def counted(books: Books, from_ms: int, to_ms: int, ranks: Mapping[str, int]) -> figures.Counts:
    """What is counted of the warnings in a span. books: of the log. from_ms, to_ms: [UTC ms]. ranks: kind of limit →
    1 for the most urgent. Transitions that can't be read aren't counted."""
    payloads, _ = journal(books.records)
    transitions = [watch.from_payload(payload) for payload in payloads]
    return figures.count(
        from_ms, to_ms, figures.raisings(transitions), resounded=figures.resoundings(transitions),
        occurrences=figures.occurrences(transitions), changes=changes(history(books.records), books.rig),
        unwatched=[(a, b) for a, b, _ in books.unwatched], set_aside=figures.set_aside(transitions), ranks=dict(ranks))


def alarm_figures(books: Books, span: Span, ranks: Mapping[str, int]) -> Table:
    """The figures of a span as a table. books: of the log, as known now. span; ranks: as of ``counted``."""
    made = figures.figures(counted(books, span.from_ms, span.to_ms, ranks))
    decimal = books.rig.decimal
    rows = tuple(Row((f.label, number(f, decimal), f.target, f.formula, f.note)) for f in made)
    drills = [d for d in pit_drills(books.eff.records)
              if d.begun_ms <= span.to_ms and (d.ended_ms or span.to_ms) > span.from_ms]
    note = f"{NOTE} {DRILLS}" if drills else NOTE
    return Table("alarm_figures", "Warnings in figures", (Column("Figure"), Column("Value"), Column("Published target"),
                 Column("How it is counted"), Column("Which")), rows, note)


def number(figure: figures.Figure, decimal: str) -> str:
    """A figure as written, with its unit. figure; decimal: the decimal sign."""
    if figure.value is None:
        return "unknown"
    digits = 0 if figure.unit in ("", "s") and float(figure.value).is_integer() else 2
    return f"{figure.value:.{digits}f} {figure.unit}".replace(".", decimal).strip()
