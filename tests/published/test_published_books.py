"""Published volumes that the books' own terms must give: steel, and steel and bore together, of pipe pulled.

Pulling pipe that stays full lowers the tanks by steel and bore (the "wet" figure); its steel alone is the "dry" one.
"""

from __future__ import annotations

import pytest

from dipbook import balance
from ledgers import RIG, booked, dips, entry, in_bbl, minutes
from published.rows import ROWS

USED = ("T03", "T05")

STANDS, STAND = 5, 92.0
PULLED = RIG.replace('steel = "0.00759 bbl/ft"', 'steel = "0.0075 bbl/ft"').replace('stand = "93 ft"', 'stand = "92 ft"')


@pytest.fixture(scope="module")
def terms() -> dict[str, float]:
    """What the books make of five stands of 92 ft pulled full, in barrels."""
    books = booked(entry("pumps", -60, state="on", flow=300), entry("depth", -1, hole=9000, bit=9000),
                   dips(0, Settling=60, Suction=60), entry("zero", 0, length=0, reason="test"),
                   *(entry("depth", n, bit=9000 - n * STAND) for n in range(1, STANDS + 1)), rig=PULLED)
    b = balance.at(books, minutes(10))
    return {name: in_bbl(b.terms[name])[0] for name in ("steel", "bore")}


def test_the_steel_of_five_stands_is_the_published_dry_volume(terms: dict[str, float]) -> None:
    assert ROWS["T03"].agrees(-terms["steel"])


def test_steel_and_bore_of_five_stands_are_the_published_wet_volume(terms: dict[str, float]) -> None:
    assert ROWS["T05"].agrees(-terms["steel"] - terms["bore"])
