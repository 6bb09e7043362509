"""Sets of units that a crew picks from at once."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

UnitSet = Mapping[str, tuple[str, int]]
"""Quantity (a dimension, or "level" or "flow") to its unit's symbol and the decimals shown."""

UNIT_SETS: Mapping[str, UnitSet] = MappingProxyType(
    {
        "oilfield": MappingProxyType(
            {
                "level": ("in", 1),
                "volume": ("bbl", 1),
                "length": ("ft", 1),
                "flow": ("gal[US]/min", 0),
                "rate": ("bbl/min", 1),
                "mass": ("lbm", 0),
                "density": ("lbm/gal[US]", 1),
                "frequency": ("1/min", 0),
                "duration": ("min", 0),
                "temperature": ("degF", 0),
                "capacity": ("bbl/ft", 5),
                "pressure": ("psi", 0),
                "speed": ("ft/h", 0),
            }
        ),
        "metric": MappingProxyType(
            {
                "level": ("cm", 1),
                "volume": ("m3", 2),
                "length": ("m", 1),
                "flow": ("L/min", 0),
                "rate": ("m3/h", 1),
                "mass": ("kg", 0),
                "density": ("kg/m3", 0),
                "frequency": ("1/min", 0),
                "duration": ("min", 0),
                "temperature": ("degC", 0),
                "capacity": ("L/m", 2),
                "pressure": ("kPa", 0),
                "speed": ("m/h", 1),
            }
        ),
        "mixed": MappingProxyType(
            {
                "level": ("cm", 1),
                "volume": ("bbl", 1),
                "length": ("m", 1),
                "flow": ("L/min", 0),
                "rate": ("bbl/min", 1),
                "mass": ("kg", 0),
                "density": ("g/cm3", 2),
                "frequency": ("1/min", 0),
                "duration": ("min", 0),
                "temperature": ("degC", 0),
                "capacity": ("L/m", 2),
                "pressure": ("psi", 0),
                "speed": ("m/h", 1),
            }
        ),
    }
)
"""``oilfield``: US customary. ``metric``: SI in handy sizes. ``mixed``: metres of depth, barrels of mud."""
