"""The balance at the log's readings, kept from one state of the books to the next: what nothing has touched stays."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from dipbook import balance
from dipbook.balance import Balance
from dipbook.books import Books
from dipbook.terms.system import ACTIVE_SYSTEM

NAME = "balance of "
"""Before a system's name: what the books hand on."""
COLUMNS = ("t_ms", "actual_m3", "expected_m3", "difference_m3", "u_m3", "partial", "zero_ms")


@dataclass(frozen=True)
class Kept:
    """A run of rows. first: number of the first of them in ``books.readings``. of: their balance."""

    first: int
    of: Balance

    @property
    def end(self) -> int:
        """The number after its last row."""
        return self.first + len(self.of.t_ms)

    def before(self, t_ms: int) -> Kept:
        """The rows that nothing from ``t_ms`` on has touched [UTC ms]."""
        return self.rows(self.first, self.first + int(np.searchsorted(self.of.t_ms, t_ms, side="left")))

    def rows(self, first: int, last: int) -> Kept:
        """Rows ``first`` … ``last``−1 of the log, which are among these."""
        return Kept(first, cut(self.of, slice(first - self.first, last - self.first)))

    def with_more(self, more: Balance) -> Kept:
        """These rows and those that follow them. more: their balance."""
        of = self.of
        joined = {name: np.concatenate((getattr(of, name), getattr(more, name))) for name in COLUMNS}
        terms = {name: np.concatenate((column, more.terms[name])) for name, column in of.terms.items()}
        return Kept(self.first, Balance(of.system, terms=terms, **joined))


def cut(of: Balance, rows: Any) -> Balance:
    """Some rows of a balance. of: it. rows: a slice, or an array of places."""
    return Balance(of.system, terms={name: column[rows] for name, column in of.terms.items()},
                   **{name: getattr(of, name)[rows] for name in COLUMNS})


def at_readings(books: Books, first: int, last: int | None = None, name: str = ACTIVE_SYSTEM) -> Balance:
    """The balance of a system at readings ``first`` … ``last``−1 (row numbers of ``books.readings``, to the newest by
    default), as ``balance.at`` gives it.

    books: of the log; those that are learned from them go on from what is kept here. name: "active", "all surface" or
    a tank. Where rows are asked for before those that are kept, these are given up.
    """
    ends = books.readings.end_ms
    stop = len(ends) if last is None else last
    kept: Kept | None = books.kept.get(NAME + name)
    if kept is None or not kept.first <= first < kept.end:
        kept = Kept(first, balance.at(books, ends[first:stop], name))
    elif stop > kept.end:
        kept = kept.rows(first, kept.end).with_more(balance.at(books, ends[kept.end:stop], name))
    books.kept[NAME + name] = kept
    return kept.rows(first, stop).of
