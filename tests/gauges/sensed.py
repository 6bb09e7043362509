"""Three active tanks with sensors, in barrels, at an even step. Invented; noise is seeded."""

from __future__ import annotations

from typing import Any

import numpy as np

from dipbook.books import Books, build
from dipbook.gauges import Gauge, cleaned
from dipbook.records import Block, Draft, numbered
from ledgers import BBL, FT, MIN, RIG, entry, rig_draft

AREA = 8 * 30 * FT * FT
"""Of each of the ledgers' boxes [m2]."""
LEVELS = {"Settling": 60.0, "Suction": 60.0, "Trip": 60.0}
THREE = RIG.replace('name = "Reserve"\nrole = "reserve"\nactive = false', 'name = "Reserve"\nrole = "intermediate"\nactive = true')
LIMITS = """
[[limit]]
name = "gain"
kind = "gain"
on = "active"
value = "5 bbl"
deadband = "2 bbl"
growth = "2 bbl"
set_by = "A. Sample"
reason = "invented"
since = "2026-01-05"
"""
SUSPECT = """
[[limit]]
name = "gauges"
kind = "suspect"
on = "active"
after = "2 min"
set_by = "A. Sample"
reason = "invented"
since = "2026-01-05"
"""
NAMES = ("Settling", "Suction", "Reserve")


def noise(n: int, sd_bbl: float = 0.2, seed: int = 1, count: int = 3) -> Any:
    """White noise [bbl], a row a tank, to a tenth of a barrel."""
    made = np.random.default_rng(seed).normal(0.0, sd_bbl, (count, n))
    return np.round(made / 0.1) * 0.1


def columns(minutes: float, *, step_s: float = 5.0, sd_bbl: float = 0.2, gain: float = 0.0, from_min: float = 0.0,
            seed: int = 1) -> tuple[Any, Any]:
    """(times [ms], volumes [bbl], a row a tank): a gain [bbl/min] from a minute on spreads evenly."""
    n = round(minutes * 60 / step_s) + 1
    t = np.arange(n) * round(step_s * 1000)
    grown = gain * np.maximum(t / MIN - from_min, 0.0) / 3
    return t.astype(np.int64), 200.0 + noise(n, sd_bbl, seed) + grown


def gauges(t: Any, v: Any, *, suction: bool = True) -> list[Gauge]:
    """Gauges of the columns."""
    return [cleaned(Gauge(name, t, row * BBL, AREA, top_m3=380 * BBL, bottom_m3=0.0, flows=suction and name == "Suction"))
            for name, row in zip(NAMES, v, strict=True)]


def record(t: Any, v: Any, keep: Any = None) -> Draft:
    """The samples of three tanks, as an import brings them. keep: tank → rows that have a value."""
    blocks = []
    for name, row in zip(NAMES, v, strict=True):
        here = np.ones(len(t), dtype=bool) if keep is None or name not in keep else keep[name]
        blocks.append(Block(f"tank:{name}:volume", t[here], row[here] * BBL))
    return Draft("samples", int(t[0]), int(t[-1]), author="Test", blocks=tuple(blocks))


def logged(t: Any, v: Any, *more: Draft, keep: Any = None, limits: str = LIMITS) -> Books:
    """Books of the samples, zeroed at their beginning."""
    return build(numbered([rig_draft(THREE + limits, -1), record(t, v, keep), entry("zero", 0, length=0, reason="x"), *more]))
