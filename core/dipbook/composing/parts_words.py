"""What every answer to *what does this rest on* needs: the books, the moment, words in the crew's units."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import isfinite
from typing import Any

from dipbook.books import Books
from dipbook.entries.words import LABELS, describe
from dipbook.parts import ENTRY, READING, SIGNED, WORKED_OUT, Figure, Part
from dipbook.quantities import write
from dipbook.records import RIG, ROUND, SAMPLES, TRIP_ROW, Record

MOST = 60
"""Parts told one by one; earlier ones are told together, so that the sum stays whole."""
READINGS = (ROUND, SAMPLES, TRIP_ROW)


@dataclass(frozen=True)
class Asked:
    """books: of the log. now_ms: the clock [UTC ms]. units: dimension -> symbol, for words."""

    books: Books
    now_ms: int
    units: dict[str, str]

    def moment(self, figure: Figure) -> tuple[int, int | None] | None:
        """(when a figure is told for, the zeros up to when count) [UTC ms], as the pages show it where the figure has
        no time of its own; None before any reading. figure: asked for."""
        if figure.t_ms is not None:
            return figure.t_ms, None
        ends = self.books.readings.end_ms
        if not len(ends):
            return None
        zeros = [z.t_ms for z in self.books.zeros if z.t_ms is not None]
        return int(ends[-1]), max([int(ends[-1]), *zeros])

    def record(self, uid: str) -> Record | None:
        """The record of a uid that counts, None for none. uid: of it."""
        return self._index()[0].get(uid)

    def uid_of(self, seq: int) -> str:
        """uid of the record of a number, "" for none. seq: its number."""
        found = self._index()[1].get(int(seq))
        return "" if found is None else found.uid

    def rig_record(self, t_ms: int) -> str:
        """uid of the record that brought the rig in force. t_ms: when [UTC ms]."""
        rigs = [r for r in self.books.eff.records if r.kind == RIG]
        return next((r.uid for r in reversed(rigs) if r.t_ms <= t_ms), rigs[0].uid)

    def said(self, uid: str) -> str:
        """What a record says, its kind first. uid: of it."""
        r = self.record(uid)
        if r is None:
            return ""
        rig = self.books.rig
        label, words = LABELS.get(r.kind, r.kind), describe(r, self.units, rig.zone, rig.decimal)
        return words if words.casefold().startswith(label.casefold()) else f"{label}: {words}" if words else label

    def write(self, value: float, dimension: str, otherwise: str, digits: int | None = None) -> str:
        """A quantity in the crew's unit. value: SI. dimension: its name. otherwise: the unit where the rig file names
        none. digits: decimals."""
        return write(value, self.units.get(dimension, otherwise), digits=digits, decimal=self.books.rig.decimal)

    def entry(self, uid: str, value: float | None, words: str = "", t_ms: int | None = None, *,
              counts: bool = True, note: str = "") -> Part:
        """A part that a record brought. uid: of it, "" where none is known. value: [m3]. words: what it is; t_ms: when
        [UTC ms]. counts, note: as of Part."""
        r = self.record(uid)
        said = self.said(uid)
        kind = WORKED_OUT if r is None else READING if r.kind in READINGS else ENTRY
        when = t_ms if r is None or t_ms is not None else r.t_ms
        return Part(words or said or "Not in an entry", value, SIGNED, when, uid, kind, counts,
                    note or (said if words and said != words else ""))

    def _index(self) -> tuple[dict[str, Record], dict[int, Record]]:
        key = ("records by uid", "")
        made = self.books.worked_out
        if key not in made or made[key][2] is not self.books.eff.records:
            records = self.books.eff.records
            made[key] = {r.uid: r for r in records}, {r.seq: r for r in self.books.records}, records
        found: tuple[dict[str, Record], dict[int, Record], Any] = made[key]
        return found[0], found[1]


def known(value: float | None) -> float | None:
    """The value, None where it isn't finite. value: any."""
    return None if value is None or not isfinite(value) else float(value)


def few(parts: Sequence[Part], sign: float = 1.0) -> tuple[Part, ...]:
    """Parts with the earliest told together where there are many. parts: by time, added. sign: what their values are
    multiplied by [-]."""
    parts = [replace(p, value=None if p.value is None else sign * p.value) for p in parts]
    if len(parts) <= MOST:
        return tuple(parts)
    early, late = parts[:-MOST + 1], parts[-MOST + 1:]
    values = [p.value for p in early if p.counts]
    total = None if any(v is None for v in values) else float(sum(v for v in values if v is not None))
    return (Part(f"{len(early)} earlier", total, early[0].dimension, early[0].t_ms, kind=WORKED_OUT), *late)
