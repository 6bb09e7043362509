"""Mud pumps: output per stroke from the fluid end's measures, flow from strokes, strokes for a volume.

A stroke is one turn of the crank: three plunger strokes of a triplex, four fillings of a duplex. A counter
that pulses per piston gives three or four times as many; calibrate it against a tank.
"""

from __future__ import annotations

from math import pi
from typing import Any

import numpy as np

from dipbook.errors import QuantityError


def triplex_output(liner_m: float, stroke_m: float, efficiency: float) -> float:
    """Output per stroke of a single-acting triplex [m3]: q = 3 (π/4) D² S η.

    liner_m: D, liner diameter [m]. stroke_m: S, stroke length [m]. efficiency: η, volumetric, above 0 to 1
    [-].

    Raises QuantityError for a size that isn't above zero and an efficiency outside (0, 1]. Source: geometry;
    the field form 0.000243 D² S η bbl (inches; Lapeyrouse, Formulas and Calculations for Drilling, Production
    and Workover, 2nd ed., ch. 1) is 0.06 % above it.
    """
    _check(efficiency, liner=liner_m, stroke=stroke_m)
    return 3.0 * (pi / 4.0) * liner_m**2 * stroke_m * efficiency


def duplex_output(liner_m: float, stroke_m: float, rod_m: float, efficiency: float) -> float:
    """Output per stroke of a double-acting duplex [m3]: q = 2 (π/4) (2 D² − d²) S η.

    liner_m: D, liner diameter [m]. stroke_m: S, stroke length [m]. rod_m: d, rod diameter [m].
    efficiency: η, volumetric, above 0 to 1 [-].

    Raises QuantityError for a size that isn't above zero, a rod as thick as the liner and an efficiency
    outside (0, 1]. Source: geometry; the field form 0.000162 (2 D² − d²) S η bbl (inches; Lapeyrouse, ch. 1)
    is 0.06 % above it.
    """
    _check(efficiency, liner=liner_m, stroke=stroke_m, rod=rod_m)
    if rod_m >= liner_m:
        raise QuantityError("The pump's rod isn't thinner than its liner. Check both diameters.")
    return 2.0 * (pi / 4.0) * (2.0 * liner_m**2 - rod_m**2) * stroke_m * efficiency


def flow(output_m3: Any, strokes_a_minute: Any) -> Any:
    """Flow [m3/s] of a pump.

    output_m3: volume per stroke [m3]. strokes_a_minute: pump speed [1/min]. Scalars or arrays.
    """
    return output_m3 * strokes_a_minute / 60.0


def strokes_for(volume_m3: float, output_m3: float) -> float:
    """Strokes that move a volume [-], not rounded.

    volume_m3: volume to move [m3]. output_m3: volume per stroke [m3]. Raises QuantityError if that isn't
    above zero.
    """
    if not output_m3 > 0.0:
        raise QuantityError("The pump's output per stroke isn't above zero. Set it in the rig file.")
    return volume_m3 / output_m3


def lag_strokes(annulus_m3: float, output_m3: float) -> float:
    """Strokes from the bit up to the surface [-], not rounded.

    annulus_m3: annular volume [m3]. output_m3: volume per stroke [m3]. Raises QuantityError as strokes_for().
    A worn pump delivers less than its output says: the true lag is then longer.
    """
    return strokes_for(annulus_m3, output_m3)


def seconds_for(strokes: Any, strokes_a_minute: Any) -> Any:
    """How long strokes take [s]; infinite for a pump that stands still.

    strokes: how many [-]. strokes_a_minute: pump speed [1/min]. Scalars or arrays.
    """
    speed = np.asarray(strokes_a_minute, dtype=float)
    count = np.asarray(strokes, dtype=float)
    answer = np.where(speed > 0.0, 60.0 * count / np.where(speed > 0.0, speed, 1.0), np.inf)
    return float(answer) if answer.ndim == 0 else answer


def _check(efficiency: float, **sizes: float) -> None:
    for name, size in sizes.items():
        if not (np.isfinite(size) and size > 0.0):
            raise QuantityError(f"The pump's {name} must be above zero.")
    if not 0.0 < efficiency <= 1.0:
        raise QuantityError("A pump's efficiency is a share above 0, up to 1: write 0.95, not 95.")
