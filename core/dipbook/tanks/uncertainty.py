"""How far one dip can be trusted, as one standard uncertainty (k=1).

A dip has a half-width in level and a half-width in time, and nothing favours any place inside: a rectangular
distribution, whose standard uncertainty is the half-width over √3 (JCGM 100:2008, Guide to the Expression of
Uncertainty in Measurement, 4.3.7). The two are independent and add in quadrature.

What a half-width in level is worth in volume is the most that the volume differs within it: by the slope at the level,
or by what lies up to a half-width above or below it. At a step in a stack, at a row of a strapping table and in the tip
of a cone the slope at the level alone tells too little.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from dipbook.tanks.shapes import Box, VerticalCylinder
from dipbook.tanks.tank import Tank

ROOT_3 = 3.0**0.5


def level_spread(tank: Tank, level_m: Any, half_width_m: Any) -> Any:
    """Half-width of a dip's volume [m3]: the most that the volume differs within the level's half-width.

    tank: its geometry. level_m: above the bottom [m]. half_width_m: a [m], NaN where nobody set it, NaN out. Scalars or
    arrays. max(A a, V(h+a) − V(h), V(h) − V(h−a)), A the slope at the level; past an end of the shape nothing more is
    there.
    """
    level, a = np.asarray(level_m, dtype=float), np.asarray(half_width_m, dtype=float)
    by_slope = tank.slope(level) * a
    if isinstance(tank.shape, (Box, VerticalCylinder)):
        return by_slope
    here = tank.volume(level)
    up, down = tank.volume(level + a) - here, here - tank.volume(level - a)
    return np.where(np.isnan(by_slope), np.nan, np.fmax(by_slope, np.fmax(up, down)))


def dip_uncertainty(spread_m3: Any, rate_m3_s: Any = 0.0, half_time_s: Any = 0.0) -> Any:
    """Standard uncertainty of a dip's volume [m3]: √((s/√3)² + (|dV/dt| Δt/√3)²).

    spread_m3: s, half-width of the volume by the level's error [m3], see ``level_spread``. rate_m3_s: dV/dt, how fast
    the volume was changing [m3/s]. half_time_s: Δt, half-width of the dip's time [s]. Scalars or arrays. NaN in, NaN
    out: what isn't known isn't zero.

    Example: ±1/4 in on a floor of 8 × 30 ft is 0.514 bbl.
    """
    level = np.asarray(spread_m3, dtype=float) / ROOT_3
    time = np.asarray(rate_m3_s, dtype=float) * np.asarray(half_time_s, dtype=float) / ROOT_3
    both = np.hypot(level, time)
    return float(both) if both.ndim == 0 else both


def tank_uncertainty(tank: Tank, level_m: Any, *, half_width_m: float | None = None, rate_m3_s: Any = 0.0,
                     half_time_s: Any = 0.0) -> Any:
    """Standard uncertainty of a dip of one tank [m3]; NaN where no half-width is set or outside a strapping
    table.

    tank: its geometry and dip error. level_m: above the bottom [m], scalar or array. half_width_m: this dip's
    own half-width [m], or None for the tank's. rate_m3_s, half_time_s: as dip_uncertainty().
    """
    a = tank.dip_error_m if half_width_m is None else half_width_m
    return dip_uncertainty(level_spread(tank, level_m, np.nan if a is None else a), rate_m3_s, half_time_s)
