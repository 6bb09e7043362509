"""Measured depth to true vertical depth: pressures go by the vertical, volumes and strokes by the measured."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import isfinite
from typing import Any

import numpy as np


@dataclass(frozen=True, slots=True)
class Survey:
    """Stations of a survey: measured and vertical depth [m], both from the rotary, straight between them.

    Raises ValueError where a depth is unknown, measured depth doesn't rise from 0, or the vertical changes by more than
    the measured.
    """

    md_m: tuple[float, ...]
    tvd_m: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.md_m) != len(self.tvd_m) or len(self.md_m) < 2 or self.md_m[0] != 0.0 or self.tvd_m[0] != 0.0:
            raise ValueError("a survey begins at 0 and has two stations or more, each with both depths")
        if not all(isfinite(depth) for depth in (*self.md_m, *self.tvd_m)):
            raise ValueError("every depth of a survey must be known")
        if any(b <= a for a, b in pairwise(self.md_m)):
            raise ValueError("measured depth must rise from station to station")
        if any(abs(w - v) > (b - a) * (1 + 1e-9) for (a, b), (v, w) in zip(pairwise(self.md_m), pairwise(self.tvd_m),
                                                                            strict=True)):
            raise ValueError("vertical depth can't change by more than measured depth")

    def tvd(self, md_m: Any) -> Any:
        """True vertical depth [m], NaN below the last station. md_m: measured depth [m], scalar or array."""
        md = np.asarray(md_m, dtype=float)
        found = np.where((md >= 0.0) & (md <= self.md_m[-1]), np.interp(md, self.md_m, self.tvd_m), np.nan)
        return float(found) if found.ndim == 0 else found


def vertical(depth_m: float) -> Survey:
    """The survey of a vertical well. depth_m: how deep it goes [m]."""
    return Survey((0.0, depth_m), (0.0, depth_m))
