"""A level past an end of a tank's shape or strapping table: what the tank holds is at least, or at most, the end's."""

from __future__ import annotations

from typing import Any

import numpy as np

from dipbook.tanks.gauging import ABOVE_TABLE, BELOW_TABLE
from dipbook.tanks.shapes import Strapping
from dipbook.tanks.tank import Tank


def ends_m(tank: Tank) -> tuple[float, float]:
    """Lowest and highest level that a tank's shape or table tells of [m above the bottom]. tank: its geometry."""
    shape = tank.shape
    return (shape.levels[0] if isinstance(shape, Strapping) else 0.0), shape.height


def at_ends(tank: Tank, level_m: Any, volume_m3: Any) -> tuple[Any, dict[int, str]]:
    """Volumes with the end's where a level is known and its volume isn't [m3], and by index a word for each of those.

    tank: its geometry. level_m: above the bottom [m], array. volume_m3: at those levels, NaN where unknown, array.
    """
    past = np.flatnonzero(np.isfinite(level_m) & np.isnan(volume_m3))
    if not len(past):
        return volume_m3, {}
    low, high = ends_m(tank)
    holds = tank.volume(np.array([low, high]))
    above = level_m[past] > (low + high) / 2.0
    volume = np.array(volume_m3, dtype=float)
    volume[past] = np.where(above, holds[1], holds[0])
    return volume, dict(zip(past.tolist(), np.where(above, ABOVE_TABLE, BELOW_TABLE).tolist(), strict=True))
