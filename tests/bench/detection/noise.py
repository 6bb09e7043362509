"""Noise that stays the same when libraries change: normals from raw integers of PCG64 by Box-Muller.

numpy promises the stream of a bit generator, not how its distributions use it. The seed is [20250, cell, replicate].
"""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.signal import lfilter

SEED = 20250


class Draws:
    """Numbers of one run. cell: which configuration; replicate: which run of it."""

    def __init__(self, cell: int, replicate: int) -> None:
        self._bits = np.random.PCG64(np.random.SeedSequence([SEED, cell, replicate]))

    def uniforms(self, n: int) -> Any:
        """n numbers in (0, 1): 53 bits of each raw integer, and half a step so that none is 0."""
        raw = np.asarray(self._bits.random_raw(n), dtype=np.uint64)
        return ((raw >> np.uint64(11)).astype(float) + 0.5) * 2.0**-53

    def between(self, low: float, high: float) -> float:
        """One number from low to high."""
        return low + (high - low) * float(self.uniforms(1)[0])

    def normals(self, n: int) -> Any:
        """n normals of mean 0 and sd 1 (Box and Muller 1958)."""
        half = (n + 1) // 2
        u = self.uniforms(2 * half)
        radius, angle = np.sqrt(-2.0 * np.log(u[:half])), 2.0 * np.pi * u[half:]
        return np.concatenate((radius * np.cos(angle), radius * np.sin(angle)))[:n]

    def wandering(self, n: int, dt_s: float, tau_s: float) -> Any:
        """n values of AR(1) noise of mean 0 and sd 1, stationary from the first on. tau_s: its time constant [s]."""
        phi = float(np.exp(-dt_s / tau_s))
        z = self.normals(n)
        z[1:] *= np.sqrt(1.0 - phi * phi)
        return lfilter([1.0], [1.0, -phi], z)
