"""An entry after the last reading touches no reading: there is nothing to judge, and nothing fails."""

from __future__ import annotations

import numpy as np
import pytest

from dipbook import balance
from dipbook.observations import observe
from ledgers import booked, dips, entry, minutes


@pytest.mark.parametrize("of", ["active", "all surface", "Trip"])
def test_the_balance_of_no_times_is_empty_also_with_pumps_and_drain_back(of: str) -> None:
    books = booked(entry("pumps", 0, state="on", flow=300), dips(1, Settling=60, Suction=60, Reserve=50, Trip=30),
                   entry("zero", 1, length=0, reason="start of tour"), entry("pumps", 5, state="off"))
    none = balance.at(books, np.array([], dtype=np.int64), of)
    assert len(none.difference_m3) == len(none.u_m3) == len(none.partial) == 0
    assert all(len(v) == 0 for v in none.terms.values())
    assert len(balance.at(books, minutes(6), of).difference_m3) == 1
    assert len(observe(books, len(books.readings))) == 0
