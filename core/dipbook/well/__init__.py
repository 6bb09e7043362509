"""The well: its hole in sections, the string in it, and what both hold at a bit depth."""

from dipbook.well.hole import Hole, Section
from dipbook.well.string import Part, String, annulus, of
from dipbook.well.survey import Survey, vertical

__all__ = ["Hole", "Part", "Section", "String", "Survey", "annulus", "of", "vertical"]
