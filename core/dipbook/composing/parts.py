"""The parts of a figure, worked out when somebody asks for them: figure -> what it rests on.

    name          of                        what                      at
    difference    system
    actual        system
    expected      system
    start         system
    term          system                    of balance.TERMS
    uncertainty   system
    tank          tank
    trip          uid of a row              expected, took, difference, last, total
    posted        uid of the trip's begin   reference, own            place in the list
    connection    when the pumps stopped    back, excess, band        minute
    stock         room, usable, reserve, hours
    stick         tank                      now, next stand
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from dipbook.books import Books
from dipbook.composing.parts_of_balance import actual, difference, expected, start, term
from dipbook.composing.parts_of_connections import connection
from dipbook.composing.parts_of_posted import posted
from dipbook.composing.parts_of_stock import stick, stock
from dipbook.composing.parts_of_tanks import tank
from dipbook.composing.parts_of_trips import trip_row
from dipbook.composing.parts_of_uncertainty import uncertainty
from dipbook.composing.parts_words import Asked
from dipbook.parts import Figure, Parts

OF: Mapping[str, Callable[[Asked, Figure], Parts | None]] = {
    "difference": difference, "actual": actual, "expected": expected, "start": start, "term": term,
    "uncertainty": uncertainty, "tank": tank, "trip": trip_row, "posted": posted, "connection": connection,
    "stock": stock, "stick": stick,
}


def parts_of(books: Books, figure: Figure, now_ms: int, units: Mapping[str, str] | None = None) -> Parts | None:
    """What a figure rests on; None where the log has no such figure.

    books: of the log. figure: asked for. now_ms: the clock [UTC ms]. units: dimension -> symbol, for words; None for
    the rig's own.
    """
    make = OF.get(figure.name)
    return None if make is None else make(Asked(books, now_ms, {**books.rig.units, **(units or {})}), figure)
