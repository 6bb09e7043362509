"""Tables in Markdown."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from bench.detection.goals import Goal
from bench.detection.scenarios import Row, Table


def lines(table: Table) -> Iterator[str]:
    """A table with its title."""
    yield f"\n### {table.title}\n"
    yield from _rows(table.head, table.rows)


def goals(found: Iterable[Goal]) -> Iterator[str]:
    """Goals beside what was measured."""
    yield "\n### Goals\n"
    yield from _rows(("goal", "what", "at most", "measured", ""), (
        (g.name, g.what, f"{g.at_most:g}", f"{g.measured:.2f}" + (f" ± {g.se:.2f}" if g.se else ""), g.met)
        for g in sorted(found, key=lambda g: g.name)))


def _rows(head: Row, rows: Iterable[Row]) -> Iterator[str]:
    yield f"| {' | '.join(head)} |"
    yield "|" + "---|" * len(head)
    yield from (f"| {' | '.join(row)} |" for row in rows)
