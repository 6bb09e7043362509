"""What stands behind the trend's cursor, in words: the dips of its reading, what was logged up to it, and what was
corrected."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable
from typing import Any

from dipbook.entries.words import LABELS
from dipbook.reports import Report, on_paper, writing
from dipbook.reports.gauging import Correction, Entry
from dipbook.reports.tables_of_events import dips
from dipbook.reports.warned import Warned
from dipbook_app.display import shown_sticks, shown_words

NOTHING = "No dip and no entry of its own: a reading of a file or sensors."


class AtReading:
    """What is behind each reading of a report's trend; made once for a report, asked for at each step of the cursor."""

    def __init__(self, report: Report) -> None:
        self._report, self._by = report, writing(report)
        rounds = {r.uid: r for r in report.gauging.readings}
        self._rows: dict[int, list[str]] = {}
        for r in report.gauging.readings:
            corrected = ", corrected" if r.corrected else ""
            self._rows.setdefault(r.t_ms, []).append(
                f"{LABELS.get(r.kind, r.kind)} {self._by.clock(r.t_ms)}, gauged by {r.observer}{corrected}:")
        table = dips(report)
        for dip, row in zip(report.gauging.dips, table.rows, strict=True):
            _, tank, typed, volume, u, flag, *_ = (on_paper(c, v, self._by)
                                                   for c, v in zip(table.columns, row.cells, strict=True))
            if dip.uid in rounds:
                self._rows[rounds[dip.uid].t_ms].append(
                    f"{self._by.clock(dip.t_ms)} {tank}: {shown_sticks(typed)}, {volume} {table.columns[3].unit} {u}"
                    + (f", {flag}" if flag else ""))
        self._corrections = _by_time(report.gauging.corrections, lambda c: c.t_ms)
        self._warnings = _by_time(report.warnings.raised, lambda w: w.raised_ms)
        self._entries = _by_time(report.gauging.entries, lambda e: e.t_ms)

    def lines(self, index: int) -> tuple[str, ...]:
        """Corrections first, then warnings, dips or the file, and what was logged since the reading before. index: of
        the reading in the trend, −1 for none."""
        if index < 0:
            return ()
        times = self._report.trend.t_ms
        t = int(times[index])
        before = int(times[index - 1]) if index else self._report.span.from_ms
        lines = [self._corrected(c) for c in _between(self._corrections, before, t)]
        lines += [self._warned(w) for w in _between(self._warnings, before, t)]
        lines += self._rows.get(t, [])
        lines += [f"{i.words} (readings of a file or sensors)" for i in self._report.gauging.imported
                  if i.first_ms <= t <= i.last_ms]
        lines += [self._entry(e) for e in _between(self._entries, before, t)]
        return tuple(shown_words(line) for line in lines) or (NOTHING,)

    def _corrected(self, c: Correction) -> str:
        was = f", was: {shown_sticks(c.was)}" if c.was else ""
        why = f" Why: {c.why}" if c.why else ""
        return f"Corrected at {self._by.clock(c.learned_ms)} by {c.by}{was}; is: {shown_sticks(c.now)}{why}"

    def _warned(self, w: Warned) -> str:
        met = "not acknowledged" if w.acknowledged_ms is None else \
            f"acknowledged {self._by.clock(w.acknowledged_ms)} by {w.acknowledged_by}"
        return f"Warning {self._by.clock(w.raised_ms)}: {w.text}, {met}"

    def _entry(self, e: Entry) -> str:
        words = e.words if e.words.casefold().startswith(e.label.casefold()) else \
            f"{e.label}: {e.words}" if e.words else e.label
        note = ", corrected" if e.corrected else ""
        return f"{self._by.clock(e.t_ms)} {words}, {e.by}{note}"


def _by_time(found: Iterable[Any], when: Callable[[Any], int]) -> tuple[list[int], list[Any]]:
    rows = sorted(found, key=when)
    return [when(x) for x in rows], rows


def _between(rows: tuple[list[int], list[Any]], after_ms: int, to_ms: int) -> list[Any]:
    return rows[1][bisect_right(rows[0], after_ms):bisect_right(rows[0], to_ms)]
