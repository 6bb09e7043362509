"""What the Trip page asks before a row is kept: a hole that went the other way, or far from what it should."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from dipbook.findings import Finding
from dipbook.situation import TripRowView
from dipbook_app import trip_words
from dipbook_app.display import DisplayUnits
from dipbook_app.forms.form import sentence
from dipbook_app.trip_words import REFILL

FAR_M3 = 0.5
"""A row that differs by more is asked about: about 3 bbl (our choice, no source)."""
FAR_TIMES = 3.0
"""So is one that differs by more than so many times what is expected (our choice, no source)."""
OTHER_WAY, FAR = "trip_other_way", "trip_far"


def doubts(row: TripRowView | None, units: DisplayUnits) -> tuple[Finding, ...]:
    """What is odd about a row as it is worked out: one question at most, with its numbers; () where nothing is, or
    where it isn't known. Nothing within ± 2u is odd.

    row: as worked out. units: the crew's.
    """
    if row is None or row.difference_m3 is None or row.actual_m3 is None or row.expected_m3 is None:
        return ()
    spread = 2 * (row.u_m3 or 0.0)
    least = row.expected_m3 if row.least_m3 is None else row.least_m3
    most = row.expected_m3 if row.most_m3 is None else row.most_m3
    said = f"{trip_words.done(row.actual_m3, units)}, and should {trip_words.bounds(row, units)}"
    if (least > 0.0 and row.actual_m3 < -spread) or (most < 0.0 and row.actual_m3 > spread):
        return (Finding(f"The other way: the hole {said}. Check the level.", code=OTHER_WAY),)
    far = abs(row.difference_m3)
    if far > spread and (far > FAR_M3 or 0.0 < FAR_TIMES * abs(row.expected_m3) < far):
        return (Finding(f"Far from it: the hole {said}. Check the level.", code=FAR),)
    return ()


def on_the_row(found: Sequence[Finding], row: TripRowView | None, what: str, units: DisplayUnits
               ) -> tuple[Finding, ...]:
    """All that is said of a row being typed, each a sentence of its own.

    found: by the log's checks; of a refill without their doubts of the level, since a tank that is filled up moves far
    by right. row, units: as of ``doubts``. what: of trip_words.LABELS.
    """
    kept = [f for f in found if not (what == REFILL and f.code == "doubt")]
    return tuple(replace(f, what=sentence(f.what)) for f in (*doubts(row, units), *kept))
