"""Flow checks that a trip asks for: off bottom, at the shoe, and before the BHA is pulled through the stack."""

from __future__ import annotations

from math import isfinite

import numpy as np

from dipbook.books import Books
from dipbook.books.trips import Trip
from dipbook.records import TRIP_ROW
from dipbook.rig.model import Rig
from dipbook.situation import TripPrompt
from dipbook.trips.rows import FLOW_CHECK
from dipbook.well import String

DRILL_PIPE = "drill pipe"
NEAR_STANDS = 2.0
"""A flow check this many stands from a place, at most, was of that place (our choice, no source)."""
AHEAD_STANDS = 1.0
"""So many stands before a place its check is due: the pipe is stopped there, not past it (our choice)."""
BEFORE_MS = 30 * 60_000
"""A check of this long before the trip, at most, is the one off bottom, with the bit still there (our choice)."""


def shoe(rig: Rig) -> float | None:
    """The last casing's or liner's shoe [m]; None where the rig file doesn't describe one. rig: as described."""
    cased = [s.bottom_m for s in (rig.sections.sections if rig.sections else ()) if s.kind in ("casing", "liner")]
    return cased[-1] if cased else None


def bha_length(string: String) -> float | None:
    """Length of what hangs below the drill pipe [m]; None where the string has no parts but pipe. string: the parts."""
    length = 0.0
    for part in string.parts:
        if part.kind == DRILL_PIPE:
            return length or None
        length += part.length_m
    return None


def prompts(books: Books, trip: Trip, rig: Rig) -> tuple[TripPrompt, ...]:
    """The places, in the order in which the bit comes to them. books: of the log. trip: of it. rig: as it was then."""
    begin = float(trip.head.payload.get("bit_depth_m", float("nan")))
    stand = rig.pipe.stand_m if rig.pipe is not None else 0.0
    string, shoe_m = trip.string(rig), shoe(rig)
    places: list[tuple[str, float]] = [("off bottom", begin)] if trip.out else []
    if shoe_m is not None and (begin > shoe_m if trip.out else begin < shoe_m):
        places.append(("at the shoe", shoe_m))
    length = bha_length(string) if string is not None else None
    if trip.out and length is not None and begin > length:
        places.append(("before the BHA", length))
    bit = _deepest_passed(books, trip, begin)
    checks = _checks(books, trip)
    found: list[TripPrompt] = []
    for place, at in sorted(places, key=lambda p: -p[1] if trip.out else p[1]):
        done = next((result for depth, result in checks if abs(depth - at) <= NEAR_STANDS * stand + 1e-6), None)
        there = bit <= at + AHEAD_STANDS * stand if trip.out else bit >= at - AHEAD_STANDS * stand
        found.append(TripPrompt(place, at, "ahead" if done is None and not there else "due" if done is None else "done",
                                done or ""))
    return tuple(found)


def _deepest_passed(books: Books, trip: Trip, begin: float) -> float:
    """How far the bit has come [m]."""
    bits = [float(r.payload["bit_depth_m"]) for r in trip.rows if r.payload.get("bit_depth_m") is not None]
    far = [begin, *bits]
    return min(far) if trip.out else max(far)


def _checks(books: Books, trip: Trip) -> list[tuple[float, str]]:
    """(bit depth [m], result) of each flow check of the trip, by entries of their own and by rows of its sheet."""
    until = 2**62 if trip.end_ms is None else trip.end_ms
    found: list[tuple[float, str]] = []
    for r in books.eff.records:
        mine = trip.begun_ms - BEFORE_MS <= r.t_ms <= until
        if mine and (r.kind == "flow check" or (r.kind == TRIP_ROW and r.payload.get("what") == FLOW_CHECK)):
            i = int(np.searchsorted(books.depths.t_ms, r.t_ms, side="right")) - 1
            bit = float(books.depths.bit_m[i]) if i >= 0 else float("nan")
            if isfinite(bit):
                found.append((bit, str(r.payload.get("result") or "logged")))
    return found
