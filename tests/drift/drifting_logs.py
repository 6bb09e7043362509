"""Logs of two active tanks with gauges at an even step, in barrels. Invented; noise is seeded."""

from __future__ import annotations

from typing import Any

import numpy as np

from dipbook.books import Books, build
from dipbook.records import Block, Draft, numbered
from ledgers import BBL, MIN, RIG, entry, rig_draft

LIMIT = """
[[limit]]
name = "drift"
kind = "drift"
on = "active"
value = "3 bbl"
deadband = "1 bbl"
growth = "1 bbl"
set_by = "A. Sample"
reason = "invented"
since = "2026-01-05"
"""
AUTOMATIC = LIMIT.replace('value = "3 bbl"', 'automatic = { c = 7.5, ceiling = "5 bbl" }')


def times(hours: float, step_s: float = 5.0) -> Any:
    """Reading times from 0 on [ms]."""
    return (np.arange(round(hours * 3600 / step_s) + 1) * round(step_s * 1000)).astype(np.int64)


def noise(t: Any, sd: float = 0.4, seed: int = 1) -> Any:
    """White noise [bbl], to a tenth."""
    return np.round(np.random.Generator(np.random.PCG64(seed)).normal(0.0, sd, len(t)) / 0.1) * 0.1


def ramp(t: Any, from_min: float, rate: float, to_min: float = np.inf) -> Any:
    """What an even influx has brought by each time [bbl]; rate [bbl/min]."""
    return rate * np.clip(t / MIN - from_min, 0.0, to_min - from_min)


def drained(t: Any, offs: list[tuple[float, float]], lines: float = 20.0) -> Any:
    """What lines have given back by each time [bbl]: out with 60 s, in with 40 s. offs: (off, on) in minutes."""
    out = np.zeros(len(t))
    for off, on in offs:
        at_on = lines * (1 - np.exp(-(on - off)))
        s = (t / MIN - off) * 60
        out += np.where(s < 0, 0.0, np.where(t / MIN < on, lines * (1 - np.exp(-np.maximum(s, 0) / 60)),
                                             at_on * np.exp(-np.maximum(t / MIN - on, 0) * 60 / 40)))
    return out


def pumps(offs: list[tuple[float, float]]) -> list[Draft]:
    """Pumps on from before the log on, and off between (off, on) in minutes."""
    made = [entry("pumps", -60, state="on", flow=300)]
    for off, on in offs:
        made += [entry("pumps", off, state="off"), entry("pumps", on, state="on", flow=300)]
    return made


def samples(t: Any, more: Any) -> Draft:
    """The readings of a gauge file: Settling stands still, Suction holds so much more than 200 bbl."""
    blocks = (Block("tank:Settling:volume", t, np.full(len(t), 200.0 * BBL)), Block("tank:Suction:volume", t, (200.0 + more) * BBL))
    return Draft("samples", int(t[0]), int(t[-1]), author="Test", blocks=blocks)


def logged(t: Any, more: Any, *entries: Draft, limit: str = LIMIT, rig: str = RIG) -> Books:
    """Books of the samples, zeroed at their beginning."""
    return build(numbered([rig_draft(rig + limit, -90), *(entries or pumps([])), samples(t, more),
                           entry("zero", 0, length=0, reason="x")]))
