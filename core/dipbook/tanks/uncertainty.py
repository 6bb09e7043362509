"""How far one dip can be trusted, as one standard uncertainty (k=1).

A dip has a half-width in level and a half-width in time, and nothing favours any place inside: a rectangular
distribution, whose standard uncertainty is the half-width over √3 (JCGM 100:2008, Guide to the Expression of
Uncertainty in Measurement, 4.3.7). The two are independent and add in quadrature.

The slope is that at the level, so this is right to first order. Where the free surface shrinks to nothing, in
the tip of a cone or under the top of a cylinder on its side, the slope is 0 and so is this; what is left out is
at most what the tank holds within a half-width of that end.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from dipbook.tanks.tank import Tank

ROOT_3 = 3.0**0.5


def dip_uncertainty(slope_m2: Any, half_width_m: Any, rate_m3_s: Any = 0.0, half_time_s: Any = 0.0) -> Any:
    """Standard uncertainty of a dip's volume [m3]: √((A a/√3)² + (|dV/dt| Δt/√3)²).

    slope_m2: A, dV/dlevel at the level [m2]. half_width_m: a, half-width of the dip's level error [m].
    rate_m3_s: dV/dt, how fast the volume was changing [m3/s]. half_time_s: Δt, half-width of the dip's time
    [s]. Scalars or arrays. NaN in (None as a half-width), NaN out: what isn't known isn't zero.

    Example: ±1/4 in on a floor of 8 × 30 ft is 0.514 bbl.
    """
    level = np.asarray(slope_m2, dtype=float) * _known(half_width_m) / ROOT_3
    time = np.asarray(rate_m3_s, dtype=float) * _known(half_time_s) / ROOT_3
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
    return dip_uncertainty(tank.slope(level_m), a, rate_m3_s, half_time_s)


def _known(value: Any) -> Any:
    return np.nan if value is None else np.asarray(value, dtype=float)
