"""Quantities: exact units, reading what people write, writing what people read."""

from dipbook.quantities.aliases import FEET_INCHES
from dipbook.quantities.factors import (
    DIMENSIONS,
    UNITS,
    Unit,
    canonical,
    dimension_of,
    from_unit,
    to_unit,
    unit,
)
from dipbook.quantities.reading import DipReading, Quantity, read, read_dip, written_with
from dipbook.quantities.shares import Readings, read_factor, read_list, read_parts, read_percent
from dipbook.quantities.unit_sets import UNIT_SETS, UnitSet
from dipbook.quantities.writing import UNKNOWN, write, write_level, write_number

__all__ = [
    "DIMENSIONS",
    "FEET_INCHES",
    "UNITS",
    "UNIT_SETS",
    "UNKNOWN",
    "DipReading",
    "Quantity",
    "Readings",
    "Unit",
    "UnitSet",
    "canonical",
    "dimension_of",
    "from_unit",
    "read",
    "read_dip",
    "read_factor",
    "read_list",
    "read_parts",
    "read_percent",
    "to_unit",
    "unit",
    "write",
    "write_level",
    "write_number",
    "written_with",
]
