"""Small rigs for tests, built without a file. Everything here is invented."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType
from typing import Any

from dipbook.limits import Limit
from dipbook.rig.model import DrainBack, Hole, Pipe, Pump, Rig
from dipbook.tanks.shapes import Box
from dipbook.tanks.tank import Tank

FT = 0.3048
IN = 0.0254
BBL = 0.158987294928
GAL = 0.003785411784
BBL_FT = BBL / FT
"""Exact by definition (NIST SP 811, Appendix B)."""

OILFIELD_UNITS = MappingProxyType(
    {"level": "in", "volume": "bbl", "length": "ft", "density": "lbm/gal[US]", "flow": "gal[US]/min"})
METRIC_UNITS = MappingProxyType(
    {"level": "cm", "volume": "m3", "length": "m", "density": "kg/m3", "flow": "L/min"})


def box_tank(name: str, role: str, *, active: bool, order: int, **other: Any) -> Tank:
    """An 8 × 30 × 9 ft box, gauged up, dip error ¼ in; ``other`` replaces fields."""
    tank = Tank(name=name, role=role, active=active, order=order,
                shape=Box(length=30 * FT, width=8 * FT, height=9 * FT), dip_error_m=IN / 4, brim_m=9 * FT)
    return replace(tank, **other)


def two_box_rig(**other: Any) -> Rig:
    """Two active boxes (Settling, Suction), a reserve box (Reserve 1), pump, hole, pipe and drain-back.

    An inch of level in each is 3.562 bbl. No limits. ``other`` replaces fields of the rig.
    """
    rig = Rig(
        name="Invented 1", invented=True, zone="Etc/GMT+6", decimal=".", units=OILFIELD_UNITS,
        tanks=(box_tank("Settling", "settling", active=True, order=1),
               box_tank("Suction", "suction", active=True, order=2),
               box_tank("Reserve 1", "reserve", active=False, order=3)),
        pumps=(Pump(name="1", output_m3=0.102 * BBL),),
        hole=Hole(capacity=0.1458 * BBL_FT, annulus_m3=250 * BBL, carried_off=1.0, porosity=0.0,
                  mud_on_cuttings=0.0),
        pipe=Pipe(steel=0.00759 * BBL_FT, bore=0.01776 * BBL_FT, stand_m=93 * FT),
        drain_back=DrainBack(at=((300 * GAL / 60, 12 * BBL),), falling_s=60.0, rising_s=40.0),
    )
    return replace(rig, **other)


def gain_limit(value_bbl: float = 5.0, **other: Any) -> Limit:
    """A gain limit on the active system: deadband and growth 2 bbl, one reading. Test values, not advice."""
    limit = Limit(name="gain", kind="gain", on="active", activity="any", value=value_bbl * BBL,
                  value_is="volume", deadband=2 * BBL, growth=2 * BBL, after_readings=1, after_ms=0,
                  set_by="Test", reason="test", since="", as_typed=f"{value_bbl:g} bbl")
    return replace(limit, **other)


def with_limits(rig: Rig, *limits: Limit) -> Rig:
    """The rig with these limits and no others."""
    return replace(rig, limits=tuple(limits))
