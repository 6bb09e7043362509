"""Trips: what the hole should take for each stand, and what it took."""

from dipbook.trips.pipe import Step, steps
from dipbook.trips.rows import Row
from dipbook.trips.sheet import LAST_N, Line, sheet
from dipbook.trips.unfilled import Allowed, allowed, drop, length_for, pressure, vertical
from dipbook.trips.ways import Expected, Way, expected

__all__ = ["LAST_N", "Allowed", "Expected", "Line", "Row", "Step", "Way", "allowed", "drop", "expected", "length_for",
           "pressure", "sheet", "steps", "vertical"]
