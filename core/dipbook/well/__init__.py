"""The well: its hole in sections, the string in it, and what both hold at a bit depth."""

from dipbook.well.hole import Hole, Section
from dipbook.well.string import Part, String, annulus, of
from dipbook.well.survey import Survey, vertical
from dipbook.well.travel import Place, annulus_up, bottoms_up, place, surface_to_bit

__all__ = ["Hole", "Part", "Place", "Section", "String", "Survey", "annulus", "annulus_up", "bottoms_up", "of",
           "place", "surface_to_bit", "vertical"]
