"""The detector under test, fed SI at the edge and answering in barrels."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from bench.detection.world import Run
from dipbook import drift
from dipbook.quantities import from_unit

BBL = from_unit(1.0, "bbl")


@dataclass(frozen=True)
class Told:
    """One row a reading [bbl]: gain, loss: worst sum over clocks as a share of H; scale: of the noise, NaN unknown."""

    gain: Any
    loss: Any
    scale: Any


def told(run: Run, tuning: Any = None) -> Told:
    """What the detector makes of a run. tuning: of the detector's; its own for this interval if None.

    Not told that the pumps are off: what comes of a connection is the flow-back's to say.
    """
    if tuning is None:
        tuning = drift.tuning_for(float(run.t_s[1] - run.t_s[0]))
    made = drift.follow(np.round(run.t_s * 1000.0).astype(np.int64), run.read * BBL, run.steady, tuning)
    known = [np.where(np.isnan(x), -np.inf, x) / BBL for x in (made.worst_gain_m3, made.worst_loss_m3)]
    return Told(known[0], known[1], np.asarray(made.scale_m3, dtype=float) / BBL)
