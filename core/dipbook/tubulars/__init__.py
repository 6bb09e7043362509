"""Drill pipe, heavy-weight pipe, collars, casing and tubing: what a length of each holds and displaces."""

from dipbook.tubulars.catalogue import CATALOGUE, TubularError, find
from dipbook.tubulars.tubular import (
    KINDS,
    STEEL_KG_M3,
    Joint,
    Tubular,
    adjusted_weight,
    area,
    steel_by_weight,
    tube_only,
)

__all__ = ["CATALOGUE", "KINDS", "STEEL_KG_M3", "Joint", "Tubular", "TubularError", "adjusted_weight", "area", "find",
           "steel_by_weight", "tube_only"]
